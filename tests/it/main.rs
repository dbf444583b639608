//! The tests of the whole, in one binary: each module is one boundary of the program.

mod advice;
mod common;
mod controls;
mod corpus;
mod daemon;
mod ears;
mod history;
mod house;
mod languages;
mod layouts;
mod live;
mod measured;
mod music;
mod open_data;
mod outside;
mod pace;
mod random;
mod rehearse;
mod solver;
mod sound;
mod speech;
mod world;
mod written;

/// Lets a test forbid allocation in a part of it; costs the others nothing.
#[cfg(debug_assertions)]
#[global_allocator]
static ALLOCATOR: assert_no_alloc::AllocDisabler = assert_no_alloc::AllocDisabler;
