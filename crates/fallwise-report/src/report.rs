//! The report of one survey: its faces, and in which language and with which photos they are made.

use askama::Template;
use fallwise::{Answers, units::Language};

use crate::{
    extract::{DigSheet, Estimator, Inspector, Owner, Relay},
    page::{self, Photo, ReportError},
    plan, profile, summary,
    tell::Teller,
};

/// What the answers say, for people: in the wording and with the decimal mark of the job, on its paper.
///
/// ```
/// use fallwise::{Job, Lateral, Run, units::Language};
/// use fallwise_report::Report;
///
/// let job = Job { runs: vec![Run::new(vec![0.0, 1.0, 2.0, 3.0], vec![0.02, 0.02, 0.021, 0.02])], ..Job::default() };
/// let answers = Lateral::solve(job)?.answers(None)?;
/// let german = Language::parse(r#"
///     code = "de"
///     name = "Deutsch"
///     decimal = "comma"
///     [text]
///     "Bellies" = "Wassersäcke"
///     "No belly was found." = "Es wurde kein Wassersack gefunden."
/// "#)?;
/// let page = Report::new(&answers).language(&german).page_html()?;
/// assert!(page.contains(r#"<html lang="de">"#) && page.contains("<h2>Wassersäcke</h2>") && page.contains("3,00 m"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy)]
#[must_use]
pub struct Report<'a> {
    answers: &'a Answers,
    language: Option<&'a Language>,
    photos: &'a [Photo<'a>],
}

impl<'a> Report<'a> {
    /// In English, without photos.
    pub fn new(answers: &'a Answers) -> Self {
        Self { answers, language: None, photos: &[] }
    }

    /// In another language; what that does not have stays English.
    pub fn language(self, language: &'a Language) -> Self {
        Self { language: Some(language), ..self }
    }

    /// With the photos of the notes on the page: each under the finding that it explains, the one of the shortest stretch that
    /// its note touches, or with the other notes where there is none. Its alternative text is the note's words.
    pub fn photos(self, photos: &'a [Photo<'a>]) -> Self {
        Self { photos, ..self }
    }

    /// A summary in plain text: the sentence that matters on the first line, then the next measurement, totals, reaches,
    /// pools, findings and cautions, at most 100 columns wide.
    ///
    /// The first line is not wrapped, so that it can be taken off whole. Undecided findings are printed and counted as
    /// undecided.
    pub fn summary(&self) -> String {
        summary::summary(&self.teller())
    }

    /// The profile as an SVG picture, whole in itself: text stays text, no colours, no outside references.
    ///
    /// It states how many times larger heights are drawn than lengths, and repeats the pipe true to scale. A drop that would
    /// squash the rest is cut short and its height written beside it. Where there is no path to draw it says so.
    pub fn profile_svg(&self) -> String {
        profile::picture(&self.teller(), true, "fw")
    }

    /// The whole report as one HTML page: no scripts, nothing from outside, for screen and paper.
    ///
    /// It goes by finding: the lateral's own, what fails, what is undecided, what meets, each with the notes along its stretch.
    /// Every text of a stranger's is escaped.
    ///
    /// # Errors
    /// [`ReportError::Page`] if the template cannot be filled.
    pub fn page_html(&self) -> Result<String, ReportError> {
        page::html(&self.teller(), self.photos)
    }

    /// The lateral from above as an SVG picture, true to scale, in black and white; nothing where the plan is not determined. Its
    /// scale holds where it is printed as wide as it says; it has bars in metres and feet to measure by.
    pub fn plan_svg(&self) -> Option<String> {
        plan::plan(&self.teller(), true)
    }

    /// One sheet for the owner: what was asked, what is known, what is not, what comes next, in sixty words; the pipe; what the
    /// words mean.
    ///
    /// # Errors
    /// As [`Report::page_html`].
    pub fn owner_html(&self) -> Result<String, ReportError> {
        Ok(Owner::new(&self.teller()).render()?)
    }

    /// One sheet for the inspector: permit, document and edition, pipe and size, fall of each reach, a sketch with distances and a
    /// north arrow where north is known.
    ///
    /// # Errors
    /// As [`Report::page_html`].
    pub fn inspector_html(&self) -> Result<String, ReportError> {
        Ok(Inspector::new(&self.teller()).render()?)
    }

    /// One sheet for the estimator: quantities of what is there. It proposes no work and gives no place to dig.
    ///
    /// # Errors
    /// As [`Report::page_html`].
    pub fn estimator_html(&self) -> Result<String, ReportError> {
        Ok(Estimator::new(&self.teller()).render()?)
    }

    /// One sheet on what to re-lay, or why no plan does: the plan, its trenches and quantities, the inverts; nothing where the job asks
    /// for none.
    ///
    /// # Errors
    /// As [`Report::page_html`].
    pub fn relay_html(&self) -> Result<Option<String>, ReportError> {
        let teller = self.teller();
        Ok(Relay::new(&teller).map(|page| page.render()).transpose()?)
    }

    /// One sheet for a dig that the job plans, by its number from 1: the shallow end first, the place and its landmarks, a section, what
    /// comes before digging; or, large and first, that nobody may dig by it, and what is missing. Nothing where there is no such dig.
    ///
    /// # Errors
    /// As [`Report::page_html`].
    pub fn dig_html(&self, number: usize) -> Result<Option<String>, ReportError> {
        let dig = self.answers.digs.iter().find(|dig| dig.number == number);
        Ok(dig.map(|dig| DigSheet::new(&self.teller(), dig).render()).transpose()?)
    }

    /// Every page and picture by the name of its file: `report.html`, `owner.html`, `inspector.html`, `estimator.html`, `profile.svg`,
    /// `plan.svg` where the plan is determined, and `dig-1.html` and so on for the digs that the job plans.
    ///
    /// # Errors
    /// As [`Report::page_html`].
    pub fn files(&self) -> Result<Vec<(String, String)>, ReportError> {
        let files = vec![
            ("report.html", self.page_html()?),
            ("owner.html", self.owner_html()?),
            ("inspector.html", self.inspector_html()?),
            ("estimator.html", self.estimator_html()?),
            ("profile.svg", self.profile_svg()),
        ];
        let relay = self.relay_html()?.map(|page| ("relay.html", page));
        let plan = self.plan_svg().map(|svg| ("plan.svg", svg));
        let mut files: Vec<(String, String)> =
            files.into_iter().chain(relay).chain(plan).map(|(name, text)| (name.to_owned(), text)).collect();
        for number in self.answers.digs.iter().map(|dig| dig.number) {
            files.extend(self.dig_html(number)?.map(|page| (format!("dig-{number}.html"), page)));
        }
        Ok(files)
    }

    fn teller(&self) -> Teller<'a> {
        Teller::new(self.answers, self.language)
    }
}
