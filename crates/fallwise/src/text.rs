//! Strangers' texts in what people read: what hides or turns the direction of writing is shown as a visible mark.
//!
//! Names and notes go into pages, pictures and tables that may lie before a court. A character that is not seen, or that
//! turns the order of those around it, could make it read something else than what is stored. Which ones these are:
//! Unicode Standard Annex 9 (2.1 to 2.4, formatting characters) and Technical Report 36 (from memory).

use crate::prelude::*;
use core::fmt::Write as _;

/// Whether the character hides, or turns the direction of writing: control characters, marks, embeddings, overrides and
/// isolates of direction, spaces of no width, fillers, tags, and what is no character.
///
/// The two joiners (U+200C, U+200D) are ordinary in some scripts and are looked at by [`visible`].
pub fn hides(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{180e}'
            | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{3164}' | '\u{feff}' | '\u{ffa0}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
        || u32::from(c) & 0xfffe == 0xfffe
}

/// The text on one line with everything that [`hides`] shown as its number; ends of lines and tabs become spaces. What is
/// visible already stays as it is, also from right to left, with accents, and with the joiners that its script needs.
///
/// ```
/// use fallwise::text::visible;
///
/// assert_eq!(visible("paid\u{202e}001"), "paid[U+202E]001");
/// assert_eq!(visible("a\u{200d}b\tc"), "a[U+200D]b c");
/// assert_eq!(visible("é שלום نمی\u{200c}خواهم"), "é שלום نمی\u{200c}خواهم");
/// ```
pub fn visible(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    let mut before = ' ';
    for c in text.chars() {
        // A joiner after a letter of the basic alphabet joins nothing.
        let idle_joiner = matches!(c, '\u{200c}' | '\u{200d}') && before.is_ascii();
        match c {
            '\n' | '\r' | '\t' | '\u{85}' | '\u{2028}' | '\u{2029}' => shown.push(' '),
            c if idle_joiner || hides(c) => {
                let _ = write!(shown, "[U+{:04X}]", u32::from(c));
            }
            c => shown.push(c),
        }
        before = c;
    }
    shown
}
