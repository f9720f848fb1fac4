//! `gambrel check`: what must always hold, verified on a live book, and in words.

use super::Failure;
use super::paper_again::paper_again;
use crate::book::check::{self, Checked};
use crate::book::conn::DbConn;
use crate::book::outbox;
use crate::trade::vocabulary::PaperKind;

/// Verifies the book and every paper issued from it. It changes nothing; a large book takes a while, about a millisecond a
/// paper.
///
/// # Errors
/// When the book cannot be read.
pub fn check_book(c: &mut DbConn) -> Result<Vec<Checked>, Failure> {
    let mut all = check::check(c)?;
    all.push(papers(c)?);
    Ok(all)
}

/// 4: every paper can be made again from its frozen content, and comes out the same twice.
fn papers(c: &mut DbConn) -> Result<Checked, Failure> {
    let mut looked_at = 0;
    let mut faults = Vec::new();
    for &kind in PaperKind::ALL {
        for id in outbox::papers(c, kind)? {
            looked_at += 1;
            match (paper_again(c, kind, id), paper_again(c, kind, id)) {
                (Ok((_, once)), Ok((_, again))) if once == again => {}
                (Ok((name, _)), Ok(_)) => faults.push(format!("{name} does not come out the same twice")),
                (Err(e), _) | (_, Err(e)) => faults.push(format!("a {} cannot be made again: {e}", kind.label())),
            }
        }
    }
    Ok(Checked { rule: "4  every issued paper can be made again, the same twice", looked_at, faults })
}

/// What was found, a line for each rule and one for each fault; and whether all is well.
pub fn in_words(all: &[Checked]) -> (String, bool) {
    let mut lines = Vec::new();
    for one in all {
        let verdict = if one.faults.is_empty() { "holds" } else { "BROKEN" };
        lines.push(format!("{verdict:<7} {} ({} looked at)", one.rule, one.looked_at));
        lines.extend(one.faults.iter().map(|f| format!("        - {f}")));
    }
    let faults: usize = all.iter().map(|o| o.faults.len()).sum();
    lines.push(match faults {
        0 => format!("All {} rules hold.", all.len()),
        1 => "1 fault was found. Keep a copy of the book before anything is changed.".into(),
        n => format!("{n} faults were found. Keep a copy of the book before anything is changed."),
    });
    (lines.join("\n"), faults == 0)
}
