//! Columns of text, held as one piece.

/// A column kept as text.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TextColumn {
    name: String,
    text: String,
    ends: Vec<usize>,
}

impl TextColumn {
    /// A column without cells, with room for so many.
    pub(super) fn with_room(name: &str, rows: usize) -> Self {
        Self { name: name.to_owned(), text: String::new(), ends: Vec::with_capacity(rows) }
    }

    pub(super) fn push(&mut self, cell: &str) {
        self.text.push_str(cell);
        self.ends.push(self.text.len());
    }

    /// Takes cells away from the end.
    pub(super) fn truncate(&mut self, cells: usize) {
        self.ends.truncate(cells);
        self.text.truncate(self.ends.last().copied().unwrap_or(0));
    }

    /// Name in the header.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Number of cells.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there are no cells.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// The cell of a reading, from 0.
    pub fn get(&self, index: usize) -> Option<&str> {
        let end = *self.ends.get(index)?;
        let start = if index == 0 { 0 } else { *self.ends.get(index - 1)? };
        self.text.get(start..end)
    }

    /// The cells in order.
    pub fn iter(&self) -> impl Iterator<Item = &str> {
        (0..self.len()).filter_map(|i| self.get(i))
    }
}
