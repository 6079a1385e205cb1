//! The scale of the picture: heights as drawn, where a drop is not drawn to height, and the exaggeration.

use core::f64::consts::FRAC_PI_4;

use fallwise::{
    Answers,
    adjust::Z_95,
    answers::PathRow,
    units::{Voice, Words, ft},
};

use super::ties;

/// Exaggerations that a reader can reckon with.
const NICE: [f64; 22] = [
    1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0, 150.0, 200.0,
    300.0, 500.0,
];
/// Least height range of the picture, m: a level pipe of unknown bore has a height range of nothing.
const LEAST_RANGE_M: f64 = 0.05;
/// A step without length is a drop from here on, m.
const TALL_STEP_M: f64 = 0.3;

/// A node of the path as drawn.
#[derive(Clone, Copy)]
pub(super) struct Node<'a> {
    pub(super) row: &'a PathRow,
    /// What is added to its heights to draw it: 0 on the part that the height axis is for.
    pub(super) shift_m: f64,
}

impl Node<'_> {
    pub(super) fn height_m(&self) -> f64 {
        self.row.height_m + self.shift_m
    }
    pub(super) fn band_m(&self) -> (f64, f64) {
        let (low, high) = (self.row.height_low_m, self.row.height_high_m);
        if low.is_finite() && high.is_finite() {
            (low + self.shift_m, high + self.shift_m)
        } else {
            (self.height_m(), self.height_m())
        }
    }
    /// The same without the ties, where there are ties.
    pub(super) fn before_m(&self) -> Option<(f64, f64)> {
        let (height_m, sd_m) = self.row.before_height_m.zip(self.row.before_height_sd_m)?;
        let (middle, half) = (height_m + self.shift_m, Z_95 * sd_m);
        (middle.abs() < 1e6 && (0.0..1e6).contains(&half)).then_some((middle - half, middle + half))
    }
}

/// A drop that would squash everything else.
pub(super) struct Cut {
    /// It lies between this node and the next.
    pub(super) node: usize,
    /// Its true height, m, positive.
    pub(super) drop_m: f64,
}

/// Pieces of a drop closer in tilt than this, rad, are one line.
const ONE_LINE_RAD: f64 = 0.01;

/// The rows without the nodes inside a straight drop, which is cut as a whole.
fn as_one_drop<'a>(rows: &[&'a PathRow]) -> Vec<&'a PathRow> {
    let tilt = |row: Option<&&PathRow>| row.and_then(|r| r.tilt_rad).filter(|t| t.abs() > FRAC_PI_4);
    let inside = |i: usize| {
        let before = i.checked_sub(1).and_then(|b| tilt(rows.get(b)));
        before.zip(tilt(rows.get(i))).is_some_and(|(a, b)| (a - b).abs() < ONE_LINE_RAD)
    };
    rows.iter().enumerate().filter(|(i, _)| !inside(*i)).map(|(_, row)| *row).collect()
}

/// The path as drawn.
pub(super) struct Shape<'a> {
    pub(super) nodes: Vec<Node<'a>>,
    pub(super) cuts: Vec<Cut>,
    /// Lowest and highest thing to draw, m.
    pub(super) low_m: f64,
    pub(super) high_m: f64,
}

impl<'a> Shape<'a> {
    /// The path with room for what was measured beside the runs.
    pub(super) fn new(answers: &'a Answers) -> Option<Self> {
        let mut shape = Self::of(&answers.path)?;
        shape.hold(answers);
        Some(shape)
    }

    /// The finite rows of a path in order of station; nothing where there are fewer than two, or no length.
    pub(super) fn of(path: &'a [PathRow]) -> Option<Self> {
        let mut rows: Vec<&PathRow> = Vec::with_capacity(path.len());
        for row in path {
            // Beyond 1000 km there is no drain, and no scale.
            let drawable = row.station_m.abs() < 1e6 && row.height_m.abs() < 1e6;
            if drawable && rows.last().is_none_or(|last| last.station_m <= row.station_m) {
                rows.push(row);
            }
        }
        let rows = as_one_drop(&rows);
        let (first, last) = (rows.first()?, rows.last()?);
        if last.station_m - first.station_m < 1e-3 {
            return None;
        }
        let falls: Vec<f64> = rows.windows(2).map(|w| w[1].height_m - w[0].height_m).collect();
        let is_drop: Vec<bool> = rows
            .windows(2)
            .map(|w| {
                let (length, fall) = (w[1].station_m - w[0].station_m, (w[1].height_m - w[0].height_m).abs());
                if length > 0.0 { w[0].tilt_rad.is_some_and(|t| t.abs() > FRAC_PI_4) } else { fall > TALL_STEP_M }
            })
            .collect();
        // Without its drops, what is the height range? A drop that is more than half of it is cut to a quarter.
        let bare =
            lay(&rows, |i| if is_drop.get(i) == Some(&true) { 0.0 } else { falls.get(i).copied().unwrap_or(0.0) });
        let (low, high) = range(&bare);
        let kept = 0.25 * (high - low);
        let cut = |i: usize| is_drop.get(i) == Some(&true) && falls.get(i).is_some_and(|f| f.abs() > 2.0 * kept);
        let mut nodes = lay(&rows, |i| match falls.get(i) {
            Some(&fall) if cut(i) => {
                if fall < 0.0 {
                    -kept
                } else {
                    kept
                }
            }
            fall => fall.copied().unwrap_or(0.0),
        });
        let cuts: Vec<Cut> = falls
            .iter()
            .enumerate()
            .filter(|(i, _)| cut(*i))
            .map(|(node, fall)| Cut { node, drop_m: fall.abs() })
            .collect();
        // The height axis is for the longest part between cuts.
        let mut starts = vec![0];
        starts.extend(cuts.iter().map(|c| c.node + 1));
        let ends = cuts.iter().map(|c| c.node).chain([nodes.len().saturating_sub(1)]);
        let longest = starts
            .iter()
            .zip(ends)
            .filter_map(|(&a, b)| {
                Some((nodes.get(a)?.shift_m, nodes.get(b)?.row.station_m - nodes.get(a)?.row.station_m))
            })
            .fold((0.0, -1.0), |best, part| if part.1 > best.1 { part } else { best });
        for node in &mut nodes {
            node.shift_m -= longest.0;
        }
        let (low_m, high_m) = range(&nodes);
        Some(Self { nodes, cuts, low_m, high_m })
    }

    /// Makes room for the band without the ties, then for what was measured beside the runs, as far as that is no more than the
    /// picture is high already: a datum that is wrong must not squash the pipe.
    fn hold(&mut self, answers: &Answers) {
        let bands: Vec<(f64, f64)> = self.nodes.iter().filter_map(Node::before_m).collect();
        for (low, high) in bands {
            (self.low_m, self.high_m) = (self.low_m.min(low), self.high_m.max(high));
        }
        let most = self.high_m - self.low_m;
        let (least_m, most_m) = (self.low_m - most, self.high_m + most);
        for (low, high) in ties::extents(answers, self) {
            if low >= least_m && high <= most_m {
                (self.low_m, self.high_m) = (self.low_m.min(low), self.high_m.max(high));
            }
        }
    }

    /// Where a height above the lowest invert is drawn at a station: as far from the invert as it is. Beyond an end: on the part that
    /// ends there.
    pub(super) fn drawn_m(&self, station_m: f64, height_m: f64) -> Option<f64> {
        let inside = self.nodes.windows(2).find_map(|w| {
            let (a, b) = (w[0].row.station_m, w[1].row.station_m);
            let t = (station_m - a) / (b - a);
            let between = |of: &dyn Fn(&Node) -> f64| of(&w[0]) + t * (of(&w[1]) - of(&w[0]));
            (a <= station_m && station_m <= b && a < b).then(|| between(&|n| n.shift_m))
        });
        let end = || match station_m {
            s if s <= self.start_m() => self.nodes.first(),
            s if s >= self.end_m() => self.nodes.last(),
            _ => None,
        };
        Some(height_m + inside.or_else(|| end().map(|n| n.shift_m))?)
    }

    /// Height of the invert above the lowest one at a station between the ends, as it is, not as it is drawn.
    pub(super) fn height_m(&self, station_m: f64) -> Option<f64> {
        self.nodes.windows(2).find_map(|w| {
            let (a, b) = (w[0].row.station_m, w[1].row.station_m);
            let t = (station_m - a) / (b - a);
            let inside = a <= station_m && station_m <= b && a < b;
            inside.then(|| w[0].row.height_m + t * (w[1].row.height_m - w[0].row.height_m))
        })
    }

    pub(super) fn start_m(&self) -> f64 {
        self.nodes.first().map_or(0.0, |n| n.row.station_m)
    }

    pub(super) fn end_m(&self) -> f64 {
        self.nodes.last().map_or(0.0, |n| n.row.station_m)
    }

    pub(super) fn is_cut(&self, node: usize) -> bool {
        self.cuts.iter().any(|c| c.node == node)
    }

    /// Invert as drawn at a station, with the shift there and the bore.
    pub(super) fn at(&self, station_m: f64) -> Option<(f64, f64, Option<f64>)> {
        self.nodes.windows(2).find_map(|w| {
            let (a, b) = (w[0].row.station_m, w[1].row.station_m);
            let inside = a <= station_m && station_m <= b && a < b;
            inside.then(|| {
                let t = (station_m - a) / (b - a);
                (w[0].height_m() + t * (w[1].height_m() - w[0].height_m()), w[0].shift_m, bore(w[0].row))
            })
        })
    }
}

/// The bore, m, if it can be drawn.
pub(super) fn bore(row: &PathRow) -> Option<f64> {
    row.bore_m.filter(|b| *b > 0.0 && *b < 100.0)
}

/// Nodes whose heights differ by `fall(i)` from node i to the next, and by nothing from the first row's own.
fn lay<'a>(rows: &[&'a PathRow], fall: impl Fn(usize) -> f64) -> Vec<Node<'a>> {
    let mut height = rows.first().map_or(0.0, |r| r.height_m);
    rows.iter()
        .enumerate()
        .map(|(i, &row)| {
            let mut shift_m = height - row.height_m;
            // Sums of differences come back to the height itself but for rounding.
            if shift_m.abs() < 1e-9 {
                shift_m = 0.0;
            }
            height += fall(i);
            Node { row, shift_m }
        })
        .collect()
}

fn range(nodes: &[Node]) -> (f64, f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for node in nodes {
        let band = node.band_m();
        low = low.min(band.0).min(node.height_m());
        high = high.max(band.1).max(node.height_m() + bore(node.row).unwrap_or(0.0));
    }
    let short = (LEAST_RANGE_M - (high - low)).max(0.0);
    (low - 0.5 * short, high + 0.5 * short)
}

/// From metres to px.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    pub(super) from_m: f64,
    pub(super) left: f64,
    /// px a metre of length.
    pub(super) along: f64,
    /// How many times larger heights are drawn.
    pub(super) exaggeration: f64,
    /// Height drawn at `top`, m.
    pub(super) high_m: f64,
    pub(super) top: f64,
}

impl Scale {
    /// The largest nice exaggeration at which `shape` goes into the box; where not even 1 does, lengths shrink.
    pub(super) fn fit(shape: &Shape, left: f64, top: f64, width: f64, height: f64) -> Self {
        let length = shape.end_m() - shape.start_m();
        let range = shape.high_m - shape.low_m;
        let along = width / length;
        let fits = |n: &f64| range * along * n <= height;
        let exaggeration = NICE.iter().copied().filter(fits).fold(1.0, f64::max);
        let along = along.min(height / (range * exaggeration));
        Self { from_m: shape.start_m(), left, along, exaggeration, high_m: shape.high_m, top }
    }

    pub(super) fn x(&self, station_m: f64) -> f64 {
        self.left + (station_m - self.from_m) * self.along
    }

    pub(super) fn y(&self, height_m: f64) -> f64 {
        self.top + (self.high_m - height_m) * self.along * self.exaggeration
    }
}

/// Round values between `low` and `high`, about `count` of them, and how many decimals they need.
pub(super) fn ticks(low: f64, high: f64, count: f64) -> (Vec<f64>, usize) {
    let span = high - low;
    if !(span > 0.0 && span.is_finite()) {
        return (Vec::new(), 0);
    }
    let mut step = 1e-6;
    let mut turn = 0;
    // 1, 2, 5, 10, ...: from a millionth up to what is wanted, 60 turns reach 1e14.
    while step < span / count && turn < 60 {
        step *= if turn % 3 == 1 { 2.5 } else { 2.0 };
        turn += 1;
    }
    let places = (0..6_i32).find(|p| step * ten_to(*p) > 0.999).unwrap_or(6);
    let first = (low / step - 1e-9).ceil();
    let values = (0..200).map(|i| (first + f64::from(i)) * step).take_while(|v| *v <= high + 1e-9 * span).collect();
    (values, usize::try_from(places).unwrap_or(0))
}

/// Lengths to mark along an axis, with their station, m, and their text: in metres, or in feet for `Words::Us`.
pub(super) fn length_ticks(v: Voice, from_m: f64, to_m: f64) -> Vec<(f64, String)> {
    let (unit, in_m) = match v.words {
        Words::Uk => ("m", 1.0),
        Words::Us => ("ft", ft(1.0)),
    };
    let (values, places) = ticks(from_m / in_m, to_m / in_m, 8.0);
    values.into_iter().map(|value| (value * in_m, format!("{} {unit}", v.number(value, places)))).collect()
}

/// The same voice with the other units.
pub(super) fn other(v: Voice) -> Voice {
    let words = match v.words {
        Words::Uk => Words::Us,
        Words::Us => Words::Uk,
    };
    Voice { words, ..v }
}

fn ten_to(places: i32) -> f64 {
    (0..places).fold(1.0, |power, _| power * 10.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round() {
        assert_eq!(ticks(0.0, 24.0, 8.0), (vec![0.0, 5.0, 10.0, 15.0, 20.0], 0));
        let (values, places) = ticks(-0.02, 0.5, 5.0);
        assert_eq!((values.len(), places), (3, 1)); // 0.0, 0.2, 0.4
        assert!(ticks(0.0, f64::NAN, 5.0).0.is_empty() && ticks(1.0, 1.0, 5.0).0.is_empty());
    }
}
