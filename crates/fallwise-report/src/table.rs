//! Tables of pages: a name for who cannot see them, columns, rows of figures with what stands below each.

use crate::text::readable;

/// A figure, and what stands below it: its interval, a remark.
pub(crate) type Cell = (String, String);

/// A figure with nothing below it.
pub(crate) fn plain(text: String) -> Cell {
    (text, String::new())
}

/// A table as it is printed.
pub(crate) struct Table {
    /// Class of the whole: `figures` keep to a line, texts do not.
    pub(crate) class: &'static str,
    /// What it is of.
    pub(crate) name: String,
    pub(crate) columns: Vec<String>,
    pub(crate) rows: Vec<Row>,
}

/// A row as it is printed.
pub(crate) struct Row {
    /// Class of the row.
    pub(crate) kind: &'static str,
    pub(crate) cells: Vec<Cell>,
}

impl Table {
    /// Of texts that are made readable here; columns are texts of ours, looked up by whoever calls.
    pub(crate) fn new(
        name: &str,
        columns: impl IntoIterator<Item = String>,
        rows: impl IntoIterator<Item = Vec<Cell>>,
    ) -> Self {
        Self {
            class: "figures",
            name: readable(name),
            columns: columns.into_iter().map(|c| readable(&c)).collect(),
            rows: rows.into_iter().map(|cells| Row::new("", cells)).collect(),
        }
    }

    /// The same, of sentences and long names.
    pub(crate) fn of_texts(self) -> Self {
        Self { class: "", ..self }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}

impl Row {
    pub(crate) fn new(kind: &'static str, cells: Vec<Cell>) -> Self {
        Self { kind, cells: cells.into_iter().map(|(figure, below)| (readable(&figure), readable(&below))).collect() }
    }
}

/// Names and texts beside each other, as they are printed.
pub(crate) fn pairs(pairs: impl IntoIterator<Item = (String, String)>) -> Vec<(String, String)> {
    pairs.into_iter().map(|(name, text)| (readable(&name), readable(&text))).collect()
}

/// Lines as they are printed.
pub(crate) fn lines(lines: impl IntoIterator<Item = String>) -> Vec<String> {
    lines.into_iter().map(|line| readable(&line)).collect()
}
