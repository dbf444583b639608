//! A row of the table of figures; `scripts/bench` puts them into the README.

/// Prints a row: what was measured, what was aimed at (may be empty), what came out.
pub fn row(figure: &str, aim: &str, measured: impl std::fmt::Display) {
    println!("| {figure} | {aim} | {measured} |");
}
