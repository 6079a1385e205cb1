//! A share with its standard error.

/// Mean of one number a lateral.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Share {
    values: Vec<f64>,
}

impl Share {
    /// Adds the number of one more lateral.
    pub fn add(&mut self, value: f64) {
        self.values.push(value);
    }

    /// Adds one lateral of which something holds or not.
    pub fn yes(&mut self, holds: bool) {
        self.add(f64::from(u8::from(holds)));
    }

    /// Laterals that had anything to say.
    pub fn laterals(&self) -> usize {
        self.values.len()
    }

    /// Whether none had.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// Mean; 0 of nothing.
    pub fn mean(&self) -> f64 {
        self.values.iter().sum::<f64>() / (self.laterals() as f64).max(1.0)
    }

    /// Standard error of the mean; never below that of half a case, so that 100 % of few is no certainty.
    pub fn error(&self) -> f64 {
        let n = (self.laterals() as f64).max(1.0);
        let mean = self.mean();
        let squares: f64 = self.values.iter().map(|v| (v - mean) * (v - mean)).sum();
        (squares / (n - 1.0).max(1.0) / n).sqrt().max(0.5 / n)
    }
}

impl FromIterator<bool> for Share {
    fn from_iter<T: IntoIterator<Item = bool>>(holds: T) -> Self {
        let mut share = Self::default();
        holds.into_iter().for_each(|h| share.yes(h));
        share
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn error_of_a_share_is_binomial() {
        let share: Share = (0..400).map(|i| i % 4 != 0).collect();
        assert!((share.mean() - 0.75).abs() < 1e-15);
        assert!((share.error() - (0.75_f64 * 0.25 / 399.0).sqrt()).abs() < 1e-12);
        let all: Share = (0..50).map(|_| true).collect();
        assert!((all.error() - 0.01).abs() < 1e-15);
        assert!(Share::default().is_empty());
    }
}
