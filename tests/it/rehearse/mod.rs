//! Rehearsing from outside: a coach made of synthetic voices, whose every word has a known time.

mod class;
mod coach;
mod edit;
mod figures;
mod microphone;
mod odd_input;
mod practice;
mod reading;
mod reference;
mod report;
