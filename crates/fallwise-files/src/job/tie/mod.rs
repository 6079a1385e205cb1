//! Ties: from their tables to the model, and back.

mod form;
mod odd;

use fallwise::{
    condition::sign_of_head,
    model::{Known, Place, ReversalCheck, Run, TRANSMITTER_ABOVE_M, Tie, TiltPositive},
};

pub(super) use form::TieForm;
use form::{
    AzimuthTie, DepthTie, HeightDifferenceTie, InvertTie, LengthTie, LevelCheckTie, PlanTie, ReversalCheckTie,
    WaterDepthTie, WaterLevelTie,
};
pub(super) use odd::warnings;

use super::{
    fault::Fault,
    form::InstrumentForm,
    quantity::{Angle, Length, Station, Tilt},
};

/// Where the short form of a reversal check stands.
pub(super) const SHORT_FORM: &str = "instrument.reversal_check";

/// Name of the tie that the short form gives.
const SHORT_FORM_NAME: &str = "reversal check";

/// The ties of a job: the short form of a reversal check before the tables.
pub(super) fn ties(instrument: &InstrumentForm, tables: Vec<TieForm>, runs: &[Run]) -> Result<Vec<Tie>, Fault> {
    let mut ties = Vec::with_capacity(tables.len() + 1);
    if let Some(check) = instrument.reversal_check {
        if instrument.zero.is_some() || instrument.zero_sd.is_some() {
            return Err(Fault::new(
                "gives both `reversal_check` and `zero` or `zero_sd`; the check gives the zero by itself",
            )
            .path(SHORT_FORM));
        }
        has_sign(check.tilt_positive, runs).map_err(|fault| fault.path(SHORT_FORM))?;
        ties.push(Tie {
            name: SHORT_FORM_NAME.to_owned(),
            known: Known::ReversalCheck(ReversalCheck {
                first_rad: check.first.0,
                second_rad: check.second.0,
                sd_rad: check.sd.map(|t| t.0),
                tilt_positive: check.tilt_positive,
            }),
        });
    }
    for (i, table) in tables.into_iter().enumerate() {
        if let TieForm::ReversalCheck(ReversalCheckTie { tilt_positive, .. })
        | TieForm::LevelCheck(LevelCheckTie { tilt_positive, .. }) = &table
        {
            has_sign(*tilt_positive, runs).map_err(|fault| fault.path(format!("tie[{i}].tilt_positive")))?;
        }
        ties.push(tie(table));
    }
    Ok(ties)
}

/// Refuses a check of the head whose sign neither it nor the runs tell.
fn has_sign(said: Option<TiltPositive>, runs: &[Run]) -> Result<(), Fault> {
    match sign_of_head(said, runs) {
        Ok(_) => Ok(()),
        Err(fallwise::Error::Value { value, expected, .. }) => {
            Err(Fault::new(format!("{value} given")).expected(expected))
        }
        Err(other) => Err(Fault::new(other.to_string())),
    }
}

fn place(station: Station, sd: Option<Length>, taped: bool) -> Place {
    Place { station_m: station.0, sd_m: sd.map_or(Place::SD_M, |l| l.0), taped }
}

fn tie(form: TieForm) -> Tie {
    let metres = |length: Option<Length>| length.map(|l| l.0);
    match form {
        TieForm::Invert(InvertTie { name, station, station_sd, taped, elevation, sd }) => Tie {
            name,
            known: Known::Invert { at: place(station, station_sd, taped), elevation_m: elevation.0, sd_m: sd.0 },
        },
        TieForm::Plan(PlanTie { name, station, station_sd, taped, east, north, sd }) => {
            let at = place(station, station_sd, taped);
            Tie { name, known: Known::Plan { at, east_m: east.0, north_m: north.0, sd_m: sd.0 } }
        }
        TieForm::Azimuth(AzimuthTie { name, station, station_sd, taped, azimuth, sd }) => Tie {
            name,
            known: Known::Azimuth { at: place(station, station_sd, taped), azimuth_rad: azimuth.0, sd_rad: sd.0 },
        },
        TieForm::Depth(DepthTie { name, station, station_sd, taped, depth, sd, ground, ground_sd, behind, above }) => {
            Tie {
                name,
                known: Known::Depth {
                    at: place(station, station_sd, taped),
                    depth_m: depth.0,
                    sd_m: metres(sd),
                    ground_m: metres(ground),
                    ground_sd_m: metres(ground_sd),
                    behind_m: metres(behind).unwrap_or(0.0),
                    above_m: metres(above).unwrap_or(TRANSMITTER_ABOVE_M),
                },
            }
        }
        TieForm::HeightDifference(HeightDifferenceTie { name, from, from_sd, to, to_sd, taped, rise, sd }) => Tie {
            name,
            known: Known::HeightDifference {
                from: place(from, from_sd, taped),
                to: place(to, to_sd, taped),
                rise_m: rise.0,
                sd_m: sd.0,
            },
        },
        TieForm::Length(LengthTie { name, from, to, length, sd }) => {
            Tie { name, known: Known::Length { from_m: from.0, to_m: to.0, length_m: length.0, sd_m: sd.0 } }
        }
        TieForm::ReversalCheck(ReversalCheckTie { name, first, second, sd, tilt_positive }) => Tie {
            name,
            known: Known::ReversalCheck(ReversalCheck {
                first_rad: first.0,
                second_rad: second.0,
                sd_rad: sd.map(|t| t.0),
                tilt_positive,
            }),
        },
        TieForm::LevelCheck(LevelCheckTie { name, reading, surface, sd, tilt_positive }) => Tie {
            name,
            known: Known::LevelCheck {
                reading_rad: reading.0,
                surface_rad: surface.map_or(0.0, |t| t.0),
                sd_rad: sd.0,
                tilt_positive,
            },
        },
        TieForm::WaterLevel(WaterLevelTie {
            name,
            from,
            from_sd,
            to,
            to_sd,
            taped,
            level_sd,
            seen,
            although_running,
        }) => Tie {
            name,
            known: Known::WaterLevel {
                from: place(from, from_sd, taped),
                to: place(to, to_sd, taped),
                level_sd_m: metres(level_sd),
                seen,
                although_running,
            },
        },
        TieForm::WaterDepth(WaterDepthTie {
            name,
            station,
            station_sd,
            edge,
            edge_sd,
            taped,
            depth,
            sd,
            level_sd,
            seen,
            although_running,
        }) => Tie {
            name,
            known: Known::WaterDepth {
                at: place(station, station_sd, taped),
                depth_m: depth.0,
                sd_m: sd.0,
                edge: place(edge, edge_sd, taped),
                level_sd_m: metres(level_sd),
                seen,
                although_running,
            },
        },
    }
}

/// Station and its standard deviation.
fn place_form(Place { station_m, sd_m, taped: _ }: Place) -> (Station, Option<Length>) {
    (Station(station_m), Some(Length(sd_m)))
}

/// Whether both places of a tie were taped, which its one key says of them together.
fn both_taped(first: Place, second: Place) -> Result<bool, &'static str> {
    if first.taped == second.taped {
        Ok(first.taped)
    } else {
        Err("one of its two stations is taped and the other is not, and the form has one key for both")
    }
}

/// The table of a tie.
///
/// # Errors
/// Why the form cannot hold it.
pub(super) fn form(Tie { name, known }: &Tie) -> Result<TieForm, &'static str> {
    let name = name.clone();
    Ok(match known {
        Known::Invert { at, elevation_m, sd_m } => {
            let (station, station_sd) = place_form(*at);
            let (elevation, sd) = (Length(*elevation_m), Length(*sd_m));
            TieForm::Invert(InvertTie { name, station, station_sd, taped: at.taped, elevation, sd })
        }
        Known::Plan { at, east_m, north_m, sd_m } => {
            let (station, station_sd) = place_form(*at);
            let (east, north, sd) = (Length(*east_m), Length(*north_m), Length(*sd_m));
            TieForm::Plan(PlanTie { name, station, station_sd, taped: at.taped, east, north, sd })
        }
        Known::Azimuth { at, azimuth_rad, sd_rad } => {
            let (station, station_sd) = place_form(*at);
            let (azimuth, sd) = (Angle(*azimuth_rad), Angle(*sd_rad));
            TieForm::Azimuth(AzimuthTie { name, station, station_sd, taped: at.taped, azimuth, sd })
        }
        Known::Depth { at, depth_m, sd_m, ground_m, ground_sd_m, behind_m, above_m } => {
            let (station, station_sd) = place_form(*at);
            TieForm::Depth(DepthTie {
                name,
                station,
                station_sd,
                taped: at.taped,
                depth: Length(*depth_m),
                sd: sd_m.map(Length),
                ground: ground_m.map(Length),
                ground_sd: ground_sd_m.map(Length),
                behind: Some(Length(*behind_m)),
                above: Some(Length(*above_m)),
            })
        }
        Known::HeightDifference { from, to, rise_m, sd_m } => {
            let taped = both_taped(*from, *to)?;
            let ((from, from_sd), (to, to_sd)) = (place_form(*from), place_form(*to));
            let (rise, sd) = (Length(*rise_m), Length(*sd_m));
            TieForm::HeightDifference(HeightDifferenceTie { name, from, from_sd, to, to_sd, taped, rise, sd })
        }
        Known::Length { from_m, to_m, length_m, sd_m } => TieForm::Length(LengthTie {
            name,
            from: Station(*from_m),
            to: Station(*to_m),
            length: Length(*length_m),
            sd: Length(*sd_m),
        }),
        Known::ReversalCheck(ReversalCheck { first_rad, second_rad, sd_rad, tilt_positive }) => {
            TieForm::ReversalCheck(ReversalCheckTie {
                name,
                first: Tilt(*first_rad),
                second: Tilt(*second_rad),
                sd: sd_rad.map(Tilt),
                tilt_positive: *tilt_positive,
            })
        }
        Known::LevelCheck { reading_rad, surface_rad, sd_rad, tilt_positive } => TieForm::LevelCheck(LevelCheckTie {
            name,
            reading: Tilt(*reading_rad),
            surface: Some(Tilt(*surface_rad)),
            sd: Tilt(*sd_rad),
            tilt_positive: *tilt_positive,
        }),
        Known::WaterLevel { from, to, level_sd_m, seen, although_running } => {
            let taped = both_taped(*from, *to)?;
            let ((from, from_sd), (to, to_sd)) = (place_form(*from), place_form(*to));
            TieForm::WaterLevel(WaterLevelTie {
                name,
                from,
                from_sd,
                to,
                to_sd,
                taped,
                level_sd: level_sd_m.map(Length),
                seen: *seen,
                although_running: *although_running,
            })
        }
        Known::WaterDepth { at, depth_m, sd_m, edge, level_sd_m, seen, although_running } => {
            let taped = both_taped(*at, *edge)?;
            let ((station, station_sd), (edge, edge_sd)) = (place_form(*at), place_form(*edge));
            TieForm::WaterDepth(WaterDepthTie {
                name,
                station,
                station_sd,
                edge,
                edge_sd,
                taped,
                depth: Length(*depth_m),
                sd: Length(*sd_m),
                level_sd: level_sd_m.map(Length),
                seen: *seen,
                although_running: *although_running,
            })
        }
        _ => return Err("its kind is not known to this version of the form of jobs"),
    })
}
