//! A class that the coach speaks herself: heard, and measured against the plan. Pure.

pub mod ear;
pub mod pace;
