//! What `check` found of sessions, as text and as JSON.

mod json;
mod text;

pub use json::json;
pub use text::Form;
pub use text::folder;
pub use text::session;
pub use text::summary;

use crate::base::diagnostic::Diagnostic;
use crate::planning::advice::Report;

/// A session that was looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    pub id: String,
    pub report: Report,
    /// What there is to say of it beyond what its files have wrong.
    pub told: Vec<Diagnostic>,
}
