//! Many laterals at once: logs of many from one table, solved on several threads, their rows in common tables.

use core::ops::ControlFlow;
use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    path::PathBuf,
    sync::{
        Arc, Mutex,
        mpsc::{Receiver, RecvTimeoutError, Sender, channel},
    },
    thread::{Builder, available_parallelism},
};

use fallwise::{
    Answers as Core, Job, Lateral, Pipe, Rulebook as Book, Run,
    answers::{
        AsBuiltRow, BudgetRow, CapacityRow, CarryingRow, DigRow, EditRow, FindingRow, NeededRow, NextRow, NoteRow,
        ParameterRow, PoolRow, ReachRow, SegmentRow, StretchRow, SummaryRow, TapeRow, TieRow, WaterRow,
    },
    lateral::{in_order, look_ahead},
};
use fallwise_files::{
    FileError, LogFormat, Place,
    log::{self, Cells, ManyLogs, TableColumn},
};
use pyo3::{
    prelude::*,
    types::{PyDict, PyList},
};
use serde::{Deserialize, Serialize, de::DeserializeOwned};

use crate::{
    answers::Answers,
    arrays,
    convert::{self, from_python},
    errors::Failure,
    job::run_to_python,
    rules::Rulebook,
    table::Table,
    work::{LOOK, STACK, interruptible, signals},
};

/// The logs of many laterals, as read from one table.
#[pyclass(frozen, module = "fallwise._core", name = "_RunLogs")]
pub(crate) struct RunLogs(Arc<ManyLogs>);

#[pymethods]
impl RunLogs {
    fn __len__(&self) -> usize {
        self.0.len()
    }

    /// Ids in the order in which they first appear.
    #[getter]
    fn ids(&self) -> Vec<&str> {
        self.0.ids().collect()
    }

    /// What was found rather than given.
    #[getter]
    fn found(&self) -> Vec<String> {
        self.0.found().to_vec()
    }

    /// Odd but usable input of the table as a whole.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings().to_vec()
    }

    /// Faults of rows without an id, as exceptions, and how many more there are.
    #[getter]
    fn without_id<'py>(&self, py: Python<'py>) -> (Vec<Bound<'py, PyAny>>, usize) {
        let (faults, more) = self.0.without_id();
        (exceptions(py, faults), more)
    }

    /// The log of a lateral, by its number: its run or `None`; its warnings; its faults as exceptions; how many more there are.
    #[allow(clippy::type_complexity, reason = "a tuple of Python")]
    fn get<'py>(
        &self,
        py: Python<'py>,
        number: usize,
    ) -> Result<(Option<Bound<'py, PyAny>>, Vec<String>, Vec<Bound<'py, PyAny>>, usize), Failure> {
        let Some(of) = self.0.get(number) else { return Ok((None, Vec::new(), Vec::new(), 0)) };
        match of.log {
            Err(faults) => Ok((None, Vec::new(), exceptions(py, &faults), of.more_faults)),
            Ok(log) => {
                let run = Run {
                    name: of.id.to_owned(),
                    time_s: log.time_s,
                    moving: log.moving,
                    roll_rad: log.roll_rad,
                    temperature_c: log.temperature_c,
                    source_row: Some(log.source_row),
                    ..Run::new(log.counter_m, log.reading_rad)
                };
                Ok((Some(run_to_python(py, run)?), log.warnings, Vec::new(), 0))
            }
        }
    }
}

fn exceptions<'py>(py: Python<'py>, faults: &[FileError]) -> Vec<Bound<'py, PyAny>> {
    let raised = |fault: &FileError| PyErr::from(Failure::File(fault.clone())).into_value(py).into_bound(py).into_any();
    faults.iter().map(raised).collect()
}

/// Reads the logs of many laterals from one file.
#[pyfunction]
pub(crate) fn _read_runs(
    py: Python<'_>,
    path: PathBuf,
    by: String,
    format: &Bound<'_, PyAny>,
) -> Result<RunLogs, Failure> {
    let format: LogFormat = from_python("format", format)?;
    Ok(RunLogs(Arc::new(interruptible(py, move || log::read_many_file(&path, &by, &format))?)))
}

/// The same from columns: pairs of a name and numbers (an array) or texts (a list). `rows` has the number of each row in what the
/// columns were cut from, if it is known.
#[pyfunction]
pub(crate) fn _read_runs_columns(
    py: Python<'_>,
    columns: Vec<(String, Bound<'_, PyAny>)>,
    by: String,
    format: &Bound<'_, PyAny>,
    rows: Option<Vec<usize>>,
) -> Result<RunLogs, Failure> {
    let format: LogFormat = from_python("format", format)?;
    let column = |(name, cells): (String, Bound<'_, PyAny>)| {
        let cells = match cells.cast::<PyList>() {
            Ok(texts) => Cells::Texts(texts.extract().map_err(Failure::Python)?),
            Err(_) => Cells::Numbers(arrays::row(&name, &cells)?),
        };
        Ok::<_, Failure>(TableColumn { name, cells })
    };
    let columns = columns.into_iter().map(column).collect::<Result<Vec<_>, _>>()?;
    let many = interruptible(py, move || log::read_many_columns(&columns, &by, &format))?;
    Ok(RunLogs(Arc::new(match rows {
        Some(rows) => many.renumbered(&rows),
        None => many,
    })))
}

/// A job on its way to a thread.
struct Given {
    job: Job,
    pipe: Option<Pipe>,
    book: Arc<Option<Book>>,
    /// What reading found odd.
    warnings: Vec<String>,
}

impl Given {
    /// Solves it and asks it everything, as `solve` does. A fault of a reading is told with its row.
    fn answered(self) -> Result<Core, Failure> {
        let own = match (&*self.book, &self.job.rules.rulebook) {
            (None, Some(name)) if !name.is_empty() => Some(Book::shipped(name)?),
            _ => None,
        };
        let rows = match self.job.runs.as_slice() {
            [run] => run.source_row.clone(),
            _ => None,
        };
        let in_one_pipe = |job| match self.pipe {
            Some(pipe) => Lateral::in_one_pipe(job, pipe),
            None => Ok(job),
        };
        let solved = in_one_pipe(self.job).and_then(Lateral::solve).map_err(|error| in_row(error, rows.as_deref()))?;
        let mut answers = solved.answers(self.book.as_ref().as_ref().or(own.as_ref()))?;
        answers.warnings.splice(0..0, self.warnings);
        Ok(answers)
    }
}

/// A fault of a reading with the row that the reading came from.
fn in_row(error: fallwise::Error, rows: Option<&[usize]>) -> Failure {
    let row = match &error {
        fallwise::Error::Value { field, index: Some(index), .. }
            if matches!(field.as_str(), "counter_m" | "reading_rad" | "time_s") =>
        {
            rows.and_then(|rows| rows.get(*index).copied())
        }
        _ => None,
    };
    match row {
        Some(row) => Failure::File(FileError::from_core(Place::Row(row), error)),
        None => Failure::Core(error),
    }
}

/// Solves jobs on threads of its own: jobs go in one by one, answers come out in the same order.
///
/// As many as `ahead` are to be in hand, or all that there are, before one is taken: with fewer the threads wait for more.
#[pyclass(module = "fallwise._core", name = "_Solver")]
pub(crate) struct Solver {
    give: Option<Sender<Option<Given>>>,
    results: Mutex<Receiver<Result<Option<Core>, Failure>>>,
    book: Arc<Option<Book>>,
    /// The name of a shipped book that was asked for: part of every job, as if the job had named it.
    named: Option<String>,
    #[pyo3(get)]
    threads: usize,
    #[pyo3(get)]
    ahead: usize,
}

#[pymethods]
impl Solver {
    #[new]
    #[pyo3(signature = (threads, rulebook))]
    fn new(threads: Option<usize>, rulebook: Option<&Bound<'_, PyAny>>) -> Result<Self, Failure> {
        let threads = match threads {
            Some(0) => return Err(fallwise::Error::value("threads", 0, "1 or more, or none for all there are").into()),
            Some(threads) => threads,
            None => available_parallelism().map_or(1, usize::from),
        };
        let book = Arc::new(rulebook.map(Rulebook::named).transpose()?);
        let named = rulebook.and_then(|asked| asked.extract().ok());
        let (give, given) = channel::<Option<Given>>();
        let (done, results) = channel();
        let work = move || {
            let solve = |given: Option<Given>| {
                let answered = || given.map(Given::answered).transpose();
                catch_unwind(AssertUnwindSafe(answered)).unwrap_or(Err(Failure::Panicked))
            };
            // Nobody takes results any more: nothing more is begun.
            let each = |made| if done.send(made).is_ok() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) };
            let _ = in_order(given, threads, solve, each);
        };
        let builder = Builder::new().name("fallwise".to_owned()).stack_size(STACK);
        builder.spawn(work).map_err(|e| Failure::Python(e.into()))?;
        let results = Mutex::new(results);
        Ok(Self { give: Some(give), results, book, named, threads, ahead: look_ahead(threads) })
    }

    /// Gives a job to be solved.
    fn give(
        &self,
        job: &Bound<'_, PyAny>,
        arrays: &Bound<'_, PyList>,
        pipe: Option<&Bound<'_, PyAny>>,
        warnings: Vec<String>,
    ) -> Result<(), Failure> {
        let mut job = convert::job(job, arrays)?;
        if self.named.is_some() {
            job.rules.rulebook.clone_from(&self.named);
        }
        let pipe = pipe.map(|pipe| from_python("pipe", pipe)).transpose()?;
        self.send(Some(Given { job, pipe, book: Arc::clone(&self.book), warnings }))
    }

    /// Gives nothing to be solved, in the place of a job that cannot be: there are no answers to it.
    fn skip(&self) -> Result<(), Failure> {
        self.send(None)
    }

    /// No more jobs come.
    fn end(&mut self) {
        self.give = None;
    }

    /// Waits for the answers to the first job that has not been taken. Other Python threads go on; Ctrl-C ends the wait.
    fn take(&self, py: Python<'_>) -> Result<Option<Answers>, Failure> {
        let core = py.detach(|| {
            let results = self.results.lock().map_err(|_| Failure::Panicked)?;
            loop {
                match results.recv_timeout(LOOK) {
                    Ok(made) => return made,
                    Err(RecvTimeoutError::Timeout) => signals()?,
                    Err(RecvTimeoutError::Disconnected) => return Err(Failure::Panicked),
                }
            }
        })?;
        let answers = |core| Answers { core: Arc::new(core), photos: Arc::default(), language: Arc::default() };
        Ok(core.map(answers))
    }
}

impl Solver {
    fn send(&self, given: Option<Given>) -> Result<(), Failure> {
        self.give.as_ref().and_then(|give| give.send(given).ok()).ok_or(Failure::Panicked)
    }
}

/// A row of the table of warnings.
#[derive(Serialize, Deserialize)]
struct WarningRow {
    /// What is odd, but was used.
    warning: String,
}

/// A row of the table of errors.
#[derive(Serialize, Deserialize)]
struct ErrorRow {
    /// Row at fault, counted as the lines of a file, in a table from 1.
    row: Option<usize>,
    /// Column at fault.
    column: Option<String>,
    /// Key or argument at fault.
    field: Option<String>,
    /// Position in an array, from 0.
    index: Option<usize>,
    /// What was given.
    value: Option<String>,
    /// What would have been accepted.
    expected: Option<String>,
    /// All of it in a sentence.
    message: String,
}

/// Rows of one kind, each with the id of its lateral.
struct Rows<T> {
    ids: Vec<Arc<str>>,
    rows: Vec<T>,
}

impl<T> Default for Rows<T> {
    fn default() -> Self {
        Self { ids: Vec::new(), rows: Vec::new() }
    }
}

impl<T: Serialize + DeserializeOwned> Rows<T> {
    fn add(&mut self, id: &Arc<str>, rows: impl IntoIterator<Item = T>) {
        self.rows.extend(rows);
        self.ids.resize(self.rows.len(), Arc::clone(id));
    }

    fn table(&self, title: &str) -> Result<Table, Failure> {
        Table::keyed(title, &self.ids, &self.rows)
    }
}

/// Writes the class that collects tables: each of some rows of the answers.
macro_rules! collected {
    ($($name:ident: $row:ty = |$answers:ident| $rows:expr;)*) => {
        /// What is kept of many laterals.
        #[pyclass(module = "fallwise._core", name = "_Collected")]
        #[derive(Default)]
        pub(crate) struct Collected {
            errors: Rows<ErrorRow>,
            warnings: Rows<WarningRow>,
            cautions: Vec<String>,
            $($name: Rows<$row>,)*
        }

        impl Collected {
            fn keep(&mut self, id: &Arc<str>, answers: &Core) {
                $( { let $answers = answers; self.$name.add(id, $rows); } )*
            }

            fn all<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyDict>, Failure> {
                let dict = PyDict::new(py);
                dict.set_item("errors", self.errors.table("errors")?)?;
                dict.set_item("warnings", self.warnings.table("warnings")?)?;
                $( dict.set_item(stringify!($name), self.$name.table(stringify!($name))?)?; )*
                Ok(dict)
            }
        }
    };
}

collected! {
    summary: SummaryRow = |a| [SummaryRow::from(a)];
    total: ReachRow = |a| [a.total.clone()];
    reaches: ReachRow = |a| a.reaches.iter().cloned();
    pieces: ReachRow = |a| a.pieces.iter().cloned();
    backward: ReachRow = |a| a.backward.iter().cloned();
    unseen: StretchRow = |a| a.unseen.iter().copied();
    segments: SegmentRow = |a| a.segments.iter().cloned();
    pools: PoolRow = |a| a.pools.iter().cloned();
    findings: FindingRow = |a| a.findings.iter().cloned();
    next: NextRow = |a| a.next.iter().chain(&a.next_others).cloned();
    water: WaterRow = |a| a.water.iter().cloned();
    carrying: CarryingRow = |a| a.carrying.iter().cloned();
    capacity: CapacityRow = |a| a.capacity.iter().cloned();
    needed: NeededRow = |a| a.needed.iter().cloned();
    ties: TieRow = |a| a.ties.iter().cloned();
    as_built: AsBuiltRow = |a| a.as_built.iter().cloned();
    noted: NoteRow = |a| a.noted.iter().cloned();
    digs: DigRow = |a| a.digs.iter().cloned();
    tapes: TapeRow = |a| a.tapes.iter().cloned();
    edits: EditRow = |a| a.edits.iter().cloned();
    parameters: ParameterRow = |a| a.parameters.iter().cloned();
    budget: BudgetRow = |a| a.budget.iter().cloned();
}

#[pymethods]
impl Collected {
    #[new]
    fn new() -> Self {
        Self::default()
    }

    /// Keeps the rows of a lateral.
    fn add(&mut self, id: &str, answers: &Bound<'_, Answers>) {
        let core = Arc::clone(&answers.get().core);
        let id = Arc::from(id);
        self.keep(&id, &core);
        for caution in &core.cautions {
            if !self.cautions.contains(caution) {
                self.cautions.push(caution.clone());
            }
        }
        self.warnings.add(&id, core.warnings.iter().map(|warning| WarningRow { warning: warning.clone() }));
    }

    /// Keeps a warning.
    fn warn(&mut self, id: &str, warning: String) {
        self.warnings.add(&Arc::from(id), [WarningRow { warning }]);
    }

    /// Keeps an exception of this library.
    fn fail(&mut self, id: &str, error: &Bound<'_, PyAny>) -> Result<(), Failure> {
        let text = |name: &str| -> PyResult<Option<String>> {
            let value = error.getattr(name)?;
            if value.is_none() { Ok(None) } else { Ok(Some(value.str()?.to_string())) }
        };
        let row = ErrorRow {
            row: error.getattr("row")?.extract()?,
            column: text("column")?,
            field: text("field")?,
            index: error.getattr("index")?.extract()?,
            value: text("value")?,
            expected: text("expected")?,
            message: error.str()?.to_string(),
        };
        self.errors.add(&Arc::from(id), [row]);
        Ok(())
    }

    /// How many warnings there are, and errors.
    fn counts(&self) -> (usize, usize) {
        (self.warnings.rows.len(), self.errors.rows.len())
    }

    /// The cautions that go with them, each once.
    fn cautions(&self) -> Vec<String> {
        self.cautions.clone()
    }

    /// The tables, by their names.
    fn tables<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyDict>, Failure> {
        self.all(py)
    }
}
