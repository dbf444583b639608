//! How long planning takes, from lengths that are known: per session, per stretch, by size.

#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use sidevoice::base::wording::Wording;
use sidevoice::compile;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Session;
use std::time::Duration;
use std::time::Instant;

#[path = "../it/common.rs"]
#[expect(dead_code, reason = "the tests use more of it than the bench does")]
mod common;
#[path = "row.rs"]
mod row;

use common::Tabled;
use row::row;

/// The rounds of ten works each that make a session of so many intervals.
fn session(intervals: usize) -> Session {
    let mut session = common::starter("ten-alone");
    session.text.by_ear = false;
    let block = &mut session.text.blocks;
    block.retain(|b| b.uses.len() >= 10);
    block.truncate(1);
    block[0].uses.truncate(10);
    block[0].rounds = intervals / 10;
    session
}

/// Plans a session; returns the time of each stretch.
fn stretches(session: &Session, wording: &Wording) -> Vec<Duration> {
    let settings = compile::settings("tabled", CautionLength::Full);
    let mut planner = Planner::new(session, wording, settings, &mut Tabled);
    let mut times = Vec::new();
    loop {
        let begun = Instant::now();
        if planner.next_stretch(&mut Tabled).is_none() {
            return times;
        }
        times.push(begun.elapsed());
    }
}

/// The fastest of several runs: what the machine's other work adds is no figure of ours.
fn best(session: &Session, wording: &Wording) -> Duration {
    let run = || {
        let begun = Instant::now();
        let settings = compile::settings("tabled", CautionLength::Full);
        let planner = Planner::new(session, wording, settings, &mut Tabled);
        std::hint::black_box(planner.finish(&mut Tabled));
        begun.elapsed()
    };
    (0..9).map(|_| run()).min().unwrap_or_default()
}

fn main() {
    let wording = Wording::english();
    let (hundred, five_hundred) = (session(100), session(500));
    let (short, long) = (best(&hundred, &wording), best(&five_hundred, &wording));
    let ms = |d: Duration| d.as_secs_f64() * 1e3;
    row(
        "planning 100 intervals from known lengths",
        "20 ms",
        format!("{:.1} ms", ms(short)),
    );
    row(
        "planning 500 intervals, times that of 100",
        "5.5",
        format!("{:.2}", ms(long) / ms(short)),
    );
    let mut times = stretches(&five_hundred, &wording);
    for id in [
        "boathouse-five",
        "ladder",
        "strength-long-rests",
        "first-by-ear",
    ] {
        times.extend(stretches(&common::starter(id), &wording));
    }
    times.sort();
    row(
        "a stretch: median, worst",
        "0.2 ms, 5 ms",
        format!(
            "{:.2} ms, {:.2} ms",
            ms(times[times.len() / 2]),
            ms(times[times.len() - 1])
        ),
    );
}
