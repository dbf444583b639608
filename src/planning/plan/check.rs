//! x
use super::*;
use crate::planning::session::Session;
pub fn faults(_p: &Plan, _s: &Session, _x: &[Solved]) -> Vec<String> {
    Vec::new()
}
