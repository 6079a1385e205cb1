//! While the cable is still in the pipe: readings one by one, and what they say so far.
//!
//! Each reading is kept as it came, so that [`Live::finish`] solves exactly what a log of them would have held. Beside that the readings of new ground
//! (those of the way in, each farther than all before) go into cells of equal length; when there are too many cells, each two are made one of
//! twice the length. [`Live::provisional`] solves the means of the cells by the same way as everything else, so that it takes no longer after an
//! hour than after a minute, and its errors are those of the posterior. Spikes, slips and pull-backs are left to the end.

use super::{Lateral, check};
use crate::prelude::*;
use crate::{
    error::Error,
    model::{Job, Run},
    said,
    units::{Part, Said},
};

/// How readings are taken while the cable is in the pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LiveOptions {
    /// The last piece before the head is left out of what is provisional, m: what the head rests on there is not settled. Default 1 m, our choice.
    pub lag_m: f64,
    /// Length of a cell to begin with, m. Default 50 mm.
    pub cell_m: f64,
    /// Most cells, an even number from 16 on. Default 512.
    pub most_cells: usize,
    /// Most readings that are kept. Default one million, which take 40 MB.
    pub most_readings: usize,
    /// Draws for what is provisional, at most those of the job; 0: none. Default 0.
    pub draws: usize,
}

impl Default for LiveOptions {
    fn default() -> Self {
        Self { lag_m: 1.0, cell_m: 0.05, most_cells: 512, most_readings: 1_000_000, draws: 0 }
    }
}

impl LiveOptions {
    fn validate(&self) -> Result<(), Error> {
        if !(0.0..=100.0).contains(&self.lag_m) {
            return Err(Error::value("lag_m", self.lag_m, "a length from 0 to 100 m"));
        }
        if !(0.001..=10.0).contains(&self.cell_m) {
            return Err(Error::value("cell_m", self.cell_m, "a length from 0.001 to 10 m"));
        }
        if !(16..=100_000).contains(&self.most_cells) || !self.most_cells.is_multiple_of(2) {
            return Err(Error::value("most_cells", self.most_cells, "an even number from 16 to 100,000"));
        }
        Ok(())
    }
}

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LiveReading {
    /// Cable out, m, as the counter shows it.
    pub counter_m: f64,
    /// What the head reports, rad, sign as it comes.
    pub reading_rad: f64,
    /// Time, s: with every reading or with none.
    pub time_s: Option<f64>,
    /// Whether the head moves: with every reading or with none.
    pub moving: Option<bool>,
    /// Roll of the head about the pipe's axis, rad: with every reading or with none.
    pub roll_rad: Option<f64>,
}

/// Sums of the readings in a cell.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Cell {
    count: f64,
    /// Of counter less the counter of the first reading.
    along_m: f64,
    reading_rad: f64,
}

/// A run that is being made.
///
/// # Example
/// ```
/// use fallwise::{Instrument, Job, lateral::{Live, LiveOptions, LiveReading}, units::deg};
///
/// let instrument = Instrument { zero_sd_rad: deg(0.3), ..Instrument::default() };
/// let mut live = Live::new(Job { instrument, ..Job::default() }, LiveOptions::default())?;
/// for i in 0..200 {
///     let counter_m = 0.05 * f64::from(i);
///     live.push(LiveReading { counter_m, reading_rad: deg(1.2 + 0.1 * f64::from(i % 3)), ..LiveReading::default() })?;
/// }
/// let so_far = live.provisional()?.ok_or("too few readings")?;
/// assert!((so_far.settled_to_m - 8.95).abs() < 1e-12);
/// assert!(so_far.sentence(None)?.to_string().starts_with("Provisional, up to chainage 8.95 m"));
/// let lateral = live.finish()?; // what a log of the same readings gives, to the bit
/// assert!(lateral.surveyed_m().1 > 9.9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Live {
    job: Job,
    run: Run,
    options: LiveOptions,
    cells: Vec<Cell>,
    cell_m: f64,
    first_m: f64,
    /// The farthest counter so far.
    farthest_m: f64,
}

/// What readings say so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Provisional {
    /// The lateral up to there, solved like any other.
    pub lateral: Lateral,
    /// Up to where, by the counter and in the lateral's stationing, m: the lag behind the farthest that the head came.
    pub settled_to_m: f64,
    /// The lag, m.
    pub lag_m: f64,
}

impl Provisional {
    /// The sentence that matters, and how far it reaches.
    ///
    /// # Errors
    /// As [`Lateral::answers`].
    pub fn sentence(&self, book: Option<&crate::Rulebook>) -> Result<Said, Error> {
        let (words, sentence) = (self.lateral.job.report.words, self.lateral.first_sentence(book)?);
        Ok(said!(
            words,
            "Provisional, up to {place}, {lag} behind the head: {sentence}",
            place = Part::At(self.settled_to_m),
            lag = Part::Length(self.lag_m),
            sentence = sentence
        ))
    }
}

impl Live {
    /// A run to come. The job has one run without readings, which says how the counter counts and where it starts, or none: then readings are
    /// positive downwards from station 0 on.
    ///
    /// # Errors
    /// [`Error::Value`] for options out of range, or a job with readings, more than one run, or as-built inverts; and whatever in the job cannot be used.
    pub fn new(mut job: Job, options: LiveOptions) -> Result<Self, Error> {
        options.validate()?;
        if job.runs.len() > 1 {
            return Err(Error::value("run", job.runs.len(), "one run: others are put into the job of the log"));
        }
        let run = job.runs.pop().unwrap_or_else(|| Run::new(Vec::new(), Vec::new()));
        let given = run.counter_m.len() + run.reading_rad.len();
        if given > 0 || run.by_hand {
            return Err(Error::value("run[0]", "readings", "a run without readings, which are pushed one by one"));
        }
        if !job.as_built.is_empty() {
            return Err(Error::value(
                "as_built",
                job.as_built.len(),
                "no as-built inverts beside a run that is being made",
            ));
        }
        check::job(&Job { runs: vec![run.clone()], ..job.clone() })?;
        let cell_m = options.cell_m;
        Ok(Self { job, run, options, cells: Vec::new(), cell_m, first_m: f64::NAN, farthest_m: f64::NEG_INFINITY })
    }

    /// Readings so far.
    pub fn len(&self) -> usize {
        self.run.counter_m.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.run.counter_m.is_empty()
    }

    /// Takes a reading, in constant time over many of them.
    ///
    /// # Errors
    /// [`Error::Value`] with the number of the reading: for a value that is not finite, one that is there now and was not before or the other way round,
    /// and more readings than the options allow. Nothing is kept of a reading that is refused.
    pub fn push(&mut self, reading: LiveReading) -> Result<(), Error> {
        let index = self.len();
        if index >= self.options.most_readings {
            return Err(Error::at(
                "reading",
                index,
                "one too many",
                format!("at most {} readings", self.options.most_readings),
            ));
        }
        let numbers = [
            ("counter_m", Some(reading.counter_m)),
            ("reading_rad", Some(reading.reading_rad)),
            ("time_s", reading.time_s),
            ("roll_rad", reading.roll_rad),
        ];
        for (field, value) in numbers {
            if let Some(value) = value.filter(|v| !v.is_finite()) {
                return Err(Error::at(field, index, value, "a finite number"));
            }
        }
        if reading.counter_m.abs() > FAR_M {
            return Err(Error::at("counter_m", index, reading.counter_m, "a counter within a million metres"));
        }
        fits("time_s", index, self.run.time_s.as_ref(), reading.time_s)?;
        fits("moving", index, self.run.moving.as_ref(), reading.moving)?;
        fits("roll_rad", index, self.run.roll_rad.as_ref(), reading.roll_rad)?;
        put(&mut self.run.time_s, reading.time_s);
        put(&mut self.run.moving, reading.moving);
        put(&mut self.run.roll_rad, reading.roll_rad);
        self.run.counter_m.push(reading.counter_m);
        self.run.reading_rad.push(reading.reading_rad);
        if index == 0 {
            self.first_m = reading.counter_m;
        }
        if reading.counter_m >= self.farthest_m {
            self.farthest_m = reading.counter_m;
            self.add(reading);
        }
        Ok(())
    }

    /// Puts a reading of new ground into its cell.
    fn add(&mut self, reading: LiveReading) {
        let along_m = reading.counter_m - self.first_m;
        while along_m >= self.cell_m * self.options.most_cells as f64 {
            let both = |pair: &[Cell]| {
                pair.iter().fold(Cell::default(), |sum, cell| Cell {
                    count: sum.count + cell.count,
                    along_m: sum.along_m + cell.along_m,
                    reading_rad: sum.reading_rad + cell.reading_rad,
                })
            };
            self.cells = self.cells.chunks(2).map(both).collect();
            self.cell_m *= 2.0;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to below the most cells")]
        let place = (along_m / self.cell_m) as usize;
        if place >= self.cells.len() {
            self.cells.resize(place + 1, Cell::default());
        }
        if let Some(cell) = self.cells.get_mut(place) {
            cell.count += 1.0;
            cell.along_m += along_m;
            cell.reading_rad += reading.reading_rad;
        }
    }

    /// What the readings say so far, up to a lag behind the head; nothing while they are too few. What the job says beyond that is left out, and digs, a
    /// plan of re-laying and what the pipe carries are for the end.
    ///
    /// # Errors
    /// As [`Lateral::solve`].
    pub fn provisional(&self) -> Result<Option<Provisional>, Error> {
        let settled_m = self.farthest_m - self.first_m - self.options.lag_m;
        let whole =
            |(i, cell): &(usize, &Cell)| cell.count > 0.0 && (*i as f64 + 1.0) * self.cell_m <= settled_m + 1e-9;
        let mut run = Run { counter_m: Vec::new(), reading_rad: Vec::new(), ..self.run.clone() };
        (run.time_s, run.moving, run.roll_rad, run.temperature_c, run.source_row) = (None, None, None, None, None);
        for (_, cell) in self.cells.iter().enumerate().filter(whole) {
            run.counter_m.push(self.first_m + cell.along_m / cell.count);
            run.reading_rad.push(cell.reading_rad / cell.count);
        }
        if run.counter_m.len() < 3 {
            return Ok(None);
        }
        let ends = [run.counter_m.first(), run.counter_m.last()].map(|m| run.station_m(m.copied().unwrap_or(f64::NAN)));
        let settled_to_m = run.station_m(self.first_m + settled_m);
        let (low_m, high_m) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let mut job = self.up_to(low_m, high_m);
        job.report.draws = job.report.draws.min(self.options.draws);
        job.runs = vec![run];
        Ok(Some(Provisional { lateral: Lateral::solve(job)?, settled_to_m, lag_m: self.options.lag_m }))
    }

    /// The job without what it says of pipe that was not reached.
    fn up_to(&self, low_m: f64, high_m: f64) -> Job {
        let inside = |m: f64| m >= low_m && m <= high_m;
        let mut job = Job { digs: Vec::new(), relay: None, capacity: None, ..self.job.clone() };
        job.reaches.retain(|r| r.from_m < high_m && r.to_m > low_m);
        job.ties.retain(|tie| {
            let (from_m, to_m) = tie.stations_m();
            from_m.is_none_or(inside) && to_m.is_none_or(inside)
        });
        job.bends.retain(|b| inside(b.station_m));
        job.steps.retain(|s| inside(s.station_m));
        job.features.retain(|f| inside(f.station_m) && f.to_m.is_none_or(inside));
        job.notes.retain(|n| n.station_m.is_none_or(inside));
        job
    }

    /// The lateral of all readings: what [`Lateral::solve`] gives for the same readings in the job's run, to the bit.
    ///
    /// # Errors
    /// As [`Lateral::solve`].
    pub fn finish(self) -> Result<Lateral, Error> {
        Lateral::solve(self.into_job())
    }

    /// The job with its run, for whoever solves it another way or keeps it.
    pub fn into_job(self) -> Job {
        Job { runs: vec![self.run], ..self.job }
    }
}

/// Beyond this no counter is a drain's, m.
const FAR_M: f64 = 1e6;

/// Whether an optional column has a value where it had one before.
fn fits<T: Copy>(field: &str, index: usize, column: Option<&Vec<T>>, value: Option<T>) -> Result<(), Error> {
    if index == 0 || column.is_some() == value.is_some() {
        return Ok(());
    }
    let given = if value.is_some() { "given" } else { "not given" };
    Err(Error::at(field, index, given, "with every reading or with none"))
}

fn put<T>(column: &mut Option<Vec<T>>, value: Option<T>) {
    if let Some(value) = value {
        column.get_or_insert_default().push(value);
    }
}

#[cfg(test)]
#[path = "live_tests.rs"]
mod tests;
