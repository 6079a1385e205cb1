//! The answers of one survey: tables, sentences, pages.

use std::{path::PathBuf, sync::Arc};

use fallwise::{Answers as Core, answers::NextRow, units::Language};
use fallwise_files::{Photo, output};
use fallwise_report::{Photo as Shown, Report};
use pyo3::{
    prelude::*,
    types::{PyBytes, PyTuple},
};

use crate::{convert::to_python, errors::Failure, table::Table, work::interruptible};

/// A picture of it, which the Python part draws.
pub(crate) fn plotted<'py>(
    of: &Bound<'py, PyAny>,
    name: &str,
    options: Option<&Bound<'py, pyo3::types::PyDict>>,
) -> Result<Bound<'py, PyAny>, Failure> {
    Ok(of.py().import("fallwise.plot")?.getattr(name)?.call((of,), options)?)
}

/// Writes the `#[pymethods]` of a class whose tables come from its answers, each under its name there, and its other methods.
macro_rules! with_tables {
    ($class:ident, $answers:ident, { $($rest:tt)* }) => {
        #[pymethods]
        impl $class {
            /// The profile on matplotlib, as `fallwise.plot_profile` draws it.
            #[pyo3(signature = (**options))]
            fn plot_profile<'py>(
                slf: &Bound<'py, Self>,
                options: Option<&Bound<'py, pyo3::types::PyDict>>,
            ) -> Result<Bound<'py, PyAny>, Failure> {
                $crate::answers::plotted(slf.as_any(), "plot_profile", options)
            }
            /// The plan on matplotlib, as `fallwise.plot_plan` draws it.
            #[pyo3(signature = (**options))]
            fn plot_plan<'py>(
                slf: &Bound<'py, Self>,
                options: Option<&Bound<'py, pyo3::types::PyDict>>,
            ) -> Result<Bound<'py, PyAny>, Failure> {
                $crate::answers::plotted(slf.as_any(), "plot_plan", options)
            }
            /// The readings and the segments found in them on matplotlib, as `fallwise.plot_readings` draws it.
            #[pyo3(signature = (**options))]
            fn plot_readings<'py>(
                slf: &Bound<'py, Self>,
                options: Option<&Bound<'py, pyo3::types::PyDict>>,
            ) -> Result<Bound<'py, PyAny>, Failure> {
                $crate::answers::plotted(slf.as_any(), "plot_readings", options)
            }
            /// What is known of the instrument before and after on matplotlib, as `fallwise.plot_posterior` draws it.
            #[pyo3(signature = (**options))]
            fn plot_posterior<'py>(
                slf: &Bound<'py, Self>,
                options: Option<&Bound<'py, pyo3::types::PyDict>>,
            ) -> Result<Bound<'py, PyAny>, Failure> {
                $crate::answers::plotted(slf.as_any(), "plot_posterior", options)
            }
            /// Totals over the surveyed length: one row.
            #[getter]
            fn total(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("total", std::slice::from_ref(&self.$answers(py)?.total))
            }
            /// One row a reach.
            #[getter]
            fn reaches(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("reaches", &self.$answers(py)?.reaches)
            }
            /// One row for each piece of pipe between noted joints.
            #[getter]
            fn pieces(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("pieces", &self.$answers(py)?.pieces)
            }
            /// Stretches that run backwards in the best estimate over 0.3 m or more.
            #[getter]
            fn backward(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("backward", &self.$answers(py)?.backward)
            }
            /// Stretches that no reading saw, or in which runs contradict each other.
            #[getter]
            fn unseen(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("unseen", &self.$answers(py)?.unseen)
            }
            /// One row a segment: a piece of constant tilt.
            #[getter]
            fn segments(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("segments", &self.$answers(py)?.segments)
            }
            /// Findings against the rulebook, the lateral's own first.
            #[getter]
            fn findings(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("findings", &self.$answers(py)?.findings)
            }
            /// Measurements that would help, best first; none where nothing is undecided.
            #[getter]
            fn next(&self, py: Python<'_>) -> Result<Table, Failure> {
                let answers = self.$answers(py)?;
                let rows: Vec<NextRow> = answers.next.iter().chain(&answers.next_others).cloned().collect();
                Table::of("next", &rows)
            }
            /// Water that was seen and is not explained, or expected and not seen.
            #[getter]
            fn water(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("water", &self.$answers(py)?.water)
            }
            /// What the lateral carries as a whole; one row, or none where the job does not ask.
            #[getter]
            fn carrying(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("carrying", self.$answers(py)?.carrying.as_slice())
            }
            /// What is known beside the runs, held against everything else.
            #[getter]
            fn ties(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("ties", &self.$answers(py)?.ties)
            }
            /// As-built inverts beside what was measured.
            #[getter]
            fn as_built(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("as_built", &self.$answers(py)?.as_built)
            }
            /// The operator's notes.
            #[getter]
            fn noted(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("noted", &self.$answers(py)?.noted)
            }
            /// Planned digs: place, depth, and whether anybody may dig by it.
            #[getter]
            fn digs(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("digs", &self.$answers(py)?.digs)
            }
            /// How far each dig is from each landmark.
            #[getter]
            fn tapes(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("tapes", &self.$answers(py)?.tapes)
            }
            /// The path, node by node.
            #[getter]
            fn path(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("path", &self.$answers(py)?.path)
            }
            /// What conditioning changed or dropped.
            #[getter]
            fn edits(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("edits", &self.$answers(py)?.edits)
            }
            /// Readings as used.
            #[getter]
            fn readings(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("readings", &self.$answers(py)?.readings)
            }
            /// What the instrument model was, and what came of it.
            #[getter]
            fn parameters(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("parameters", &self.$answers(py)?.parameters)
            }
            /// What makes slopes and falls uncertain, most first.
            #[getter]
            fn budget(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("budget", &self.$answers(py)?.budget)
            }
            /// How the errors of parameters, slope and fall hang together.
            #[getter]
            fn correlations(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("correlations", &self.$answers(py)?.correlations)
            }
            /// What the main figures would be without the ties that do not fit.
            #[getter]
            fn without(&self, py: Python<'_>) -> Result<Table, Failure> {
                let rows = self.$answers(py)?.adjustment.as_ref().map(|a| a.without.clone()).unwrap_or_default();
                Table::of("without", &rows)
            }
            /// The files that went in.
            #[getter]
            fn inputs(&self, py: Python<'_>) -> Result<Table, Failure> {
                Table::of("inputs", &self.$answers(py)?.inputs)
            }
            /// The one sentence that matters.
            #[getter]
            fn sentence(&self, py: Python<'_>) -> Result<String, Failure> {
                Ok(self.$answers(py)?.sentence.clone())
            }
            /// Odd but usable input.
            #[getter]
            fn warnings(&self, py: Python<'_>) -> Result<Vec<String>, Failure> {
                Ok(self.$answers(py)?.warnings.clone())
            }
            /// What a reader must know beside the findings.
            #[getter]
            fn notes(&self, py: Python<'_>) -> Result<Vec<String>, Failure> {
                Ok(self.$answers(py)?.notes.clone())
            }
            /// What the intervals do not cover, in sentences.
            #[getter]
            fn not_covered(&self, py: Python<'_>) -> Result<Vec<String>, Failure> {
                Ok(self.$answers(py)?.not_covered.clone())
            }
            /// Cautions that go with every output; show them where you show figures.
            #[getter]
            fn cautions(&self, py: Python<'_>) -> Result<Vec<String>, Failure> {
                Ok(self.$answers(py)?.cautions.clone())
            }
            /// How ties and runs go together, or `None` without ties.
            #[getter]
            fn adjustment<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyAny>, Failure> {
                to_python(py, &self.$answers(py)?.adjustment)
            }
            /// The rows of the rulebook as used.
            #[getter]
            fn rules<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyAny>, Failure> {
                to_python(py, &self.$answers(py)?.rules)
            }
            /// First and last surveyed station, m.
            #[getter]
            fn surveyed_m(&self, py: Python<'_>) -> Result<(f64, f64), Failure> {
                let answers = self.$answers(py)?;
                Ok((answers.from_m, answers.to_m))
            }
            $($rest)*
        }
    };
}
pub(crate) use with_tables;

/// The cautions that go with every output: what the figures do not show, and what can hurt.
///
/// Returns
/// -------
/// list of str
///     Sentences, the same for every lateral; to be handed on with whatever is made of its figures.
#[pyfunction]
pub(crate) fn cautions() -> Vec<&'static str> {
    fallwise::lateral::CAUTIONS.to_vec()
}

/// Everything that a lateral has to say: tables, sentences, pages. What `read_result` gives, and the `answers`
/// of a lateral.
///
/// Nothing in it changes. What is not determined is NaN in an array of numbers, and `None` elsewhere.
#[pyclass(frozen, module = "fallwise", eq)]
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Answers {
    pub(crate) core: Arc<Core>,
    pub(crate) photos: Arc<Vec<Photo>>,
    pub(crate) language: Arc<Option<Language>>,
}

impl Answers {
    #[expect(clippy::unnecessary_wraps, reason = "as that of a lateral, which computes them first")]
    fn core(&self, _: Python<'_>) -> Result<Arc<Core>, Failure> {
        Ok(Arc::clone(&self.core))
    }

    /// Does something with the report of these answers.
    pub(crate) fn report<T>(&self, make: impl FnOnce(Report<'_>) -> T) -> T {
        let photos: Vec<Shown<'_>> = self
            .photos
            .iter()
            .map(|p| Shown { file: &p.file, jpeg: &p.jpeg, width_px: p.width_px, height_px: p.height_px })
            .collect();
        let report = Report::new(&self.core).photos(&photos);
        make(match self.language.as_ref() {
            Some(language) => report.language(language),
            None => report,
        })
    }

    /// Every file of the report in a folder.
    pub(crate) fn write(&self, py: Python<'_>, folder: PathBuf, overwrite: bool) -> Result<Vec<PathBuf>, Failure> {
        let answers = self.clone();
        interruptible(py, move || {
            let pages = answers.report(|report| report.files())?;
            let pages: Vec<(&str, String)> = pages.iter().map(|(name, text)| (name.as_str(), text.clone())).collect();
            Ok::<_, Failure>(output::write_all(&folder, &answers.core, &pages, overwrite)?)
        })
    }
}

with_tables!(Answers, core, {
    /// Bellies, found or possible.
    #[getter]
    fn pools(&self) -> Result<Table, Failure> {
        Table::of("pools", &self.core.pools)
    }

    /// What each surveyed reach carries in uniform flow; none where the job does not ask.
    #[getter]
    fn capacity(&self) -> Result<Table, Failure> {
        Table::of("capacity", &self.core.capacity)
    }

    /// What it would take to carry the flow, and what is there.
    #[getter]
    fn needed(&self) -> Result<Table, Failure> {
        Table::of("needed", &self.core.needed)
    }

    /// Covariances of the heights at breaks and at the ends of reaches: each pair once.
    #[getter]
    fn covariance(&self) -> Result<Table, Failure> {
        Table::of("covariance", &self.core.covariance)
    }

    /// What to re-lay, or `None` where the job asks for no plan.
    #[getter]
    fn relay(&self) -> Option<crate::relay::RelayAnswer> {
        self.core.relay.clone().map(|relay| crate::relay::RelayAnswer(Arc::new(relay)))
    }

    /// Version of the library that computed it.
    #[getter]
    fn version(&self) -> &str {
        &self.core.version
    }

    /// Version of the form of `result.json`.
    #[getter]
    fn schema(&self) -> &str {
        &self.core.schema
    }

    /// A summary in plain text.
    fn summary(&self) -> String {
        self.report(|report| report.summary())
    }

    /// The profile as an SVG picture.
    fn profile_svg(&self) -> String {
        self.report(|report| report.profile_svg())
    }

    /// The plan as an SVG picture, or `None` where it is not determined.
    fn plan_svg(&self) -> Option<String> {
        self.report(|report| report.plan_svg())
    }

    /// Everything as JSON: the text of `result.json`.
    fn to_json(&self) -> Result<String, Failure> {
        Ok(output::result_json(&self.core)?)
    }

    /// Everything as dicts, lists, numbers and texts, by the names of `result.json`.
    fn to_dict<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyAny>, Failure> {
        to_python(py, &*self.core)
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
        self.write(py, path, overwrite)
    }

    fn __repr__(&self) -> String {
        format!(
            "{}\n<fallwise.Answers: {} of pipe>",
            self.core.sentence,
            self.core.job.report.words.length(self.core.to_m - self.core.from_m)
        )
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
        let photos: Vec<_> = self
            .photos
            .iter()
            .map(|p| (&p.file, &p.sha256, p.bytes, PyBytes::new(py, &p.jpeg), p.width_px, p.height_px))
            .collect();
        let language = to_json(self.language.as_ref())?;
        let state = (output::result_json(&self.core)?, photos, language).into_pyobject(py)?;
        Ok((py.import("fallwise._core")?.getattr("_answers")?, state))
    }
});

/// A sentence over a picture.
pub(crate) fn html(sentence: &str, svg: &str) -> String {
    format!("<div><p><strong>{}</strong></p>{svg}</div>", crate::table::escaped(sentence))
}

/// What is pickled as JSON.
pub(crate) fn to_json<T: serde::Serialize>(value: &T) -> Result<String, Failure> {
    serde_json::to_string(value).map_err(|e| fallwise::Error::value("state", e, "what JSON can hold").into())
}

/// The same back.
pub(crate) fn from_json<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, Failure> {
    serde_json::from_str(text).map_err(|e| fallwise::Error::value("state", e, "what this version pickled").into())
}

/// A photo as it was pickled.
type Pickled = (String, String, u64, Vec<u8>, u32, u32);

/// Answers as they were pickled.
#[pyfunction]
#[pyo3(name = "_answers")]
pub(crate) fn unpickled(json: &str, photos: Vec<Pickled>, language: &str) -> Result<Answers, Failure> {
    let photo =
        |(file, sha256, bytes, jpeg, width_px, height_px)| Photo { file, sha256, bytes, jpeg, width_px, height_px };
    Ok(Answers {
        core: Arc::new(output::read_answers(json.as_bytes())?),
        photos: Arc::new(photos.into_iter().map(photo).collect()),
        language: Arc::new(from_json(language)?),
    })
}

/// Reads a `result.json`, without solving anything again.
///
/// Parameters
/// ----------
/// path : path-like
///     The file.
///
/// Returns
/// -------
/// Answers
///     What was written.
///
/// Raises
/// ------
/// FormatError
///     It is no result, or one of a later form, which the message names.
/// FileMissingError
///     There is no such file.
#[pyfunction]
pub(crate) fn read_result(path: PathBuf) -> Result<Answers, Failure> {
    let core = Arc::new(output::read_result(&path)?);
    Ok(Answers { core, photos: Arc::default(), language: Arc::default() })
}
