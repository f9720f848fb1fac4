//! How fast papers are made, on one thread: `cargo bench --bench paper`.

use gambrel::paper::invoice::Invoice;
use gambrel::paper::letter::Letter;
use std::hint::black_box;
use std::time::{Duration, Instant};

/// Runs for about two seconds after a warm-up; says how many a second and how large one is.
fn measure(what: &str, make: impl Fn() -> Vec<u8>) {
    for _ in 0..50 {
        black_box(make());
    }
    let (start, mut made) = (Instant::now(), 0_u32);
    while start.elapsed() < Duration::from_secs(2) {
        for _ in 0..20 {
            black_box(make());
        }
        made += 20;
    }
    let each = start.elapsed().as_secs_f64() / f64::from(made);
    println!("{what:<38} {:>8.0} {:>9.3} {:>8}", 1.0 / each, each * 1e3, make().len());
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let plain: Invoice = serde_json::from_str(include_str!("../tests/it/papers/invoice.json"))?;
    let letter: Letter = serde_json::from_str(include_str!("../tests/it/papers/letter.json"))?;
    let mut names = plain.clone();
    names.to = vec!["Nguyễn Văn Đặng".into(), "22 Žižkov Street".into(), "Harlow Mills".into()];
    let mut long = plain.clone();
    long.lines = plain.lines.iter().cycle().take(60).cloned().collect();
    println!("{:<38} {:>8} {:>9} {:>8}", "paper", "a second", "ms each", "bytes");
    let start = Instant::now();
    plain.pdf()?;
    println!("{:<38} {:>8} {:>9.3}", "the first one of a process", "", start.elapsed().as_secs_f64() * 1e3);
    measure("invoice, one page", || plain.pdf().unwrap_or_default());
    measure("the same, letters beyond ASCII", || names.pdf().unwrap_or_default());
    measure("invoice, 60 lines", || long.pdf().unwrap_or_default());
    measure("letter, letters beyond ASCII", || letter.pdf().unwrap_or_default());
    Ok(())
}
