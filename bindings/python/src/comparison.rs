//! Two surveys of one lateral beside each other.

use std::{path::PathBuf, sync::Arc};

use fallwise::{adjust::Shared, answers::Comparison as Core, units::Language};
use fallwise_files::output;
use fallwise_report::AsLeft;
use pyo3::{prelude::*, types::PyTuple};

use crate::{
    answers::{Answers, from_json, html, to_json},
    convert::to_python,
    errors::Failure,
    lateral::Lateral,
    rules::Rulebook,
    table::Table,
    work::interruptible,
};

/// What changed from one survey to another: what `compare` gives. Changes are after less before.
///
/// Nothing in it changes. Where one head made both surveys, and is stated to, its zero error falls out of every
/// change.
#[pyclass(frozen, module = "fallwise", eq)]
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Comparison {
    core: Arc<Core>,
    language: Arc<Option<Language>>,
}

impl Comparison {
    fn left<T>(&self, make: impl FnOnce(AsLeft<'_>) -> T) -> T {
        let left = AsLeft::new(&self.core);
        make(match self.language.as_ref() {
            Some(language) => left.language(language),
            None => left,
        })
    }

    fn survey(&self, core: &fallwise::Answers) -> Answers {
        Answers { core: Arc::new(core.clone()), photos: Arc::default(), language: Arc::clone(&self.language) }
    }
}

#[pymethods]
impl Comparison {
    /// The one sentence that matters.
    #[getter]
    fn sentence(&self) -> &str {
        &self.core.sentence
    }

    /// First and last station that both surveyed, m.
    #[getter]
    fn surveyed_m(&self) -> (f64, f64) {
        (self.core.from_m, self.core.to_m)
    }

    /// Whether one head is stated to have made both.
    #[getter]
    fn same_head(&self) -> bool {
        self.core.shared == Shared::Zero
    }

    /// Slopes over the common length, then reach by reach.
    #[getter]
    fn slopes(&self) -> Result<Table, Failure> {
        Table::of("slopes", &self.core.slopes)
    }

    /// Heights at the breaks of both.
    #[getter]
    fn heights(&self) -> Result<Table, Failure> {
        Table::of("heights", &self.core.heights)
    }

    /// Heights at the nodes of both profiles.
    #[getter]
    fn profile(&self) -> Result<Table, Failure> {
        Table::of("profile", &self.core.profile)
    }

    /// What the heights are: `elevation`, or `relative` to the first common station.
    #[getter]
    fn heights_are(&self) -> &str {
        &self.core.heights_are
    }

    /// Bellies of either survey.
    #[getter]
    fn bellies(&self) -> Result<Table, Failure> {
        Table::of("bellies", &self.core.bellies)
    }

    /// Findings of both.
    #[getter]
    fn findings(&self) -> Result<Table, Failure> {
        Table::of("findings", &self.core.findings)
    }

    /// Odd but usable input.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.core.warnings.clone()
    }

    /// What the intervals do not cover.
    #[getter]
    fn not_covered(&self) -> Vec<String> {
        self.core.not_covered.clone()
    }

    /// Cautions that go with every output.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        self.core.cautions.clone()
    }

    /// The first survey.
    #[getter]
    fn before(&self) -> Answers {
        self.survey(&self.core.before)
    }

    /// The second survey: the pipe as it was left.
    #[getter]
    fn after(&self) -> Answers {
        self.survey(&self.core.after)
    }

    /// A summary in plain text.
    fn summary(&self) -> String {
        self.left(|left| left.summary())
    }

    /// Both profiles over each other as an SVG picture.
    fn profile_svg(&self) -> String {
        self.left(|left| left.picture_svg())
    }

    /// Everything as JSON: the text of `comparison.json`.
    fn to_json(&self) -> Result<String, Failure> {
        Ok(output::comparison_json(&self.core)?)
    }

    /// Everything as dicts, lists, numbers and texts.
    fn to_dict<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyAny>, Failure> {
        to_python(py, &*self.core)
    }

    /// Writes tables, picture and pages into a folder, and returns their paths.
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
        let comparison = self.clone();
        interruptible(py, move || {
            let pages = comparison.left(|left| left.files())?;
            Ok::<_, Failure>(output::write_comparison(&path, &comparison.core, &pages, overwrite)?)
        })
    }

    fn __repr__(&self) -> String {
        let length = self.core.after.job.report.words.length(self.core.to_m - self.core.from_m);
        format!("{}\n<fallwise.Comparison: {length} in common>", self.core.sentence)
    }

    fn _repr_html_(&self) -> String {
        html(&self.core.sentence, &self.profile_svg())
    }

    fn __copy__(slf: Py<Self>) -> Py<Self> {
        slf
    }

    fn __deepcopy__(slf: Py<Self>, memo: &Bound<'_, PyAny>) -> Py<Self> {
        let _ = memo; // nothing in it changes
        slf
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> Result<(Bound<'py, PyAny>, Bound<'py, PyTuple>), Failure> {
        let state = (output::comparison_json(&self.core)?, to_json(self.language.as_ref())?).into_pyobject(py)?;
        Ok((py.import("fallwise._core")?.getattr("_comparison")?, state))
    }
}

/// A comparison as it was pickled.
#[pyfunction]
#[pyo3(name = "_comparison")]
pub(crate) fn unpickled(json: &str, language: &str) -> Result<Comparison, Failure> {
    let core = Arc::new(output::read_comparison(json.as_bytes())?);
    Ok(Comparison { core, language: Arc::new(from_json(language)?) })
}

/// Reads a `comparison.json`, without solving anything again.
///
/// Parameters
/// ----------
/// path : path-like
///     The file.
///
/// Returns
/// -------
/// Comparison
///     What was written.
///
/// Raises
/// ------
/// FormatError
///     It is no comparison, or one of a later form.
/// FileMissingError
///     There is no such file.
#[pyfunction]
pub(crate) fn read_comparison(path: PathBuf) -> Result<Comparison, Failure> {
    Ok(Comparison { core: Arc::new(output::read_comparison_file(&path)?), language: Arc::default() })
}

/// What changed from one survey of a lateral to another, with the errors of both.
///
/// Parameters
/// ----------
/// before, after : Lateral
///     The two surveys, in one stationing.
/// same_head : bool
///     One head made both, with nothing done to it between: its zero error is the same and falls out of every
///     change.
/// rulebook : Rulebook or str, optional
///     What findings are made against; absent: that of `after`.
///
/// Returns
/// -------
/// Comparison
///     Slopes, heights, bellies and findings before and after.
///
/// Raises
/// ------
/// InputError
///     Surveys that have no length in common.
#[pyfunction]
#[pyo3(signature = (before, after, *, same_head = false, rulebook = None))]
pub(crate) fn compare(
    py: Python<'_>,
    before: &Bound<'_, Lateral>,
    after: &Bound<'_, Lateral>,
    same_head: bool,
    rulebook: Option<&Bound<'_, PyAny>>,
) -> Result<Comparison, Failure> {
    let (before, after) = (before.get(), after.get());
    let book = match rulebook {
        Some(asked) => Some(Rulebook::named(asked)?),
        None => after.beside.book.clone(),
    };
    let shared = if same_head { Shared::Zero } else { Shared::Nothing };
    let (was, is) = (Arc::clone(&before.core), Arc::clone(&after.core));
    let (was_beside, is_beside) = (Arc::clone(&before.beside), Arc::clone(&after.beside));
    let core = interruptible(py, move || {
        let mut comparison = fallwise::compare(&was, &is, shared, book.as_ref())?;
        was_beside.tell(&mut comparison.before);
        is_beside.tell(&mut comparison.after);
        Ok::<_, Failure>(comparison)
    })?;
    Ok(Comparison { core: Arc::new(core), language: Arc::new(after.beside.language.clone()) })
}
