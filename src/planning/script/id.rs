//! Stable ids of lines.

use crate::planning::session::Side;

/// Makes the id of a movement's line: `press-up/breathing-1`, `one-arm-row/form-1@right`.
pub fn of_movement(movement: &str, what: &str, side: Option<Side>) -> String {
    match side {
        None => format!("{movement}/{what}"),
        Some(side) => format!("{movement}/{what}@{}", side.id()),
    }
}
