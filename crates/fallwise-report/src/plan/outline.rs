//! Outlines in px: the smallest convex one around points, and what of it lies in an area.

/// A place in the picture, px.
pub(super) type Px = (f64, f64);

/// An upright rectangle, px.
#[derive(Clone, Copy, Debug)]
pub(super) struct Area {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl Area {
    /// About a place.
    pub(super) fn about(at: Px, half: f64) -> Self {
        Self { left: at.0 - half, top: at.1 - half, right: at.0 + half, bottom: at.1 + half }
    }

    pub(super) fn holds(&self, at: Px) -> bool {
        (self.left..=self.right).contains(&at.0) && (self.top..=self.bottom).contains(&at.1)
    }

    pub(super) fn grown(&self, by: f64) -> Self {
        Self { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    pub(super) fn contains(&self, other: &Self) -> bool {
        self.left <= other.left && other.right <= self.right && self.top <= other.top && other.bottom <= self.bottom
    }

    pub(super) fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    /// The place in it that is nearest.
    pub(super) fn nearest(&self, to: Px) -> Px {
        (to.0.max(self.left).min(self.right), to.1.max(self.top).min(self.bottom))
    }

    /// Whether a straight line goes through it.
    pub(super) fn is_crossed(&self, from: Px, to: Px) -> bool {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
        let sides = [
            (-dx, from.0 - self.left),
            (dx, self.right - from.0),
            (-dy, from.1 - self.top),
            (dy, self.bottom - from.1),
        ];
        for (step, room) in sides {
            if step < 0.0 {
                enters = enters.max(room / step);
            } else if step > 0.0 {
                leaves = leaves.min(room / step);
            } else if room < 0.0 {
                return false;
            }
        }
        enters <= leaves
    }
}

/// The convex outline around points, always the same way round: Andrew's monotone chain.
pub(super) fn hull(mut points: Vec<Px>) -> Vec<Px> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let half = |points: &mut dyn Iterator<Item = Px>| {
        let mut chain: Vec<Px> = Vec::new();
        for p in points {
            while let [.., a, b] = chain.as_slice()
                && (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut outline = half(&mut points.iter().copied());
    outline.extend(half(&mut points.iter().rev().copied()));
    outline
}

/// The part of a convex outline that lies in an area: cut off at one side after the other.
pub(super) fn clip(outline: Vec<Px>, area: &Area) -> Vec<Px> {
    let sides: [&dyn Fn(Px) -> f64; 4] =
        [&|p| p.0 - area.left, &|p| area.right - p.0, &|p| p.1 - area.top, &|p| area.bottom - p.1];
    sides.iter().fold(outline, |outline, inside| {
        let mut kept = Vec::with_capacity(outline.len() + 2);
        for (i, &p) in outline.iter().enumerate() {
            let Some(&q) = outline.get(i + 1).or(outline.first()) else { continue };
            let (a, b) = (inside(p), inside(q));
            if a >= 0.0 {
                kept.push(p);
            }
            if (a < 0.0) != (b < 0.0) {
                let t = a / (a - b);
                kept.push((p.0 + t * (q.0 - p.0), p.1 + t * (q.1 - p.1)));
            }
        }
        kept
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outlines_hold_their_points_and_are_cut_at_the_frame() {
        let square = vec![(0.0, 0.0), (4.0, 0.0), (1.0, 1.0), (4.0, 4.0), (0.0, 4.0), (2.0, 0.0), (0.0, 0.0)];
        assert_eq!(hull(square.clone()), [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]);
        let area = Area { left: 1.0, top: -9.0, right: 9.0, bottom: 2.0 };
        let inside = hull(clip(hull(square), &area));
        assert_eq!(inside, [(1.0, 0.0), (4.0, 0.0), (4.0, 2.0), (1.0, 2.0)]);
        assert!(clip(inside, &Area { left: 5.0, ..area }).is_empty());
        assert_eq!(hull(vec![(1.0, 1.0), (1.0, 1.0)]), [(1.0, 1.0)]);
    }

    #[test]
    fn a_line_through_an_area_is_seen() {
        let area = Area { left: 0.0, top: 0.0, right: 2.0, bottom: 1.0 };
        assert!(area.is_crossed((-1.0, 0.5), (3.0, 0.5)) && area.is_crossed((1.0, 0.5), (1.0, 0.5)));
        assert!(!area.is_crossed((-1.0, 2.0), (3.0, 2.0)) && !area.is_crossed((-2.0, 0.0), (0.0, 3.0)));
    }
}
