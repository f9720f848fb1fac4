//! The sums without the service: `gambrel reckon weights`, `invoice`, `take-home`, `plan` and `catalogue`.
//!
//! One JSON object in, one out, by the same functions of [`crate::trade`] that the service uses. Decimals travel as strings,
//! because a JSON number may pass through floating point on its way. What is refused answers with exit status 2 and one
//! object: `{"error":"a sentence a person understands","at":"charges[1].rate"}`; `at` is empty when the whole input is meant.
//! A cut sheet that breaks rules answers with all of them: `{"error":"..","broken":[{"rule":"B1","at":"..","why":".."}]}`.
//!
//! With `lines`, one object stands on each line and each gets one line in answer, in order; blank lines are passed over.
//! The exit status is then 2 when any line was refused.

mod catalogue;
mod invoice;
mod json;
mod plan;
mod take_home;
mod weights;

use crate::trade::cuts::sheet::Note;
use crate::trade::share::Species;
use serde::Serialize;
use std::io::{self, BufRead, BufReader, Read, Write};

/// The longest input, in bytes: 1 MB. With `lines` it holds for each line.
pub const LONGEST: usize = 1_000_000;

crate::words! {
    /// What can be reckoned.
    pub enum What {
        /// A carcass among its shares.
        Weights = "weights", "a carcass among its shares";
        /// One share's invoice.
        Invoice = "invoice", "one share’s invoice";
        /// What comes home of one share.
        TakeHome = "take-home", "what comes home of one share";
        /// Shares among animals and dates.
        Plan = "plan", "shares among animals and dates";
    }
}

/// Why an input is refused and where.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Refusal {
    /// A sentence a person understands.
    pub error: String,
    /// The path of the field, such as `charges[1].rate`; empty for the whole input. Left out when rules are broken: each says
    /// its own place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// Every rule of cutting that is broken.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub broken: Vec<Note>,
}

impl Refusal {
    fn new(at: impl Into<String>, error: impl ToString) -> Self {
        Self { error: error.to_string(), at: Some(at.into()), broken: Vec::new() }
    }
    /// Rules are broken; the error says each sentence once.
    fn broken(broken: Vec<Note>) -> Self {
        let mut said: Vec<&str> = Vec::new();
        for note in &broken {
            if !said.contains(&note.why.as_str()) {
                said.push(&note.why);
            }
        }
        Self { error: said.join(". "), at: None, broken }
    }
}

/// Reckons one object and returns the answer as JSON, without a line end.
///
/// # Errors
/// [`Refusal`] when the input cannot be reckoned.
pub fn reckon(what: What, input: &[u8]) -> Result<String, Refusal> {
    if input.len() > LONGEST {
        return Err(Refusal::new("", "The input is longer than 1 MB"));
    }
    let root = json::Node::read(input)?;
    match what {
        What::Weights => answer(&weights::reckon(&root)?),
        What::Invoice => answer(&invoice::reckon(&root)?),
        What::TakeHome => answer(&take_home::reckon(&root)?),
        What::Plan => answer(&plan::reckon(&root)?),
    }
}

/// The cut catalogue of a species as JSON, without a line end.
///
/// # Errors
/// [`Refusal`] when the catalogue cannot be used.
pub fn catalogue(species: Species) -> Result<String, Refusal> {
    answer(&catalogue::print(species)?)
}

/// The same for a species by its name.
///
/// # Errors
/// [`Refusal`] when there is no such species or the catalogue cannot be used.
pub fn catalogue_of(name: &str) -> Result<String, Refusal> {
    let known: Species = name.parse().map_err(|_| {
        let all: Vec<&str> = Species::ALL.iter().map(|s| s.as_str()).collect();
        Refusal::new("", format!("Name a species after “catalogue”: {}", all.join(", ")))
    })?;
    catalogue(known)
}

fn answer(value: &impl Serialize) -> Result<String, Refusal> {
    serde_json::to_string(value).map_err(|e| Refusal::new("", e))
}

/// Reads `input`, writes the answer or the refusal to `output` and returns the exit status: 0, 2 when something was
/// refused, 1 when reading or writing failed (with a word on standard error).
pub fn run(what: What, lines: bool, input: &mut dyn Read, output: &mut dyn Write) -> i32 {
    let done = if lines { each_line(what, input, output) } else { whole(what, input, output) };
    match done.and_then(|refused| output.flush().map(|()| refused)) {
        Ok(refused) => i32::from(refused) * 2,
        Err(e) => {
            eprintln!("gambrel reckon: {e}");
            1
        }
    }
}

fn whole(what: What, input: &mut dyn Read, output: &mut dyn Write) -> io::Result<bool> {
    let mut bytes = Vec::new();
    input.take(LONGEST as u64 + 1).read_to_end(&mut bytes)?;
    write_answer(output, reckon(what, &bytes))
}

fn each_line(what: What, input: &mut dyn Read, output: &mut dyn Write) -> io::Result<bool> {
    let mut input = BufReader::new(input);
    let mut output = io::BufWriter::new(output);
    let mut refused = false;
    let mut line = Vec::new();
    loop {
        line.clear();
        // One byte more than allowed and the line end, so that too long a line is seen as such.
        if (&mut input).take(LONGEST as u64 + 2).read_until(b'\n', &mut line)? == 0 {
            break;
        }
        let ended = line.last() == Some(&b'\n');
        let text = line.strip_suffix(b"\n").unwrap_or(&line);
        if text.iter().all(u8::is_ascii_whitespace) {
            continue;
        }
        refused |= write_answer(&mut output, reckon(what, text))?;
        if !ended && text.len() > LONGEST {
            input.skip_until(b'\n')?;
        }
    }
    output.flush()?;
    Ok(refused)
}

fn write_answer(output: &mut dyn Write, answer: Result<String, Refusal>) -> io::Result<bool> {
    let (text, refused) = match answer {
        Ok(text) => (text, false),
        Err(refusal) => (serde_json::to_string(&refusal).map_err(io::Error::other)?, true),
    };
    output.write_all(text.as_bytes())?;
    output.write_all(b"\n")?;
    Ok(refused)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn too_long_an_input_is_refused_and_the_next_line_still_answered() {
        let long = format!("{{\"x\":\"{}\"}}", "a".repeat(LONGEST));
        let good = r#"{"unit":"lb","basis":"even","carcass":{"total":"1"},"shares":[]}"#;
        let mut out = Vec::new();
        let input = format!("{long}\n\n{good}\n{long}");
        assert_eq!(run(What::Weights, true, &mut input.as_bytes(), &mut out), 2);
        let text = String::from_utf8(out).unwrap();
        let lines: Vec<_> = text.lines().collect();
        assert_eq!(lines.len(), 3, "{text}");
        assert!(lines[0].contains("longer than 1 MB") && lines[2].contains("longer than 1 MB"));
        assert_eq!(lines[1], r#"{"shares":[],"billed":"0.00","unsold":"1.00","total":"1.00"}"#);
    }

    #[test]
    fn an_input_of_just_one_megabyte_is_read() {
        let mut text = r#"{"unit":"lb","basis":"even","carcass":{"total":"1"},"shares":[]}"#.to_string();
        text.push_str(&" ".repeat(LONGEST - text.len()));
        assert!(reckon(What::Weights, text.as_bytes()).is_ok());
        text.push(' ');
        assert!(reckon(What::Weights, text.as_bytes()).is_err());
    }
}
