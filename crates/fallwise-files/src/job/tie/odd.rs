//! What is odd about a tie that can be used.

use std::collections::BTreeMap;

use super::{
    SHORT_FORM,
    form::{
        AzimuthTie, DepthTie, HeightDifferenceTie, InvertTie, LengthTie, LevelCheckTie, PlanTie, ReversalCheckTie,
        TieForm, WaterDepthTie, WaterLevelTie,
    },
};
use crate::job::{
    form::JobForm,
    quantity::{Length, Station},
};

const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// Between what a standard deviation other than 0 usually is; beyond, a unit may be wrong. The bounds are our choice.
#[derive(Clone, Copy)]
struct Usual {
    least: f64,
    least_said: &'static str,
    most: f64,
    most_said: &'static str,
}

const LEVELLED: Usual = Usual { least: 1e-4, least_said: "0.1 mm", most: 1.0, most_said: "1 m" };
const LOCATED: Usual = Usual { least: 1e-3, least_said: "1 mm", most: 10.0, most_said: "10 m" };
const LOCATED_DEPTH: Usual = Usual { least: 1e-3, least_said: "1 mm", most: 2.0, most_said: "2 m" };
const WATER: Usual = Usual { least: 1e-4, least_said: "0.1 mm", most: 0.1, most_said: "100 mm" };
const STATION: Usual = Usual { least: 1e-4, least_said: "0.1 mm", most: 5.0, most_said: "5 m" };
const AZIMUTH: Usual = Usual { least: 0.01 * DEGREE, least_said: "0.01 deg", most: 45.0 * DEGREE, most_said: "45 deg" };
const HEAD: Usual = Usual { least: 0.001 * DEGREE, least_said: "0.001 deg", most: 5.0 * DEGREE, most_said: "5 deg" };

/// What has been said, one sentence each, with the key that it speaks of.
struct Said(Vec<(String, String)>);

impl Said {
    fn say(&mut self, key: &str, sentence: &str) {
        self.0.push((key.to_owned(), sentence.to_owned()));
    }

    fn sd(&mut self, key: &str, sd: f64, usual: Usual) {
        if sd > 0.0 && sd < usual.least {
            let sentence =
                format!("below {}, finer than it can be measured; 0 says that it holds exactly", usual.least_said);
            self.say(key, &sentence);
        }
        if sd > usual.most {
            self.say(key, &format!("above {}, so coarse that it says next to nothing", usual.most_said));
        }
    }
}

/// One sentence each, behind the key it speaks of, in the order of the ties.
pub(in crate::job) fn warnings(form: &JobForm) -> Vec<(String, String)> {
    let mut said = Said(Vec::new());
    let start_m = form.run.first().map_or(0.0, |run| run.start_station.map_or(0.0, |s| s.0));
    let water = form.survey.water.as_deref();
    // By their words, so that many ties are not each held against each.
    let mut seen = BTreeMap::new();
    for (i, tie) in form.tie.iter().enumerate() {
        let key = format!("tie[{i}]");
        let first = *seen.entry(format!("{tie:?}")).or_insert(i);
        if first < i {
            said.say(&key, &format!("the same as tie[{first}]: one thing counted twice would look surer than it is"));
        }
        of_tie(tie, &key, &mut said);
        taped_from_start(tie, start_m, &key, &mut said);
        if let TieForm::WaterLevel(WaterLevelTie { although_running, .. })
        | TieForm::WaterDepth(WaterDepthTie { although_running, .. }) = tie
        {
            match (water, although_running) {
                (Some("still"), false) | (Some("running"), true) => {}
                (Some("running"), false) => {
                    said.say(&key, "not used, since survey.water says running; although_running = true would use it");
                }
                (_, false) => said.say(&key, "holds for still water only, and survey.water does not say \"still\""),
                (_, true) => {
                    said.say(&format!("{key}.although_running"), "without need: survey.water does not say \"running\"");
                }
            }
        }
    }
    if let Some(sd) = form.instrument.reversal_check.and_then(|check| check.sd) {
        said.sd(&format!("{SHORT_FORM}.sd"), sd.0, HEAD);
    }
    said.0
}

fn of_tie(tie: &TieForm, key: &str, said: &mut Said) {
    let at = |name: &str| format!("{key}.{name}");
    let m = |length: &Option<Length>| length.map_or(0.0, |l| l.0);
    match tie {
        TieForm::Invert(InvertTie { station_sd, sd: own, .. }) => {
            said.sd(&at("station_sd"), m(station_sd), STATION);
            said.sd(&at("sd"), own.0, LEVELLED);
        }
        TieForm::Plan(PlanTie { station_sd, sd: own, .. }) => {
            said.sd(&at("station_sd"), m(station_sd), STATION);
            said.sd(&at("sd"), own.0, LOCATED);
        }
        TieForm::Azimuth(AzimuthTie { station_sd, azimuth, sd: own, .. }) => {
            said.sd(&at("station_sd"), m(station_sd), STATION);
            // A little beyond, so that a whole turn is none of rounding.
            if azimuth.0.abs() > 360.000_001 * DEGREE {
                said.say(&at("azimuth"), "more than a whole turn; is its unit right?");
            }
            said.sd(&at("sd"), own.0, AZIMUTH);
        }
        TieForm::Depth(DepthTie { station_sd, sd: own, ground_sd, .. }) => {
            said.sd(&at("station_sd"), m(station_sd), STATION);
            said.sd(&at("sd"), m(own), LOCATED_DEPTH);
            said.sd(&at("ground_sd"), m(ground_sd), LEVELLED);
        }
        TieForm::HeightDifference(HeightDifferenceTie { from_sd, to_sd, sd: own, .. }) => {
            said.sd(&at("from_sd"), m(from_sd), STATION);
            said.sd(&at("to_sd"), m(to_sd), STATION);
            said.sd(&at("sd"), own.0, LEVELLED);
        }
        TieForm::Length(LengthTie { sd: own, .. }) => said.sd(&at("sd"), own.0, LEVELLED),
        TieForm::ReversalCheck(ReversalCheckTie { sd: own, .. }) => said.sd(&at("sd"), own.map_or(0.0, |t| t.0), HEAD),
        TieForm::LevelCheck(LevelCheckTie { sd: own, .. }) => said.sd(&at("sd"), own.0, HEAD),
        TieForm::WaterLevel(WaterLevelTie { from_sd, to_sd, level_sd, .. }) => {
            said.sd(&at("from_sd"), m(from_sd), STATION);
            said.sd(&at("to_sd"), m(to_sd), STATION);
            said.sd(&at("level_sd"), m(level_sd), WATER);
        }
        TieForm::WaterDepth(WaterDepthTie { station_sd, edge_sd, sd: own, level_sd, .. }) => {
            said.sd(&at("station_sd"), m(station_sd), STATION);
            said.sd(&at("edge_sd"), m(edge_sd), STATION);
            said.sd(&at("sd"), own.0, WATER);
            said.sd(&at("level_sd"), m(level_sd), WATER);
        }
    }
}

/// A tape of no length says nothing of the counter.
fn taped_from_start(tie: &TieForm, start_m: f64, key: &str, said: &mut Said) {
    let stations: &[Station] = match tie {
        TieForm::Invert(InvertTie { station, taped: true, .. })
        | TieForm::Plan(PlanTie { station, taped: true, .. })
        | TieForm::Azimuth(AzimuthTie { station, taped: true, .. })
        | TieForm::Depth(DepthTie { station, taped: true, .. }) => &[*station],
        TieForm::HeightDifference(HeightDifferenceTie { from, to, taped: true, .. })
        | TieForm::WaterLevel(WaterLevelTie { from, to, taped: true, .. }) => &[*from, *to],
        TieForm::WaterDepth(WaterDepthTie { station, edge, taped: true, .. }) => &[*station, *edge],
        _ => &[],
    };
    if !stations.is_empty() && stations.iter().all(|s| s.0.total_cmp(&start_m).is_eq()) {
        said.say(&format!("{key}.taped"), "without need: the station is the start of the first run");
    }
}
