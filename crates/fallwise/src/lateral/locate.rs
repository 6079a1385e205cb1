//! From a station to a place on the surface, with everything that a dig sheet says, and back.

use super::{Lateral, told::Told};
use crate::prelude::*;
use crate::{
    adjust::{Estimate, Z_95},
    answers::{DigRow, NearestRow, PathRow, TapeRow},
    error::Error,
    geographic,
    locate::{self, ELLIPSE_95, PlanError, Refusal},
    math,
    model::{Dig, Known, Landmark},
    profile::ground_at,
    said,
    units::{Part, Said, Words},
};

/// Standard deviation of a tape read off over open ground, m (our choice).
const TAPE_SD_M: f64 = 0.01;
/// Half of the way over which the ground's slope is taken where the station is exact, m.
const ABOUT_M: f64 = 0.03;

/// The nearest place that was measured from the surface.
struct SurfaceTie {
    number: usize,
    name: Said,
    away_m: f64,
}

/// A place with its error in plan.
#[derive(Clone, Copy)]
struct Placed {
    plan_m: [f64; 2],
    error: PlanError,
    /// Unit direction of the pipe from above; absent of upright pipe.
    way: Option<[f64; 2]>,
}

impl Placed {
    /// Standard deviation across the pipe, m; of upright pipe the largest there is.
    fn across_sd_m(&self) -> f64 {
        self.way.map_or_else(|| self.error.ellipse().major_sd_m, |[e, n]| self.error.sd_along_m([n, -e]))
    }

    fn along_sd_m(&self) -> f64 {
        self.way.map_or_else(|| self.error.ellipse().major_sd_m, |way| self.error.sd_along_m(way))
    }
}

/// Two landmarks from which a place is taped out.
struct Pair<'a> {
    first: &'a Landmark,
    second: &'a Landmark,
    tape: locate::Offset,
    set_out_sd_m: f64,
}

impl Lateral {
    /// Where a station lies on the surface, how deep the pipe lies there, how the place is taped out from the job's landmarks, and
    /// whether anybody may dig by it ([`locate::dig`], with the job's `digging`). `station_sd_m` is how well what is looked for belongs to
    /// the station; it goes into every figure, as does the counter's scale.
    ///
    /// What counts as measured from the surface are positions in plan: ties of that kind, and starts of runs whose place was given with
    /// its error. A located depth gives no place. A position that may be the wrong one of those that contradict each other does not count.
    ///
    /// # Errors
    /// [`Error::Outside`] where it was not surveyed; [`Error::Value`] for numbers that cannot be.
    ///
    /// # Example
    /// ```
    /// use fallwise::{Job, Lateral, Run, units};
    ///
    /// let run = Run { by_hand: true, ..Run::new(vec![0.5, 1.5, 2.5, 3.5], units::deg(vec![1.2, 1.3, 0.4, 1.1])) };
    /// let lateral = Lateral::solve(Job { runs: vec![run], ..Job::default() })?;
    /// let place = lateral.locate(2.0, 0.05)?;
    /// assert!(place.refused && place.reasons == "no_plan no_tie no_depth");
    /// assert!(place.sentence.starts_with("Do not dig from this: locate first."));
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn locate(&self, station_m: f64, station_sd_m: f64) -> Result<DigRow, Error> {
        let dig = Dig { station_sd_m, ..Dig::new(station_m) };
        self.dug(0, &dig, &mut Told::default())
    }

    /// Distances of a station from each of the job's landmarks, in their order; none where the plan is not determined.
    ///
    /// # Errors
    /// As [`Lateral::locate`].
    pub fn tapes(&self, station_m: f64, station_sd_m: f64) -> Result<Vec<TapeRow>, Error> {
        self.check_place(station_m, station_sd_m)?;
        Ok(self.taped(0, &Dig { station_sd_m, ..Dig::new(station_m) }))
    }

    /// The place of the pipe that is nearest to a point on the surface; several where it lies equally far from them, in order of
    /// station. None where the plan is not determined.
    ///
    /// # Errors
    /// [`Error::Value`] for coordinates that are not finite.
    pub fn nearest(&self, east_m: f64, north_m: f64) -> Result<Vec<NearestRow>, Error> {
        locate::require_near("east_m", &[east_m])?;
        locate::require_near("north_m", &[north_m])?;
        let words = self.job.report.words;
        let row = |near: crate::path::Nearest| {
            // The station itself is exact: it is what is looked for.
            let placed = self.placed_at(near.station_m, 0.0);
            let inside = near.beyond_m == 0.0;
            let along = placed.map(|p| p.along_sd_m() * near.station_factor);
            NearestRow {
                station_m: near.station_m,
                station_sd_m: along.filter(|sd| inside && sd.is_finite()),
                east_m: near.plan_m[0],
                north_m: near.plan_m[1],
                away_m: near.away_m,
                right_m: near.right_m,
                right_sd_m: placed.map(|p| p.across_sd_m()),
                beyond_m: near.beyond_m,
                sentence: beside(&near, words).to_string(),
            }
        };
        Ok(self.path.nearest(east_m, north_m).into_iter().map(row).collect())
    }

    /// One row for each dig of the job.
    pub(super) fn dig_rows(&self, told: &mut Told) -> Vec<DigRow> {
        let row = |(i, dig): (usize, &Dig)| {
            self.dug(i + 1, dig, told).unwrap_or_else(|_| {
                // The job was looked at before: what is left is a place that the survey did not reach.
                let refused = [Refusal::NotSurveyed];
                let mut row = empty(i + 1, dig);
                row.sentence = told.row(self.refusal(&refused, dig.station_m, None));
                row.reasons = names(&refused);
                row
            })
        };
        self.job.digs.iter().enumerate().map(row).collect()
    }

    /// Distances of each dig from each landmark.
    pub(super) fn tape_rows(&self) -> Vec<TapeRow> {
        let digs = self.job.digs.iter().enumerate();
        digs.filter(|(_, dig)| self.within(dig.station_m, dig.station_m).is_some())
            .flat_map(|(i, dig)| self.taped(i + 1, dig))
            .collect()
    }

    fn check_place(&self, station_m: f64, station_sd_m: f64) -> Result<(), Error> {
        crate::error::require_finite("station_m", &[station_m])?;
        if !(station_sd_m.is_finite() && station_sd_m >= 0.0) {
            return Err(Error::value("station_sd_m", station_sd_m, "a number, 0 or more"));
        }
        let (from_m, to_m) = self.surveyed_m();
        let outside = || Error::Outside { what: "the place".to_owned(), station_m, from_m, to_m };
        self.within(station_m, station_m).ok_or_else(outside)
    }

    fn dug(&self, number: usize, dig: &Dig, told: &mut Told) -> Result<DigRow, Error> {
        self.check_place(dig.station_m, dig.station_sd_m)?;
        let rows = self.at(&[dig.station_m]);
        let at = rows
            .first()
            .and_then(Option::as_ref)
            .ok_or_else(|| Error::value("station_m", dig.station_m, "a station whose height is known"))?;
        let placed = self.placed_at(dig.station_m, dig.station_sd_m);
        let tie = self.surface_tie(dig.station_m);
        let depths = Depths::of(self, at, dig);
        let top = depths.cover.map(|e| (e.value, e.sd));
        let decision =
            locate::dig(placed.map(|p| p.across_sd_m()), tie.as_ref().map(|t| t.away_m), top, &self.job.digging)?;
        let mut refused = decision.refused;
        refused.extend(self.not_trusted(dig));
        let is_refused = !refused.is_empty();
        let sentence = if is_refused {
            self.refusal(&refused, dig.station_m, Some(at))
        } else {
            self.shallow_end(dig.station_m, decision.expect_from_m, decision.by_hand_from_m, depths.cover)
        };
        let ellipse = placed.map(|p| p.error.ellipse());
        let pair = placed.and_then(|p| self.pair(p.plan_m));
        let place = placed.zip(self.job.origin.as_ref());
        let place = place.and_then(|(p, origin)| geographic::place(origin, p.plan_m[0], p.plan_m[1]).ok());
        let tape_sd = |landmark: &Landmark| placed.map(|p| distance_sd_m(&p, landmark));
        let words = self.job.report.words;
        let allowed = |m: Option<f64>| m.filter(|_| !is_refused);
        Ok(DigRow {
            refused: is_refused,
            reasons: names(&refused),
            sentence: told.row(sentence),
            expect_from_m: allowed(decision.expect_from_m),
            by_hand_from_m: allowed(decision.by_hand_from_m),
            east_m: placed.map(|p| p.plan_m[0]),
            east_sd_m: placed.map(|p| p.error.east_sd_m()),
            north_m: placed.map(|p| p.plan_m[1]),
            north_sd_m: placed.map(|p| p.error.north_sd_m()),
            east_north_correlation: placed.map(|p| p.error.correlation()),
            ellipse_major_m: ellipse.map(|e| ELLIPSE_95 * e.major_sd_m),
            ellipse_minor_m: ellipse.map(|e| ELLIPSE_95 * e.minor_sd_m),
            ellipse_azimuth_rad: ellipse.map(|e| e.azimuth_rad),
            across_m: placed.map(|p| Z_95 * p.across_sd_m()),
            along_m: placed.map(|p| Z_95 * p.along_sd_m()),
            longitude_rad: place.map(|p| p.longitude_rad),
            latitude_rad: place.map(|p| p.latitude_rad),
            azimuth_rad: at.azimuth_rad,
            elevation_m: depths.elevation.map(|e| e.value),
            elevation_sd_m: depths.elevation.map(|e| e.sd),
            elevation_low_m: depths.elevation.map(|e| e.low),
            elevation_high_m: depths.elevation.map(|e| e.high),
            ground_m: at.ground_m,
            ground_sd_m: at.ground_sd_m,
            depth_m: allowed(at.depth_m),
            depth_sd_m: allowed(depths.depth.map(|e| e.sd)),
            depth_low_m: allowed(depths.depth.map(|e| e.low)),
            depth_high_m: allowed(depths.depth.map(|e| e.high)),
            crown_m: allowed(depths.crown_m),
            crown_sd_m: allowed(depths.crown.map(|e| e.sd)),
            crown_low_m: allowed(depths.crown.map(|e| e.low)),
            crown_high_m: allowed(depths.crown.map(|e| e.high)),
            cover_m: allowed(at.cover_m),
            cover_sd_m: allowed(depths.cover.map(|e| e.sd)),
            cover_low_m: allowed(depths.cover.map(|e| e.low)),
            cover_high_m: allowed(depths.cover.map(|e| e.high)),
            tie_number: tie.as_ref().map(|t| t.number),
            tie_away_m: tie.as_ref().map(|t| t.away_m),
            tie_name: tie.map(|t| told.row(t.name)).unwrap_or_default(),
            first_landmark: pair.as_ref().map(|p| p.first.name.clone()).unwrap_or_default(),
            second_landmark: pair.as_ref().map(|p| p.second.name.clone()).unwrap_or_default(),
            from_first_m: pair.as_ref().map(|p| p.tape.from_first_m),
            from_first_sd_m: pair.as_ref().and_then(|p| tape_sd(p.first)),
            from_second_m: pair.as_ref().map(|p| p.tape.from_second_m),
            from_second_sd_m: pair.as_ref().and_then(|p| tape_sd(p.second)),
            tape_along_m: pair.as_ref().map(|p| p.tape.along_m),
            tape_right_m: pair.as_ref().map(|p| p.tape.right_m),
            set_out_sd_m: pair.as_ref().map(|p| p.set_out_sd_m),
            setting_out: pair.map(|p| told.row(setting_out(&p, words))).unwrap_or_default(),
            ..empty(number, dig)
        })
    }

    /// A station in plan with its error, that of the station itself in it.
    fn placed_at(&self, station_m: f64, station_sd_m: f64) -> Option<Placed> {
        let (first, last) = self.surveyed_m();
        let station_m = station_m.clamp(first, last);
        let of =
            self.posterior.plan_covariance_m2(&self.layout, &self.path, &[station_m]).first().copied().flatten()?;
        let [east_m, north_m, _] = self.path.position(station_m)?;
        let [along_e, along_n, _] = self.path.direction(station_m)?.map(|d| d * self.posterior.scale);
        let (by_e, by_n) = (along_e * station_sd_m, along_n * station_sd_m);
        let sds = [math::hypot(of.east_sd_m, by_e), math::hypot(of.north_sd_m, by_n)];
        let product = sds[0] * sds[1];
        let correlation =
            if product > 0.0 { ((of.covariance_m2 + by_e * by_n) / product).clamp(-1.0, 1.0) } else { 0.0 };
        let level = math::hypot(along_e, along_n);
        Some(Placed {
            plan_m: [east_m, north_m],
            error: PlanError::new(sds[0], sds[1], correlation).ok()?,
            // Pipe that stands upright has no direction from above, give or take a rounding.
            way: (level > 1e-9).then(|| [along_e / level, along_n / level]),
        })
    }

    /// The nearest place along the pipe that was measured from the surface and may not be the wrong one.
    fn surface_tie(&self, station_m: f64) -> Option<SurfaceTie> {
        let scale = self.posterior.scale;
        let origin_m = self.job.runs.first().map_or(0.0, |r| r.start_station_m);
        let (mut nearest, mut least): (Option<SurfaceTie>, f64) = (None, f64::INFINITY);
        for (i, tie) in self.known.all.iter().enumerate() {
            let Known::Plan { at, .. } = &tie.known else { continue };
            let number = self.known.numbers.get(i).copied().flatten();
            if self.may_be_wrong(i) || (number.is_none() && !self.start_is_stated(i)) {
                continue;
            }
            let there_m = if at.taped { origin_m + (at.station_m - origin_m) / scale } else { at.station_m };
            let away_m = (there_m - station_m).abs() * scale;
            if away_m < least {
                least = away_m;
                nearest = Some(SurfaceTie { number: number.map_or(0, |n| n + 1), name: self.tie_name(i), away_m });
            }
        }
        nearest
    }

    /// Whether a tie is among those that may be the wrong one.
    fn may_be_wrong(&self, tie: usize) -> bool {
        let a = &self.adjustment;
        let of = |equation: usize| a.closures.get(equation).is_some_and(|c| c.tie == tie);
        a.explained_by.contains(&tie)
            || a.suspect.is_some_and(of)
            || a.suspect_pair.is_some_and(|(one, other)| of(one) || of(other))
    }

    /// Whether the start of a run has an error of its place: without one it would be exact.
    fn start_is_stated(&self, tie: usize) -> bool {
        let Some(Known::Plan { east_m, north_m, .. }) = self.known.all.get(tie).map(|t| &t.known) else { return false };
        let is = |known: Option<f64>, m: f64| known.unwrap_or(0.0).total_cmp(&m).is_eq();
        self.job
            .runs
            .iter()
            .any(|r| is(r.start_east_m, *east_m) && is(r.start_north_m, *north_m) && r.start_plan_sd_m.is_some())
    }

    /// What no error of a figure allows for.
    fn not_trusted(&self, dig: &Dig) -> Vec<Refusal> {
        let mut refused = Vec::new();
        let reach_m = Z_95 * dig.station_sd_m;
        let unseen = self.unseen_m.iter().find(|(a, b)| dig.station_m + reach_m > *a && dig.station_m - reach_m < *b);
        refused.extend(unseen.map(|&(from_m, to_m)| Refusal::NotSeen { from_m, to_m }));
        if self.adjustment.is_large() {
            refused.push(Refusal::Contradicted);
        }
        let unstated = self.job.runs.iter().position(|run| {
            let placed = run.start_east_m.is_some() || run.start_north_m.is_some();
            (placed && run.start_plan_sd_m.is_none())
                || (run.start_azimuth_rad.is_some() && run.start_azimuth_sd_rad.is_none())
        });
        refused.extend(unstated.map(|i| Refusal::NotStated { run: i + 1 }));
        refused
    }

    /// The two landmarks from which a place is taped out best.
    ///
    /// Of two tapes with errors s1 and s2 that cut at an angle g the place is off by sqrt(s1² + s2²) / sin g (the intersection of two
    /// distances; any textbook of surveying, from memory).
    fn pair(&self, place: [f64; 2]) -> Option<Pair<'_>> {
        let marks = &self.job.landmarks;
        let sd = |mark: &Landmark| math::hypot(mark.sd_m, TAPE_SD_M);
        let mut best: Option<Pair<'_>> = None;
        for (i, first) in marks.iter().enumerate() {
            for second in marks.iter().skip(i + 1) {
                let ends = ([first.east_m, first.north_m], [second.east_m, second.north_m]);
                // Two marks in one place are no pair.
                let Ok(tape) = locate::offset(ends.0, ends.1, place) else { continue };
                let set_out_sd_m = math::hypot(sd(first), sd(second)) * tape.error_factor;
                let better = best.as_ref().is_none_or(|b| set_out_sd_m < b.set_out_sd_m);
                if set_out_sd_m.is_finite() && better {
                    best = Some(Pair { first, second, tape, set_out_sd_m });
                }
            }
        }
        best
    }

    fn taped(&self, number: usize, dig: &Dig) -> Vec<TapeRow> {
        let Some(placed) = self.placed_at(dig.station_m, dig.station_sd_m) else { return Vec::new() };
        let row = |mark: &Landmark| {
            let off = [placed.plan_m[0] - mark.east_m, placed.plan_m[1] - mark.north_m];
            let azimuth_rad = if off == [0.0, 0.0] { 0.0 } else { math::atan2(off[0], off[1]) };
            TapeRow {
                dig: number,
                landmark: mark.name.clone(),
                east_m: mark.east_m,
                north_m: mark.north_m,
                distance_m: math::hypot(off[0], off[1]),
                distance_sd_m: distance_sd_m(&placed, mark),
                azimuth_rad: if azimuth_rad < 0.0 { azimuth_rad + core::f64::consts::TAU } else { azimuth_rad },
            }
        };
        self.job.landmarks.iter().map(row).collect()
    }

    /// What a sheet says first where it is dug.
    fn shallow_end(&self, station_m: f64, expect: Option<f64>, hand: Option<f64>, cover: Option<Estimate>) -> Said {
        let words = self.job.report.words;
        let at = Part::At(station_m);
        let down = |m: Option<f64>| words.shallower_m(m.unwrap_or(0.0));
        let (expect_m, hand_m) = (down(expect), down(hand));
        let mut said = if hand_m > 0.0 {
            said!(
                words,
                "At {place} expect the top of the pipe from {shallow} below the ground on; dig by hand from {hand} below the \
                 ground on.",
                place = at,
                shallow = Part::Length(expect_m),
                hand = Part::Length(hand_m)
            )
        } else if expect_m > 0.0 {
            said!(
                words,
                "At {place} expect the top of the pipe from {shallow} below the ground on; dig by hand from the surface on.",
                place = at,
                shallow = Part::Length(expect_m)
            )
        } else {
            said!(
                words,
                "At {place} expect the top of the pipe right from the surface on; dig by hand from the surface on.",
                place = at
            )
        };
        if hand_m > 0.0 {
            said.push(said!(
                "That is for this pipe alone and no leave to use a machine above it: near other services it is dug by hand from the surface on."
            ));
        }
        if let Some(cover) = cover {
            said.push(said!(
                words,
                "Most likely it lies {cover} down, and between {low} and {high} with 95 % probability.",
                cover = Part::Length(cover.value),
                low = Part::Length(cover.low.max(0.0)),
                high = Part::Length(cover.high.max(0.0))
            ));
        }
        said
    }

    /// Why nobody may dig by it, with the mark that is missing.
    fn refusal(&self, refused: &[Refusal], station_m: f64, at: Option<&PathRow>) -> Said {
        let words = self.job.report.words;
        let mut said = said!("Do not dig from this: locate first.");
        for why in refused {
            said.push(self.why(*why, station_m, at, words));
        }
        said
    }

    fn why(&self, why: Refusal, station_m: f64, at: Option<&PathRow>, words: Words) -> Said {
        let place = Part::At(station_m);
        let within = Part::Length(self.job.digging.tie_within_m);
        match why {
            Refusal::NoPlan => said!(
                words,
                "Where the pipe lies in plan is not known at {place}: missing is a point located from the surface (a tie of plan), \
                 and a second one or the azimuth where the camera went in.",
                place = place
            ),
            Refusal::TooWide { across_m } => said!(
                words,
                "At {place} the pipe may lie {across} to either side of where it is shown (95 %), and {limit} is allowed: missing \
                 is a point located from the surface nearer to it, or the azimuth where the camera went in, more closely.",
                place = place,
                across = Part::Length(across_m),
                limit = Part::Length(self.job.digging.across_m)
            ),
            Refusal::NoTie { nearest_m: Some(away_m) } => said!(
                words,
                "The nearest point that was located from the surface is {away} away along the pipe, and {within} is allowed: \
                 missing is a point located from the surface at {place} or near it (a tie of plan).",
                away = Part::Length(away_m),
                within = within,
                place = place
            ),
            Refusal::NoTie { nearest_m: None } => said!(
                words,
                "No point that can be relied on was located from the surface: missing is one at {place}, or within {within} of it \
                 along the pipe (a tie of plan).",
                place = place,
                within = within
            ),
            Refusal::NoDepth => said!(
                words,
                "How deep the pipe lies at {place} is not known: missing is {what}.",
                place = place,
                what = Part::list(words, missing_of_depth(at).into_iter().map(Part::from))
            ),
            Refusal::NotSurveyed => {
                said!(words, "The camera did not come to {place}: missing is a survey that reaches it.", place = place)
            }
            Refusal::NotSeen { from_m, to_m } => said!(
                words,
                "No reading saw the pipe between {stretch}, or readings contradict each other there: missing is another run \
                 through it.",
                stretch = Part::Both(from_m, to_m)
            ),
            Refusal::Contradicted => said!(
                "What was measured contradicts itself, so that something is wrong which no figure allows for: missing is a \
                 second measurement of what does not fit."
            ),
            Refusal::NotStated { run } => said!(
                "Where run {n} starts, or which way, is given without an error and would be taken for exact: missing is its \
                 start_plan_sd or start_azimuth_sd.",
                n = run
            ),
        }
    }
}

/// What the depth of the top of the pipe needs and does not have.
fn missing_of_depth(at: Option<&PathRow>) -> Vec<Said> {
    let Some(at) = at else { return vec![said!("a survey of it")] };
    let mut missing = Vec::new();
    if at.elevation_m.is_none() {
        missing.push(said!("an elevation of the pipe (a levelled invert, or a located depth)"));
    }
    match (at.ground_m, at.ground_sd_m) {
        (None, _) => missing.push(said!("the ground above it, levelled")),
        (Some(_), None) => missing.push(said!("the error (sd) of the ground's elevation")),
        _ => {}
    }
    if at.bore_m.is_none() {
        missing.push(said!("the bore of the pipe"));
    }
    if missing.is_empty() {
        missing.push(said!("a depth that can be given: the pipe drops here, or its height is not determined"));
    }
    missing
}

/// Depths at a place, the error of its station in them.
struct Depths {
    elevation: Option<Estimate>,
    depth: Option<Estimate>,
    crown_m: Option<f64>,
    crown: Option<Estimate>,
    cover: Option<Estimate>,
}

impl Depths {
    fn of(lateral: &Lateral, at: &PathRow, dig: &Dig) -> Self {
        let half_m = dig.station_sd_m.max(ABOUT_M);
        let (from_m, to_m) = (dig.station_m - half_m, dig.station_m + half_m);
        // Over what the station may be off, so that a kink of pipe or ground counts by its share.
        let slope = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => (b - a) / (2.0 * half_m),
            _ => 0.0,
        };
        let ground = slope(ground_at(&lateral.job.ground, from_m), ground_at(&lateral.job.ground, to_m));
        let pipe = slope(lateral.profile.height_at(from_m), lateral.profile.height_at(to_m));
        let sd = |own: Option<f64>, by_station: f64| {
            own.filter(|sd| sd.is_finite()).map(|own| math::hypot(own, by_station * dig.station_sd_m))
        };
        let estimate = |value: Option<f64>, sd: Option<f64>| Some(Estimate::new(value?, sd?));
        let depth_sd = sd(at.depth_sd_m, ground - pipe);
        let cos = at.tilt_rad.map(math::cos);
        let crown_m = match (at.cover_m, at.depth_m, at.bore_m, cos) {
            // A drop has no crown.
            (Some(_), Some(depth), Some(bore), Some(cos)) => Some(depth - bore / cos),
            _ => None,
        };
        Self {
            elevation: estimate(at.elevation_m, sd(at.elevation_sd_m, pipe)),
            depth: estimate(at.depth_m, depth_sd),
            crown_m,
            crown: estimate(crown_m, depth_sd),
            cover: estimate(at.cover_m, depth_sd),
        }
    }
}

/// A row that says only what was asked for.
fn empty(number: usize, dig: &Dig) -> DigRow {
    DigRow {
        number,
        name: dig.name.clone(),
        wanted: dig.wanted.clone(),
        station_m: dig.station_m,
        station_sd_m: dig.station_sd_m,
        refused: true,
        reasons: String::new(),
        sentence: String::new(),
        expect_from_m: None,
        by_hand_from_m: None,
        east_m: None,
        east_sd_m: None,
        north_m: None,
        north_sd_m: None,
        east_north_correlation: None,
        ellipse_major_m: None,
        ellipse_minor_m: None,
        ellipse_azimuth_rad: None,
        across_m: None,
        along_m: None,
        longitude_rad: None,
        latitude_rad: None,
        azimuth_rad: None,
        elevation_m: None,
        elevation_sd_m: None,
        elevation_low_m: None,
        elevation_high_m: None,
        ground_m: None,
        ground_sd_m: None,
        depth_m: None,
        depth_sd_m: None,
        depth_low_m: None,
        depth_high_m: None,
        crown_m: None,
        crown_sd_m: None,
        crown_low_m: None,
        crown_high_m: None,
        cover_m: None,
        cover_sd_m: None,
        cover_low_m: None,
        cover_high_m: None,
        tie_number: None,
        tie_name: String::new(),
        tie_away_m: None,
        first_landmark: String::new(),
        second_landmark: String::new(),
        from_first_m: None,
        from_first_sd_m: None,
        from_second_m: None,
        from_second_sd_m: None,
        tape_along_m: None,
        tape_right_m: None,
        set_out_sd_m: None,
        setting_out: String::new(),
    }
}

fn names(refused: &[Refusal]) -> String {
    refused.iter().map(Refusal::as_str).collect::<Vec<_>>().join(" ")
}

/// Standard deviation of the distance from a landmark, m.
fn distance_sd_m(placed: &Placed, mark: &Landmark) -> f64 {
    let off = [placed.plan_m[0] - mark.east_m, placed.plan_m[1] - mark.north_m];
    let away_m = math::hypot(off[0], off[1]);
    let own = if away_m > 0.0 {
        placed.error.sd_along_m([off[0] / away_m, off[1] / away_m])
    } else {
        placed.error.ellipse().major_sd_m
    };
    math::hypot(own, mark.sd_m)
}

fn setting_out(pair: &Pair<'_>, words: Words) -> Said {
    let tape = &pair.tape;
    let parts = (
        Part::Length(tape.from_first_m),
        Part::from(&pair.first.name),
        Part::Length(tape.from_second_m),
        Part::from(&pair.second.name),
    );
    let mut said = if tape.right_m >= 0.0 {
        said!(
            words,
            "Tape {first_m} from \"{first}\" and {second_m} from \"{second}\": the place is where both meet to the right of the line \
             from the first to the second.",
            first_m = parts.0,
            first = parts.1,
            second_m = parts.2,
            second = parts.3
        )
    } else {
        said!(
            words,
            "Tape {first_m} from \"{first}\" and {second_m} from \"{second}\": the place is where both meet to the left of the line \
             from the first to the second.",
            first_m = parts.0,
            first = parts.1,
            second_m = parts.2,
            second = parts.3
        )
    };
    let (along, off) = (Part::Length(tape.along_m.abs()), Part::Length(tape.right_m.abs()));
    said.push(if tape.along_m >= 0.0 {
        said!(words, "It lies {along} along that line and {off} square off it.", along = along, off = off)
    } else {
        said!(
            words,
            "It lies {along} before the first, on that line carried on backwards, and {off} square off it.",
            along = along,
            off = off
        )
    });
    said.push(said!(
        words,
        "By landmarks and tapes alone the peg stands within {off} of it (95 %), a tape being good to {tape} (one standard deviation).",
        // Twice the root of the summed variances of both directions has 95 % or more within it, whatever their ratio.
        off = Part::Small(2.0 * pair.set_out_sd_m),
        tape = Part::Small(TAPE_SD_M)
    ));
    said
}

/// Where a point lies against the pipe.
fn beside(near: &crate::path::Nearest, words: Words) -> Said {
    let (at, away) = (Part::At(near.station_m), Part::Length(near.away_m));
    if near.beyond_m != 0.0 {
        return said!(
            words,
            "The point lies beyond the end of what was surveyed, {away} from {place}.",
            away = away,
            place = at
        );
    }
    if near.right_m >= 0.0 {
        said!(
            words,
            "The point lies {away} to the right of the pipe at {place}, looking along growing station.",
            away = away,
            place = at
        )
    } else {
        said!(
            words,
            "The point lies {away} to the left of the pipe at {place}, looking along growing station.",
            away = away,
            place = at
        )
    }
}

#[cfg(test)]
#[path = "locate_tests.rs"]
mod tests;
