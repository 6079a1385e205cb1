//! What every face does with text: shows what would hide, keeps what runs from right to left apart, escapes, wraps,
//! shortens.

use fallwise::text::visible;

/// The text on one line with nothing hidden in it. Doing it twice does nothing more.
pub(crate) fn clean(text: &str) -> String {
    visible(text)
}

/// [`clean`], with every stretch from right to left set apart from what stands around it: without that, a name in Hebrew
/// or Arabic would take the figures after it into its own order (Unicode Standard Annex 9, 2.7). For whole texts as they
/// are printed; what was set apart must not be cleaned again.
pub(crate) fn readable(text: &str) -> String {
    let text = clean(text);
    let (mut apart, mut rest) = (String::with_capacity(text.len()), text.as_str());
    while let Some(start) = rest.find(from_right) {
        let (before, from) = rest.split_at(start);
        let mut end = 0;
        for (i, c) in from.char_indices() {
            if from_right(c) {
                end = i + c.len_utf8();
            } else if c.is_alphabetic() {
                break;
            }
        }
        let (stretch, after) = from.split_at(end);
        apart.push_str(before);
        apart.push('\u{2068}');
        apart.push_str(stretch);
        apart.push('\u{2069}');
        rest = after;
    }
    apart.push_str(rest);
    apart
}

/// Whether a character belongs to a script from right to left: its blocks in the Unicode standard.
fn from_right(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefe}'
        | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
}

/// [`readable`], and the five marks of XML as entities.
pub(crate) fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in readable(text).chars() {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            c => escaped.push(c),
        }
    }
    escaped
}

/// Lines of at most `columns` characters, broken at spaces; a word that is longer is cut.
pub(crate) fn wrap(text: &str, columns: usize) -> Vec<String> {
    let columns = columns.max(1);
    let (mut lines, mut line, mut length) = (Vec::new(), String::new(), 0);
    for word in clean(text).split_whitespace() {
        let letters: Vec<char> = word.chars().collect();
        for piece in letters.chunks(columns) {
            if length > 0 && length + 1 + piece.len() > columns {
                lines.push(core::mem::take(&mut line));
                length = 0;
            }
            if length > 0 {
                line.push(' ');
                length += 1;
            }
            line.extend(piece);
            length += piece.len();
        }
    }
    if length > 0 {
        lines.push(line);
    }
    lines
}

/// The text, or its beginning and three points, in at most `columns` characters.
pub(crate) fn shorten(text: &str, columns: usize) -> String {
    let text = clean(text);
    if text.chars().count() <= columns {
        return text;
    }
    let kept: String = text.chars().take(columns.saturating_sub(3)).collect();
    format!("{}...", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_acts_is_left() {
        assert_eq!(clean("a\u{1b}[31mb\0\n\tc\u{202e}d"), "a[U+001B][31mb[U+0000]  c[U+202E]d");
        assert_eq!(escape("<script>]]>&'\""), "&lt;script&gt;]]&gt;&amp;&#39;&quot;");
    }

    #[test]
    fn what_runs_from_right_to_left_keeps_to_itself() {
        assert_eq!(readable("at שלום רב 12 m"), "at \u{2068}שלום רב\u{2069} 12 m");
        assert_eq!(readable("no 5 é"), "no 5 é");
    }

    #[test]
    fn lines_keep_their_width() {
        assert_eq!(wrap("one two  three", 7), ["one two", "three"]);
        assert_eq!(wrap("abcdefgh ij", 3), ["abc", "def", "gh", "ij"]);
        assert_eq!(wrap(" \n", 3), Vec::<String>::new());
        assert_eq!(shorten("abcdefgh", 6), "abc...");
        assert_eq!(shorten("abcdef", 6), "abcdef");
    }
}
