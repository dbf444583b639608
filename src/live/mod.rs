//! While a class runs: what happens, and what is done about it.
//!
//! `core` decides and does nothing; `shell` does and decides nothing; `history` writes down what
//! happened and reads it again.

pub mod config;
pub mod control;
pub mod core;
pub mod daemon;
pub mod ears;
pub mod history;
pub mod rehearsal;
pub mod service;
pub mod shell;
pub mod status;
pub mod watch;
pub mod wishes;
