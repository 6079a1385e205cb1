//! A drawing in the form of AutoCAD R2000 (AC1015), ASCII, as its published reference describes it (from memory): header, tables,
//! two empty blocks, entities, dictionaries. Points, lines, polylines and single lines of text, all black by their layer.
//!
//! Bytes follow from the drawing alone: handles count up, coordinates have four decimals, there is no date and no number that
//! tells one file from another.

use std::fmt::{Display, Write as _};

use fallwise::{
    text::visible,
    units::{Words, to_ft},
};

/// Characters of a line of text at most, what was typed; in the file a character may take seven bytes, and a line has room for 2049.
const LONGEST_LINE: usize = 250;
/// Coordinates beyond this are drawn nowhere: a reader's own sums lose a millimetre there.
const FAR: f64 = 1e9;

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pattern {
    Whole,
    Dashed,
    Dotted,
    DashDot,
}

impl Pattern {
    const ALL: [Self; 4] = [Self::Whole, Self::Dashed, Self::Dotted, Self::DashDot];

    fn name(self) -> &'static str {
        match self {
            Self::Whole => "CONTINUOUS",
            Self::Dashed => "DASHED",
            Self::Dotted => "DOTTED",
            Self::DashDot => "DASHDOT",
        }
    }

    /// Dashes (positive), gaps (negative) and dots (0), in heights of the text.
    fn parts(self) -> &'static [f64] {
        match self {
            Self::Whole => &[],
            Self::Dashed => &[1.2, -0.6],
            Self::Dotted => &[0.0, -0.4],
            Self::DashDot => &[1.6, -0.4, 0.0, -0.4],
        }
    }
}

/// A layer: its name in plain words, and how its lines are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Layer(pub(super) &'static str, pub(super) Pattern);

/// Which end of a text its place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hold {
    Left,
    Right,
}

/// A drawing as it grows; what is given is in metres.
pub(super) struct Drawing {
    words: Words,
    /// Height of ordinary text, m.
    pub(super) text_m: f64,
    layers: Vec<Layer>,
    entities: String,
    handle: u32,
    corners: Option<[[f64; 2]; 2]>,
}

// Handles of what every drawing has; the rest counts up from beyond them.
const MODEL_SPACE: u32 = 0x17;
const PAPER_SPACE: u32 = 0x1b;
const FIRST_FREE: u32 = 0x100;

impl Drawing {
    pub(super) fn new(words: Words, text_m: f64, layers: &[Layer]) -> Self {
        Self {
            words,
            text_m,
            layers: layers.to_vec(),
            entities: String::new(),
            handle: FIRST_FREE + 0x100,
            corners: None,
        }
    }

    pub(super) fn point(&mut self, layer: Layer, at_m: [f64; 2]) {
        let Some(at) = self.place(at_m) else { return };
        self.begin("POINT", layer, "AcDbPoint");
        self.corner(10, at);
    }

    pub(super) fn line(&mut self, layer: Layer, from_m: [f64; 2], to_m: [f64; 2]) {
        let (Some(from), Some(to)) = (self.place(from_m), self.place(to_m)) else { return };
        self.begin("LINE", layer, "AcDbLine");
        self.corner(10, from);
        self.corner(11, to);
    }

    pub(super) fn polyline(&mut self, layer: Layer, places_m: &[[f64; 2]]) {
        let places: Option<Vec<[f64; 2]>> = places_m.iter().map(|p| self.place(*p)).collect();
        let Some(places) = places.filter(|p| p.len() > 1) else { return };
        self.begin("LWPOLYLINE", layer, "AcDbPolyline");
        self.pair(90, places.len());
        self.pair(70, 128); // open; patterns run on round corners
        for [x, y] in places {
            self.pair(10, number(x));
            self.pair(20, number(y));
        }
    }

    /// One line of text that begins (or ends) at a place, turned to the left by so many degrees.
    pub(super) fn text(&mut self, layer: Layer, at_m: [f64; 2], height_m: f64, turned: f64, hold: Hold, text: &str) {
        let text = encoded(text);
        let (Some(at), false) = (self.place(at_m), text.trim().is_empty()) else { return };
        self.begin("TEXT", layer, "AcDbText");
        self.corner(10, at);
        let height = self.unit(height_m);
        self.pair(40, number(height));
        self.pair(1, text);
        self.pair(50, number(turned));
        self.pair(7, "STANDARD");
        if hold == Hold::Right {
            self.pair(72, 2);
            self.corner(11, at);
        }
        self.pair(100, "AcDbText");
    }

    /// Lines of text below each other from a place on, words kept whole; gives back how far down they reach, m.
    pub(super) fn paragraph(&mut self, layer: Layer, at_m: [f64; 2], columns: usize, text: &str) -> f64 {
        let mut y = at_m[1];
        for line in wrapped(text, columns) {
            self.text(layer, [at_m[0], y], self.text_m, 0.0, Hold::Left, &line);
            y -= 1.6 * self.text_m;
        }
        y
    }

    /// The drawing as a file.
    pub(super) fn finish(self) -> String {
        let mut file = File(String::with_capacity(self.entities.len() + 8192));
        let [low, high] = self.corners.unwrap_or([[0.0; 2], [1.0; 2]]);
        self.header(&mut file, low, high);
        file.section("CLASSES");
        file.end();
        self.tables(&mut file, low, high);
        blocks(&mut file);
        file.section("ENTITIES");
        file.0.push_str(&self.entities);
        file.end();
        objects(&mut file);
        file.pair(0, "EOF");
        file.0
    }

    fn header(&self, file: &mut File, low: [f64; 2], high: [f64; 2]) {
        // Units of the drawing: 6 metres, 2 feet. Measurement: 1 metric, 0 not.
        let (units, metric) = match self.words {
            Words::Uk => (6, 1),
            Words::Us => (2, 0),
        };
        file.section("HEADER");
        file.variable("$ACADVER", &[(1, "AC1015".to_owned())]);
        file.variable("$DWGCODEPAGE", &[(3, "ANSI_1252".to_owned())]);
        file.variable("$INSBASE", &[(10, number(0.0)), (20, number(0.0)), (30, number(0.0))]);
        file.variable("$EXTMIN", &[(10, number(low[0])), (20, number(low[1])), (30, number(0.0))]);
        file.variable("$EXTMAX", &[(10, number(high[0])), (20, number(high[1])), (30, number(0.0))]);
        file.variable("$LTSCALE", &[(40, number(1.0))]);
        file.variable("$TEXTSIZE", &[(40, number(self.unit(self.text_m)))]);
        file.variable("$HANDSEED", &[(5, format!("{:X}", self.handle + 1))]);
        file.variable("$LUNITS", &[(70, "2".to_owned())]);
        file.variable("$LUPREC", &[(70, "3".to_owned())]);
        file.variable("$PDMODE", &[(70, "3".to_owned())]); // points are shown as crosses
        file.variable("$PDSIZE", &[(40, number(0.5 * self.unit(self.text_m)))]);
        file.variable("$MEASUREMENT", &[(70, metric.to_string())]);
        file.variable("$INSUNITS", &[(70, units.to_string())]);
        file.end();
    }

    fn tables(&self, file: &mut File, low: [f64; 2], high: [f64; 2]) {
        file.section("TABLES");
        file.table("VPORT", 0x8, 1);
        file.row("VPORT", 0x23, 0x8, "AcDbViewportTableRecord", "*Active");
        let (width, height) = (high[0] - low[0], high[1] - low[1]);
        for (code, value) in [(10, 0.0), (20, 0.0), (11, 1.0), (21, 1.0)] {
            file.pair(code, number(value));
        }
        file.pair(12, number(low[0] + 0.5 * width));
        file.pair(22, number(low[1] + 0.5 * height));
        let rest = [(13, 0.0), (23, 0.0), (14, 0.5), (24, 0.5), (15, 0.5), (25, 0.5), (16, 0.0), (26, 0.0), (36, 1.0)];
        for (code, value) in rest.into_iter().chain([(17, 0.0), (27, 0.0), (37, 0.0)]) {
            file.pair(code, number(value));
        }
        file.pair(40, number(1.1 * height.max(width / 1.5).max(self.unit(self.text_m))));
        for (code, value) in [(41, 1.5), (42, 50.0), (43, 0.0), (44, 0.0), (50, 0.0), (51, 0.0)] {
            file.pair(code, number(value));
        }
        for (code, value) in [(71, 0), (72, 1000), (73, 1), (74, 3), (75, 0), (76, 0), (77, 0), (78, 0)] {
            file.pair(code, value);
        }
        file.pair(0, "ENDTAB");

        file.table("LTYPE", 0x2, Pattern::ALL.len() + 2);
        for (handle, name) in [(0x24, "BYBLOCK"), (0x25, "BYLAYER")] {
            file.row("LTYPE", handle, 0x2, "AcDbLinetypeTableRecord", name);
            file.pattern(&[], 1.0);
        }
        for (handle, pattern) in (FIRST_FREE..).zip(Pattern::ALL) {
            file.row("LTYPE", handle, 0x2, "AcDbLinetypeTableRecord", pattern.name());
            file.pattern(pattern.parts(), self.unit(self.text_m));
        }
        file.pair(0, "ENDTAB");

        file.table("LAYER", 0x1, self.layers.len() + 1);
        let layers = core::iter::once(Layer("0", Pattern::Whole)).chain(self.layers.iter().copied());
        for (handle, Layer(name, pattern)) in (FIRST_FREE + 0x10..).zip(layers) {
            file.row("LAYER", handle, 0x1, "AcDbLayerTableRecord", name);
            file.pair(62, 7); // black on white, white on black: no colour that means a utility
            file.pair(6, pattern.name());
            file.pair(370, -3);
        }
        file.pair(0, "ENDTAB");

        file.table("STYLE", 0x5, 1);
        file.row("STYLE", 0x29, 0x5, "AcDbTextStyleTableRecord", "STANDARD");
        for (code, value) in [(40, 0.0), (41, 1.0), (50, 0.0)] {
            file.pair(code, number(value));
        }
        file.pair(71, 0);
        file.pair(42, number(self.unit(self.text_m)));
        file.pair(3, "arial.ttf");
        file.pair(4, "");
        file.pair(0, "ENDTAB");
        for (name, handle) in [("VIEW", 0x7), ("UCS", 0x6)] {
            file.table(name, handle, 0);
            file.pair(0, "ENDTAB");
        }
        file.table("APPID", 0x3, 1);
        file.row("APPID", 0x2a, 0x3, "AcDbRegAppTableRecord", "ACAD");
        file.pair(0, "ENDTAB");
        file.table("DIMSTYLE", 0x4, 1);
        file.pair(100, "AcDbDimStyleTable");
        file.pair(0, "DIMSTYLE");
        file.pair(105, "2B");
        file.of(0x4, &["AcDbSymbolTableRecord", "AcDbDimStyleTableRecord"]);
        file.pair(2, "STANDARD");
        file.pair(70, 0);
        file.pair(0, "ENDTAB");
        file.table("BLOCK_RECORD", 0x9, 2);
        for (handle, name) in [(MODEL_SPACE, "*Model_Space"), (PAPER_SPACE, "*Paper_Space")] {
            file.pair(0, "BLOCK_RECORD");
            file.pair(5, format!("{handle:X}"));
            file.of(0x9, &["AcDbSymbolTableRecord", "AcDbBlockTableRecord"]);
            file.pair(2, name);
        }
        file.pair(0, "ENDTAB");
        file.end();
    }

    /// Metres in the unit of the drawing.
    fn unit(&self, m: f64) -> f64 {
        match self.words {
            Words::Uk => m,
            Words::Us => to_ft(m),
        }
    }

    /// A place in the unit of the drawing, if it can be drawn; the corners of the drawing grow with it.
    fn place(&mut self, at_m: [f64; 2]) -> Option<[f64; 2]> {
        let at = at_m.map(|m| self.unit(m));
        if !at.iter().all(|x| x.abs() < FAR) {
            return None;
        }
        let [low, high] = self.corners.unwrap_or([at, at]);
        self.corners = Some([[low[0].min(at[0]), low[1].min(at[1])], [high[0].max(at[0]), high[1].max(at[1])]]);
        Some(at)
    }

    fn begin(&mut self, name: &str, Layer(layer, _): Layer, class: &str) {
        self.handle += 1;
        let handle = self.handle;
        self.pair(0, name);
        self.pair(5, format!("{handle:X}"));
        self.pair(330, format!("{MODEL_SPACE:X}"));
        self.pair(100, "AcDbEntity");
        self.pair(8, layer);
        self.pair(100, class);
    }

    fn corner(&mut self, code: i32, [x, y]: [f64; 2]) {
        self.pair(code, number(x));
        self.pair(code + 10, number(y));
        self.pair(code + 20, number(0.0));
    }

    fn pair(&mut self, code: i32, value: impl Display) {
        let _ = writeln!(self.entities, "{code:3}\n{value}");
    }
}

/// The file as it grows.
struct File(String);

impl File {
    fn pair(&mut self, code: i32, value: impl Display) {
        let _ = writeln!(self.0, "{code:3}\n{value}");
    }

    fn section(&mut self, name: &str) {
        self.pair(0, "SECTION");
        self.pair(2, name);
    }

    fn end(&mut self) {
        self.pair(0, "ENDSEC");
    }

    fn variable(&mut self, name: &str, values: &[(i32, String)]) {
        self.pair(9, name);
        for (code, value) in values {
            self.pair(*code, value);
        }
    }

    fn table(&mut self, name: &str, handle: u32, rows: usize) {
        self.pair(0, "TABLE");
        self.pair(2, name);
        self.pair(5, format!("{handle:X}"));
        self.of(0, &["AcDbSymbolTable"]);
        self.pair(70, rows);
    }

    fn row(&mut self, table: &str, handle: u32, owner: u32, class: &str, name: &str) {
        self.pair(0, table);
        self.pair(5, format!("{handle:X}"));
        self.of(owner, &["AcDbSymbolTableRecord", class]);
        self.pair(2, name);
        self.pair(70, 0);
    }

    fn of(&mut self, owner: u32, classes: &[&str]) {
        self.pair(330, format!("{owner:X}"));
        for class in classes {
            self.pair(100, class);
        }
    }

    fn pattern(&mut self, parts: &[f64], scale: f64) {
        self.pair(3, "");
        self.pair(72, 65);
        self.pair(73, parts.len());
        self.pair(40, number(scale * parts.iter().map(|part| part.abs()).sum::<f64>()));
        for part in parts {
            self.pair(49, number(scale * part));
            self.pair(74, 0);
        }
    }
}

fn blocks(file: &mut File) {
    file.section("BLOCKS");
    for (owner, name) in [(MODEL_SPACE, "*Model_Space"), (PAPER_SPACE, "*Paper_Space")] {
        file.pair(0, "BLOCK");
        file.pair(5, format!("{:X}", owner + 1));
        file.of(owner, &["AcDbEntity"]);
        file.pair(8, "0");
        file.pair(100, "AcDbBlockBegin");
        file.pair(2, name);
        file.pair(70, 0);
        for code in [10, 20, 30] {
            file.pair(code, number(0.0));
        }
        file.pair(3, name);
        file.pair(1, "");
        file.pair(0, "ENDBLK");
        file.pair(5, format!("{:X}", owner + 2));
        file.of(owner, &["AcDbEntity"]);
        file.pair(8, "0");
        file.pair(100, "AcDbBlockEnd");
    }
    file.end();
}

fn objects(file: &mut File) {
    file.section("OBJECTS");
    file.pair(0, "DICTIONARY");
    file.pair(5, "A");
    file.of(0, &["AcDbDictionary"]);
    file.pair(281, 1);
    file.pair(3, "ACAD_GROUP");
    file.pair(350, "C");
    file.pair(0, "DICTIONARY");
    file.pair(5, "C");
    file.of(0xa, &["AcDbDictionary"]);
    file.pair(281, 1);
    file.end();
}

/// A number with four decimals, a zero without a sign.
fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    if text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.')) { "0.0000".to_owned() } else { text }
}

/// A stranger's text as one line of a drawing that shows it and does nothing else.
///
/// What hides is shown by its number ([`visible`]); so is what lies beyond the basic plane, which readers of this form cannot be
/// told. A backslash begins codes (`\U+202E`, `\P`): it goes as its own number, which a reader decodes once. Two per cent signs
/// begin codes (`%%d`): a space parts them. A caret begins codes (`^J`): a space behind it makes it a caret. A long text ends in
/// three dots.
pub(super) fn encoded(text: &str) -> String {
    let mut line = String::new();
    let mut before = ' ';
    let shown = visible(text);
    for (i, c) in shown.chars().enumerate() {
        if i == LONGEST_LINE {
            line.push_str("...");
            break;
        }
        match c {
            '%' if before == '%' => line.push_str(" %"),
            '^' => line.push_str("^ "),
            ' '..='~' if c != '\\' => line.push(c),
            c if u32::from(c) <= 0xffff => {
                let _ = write!(line, "\\U+{:04X}", u32::from(c));
            }
            c => {
                let _ = write!(line, "[U+{:X}]", u32::from(c));
            }
        }
        before = c;
    }
    line
}

/// The text cut to so many characters, with three dots where something is left out.
pub(super) fn short(text: &str, most: usize) -> String {
    let shown = visible(text);
    match shown.char_indices().nth(most) {
        Some((at, _)) => format!("{}...", shown.get(..at).unwrap_or_default()),
        None => shown,
    }
}

/// Lines of at most so many characters; a word that is longer is cut.
fn wrapped(text: &str, columns: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut used = 0;
    for word in visible(text).split(' ').filter(|word| !word.is_empty()) {
        let mut word: Vec<char> = word.chars().collect();
        while !word.is_empty() {
            if used > 0 && used + 1 + word.len() > columns {
                lines.push(String::new());
                used = 0;
            }
            let rest = word.split_off(word.len().min(columns));
            if let Some(line) = lines.last_mut() {
                if used > 0 {
                    line.push(' ');
                    used += 1;
                }
                line.extend(&word);
                used += word.len();
            }
            word = rest;
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_stay_text() {
        for (text, line) in [
            ("a\nb\tc", "a b c"),
            ("\\U+0041\\P", "\\U+005CU+0041\\U+005CP"),
            ("50 %%d %%%", "50 % %d % % %"),
            ("^J^", "^ J^ "),
            ("é\u{202e}", "\\U+00E9[U+202E]"),
            ("👩 {\\H2;}", "[U+1F469] {\\U+005CH2;}"),
        ] {
            assert_eq!(encoded(text), line);
        }
        assert_eq!(encoded(&"x".repeat(1000)).len(), LONGEST_LINE + 3);
    }

    #[test]
    fn lines_are_wrapped_between_words() {
        assert_eq!(wrapped("one two  three", 7), ["one two", "three"]);
        assert_eq!(wrapped("abcdefghij kl", 4), ["abcd", "efgh", "ij", "kl"]);
        assert_eq!(wrapped("", 4), [""]);
    }

    #[test]
    fn a_zero_has_no_sign() {
        assert_eq!((number(-0.00001), number(-1.5)), ("0.0000".to_owned(), "-1.5000".to_owned()));
    }
}
