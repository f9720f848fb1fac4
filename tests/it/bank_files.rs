//! Statements of banks, read whatever their shape, and held against an independent reader of OFX.

use chrono::NaiveDate;
use gambrel::trade::bank::table::{guessed, mismatched, read};
use gambrel::trade::bank::{Entry, ofx};
use gambrel::trade::money::Money;
use gambrel::trade::sheet_file::{Fault, Table};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/files/bank")
}

fn shown(e: &Entry) -> String {
    let id = e.id.as_deref().unwrap_or("-");
    let reference = if e.reference.is_empty() { String::new() } else { format!("{} ", e.reference) };
    format!("{} | {} | {} | {reference}| {id}", e.day, e.amount.plain(), e.words)
}

fn table(bytes: &[u8]) -> Vec<String> {
    let table = match Table::from_bytes(bytes) {
        Ok(table) => table,
        Err(fault) => return vec![fault.sentence()],
    };
    let columns = guessed(&table.headings);
    let wrong = mismatched(&table, &columns);
    if !wrong.is_empty() {
        return wrong.into_iter().map(|(_, says)| says).collect();
    }
    let lines = read(&table, &columns);
    let mut out: Vec<String> = lines.entries.iter().map(shown).collect();
    out.extend(lines.faults.iter().map(Fault::sentence));
    if lines.pending > 0 {
        out.push(format!("{} pending", lines.pending));
    }
    out
}

fn statements(bytes: &[u8]) -> Vec<String> {
    match ofx::from_bytes(bytes) {
        Err(fault) => vec![fault.sentence()],
        Ok(all) => all.iter().flat_map(|s| std::iter::once(s.name()).chain(s.entries.iter().map(shown))).collect(),
    }
}

/// Every file of `tests/files/bank` gives what stands beside it.
#[test]
fn ugly_statements_give_what_stands_beside_them() {
    let (mut looked_at, mut wrong) = (0, Vec::new());
    for entry in std::fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        let bytes = std::fs::read(&path).unwrap();
        let given = match path.extension().and_then(|e| e.to_str()) {
            Some("csv") => table(&bytes),
            Some("ofx") => statements(&bytes),
            _ => continue,
        };
        looked_at += 1;
        let expected = std::fs::read_to_string(path.with_extension("gives")).unwrap();
        let expected: Vec<&str> = expected.lines().collect();
        if given != expected {
            wrong.push(format!("{}:\n  {}\nwanted\n  {}", path.display(), given.join("\n  "), expected.join("\n  ")));
        }
    }
    assert!(looked_at >= 14, "only {looked_at} files were found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// A statement as a program writes it: version 1 without closing tags, version 2 with them.
fn written(version: u8, entries: &[Entry], names: &[(String, String)]) -> String {
    let leaf = |name: &str, value: &str| match version {
        1 => format!("<{name}>{value}\r\n"),
        _ => format!("<{name}>{value}</{name}>"),
    };
    let escaped = |text: &str| text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    let mut out = match version {
        1 => "OFXHEADER:100\r\nDATA:OFXSGML\r\nVERSION:102\r\nSECURITY:NONE\r\nENCODING:USASCII\r\nCHARSET:1252\r\nCOMPRESSION:NONE\r\nOLDFILEUID:NONE\r\nNEWFILEUID:NONE\r\n\r\n".to_string(),
        _ => "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<?OFX OFXHEADER=\"200\" VERSION=\"200\" SECURITY=\"NONE\" OLDFILEUID=\"NONE\" NEWFILEUID=\"NONE\"?>\n".to_string(),
    };
    out.push_str("<OFX><BANKMSGSRSV1><STMTTRNRS><STMTRS>");
    out.push_str(&leaf("CURDEF", "USD"));
    out.push_str("<BANKACCTFROM>");
    out.push_str(&(leaf("BANKID", "099999999") + &leaf("ACCTID", "123456789") + &leaf("ACCTTYPE", "CHECKING")));
    out.push_str("</BANKACCTFROM><BANKTRANLIST>");
    out.push_str(&(leaf("DTSTART", "20270101") + &leaf("DTEND", "20271231")));
    for (e, (name, memo)) in entries.iter().zip(names) {
        out.push_str("<STMTTRN>");
        out.push_str(&leaf("TRNTYPE", if e.amount.is_positive() { "CREDIT" } else { "DEBIT" }));
        out.push_str(&leaf("DTPOSTED", &e.day.format("%Y%m%d120000").to_string()));
        out.push_str(&leaf("TRNAMT", &e.amount.plain()));
        out.push_str(&leaf("FITID", e.id.as_deref().unwrap()));
        if !e.reference.is_empty() {
            out.push_str(&leaf("CHECKNUM", &e.reference));
        }
        out.push_str(&leaf("NAME", &escaped(name)));
        if !memo.is_empty() {
            out.push_str(&leaf("MEMO", &escaped(memo)));
        }
        out.push_str("</STMTTRN>");
    }
    out.push_str("</BANKTRANLIST></STMTRS></STMTTRNRS></BANKMSGSRSV1></OFX>");
    out
}

/// Files of the corpus that keep to the specification, and made-up ones, by the independent reader: the same lines.
#[test]
fn an_independent_reader_of_ofx_reads_the_same() {
    let python = std::env::var("GAMBREL_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let has_it = Command::new(&python).args(["-c", "import ofxparse"]).stderr(Stdio::null()).status();
    if !has_it.is_ok_and(|s| s.success()) {
        let said = format!("{python} with ofxparse is missing: statements were NOT read by another program");
        assert!(std::env::var("GAMBREL_FULL").is_err(), "{said}");
        eprintln!("{said}");
        return;
    }
    let temp = tempfile::tempdir().unwrap();
    let mut files = vec![folder().join("checking_1.ofx"), folder().join("checking_2.ofx")];
    let mut dice = 88_172_645_463_325_252_u64;
    let mut below = |n: u64| {
        dice ^= dice << 13;
        dice ^= dice >> 7;
        dice ^= dice << 17;
        dice % n
    };
    let words = ["Ines Halvard", "B&B <Elm>", "P2P 2027-031-6", "Smith, Sons & Co", "Łucja Núñez", "a > b; c"];
    for n in 0..40 {
        let version = 1 + (n % 2) as u8;
        let (mut entries, mut names) = (Vec::new(), Vec::new());
        for line in 0..1 + below(30) {
            let cents = 1 + below(9_999_999) as i64;
            entries.push(Entry {
                day: NaiveDate::from_yo_opt(2027, 1 + below(365) as u32).unwrap(),
                amount: Money::from_cents(if below(3) == 0 { -cents } else { cents }),
                words: String::new(),
                reference: if below(4) == 0 { (1_000 + below(9_000)).to_string() } else { String::new() },
                id: Some(format!("F{n}-{line}")),
            });
            let memo = if below(2) == 0 { String::new() } else { words[below(6) as usize].to_string() };
            names.push((words[below(6) as usize].to_string(), memo));
        }
        let file = temp.path().join(format!("made-up-{n}.ofx"));
        std::fs::write(&file, written(version, &entries, &names)).unwrap();
        files.push(file);
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/ofx_peer.py");
    let run = Command::new(&python).args(["-B", "-W", "ignore", script]).args(&files).output().unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let theirs: Value = serde_json::from_slice(&run.stdout).unwrap();
    let mut compared = 0;
    for (file, accounts) in files.iter().zip(theirs.as_array().unwrap()) {
        let ours = ofx::from_bytes(&std::fs::read(file).unwrap()).unwrap();
        let accounts = accounts.as_array().unwrap();
        assert_eq!(ours.len(), accounts.len(), "{}", file.display());
        for (s, account) in ours.iter().zip(accounts) {
            assert_eq!(account["account"], s.account.as_str(), "{}", file.display());
            let lines = account["lines"].as_array().unwrap();
            assert_eq!(s.entries.len(), lines.len(), "{}", file.display());
            for (e, line) in s.entries.iter().zip(lines) {
                let text = |key: &str| line[key].as_str().unwrap_or("").to_string();
                let amount: rust_decimal::Decimal = text("amount").parse().unwrap();
                assert_eq!((e.day.to_string(), e.amount.decimal()), (text("day"), amount), "{line}");
                assert_eq!(e.id.clone().unwrap(), text("id"));
                assert_eq!(e.reference, text("check"));
                let (name, memo) = (text("name"), text("memo"));
                let said = if memo.is_empty() || memo == name { name } else { format!("{name} {memo}") };
                assert_eq!(e.words, said);
                compared += 1;
            }
        }
    }
    assert!(compared > 300, "only {compared} lines were compared");
}
