//! What people paste into fields, made plain: composed letters, no control characters, no odd blanks.

use unicode_normalization::UnicodeNormalization;

/// Characters nobody sees that reorder or hide text: bidirectional controls, byte order mark, zero-width space.
const fn is_hidden(c: char) -> bool {
    matches!(c, '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
}

/// On one line: composed (NFC), every run of blanks and line ends one space, control characters gone, trimmed.
pub fn one_line(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.nfc().filter(|c| !is_hidden(*c)) {
        if c.is_whitespace() {
            if !out.ends_with(' ') {
                out.push(' ');
            }
        } else if !c.is_control() {
            out.push(c);
        }
    }
    out.trim().to_string()
}

/// On several lines: composed, line ends `\n`, tabs a space, control characters gone, no blanks at line ends, at most
/// one empty line in a row, trimmed.
pub fn several_lines(text: &str) -> String {
    let text = text.replace("\r\n", "\n").replace(['\r', '\u{2028}', '\u{2029}', '\u{0B}', '\u{0C}', '\u{85}'], "\n");
    let mut lines: Vec<String> = Vec::new();
    for line in text.split('\n') {
        let line: String = line
            .nfc()
            .filter(|c| !is_hidden(*c))
            .map(|c| if c.is_whitespace() { ' ' } else { c })
            .filter(|c| !c.is_control())
            .collect();
        let line = line.trim_end();
        if !(line.is_empty() && lines.last().is_some_and(String::is_empty)) {
            lines.push(line.to_string());
        }
    }
    lines.join("\n").trim_matches(['\n', ' ']).to_string()
}

/// What was typed, in quotation marks, cut at 40 characters.
pub fn quoted(text: &str) -> String {
    let text = one_line(text);
    let mut letters = text.chars();
    let mut shown: String = letters.by_ref().take(40).collect();
    if letters.next().is_some() {
        shown.push('…');
    }
    format!("“{shown}”")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_line_keeps_names_and_drops_what_nobody_sees() {
        assert_eq!(one_line("  Nu\u{301}n\u{303}ez \t\r\n Jr.\u{0}\u{7} "), "Núñez Jr.");
        assert_eq!(one_line("Bard\r\nBcc: all@else.example"), "Bard Bcc: all@else.example");
        assert_eq!(one_line("\u{202E}evil\u{2069}\u{FEFF}"), "evil");
        assert_eq!(one_line("9\u{A0}Tannery\u{3000}Lane"), "9 Tannery Lane");
        assert_eq!(one_line("Nguyễn Bảo An"), "Nguyễn Bảo An");
    }

    #[test]
    fn several_lines_keep_their_lines() {
        assert_eq!(
            several_lines("\r\n9 Tannery Lane  \r\n\r\n\r\n\r\nHarlow Mills\t\u{0}\n"),
            "9 Tannery Lane\n\nHarlow Mills"
        );
        assert_eq!(several_lines(" \n \n"), "");
    }

    #[test]
    fn quotations_are_short() {
        assert_eq!(quoted("35l.5"), "“35l.5”");
        assert_eq!(quoted(&"ü".repeat(41)), format!("“{}…”", "ü".repeat(40)));
    }
}
