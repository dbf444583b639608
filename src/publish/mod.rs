//! One plan, many outputs: all read the same `Plan`, so they cannot disagree.
//!
//! This wing plans nothing and makes no sound; it turns a plan into text.

pub mod check;
pub mod json;
pub mod problem;
pub mod rounds;
pub mod text;
