//! The classes of pipe: 30 m, most in ten sticks of 3 m.

use fallwise::{
    math::{self, Random},
    simulate::Truth,
};

/// Length of one stick, m.
pub const STICK_M: f64 = 3.0;
/// Sticks of a lateral.
pub const STICKS: usize = 10;
/// Length of a lateral, m.
pub const LENGTH_M: f64 = STICK_M * STICKS as f64;

/// Over how much the phase of joints against readings varies, m: the widest spacing of readings.
const PHASE_M: f64 = 0.2;

/// A class of pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// One slope throughout, another in each lateral so that every phase of a rounded display comes up.
    Straight,
    /// Sticks of 2 % that differ by 0.6 %, one of them a backfall.
    LargeChanges,
    /// Sticks of 2 % that differ by 0.2 %.
    SmallChanges,
    /// 2 % with a dip that is nowhere straight.
    SmoothSag,
    /// Level.
    Level,
    /// Sticks that differ from level by 0.05 %.
    NearLevel,
    /// 2 %, the last three sticks running back at 1 %.
    Backfall,
}

impl Shape {
    /// All of them, in the order of the tables.
    pub const ALL: [Self; 7] = [
        Self::Straight,
        Self::LargeChanges,
        Self::SmallChanges,
        Self::SmoothSag,
        Self::Level,
        Self::NearLevel,
        Self::Backfall,
    ];

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::LargeChanges => "sticks, large changes",
            Self::SmallChanges => "sticks, small changes",
            Self::SmoothSag => "smooth sag",
            Self::Level => "level",
            Self::NearLevel => "near level",
            Self::Backfall => "backfall",
        }
    }

    /// Whether it is made of sticks between joints.
    pub fn has_joints(self) -> bool {
        self != Self::SmoothSag
    }

    /// Inner joints of a pipe of this class, m.
    pub fn joints_m(self, truth: &Truth) -> Vec<f64> {
        let inner = truth.breaks_m.len().saturating_sub(2);
        if self.has_joints() { truth.breaks_m.iter().skip(1).take(inner).copied().collect() } else { Vec::new() }
    }

    /// Where its joints are, m, also those that the slope says nothing of.
    pub fn laid_m(self, truth: &Truth) -> Vec<f64> {
        if self.has_joints() { self.joints_m(truth) } else { (1..STICKS).map(|k| STICK_M * k as f64).collect() }
    }

    /// Stations where the slope of such a pipe changes, m; none where it changes everywhere.
    pub fn breaks_m(self, truth: &Truth) -> Vec<f64> {
        if !self.has_joints() {
            return Vec::new();
        }
        let changes = truth.tilt_rad.windows(2).map(|t| t[0] != t[1]);
        truth.breaks_m.iter().skip(1).zip(changes).filter_map(|(s, changes)| changes.then_some(*s)).collect()
    }

    /// A pipe of this class.
    pub fn truth(self, random: &mut Random) -> Truth {
        let pieces = if self.has_joints() { STICKS } else { 120 };
        let piece_m = LENGTH_M / pieces as f64;
        let common = 0.005 + 0.025 * random.uniform();
        let mut slope = |k: usize| match self {
            Self::Straight => common,
            Self::LargeChanges if k == 5 => -0.004 - 0.012 * random.uniform(),
            Self::LargeChanges => 0.02 + 0.006 * random.normal(),
            Self::SmallChanges => 0.02 + 0.002 * random.normal(),
            Self::SmoothSag => {
                let off = (piece_m * (k as f64 + 0.5) - 0.5 * LENGTH_M) / 4.0;
                0.02 + 0.025 * off * math::exp(-0.5 * off * off)
            }
            Self::Level => 0.0,
            Self::NearLevel => 0.0005 * random.normal(),
            Self::Backfall if k < 7 => 0.02,
            Self::Backfall => -0.01,
        };
        let tilt_rad = (0..pieces).map(|k| math::atan(slope(k))).collect();
        // The first stick is longer or shorter than the rest, so that joints lie anywhere between two readings.
        let shift_m = PHASE_M * (random.uniform() - 0.5);
        let inner = |k: usize| piece_m * k as f64 + if k == 0 || k == pieces { 0.0 } else { shift_m };
        Truth { breaks_m: (0..=pieces).map(inner).collect(), tilt_rad, lips: Vec::new() }
    }
}
