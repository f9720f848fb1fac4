//! The house rules of DEVELOPERS.md, as tests over the files themselves. Each finding names its file and line.

use std::path::{Path, PathBuf};

/// A text file: its path from the root of the project, and what is in it.
struct File {
    path: String,
    text: String,
}

impl File {
    fn room(&self) -> &str {
        self.path.split('/').nth(1).unwrap_or("")
    }
    /// The file's lines that are neither comments nor inside `#[cfg(test)]`, counted from 1.
    fn code(&self) -> impl Iterator<Item = (usize, &str)> {
        let end = self.text.lines().position(|l| l.trim() == "#[cfg(test)]").unwrap_or(usize::MAX);
        let lines = self.text.lines().enumerate().take(end).map(|(n, l)| (n + 1, l));
        lines.filter(|(_, l)| !l.trim_start().starts_with("//"))
    }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn files(folder: &str, endings: &[&str]) -> Vec<File> {
    fn walk(at: &Path, endings: &[&str], out: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(at).unwrap_or_else(|e| panic!("{}: {e}", at.display())) {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, endings, out);
            } else if path.extension().is_some_and(|e| endings.iter().any(|w| e == *w)) {
                out.push(path);
            }
        }
    }
    let mut found = Vec::new();
    walk(&root().join(folder), endings, &mut found);
    found.sort();
    assert!(!found.is_empty(), "{folder} holds no {endings:?}");
    let read = |p: &PathBuf| File {
        path: p.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/"),
        text: std::fs::read_to_string(p).unwrap(),
    };
    found.iter().map(read).collect()
}

fn source() -> Vec<File> {
    files("src", &["rs"])
}

#[track_caller]
fn none(found: Vec<String>, rule: &str) {
    assert!(found.is_empty(), "{rule}:\n  {}", found.join("\n  "));
}

/// What each room may use of ours. `web` stands above all, `trade` below.
const MAY_USE: &[(&str, &[&str])] = &[
    ("trade", &["trade"]),
    ("book", &["book", "trade"]),
    ("paper", &["paper", "trade"]),
    ("post", &["post", "trade"]),
    ("reckon", &["reckon", "trade"]),
    ("actions", &["actions", "book", "trade", "paper", "post", "config", "secret"]),
    ("demo", &["demo", "actions", "book", "trade", "clock", "config"]),
    ("keep", &["keep", "actions", "book", "config"]),
    ("web", &["web", "keep", "actions", "book", "trade", "paper", "post", "clock", "config", "demo", "secret"]),
];
/// Macros that stand at the crate's root whatever room declares them.
const MACROS: &[&str] = &["words", "big_int_column", "on_db"];

/// The rooms of ours that a line of code names: `crate::x`, `use super::super::x` is looked at by its absolute form only.
fn rooms_named(line: &str) -> impl Iterator<Item = &str> {
    let words = line.split("crate::").skip(1);
    words.map(|rest| rest.split(|c: char| !(c.is_alphanumeric() || c == '_')).next().unwrap_or(""))
}

#[test]
fn rooms_use_only_what_lies_below_them() {
    let mut wrong = Vec::new();
    for file in source() {
        let Some((_, may)) = MAY_USE.iter().find(|(room, _)| *room == file.room()) else { continue };
        for (n, line) in file.code() {
            for named in rooms_named(line).filter(|r| !MACROS.contains(r)) {
                if named == "{" || !may.contains(&named) {
                    wrong.push(format!("{}:{n} {} may not use “{named}”: {}", file.path, file.room(), line.trim()));
                }
            }
        }
    }
    none(wrong, "Direction of use: web -> actions -> {book, trade, paper, post}; book, paper, post, reckon -> trade");
}

#[test]
fn the_direction_test_sees_a_wrong_direction() {
    assert_eq!(rooms_named("use crate::web::app::App;").collect::<Vec<_>>(), ["web"]);
    assert_eq!(
        rooms_named("let x = crate::book::farm::get(c)? + crate::web::y();").collect::<Vec<_>>(),
        ["book", "web"]
    );
}

#[test]
fn the_rules_of_the_trade_do_no_input_or_output() {
    let mut wrong = Vec::new();
    for file in source().iter().filter(|f| f.room() == "trade") {
        for (n, line) in file.code() {
            for banned in [
                "std::fs",
                "std::net",
                "std::env",
                "SystemTime",
                "Instant",
                "Utc::now",
                "Local::now",
                "getrandom",
                "tokio",
                "actix",
                "println!",
            ] {
                if line.contains(banned) {
                    wrong.push(format!("{}:{n} {banned}", file.path));
                }
            }
        }
    }
    none(wrong, "trade has no clock, database, HTTP, randomness or I/O");
}

/// Handlers that write without a one-use form key, because they begin or end the session that such a key belongs to.
const WRITES_WITHOUT_A_KEY: &[&str] = &[
    "src/web/account/code.rs",
    "src/web/account/lost.rs",
    "src/web/account/sign_in.rs",
    "src/web/account/start.rs",
    "src/web/app.rs",
    "src/web/customer/enter.rs",
    "src/web/customer/holder.rs",
    "src/web/customer/lost.rs",
    "src/web/farmer.rs",
    "src/web/processor/enter.rs",
    "src/web/processor/holder.rs",
];

#[test]
fn pages_write_only_through_act() {
    let mut wrong = Vec::new();
    for file in source().iter().filter(|f| f.room() == "web") {
        let writes = file.code().filter(|(_, l)| l.contains("store.write(") || l.contains("app.write("));
        let writes: Vec<usize> = writes.map(|(n, _)| n).collect();
        if !WRITES_WITHOUT_A_KEY.contains(&file.path.as_str()) {
            wrong.extend(writes.iter().map(|n| format!("{}:{n}", file.path)));
        } else if writes.is_empty() {
            wrong.push(format!("{} writes no more: take it off the list", file.path));
        }
    }
    none(wrong, "a page writes through App::act, which uses its form key up in the same transaction");
}

#[test]
fn statements_that_change_the_book_and_sql_text_stand_in_book_only() {
    let mut wrong = Vec::new();
    for file in source().iter().filter(|f| f.room() != "book") {
        for (n, line) in file.code() {
            for banned in
                ["sql_query(", "sql::<", "batch_execute(", "insert_into(", "diesel::update(", "diesel::delete("]
            {
                if line.contains(banned) {
                    wrong.push(format!("{}:{n} {banned}", file.path));
                }
            }
        }
    }
    none(wrong, "SQL stands in src/book");
}

/// Files outside `book` that still read tables themselves. It may only become shorter.
const READ_TABLES_THEMSELVES: &[&str] = &[
    "src/actions/draft_invoice.rs",
    "src/actions/handle_message.rs",
    "src/actions/make_receipt.rs",
    "src/actions/message_values.rs",
    "src/actions/queue_message.rs",
    "src/actions/record_payment.rs",
    "src/web/farm/today.rs",
];

#[test]
fn queries_stand_in_book_and_the_list_of_exceptions_only_shrinks() {
    let reads = |f: &File| f.code().any(|(_, l)| l.contains("diesel::prelude") || l.contains("book::schema::"));
    let wrong: Vec<String> = source()
        .iter()
        .filter(|f| matches!(f.room(), "web" | "actions"))
        .filter(|f| reads(f) != READ_TABLES_THEMSELVES.contains(&f.path.as_str()))
        .map(|f| format!("{} {}", f.path, if reads(f) { "reads tables" } else { "reads none any more: take it off" }))
        .collect();
    none(wrong, "queries stand in src/book");
}

#[test]
fn every_file_says_first_what_it_is_for() {
    let all = source().into_iter().chain(files("tests", &["rs"])).chain(files("benches", &["rs"]));
    let wrong = all.filter(|f| !f.text.starts_with("//! ")).map(|f| f.path).collect();
    none(wrong, "a file opens with //!");
}

/// Files longer than 400 lines, each with the reason why it is one file.
const LONG_FILES: &[(&str, &str)] = &[("src/book/schema.rs", "one declaration per table, nothing else")];

#[test]
fn files_stay_short() {
    let mut wrong = Vec::new();
    let (mut lengths, mut long) = (Vec::new(), 0);
    for file in source() {
        let lines = file.text.lines().count();
        lengths.push(lines);
        let excepted = LONG_FILES.iter().any(|(path, _)| *path == file.path);
        long += usize::from(lines > 400 && !excepted);
        if lines > 600 && !excepted {
            wrong.push(format!("{} has {lines} lines", file.path));
        }
    }
    lengths.sort_unstable();
    let median = lengths[lengths.len() / 2];
    none(wrong, "no file has more than 600 lines");
    assert!(long <= 4, "{long} files have more than 400 lines; split one");
    assert!(median <= 150, "the median file has {median} lines");
}

#[test]
fn templates_escape_everything_and_hold_no_script_or_style() {
    let mut wrong = Vec::new();
    for file in files("templates", &["html"]) {
        for (n, line) in file.text.lines().enumerate() {
            let lower = line.to_lowercase().replace(' ', "");
            let inline_script = lower.split("<script").skip(1).any(|r| !r.starts_with("src="));
            let handler = line.split_whitespace().any(|w| w.starts_with("on") && w.contains("=\""));
            for (what, found) in [
                ("|safe", lower.contains("|safe") || lower.contains("escape(\"none\")")),
                ("style=", lower.contains("style=\"") || lower.contains("<style")),
                ("a script in the page", inline_script),
                ("an on…= handler", handler),
                ("javascript:", lower.contains("javascript:")),
                ("a foreign address", line.contains("src=\"http") || line.contains("//fonts.")),
            ] {
                if found {
                    wrong.push(format!("{}:{} {what}", file.path, n + 1));
                }
            }
        }
    }
    none(wrong, "templates hold neither unescaped output nor script nor style");
}

#[test]
fn no_floating_point_touches_money_or_a_billed_weight() {
    let money = ["money", "weight", "invoice", "carcass", "charge", "split", "decimal", "price", "share"];
    let mut wrong = Vec::new();
    for file in source() {
        let name = file.path.rsplit('/').next().unwrap();
        let is_money = file.path.starts_with("src/trade/") && money.iter().any(|m| name.starts_with(m));
        if is_money || file.path.starts_with("src/actions/") || file.path.starts_with("src/book/") {
            for (n, line) in file.code() {
                let words: Vec<&str> = line.split(|c: char| !(c.is_alphanumeric() || c == '_')).collect();
                if words.iter().any(|w| *w == "f64" || *w == "f32" || w.ends_with("_f64") || w.ends_with("_f32")) {
                    wrong.push(format!("{}:{n} {}", file.path, line.trim()));
                }
            }
        }
    }
    none(wrong, "money and billed weights are whole numbers and decimals");
}

#[test]
fn every_setting_is_documented() {
    let read = |name: &str| std::fs::read_to_string(root().join(name)).unwrap();
    let (readme, developers) = (read("README.md"), read("DEVELOPERS.md"));
    let mut wrong = Vec::new();
    for key in gambrel::config::KEYS {
        let row = readme
            .lines()
            .find(|l| l.starts_with(&format!("| `{}`", key.env)) || l.starts_with(&format!("| {} |", key.env)));
        match row {
            None => wrong.push(format!("{} has no row in README.md", key.env)),
            Some(row) if !row.contains(key.default) => {
                wrong.push(format!("{}: default {} is not said", key.env, key.default))
            }
            Some(_) => {}
        }
    }
    for name in ["GAMBREL_FULL", "GAMBREL_TEST_PG", "GAMBREL_PYTHON", "GAMBREL_SHOTS"] {
        if !developers.contains(name) {
            wrong.push(format!("{name} is not in DEVELOPERS.md"));
        }
    }
    none(wrong, "every setting is documented");
}

#[test]
fn every_route_has_an_owner_and_every_write_is_a_post() {
    let table = crate::security::routes();
    let mut wrong = Vec::new();
    for (method, path, file) in &table {
        if !matches!(method.as_str(), "get" | "post") {
            wrong.push(format!("{file}: {method} {path}"));
        }
    }
    let mut seen = std::collections::BTreeSet::new();
    for (method, path, file) in &table {
        if !seen.insert((method, path)) && !path.starts_with("/assets") {
            wrong.push(format!("{file}: {method} {path} stands in the table twice"));
        }
    }
    none(wrong, "routes are GET or POST, each once");
}

#[test]
fn nothing_is_left_unfinished_or_left_out() {
    // Put together here, so that this file does not find itself.
    let marks = [
        ["TO", "DO"],
        ["FIX", "ME"],
        ["XX", "X"],
        ["todo", "!("],
        ["unimplemented", "!("],
        ["#[ig", "nore"],
        ["dbg", "!("],
    ];
    let mut wrong = Vec::new();
    let all = source().into_iter().chain(files("tests", &["rs", "py"])).chain(files("templates", &["html"]));
    for file in all.chain(files("migrations", &["sql"])).chain(files("assets", &["css", "js"])) {
        for (n, line) in file.text.lines().enumerate() {
            for mark in marks.iter().map(|m| m.concat()).filter(|m| line.contains(m.as_str())) {
                wrong.push(format!("{}:{} {mark}", file.path, n + 1));
            }
        }
    }
    none(wrong, "no marks of unfinished work, and no test left out");
}

#[test]
fn no_program_is_run_and_no_path_of_a_machine_is_named() {
    let mut wrong = Vec::new();
    for file in source() {
        for (n, line) in file.code() {
            // Copies of a book in PostgreSQL are made by its own two programs; what they are given comes from the settings.
            let may_run = file.path == "src/keep/pg/tools.rs";
            let programs = if may_run { [].as_slice() } else { ["Command::new", "process::Command"].as_slice() };
            for banned in programs.iter().copied().chain(["/home/", "/root/", "/work/", "/usr/"]) {
                if line.contains(banned) {
                    wrong.push(format!("{}:{n} {banned}", file.path));
                }
            }
        }
    }
    none(wrong, "the service runs no other program but pg_dump and pg_restore, and knows no machine");
}

#[test]
fn sentences_for_people_are_american_and_say_please_to_nobody() {
    // Only unmistakable words: British spellings, and words that blame.
    let banned = [
        "colour",
        "cheque",
        "centre ",
        "programme",
        "organis",
        "licence ",
        "favourite",
        "Invalid ",
        "invalid input",
        "Oops",
        "Error 4",
    ];
    let mut wrong = Vec::new();
    for file in files("templates", &["html"]) {
        for (n, line) in file.text.lines().enumerate() {
            wrong.extend(banned.iter().filter(|w| line.contains(**w)).map(|w| format!("{}:{} {w}", file.path, n + 1)));
        }
    }
    for file in source().iter().filter(|f| matches!(f.room(), "web" | "actions" | "post" | "paper" | "trade")) {
        for (n, line) in file.code().filter(|(_, l)| l.contains('"')) {
            // Ids of the catalogue such as loin_centre are no words for people.
            let quoted = line.split('"').skip(1).step_by(2).filter(|s| !s.contains('_'));
            let said: String = quoted.collect::<Vec<_>>().join(" ");
            wrong.extend(banned.iter().filter(|w| said.contains(**w)).map(|w| format!("{}:{n} {w}", file.path)));
        }
    }
    none(wrong, "sentences for people");
}

#[test]
fn exceptions_are_expected_not_allowed() {
    let wide = ["missing_docs", "unused_mut", "dead_code"];
    let mut wrong = Vec::new();
    for file in source() {
        for (n, line) in file.code() {
            if line.contains("allow(") && line.contains("#[") && !wide.iter().any(|w| line.contains(w)) {
                wrong.push(format!("{}:{n} {}", file.path, line.trim()));
            }
            if (line.contains("#[allow(") || line.contains("#![allow(")) && !line.contains("reason") {
                wrong.push(format!("{}:{n} no reason", file.path));
            }
        }
    }
    none(wrong, "exceptions are #[expect(…, reason)]");
}

#[test]
fn every_published_figure_names_its_source() {
    let mut rows = 0;
    for file in files("tests/published", &["csv"]) {
        let mut table = csv::Reader::from_reader(file.text.as_bytes());
        let source = table.headers().unwrap().iter().position(|h| h == "reference").expect("a column “reference”");
        for row in table.records() {
            let row = row.unwrap();
            assert!(row.get(source).is_some_and(|s| s.len() > 8), "{}: {row:?} names no source", file.path);
            rows += 1;
        }
    }
    assert!(rows > 80, "only {rows} published figures were found");
}

#[test]
fn every_row_of_the_security_table_names_tests_that_are_there() {
    let mut known = String::new();
    for file in files("tests", &["rs"]).into_iter().chain(source()) {
        known.push_str(&file.text);
    }
    let table = std::fs::read_to_string(root().join("docs/security.md")).unwrap();
    let (mut wrong, mut rows) = (Vec::new(), 0);
    for row in table.lines().filter(|l| l.starts_with("| ") && l.chars().nth(2).is_some_and(|c| c.is_ascii_digit())) {
        rows += 1;
        let names: Vec<&str> = row.rsplit('|').nth(1).unwrap().split('`').skip(1).step_by(2).collect();
        if names.is_empty() {
            wrong.push(format!("{row} names no test"));
        }
        for name in names {
            if !known.contains(&format!("fn {name}(")) {
                wrong.push(format!("{name} is no test"));
            }
        }
    }
    assert!(rows > 25, "the table cannot be read any more: {rows} rows");
    none(wrong, "each row is proved by a test");
}
