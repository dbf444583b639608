//! Rehearsing from outside: a coach made of synthetic voices, whose every word has a known time.

mod coach;
mod figures;
mod microphone;
mod odd_input;
mod reference;
