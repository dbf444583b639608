//! x
use super::*;
use crate::planning::session::Session;
pub fn faults(_p: &Plan, _s: &Session) -> Vec<String> {
    Vec::new()
}
