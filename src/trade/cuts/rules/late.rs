//! V25: a sheet that comes too late.

use crate::trade::cuts::sheet::Note;

/// The rule broken by a sheet that came after it was due. Times may be anything that can be compared.
pub fn late<T: Ord>(came: &T, due: &T) -> Option<Note> {
    let why = "The time for cutting instructions is over and the standard cut is in force. Ask the farm: it can still talk to \
               the processor until the animal is cut";
    (came > due).then(|| Note::new("V25", "sheet", why))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn v25_is_broken_only_after_the_time() {
        assert_eq!(late(&10, &10), None);
        assert_eq!(late(&9, &10), None);
        let note = late(&11, &10).unwrap();
        assert_eq!(note.rule, "V25");
        assert!(note.why.contains("standard cut") && note.why.contains("Ask the farm"));
    }
}
