//! Papers read back with tools that are not ours: qpdf for the file, poppler's pdftotext for the words.

use gambrel::paper::confirmation::Confirmation;
use gambrel::paper::credit_note::CreditNote;
use gambrel::paper::invoice::Invoice;
use gambrel::paper::letter::Letter;
use gambrel::paper::receipt::Receipt;
use gambrel::paper::{Line, PaperError, PaperSize, Sum};
use gambrel::trade::money::Money;
use proptest::prelude::*;
use sha2::{Digest, Sha256};
use std::io::Write;
use std::process::{Command, Stdio};

const INVOICE: &str = include_str!("papers/invoice.json");
const RECEIPT: &str = include_str!("papers/receipt.json");
const CREDIT_NOTE: &str = include_str!("papers/credit_note.json");
const LETTER: &str = include_str!("papers/letter.json");
const CONFIRMATION: &str = include_str!("papers/confirmation.json");

fn invoice() -> Invoice {
    serde_json::from_str(INVOICE).unwrap()
}

/// Each sample paper on one sheet.
fn samples(sheet: PaperSize) -> Vec<(&'static str, Vec<u8>)> {
    let mut i = invoice();
    i.head.paper = sheet;
    let mut r: Receipt = serde_json::from_str(RECEIPT).unwrap();
    r.head.paper = sheet;
    let mut c: CreditNote = serde_json::from_str(CREDIT_NOTE).unwrap();
    c.head.paper = sheet;
    let mut l: Letter = serde_json::from_str(LETTER).unwrap();
    l.head.paper = sheet;
    let mut k: Confirmation = serde_json::from_str(CONFIRMATION).unwrap();
    k.head.paper = sheet;
    vec![
        ("invoice", i.pdf().unwrap()),
        ("receipt", r.pdf().unwrap()),
        ("credit_note", c.pdf().unwrap()),
        ("letter", l.pdf().unwrap()),
        ("confirmation", k.pdf().unwrap()),
    ]
}

/// Sixty lines over more than one page, with tax and a payment.
fn long_invoice() -> Invoice {
    let mut i = invoice();
    i.lines = (1..=60)
        .map(|n| Line {
            name: format!("Charge number {n}"),
            note: if n % 5 == 0 { format!("Small print of charge {n}") } else { String::new() },
            reckoned: format!("{n}.00 lb × $1.25"),
            amount: Money::from_cents(125 * n),
        })
        .collect();
    i.taxes = vec![Line {
        name: "Sales tax".into(),
        note: String::new(),
        reckoned: "5.5 % of 2,287.50".into(),
        amount: Money::from_cents(12_581),
    }];
    i
}

/// Names, addresses and words far longer than the layout expects.
fn crowded_invoice() -> Invoice {
    let mut i = invoice();
    let long = "Nguyễn Đặng Núñez-Łukasiewicz von und zu Großröhrsdorf ".repeat(5);
    i.head.farm = format!("The Farm of {long}");
    i.head.contact = vec![long.clone(), "a".repeat(120)];
    i.number = "2027-041".repeat(6);
    i.to = vec![long.clone(), "Straße".repeat(40), "Þóra".into()];
    for f in &mut i.facts {
        f.value = long.clone();
        f.name = "Slaughteredandhungfortendays".into();
    }
    for l in i.lines.iter_mut().chain(&mut i.less) {
        l.name = long.clone();
        l.note = long.repeat(3);
        l.reckoned = format!("99,999.99 lb × $99,999.9999 {long}");
        l.amount = Money::from_cents(-Money::LIMIT);
    }
    i.balance = Sum { name: long.clone(), amount: Money::from_cents(Money::LIMIT) };
    i.pay.heading = long.clone();
    i.pay.body = vec![long.repeat(8); 4];
    let p = i.processor.as_mut().unwrap();
    (p.heading, p.note) = (long.clone(), long.clone());
    for s in &mut p.lines {
        (s.name, s.amount) = (long.clone(), Money::from_cents(Money::LIMIT));
    }
    i.all_in = long.repeat(4);
    i
}

/// Runs an outside reader on a PDF. `None` when it is not installed, which fails the test where GAMBREL_FULL=1.
pub(crate) fn outside(tool: &str, args: &[&str], pdf: &[u8]) -> Option<String> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(pdf).unwrap();
    let args = args.iter().map(|a| if *a == "FILE" { file.path().as_os_str() } else { a.as_ref() });
    match Command::new(tool).args(args).stdin(Stdio::null()).output() {
        Err(e) => {
            assert!(std::env::var_os("GAMBREL_FULL").is_none_or(|v| v != "1"), "{tool} cannot be run: {e}");
            eprintln!("NOT CHECKED: {tool} cannot be run here ({e})");
            None
        }
        Ok(out) => {
            let said = String::from_utf8_lossy(&out.stdout).into_owned();
            assert!(out.status.success(), "{tool}: {said}{}", String::from_utf8_lossy(&out.stderr));
            Some(said)
        }
    }
}

fn words(pdf: &[u8]) -> Option<String> {
    outside("pdftotext", &["-layout", "FILE", "-"], pdf)
}

/// Spaces and line ends taken out, so that broken lines compare equal.
fn bare(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

#[test]
fn a_strict_reader_finds_nothing_to_complain_about() {
    for sheet in [PaperSize::Letter, PaperSize::A4] {
        let mut all = samples(sheet);
        all.push(("long", long_invoice().pdf().unwrap()));
        all.push(("crowded", crowded_invoice().pdf().unwrap()));
        for (name, pdf) in all {
            if let Some(said) = outside("qpdf", &["--check", "FILE"], &pdf) {
                assert!(said.contains("No syntax or stream encoding errors found"), "{name}: {said}");
                assert!(!said.contains("WARNING"), "{name}: {said}");
            }
        }
    }
}

#[test]
fn every_word_and_figure_of_the_invoice_can_be_read_back() {
    let Some(text) = words(&invoice().pdf().unwrap()) else { return };
    for wanted in [
        "Nettle Bend Farm",
        "(715) 555-0142 · hello@nettlebend.example",
        "Invoice 2027-041",
        "Ines Halvard",
        "9 Tannery Lane",
        "October 14, 2027",
        "2027-031, half beef",
        "Steer 211, left side",
        "For",
        "Reckoned as",
        "Dollars",
        "389.50 lb × $4.65",
        "1,811.18",
        "$110.00 a head × ½",
        "Farm total",
        "1,881.18",
        "−400.00",
        "check 1182, receipt R-2027-014",
        "Balance due",
        "$1,481.18",
        "Please write 2027-041 on the check",
        "Not part of this invoice",
        "331.08",
        "341.08",
        "$2,222.26",
        "(2,222.26 ÷ 389.50)",
        "Invoice 2027-041, October 5, 2027",
        "Page 1 of 1",
    ] {
        assert!(text.contains(wanted), "“{wanted}” is missing in:\n{text}");
    }
    let row = text.lines().find(|l| l.contains("by hanging weight")).unwrap();
    assert!(row.contains("389.50 lb × $4.65") && row.ends_with("1,811.18"), "one line, three columns: {row:?}");
}

#[test]
fn names_of_many_lands_survive() {
    let names = ["María Núñez", "Łukasz Žižkov", "Þóra Őrség", "Nguyễn Văn Đặng", "Țepeș Ștefan", "İğdır ẞ"];
    let mut i = invoice();
    i.to = names.map(String::from).to_vec();
    i.to.push("Jose\u{301} Nguye\u{302}\u{303}n".into());
    i.head.farm = "Žižkov & Đặng Farm".into();
    i.balance.name = "Balance due from Núñez".into();
    let Some(text) = words(&i.pdf().unwrap()) else { return };
    for name in names.iter().chain(&["José Nguyễn", "Žižkov & Đặng Farm", "Balance due from Núñez"]) {
        assert!(text.contains(name), "{name} is missing in:\n{text}");
    }
    for (sample, name) in [(1, "María Núñez"), (2, "Þóra Þórsdóttir"), (3, "Łukasz Žižkov"), (4, "Þóra Núñez")]
    {
        let (_, pdf) = &samples(PaperSize::A4)[sample];
        assert!(words(pdf).unwrap().contains(name));
    }
}

#[test]
fn a_letter_without_a_face_is_shown_as_a_question_mark() {
    let mut i = invoice();
    i.to = vec!["牛 Halvard".into()];
    if let Some(text) = words(&i.pdf().unwrap()) {
        assert!(text.contains("? Halvard"), "{text}");
    }
    assert_eq!(gambrel::paper::unprintable("牛 Halvard"), ['牛']);
}

#[test]
fn plain_papers_are_one_page_and_small() {
    for sheet in [PaperSize::Letter, PaperSize::A4] {
        for (name, pdf) in samples(sheet) {
            assert!(pdf.len() < 40_000, "{name} has {} bytes", pdf.len());
            let Some(info) = outside("pdfinfo", &["FILE"], &pdf) else { continue };
            let has = |key: &str, value: &str| {
                let line = info.lines().find(|l| l.starts_with(key)).unwrap_or_default();
                assert!(line.contains(value), "{name}: {key} is not {value} in\n{info}");
            };
            has("Pages:", " 1");
            has("Tagged:", "yes");
            has("Page size:", if sheet == PaperSize::A4 { "595.28 x 841.89" } else { "612 x 792" });
            has("Author:", "Nettle Bend Farm");
            has("JavaScript:", "no");
        }
    }
}

#[test]
fn the_faces_are_embedded_cut_down_and_searchable() {
    let Some(fonts) = outside("pdffonts", &["FILE"], &crowded_invoice().pdf().unwrap()) else { return };
    let lines: Vec<_> = fonts.lines().skip(2).collect();
    assert_eq!(lines.len(), 2, "{fonts}");
    for line in lines {
        assert!(line.contains("+GambrelSerif-") && line.contains("yes yes yes"), "{fonts}");
    }
}

#[test]
fn sixty_lines_flow_over_pages_under_repeated_heads() {
    let i = long_invoice();
    let Some(text) = words(&i.pdf().unwrap()) else { return };
    for line in &i.lines {
        assert!(text.contains(&line.name) && text.contains(&line.note) && text.contains(&line.reckoned), "{text}");
    }
    let pages: Vec<_> = text.split('\u{c}').filter(|p| !p.trim().is_empty()).collect();
    assert!(pages.len() >= 3, "{} pages", pages.len());
    for (n, page) in pages.iter().enumerate() {
        assert!(page.contains(&format!("Page {} of {}", n + 1, pages.len())), "{page}");
        let heads = page.matches("Reckoned as").count();
        assert_eq!(heads, usize::from(page.contains(" lb × $1.25")), "page {}: {page}", n + 1);
    }
    let last = pages.iter().find(|p| p.contains("Balance due")).unwrap();
    assert!(last.contains("Less deposit"), "the balance stands alone: {last}");
}

/// Where every word of a PDF stands: page height and width, then the boxes, by poppler.
fn boxes(pdf: &[u8]) -> Option<Vec<(f32, f32, Vec<[f32; 4]>)>> {
    let text = outside("pdftotext", &["-bbox", "FILE", "-"], pdf)?;
    let number = |line: &str, key: &str| -> f32 {
        let rest = line.split_once(&format!("{key}=\"")).unwrap().1;
        rest.split_once('"').unwrap().0.parse().unwrap()
    };
    let mut pages: Vec<(f32, f32, Vec<[f32; 4]>)> = Vec::new();
    for line in text.lines() {
        if line.trim_start().starts_with("<page ") {
            pages.push((number(line, "width"), number(line, "height"), Vec::new()));
        } else if line.trim_start().starts_with("<word ") {
            pages.last_mut().unwrap().2.push(["xMin", "yMin", "xMax", "yMax"].map(|k| number(line, k)));
        }
    }
    Some(pages)
}

fn nothing_overlaps(pdf: &[u8]) {
    let Some(pages) = boxes(pdf) else { return };
    assert!(!pages.is_empty());
    for (width, height, words) in pages {
        for (n, a) in words.iter().enumerate() {
            // poppler's boxes reach from ascent to descent, beyond the letters; a third of a line may be shared
            assert!(a[0] >= 40.0 && a[2] <= width - 40.0 && a[1] >= 36.0 && a[3] <= height - 24.0, "off: {a:?}");
            for b in words.iter().skip(n + 1) {
                let (across, down) = (a[2].min(b[2]) - a[0].max(b[0]), a[3].min(b[3]) - a[1].max(b[1]));
                let least = (a[3] - a[1]).min(b[3] - b[1]);
                assert!(across < 0.6 || down < least * 0.4, "{a:?} and {b:?} overlap");
            }
        }
    }
}

#[test]
fn nothing_overlaps_or_leaves_the_page() {
    for sheet in [PaperSize::Letter, PaperSize::A4] {
        for (_, pdf) in samples(sheet) {
            nothing_overlaps(&pdf);
        }
        let (mut crowded, mut long) = (crowded_invoice(), long_invoice());
        (crowded.head.paper, long.head.paper) = (sheet, sheet);
        nothing_overlaps(&crowded.pdf().unwrap());
        nothing_overlaps(&long.pdf().unwrap());
    }
}

#[test]
fn crowded_words_are_all_there() {
    let i = crowded_invoice();
    let Some(text) = outside("pdftotext", &["-raw", "FILE", "-"], &i.pdf().unwrap()) else { return };
    let text = bare(&text);
    let (address, number) = (bare(&i.to[1]), bare(&i.number));
    assert!(text.contains(&address) && text.contains(&number));
    let pieces = text.matches("Łukasiewicz").count();
    assert!(pieces > 20, "{pieces}");
    assert!(text.contains("−99,999,999.99") && text.contains("$99,999,999.99"));
}

#[test]
fn a_text_without_end_is_refused() {
    let mut l: Letter = serde_json::from_str(LETTER).unwrap();
    l.body = vec!["line\n".repeat(10_000)];
    assert_eq!(l.pdf(), Err(PaperError::TooLong));
    let mut i = invoice();
    i.lines[0].note = "word ".repeat(500_000);
    assert_eq!(i.pdf(), Err(PaperError::TooLong));
}

#[test]
fn frozen_papers_are_read_strictly() {
    assert_eq!(serde_json::from_str::<Invoice>(&serde_json::to_string(&invoice()).unwrap()).unwrap(), invoice());
    let more = INVOICE.replacen("\"number\"", "\"color\": 1, \"number\"", 1);
    assert!(serde_json::from_str::<Invoice>(&more).unwrap_err().to_string().contains("color"));
    let huge = INVOICE.replacen("181118", "9999999999999", 1);
    assert!(serde_json::from_str::<Invoice>(&huge).unwrap_err().to_string().contains("more than can be recorded"));
    let fraction = INVOICE.replacen("181118", "1811.18", 1);
    assert!(serde_json::from_str::<Invoice>(&fraction).is_err());
    let mut newer = invoice();
    newer.layout = 2;
    assert_eq!(newer.pdf(), Err(PaperError::UnknownLayout(2)));
}

#[test]
fn the_same_paper_twice_is_the_same_file() {
    let first = samples(PaperSize::Letter);
    let mut other = invoice();
    other.to = vec!["Nguyễn".into()];
    other.pdf().unwrap(); // what was made in between leaves no mark
    assert!(first == samples(PaperSize::Letter));
    let again: Invoice = serde_json::from_slice(&serde_json::to_vec(&invoice()).unwrap()).unwrap();
    assert!(first[0].1 == again.pdf().unwrap());
    assert!(first[0].1 != other.pdf().unwrap());
}

fn sums() -> String {
    let mut out = String::new();
    for (name, pdf) in samples(PaperSize::Letter).into_iter().chain([("long", long_invoice().pdf().unwrap())]) {
        out.push_str(&format!("PAPER {name} {}\n", hex(&Sha256::digest(&pdf))));
    }
    out
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

#[test]
fn another_process_makes_the_same_file() {
    const CHILD: &str = "GAMBREL_PAPER_SUMS";
    if std::env::var_os(CHILD).is_some() {
        // made in another order and after other papers than in the parent
        long_invoice().pdf().unwrap();
        println!("{}", sums());
        return;
    }
    let me = std::env::current_exe().unwrap();
    let args = ["--exact", "paper::another_process_makes_the_same_file", "--nocapture"];
    let out = Command::new(me).args(args).env(CHILD, "1").output().unwrap();
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    let theirs: Vec<_> = said.lines().filter_map(|l| l.find("PAPER ").map(|at| &l[at..])).collect();
    assert_eq!(theirs, sums().lines().collect::<Vec<_>>(), "{said}");
}

/// Issued papers must come out the same after an update of this program. When this test fails, find out what changed the
/// bytes. A new layout gets a new `layout` number; new bytes from a library (only then) get new sums here, and a line in the
/// release notes, because papers sent before will no longer match to the byte.
#[test]
fn issued_papers_come_out_as_they_did() {
    let kept = "
    PAPER invoice ce2d42b5ff0fce64ab913063d5e3395c65e772923691178e5dca025fcef97a68
    PAPER receipt da15cee226fd3da34fe6e8bbccbfbee1ca34c2055d41bc8d769f8e3766708b3e
    PAPER credit_note 346fb71681eabd996c4d722ca271c401f348a587a9a0a9c92aba7f121422b037
    PAPER letter a52bac139ba84620dd77b5af77fef86ff1d97871226dee58cd5125d0b934289c
    PAPER confirmation 8f34426484ecebcff31e2e7e22fb4001d4361e596d60192424f040e97275bea9
    PAPER long ed99b67b3a6a22ad2eb08ab8227e60e9081ab7771bd726a54f67038156c58fe5
    ";
    let kept: Vec<_> = kept.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    assert_eq!(sums().lines().collect::<Vec<_>>(), kept);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_words_give_a_paper(name in "\\PC{0,60}", note in "[ -~\n¡-ɏḀ-ỿ]{0,400}", lines in 0_usize..30, cents in -9_999_999_999_i64..=9_999_999_999) {
        let mut i = invoice();
        i.to = vec![name.clone(), note.clone()];
        i.head.farm = name.clone();
        i.lines = vec![Line { name, note: note.clone(), reckoned: note, amount: Money::from_cents(cents) }; lines];
        let pdf = i.pdf().unwrap();
        prop_assert!(pdf.starts_with(b"%PDF-1.7") && pdf.ends_with(b"%%EOF"));
        nothing_overlaps(&pdf);
    }
}
