//! Whether the figures mean what they say: laterals are made, surveyed by a simulated head and solved, and the intervals,
//! pools and findings held against the truth.
//!
//! The pipe is fixed by its class and by a few random numbers that no estimate knows of: generator and estimator share no
//! prior. What the instrument states of its own errors (zero, seating, the counter's scale) is drawn anew for each lateral as
//! stated, unless a table is about what was stated wrongly. Every share is a mean over laterals, so that the pieces of one
//! lateral do not count as independent; its standard error is that of the mean. All of it is a function of the seeds: the
//! same tables on any machine and for any number of threads.
//!
//! | file | what |
//! | --- | --- |
//! | `shape` | the classes of pipe |
//! | `water` | the water that a true pipe holds |
//! | `source` | the sources of error, one at a time |
//! | `survey` | one lateral as made, read and told to the estimator |
//! | `share` | a share with its standard error |
//! | `row` | the quantities of one row of a table over many laterals |
//! | `bounds` | what a row must keep to, and the one list of what does not |
//! | `ties` | what is known beside the readings, drawn from the truth |
//! | `fits` | how often right and wrong ties are said to fit |
//! | `tables` | which rows stand in which table |
//! | `decisions` | how often a rule is said to be met or failed at fixed slopes |
//! | `methods` | ways of giving a found segment its interval, compared |
//! | `belly` | one belly in a straight pipe: probabilities of pools, and the power to find them |
//! | `markdown` | the tables in words |
//! | `figure` | the figures |
//! | `parallel` | laterals shared out over threads |

pub mod belly;
pub mod bounds;
pub mod decisions;
pub mod figure;
pub mod fits;
pub mod markdown;
pub mod methods;
pub mod parallel;
pub mod row;
pub mod shape;
pub mod share;
pub mod source;
pub mod survey;
pub mod tables;
pub mod ties;
pub mod water;

/// What can go wrong in a study: a lateral that cannot be made or solved, a figure that cannot be drawn.
pub type Error = Box<dyn core::error::Error + Send + Sync>;

/// One degree, rad.
pub const DEGREE: f64 = core::f64::consts::PI / 180.0;
