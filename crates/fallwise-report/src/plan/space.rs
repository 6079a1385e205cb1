//! Where labels go: beside what they name, off the pipe and off each other.

use core::f64::consts::TAU;

use fallwise::math;

use super::outline::{Area, Px};

/// How far from what it names a label may stand, px, nearest first.
const AWAY: [f64; 9] = [7.0, 13.0, 22.0, 34.0, 50.0, 70.0, 95.0, 125.0, 160.0];
/// Directions that are tried.
const DIRECTIONS: u32 = 16;
/// Least space between two labels, px.
const GAP: f64 = 2.5;
/// From here on a line leads from a label to what it names, px.
const LEADS: f64 = 10.0;

/// Half the width of the pipe as it is kept free, px; thinner lines may be crossed.
pub(super) const PIPE: f64 = 4.0;

/// What of a drawing is taken.
pub(super) struct Space {
    pub(super) frame: Area,
    labels: Vec<Area>,
    symbols: Vec<Area>,
    /// Lines, with half their width.
    lines: Vec<(Px, Px, f64)>,
}

/// Where a label has found room.
pub(super) struct Found {
    pub(super) area: Area,
    /// The line that leads to what it names, where it stands apart.
    pub(super) leader: Option<(Px, Px)>,
}

impl Space {
    pub(super) fn new(frame: Area) -> Self {
        Self { frame, labels: Vec::new(), symbols: Vec::new(), lines: Vec::new() }
    }

    /// No label goes over this symbol.
    pub(super) fn symbol(&mut self, area: Area) {
        self.symbols.push(area);
    }

    /// No label goes over this line.
    pub(super) fn line(&mut self, from: Px, to: Px, half: f64) {
        self.lines.push((from, to, half));
    }

    /// Whether nothing is there yet.
    pub(super) fn is_free(&self, area: &Area) -> bool {
        let apart = area.grown(GAP);
        self.frame.contains(&apart)
            && !self.labels.iter().chain(&self.symbols).any(|taken| taken.overlaps(&apart))
            && !self.lines.iter().any(|(from, to, half)| area.grown(*half).is_crossed(*from, *to))
    }

    /// Whether a line from a place to its label would go over another label or, once it has left the place, over the pipe.
    fn is_confused(&self, at: Px, end: Px) -> bool {
        let length = math::hypot(end.0 - at.0, end.1 - at.1);
        let left = LEADS.min(length) / length;
        let from = (at.0 + left * (end.0 - at.0), at.1 + left * (end.1 - at.1));
        let between = Area {
            left: from.0.min(end.0),
            top: from.1.min(end.1),
            right: from.0.max(end.0),
            bottom: from.1.max(end.1),
        };
        let meets = |(a, b, half): &(Px, Px, f64)| {
            *half >= PIPE && between.grown(*half).is_crossed(*a, *b) && cross(from, end, *a, *b, *half)
        };
        self.labels.iter().any(|taken| taken.is_crossed(at, end)) || self.lines.iter().any(meets)
    }

    /// Room for a label of this size beside a place, no farther away than `farthest`, rather `toward` than elsewhere. It is taken.
    pub(super) fn place(&mut self, at: Px, toward: Px, (wide, high): (f64, f64), farthest: f64) -> Option<Found> {
        let first = math::atan2(toward.1, toward.0);
        for away in AWAY.into_iter().filter(|a| *a <= farthest) {
            for i in 0..DIRECTIONS {
                // 0, 1, -1, 2, -2, ... steps off the direction asked for.
                let steps = f64::from(i.div_ceil(2)) * if i % 2 == 0 { -1.0 } else { 1.0 };
                let (sin, cos) = math::sin_cos(first + TAU * steps / f64::from(DIRECTIONS));
                let middle = (at.0 + away * cos + 0.5 * wide * cos, at.1 + away * sin + 0.5 * high * sin);
                let area = Area {
                    left: middle.0 - 0.5 * wide,
                    top: middle.1 - 0.5 * high,
                    right: middle.0 + 0.5 * wide,
                    bottom: middle.1 + 0.5 * high,
                };
                if !self.is_free(&area) {
                    continue;
                }
                let end = area.nearest(at);
                let apart = math::hypot(end.0 - at.0, end.1 - at.1) > LEADS;
                if apart && self.is_confused(at, end) {
                    continue;
                }
                let leader = apart.then_some((at, end));
                if let Some((from, to)) = leader {
                    self.lines.push((from, to, 1.0));
                }
                self.labels.push(area);
                return Some(Found { area, leader });
            }
        }
        None
    }
}

/// Whether two straight lines come as near as `half` px to each other.
fn cross(a: Px, b: Px, c: Px, d: Px, half: f64) -> bool {
    let side = |p: Px, q: Px, r: Px| (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0);
    let parted = |p: Px, q: Px, r: Px, s: Px| side(p, q, r) * side(p, q, s) <= 0.0;
    let near = |p: Px| Area::about(p, half).is_crossed(a, b);
    (parted(a, b, c, d) && parted(c, d, a, b)) || near(c) || near(d)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_off_the_line_and_off_each_other() {
        let mut space = Space::new(Area { left: 0.0, top: 0.0, right: 300.0, bottom: 100.0 });
        space.line((0.0, 50.0), (300.0, 50.0), 3.0);
        let found: Vec<Area> =
            (0..3).filter_map(|_| Some(space.place((150.0, 50.0), (0.0, -1.0), (60.0, 13.0), 50.0)?.area)).collect();
        assert_eq!(found.len(), 3);
        for (i, a) in found.iter().enumerate() {
            assert!(a.top > 53.0 || a.bottom < 47.0, "{a:?} on the line");
            assert!(found.iter().skip(i + 1).all(|b| !a.overlaps(b)));
        }
        assert!(space.place((150.0, 50.0), (0.0, -1.0), (400.0, 13.0), 160.0).is_none(), "wider than the frame");
    }
}
