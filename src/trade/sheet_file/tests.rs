//! Tables and figures as other programs write them, and anything at all.

use super::columns::{Known, Wanted, guess, line, remember, remembered};
use super::figure::{self, Figure, Mark, Style, is_blank, unit_in};
use super::*;
use crate::trade::weight::Unit;
use proptest::prelude::*;

fn table(text: &str) -> Table {
    Table::from_bytes(text.as_bytes()).unwrap_or_else(|f| panic!("{}", f.sentence()))
}

fn fault(bytes: &[u8]) -> String {
    Table::from_bytes(bytes).map(|t| format!("{t:?}")).unwrap_err().sentence()
}

fn cells(table: &Table) -> Vec<(usize, Vec<&str>)> {
    table.lines.iter().map(|l| (l.number, l.cells.iter().map(String::as_str).collect())).collect()
}

#[test]
fn separators_are_found_whatever_else_stands_in_the_cells() {
    for (text, separator) in [
        ("Tag,Left,Right\n229,389.5,386\n", Separator::Comma),
        ("Tag;Left;Right\n229;389,5;386,0\n", Separator::Semicolon),
        ("Tag\tLeft\tRight\n229\t389,5\t386,0\n", Separator::Tab),
        // As many commas as semicolons in every line.
        ("Tag, No.;Left, lb;Right, lb\n229, A;389,5;386,0\n", Separator::Semicolon),
        ("Tag,Note\n229,\"late; wet; cold\"\n230,\"early; dry; warm\"\n", Separator::Comma),
        ("sep=;\nTag;Left\n229;389\n", Separator::Semicolon),
        ("Tag|Left|Right\n229|389,5|386,0\n", Separator::Bar),
        ("Tag,Note\n229,left|right\n230,left\n", Separator::Comma),
    ] {
        assert_eq!(table(text).separator, separator, "{text}");
    }
    assert_eq!(
        cells(&table("sep=;\nTag;Left\n229;389\n")),
        [(3, vec!["229", "389"])],
        "the line stays what an editor shows"
    );
}

#[test]
fn letters_are_read_in_every_usual_code() {
    let text = "Tag;Größe\r\n229;Núñez\r\n";
    let utf16 = |le: bool| {
        let units = text.encode_utf16().flat_map(|u| if le { u.to_le_bytes() } else { u.to_be_bytes() });
        units.collect::<Vec<u8>>()
    };
    let windows: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    for (bytes, written) in [
        (text.as_bytes().to_vec(), Written::Utf8),
        ([b"\xEF\xBB\xBF", text.as_bytes()].concat(), Written::Utf8),
        ([b"\xFF\xFE".to_vec(), utf16(true)].concat(), Written::Utf16),
        ([b"\xFE\xFF".to_vec(), utf16(false)].concat(), Written::Utf16),
        (utf16(true), Written::Utf16),
        (utf16(false), Written::Utf16),
        (windows, Written::Windows1252),
    ] {
        let (read, as_written) = decode(&bytes).unwrap();
        assert_eq!((read.as_str(), as_written), ("Tag;Größe\n229;Núñez\n", written));
        assert_eq!(Table::from_bytes(&bytes).unwrap().headings, ["Tag", "Größe"]);
    }
}

#[test]
fn what_is_no_table_is_refused_with_what_to_do() {
    for (bytes, says) in [
        (&b""[..], "The file is empty"),
        (&b" \r\n\r\n"[..], "The file is empty"),
        (&b"PK\x03\x04 and more"[..], "save it as CSV"),
        (&b"%PDF-1.7"[..], "This is a PDF"),
        (&b"Tag,Left\n229,\0\0\x01\n"[..], "no text"),
        (&b"\xEF\xBB\xBFTag\n\xFF\xFF\n"[..], "no text"),
        (&b"Tag,Left\n"[..], "Nothing stands below the headings in line 1"),
        (&b"229,389.5\n230,386\n"[..], "No line of headings was found"),
    ] {
        let found = fault(bytes);
        assert!(found.contains(says), "{found}");
    }
}

#[test]
fn titles_blank_lines_and_ragged_lines_keep_their_numbers() {
    let text = "Hanging weights\n\n,,,\nTag,Left,Right,,\n\n229, 389.5 ,386\n,,\n \n230,380\n231,1,2,,\n";
    let table = table(text);
    assert_eq!((table.headings_line, &table.above[..]), (4, &["Hanging weights".to_string()][..]));
    assert_eq!(table.headings, ["Tag", "Left", "Right"]);
    assert_eq!(
        cells(&table),
        [(6, vec!["229", "389.5", "386"]), (9, vec!["230", "380"]), (10, vec!["231", "1", "2", "", ""])]
    );
    assert_eq!(table.lines[1].cell(2), "", "what is missing is blank");
    assert!(table.lines.iter().all(|l| table.too_long(l).is_none()), "blank cells at the end are nothing");
    let table = self::table("Tag,Left,Right\n229,389,5,386,0\n");
    let says = table.too_long(&table.lines[0]).unwrap().sentence();
    assert_eq!(
        says,
        "Line 2: 5 cells stand here and there are 3 headings. A comma inside a cell does that: put that cell between quotation marks."
    );
    // Line ends of old machines.
    assert_eq!(cells(&self::table("Tag,Left\r229,389\r230,380\r")).len(), 2);
}

#[test]
fn quotation_marks_hold_a_cell_together_and_swallow_no_line() {
    let good = table("Tag,Note\n229,\"late, wet\"\n230,\"two\nlines\"\n231,\"said \"\"no\"\"\"\n");
    assert_eq!(
        cells(&good),
        [(2, vec!["229", "late, wet"]), (3, vec!["230", "two lines"]), (5, vec!["231", "said \"no\""])]
    );
    let open = fault(b"Tag,Left\n229,389\n230,\"380\n231,370\n");
    assert!(open.starts_with("Line 3: A cell begins with a quotation mark"), "{open}");
    let swallowed = fault(b"Tag,Left,Right\n229,389,386\n230,\"380,381\n231,370,\"371\n232,1,2\n");
    assert!(swallowed.starts_with("Line 3, column 2: A quotation mark opens this cell"), "{swallowed}");
}

#[test]
fn sizes_are_bounded() {
    let wide = format!("{}\n{}\n", vec!["a"; MOST_COLUMNS + 1].join(","), vec!["1"; MOST_COLUMNS + 1].join(","));
    assert!(fault(wide.as_bytes()).contains("201 columns"));
    let long = format!("Tag,Note\n229,{}\n", "x".repeat(LONGEST_CELL + 1));
    assert!(fault(long.as_bytes()).starts_with("Line 2, column 2: This cell has more than 2000 characters"));
    assert!(fault(&vec![b'a'; MOST_BYTES + 1]).contains("more than 5 MB"));
    let many = |n: usize| format!("Tag,Left\n{}", "229,389.5\n".repeat(n));
    assert_eq!(table(&many(MOST_ROWS)).lines.len(), MOST_ROWS);
    assert!(fault(many(MOST_ROWS + 1).as_bytes()).contains("more than 50000 lines"));
}

fn read(cell: &str, style: Style) -> String {
    match figure::read(cell, style) {
        Ok(Figure { plain, unit: None }) => plain,
        Ok(Figure { plain, unit: Some(unit) }) => format!("{plain} {unit}"),
        Err(says) => says,
    }
}

#[test]
fn figures_are_read_with_their_marks_and_units() {
    for (cell, plain) in [
        ("389", "389"),
        ("389.5", "389.5"),
        ("389,5", "389.5"),
        ("389.50", "389.5"),
        ("1,234.5", "1234.5"),
        ("1.234,5", "1234.5"),
        ("1 234,5", "1234.5"),
        ("1'234.5", "1234.5"),
        ("1\u{a0}234,56", "1234.56"),
        ("1,234,567", "1234567"),
        ("0,125", "0.125"),
        (".5", "0.5"),
        ("389.", "389"),
        ("-5", "-5"),
        ("−5", "-5"),
        ("182.5 lb", "182.5 lb"),
        ("182.5lbs.", "182.5 lb"),
        ("182,5 KG", "182.5 kg"),
        ("182#", "182 lb"),
        ("# 182", "182 lb"),
        ("lb 182", "182 lb"),
    ] {
        assert_eq!(read(cell, Style::Unknown), plain, "{cell}");
    }
    for bad in
        ["", "12x", "12 oz", "1.2.3", "12-3", "2027-10-14", "10/14", "lb", "--", "1,23,456.0", "lb 5 lb", "5 5", "٣"]
    {
        assert!(read(bad, Style::Unknown).contains("is not a figure"), "{bad}: {}", read(bad, Style::Unknown));
    }
}

#[test]
fn a_figure_that_can_be_read_two_ways_is_settled_by_its_column_or_refused() {
    assert_eq!(Style::of(["389", "1,234", ""]), Style::Unknown);
    assert_eq!(Style::of(["389,5", "1.234"]), Style::One(Mark::Comma));
    assert_eq!(Style::of(["389.5", "1,234"]), Style::One(Mark::Point));
    assert_eq!(Style::of(["389.5", "389,5"]), Style::Mixed);
    assert_eq!(read("1.234", Style::One(Mark::Comma)), "1234");
    assert_eq!(read("1,234", Style::One(Mark::Comma)), "1.234");
    assert_eq!(read("1,234", Style::One(Mark::Point)), "1234");
    for style in [Style::Unknown, Style::Mixed] {
        assert_eq!(
            read("1,234", style),
            "“1,234” can be read as 1234 or as 1.234. Write it without a mark for thousands."
        );
    }
}

#[test]
fn blanks_and_units_of_headings() {
    for blank in ["", " ", "-", "–", "--", "n/a", "N/A", "none", "."] {
        assert!(is_blank(blank), "{blank}");
    }
    assert!(!is_blank("0") && !is_blank("no"));
    for (heading, unit) in [
        ("Left (kg)", Some(Unit::Kg)),
        ("Hanging wt, lbs", Some(Unit::Lb)),
        ("Weight #", Some(Unit::Lb)),
        ("Left", None),
        ("Pounder", None),
    ] {
        assert_eq!(unit_in(heading), unit, "{heading}");
    }
}

#[test]
fn columns_are_guessed_by_words_and_remembered_by_their_headings() {
    let wanted = [
        Wanted { key: "tag", words: &["tag", "id"] },
        Wanted { key: "left", words: &["left", "left side"] },
        Wanted { key: "weight", words: &["total", "weight"] },
    ];
    let headings = |all: &[&str]| all.iter().map(|h| h.to_string()).collect::<Vec<_>>();
    let found = |all: &[&str]| guess(&wanted, &headings(all)).into_iter().collect::<Vec<_>>();
    let pair = |key: &str, n: usize| (key.to_string(), n);
    assert_eq!(found(&["Ear Tag", "LEFT (lb)", "Weight"]), [pair("left", 1), pair("tag", 0), pair("weight", 2)]);
    assert_eq!(found(&["Plant tag", "Tag"]), [pair("tag", 1)], "the heading that says nothing else");
    assert!(found(&["Stage", "Lefty"]).is_empty(), "whole words only");

    let asked = headings(&["Ear Tag", " Left (lb)"]);
    assert_eq!(line(&asked), "ear tag|left lb");
    let columns = guess(&wanted, &asked);
    let known = remember(Vec::new(), &asked, columns.clone());
    assert_eq!(remembered(&known, &headings(&["EAR TAG", "left, LB"])), Some(&columns));
    assert_eq!(remembered(&known, &headings(&["Ear Tag", "Right"])), None);
    let many = (0..20)
        .fold(known, |known: Vec<Known>, n| remember(known, &headings(&[format!("h{n}").as_str()]), columns.clone()));
    assert_eq!(many.len(), columns::REMEMBERED);
    assert_eq!(many[0].headings, "h19");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever the bytes are, there is a table within the limits or a sentence.
    #[test]
    fn no_bytes_break_it(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        match Table::from_bytes(&bytes) {
            Ok(table) => prop_assert!(!table.headings.is_empty() && table.headings.len() <= MOST_COLUMNS),
            Err(fault) => prop_assert!(fault.sentence().ends_with('.')),
        }
    }

    /// The same for what looks more like a table.
    #[test]
    fn no_text_breaks_it(text in "([Tag,;\t\"\n\r 0-9.'ÄéLb#-]{0,12}[,;\t\n]){0,40}") {
        match Table::from_bytes(text.as_bytes()) {
            Ok(table) => {
                for line in &table.lines {
                    prop_assert!(line.number > table.headings_line);
                    for cell in &line.cells {
                        let _ = figure::read(cell, Style::of([cell.as_str()]));
                    }
                }
            }
            Err(fault) => prop_assert!(fault.sentence().ends_with('.')),
        }
    }

    /// Every hundredth that is written with either mark, grouped or not, with a unit or without, is read back.
    #[test]
    fn weights_are_read_back(hundredths in 0_i64..10_000_000, comma in any::<bool>(), grouped in any::<bool>(), unit in any::<bool>()) {
        let text = if grouped { crate::trade::decimal::grouped(hundredths, 2) } else { crate::trade::decimal::plain(hundredths, 2) };
        let text = if comma { text.replace(',', " ").replace('.', ",") } else { text };
        let text = if unit { format!("{text} lb") } else { text };
        let read = figure::read(&text, Style::Unknown).unwrap();
        prop_assert_eq!(crate::trade::weight::Weight::parse(&read.plain).unwrap().hundredths(), hundredths);
    }

    /// What is written by the rules of RFC 4180 is read back cell by cell, with the line each record begins in.
    #[test]
    fn records_are_read_back(rows in proptest::collection::vec(("[a-z]{1,8}", "[a-z,;\" ]{0,12}", "[0-9]{1,4}"), 1..30)) {
        let mut text = String::from("name,words,figure\n");
        for (a, b, c) in &rows {
            text.push_str(&format!("{a},\"{}\",{c}\n", b.replace('"', "\"\"")));
        }
        let table = Table::read(&text).unwrap();
        prop_assert_eq!(table.lines.len(), rows.len());
        for (n, (line, (a, b, c))) in table.lines.iter().zip(&rows).enumerate() {
            prop_assert_eq!(line.number, n + 2);
            prop_assert_eq!(line.cells.as_slice(), &[a.clone(), b.trim().to_string(), c.clone()]);
        }
    }
}
