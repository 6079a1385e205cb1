//! Which rows speak of a reach.

use alloc::collections::{BTreeMap, BTreeSet};

use super::rulebook::{Rule, Rulebook};
use crate::prelude::*;
use crate::{
    error::nearest,
    model::{Job, Nominal, Reach, SizeUnit},
    said,
    units::Said,
};

/// The rows of a book that speak of a reach, or may.
#[derive(Debug, Default)]
pub(super) struct Selection<'a> {
    /// Rows that apply; rows that another takes the place of are gone.
    pub(super) applying: Vec<&'a Rule>,
    /// Rows that may apply besides, with the facts that are missing.
    pub(super) open: Vec<(&'a Rule, Vec<Said>)>,
    /// Rows that may apply in place of one of `applying`, with the facts that are missing.
    pub(super) alternatives: Vec<(&'a Rule, Vec<Said>)>,
    /// Rows that would speak of the reach but for an assumed fact.
    pub(super) assumed_away: Vec<&'a Rule>,
    /// Rows that would speak of the reach but are switched off.
    pub(super) off: Vec<&'a Rule>,
}

impl Selection<'_> {
    /// The facts that are missing, each once.
    pub(super) fn missing(&self) -> Vec<Said> {
        each_once(self.open.iter().chain(&self.alternatives).flat_map(|(_, missing)| missing))
    }
}

/// Each once, in alphabetical order.
pub(super) fn each_once<'a>(missing: impl IntoIterator<Item = &'a Said>) -> Vec<Said> {
    let by_text: BTreeMap<String, &Said> = missing.into_iter().map(|said| (said.to_string(), said)).collect();
    by_text.into_values().cloned().collect()
}

/// Sorts the rows that `about` picks (those on slope, or those on pools) by whether they apply to a reach.
pub(super) fn select<'a>(book: &'a Rulebook, job: &Job, reach: &Reach, about: impl Fn(&Rule) -> bool) -> Selection<'a> {
    let mut selection = Selection::default();
    let mut open = Vec::new();
    for rule in book.rows.iter().filter(|rule| about(rule)) {
        match standing(rule, job, reach) {
            Standing::Applies if rule.enabled => selection.applying.push(rule),
            Standing::Open(missing) if rule.enabled => open.push((rule, missing)),
            Standing::Applies | Standing::Open(_) => selection.off.push(rule),
            Standing::AssumedAway if rule.enabled => selection.assumed_away.push(rule),
            Standing::AssumedAway | Standing::No => {}
        }
    }
    let replaced: Vec<&str> = selection.applying.iter().flat_map(|r| r.instead_of.iter().map(String::as_str)).collect();
    selection.applying.retain(|rule| !replaced.contains(&rule.id.as_str()));
    open.retain(|(rule, _)| !replaced.contains(&rule.id.as_str()));
    for (rule, missing) in open {
        let replaces = selection.applying.iter().any(|applying| rule.instead_of.contains(&applying.id));
        // A row without limits of its own only ever releases from another.
        if replaces {
            selection.alternatives.push((rule, missing));
        } else if rule.limits_slope() || rule.max_pool.is_some() {
            selection.open.push((rule, missing));
        }
    }
    selection
}

/// Warnings for facts of a job that no row of the book asks for, or whose value no row knows: most likely misspelt.
pub(super) fn unknown_facts(book: &Rulebook, job: &Job) -> Vec<Said> {
    let mut known: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for rule in &book.rows {
        for (name, value) in rule.needs.iter().chain(&rule.assumed) {
            known.entry(name).or_default().insert(value);
        }
        for name in rule.needs_at_least.keys() {
            known.entry(name).or_default();
        }
    }
    let mut warnings = Vec::new();
    for (name, value) in job.rules.facts.iter().chain(job.reaches.iter().flat_map(|r| &r.facts)) {
        let warning = match known.get(name.as_str()) {
            None => {
                let names: Vec<&str> = known.keys().copied().collect();
                let listed = names.join(", ");
                match nearest(name, names.iter().copied()) {
                    Some(near) => said!(
                        "the fact {name} is asked for by no row of {title} (did you mean \"{near}\"?); it asks for: \
                         {names}",
                        name = name,
                        title = &book.title,
                        near = near,
                        names = listed
                    ),
                    None => said!(
                        "the fact {name} is asked for by no row of {title}; it asks for: {names}",
                        name = name,
                        title = &book.title,
                        names = listed
                    ),
                }
            }
            // A number, or a plain yes or no, is always understood.
            Some(values) if values.is_empty() => continue,
            // As it is weighed: without regard to case and blanks.
            Some(values)
                if values.iter().chain(&["yes", "no"]).any(|v| v.trim().eq_ignore_ascii_case(value.trim())) =>
            {
                continue;
            }
            Some(values) => {
                let values: Vec<String> = values.iter().map(|v| format!("\"{v}\"")).collect();
                said!(
                    "the fact {name} = \"{value}\" is known to no row of {title}; known: {values}",
                    name = name,
                    value = value,
                    title = &book.title,
                    values = values.join(", ")
                )
            }
        };
        if !warnings.contains(&warning) {
            warnings.push(warning);
        }
    }
    warnings
}

/// Whether a row applies.
enum Standing {
    Applies,
    /// It depends on facts that the job does not give.
    Open(Vec<Said>),
    /// It does not, because of a fact that was assumed.
    AssumedAway,
    No,
}

fn standing(rule: &Rule, job: &Job, reach: &Reach) -> Standing {
    let mut missing = Vec::new();
    match fits(rule, reach.pipe.nominal) {
        Ok(true) => {}
        Ok(false) => return Standing::No,
        Err(what) => missing.push(what),
    }
    let mut assumed_away = false;
    let mut weigh = |name: &str, holds: &dyn Fn(&str) -> Option<bool>| {
        let given = reach.facts.get(name).or_else(|| job.rules.facts.get(name)).map(String::as_str);
        let assumed = rule.assumed.get(name).map(String::as_str);
        match (given.or(assumed).and_then(holds), given) {
            (Some(true), _) => true,
            (Some(false), None) => {
                assumed_away = true;
                true
            }
            (Some(false), Some(_)) => false,
            (None, _) => {
                missing.push(Said::text(name));
                true
            }
        }
    };
    for (name, needed) in &rule.needs {
        if !weigh(name, &|fact| Some(fact.trim().eq_ignore_ascii_case(needed.trim()))) {
            return Standing::No;
        }
    }
    for (name, least) in &rule.needs_at_least {
        let enough = |fact: &str| fact.trim().parse::<f64>().ok().filter(|n| n.is_finite()).map(|n| n >= *least);
        if !weigh(name, &enough) {
            return Standing::No;
        }
    }
    match (assumed_away, missing.is_empty()) {
        (true, _) => Standing::AssumedAway,
        (false, true) => Standing::Applies,
        (false, false) => Standing::Open(missing),
    }
}

/// Whether a nominal size is within the row's; the error names what is missing to tell.
fn fits(rule: &Rule, nominal: Option<Nominal>) -> Result<bool, Said> {
    let Some(unit) = rule.unit else { return Ok(true) };
    match nominal {
        Some(n) if n.unit == unit && n.size.is_finite() => {
            Ok(rule.min_size.is_none_or(|least| n.size >= least) && rule.max_size.is_none_or(|most| n.size <= most))
        }
        _ => Err(match unit {
            SizeUnit::Inch => said!("nominal size in inches"),
            SizeUnit::Dn => said!("nominal size as DN"),
        }),
    }
}
