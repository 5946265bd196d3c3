//! Text that others wrote, fit for a terminal: what would move the cursor, forge a line or turn the reading order round is
//! shown as its number instead.

/// The text with every character that is not seen as itself written out, as `\\u{1b}`. Ends of lines stay when `lines`.
pub fn plain(text: &str, lines: bool) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if (lines && c == '\n') || !is_hidden(c) {
            out.push(c);
        } else {
            out.extend(c.escape_unicode());
        }
    }
    out
}

/// A JSON text with the same characters as JSON escapes them, so that it still reads back to what was written.
pub fn json_plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if is_hidden(c) {
            out.extend(c.encode_utf16(&mut [0; 2]).iter().map(|unit| format!("\\u{unit:04x}")));
        } else {
            out.push(c);
        }
    }
    out
}

/// Controls (C0, DEL, C1), and the format characters that hide or reorder text: Unicode 16, general categories Cc, Cf, Zl,
/// Zp, as far as terminals act on them; UTR 36 and the directional formatting characters of UAX 9.
fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn json_reads_back_and_hides_nothing() {
        let text = "a\u{1b}[2J\u{202e}b\u{9b}\u{e0041}";
        let shown = json_plain(&serde_json::to_string(text).unwrap());
        assert!(shown.chars().all(|c| !is_hidden(c)), "{shown:?}");
        assert_eq!(serde_json::from_str::<String>(&shown).unwrap(), text);
    }

    #[test]
    fn words_of_the_trade_stay_and_what_a_terminal_obeys_does_not() {
        for kept in ["35 7/8 in, \u{2018}Mill\u{2019}", "Zo\u{eb}'s Fenster", "\u{7a93}"] {
            assert_eq!(plain(kept, false), kept);
        }
        assert_eq!(plain("a\nb\tc", true), "a\nb\\u{9}c");
        assert_eq!(plain("a\nb\r", false), "a\\u{a}b\\u{d}");
        for evil in ["\u{1b}[2J", "\u{9b}2J", "\u{202e}gnp.exe", "\u{7f}", "\u{200b}"] {
            let shown = plain(evil, true);
            assert!(shown.starts_with("\\u{"), "{shown:?}");
            assert!(shown.chars().all(|c| !is_hidden(c)), "{shown:?}");
        }
    }
}
