//! What is said, and when: pure functions from texts to a plan.
//!
//! This wing never touches a file, a clock, a thread or a sample; lengths of speech are handed
//! to it.

pub mod advice;
pub mod asides;
pub mod plan;
pub mod script;
pub mod session;
pub mod timeline;
