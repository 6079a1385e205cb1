//! The tables in words: Markdown, shares in percent with one standard error.

use std::fmt::Write as _;

use crate::{
    belly::{DEPTHS_MM, LENGTHS_M, Power, Probabilities},
    bounds::{BINS_STATE_LESS, BinFailure, Failure, bin_failures, failures},
    decisions::{Decisions, TiedDecisions},
    fits::{Fits, SUSPECTED, WRONG_SDS},
    methods::{Compared, Method},
    row::{Quantity, Row},
    share::Share,
    survey::Case,
    ties::TieSet,
};

/// The parts that a table of coverage is printed in, so that its lines stay short.
const PARTS: [(&str, &[Quantity]); 3] = [
    ("Slopes", &[Quantity::FoundSegment, Quantity::Stick, Quantity::NotedStick, Quantity::GivenStick, Quantity::Reach]),
    ("Falls, zero error, breaks", &[Quantity::End, Quantity::Zero, Quantity::Break]),
    (
        "Pools",
        &[Quantity::PoolDepth, Quantity::PoolVolume, Quantity::PoolLimit, Quantity::PoolExists, Quantity::NoFalsePool],
    ),
];

/// The same of a table with ties.
const TIED_PARTS: [(&str, &[Quantity]); 2] = [
    ("Slopes and falls", &[Quantity::FoundSegment, Quantity::Reach, Quantity::End, Quantity::Elevation]),
    ("Instrument, pools, refusals", &[Quantity::Zero, Quantity::Scale, Quantity::PoolDepth, Quantity::NotRefused]),
];

/// What the brackets of a table with ties mean.
const TIED_CELLS: &str = "Each cell: share of intervals that hold the truth at 95 %, after the stroke at 50 %, in percent with \
                          one standard error (the lateral is the cluster); in brackets the median width over that of the same lateral \
                          without ties.";

/// What the cells of a table of coverage mean.
pub const CELLS: &str = "Each cell: share of intervals that hold the truth at 95 %, after the stroke at 50 %, in percent with \
                         one standard error (the lateral is the cluster); in brackets the median width over that with the \
                         breaks given.";

/// A share in percent with its standard error; a dash of nothing.
fn percent(share: &Share) -> String {
    if share.is_empty() { "-".to_owned() } else { format!("{:.1}±{:.1}", 100.0 * share.mean(), 100.0 * share.error()) }
}

/// A case in words.
pub fn case(case: &Case) -> String {
    let mut text = if case.ties == TieSet::None {
        format!("{}, {}, {}", case.source.name(), case.zero.name(), case.shape.name())
    } else {
        format!("{}, {}", case.ties.name(), case.shape.name())
    };
    if case.stated.zero != 1.0 {
        let _ = write!(text, ", true sd of the zero {:.2} of that stated", case.stated.zero);
    }
    if let Some(noise) = case.stated.noise {
        let _ = write!(text, ", true noise {noise:.2} of that stated");
    }
    if case.stated.ties != 1.0 {
        let _ = write!(text, ", true sds of the ties {:.2} of those stated", case.stated.ties);
    }
    text
}

/// Ways of giving a found segment its interval, compared.
pub fn methods(all: &[Compared]) -> String {
    let names: Vec<&str> = Method::ALL.into_iter().map(Method::name).collect();
    let mut text = format!(
        "## Ways of giving a segment that was found its interval\n\nNoise alone, the zero known: share of segments whose interval holds \
         their true mean slope, at 95 and at 50 %, in percent.\n\n| pipe | {} |\n| --- | --- | --- | --- |\n",
        names.join(" | ")
    );
    for c in all {
        let cells: Vec<String> = c.covered.iter().map(|[a, b]| format!("{} / {}", percent(a), percent(b))).collect();
        let _ = writeln!(text, "| {} | {} |", c.case.shape.name(), cells.join(" | "));
    }
    text
}

/// A table of coverage, in parts.
pub fn coverage(title: &str, rows: &[Row]) -> String {
    in_parts(title, rows, CELLS, &PARTS)
}

/// A table of coverage with ties, in parts.
pub fn tied(title: &str, rows: &[Row]) -> String {
    in_parts(title, rows, TIED_CELLS, &TIED_PARTS)
}

fn in_parts(title: &str, rows: &[Row], cells: &str, parts: &[(&str, &[Quantity])]) -> String {
    let laterals = rows.iter().map(|r| r.of(Quantity::NoFalsePool).in_95.laterals()).max().unwrap_or(0);
    let mut text = format!("## {title}\n\n{laterals} laterals a row. {cells}\n");
    for (part, quantities) in parts {
        let names: Vec<&str> = quantities.iter().map(|q| q.name()).collect();
        let _ = writeln!(text, "\n### {part}\n\n| case | {} |", names.join(" | "));
        let _ = writeln!(text, "| --- |{}", " --- |".repeat(names.len()));
        for row in rows {
            let cells: Vec<String> = quantities.iter().map(|q| cell(row, *q)).collect();
            let _ = writeln!(text, "| {} | {} |", case(&row.case), cells.join(" | "));
        }
    }
    text
}

fn cell(row: &Row, quantity: Quantity) -> String {
    let coverage = row.of(quantity);
    let mut text = percent(&coverage.in_95);
    if !coverage.in_50.is_empty() {
        let _ = write!(text, " / {}", percent(&coverage.in_50));
    }
    if let Some(width) = coverage.width {
        let _ = write!(text, " ({width:.2})");
    }
    text
}

/// What does not keep to its bound.
pub fn not_kept(rows: &[Row]) -> String {
    let failures: Vec<Failure> = rows.iter().flat_map(failures).collect();
    let mut text = format!("### What does not keep to its bound: {}\n\n", failures.len());
    for failure in &failures {
        let _ = writeln!(text, "- {}", self::failure(failure));
    }
    text
}

/// One failure in a sentence.
pub fn failure(failure: &Failure) -> String {
    let why = match failure.known {
        Some(known) => {
            format!(
                "known; {:.0} to {:.0} does hold: {}",
                100.0 * known.holds.low,
                100.0 * known.holds.high,
                known.cause
            )
        }
        None => "NOT KNOWN".to_owned(),
    };
    format!(
        "{}: {} at {}: {} of {} laterals, asked {:.0} to {:.0} ({why})",
        case(&failure.case),
        failure.quantity.name(),
        failure.level.name(),
        percent(&failure.found),
        failure.found.laterals(),
        100.0 * failure.asked.low,
        100.0 * failure.asked.high,
    )
}

/// The table of findings.
pub fn decisions(all: &[Decisions]) -> String {
    let mut text = format!(
        "## Findings on straight pipe at and beside a limit of 2 %\n\n{} laterals a row; at most 5 % of pipes at or below it \
         may be said to meet, at most 5 % at or above it to fail.\n\n| zero | slope | reach meets | reach fails | lateral \
         meets | lateral fails |\n| --- | --- | --- | --- | --- | --- |\n",
        all.first().map_or(0, |d| d.meets.laterals())
    );
    for d in all {
        let shares = [&d.meets, &d.fails, &d.all_meet, &d.all_fail].map(percent);
        let _ = writeln!(text, "| {} | {:.1} % | {} |", d.zero.name(), 100.0 * d.slope, shares.join(" | "));
    }
    text
}

/// The table of findings with ties.
pub fn tied_decisions(all: &[TiedDecisions]) -> String {
    let mut text = format!(
        "### Findings with ties, on pipe about a limit of 2 %\n\n{} laterals a row: straight with two inverts, with a belly of 40 mm \
         over 6 m and the edges of its water. At most 5 % of reaches at or below the limit may be said to meet it, at most 5 % at or \
         above it to fail.\n\n| ties | slope | reach meets | reach fails | refused |\n| --- | --- | --- | --- | --- |\n",
        all.first().map_or(0, |d| d.meets.laterals())
    );
    for d in all {
        let shares = [&d.meets, &d.fails, &d.refused].map(percent);
        let _ = writeln!(text, "| {} | {:.2} % | {} |", d.ties.name(), 100.0 * d.slope, shares.join(" | "));
    }
    text
}

/// The table of how ties fit.
pub fn fits(all: &[Fits]) -> String {
    let mut text = format!(
        "### How ties fit\n\n{} laterals a row, sticks with large changes. Probabilities of a distribution as far from even (of the \
         probabilities of misclosures) and from standard normal (of standardised residuals, one of each lateral) by Kolmogorov and \
         Smirnov. Of right ties {} % of the tests lie beyond what suspicion asks for. A wrong tie is off by {WRONG_SDS} standard \
         deviations of its own misclosure; where all ties share one residual none can be told from another.\n\n\
         | ties | degrees of freedom | even | normal | right, tests beyond, % | right, one suspect, % | wrong one named, % | \
         another named, % |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n",
        all.first().map_or(0, |f| f.suspected.laterals()),
        100.0 * SUSPECTED,
    );
    for f in all {
        let shares = [&f.beyond, &f.suspected, &f.named, &f.other_named].map(fine);
        let _ = writeln!(
            text,
            "| {} | {} | {:.3} | {:.3} | {} |",
            f.ties.name(),
            f.degrees,
            f.even,
            f.normal,
            shares.join(" | ")
        );
    }
    text
}

/// The same as [`percent`], to a hundredth.
fn fine(share: &Share) -> String {
    if share.is_empty() { "-".to_owned() } else { format!("{:.2}±{:.2}", 100.0 * share.mean(), 100.0 * share.error()) }
}

/// The table of probabilities.
pub fn probabilities(all: &[Probabilities]) -> String {
    let mut text = "## Probabilities of pools\n\nBellies of 0 to 20 mm and 1 to 6 m, each as likely as the next, in pipe of \
                    2 % read to 0.1 degrees with noise of 0.25: mean of the probabilities stated, and share of those pools \
                    that are deeper than 3 mm, in percent.\n\n| zero | stated | there | pools |\n| --- | --- | --- | --- |\n"
        .to_owned();
    for of in all {
        for bin in of.bins.iter().filter(|bin| !bin.there.is_empty()) {
            let stated = 100.0 * bin.stated.mean();
            let n = bin.there.laterals();
            let _ = writeln!(text, "| {} | {stated:.1} | {} | {n} |", of.zero.name(), percent(&bin.there));
        }
        let (there, n) = (percent(&of.said_to_exist), of.said_to_exist.laterals());
        let _ = writeln!(text, "| {} | 95 or more | {there} | {n} |", of.zero.name());
    }
    let failures: Vec<BinFailure> = all.iter().flat_map(bin_failures).collect();
    let _ = writeln!(text, "\n### Tenths that are not as often there as stated: {}\n", failures.len());
    for BinFailure { zero, bin, states_more } in failures {
        let why = if states_more { "NOT KNOWN: more is stated than there is" } else { BINS_STATE_LESS };
        let stated = 100.0 * bin.stated.mean();
        let _ = writeln!(text, "- {}: {stated:.1} stated, {} there ({why})", zero.name(), percent(&bin.there));
    }
    text
}

/// The table of power.
pub fn power(all: &[Power]) -> String {
    let lengths: Vec<String> = LENGTHS_M.iter().map(|m| format!("belly of {m} m")).collect();
    let mut text = format!(
        "## Bellies that are found\n\nA belly in pipe of 2 %, {} laterals each. Least depth, mm, of those tried \
         ({DEPTHS_MM:?}) from which on it is found in 95 % of the laterals; share of straight pipes in which one is found, in \
         percent.\n\n| head | zero | {} | found in straight pipe |\n| --- | --- |{} --- |\n",
        all.first().map_or(0, |p| p.false_alarms.laterals()),
        lengths.join(" | "),
        " --- |".repeat(lengths.len()),
    );
    for p in all {
        let least = |length| p.least_mm(length).map_or_else(|| "none".to_owned(), |mm| mm.to_string());
        let least: Vec<String> = (0..LENGTHS_M.len()).map(least).collect();
        let head = format!("{}: noise {} degrees, steps of {}", p.grade.name, p.grade.noise_deg, p.grade.step_deg);
        let _ = writeln!(text, "| {head} | {} | {} | {} |", p.zero.name(), least.join(" | "), percent(&p.false_alarms));
    }
    text
}
