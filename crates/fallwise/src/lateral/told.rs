//! Sentences on their way into rows.

use alloc::collections::BTreeMap;

use crate::prelude::*;
use crate::units::Said;

/// Rows hold sentences as they print; here they are kept with their figures apart, by how they print.
#[derive(Default)]
pub(super) struct Told(BTreeMap<String, Said>);

impl Told {
    /// A sentence for a row, as it prints.
    pub(super) fn row(&mut self, said: Said) -> String {
        let text = said.to_string();
        // A fixed text is found by itself.
        if !said.is_fixed() {
            self.0.entry(text.clone()).or_insert(said);
        }
        text
    }

    /// Sentences for a list of rows.
    pub(super) fn rows(&mut self, said: impl IntoIterator<Item = Said>) -> Vec<String> {
        said.into_iter().map(|said| self.row(said)).collect()
    }

    /// Keeps what stands in a row already.
    pub(super) fn keep<'a>(&mut self, said: impl IntoIterator<Item = &'a Said>) {
        for said in said.into_iter().filter(|said| !said.is_fixed()) {
            self.0.entry(said.to_string()).or_insert_with(|| said.clone());
        }
    }

    /// Each sentence once, in the order of how they print.
    pub(super) fn all(self) -> Vec<Said> {
        self.0.into_values().collect()
    }
}
