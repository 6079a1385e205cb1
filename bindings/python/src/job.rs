//! Jobs and logs that were read from files.

use std::{path::PathBuf, sync::Arc};

use fallwise::model::Run;
use fallwise_files::{Loaded as Core, LogFormat, MemoryResolver, job, log};
use pyo3::{
    prelude::*,
    types::{PyBytes, PyDict},
};

use crate::{
    convert::{from_python, job_to_python, to_python},
    errors::Failure,
    lateral::{Beside, Lateral, Made},
    rules::Rulebook,
    table::Table,
    work::{interruptible, sized},
};

/// A job as read, with the files it names: what `read_job` and `parse_job` give.
#[pyclass(frozen, module = "fallwise")]
pub(crate) struct Loaded {
    core: Arc<Core>,
    folder: Option<PathBuf>,
}

#[pymethods]
impl Loaded {
    /// The job.
    #[getter]
    fn job<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyAny>, Failure> {
        job_to_python(py, &self.core.job)
    }

    /// The rulebook that the job asks for, shipped or its own.
    #[getter]
    fn rulebook(&self) -> Option<Rulebook> {
        self.core.rulebook.clone().map(Rulebook)
    }

    /// The files that were read, each with what proves which one it was.
    #[getter]
    fn inputs(&self) -> Result<Table, Failure> {
        Table::of("inputs", &self.core.inputs)
    }

    /// Odd but usable input, with the file it is in.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.core.warnings.clone()
    }

    /// What was found in the logs rather than given, by the log's name: delimiter, decimal mark, columns, units.
    #[getter]
    fn found<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        for log in &self.core.logs {
            dict.set_item(&log.name, &log.found)?;
        }
        Ok(dict)
    }

    /// Solves the job; faults are told with their line in the job or their row in the log.
    ///
    /// Parameters
    /// ----------
    /// rulebook : Rulebook or str, optional
    ///     A rulebook, or the name of a shipped one; absent: the one that the job names.
    ///
    /// Returns
    /// -------
    /// Lateral
    ///     The solved lateral.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     What cannot be used.
    ///
    /// Warns
    /// -----
    /// Warning
    ///     Odd but usable input, once.
    #[pyo3(signature = (*, rulebook = None))]
    fn solve(&self, py: Python<'_>, rulebook: Option<&Bound<'_, PyAny>>) -> Result<Lateral, Failure> {
        let book = match rulebook {
            Some(asked) => Some(Rulebook::named(asked)?),
            None => self.core.rulebook.clone(),
        };
        let core = Arc::clone(&self.core);
        let readings = core.job.runs.iter().map(|run| run.counter_m.len()).sum();
        let solved = sized(py, readings, move || core.solve())?;
        let beside = Beside {
            book,
            language: self.core.language.clone(),
            inputs: self.core.inputs.clone(),
            warnings: self.core.warnings.clone(),
            folder: self.folder.clone(),
        };
        Lateral::new(solved, beside, Made::Job).warned(py, 1)
    }

    /// The job without people and site, for sharing; everything that figures depend on stays.
    fn redacted<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyAny>, Failure> {
        job_to_python(py, &self.core.job.redacted())
    }

    fn __repr__(&self) -> String {
        let name = self.core.inputs.first().map_or("", |input| input.name.as_str());
        format!("<fallwise.Loaded \"{}\": {} runs>", fallwise::text::visible(name), self.core.job.runs.len())
    }

    fn __eq__(&self, other: &Bound<'_, PyAny>) -> bool {
        other.cast::<Self>().is_ok_and(|other| self.core == other.get().core)
    }
}

/// Reads a job file and the files it names.
///
/// Parameters
/// ----------
/// path : path-like
///     The file, TOML or JSON (by its ending). Nothing outside its folder is read.
///
/// Returns
/// -------
/// Loaded
///     The job, not yet solved.
///
/// Raises
/// ------
/// FormatError
///     What is wrong, with file, line and column.
/// FileMissingError
///     The job is not there. A file that it names and that is not there is a FormatError, with the line that
///     names it.
#[pyfunction]
pub(crate) fn read_job(py: Python<'_>, path: PathBuf) -> Result<Loaded, Failure> {
    let folder =
        path.parent().map(|folder| if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder.into() });
    let core = Arc::new(interruptible(py, move || job::read(&path))?);
    Ok(Loaded { core, folder })
}

/// Reads a job from memory, with the files it names.
///
/// Parameters
/// ----------
/// text : str
///     The job.
/// files : mapping of str to bytes or str, optional
///     Contents of the files that it names, by these names.
/// json : bool
///     The text is JSON rather than TOML.
///
/// Returns
/// -------
/// Loaded
///     The job, not yet solved.
///
/// Raises
/// ------
/// FormatError
///     What is wrong, with line and column; also a file that it names and that is not among those given.
#[pyfunction]
#[pyo3(signature = (text, files = None, *, json = false))]
pub(crate) fn parse_job(text: &str, files: Option<&Bound<'_, PyDict>>, json: bool) -> Result<Loaded, Failure> {
    let mut resolver = MemoryResolver::default();
    for (name, content) in files.into_iter().flatten() {
        let bytes = match content.cast::<PyBytes>() {
            Ok(bytes) => bytes.as_bytes().to_vec(),
            Err(_) => content.extract::<String>()?.into_bytes(),
        };
        resolver.0.insert(name.extract()?, bytes);
    }
    let read = if json { job::read_json } else { job::read_text };
    let name = if json { "job.json" } else { "job.toml" };
    Ok(Loaded { core: Arc::new(read(text, name, &resolver)?), folder: None })
}

/// Reads a camera's log: the run as `fallwise.Run` takes it, and what else the log says.
#[pyfunction]
#[pyo3(name = "_read_log")]
pub(crate) fn read_log<'py>(
    py: Python<'py>,
    path: PathBuf,
    format: &Bound<'py, PyAny>,
) -> Result<(Bound<'py, PyAny>, Bound<'py, PyDict>), Failure> {
    let format: LogFormat = from_python("format", format)?;
    let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let table = interruptible(py, move || log::read_file(&path, &format))?;
    let beside = PyDict::new(py);
    beside.set_item("found", &table.found)?;
    beside.set_item("warnings", &table.warnings)?;
    let extra = PyDict::new(py);
    for column in &table.extra {
        extra.set_item(column.name(), column.iter().collect::<Vec<_>>())?;
    }
    beside.set_item("extra", extra)?;
    let run = Run {
        name,
        time_s: table.time_s,
        moving: table.moving,
        roll_rad: table.roll_rad,
        temperature_c: table.temperature_c,
        source_row: Some(table.source_row),
        ..Run::new(table.counter_m, table.reading_rad)
    };
    Ok((run_to_python(py, run)?, beside))
}

/// A run as `fallwise.Run`.
pub(crate) fn run_to_python(py: Python<'_>, run: Run) -> Result<Bound<'_, PyAny>, Failure> {
    let job = job_to_python(py, &fallwise::Job { runs: vec![run], ..fallwise::Job::default() })?;
    Ok(job.getattr("runs")?.get_item(0)?)
}

/// The table of standard pipes: class, nominal size, outside, wall and bore in m, material, and where each row
/// is from.
///
/// Returns
/// -------
/// Table
///     One row a pipe.
#[pyfunction]
pub(crate) fn bores() -> Result<Table, Failure> {
    /// A row of it, with what the core computes.
    #[derive(serde::Serialize, serde::Deserialize)]
    struct Row {
        /// Standard and class, as `Pipe.standard` takes them.
        class: String,
        /// Nominal size.
        nominal: String,
        /// Outside diameter, m.
        outside_m: f64,
        /// Wall thickness, m.
        wall_m: f64,
        /// Inside diameter, m.
        bore_m: f64,
        /// Material.
        material: String,
        /// Document that the sizes are from.
        source: String,
        /// How they were seen there.
        mark: String,
    }
    let row = |pipe: &fallwise::model::StandardPipe| Row {
        class: pipe.class.to_owned(),
        nominal: pipe.nominal.to_string(),
        outside_m: pipe.outside_m,
        wall_m: pipe.wall_m,
        bore_m: pipe.bore_m(),
        material: pipe.material.to_owned(),
        source: pipe.source.to_owned(),
        mark: pipe.mark.to_owned(),
    };
    Table::of("bores", &fallwise::model::standard_pipes().iter().map(row).collect::<Vec<_>>())
}

/// A pipe by standard class and size, as the dict of `fallwise.Pipe`.
#[pyfunction]
#[pyo3(name = "_standard_pipe")]
pub(crate) fn standard_pipe<'py>(py: Python<'py>, class: &str, size: &str) -> Result<Bound<'py, PyAny>, Failure> {
    to_python(py, &fallwise::Pipe::standard(class, size)?)
}

/// A nominal size from its text, as its dict.
#[pyfunction]
#[pyo3(name = "_nominal")]
pub(crate) fn nominal<'py>(py: Python<'py>, text: &str) -> Result<Bound<'py, PyAny>, Failure> {
    to_python(py, &text.parse::<fallwise::model::Nominal>()?)
}
