//! `sidevoice`: a voice at your side that knows the plan.
//!
//! The map, in the order in which data flows: texts -> `Session` -> `Timeline` -> `Script` ->
//! `Plan` -> clips -> samples. Each wing imports only those above it; `compile` is the one join
//! of planning and sound. DEVELOPERS.md says what each room may and may not do.

pub mod base;
pub mod planning;
pub mod sound;

pub mod compile;
pub mod folder;
pub mod publish;
pub mod starter;

pub mod live;
pub mod rehearse;

pub mod cli;
