//! The table of a tie: flat, with a `kind` that says which keys it has.
//!
//! A place is `station` with `station_sd`, or two of them, `from` with `from_sd` and `to` with `to_sd`; `taped` says of all the
//! stations of a tie that they were taped rather than had from the counter.

use core::fmt;

use fallwise::model::{Seen, TiltPositive};
use serde::{
    Deserialize, Deserializer, Serialize,
    de::{EnumAccess, VariantAccess, Visitor},
};

use crate::job::quantity::{Angle, Length, Station, Tilt};

/// The kinds, in the order in which they are told, each with the table of its other keys.
macro_rules! kinds {
    ($($kind:ident($form:ident)),+ $(,)?) => {
        /// A tie: what is known independently of the runs.
        #[derive(Debug, Clone, Serialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(tag = "kind", rename_all = "snake_case")]
        pub(in crate::job) enum TieForm {
            $($kind($form),)+
        }

        #[derive(Deserialize)]
        #[serde(rename_all = "snake_case")]
        enum Kind {
            $($kind,)+
        }

        // serde's own way with a `kind` beside the other keys forgets where they stand in the text.
        impl<'de> Deserialize<'de> for TieForm {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                struct OfKind;
                impl<'de> Visitor<'de> for OfKind {
                    type Value = TieForm;

                    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                        f.write_str("a table")
                    }

                    fn visit_enum<A: EnumAccess<'de>>(self, table: A) -> Result<TieForm, A::Error> {
                        let (kind, keys) = table.variant::<Kind>()?;
                        match kind {
                            $(Kind::$kind => keys.newtype_variant().map(TieForm::$kind),)+
                        }
                    }
                }
                deserializer.deserialize_enum(TieForm::TABLE, TieForm::KINDS, OfKind)
            }
        }
    };
}

kinds!(
    Invert(InvertTie),
    Plan(PlanTie),
    Azimuth(AzimuthTie),
    Depth(DepthTie),
    HeightDifference(HeightDifferenceTie),
    Length(LengthTie),
    ReversalCheck(ReversalCheckTie),
    LevelCheck(LevelCheckTie),
    WaterLevel(WaterLevelTie),
    WaterDepth(WaterDepthTie),
);

impl TieForm {
    /// The name by which the reader of the tree knows this table.
    pub(in crate::job) const TABLE: &'static str = "TieForm";
    /// The words of `kind`.
    pub(in crate::job) const KINDS: &'static [&'static str] = &[
        "invert",
        "plan",
        "azimuth",
        "depth",
        "height_difference",
        "length",
        "reversal_check",
        "level_check",
        "water_level",
        "water_depth",
    ];
}

/// Elevation of the invert, levelled.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct InvertTie {
    #[serde(default)]
    pub(super) name: String,
    pub(super) station: Station,
    pub(super) station_sd: Option<Length>,
    #[serde(default)]
    pub(super) taped: bool,
    pub(super) elevation: Length,
    /// 0 holds exactly.
    pub(super) sd: Length,
}

/// Position in plan, such as a located point.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct PlanTie {
    #[serde(default)]
    pub(super) name: String,
    pub(super) station: Station,
    pub(super) station_sd: Option<Length>,
    #[serde(default)]
    pub(super) taped: bool,
    pub(super) east: Length,
    pub(super) north: Length,
    /// Of each of the two; 0 holds exactly.
    pub(super) sd: Length,
}

/// Direction of the pipe in plan, along growing station, clockwise from grid north.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct AzimuthTie {
    #[serde(default)]
    pub(super) name: String,
    pub(super) station: Station,
    pub(super) station_sd: Option<Length>,
    #[serde(default)]
    pub(super) taped: bool,
    pub(super) azimuth: Angle,
    /// 0 holds exactly.
    pub(super) sd: Angle,
}

/// Depth that a locator shows under known ground, of a transmitter behind the head.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct DepthTie {
    #[serde(default)]
    pub(super) name: String,
    /// Of the head when the depth was taken.
    pub(super) station: Station,
    pub(super) station_sd: Option<Length>,
    #[serde(default)]
    pub(super) taped: bool,
    pub(super) depth: Length,
    /// Absent: 5 % of the depth, and not below 50 mm.
    pub(super) sd: Option<Length>,
    /// Elevation of the ground there; absent: from the job's ground.
    pub(super) ground: Option<Length>,
    pub(super) ground_sd: Option<Length>,
    /// How far behind the head the transmitter is, along the cable; absent: 0.
    pub(super) behind: Option<Length>,
    /// How high above the invert the transmitter lies; absent: 0.05 m.
    pub(super) above: Option<Length>,
}

/// How much higher the invert is at one place than at another.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct HeightDifferenceTie {
    #[serde(default)]
    pub(super) name: String,
    pub(super) from: Station,
    pub(super) from_sd: Option<Length>,
    pub(super) to: Station,
    pub(super) to_sd: Option<Length>,
    #[serde(default)]
    pub(super) taped: bool,
    /// From the first to the second; negative where it falls.
    pub(super) rise: Length,
    /// 0 holds exactly.
    pub(super) sd: Length,
}

/// True length of the pipe between two stations of the counter.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct LengthTie {
    #[serde(default)]
    pub(super) name: String,
    pub(super) from: Station,
    pub(super) to: Station,
    pub(super) length: Length,
    /// 0 holds exactly.
    pub(super) sd: Length,
}

/// Two readings of the head on one steady spot, the second turned end for end.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct ReversalCheckTie {
    #[serde(default)]
    pub(super) name: String,
    pub(super) first: Tilt,
    pub(super) second: Tilt,
    /// Of each reading; absent: from the step of the display.
    pub(super) sd: Option<Tilt>,
    /// Absent: as in the runs.
    pub(super) tilt_positive: Option<TiltPositive>,
}

/// A reading of the head on a surface whose tilt is known.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct LevelCheckTie {
    #[serde(default)]
    pub(super) name: String,
    pub(super) reading: Tilt,
    /// The way the head looked, positive down; absent: level.
    pub(super) surface: Option<Tilt>,
    /// Of the two together; 0 holds exactly.
    pub(super) sd: Tilt,
    /// Absent: as in the runs.
    pub(super) tilt_positive: Option<TiltPositive>,
}

/// The two edges of one still pool.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct WaterLevelTie {
    #[serde(default)]
    pub(super) name: String,
    pub(super) from: Station,
    pub(super) from_sd: Option<Length>,
    pub(super) to: Station,
    pub(super) to_sd: Option<Length>,
    #[serde(default)]
    pub(super) taped: bool,
    /// Of the level at each edge; absent: by how it was seen.
    pub(super) level_sd: Option<Length>,
    #[serde(default)]
    pub(super) seen: Seen,
    #[serde(default)]
    pub(super) although_running: bool,
}

/// Depth of still water at one place, and an edge of the same water.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(in crate::job) struct WaterDepthTie {
    #[serde(default)]
    pub(super) name: String,
    pub(super) station: Station,
    pub(super) station_sd: Option<Length>,
    pub(super) edge: Station,
    pub(super) edge_sd: Option<Length>,
    #[serde(default)]
    pub(super) taped: bool,
    pub(super) depth: Length,
    /// Of the depth; 0 holds exactly.
    pub(super) sd: Length,
    /// Of the level at the edge; absent: by how it was seen.
    pub(super) level_sd: Option<Length>,
    #[serde(default)]
    pub(super) seen: Seen,
    #[serde(default)]
    pub(super) although_running: bool,
}
