//! Each language that the program speaks: its wording, its numbers, movements laid over with its texts,
//! and classes that are spoken in it.

mod classes;
mod numbers;
mod translation;
mod wording;
