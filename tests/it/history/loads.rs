//! The load of the weeks against values computed elsewhere.

use super::began;
use super::done;
use super::minute;
use super::rated;
use super::work;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use sidevoice::live::history::Caution;
use sidevoice::live::history::Entry;
use sidevoice::live::history::Happening;
use sidevoice::live::history::Played;
use sidevoice::live::history::Run;
use sidevoice::live::history::monotony;
use sidevoice::live::history::strain;
use sidevoice::live::history::weeks;
use std::path::Path;

/// Computed with numpy, `std(ddof=0)`: load 1560, deviation 209.61, monotony 1.063, strain 1658.6
/// (over n-1 it would be 0.984 and 1535.6).
const DAYS: [f64; 7] = [420.0, 0.0, 240.0, 360.0, 0.0, 540.0, 0.0];

#[test]
fn monotony_and_strain_are_those_of_the_deviation_over_n() {
    let close = |value: Option<f64>, wanted: f64, by: f64| (value.unwrap() - wanted).abs() < by;
    assert!(
        close(monotony(&DAYS), 1.063, 0.0005),
        "{:?}",
        monotony(&DAYS)
    );
    assert!(close(strain(&DAYS), 1658.6, 0.05), "{:?}", strain(&DAYS));
    assert_eq!(monotony(&[0.0; 7]), None);
    assert_eq!(monotony(&[54.6; 7]), None);
}

/// A run on a day of October 2026, of so many minutes, with the effort felt.
fn run(day: u8, clock: &str, minutes: i64, felt: Option<Option<u8>>) -> Run {
    let time: Timestamp = format!("2026-10-{day:02}T{clock}:00Z").parse().unwrap();
    let played = Played {
        played_ms: minutes * 60_000,
    };
    let mut what = vec![
        Happening::WorkBegun(work(1)),
        done(1),
        Happening::Finished(played),
    ];
    what.extend(felt.map(rated));
    let entry = |what| Entry::new(time, 0, what);
    let began = entry(Happening::Began(began("boathouse-five", Caution::Full)));
    let entries = what.into_iter().map(entry).collect();
    Run::new(Path::new("a.jsonl"), began, entries, false).unwrap()
}

#[test]
fn runs_are_summed_by_the_days_of_their_week() {
    // The vector above as runs: 7 x 60, 4 x 60, 9 x 20 twice, 9 x 60. The 12th is a Monday.
    let runs = [
        run(12, "06:00", 60, Some(Some(7))),
        run(14, "06:00", 60, Some(Some(4))),
        run(15, "06:00", 20, Some(Some(9))),
        run(15, "19:00", 20, Some(Some(9))),
        run(17, "06:00", 60, Some(Some(9))),
        // Sunday late in UTC, Monday in a zone to the east.
        run(18, "23:30", 10, Some(Some(0))),
    ];
    let now = "2026-10-19T00:00:00Z".parse().unwrap();
    let all = weeks(&runs, now, &TimeZone::UTC);
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].monday.to_string(), "2026-10-12");
    assert_eq!(all[0].days, DAYS);
    assert_eq!(all[0].load(), 1560.0);
    assert!((all[0].strain().unwrap() - 1658.6).abs() < 0.05);
    let east = TimeZone::fixed(jiff::tz::offset(2));
    let all = weeks(&runs, now, &east);
    let mondays: Vec<_> = all.iter().map(|week| week.monday.to_string()).collect();
    assert_eq!(mondays, ["2026-10-12", "2026-10-19"]);
}

#[test]
fn a_week_that_goes_on_or_lacks_an_effort_has_no_monotony() {
    let now = "2026-10-18T12:00:00Z".parse().unwrap();
    let of = |runs: &[Run], now| weeks(runs, now, &TimeZone::UTC).remove(0);
    let rated = [run(12, "06:00", 60, Some(Some(7)))];
    let week = of(&rated, now);
    assert_eq!(
        (week.load(), week.whole, week.monotony()),
        (420.0, false, None)
    );
    let after = "2026-10-20T12:00:00Z".parse().unwrap();
    assert!(of(&rated, after).monotony().is_some());
    for open in [None, Some(None)] {
        let runs = [rated[0].clone(), run(13, "06:00", 60, open)];
        let week = of(&runs, after);
        assert_eq!((week.load(), week.unrated, week.strain()), (420.0, 1, None));
    }
}

#[test]
fn minutes_of_a_run_cut_off_leave_its_pauses_out() {
    let what = vec![
        Happening::WorkBegun(work(1)),
        Happening::Paused,
        Happening::DeviceBack,
        Happening::Resumed,
        done(1),
        rated(Some(5)),
    ];
    let mut entries: Vec<_> = what
        .into_iter()
        .zip(1..)
        .map(|(what, at)| Entry::new(minute(at), 0, what))
        .collect();
    entries.last_mut().unwrap().time = minute(600);
    let first = Entry::new(
        minute(0),
        0,
        Happening::Began(began("boathouse-five", Caution::Full)),
    );
    let run = Run::new(Path::new("a.jsonl"), first, entries, true).unwrap();
    // To the pause at 2, and from 4 to 5; told hours later.
    assert_eq!(run.minutes(), 3.0);
    assert_eq!(run.load(), Some(15.0));
}
