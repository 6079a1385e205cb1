//! What the pipe carries, in words.

use super::{
    Asked, Bellies,
    chance::Chance,
    figure::Figure,
    stretch::Stretch,
    verdict::{Clean, Cleansing, Decided, Verdict},
    wall::Missing,
};
use crate::prelude::*;
use crate::{
    adjust::Estimate,
    answers::{CapacityRow, CarryingRow},
    hydraulics::{State, design_flow},
    model::{Discharge, StandardPipe},
    said,
    units::{Part, Said, Words},
};

/// From this condition number on a depth is said to hang on the flow.
const LARGE_CONDITION: f64 = 3.0;

/// All of a reach: its figures, its bellies, its verdict, how the flow stands in it, and whether it keeps itself clean.
pub(super) fn of_reach(
    asked: &Asked<'_>,
    stretch: &Stretch<'_>,
    decided: &Decided,
    bellies: &Bellies,
    row: &CapacityRow,
) -> Said {
    let words = asked.words;
    let mut all = vec![figures(asked, stretch, decided, row)];
    all.extend(flattest(words, stretch, row));
    if decided.pipe.is_some() {
        all.extend(backward(words, stretch));
    }
    all.extend(standing(bellies));
    all.extend(verdict(asked, stretch, decided, bellies));
    all.extend(depth(asked, row));
    let of = asked.capacity;
    let velocity = of.least_velocity_m_s.map(|limit| said!(words, "a velocity of {limit}", limit = Part::Speed(limit)));
    let shear = of.least_shear_pa.map(|limit| said!(words, "a shear of {limit}", limit = Part::Shear(limit)));
    let backward = !stretch.backward_m.is_empty();
    all.extend(velocity.zip(decided.by_velocity).map(|(limit, of)| clean(words, limit, of, bellies, backward)));
    all.extend(shear.zip(decided.by_shear).map(|(limit, of)| clean(words, limit, of, bellies, backward)));
    Said::all(words, all)
}

fn name(of: &Said) -> Part {
    Part::capital(of)
}

/// "the bore of the pipe and the flow to carry"
fn list(words: Words, missing: impl IntoIterator<Item = Missing>) -> Part {
    Part::list(words, missing.into_iter().map(|m| m.said().into()))
}

/// A figure with the ends of its interval, where it has any.
fn flow_with_ends(words: Words, value: f64, sd: Option<f64>, low: Option<f64>, high: Option<f64>) -> Said {
    let flow = Part::Flow(value);
    match (sd, low, high) {
        (Some(sd), Some(low), Some(high)) if sd > 0.0 => {
            said!(words, "{flow} ({low} to {high})", flow = flow, low = Part::Flow(low), high = Part::Flow(high))
        }
        _ => said!(words, "{flow}", flow = flow),
    }
}

fn slope_with_ends(words: Words, slope: &Estimate) -> Said {
    if slope.sd > 0.0 {
        said!(
            words,
            "{slope} (95 % interval {interval})",
            slope = Part::Slope(slope.value),
            interval = Part::SlopeRange(slope.low, slope.high)
        )
    } else {
        said!(words, "{slope}", slope = Part::Slope(slope.value))
    }
}

fn figures(asked: &Asked<'_>, stretch: &Stretch<'_>, decided: &Decided, row: &CapacityRow) -> Said {
    let words = asked.words;
    let name = name(&stretch.name);
    if decided.pipe.is_none() {
        let pipe = decided.missing.iter().copied().filter(|m| !matches!(m, Missing::Flow | Missing::Filling));
        return said!(
            "{reach}: what it carries is not determined, because the job does not give {missing}.",
            reach = name,
            missing = list(words, pipe)
        );
    }
    let Some(mean) = &stretch.mean else {
        return said!("{reach} is nothing but drops: no uniform flow is defined for it.", reach = name);
    };
    let Some(most) = row.most_m3_s else {
        return said!(
            words,
            "{reach} does not fall in the best estimate, at a mean slope of {slope}: no uniform flow, and so no capacity, is defined for it.",
            reach = name,
            slope = slope_with_ends(words, mean)
        );
    };
    let most = flow_with_ends(words, most, row.most_sd_m3_s, row.most_low_m3_s, row.most_high_m3_s);
    match row.filling.zip(row.filled_m3_s) {
        Some((share, filled)) => said!(
            words,
            "{reach}, at its mean slope of {slope}, carries {filled} with water as deep as {share} of the bore, and at most {most}.",
            reach = name,
            slope = slope_with_ends(words, mean),
            filled = flow_with_ends(words, filled, row.filled_sd_m3_s, row.filled_low_m3_s, row.filled_high_m3_s),
            share = Part::Share(share),
            most = most
        ),
        None => said!(
            words,
            "{reach}, at its mean slope of {slope}, carries at most {most}.",
            reach = name,
            slope = slope_with_ends(words, mean),
            most = most
        ),
    }
}

fn flattest(words: Words, stretch: &Stretch<'_>, row: &CapacityRow) -> Option<Said> {
    row.most_m3_s?;
    let piece = stretch.flattest()?;
    let (place, slope) = (Part::Both(piece.from_m, piece.to_m), slope_with_ends(words, &piece.slope));
    if piece.slope.value <= 0.0 {
        return Some(said!(
            words,
            "Its flattest piece, between {stretch}, does not fall in the best estimate, at {slope}: no uniform flow is defined there.",
            stretch = place,
            slope = slope
        ));
    }
    let (low, high) = (row.flattest_filled_low_m3_s, row.flattest_filled_high_m3_s);
    let within = |(from_m, to_m): &(f64, f64)| piece.from_m < *to_m && *from_m < piece.to_m;
    if stretch.backward_m.iter().any(within) {
        return Some(said!(
            words,
            "Its flattest piece lies between {stretch}, at {slope} in the mean, with what runs backwards in it: where that is, it has no capacity.",
            stretch = place,
            slope = slope
        ));
    }
    Some(match row.flattest_filled_m3_s {
        Some(filled) => said!(
            words,
            "Its flattest piece, between {stretch}, at {slope}, carries {filled} at that filling.",
            stretch = place,
            slope = slope,
            filled = flow_with_ends(words, filled, row.flattest_filled_sd_m3_s, low, high)
        ),
        None => said!(words, "Its flattest piece lies between {stretch}, at {slope}.", stretch = place, slope = slope),
    })
}

fn backward(words: Words, stretch: &Stretch<'_>) -> Option<Said> {
    let (from_m, to_m) = stretch.longest_backward_m()?;
    let place = Part::Both(from_m, to_m);
    Some(match stretch.backward_m.len() {
        1 => said!(words, "It runs backwards between {stretch}: no flow is uniform there.", stretch = place),
        n => said!(
            words,
            "It runs backwards in {count} places, the longest between {stretch}: no flow is uniform there.",
            count = n,
            stretch = place
        ),
    })
}

fn numbers(of: &[usize]) -> Part {
    Part::list(Words::Uk, of.iter().map(|n| Part::from(*n)))
}

/// "belly 2 and possible belly 3"
fn named(bellies: &Bellies) -> Option<Said> {
    let found = match bellies.found.as_slice() {
        [] => None,
        [one] => Some(said!("belly {n}", n = *one)),
        all => Some(said!("bellies {list}", list = numbers(all))),
    };
    let possible = match bellies.possible.as_slice() {
        [] => None,
        [one] => Some(said!("possible belly {n}", n = *one)),
        all => Some(said!("possible bellies {list}", list = numbers(all))),
    };
    match (found, possible) {
        (Some(found), Some(possible)) => Some(said!("{list} and {last}", list = found, last = possible)),
        (one, other) => one.or(other),
    }
}

fn standing(bellies: &Bellies) -> Option<Said> {
    let named = named(bellies)?;
    Some(if bellies.found.len() + bellies.possible.len() == 1 {
        said!(
            "In it lies {belly}: there the flow is deeper and slower than is said here, and solids settle first.",
            belly = named
        )
    } else {
        said!(
            "In it lie {bellies}: there the flow is deeper and slower than is said here, and solids settle first.",
            bellies = named
        )
    })
}

fn verdict(asked: &Asked<'_>, stretch: &Stretch<'_>, decided: &Decided, bellies: &Bellies) -> Option<Said> {
    let words = asked.words;
    decided.pipe?;
    let Some(flow) = asked.flow_m3_s else {
        return Some(said!("Whether that is enough is not said: the job does not give the flow to carry."));
    };
    let flow = Part::Flow(flow);
    let p =
        |chance: Option<Chance>| chance.and_then(Chance::value).map_or(Part::word("not determined"), Part::Probability);
    Some(match decided.verdict {
        Verdict::NoUniformFlow => return None,
        Verdict::InputMissing => said!(
            words,
            "Whether it carries the flow of {flow} is not said: the job does not give {missing}.",
            flow = flow,
            missing = list(words, decided.missing.iter().copied())
        ),
        Verdict::Carries => match named(bellies) {
            Some(bellies) => said!(
                words,
                "Apart from {bellies}, where no flow is uniform, every piece of it carries the flow of {flow} (probability {p}).",
                bellies = bellies,
                flow = flow,
                p = p(decided.every_piece)
            ),
            None => said!(
                words,
                "Every piece of it carries the flow of {flow} (probability {p}).",
                flow = flow,
                p = p(decided.every_piece)
            ),
        },
        Verdict::DoesNotCarry => said!(
            words,
            "It does not carry the flow of {flow} at that filling: that takes a mean slope of {needed} (probability that it has it: {p}).",
            flow = flow,
            needed = needed(decided.needed),
            p = p(decided.mean)
        ),
        Verdict::NotDecided => not_decided(words, flow, stretch, decided),
    })
}

/// A slope that is needed; steeper than can be where there is none.
fn needed(slope: Option<f64>) -> Part {
    match slope.filter(|s| s.is_finite()) {
        Some(slope) => Part::Slope(slope),
        None => Part::Slope(11.0), // printed as steeper than the steepest
    }
}

fn not_decided(words: Words, flow: Part, stretch: &Stretch<'_>, decided: &Decided) -> Said {
    if let Some(ties) = &decided.contradicted {
        return said!(
            words,
            "Whether it carries the flow of {flow} is not decided: this rests on {ties}, which may be what does not fit the rest.",
            flow = flow,
            ties = ties
        );
    }
    if stretch.unseen && decided.every_piece.is_some_and(Chance::surely) {
        return said!(
            words,
            "Whether it carries the flow of {flow} is not decided: part of it was not seen.",
            flow = flow
        );
    }
    if !stretch.backward_m.is_empty() && decided.mean.is_some_and(Chance::surely) {
        return said!(
            words,
            "Whether it carries the flow of {flow} is not decided: at its mean slope it would, but where it runs backwards no flow is uniform.",
            flow = flow
        );
    }
    if decided.mean.is_some_and(Chance::surely) {
        return said!(
            words,
            "Whether it carries the flow of {flow} is not decided: at its mean slope it does, but every piece would have to fall {needed} \
             (probability {p}).",
            flow = flow,
            needed = needed(decided.needed),
            p = decided.every_piece.and_then(Chance::value).map_or(Part::word("not determined"), Part::Probability)
        );
    }
    said!(
        words,
        "Whether it carries the flow of {flow} is not decided from this data: that takes a slope of {needed} (probability that its mean slope is that or \
         steeper: {p}).",
        flow = flow,
        needed = needed(decided.needed),
        p = decided.mean.and_then(Chance::value).map_or(Part::word("not determined"), Part::Probability)
    )
}

fn depth(asked: &Asked<'_>, row: &CapacityRow) -> Option<Said> {
    let words = asked.words;
    row.most_m3_s?;
    if row.state == State::AboveCapacity.as_str() {
        return Some(said!(
            "At its mean slope that flow is more than it carries with a free surface: it would run full under pressure, or back up."
        ));
    }
    let (depth, share, velocity) = (row.depth_m?, row.depth_over_bore?, row.velocity_m_s?);
    let mut all = match row.upper_depth_m {
        Some(upper) => said!(
            words,
            "At its mean slope that flow stands {depth} or {upper} deep: both are possible so near the most that it carries.",
            depth = Part::Small(depth),
            upper = Part::Small(upper)
        ),
        None => said!(
            words,
            "At its mean slope that flow stands {depth} deep ({share} of the bore) and runs at {velocity}.",
            depth = Part::Small(depth),
            share = Part::Share(share),
            velocity = Part::Speed(velocity)
        ),
    };
    if let Some(condition) = row.condition.filter(|c| *c > LARGE_CONDITION) {
        all.push(said!(
            "An error of the flow shows {times} times as large in the depth, each as a share of the whole.",
            times = Part::Number(condition, 0)
        ));
    }
    Some(all)
}

fn clean(words: Words, limit: Said, of: Cleansing, bellies: &Bellies, backward: bool) -> Said {
    let p = of.every_piece.value().map_or(Part::word("not determined"), Part::Probability);
    match (of.clean, named(bellies)) {
        (Clean::Yes, Some(bellies)) => said!(
            words,
            "Apart from {bellies}, that flow reaches {limit} over every piece (probability {p}).",
            bellies = bellies,
            limit = limit,
            p = p
        ),
        (Clean::Yes, None) => {
            said!(words, "That flow reaches {limit} over every piece (probability {p}).", limit = limit, p = p)
        }
        (Clean::No, _) => said!(
            words,
            "That flow does not reach {limit} over the flattest piece: it takes a slope of {needed}.",
            limit = limit,
            needed = needed(Some(of.needed))
        ),
        (Clean::NotDecided, _) if backward => said!(
            words,
            "That flow does not reach {limit} where the pipe runs backwards. Elsewhere it takes a slope of {needed} (probability that the mean of \
             every piece is that or steeper: {p}).",
            limit = limit,
            needed = needed(Some(of.needed)),
            p = p
        ),
        (Clean::NotDecided, _) if of.every_piece.surely() => said!(
            words,
            "That flow would reach {limit} over every piece (probability {p}), but not surely where no flow is uniform or nothing was seen.",
            limit = limit,
            p = p
        ),
        (Clean::NotDecided, _) => said!(
            words,
            "Whether that flow reaches {limit} over every piece is not decided: it takes a slope of {needed} (probability that every piece has it: \
             {p}).",
            limit = limit,
            needed = needed(Some(of.needed)),
            p = p
        ),
    }
}

/// All of the lateral.
pub(super) fn of_whole(
    asked: &Asked<'_>,
    whole: &CarryingRow,
    verdict: Verdict,
    failing: Option<&Said>,
    least: Option<(&CapacityRow, &Stretch<'_>)>,
) -> Said {
    let words = asked.words;
    let p = whole.probability.map_or(Part::word("not determined"), Part::Probability);
    let count = whole.bellies_found + whole.bellies_possible;
    let mut all = Vec::new();
    match asked.flow_m3_s.map(Part::Flow) {
        None => {
            all.push(said!("Whether the lateral carries enough is not said: the job does not give the flow to carry."));
        }
        Some(flow) => {
            let units = asked.capacity.discharge.as_ref().and_then(|d| from_units(words, d, flow.clone()));
            all.push(match (verdict, failing, count) {
                (Verdict::DoesNotCarry, Some(reach), _) => {
                    said!(words, "{reach} does not carry the flow of {flow}.", reach = name(reach), flow = flow)
                }
                (Verdict::Carries, _, 0) => {
                    said!(words, "Every reach carries the flow of {flow} (probability {p}).", flow = flow, p = p)
                }
                (Verdict::Carries, _, 1) => said!(
                    words,
                    "Apart from one belly, found or possible, every reach carries the flow of {flow} (probability {p}).",
                    flow = flow,
                    p = p
                ),
                (Verdict::Carries, _, n) => said!(
                    words,
                    "Apart from {count} bellies, found or possible, every reach carries the flow of {flow} (probability {p}).",
                    count = n,
                    flow = flow,
                    p = p
                ),
                (Verdict::InputMissing, _, _) => said!(
                    words,
                    "Whether every reach carries the flow of {flow} is not said: the job does not give all that it takes.",
                    flow = flow
                ),
                (Verdict::NoUniformFlow, _, _) => said!(
                    words,
                    "Whether every reach carries the flow of {flow} cannot be said: one of them does not fall in the best estimate.",
                    flow = flow
                ),
                _ => said!(words, "Whether every reach carries the flow of {flow} is not decided.", flow = flow),
            });
            all.extend(units);
        }
    }
    if verdict != Verdict::Carries {
        all.extend(match count {
            0 => None,
            1 if whole.bellies_possible == 0 => {
                Some(said!("There is one belly in the pipe: there no flow is uniform."))
            }
            1 => Some(said!("There may be one belly in the pipe: there no flow is uniform.")),
            n if whole.bellies_possible == 0 => {
                Some(said!("There are {count} bellies in the pipe: there no flow is uniform.", count = n))
            }
            n => Some(said!(
                "There are {count} bellies in the pipe, found or possible: there no flow is uniform.",
                count = n
            )),
        });
    }
    if let Some((row, stretch)) = least {
        let carries = row.flattest_filled_m3_s.or(row.filled_m3_s).or(row.most_m3_s);
        let uniform = stretch.backward_m.is_empty() && row.verdict != Verdict::NoUniformFlow.as_str();
        all.push(match carries.filter(|_| uniform) {
            Some(flow) => said!(
                words,
                "Of the reaches whose capacity is known, {reach} carries least: {flow}.",
                reach = &stretch.name,
                flow = Part::Flow(flow)
            ),
            None if row.verdict == Verdict::NoUniformFlow.as_str() => {
                said!("{reach} limits it: no capacity is defined for it.", reach = name(&stretch.name))
            }
            None => {
                said!("{reach} limits it: where it runs backwards, it has no capacity.", reach = name(&stretch.name))
            }
        });
    }
    Said::all(words, all)
}

/// How a flow comes from discharge units: by the root of their sum, or by the largest of them.
fn from_units(words: Words, discharge: &Discharge, flow: Part) -> Option<Said> {
    let design = design_flow(discharge).ok()?;
    let (factor, sum) = (Part::Number(discharge.frequency.factor(), 1), Part::Number(1000.0 * design.sum_m3_s, 1));
    let mut all = if design.largest_governs {
        said!(
            words,
            "The flow of {flow} comes from discharge units by EN 12056-2. Its waste water is the largest of them, which is more than {factor} times \
             the root of their sum of {sum} l/s.",
            flow = flow,
            factor = factor,
            sum = sum
        )
    } else {
        said!(
            words,
            "The flow of {flow} comes from discharge units by EN 12056-2. Its waste water is {factor} times the root of their sum of {sum} l/s.",
            flow = flow,
            factor = factor,
            sum = sum
        )
    };
    if let Some(continuous) = discharge.continuous_m3_s.filter(|m3_s| *m3_s > 0.0) {
        all.push(said!(words, "Of it {flow} flows all the time.", flow = Part::Flow(continuous)));
    }
    Some(all)
}

/// A flow above what the rule of the slope was chosen for.
pub(super) fn at_odds(words: Words, reach: &Said, fact: &str, flow: f64) -> Said {
    said!(
        words,
        "For the slope of {reach} the job says that the peak flow is {fact}, and the flow here is {flow}: one of the two is wrong, and with it the rule \
         that the slope is held against.",
        reach = reach,
        fact = fact,
        flow = Part::Flow(flow)
    )
}

/// What a slope is needed for.
#[derive(Debug, Clone, Copy)]
pub(super) enum Why {
    Flow(Option<f64>),
    Velocity(Option<f64>),
    Shear(Option<f64>),
}

pub(super) fn slope_needed(
    words: Words,
    reach: &Said,
    flow: f64,
    slope_and_fall: Option<(f64, f64)>,
    length_m: f64,
    why: Why,
) -> Said {
    let flow = Part::Flow(flow);
    let what = match why {
        Why::Flow(share) => said!(
            words,
            "to carry {flow} filled to {share} of its bore",
            flow = flow,
            share = Part::Share(share.unwrap_or(1.0))
        ),
        Why::Velocity(limit) => {
            said!(words, "for {flow} to run at {limit}", flow = flow, limit = Part::Speed(limit.unwrap_or(0.0)))
        }
        Why::Shear(limit) => said!(
            words,
            "for {flow} to have a shear of {limit}",
            flow = flow,
            limit = Part::Shear(limit.unwrap_or(0.0))
        ),
    };
    match slope_and_fall {
        Some((slope, fall_m)) => said!(
            words,
            "{reach}: {what} it takes a slope of {slope}, a fall of {fall} over its {length}.",
            reach = name(reach),
            what = what,
            slope = Part::Slope(slope),
            fall = Part::Small(fall_m),
            length = Part::Length(length_m)
        ),
        None => said!("{reach}: {what} no slope is steep enough.", reach = name(reach), what = what),
    }
}

fn fall_with_ends(words: Words, fall: &Estimate) -> Said {
    if fall.sd > 0.0 {
        said!(
            words,
            "{fall} ({low} to {high})",
            fall = Part::Small(fall.value),
            low = Part::Small(fall.low),
            high = Part::Small(fall.high)
        )
    } else {
        said!(words, "{fall}", fall = Part::Small(fall.value))
    }
}

pub(super) fn fall_there(words: Words, reach: &Said, fall: &Estimate, drops_m: f64) -> Said {
    let (reach, there) = (name(reach), fall_with_ends(words, fall));
    if drops_m == 0.0 {
        said!(words, "{reach}: it falls {fall} from end to end.", reach = reach, fall = there)
    } else {
        said!(
            words,
            "{reach}: it falls {fall} from end to end, {drops} of it in drops.",
            reach = reach,
            fall = there,
            drops = Part::Small(drops_m)
        )
    }
}

pub(super) fn fall_missing(words: Words, reach: &Said, flow: f64, missing: &Estimate) -> Said {
    let (reach, flow) = (name(reach), Part::Flow(flow));
    if missing.value > 0.0 {
        said!(
            words,
            "{reach}: laid evenly between its ends for {flow}, it lacks {fall} of fall.",
            reach = reach,
            flow = flow,
            fall = fall_with_ends(words, missing)
        )
    } else {
        let spare = Estimate { value: -missing.value, sd: missing.sd, low: -missing.high, high: -missing.low };
        said!(
            words,
            "{reach}: laid evenly between its ends for {flow}, it has {fall} of fall to spare.",
            reach = reach,
            flow = flow,
            fall = fall_with_ends(words, &spare)
        )
    }
}

pub(super) fn bore_needed(words: Words, reach: &Said, flow: f64, share: f64, slope: f64, bore: &Figure) -> Said {
    let (reach, flow, share) = (name(reach), Part::Flow(flow), Part::Share(share));
    let slope = Part::Slope(slope);
    match (bore.value, bore.low, bore.high) {
        (Some(value), Some(low), Some(high)) if low < high => said!(
            words,
            "{reach}: at its mean slope of {slope} a bore of {bore} ({low} to {high}) carries {flow} filled to {share}.",
            reach = reach,
            slope = slope,
            bore = Part::Small(value),
            low = Part::Small(low),
            high = Part::Small(high),
            flow = flow,
            share = share
        ),
        (Some(value), _, _) => said!(
            words,
            "{reach}: at its mean slope of {slope} a bore of {bore} carries {flow} filled to {share}.",
            reach = reach,
            slope = slope,
            bore = Part::Small(value),
            flow = flow,
            share = share
        ),
        (None, _, _) => said!(
            words,
            "{reach}: at its mean slope of {slope} no bore carries {flow}.",
            reach = reach,
            slope = slope,
            flow = flow
        ),
    }
}

pub(super) fn size_needed(
    words: Words,
    reach: &Said,
    flow: f64,
    share: f64,
    slope: f64,
    class: &str,
    least: Option<(&StandardPipe, Figure)>,
) -> Said {
    let (reach, flow, slope) = (name(reach), Part::Flow(flow), Part::Slope(slope));
    match least {
        Some((size, carries)) => said!(
            words,
            "{reach}: of {class}, as rough as this pipe, the least size in the table that carries {flow} filled to {share} at {slope} is {size}, which \
             carries {most}.",
            reach = reach,
            class = class,
            flow = flow,
            share = Part::Share(share),
            slope = slope,
            size = size.nominal.to_string(),
            most = flow_with_ends(words, carries.value.unwrap_or(0.0), carries.sd, carries.low, carries.high)
        ),
        None => said!(
            words,
            "{reach}: of {class}, as rough as this pipe, no size in the table carries {flow} at {slope}.",
            reach = reach,
            class = class,
            flow = flow,
            slope = slope
        ),
    }
}
