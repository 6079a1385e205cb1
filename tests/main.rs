//! The tests across the crates, in one program, so that what they stand on is linked once.

mod compared;
mod conditioning;
mod coverage;
mod end_to_end;
mod files;
mod flaws;
mod fuzz_corpus;
mod hostile_files;
mod hostile_jobs;
mod injection;
mod job_faults;
mod job_round_trip;
mod lateral;
mod log_faults;
mod no_false_verdict;
mod path_props;
mod path_published;
mod pools;
mod report;
mod rules;
mod schema;
mod section_vectors;
mod segmentation;
mod statistics_published;
mod ties_reference;
mod units;
