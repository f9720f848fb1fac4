//! A packet of 40 shares, from chosen sheets to the PDF: `cargo bench --bench packet`. Aim: under a second.

use gambrel::paper::PaperSize;
use gambrel::paper::packet::{HeadLine, LAYOUT, Packet, SheetLine, SheetPage};
use gambrel::paper::parts::Letterhead;
use gambrel::trade::cuts::sheet::{Hanging, Sheet};
use gambrel::trade::cuts::take_home::take_home;
use gambrel::trade::instructions::instructions;
use gambrel::trade::share::{Part, Size, Species};
use gambrel::trade::weight::{Unit, Weight};
use std::hint::black_box;
use std::time::Instant;

/// How many shares.
const SHARES: usize = 40;

fn packet() -> Result<Packet, String> {
    let mut sheets = Vec::new();
    for n in 0..SHARES {
        let (species, pounds) = if n % 4 == 0 { (Species::Beef, 340) } else { (Species::Hog, 90) };
        let weight = Weight::from_hundredths(pounds * 100);
        let hanging = Hanging {
            species,
            unit: Unit::Lb,
            weight,
            size: Size::Half,
            part: Part::Split,
            age_months: None,
            head_on: false,
            skin_on: false,
        };
        let sheet = Sheet::default();
        // The cover's totals need what comes home of each sheet.
        black_box(take_home(&hanging, &sheet).map_err(|e| format!("{e:?}"))?);
        let lines = instructions(&hanging, &sheet).map_err(|e| format!("{e:?}"))?;
        sheets.push(SheetPage {
            over: format!("Cut sheet {} of {SHARES} · Pell Road Meats · Thursday, October 14", n + 1),
            tag: format!("{}", 100 + n / 2),
            side: format!("{} side · half {}", if n % 2 == 0 { "Left" } else { "Right" }, species.label()),
            who: vec!["Łukasz Zaremba".into(), "555-0140".into()],
            about: vec!["Carcass no. ________".into(), format!("Order 2027-{n:03}"), "Revision 1, Thu, Oct 7".into()],
            lines: lines.into_iter().map(|i| SheetLine { part: i.part, says: i.says, changed: false }).collect(),
            special: if n % 5 == 0 { "Leave the rind on the belly.".into() } else { String::new() },
            flag: "NOT FOR SALE".into(),
            order: format!("2027-{n:03}"),
            mark: String::new(),
        });
    }
    let animals = (0..SHARES / 2).map(|n| HeadLine {
        name: format!("Barrow {}", 100 + n),
        about: "Hog, castrated male".into(),
        owners: vec!["Left side: Łukasz Zaremba, 310 Water Street, Stony Ford, WI 53002, 555-0140".into(); 2],
    });
    Ok(Packet {
        layout: LAYOUT,
        made: 1_823_536_800,
        head: Letterhead {
            paper: PaperSize::Letter,
            farm: "Nettle Bend Farm".into(),
            contact: vec!["555-0118".into()],
        },
        title: "Packet 1 for Thursday, October 14".into(),
        to: vec!["Pell Road Meats".into()],
        facts: Vec::new(),
        animals: animals.collect(),
        totals: Vec::new(),
        changes: Vec::new(),
        open: Vec::new(),
        since: String::new(),
        changed: Vec::new(),
        reminder: Vec::new(),
        sheets,
        weigh_in: (0..SHARES / 2).map(|n| format!("Barrow {}", 100 + n)).collect(),
    })
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let start = Instant::now();
    packet()?.pdf()?;
    println!("packet of {SHARES} shares, the first of a process  {:>8.1} ms", start.elapsed().as_secs_f64() * 1e3);
    let (start, n) = (Instant::now(), 20);
    for _ in 0..n {
        black_box(packet()?.pdf()?);
    }
    println!(
        "packet of {SHARES} shares, the next ones           {:>8.1} ms",
        start.elapsed().as_secs_f64() * 1e3 / f64::from(n)
    );
    Ok(())
}
