//! Writes SVG: every number with fixed decimals, every text escaped.

use core::fmt::Write;

use crate::text::escape;

/// The elements of a picture, in order.
pub(crate) struct Canvas(pub(crate) String);

/// Where a text is held.
#[derive(Clone, Copy)]
pub(crate) enum Hold {
    Left,
    Middle,
    Right,
}

impl Canvas {
    /// An element with children, and the text that shows when one points at it.
    pub(crate) fn group(&mut self, title: &str, draw: impl FnOnce(&mut Self)) {
        self.0.push_str("<g>");
        if !title.is_empty() {
            self.0.push_str("<title>");
            self.0.push_str(&escape(title));
            self.0.push_str("</title>");
        }
        draw(self);
        self.0.push_str("</g>\n");
    }

    pub(crate) fn text(&mut self, x: f64, y: f64, hold: Hold, class: &str, text: &str) {
        let anchor = match hold {
            Hold::Left => "start",
            Hold::Middle => "middle",
            Hold::Right => "end",
        };
        let (x, y) = (number(x), number(y));
        let text = escape(text);
        let _ = writeln!(self.0, r#"<text x="{x}" y="{y}" text-anchor="{anchor}" class="{class}">{text}</text>"#);
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), class: &str) {
        let [a, b, c, d] = [from.0, from.1, to.0, to.1].map(number);
        let _ = writeln!(self.0, r#"<line x1="{a}" y1="{b}" x2="{c}" y2="{d}" class="{class}"/>"#);
    }

    pub(crate) fn rect(&mut self, x: f64, y: f64, width: f64, height: f64, class: &str) {
        let [x, y, width, height] = [x, y, width.max(0.0), height.max(0.0)].map(number);
        let _ = writeln!(self.0, r#"<rect x="{x}" y="{y}" width="{width}" height="{height}" class="{class}"/>"#);
    }

    pub(crate) fn circle(&mut self, x: f64, y: f64, r: f64, class: &str) {
        let [x, y, r] = [x, y, r].map(number);
        let _ = writeln!(self.0, r#"<circle cx="{x}" cy="{y}" r="{r}" class="{class}"/>"#);
    }

    /// A closed shape.
    pub(crate) fn polygon(&mut self, points: &[(f64, f64)], class: &str) {
        let mut list = String::new();
        for (x, y) in points {
            let _ = write!(list, "{}{},{}", if list.is_empty() { "" } else { " " }, number(*x), number(*y));
        }
        let _ = writeln!(self.0, r#"<polygon points="{list}" class="{class}"/>"#);
    }

    /// Open lines; a point marked `true` begins a new one.
    pub(crate) fn path(&mut self, points: &[(bool, f64, f64)], class: &str) {
        let mut list = String::new();
        for (i, (begins, x, y)) in points.iter().enumerate() {
            let letter = if *begins || i == 0 { 'M' } else { 'L' };
            let _ = write!(list, "{letter}{} {}", number(*x), number(*y));
        }
        let _ = writeln!(self.0, r#"<path d="{list}" class="{class}"/>"#);
    }
}

/// A coordinate to a thousandth, never a word.
fn number(x: f64) -> String {
    let x = if x.is_finite() { x.clamp(-1e6, 1e6) } else { 0.0 };
    let text = format!("{x:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// About how wide a text is, px: generous for the common sans-serif fonts.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(|c| if c.is_ascii() { 0.54 } else { 1.0 }).sum::<f64>() * size
}

/// How many characters go into so many px.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small positive count")]
pub(crate) fn columns(px: f64, size: f64) -> usize {
    (px / (0.54 * size)).clamp(0.0, 400.0) as usize
}
