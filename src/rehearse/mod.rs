//! A class that the coach speaks herself: practised with less and less help, heard, and measured against
//! the plan. Pure.

pub mod ear;
pub mod pace;
pub mod practice;
pub mod reading;
pub mod report;
