//! The sources of error, switched on one at a time over a head that has noise and nothing else.

/// An error source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Noise of 0.25 degrees, a reading every 50 mm, a head without length.
    Plain,
    /// A head of 0.15 m, as told.
    HeadLength,
    /// Seating drawn as told, 0.1 degrees.
    Seating,
    /// Readings to 0.1 degrees.
    Tenths,
    /// Readings to whole degrees.
    WholeDegrees,
    /// Readings to whole degrees with noise of 0.1 degrees.
    WholeDegreesQuiet,
    /// The counter's scale drawn as told.
    CounterScale,
    /// A reading every 0.2 m.
    Spacing,
    /// Noise correlated over 0.2 m; the correlation is estimated.
    CorrelatedNoise,
    /// Drift drawn as told, 0.1 degrees at the start.
    Drift,
    /// Lips at every joint, noted by nobody, drawn as told, 2 mm.
    Lips,
    /// The head rolls by up to 30 degrees either way over 12 m, and logs it; its error across drawn as told, 0.5 degrees.
    RollLogged,
    /// The same, not logged; told that the zero varies along the run by as much as it does, though not that it swings.
    RollTold,
    /// The same, not logged and not told.
    Roll,
    /// The counter misses 0.3 m somewhere.
    Slip,
    /// Over a third of the pipe the counter reads 2 % long.
    Stretch,
    /// The sensor's filter takes a second, a fifth of a metre.
    Lag,
    /// The bore is an ellipse, 5 % wider and lower than the circle that the job was told.
    OvalBore,
}

impl Source {
    /// All of them, in the order of the tables.
    pub const ALL: [Self; 18] = [
        Self::Plain,
        Self::HeadLength,
        Self::Seating,
        Self::Tenths,
        Self::WholeDegrees,
        Self::WholeDegreesQuiet,
        Self::CounterScale,
        Self::Spacing,
        Self::CorrelatedNoise,
        Self::Drift,
        Self::Lips,
        Self::RollLogged,
        Self::RollTold,
        Self::Roll,
        Self::Slip,
        Self::Stretch,
        Self::Lag,
        Self::OvalBore,
    ];

    /// Whether the estimator models it: then the bounds hold for it.
    pub fn is_modelled(self) -> bool {
        !matches!(self, Self::RollTold | Self::Roll | Self::Slip | Self::Stretch | Self::Lag | Self::OvalBore)
    }

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Plain => "noise alone",
            Self::HeadLength => "head of 0.15 m",
            Self::Seating => "seating",
            Self::Tenths => "steps of 0.1 degree",
            Self::WholeDegrees => "whole degrees",
            Self::WholeDegreesQuiet => "whole degrees, noise 0.1",
            Self::CounterScale => "counter scale",
            Self::Spacing => "every 0.2 m",
            Self::CorrelatedNoise => "noise correlated over 0.2 m",
            Self::Drift => "drift of 0.1 degree",
            Self::Lips => "lips of 2 mm",
            Self::RollLogged => "roll logged",
            Self::RollTold => "roll not logged, wander told",
            Self::Roll => "roll not logged, not told",
            Self::Slip => "counter misses 0.3 m",
            Self::Stretch => "counter 2 % long over a third",
            Self::Lag => "filter of 1 s",
            Self::OvalBore => "oval bore, 5 %",
        }
    }

    /// Noise of one reading before rounding, degrees.
    pub fn noise_deg(self) -> f64 {
        if self == Self::WholeDegreesQuiet { 0.1 } else { 0.25 }
    }

    /// Step of the readings, degrees; 0 for none.
    pub fn step_deg(self) -> f64 {
        match self {
            Self::Tenths => 0.1,
            Self::WholeDegrees | Self::WholeDegreesQuiet => 1.0,
            _ => 0.0,
        }
    }

    /// Whether the noise is too small beside the step to be told from the readings.
    pub fn is_coarse(self) -> bool {
        self.noise_deg() < 0.3 * self.step_deg()
    }

    /// Whether the head rolls.
    pub fn rolls(self) -> bool {
        matches!(self, Self::RollLogged | Self::RollTold | Self::Roll)
    }

    /// Way from reading to reading, m.
    pub fn spacing_m(self) -> f64 {
        if self == Self::Spacing { 0.2 } else { 0.05 }
    }
}
