//! The operator's notes, each with its place and its moment in the recording where one of them gives the other.

use super::Lateral;
use crate::prelude::*;
use crate::{
    adjust::Estimate,
    answers::NoteRow,
    condition::Moments,
    model::Note,
    said,
    units::{Part, Said},
};

/// Place and moment of a note contradict each other beyond this, m, and beyond three standard deviations (our choice).
const APART_M: f64 = 0.5;

/// What became of the notes.
pub(super) struct Noted {
    pub(super) rows: Vec<NoteRow>,
    /// How moments and stations were worked out, where any was.
    pub(super) sentence: Option<Said>,
    pub(super) warnings: Vec<Said>,
}

/// The recording beside the log.
struct Recording<'a> {
    moments: Moments<'a>,
    /// Time of the recording at time 0 of the log, s.
    offset_s: f64,
}

impl Lateral {
    /// The notes as rows. The recording is that of the first run whose log has a time.
    pub(super) fn noted(&self) -> Noted {
        let mut noted = Noted { rows: Vec::new(), sentence: None, warnings: Vec::new() };
        if self.job.notes.is_empty() {
            return noted;
        }
        // A run that cannot be one was refused when it was conditioned.
        let mut timed = self.job.runs.iter().filter_map(|run| Some((run, Moments::new(run).ok().flatten()?)));
        let (name, recording) = match timed.next() {
            Some((run, moments)) => {
                let start_s = run.time_s.as_ref().and_then(|t| t.first()).copied().unwrap_or(0.0);
                // The log's first reading is where the log starts.
                let offset_s = self.job.survey.video_offset_s.unwrap_or(-start_s);
                (run.name.as_str(), Some(Recording { moments, offset_s }))
            }
            None => ("", None),
        };
        let others = timed.next().is_some();
        let mut worked_out = false;
        for (i, note) in self.job.notes.iter().enumerate() {
            let row = self.note_row(i + 1, note, recording.as_ref(), &mut noted.warnings);
            worked_out |= row.station_sd_m.is_some() || row.video_time_sd_s.is_some();
            noted.rows.push(row);
        }
        if worked_out {
            let mut sentence = match self.job.survey.video_offset_s {
                Some(_) => said!(
                    "Moments in the recording marked \"about\", and stations of notes that gave only their moment, are \
                     worked out from the time of the log, with the offset of the recording that the job gives; where \
                     the head passed a place more than once, the first passing counts."
                ),
                None => said!(
                    "Moments in the recording marked \"about\", and stations of notes that gave only their moment, are \
                     worked out from the time of the log, with the recording taken to start with the log, since no \
                     offset was given; where the head passed a place more than once, the first passing counts."
                ),
            };
            if others {
                sentence.push(said!("It is taken to be the recording of {run}.", run = name));
            }
            noted.sentence = Some(sentence);
        }
        noted
    }

    fn note_row(&self, number: usize, note: &Note, recording: Option<&Recording>, warnings: &mut Vec<Said>) -> NoteRow {
        let mut row = NoteRow {
            number,
            station_m: note.station_m,
            to_m: note.to_m,
            text: note.text.clone(),
            water_seen: note.water_seen,
            video_time_s: note.video_time_s,
            photo: note.photo.clone(),
            ..NoteRow::default()
        };
        match (note.station_m, note.video_time_s) {
            (Some(station_m), None) => {
                let moment = recording.and_then(|r| Some((r.moments.time_at(station_m)?, r.offset_s)));
                // A recording shows nothing before it starts.
                if let Some((m, offset_s)) = moment.filter(|(m, offset_s)| m.time_s + offset_s >= 0.0) {
                    let time = Estimate::new(m.time_s + offset_s, m.sd_s);
                    row.video_time_s = Some(time.value);
                    row.video_time_sd_s = Some(time.sd);
                    row.video_time_low_s = Some(time.low.max(0.0));
                    row.video_time_high_s = Some(time.high);
                }
            }
            (None, Some(video_s)) => match recording.map(|r| r.moments.station_at(video_s - r.offset_s)) {
                Some(Some(place)) => {
                    let station = Estimate::new(place.station_m, place.sd_m);
                    row.station_m = Some(station.value);
                    row.station_sd_m = Some(station.sd);
                    row.station_low_m = Some(station.low);
                    row.station_high_m = Some(station.high);
                }
                Some(None) => warnings.push(said!(
                    "note {n} has no place: its moment, {moment} s into the recording, lies outside the time of the \
                     log; check video_offset, or give its station",
                    n = number,
                    moment = Part::Number(video_s, 0)
                )),
                None => warnings.push(said!(
                    "note {n} has no place: it gives its moment in the recording only, and no log has a time that tells \
                     where the head was; give its station",
                    n = number
                )),
            },
            (Some(station_m), Some(video_s)) => {
                let place = recording.and_then(|r| r.moments.station_at(video_s - r.offset_s));
                let to_m = note.to_m.unwrap_or(station_m);
                let (from_m, to_m) = (station_m.min(to_m), station_m.max(to_m));
                if let Some(place) = place {
                    let apart_m = (from_m - place.station_m).max(place.station_m - to_m);
                    if apart_m > APART_M.max(3.0 * place.sd_m) {
                        let words = self.job.report.words;
                        warnings.push(said!(
                            words,
                            "note {n} stands at {noted}, but at its moment, {moment} s into the recording, the head was \
                             at {head}: check video_offset, the note's station and its moment",
                            n = number,
                            noted = Part::At(station_m),
                            moment = Part::Number(video_s, 0),
                            head = Part::At(place.station_m)
                        ));
                    }
                }
            }
            (None, None) => {}
        }
        row
    }
}
