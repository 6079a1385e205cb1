//! What every face does with text: takes out what could act rather than be read, escapes, wraps, shortens.

/// The text without control characters (which move a terminal's cursor and are not allowed in XML) and without marks
/// that turn the direction of writing; line ends and tabs become spaces.
pub(crate) fn clean(text: &str) -> String {
    text.chars()
        .filter_map(|c| match c {
            '\n' | '\r' | '\t' => Some(' '),
            '\u{200e}'
            | '\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}'
            | '\u{feff}'
            | '\u{fffe}'
            | '\u{ffff}' => None,
            c => (!c.is_control()).then_some(c),
        })
        .collect()
}

/// [`clean`], and the five marks of XML as entities.
pub(crate) fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in clean(text).chars() {
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
        assert_eq!(clean("a\u{1b}[31mb\0\n\tc\u{202e}d"), "a[31mb  cd");
        assert_eq!(escape("<script>]]>&'\""), "&lt;script&gt;]]&gt;&amp;&#39;&quot;");
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
