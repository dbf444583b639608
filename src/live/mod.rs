//! While a class runs: what happens, and what is done about it.
//!
//! `core` decides and does nothing; `shell` does and decides nothing.

pub mod config;
pub mod control;
pub mod core;
pub mod shell;
pub mod status;
