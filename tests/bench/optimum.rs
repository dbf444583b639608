//! How much of what could be said of a class is said: the sum of values against that of a solver which
//! sees the whole session at once, where the planner goes from stretch to stretch.
//!
//! Needs the Python of `scripts/setup --test`; takes up to a minute a session.

use serde::Deserialize;
use sidevoice::publish;
use std::io::Write;
use std::process::Command;
use std::process::Stdio;

#[path = "../it/common.rs"]
#[expect(dead_code, reason = "the tests use more of it than the bench does")]
mod common;
#[path = "row.rs"]
mod row;

use row::row;

const SECONDS: &str = "60";

/// What the outside solver found, and no solver can exceed.
#[derive(Deserialize)]
struct Whole {
    ours: i64,
    best: i64,
    bound: i64,
    status: String,
    /// Of each stretch, our sum and that of the best found.
    by_stretch: Vec<(i64, i64)>,
}

fn whole(id: &str) -> Whole {
    let plan = common::tabled_plan(&common::starter(id));
    let mut child = Command::new(common::python())
        .arg(common::root().join("tests/reference/whole.py"))
        .arg(SECONDS)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("Python");
    let mut stdin = child.stdin.take().expect("its input");
    let problem = publish::problem::problem(&plan);
    stdin.write_all(problem.as_bytes()).expect("a reader");
    drop(stdin);
    let output = child.wait_with_output().expect("an end");
    assert!(output.status.success(), "the outside solver failed");
    serde_json::from_slice(&output.stdout).expect("JSON")
}

fn main() {
    let mut worst: Option<(f64, &str)> = None;
    for id in ["boathouse-five", "ten-alone", "ladder"] {
        let found = whole(id);
        let share = 100.0 * found.ours as f64 / found.best as f64;
        println!(
            "{id}: {} of {} ({}, bound {}), {share:.2} %; the stretches: {:?}",
            found.ours, found.best, found.status, found.bound, found.by_stretch
        );
        if worst.is_none_or(|(least, _)| share < least) {
            worst = Some((share, id));
        }
    }
    let (share, id) = worst.expect("a session");
    row(
        "sum of values, of what a solver that sees the whole session finds in 60 s: the worst of three sessions",
        ">= 99 %",
        format!("{share:.1} % ({id})"),
    );
}
