//! The promises, proved from outside: published values, the sound itself measured by other
//! programs, speech told apart by a recogniser, each choice proved the best by another solver, the same
//! bytes each time, plans as a coach reads them.
//!
//! What the program says of itself is taken only from its commands: the plan in JSON, the sound in a file;
//! and, for sessions made by the hundred, from what those commands print.

mod loudness;
mod optimum;
mod order;
mod program;
mod protocols;
mod recognition;
mod reproducible;
mod snapshots;
pub mod texts;
mod trade;
mod waveform;
