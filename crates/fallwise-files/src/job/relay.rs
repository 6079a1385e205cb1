//! What a plan of re-laying is asked for, in the text form of a job.
//!
//! Costs go by metre or by foot, as [`CostsForm::per`] says; the model has them by metre.

use fallwise::{
    model::{KeepOut, KeptOver, MovableConnection, RelayChoice, RelayCosts, RelaySurface},
    units::LengthUnit,
};
use serde::{Deserialize, Serialize};

use super::quantity::{Length, Slope, Station};

#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct RelayForm {
    /// Least slope asked for; absent: that of the rulebook.
    pub(super) min_slope: Option<Slope>,
    /// Probability with which each piece falls as asked.
    pub(super) confidence: Option<f64>,
    /// Over what the slope of pipe that stays is measured.
    pub(super) kept: KeptOver,
    pub(super) min_length: Option<Length>,
    pub(super) max_length: Option<Length>,
    /// Width of the trench at its bottom.
    pub(super) width: Option<Length>,
    /// How far each side goes out for each metre up.
    pub(super) batter: Option<f64>,
    pub(super) bedding: Option<Length>,
    pub(super) costs: CostsForm,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) surface: Vec<SurfaceForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) keep_out: Vec<KeepOutForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) connection: Vec<MovableForm>,
}

/// Costs by length, and by length and depth, are for each `per`.
#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct CostsForm {
    pub(super) currency: String,
    /// Unit of length that the costs are for, here and of the surfaces.
    #[cfg_attr(feature = "schema", schemars(with = "Option<String>"))]
    pub(super) per: Option<LengthUnit>,
    pub(super) per_trench: f64,
    pub(super) per_length: f64,
    pub(super) per_length_and_depth: f64,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct SurfaceForm {
    #[serde(default)]
    pub(super) name: String,
    pub(super) from: Station,
    pub(super) to: Station,
    #[serde(default)]
    pub(super) per_length: f64,
    #[serde(default)]
    pub(super) per_length_and_depth: f64,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct KeepOutForm {
    pub(super) from: Station,
    pub(super) to: Station,
    #[serde(default)]
    pub(super) reason: String,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct MovableForm {
    pub(super) station: Station,
    /// How far the connection lies above the invert of the pipe, less the drop that it needs.
    pub(super) above: Option<Length>,
}

impl From<RelayForm> for RelayChoice {
    fn from(form: RelayForm) -> Self {
        let default = Self::default();
        let unit_m = form.costs.per.map_or(1.0, |unit| unit.to_si(1.0));
        let by_length = |cost: f64| cost / unit_m;
        let by_depth = |cost: f64| cost / unit_m / unit_m;
        Self {
            min_slope: form.min_slope.map(|s| s.0),
            confidence: form.confidence.unwrap_or(default.confidence),
            kept: form.kept,
            min_length_m: form.min_length.map_or(default.min_length_m, |l| l.0),
            max_length_m: form.max_length.map(|l| l.0),
            costs: RelayCosts {
                currency: form.costs.currency,
                per_trench: form.costs.per_trench,
                per_m: by_length(form.costs.per_length),
                per_m_depth: by_depth(form.costs.per_length_and_depth),
            },
            surfaces: (form.surface.into_iter())
                .map(|s| RelaySurface {
                    name: s.name,
                    from_m: s.from.0,
                    to_m: s.to.0,
                    per_m: by_length(s.per_length),
                    per_m_depth: by_depth(s.per_length_and_depth),
                })
                .collect(),
            keep_out: (form.keep_out.into_iter())
                .map(|k| KeepOut { from_m: k.from.0, to_m: k.to.0, reason: k.reason })
                .collect(),
            connections: (form.connection.into_iter())
                .map(|c| MovableConnection { station_m: c.station.0, above_m: c.above.map_or(0.0, |l| l.0) })
                .collect(),
            width_m: form.width.map(|l| l.0),
            batter: form.batter.unwrap_or(default.batter),
            bedding_m: form.bedding.map_or(default.bedding_m, |l| l.0),
        }
    }
}

impl From<&RelayChoice> for RelayForm {
    fn from(choice: &RelayChoice) -> Self {
        let RelayChoice {
            min_slope,
            confidence,
            kept,
            min_length_m,
            max_length_m,
            costs: RelayCosts { currency, per_trench, per_m, per_m_depth },
            surfaces,
            keep_out,
            connections,
            width_m,
            batter,
            bedding_m,
        } = choice;
        Self {
            min_slope: min_slope.map(Slope),
            confidence: Some(*confidence),
            kept: *kept,
            min_length: Some(Length(*min_length_m)),
            max_length: max_length_m.map(Length),
            width: width_m.map(Length),
            batter: Some(*batter),
            bedding: Some(Length(*bedding_m)),
            costs: CostsForm {
                currency: currency.clone(),
                per: None,
                per_trench: *per_trench,
                per_length: *per_m,
                per_length_and_depth: *per_m_depth,
            },
            surface: (surfaces.iter())
                .map(|RelaySurface { name, from_m, to_m, per_m, per_m_depth }| SurfaceForm {
                    name: name.clone(),
                    from: Station(*from_m),
                    to: Station(*to_m),
                    per_length: *per_m,
                    per_length_and_depth: *per_m_depth,
                })
                .collect(),
            keep_out: (keep_out.iter())
                .map(|KeepOut { from_m, to_m, reason }| KeepOutForm {
                    from: Station(*from_m),
                    to: Station(*to_m),
                    reason: reason.clone(),
                })
                .collect(),
            connection: (connections.iter())
                .map(|MovableConnection { station_m, above_m }| MovableForm {
                    station: Station(*station_m),
                    above: Some(Length(*above_m)),
                })
                .collect(),
        }
    }
}
