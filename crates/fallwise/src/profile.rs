//! Heights along a chain.

/// Heights of the invert along the lateral, developed along its stations: nodes joined by straight pieces. Arcs stand
/// as chords of at most 2.25 degrees whose nodes lie exactly on the arc; a step is two nodes at one station.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Stations of the nodes, m, not falling.
    pub station_m: Vec<f64>,
    /// Heights of the nodes above the lowest, m.
    pub height_m: Vec<f64>,
    /// Tilt of each piece, rad (one fewer than nodes); 0 for a step.
    pub tilt_rad: Vec<f64>,
    /// Reach of each piece, an index into the reaches.
    pub reach: Vec<usize>,
    /// True length over station difference: 1 + the counter's scale error.
    pub scale: f64,
}

/// Equally likely profiles: draws of a posterior.
pub trait Draws {
    /// How many.
    fn count(&self) -> usize;
    /// Visits each in order.
    fn for_each(&self, visit: &mut dyn FnMut(&Profile));
}

impl Draws for [Profile] {
    fn count(&self) -> usize {
        self.len()
    }
    fn for_each(&self, visit: &mut dyn FnMut(&Profile)) {
        self.iter().for_each(visit);
    }
}
