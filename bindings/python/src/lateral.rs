//! A solved lateral, and what can be asked of it.

use std::{path::PathBuf, sync::Arc};

use fallwise::{
    Answers as Core, Job, Lateral as Solved, Pipe, Rulebook as Book,
    answers::{Carrying, FindingRow, InputRow, NextRow, pool_rows},
    model::Capacity,
    model::Place,
    profile::Draws as _,
    units::Language,
};
use fallwise_files::{
    FolderResolver,
    photo::{self, PhotoOptions},
};
use numpy::PyArray1;
use pyo3::{
    prelude::*,
    sync::PyOnceLock,
    types::{PyDict, PyList, PyTuple},
};
use serde::{Deserialize, Serialize};

use crate::{
    answers::{Answers, from_json, html, to_json, with_tables},
    arrays::{self, shaped},
    convert::{self, from_python, job_to_python, to_python},
    errors::Failure,
    estimate::Estimate,
    profile::Profile,
    rules::Rulebook,
    table::Table,
    work::{caught, interruptible, sized},
};

/// What a lateral was solved from beside its job.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Beside {
    pub(crate) book: Option<Book>,
    pub(crate) language: Option<Language>,
    pub(crate) inputs: Vec<InputRow>,
    /// What reading found odd.
    pub(crate) warnings: Vec<String>,
    /// Where the photos of the notes lie.
    pub(crate) folder: Option<PathBuf>,
}

impl Beside {
    /// Puts what reading found beside what solving found.
    pub(crate) fn tell(&self, answers: &mut Core) {
        answers.inputs.splice(0..0, self.inputs.iter().cloned());
        answers.warnings.splice(0..0, self.warnings.iter().cloned());
    }
}

/// How a lateral was made, so that it can be made again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) enum Made {
    /// From its job.
    Job,
    /// From segments that were given.
    Segments { breaks_m: Vec<f64>, tilt_rad: Vec<f64>, pipe: Pipe },
}

/// A solved lateral: what its job says, what was measured, and every figure with its standard deviation.
///
/// What `fallwise.solve` gives, and the method `solve` of jobs. Tables, sentences and pages are against the rulebook
/// of its job; they are computed when the first of them is asked for, and kept. Nothing in it changes. A pickle holds
/// the job, which is solved again when it is read.
#[pyclass(frozen, module = "fallwise")]
pub(crate) struct Lateral {
    pub(crate) core: Arc<Solved>,
    pub(crate) beside: Arc<Beside>,
    made: Made,
    answers: PyOnceLock<Py<Answers>>,
}

impl Lateral {
    pub(crate) fn new(core: Solved, beside: Beside, made: Made) -> Self {
        Self { core: Arc::new(core), beside: Arc::new(beside), made, answers: PyOnceLock::new() }
    }

    /// Issues what reading and solving found odd as Python warnings, once; `level` frames of Python up from here.
    pub(crate) fn warned(self, py: Python<'_>, level: i32) -> Result<Self, Failure> {
        let category = py.import("fallwise._errors")?.getattr("Warning")?;
        let solving = self.core.warnings().iter().map(ToString::to_string);
        for warning in self.beside.warnings.iter().cloned().chain(solving) {
            let text = std::ffi::CString::new(warning.replace('\0', " ")).unwrap_or_default();
            PyErr::warn(py, &category, &text, level)?;
        }
        Ok(self)
    }

    /// The answers against its own rulebook, computed at the first time.
    fn own_answers(&self, py: Python<'_>) -> Result<&Py<Answers>, Failure> {
        self.answers.get_or_try_init(py, || {
            let (core, beside) = (Arc::clone(&self.core), Arc::clone(&self.beside));
            let readings = core.job().runs.iter().map(|run| run.counter_m.len()).sum();
            let answers = sized(py, readings, move || answered(&core, &beside))?;
            Py::new(py, answers).map_err(Failure::Python)
        })
    }

    fn core_answers(&self, py: Python<'_>) -> Result<Arc<Core>, Failure> {
        Ok(Arc::clone(&self.own_answers(py)?.get().core))
    }

    /// What it carries of what is asked for; nothing where nothing is.
    fn carried(&self, py: Python<'_>, asked: Option<&Bound<'_, PyAny>>) -> Result<Option<Carrying>, Failure> {
        let Some(asked) = asked else { return Ok(None) };
        let asked: Capacity = from_python("capacity", asked)?;
        let core = Arc::clone(&self.core);
        interruptible(py, move || Ok::<_, Failure>(core.capacity(&asked)?)).map(Some)
    }

    /// The rulebook that is asked for, or its own.
    fn book(&self, asked: Option<&Bound<'_, PyAny>>) -> Result<Book, Failure> {
        match asked {
            Some(asked) => Rulebook::named(asked),
            None => self.beside.book.clone().ok_or_else(|| {
                fallwise::Error::value("rulebook", "none", "a rulebook, here or in the job: see fallwise.rulebooks()")
                    .into()
            }),
        }
    }
}

/// Answers with what reading the job found beside what solving it found.
fn answered(core: &Solved, beside: &Beside) -> Result<Answers, Failure> {
    let mut answers = core.answers(beside.book.as_ref())?;
    beside.tell(&mut answers);
    let photos = match &beside.folder {
        Some(folder) => photo::read_all(&mut answers, &FolderResolver::new(folder)?, PhotoOptions::default()),
        None => Vec::new(),
    };
    Ok(Answers { core: Arc::new(answers), photos: Arc::new(photos), language: Arc::new(beside.language.clone()) })
}

with_tables!(Lateral, core_answers, {
    /// A lateral whose segments are given and exact.
    ///
    /// Parameters
    /// ----------
    /// breaks_m : array_like
    ///     Stations of the ends of segments, m, growing; one more than segments.
    /// tilt_rad : array_like
    ///     Tilt of each, rad, positive down towards growing station.
    /// pipe : Pipe, optional
    ///     The pipe, all along.
    ///
    /// Returns
    /// -------
    /// Lateral
    ///     All standard deviations are 0.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Stations that do not grow, not one more of them than tilts, what is not finite; named by index.
    #[staticmethod]
    #[pyo3(signature = (*, breaks_m, tilt_rad, pipe = None))]
    fn from_segments(
        breaks_m: &Bound<'_, PyAny>,
        tilt_rad: &Bound<'_, PyAny>,
        pipe: Option<&Bound<'_, PyAny>>,
    ) -> Result<Self, Failure> {
        let breaks_m = arrays::row("breaks_m", breaks_m)?;
        let tilt_rad = arrays::row("tilt_rad", tilt_rad)?;
        let pipe = given_pipe(pipe)?.unwrap_or_default();
        let core = caught(|| Solved::from_segments(breaks_m.clone(), tilt_rad.clone(), pipe.clone()))?;
        Ok(Self::new(core, Beside::default(), Made::Segments { breaks_m, tilt_rad, pipe }))
    }

    /// A lateral whose inverts are given, with straight pipe between them.
    ///
    /// Parameters
    /// ----------
    /// station_m : array_like
    ///     Stations, m, growing.
    /// invert_m : array_like
    ///     Elevations of the invert there, m.
    /// sd_m : float, optional
    ///     Standard deviation of each elevation, m; absent: exact.
    /// pipe : Pipe, optional
    ///     The pipe, all along.
    ///
    /// Returns
    /// -------
    /// Lateral
    ///     Between inverts far apart nothing is decided: the shape there was not seen.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Stations that do not grow, arrays of two lengths, what is not finite; named by index.
    #[staticmethod]
    #[pyo3(signature = (station_m, invert_m, *, sd_m = None, pipe = None))]
    fn from_inverts(
        station_m: &Bound<'_, PyAny>,
        invert_m: &Bound<'_, PyAny>,
        sd_m: Option<f64>,
        pipe: Option<&Bound<'_, PyAny>>,
    ) -> Result<Self, Failure> {
        let stations = arrays::row("station_m", station_m)?;
        let inverts = arrays::row("invert_m", invert_m)?;
        let pipe = given_pipe(pipe)?.unwrap_or_default();
        let core = caught(|| Solved::from_inverts(&stations, &inverts, sd_m, pipe))?;
        Ok(Self::new(core, Beside::default(), Made::Job))
    }

    /// Everything it has to say, against the rulebook of its job; computed at the first time, and kept.
    #[getter]
    fn answers(&self, py: Python<'_>) -> Result<Py<Answers>, Failure> {
        Ok(self.own_answers(py)?.clone_ref(py))
    }

    /// The job it was solved from.
    #[getter]
    fn job<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyAny>, Failure> {
        job_to_python(py, self.core.job())
    }

    /// Its rulebook, if it has one.
    #[getter]
    fn rulebook(&self) -> Option<Rulebook> {
        self.beside.book.clone().map(Rulebook)
    }

    /// Heights of the best estimate.
    #[getter]
    fn profile(&self) -> Profile {
        Profile(Arc::new(self.core.profile().clone()))
    }

    /// Stretches between readings too far apart, m: of what lies in them nothing is known but their ends.
    #[getter]
    fn unseen_m(&self) -> Vec<(f64, f64)> {
        self.core.unseen_m().to_vec()
    }

    /// Slope along the flow between two stations, drops cut out.
    ///
    /// Parameters
    /// ----------
    /// from_m, to_m : float
    ///     The two stations, m, in any order.
    ///
    /// Returns
    /// -------
    /// Estimate or None
    ///     Fall over horizontal length, positive where it falls with the flow, whichever station comes first;
    ///     `None` where there are only
    ///     drops, or no survey.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A station that is not finite.
    fn slope_between(&self, from_m: f64, to_m: f64) -> Result<Option<Estimate>, Failure> {
        fallwise::error::require_finite("from_m", &[from_m])?;
        fallwise::error::require_finite("to_m", &[to_m])?;
        Ok(self.core.slope_between(from_m, to_m).map(Estimate))
    }

    /// Fall along the flow between two stations, drops and steps in it.
    ///
    /// Parameters
    /// ----------
    /// from_m, to_m : float
    ///     The two stations, m.
    ///
    /// Returns
    /// -------
    /// Estimate or None
    ///     Fall, m: positive where the pipe falls with the flow, of the other sign where `from_m` is the greater;
    ///     `None` where either
    ///     was not surveyed.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A station that is not finite.
    fn fall_between(&self, from_m: f64, to_m: f64) -> Result<Option<Estimate>, Failure> {
        fallwise::error::require_finite("from_m", &[from_m])?;
        fallwise::error::require_finite("to_m", &[to_m])?;
        Ok(self.core.fall_between(from_m, to_m).map(Estimate))
    }

    /// What the path is at stations.
    ///
    /// Parameters
    /// ----------
    /// station_m : float or array_like
    ///     Stations, m, in any order.
    ///
    /// Returns
    /// -------
    /// Table
    ///     One row for each, with the columns of the table `path`.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A station that is not finite, or was not surveyed.
    fn at(&self, station_m: &Bound<'_, PyAny>) -> Result<Table, Failure> {
        let stations = arrays::numbers("station_m", station_m)?.values;
        fallwise::error::require_finite("station_m", &stations)?;
        let (from_m, to_m) = self.core.surveyed_m();
        let rows = self.core.at(&stations).into_iter().zip(&stations).map(|(row, &station_m)| {
            row.ok_or_else(|| fallwise::Error::Outside { what: "station_m".to_owned(), station_m, from_m, to_m })
        });
        Table::of("at", &rows.collect::<Result<Vec<_>, _>>()?)
    }

    /// Places on the surface: where stations lie, how deep, how they are taped out from the job's landmarks, whether anybody may dig
    /// by it.
    ///
    /// Parameters
    /// ----------
    /// station_m : float or array_like
    ///     Stations, m, in any order.
    /// station_sd_m : float
    ///     How well what is looked for belongs to the station, m; it goes into every figure.
    ///
    /// Returns
    /// -------
    /// Table
    ///     One row for each, with the columns of the table `digs`.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A number that cannot be, or a station that was not surveyed.
    #[pyo3(signature = (station_m, *, station_sd_m = Place::SD_M))]
    fn locate(&self, station_m: &Bound<'_, PyAny>, station_sd_m: f64) -> Result<Table, Failure> {
        let stations = arrays::numbers("station_m", station_m)?.values;
        let rows = stations.iter().map(|&s| self.core.locate(s, station_sd_m));
        Table::of("locate", &rows.collect::<Result<Vec<_>, _>>()?)
    }

    /// Distances of a station from each of the job's landmarks.
    ///
    /// Parameters
    /// ----------
    /// station_m : float
    ///     The station, m.
    /// station_sd_m : float
    ///     As in `locate`.
    ///
    /// Returns
    /// -------
    /// Table
    ///     One row a landmark, with the columns of the table `tapes`; none where the plan is not determined.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     As in `locate`.
    #[pyo3(signature = (station_m, *, station_sd_m = Place::SD_M))]
    fn distances(&self, station_m: f64, station_sd_m: f64) -> Result<Table, Failure> {
        Table::of("distances", &self.core.tapes(station_m, station_sd_m)?)
    }

    /// The place of the pipe that is nearest to a point on the surface.
    ///
    /// Parameters
    /// ----------
    /// east_m, north_m : float
    ///     The point, m, in the job's local axes.
    ///
    /// Returns
    /// -------
    /// Table
    ///     One row; several where the point lies equally far from them, none where the plan is not determined.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A coordinate that is not finite.
    fn nearest(&self, east_m: f64, north_m: f64) -> Result<Table, Failure> {
        Table::of("nearest", &self.core.nearest(east_m, north_m)?)
    }

    /// Bellies, found or possible.
    ///
    /// Parameters
    /// ----------
    /// tailwater_m : float, optional
    ///     Standing water above the invert of the outlet, m; absent: what the job says.
    ///
    /// Returns
    /// -------
    /// Table
    ///     One row a belly, with probability, depth and volume. It *can* hold that water; whether it does is for
    ///     the camera.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A tailwater that is not finite.
    #[pyo3(signature = (*, tailwater_m = None))]
    fn pools(&self, py: Python<'_>, tailwater_m: Option<f64>) -> Result<Table, Failure> {
        let words = self.core.job().report.words;
        let rows = match tailwater_m {
            None => self.core_answers(py)?.pools.clone(),
            Some(m) => {
                fallwise::error::require_finite("tailwater_m", &[m])?;
                let core = Arc::clone(&self.core);
                interruptible(py, move || Ok::<_, Failure>(pool_rows(&core.pools_with(Some(m)), words)))?
            }
        };
        Table::of("pools", &rows)
    }

    /// What each surveyed reach carries in uniform flow, and whether that is enough, with the bellies that stand in it.
    ///
    /// Parameters
    /// ----------
    /// asked : Capacity, optional
    ///     What it has to carry; absent: what the job says.
    ///
    /// Returns
    /// -------
    /// Table
    ///     One row a reach; none where neither asks.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A number that no drain has, or a flow given twice.
    #[pyo3(signature = (asked = None))]
    fn capacity(&self, py: Python<'_>, asked: Option<&Bound<'_, PyAny>>) -> Result<Table, Failure> {
        match self.carried(py, asked)? {
            None => Table::of("capacity", &self.core_answers(py)?.capacity),
            Some(carried) => Table::of("capacity", &carried.reaches),
        }
    }

    /// What it would take to carry the flow, and what is there: facts in a fixed order, no ranking.
    ///
    /// Parameters
    /// ----------
    /// asked : Capacity, optional
    ///     What it has to carry; absent: what the job says.
    ///
    /// Returns
    /// -------
    /// Table
    ///     Some rows a reach; none where neither asks, or no flow is given.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A number that no drain has, or a flow given twice.
    #[pyo3(signature = (asked = None))]
    fn needed(&self, py: Python<'_>, asked: Option<&Bound<'_, PyAny>>) -> Result<Table, Failure> {
        match self.carried(py, asked)? {
            None => Table::of("needed", &self.core_answers(py)?.needed),
            Some(carried) => Table::of("needed", &carried.needed),
        }
    }

    /// Findings against a rulebook.
    ///
    /// Parameters
    /// ----------
    /// rulebook : Rulebook or str, optional
    ///     A rulebook, or the name of a shipped one; absent: that of the job.
    ///
    /// Returns
    /// -------
    /// Check
    ///     The lateral's own finding, and those of its parts.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     None is given, and the job has none.
    /// UnknownWordError
    ///     No shipped rulebook has the name.
    #[pyo3(signature = (rulebook = None))]
    fn check(&self, py: Python<'_>, rulebook: Option<&Bound<'_, PyAny>>) -> Result<Check, Failure> {
        let book = self.book(rulebook)?;
        let core = Arc::clone(&self.core);
        let check = interruptible(py, move || core.check(&book))?;
        let rows: Vec<FindingRow> = check.findings().map(FindingRow::from).collect();
        Ok(Check {
            sentence: check.lateral.sentence.to_string(),
            finding: check.lateral.verdict.word().to_owned(),
            undecided: check.undecided(),
            findings: Table::of("findings", &rows)?,
            notes: check.notes.iter().map(ToString::to_string).collect(),
            warnings: check.warnings.iter().map(ToString::to_string).collect(),
        })
    }

    /// The measurements that would decide what is undecided, best first.
    ///
    /// Parameters
    /// ----------
    /// rulebook : Rulebook or str, optional
    ///     A rulebook, or the name of a shipped one; absent: that of the job.
    ///
    /// Returns
    /// -------
    /// Table
    ///     One row a measurement; none where nothing is undecided, or nothing would help.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     None is given, and the job has none.
    #[pyo3(signature = (rulebook = None))]
    fn what_next(&self, py: Python<'_>, rulebook: Option<&Bound<'_, PyAny>>) -> Result<Table, Failure> {
        let book = self.book(rulebook)?;
        let core = Arc::clone(&self.core);
        let rows = interruptible(py, move || {
            Ok::<_, Failure>(core.what_next(&book).into_iter().map(NextRow::from).collect::<Vec<_>>())
        })?;
        Table::of("next", &rows)
    }

    /// Equally likely profiles, one row a draw. Lips at joints that nobody noted are not in them.
    ///
    /// Parameters
    /// ----------
    /// count : int, optional
    ///     How many; absent: as many as the job asks for.
    /// seed : int, optional
    ///     Seed; absent: that of the job. The same seed gives the same draws on any machine.
    ///
    /// Returns
    /// -------
    /// Draws
    ///     Stations of the nodes, and heights, tilts and scale of each draw.
    #[pyo3(signature = (count = None, *, seed = None))]
    fn draws<'py>(
        &self,
        py: Python<'py>,
        count: Option<usize>,
        seed: Option<u64>,
    ) -> Result<Bound<'py, PyAny>, Failure> {
        let core = Arc::clone(&self.core);
        let report = &core.job().report;
        let (count, seed) = (count.unwrap_or(report.draws), seed.unwrap_or(report.seed));
        let (stations, nodes) = (core.profile().station_m.clone(), core.profile().station_m.len());
        let (heights, tilts, scales) = interruptible(py, move || {
            let (mut heights, mut tilts, mut scales) = (Vec::new(), Vec::new(), Vec::new());
            core.draws(count, seed).for_each(&mut |profile| {
                heights.extend_from_slice(&profile.height_m);
                tilts.extend_from_slice(&profile.tilt_rad);
                scales.push(profile.scale);
            });
            Ok::<_, Failure>((heights, tilts, scales))
        })?;
        let dict = PyDict::new(py);
        dict.set_item("station_m", PyArray1::from_vec(py, stations))?;
        dict.set_item("height_m", shaped(py, heights, &[count, nodes])?)?;
        dict.set_item("tilt_rad", shaped(py, tilts, &[count, nodes.saturating_sub(1)])?)?;
        dict.set_item("scale", PyArray1::from_vec(py, scales))?;
        Ok(py.import("fallwise._model")?.getattr("Draws")?.call((), Some(&dict))?)
    }

    /// Covariance of the heights at stations.
    ///
    /// Parameters
    /// ----------
    /// station_m : array_like, optional
    ///     Stations, m; absent: the breaks of the segments.
    ///
    /// Returns
    /// -------
    /// ndarray of shape (stations, stations)
    ///     Covariances of heights above the lowest station, m2. With weights `w`, `w @ C @ w` is the variance of `w
    ///     @ heights`.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A station that is not finite, or was not surveyed.
    #[pyo3(signature = (station_m = None))]
    fn covariance(&self, py: Python<'_>, station_m: Option<&Bound<'_, PyAny>>) -> Result<Py<PyAny>, Failure> {
        let stations = match station_m {
            Some(given) => arrays::finite_row("station_m", given)?,
            None => self.core.chain().breaks_m.clone(),
        };
        let (from_m, to_m) = self.core.surveyed_m();
        if let Some(&station_m) = stations.iter().find(|s| self.core.fall_between(**s, **s).is_none()) {
            return Err(fallwise::Error::Outside { what: "station_m".to_owned(), station_m, from_m, to_m }.into());
        }
        let n = stations.len();
        let mut matrix = vec![f64::NAN; n * n];
        for c in self.core.height_covariance(&stations) {
            for at in [c.first * n + c.second, c.second * n + c.first] {
                if let Some(place) = matrix.get_mut(at) {
                    *place = c.covariance_m2;
                }
            }
        }
        shaped(py, matrix, &[n, n])
    }

    /// What to re-lay at least cost under the costs given, or why there is no such plan.
    ///
    /// Parameters
    /// ----------
    /// choice : RelayChoice, optional
    ///     Limits, costs and how the trench is dug; absent: what the job says.
    /// rulebook : Rulebook or str, optional
    ///     What asks for a slope, as of new work, where the choice gives none; absent: the one of the job.
    ///
    /// Returns
    /// -------
    /// RelayAnswer
    ///     The plan with its trenches, quantities and probabilities; or the proof that there is none.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Neither a choice nor one in the job; a number that cannot be.
    #[pyo3(signature = (choice = None, *, rulebook = None))]
    fn relay(
        &self,
        choice: Option<&Bound<'_, PyAny>>,
        rulebook: Option<&Bound<'_, PyAny>>,
    ) -> Result<crate::relay::RelayAnswer, Failure> {
        let choice = match choice {
            Some(choice) => from_python("choice", choice)?,
            None => self.core.job().relay.clone().ok_or_else(|| {
                fallwise::Error::value("choice", "None", "a RelayChoice, or a job that has one under relay")
            })?,
        };
        let book = match rulebook {
            Some(asked) => Some(Rulebook::named(asked)?),
            None => self.beside.book.clone(),
        };
        let answer = caught(|| self.core.relay(&choice, book.as_ref()))?;
        Ok(crate::relay::RelayAnswer(Arc::new(answer)))
    }

    /// A summary in plain text.
    fn summary(&self, py: Python<'_>) -> Result<String, Failure> {
        Ok(self.own_answers(py)?.get().report(|report| report.summary()))
    }

    /// The profile as an SVG picture.
    fn profile_svg(&self, py: Python<'_>) -> Result<String, Failure> {
        Ok(self.own_answers(py)?.get().report(|report| report.profile_svg()))
    }

    /// The plan as an SVG picture, or `None` where it is not determined.
    fn plan_svg(&self, py: Python<'_>) -> Result<Option<String>, Failure> {
        Ok(self.own_answers(py)?.get().report(|report| report.plan_svg()))
    }

    /// Writes result, tables, drawings and pages into a folder, and returns their paths.
    ///
    /// Nothing is written where one of the files is there already, unless told.
    ///
    /// Parameters
    /// ----------
    /// path : path-like
    ///     The folder; it is made if need be.
    /// overwrite : bool
    ///     Write over what is there.
    ///
    /// Returns
    /// -------
    /// list of Path
    ///     What was written.
    ///
    /// Raises
    /// ------
    /// FileThereError
    ///     A file of that name is there.
    /// FileError
    ///     It cannot be written.
    #[pyo3(signature = (path, *, overwrite = false))]
    fn write_report(&self, py: Python<'_>, path: PathBuf, overwrite: bool) -> Result<Vec<PathBuf>, Failure> {
        self.own_answers(py)?.get().write(py, path, overwrite)
    }

    fn __repr__(&self, py: Python<'_>) -> Result<String, Failure> {
        let answers = self.core_answers(py)?;
        let length = answers.job.report.words.length(answers.to_m - answers.from_m);
        Ok(format!("{}\n<fallwise.Lateral: {length} of pipe>", answers.sentence))
    }

    fn _repr_html_(&self, py: Python<'_>) -> Result<String, Failure> {
        let answers = self.own_answers(py)?.get();
        Ok(html(&answers.core.sentence, &answers.report(|report| report.profile_svg())))
    }

    fn __eq__(&self, other: &Bound<'_, PyAny>) -> bool {
        other.cast::<Self>().is_ok_and(|other| {
            let other = other.get();
            self.made == other.made && self.beside == other.beside && self.core == other.core
        })
    }

    fn __copy__(slf: Py<Self>) -> Py<Self> {
        slf
    }

    fn __deepcopy__(slf: Py<Self>, memo: &Bound<'_, PyAny>) -> Py<Self> {
        let _ = memo; // nothing in it changes
        slf
    }

    /// The job is pickled, and solved again when it is read: the same bits on any machine.
    fn __reduce__<'py>(&self, py: Python<'py>) -> Result<(Bound<'py, PyAny>, Bound<'py, PyTuple>), Failure> {
        let state = (to_json(&self.made)?, to_json(self.core.job())?, to_json(&*self.beside)?).into_pyobject(py)?;
        Ok((py.import("fallwise._core")?.getattr("_lateral")?, state))
    }
});

/// A lateral as it was pickled.
#[pyfunction]
#[pyo3(name = "_lateral")]
pub(crate) fn unpickled(py: Python<'_>, made: &str, job: &str, beside: &str) -> Result<Lateral, Failure> {
    let (made, job, beside): (Made, Job, Beside) = (from_json(made)?, from_json(job)?, from_json(beside)?);
    let again = made.clone();
    let core = interruptible(py, move || match again {
        Made::Job => Solved::solve(job),
        Made::Segments { breaks_m, tilt_rad, pipe } => Solved::from_segments(breaks_m, tilt_rad, pipe),
    })?;
    Ok(Lateral::new(core, beside, made))
}

/// Solves a job that was put together in Python.
#[pyfunction]
#[pyo3(name = "_solve")]
pub(crate) fn solve(
    py: Python<'_>,
    job: &Bound<'_, PyAny>,
    arrays: &Bound<'_, PyList>,
    pipe: Option<&Bound<'_, PyAny>>,
    rulebook: Option<&Bound<'_, PyAny>>,
) -> Result<Lateral, Failure> {
    let mut job = convert::job(job, arrays)?;
    let pipe = given_pipe(pipe)?;
    let book = match (rulebook, &job.rules.rulebook) {
        (Some(asked), _) => Some(Rulebook::named(asked)?),
        (None, Some(name)) if !name.is_empty() => Some(Book::shipped(name)?),
        _ => None,
    };
    // A shipped one asked for by its name is part of the job, as if the job had named it.
    if let Some(name) = rulebook.and_then(|asked| asked.extract::<String>().ok()) {
        job.rules.rulebook = Some(name);
    }
    let core = interruptible(py, move || {
        Solved::solve(match pipe {
            Some(pipe) => Solved::in_one_pipe(job, pipe)?,
            None => job,
        })
    })?;
    // The caller of the Python function that called this.
    Lateral::new(core, Beside { book, ..Beside::default() }, Made::Job).warned(py, 2)
}

fn given_pipe(pipe: Option<&Bound<'_, PyAny>>) -> Result<Option<Pipe>, Failure> {
    pipe.map(|pipe| from_python("pipe", pipe)).transpose()
}

/// The job without people and site, as its dict.
#[pyfunction]
#[pyo3(name = "_redacted")]
pub(crate) fn redacted<'py>(
    py: Python<'py>,
    job: &Bound<'py, PyAny>,
    arrays: &Bound<'py, PyList>,
) -> Result<Bound<'py, PyAny>, Failure> {
    job_to_python(py, &convert::job(job, arrays)?.redacted())
}

/// The job in its text form, and the logs it names.
#[pyfunction]
#[pyo3(name = "_to_text")]
pub(crate) fn to_text<'py>(
    py: Python<'py>,
    job: &Bound<'py, PyAny>,
    arrays: &Bound<'py, PyList>,
    toml: bool,
) -> Result<(String, Bound<'py, PyDict>), Failure> {
    let job = convert::job(job, arrays)?;
    let written = if toml { fallwise_files::job::to_toml(&job)? } else { fallwise_files::job::to_json(&job)? };
    let logs = PyDict::new(py);
    for (name, log) in &written.logs.0 {
        logs.set_item(name, pyo3::types::PyBytes::new(py, log))?;
    }
    Ok((written.text, logs))
}

/// Findings against a rulebook.
#[pyclass(frozen, module = "fallwise", eq, get_all)]
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Check {
    /// The lateral's own finding, in one sentence.
    sentence: String,
    /// The lateral's own finding: `meets`, `fails` or `undecided`.
    finding: String,
    /// How many of its parts are undecided for want of a measurement.
    undecided: usize,
    /// All findings, the lateral's own first.
    findings: Table,
    /// What a reader must know beside them.
    notes: Vec<String>,
    /// Odd but usable input.
    warnings: Vec<String>,
}

#[pymethods]
impl Check {
    #[new]
    #[pyo3(signature = (*, sentence, finding, undecided, findings, notes, warnings))]
    fn new(
        sentence: String,
        finding: String,
        undecided: usize,
        findings: PyRef<'_, Table>,
        notes: Vec<String>,
        warnings: Vec<String>,
    ) -> Self {
        Self { sentence, finding, undecided, findings: findings.clone(), notes, warnings }
    }

    fn __repr__(&self) -> String {
        format!("{}\n<fallwise.Check: {}, {} undecided>", self.sentence, self.finding, self.undecided)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Result<(Bound<'py, PyAny>, Bound<'py, PyTuple>), Failure> {
        let state = (&self.sentence, &self.finding, self.undecided, self.findings.clone(), &self.notes, &self.warnings);
        Ok((py.import("fallwise._core")?.getattr("_check")?, state.into_pyobject(py)?))
    }
}

/// A check as it was pickled.
#[pyfunction]
#[pyo3(name = "_check")]
pub(crate) fn unpickled_check(
    sentence: String,
    finding: String,
    undecided: usize,
    findings: PyRef<'_, Table>,
    notes: Vec<String>,
    warnings: Vec<String>,
) -> Check {
    Check::new(sentence, finding, undecided, findings, notes, warnings)
}

/// The default of every struct that has one, as dicts: what the core takes where nothing is said.
#[pyfunction]
#[pyo3(name = "_defaults")]
pub(crate) fn defaults(py: Python<'_>) -> Result<Bound<'_, PyAny>, Failure> {
    use fallwise::{
        model::{Bend, Dig, DigOptions, Instrument, Landmark, Place, RelayChoice, ReportChoice},
        simulate::{Flaws, Head, Roll},
    };
    let dict = PyDict::new(py);
    dict.set_item("Instrument", to_python(py, &Instrument::default())?)?;
    dict.set_item("Exact", to_python(py, &Instrument::exact())?)?;
    dict.set_item("Bend", to_python(py, &Bend::new(0.0, 0.0))?)?;
    let step: fallwise::model::Step = from_json(r#"{"station_m": 0.0, "rise_m": 0.0}"#)?;
    dict.set_item("Step", to_python(py, &step)?)?;
    dict.set_item("Dig", to_python(py, &Dig::new(0.0))?)?;
    dict.set_item("DigOptions", to_python(py, &DigOptions::default())?)?;
    dict.set_item("Landmark", to_python(py, &Landmark::new("", 0.0, 0.0))?)?;
    dict.set_item("Report", to_python(py, &ReportChoice::default())?)?;
    dict.set_item("Relay", to_python(py, &RelayChoice::default())?)?;
    dict.set_item("Place", to_python(py, &Place::new(0.0))?)?;
    dict.set_item("above_m", fallwise::model::TRANSMITTER_ABOVE_M)?;
    dict.set_item("Head", to_python(py, &Head::default())?)?;
    dict.set_item("Roll", to_python(py, &Roll::default())?)?;
    dict.set_item("Flaws", to_python(py, &Flaws::default())?)?;
    Ok(dict.into_any())
}
