//! What is read of a record: whole, torn, broken, of a later version, or anything at all.

use super::began;
use super::done;
use super::lines;
use super::minute;
use super::rated;
use super::work;
use super::write;
use crate::common::read_text;
use proptest::prelude::*;
use sidevoice::base::wording::Wording;
use sidevoice::live::history::Caution;
use sidevoice::live::history::Ended;
use sidevoice::live::history::Happening;
use sidevoice::live::history::Played;
use sidevoice::live::history::RateError;
use sidevoice::live::history::Run;
use sidevoice::live::history::caution;
use sidevoice::live::history::parse;
use sidevoice::live::history::rate;
use sidevoice::live::history::read;
use sidevoice::live::history::unfinished;
use sidevoice::planning::script::CautionLength;
use std::path::Path;

const FINISHED: Happening = Happening::Finished(Played { played_ms: 466_000 });

fn some_lines() -> String {
    let what = vec![
        Happening::SkippedRest {
            segment: "lead-in".to_owned(),
        },
        Happening::WorkBegun(work(7)),
        Happening::Paused,
        Happening::Resumed,
        done(7),
        Happening::WorkBegun(work(8)),
    ];
    lines(began("boathouse-five", Caution::Full), what)
}

fn parsed(text: &[u8]) -> (Option<Run>, Vec<String>) {
    let (run, faults) = parse(Path::new("log/a.jsonl"), text);
    (run, faults.iter().map(ToString::to_string).collect())
}

#[test]
fn a_file_cut_anywhere_keeps_all_whole_lines_and_is_no_fault() {
    let text = some_lines();
    let (whole, faults) = parsed(text.as_bytes());
    let whole = whole.unwrap();
    assert_eq!((whole.entries.len(), faults), (6, vec![]));
    for cut in 0..text.len() {
        let (run, faults) = parsed(&text.as_bytes()[..cut]);
        assert!(faults.is_empty(), "{cut}: {faults:?}");
        // A line that lacks but its line feed is whole.
        let ends = text.as_bytes()[cut] == b'\n';
        let lines = text[..cut].matches('\n').count() + usize::from(ends);
        let Some(run) = run else {
            assert_eq!(lines, 0, "{cut}");
            continue;
        };
        assert_eq!(run.entries.len() + 1, lines, "{cut}");
        assert_eq!(run.entries[..], whole.entries[..lines - 1]);
        assert_eq!(run.torn, !ends && !text[..cut].ends_with('\n'), "{cut}");
    }
    // Some disks fill up with zeros what was not written before the power went.
    let (run, faults) = parsed(&[text.as_bytes(), &[0; 200]].concat());
    assert_eq!((run.unwrap().entries.len(), faults), (6, vec![]));
}

#[test]
fn a_broken_line_in_the_middle_is_told_with_its_place_and_passed_over() {
    let text = some_lines();
    let mut lines: Vec<_> = text.lines().collect();
    lines[3] = "{\"time\": oops";
    lines[5] = "\u{fffd}";
    let (run, faults) = parsed((lines.join("\n") + "\n").as_bytes());
    assert_eq!(run.unwrap().entries.len(), 4);
    assert_eq!(faults.len(), 2);
    assert!(faults[0].starts_with("log/a.jsonl, line 4: "), "{faults:?}");
    assert!(faults[1].starts_with("log/a.jsonl, line 6: "), "{faults:?}");
}

#[test]
fn what_a_later_version_writes_is_borne() {
    let text = some_lines()
        .replace(
            "\"event\":\"paused\"",
            "\"event\":\"hummed\",\"tune\":[1,{}]",
        )
        .replace("\"version\":", "\"boat\":\"eight\",\"version\":")
        .replace("sidevoice-log/1", "sidevoice-log/2");
    let (run, faults) = parsed(text.as_bytes());
    let run = run.unwrap();
    assert!(faults.is_empty(), "{faults:?}");
    assert_eq!(run.entries[2].what, Happening::Unknown);
    assert_eq!(run.begun(), 2);
}

#[test]
fn files_that_are_no_record_are_told() {
    let told = |text: &str| parsed(text.as_bytes()).1.join("; ");
    let other = some_lines().replace("sidevoice-log/1", "logbook/9");
    assert!(told(&other).contains("expected the format `sidevoice-log/1`, found `logbook/9`"));
    let headless = some_lines().split_once('\n').unwrap().1.to_owned();
    assert!(told(&headless).contains("line 1: expected the beginning of a run"));
    let eleven = lines(
        began("a", Caution::Full),
        vec![done(1), rated(Some(11)), done(2)],
    );
    assert!(told(&eleven).contains("line 3: expected an effort from 0 to 10"));
}

#[test]
fn the_next_start_says_where_a_session_was_left() {
    let folder = tempfile::tempdir().unwrap();
    let said = || {
        let left = unfinished(&read(folder.path()).runs);
        let left = left.get("boathouse-five");
        left.map(|at| at.sentence(&Wording::english()))
    };
    assert_eq!(said(), None);
    write(folder.path(), "1.jsonl", some_lines());
    assert_eq!(read(folder.path()).runs[0].ended(), Ended::BrokenOff);
    let at = "Boathouse five stopped in round two at the press-up.";
    assert_eq!(said().as_deref(), Some(at));
    write(
        folder.path(),
        "1.jsonl",
        some_lines()
            + lines(began("", Caution::Full), vec![done(8)])
                .lines()
                .nth(1)
                .unwrap(),
    );
    let after = "Boathouse five stopped in round two after the press-up.";
    assert_eq!(said().as_deref(), Some(after));
    // A later run of the same session that came to its end, and one of another.
    let later = |text: String| text.replace("2026-10-14", "2026-10-15");
    let all = vec![Happening::WorkBegun(work(1)), done(1), FINISHED];
    let other = lines(began("outing", Caution::Full), all.clone());
    write(folder.path(), "2.jsonl", later(other));
    assert_eq!(said().as_deref(), Some(after));
    let same = lines(began("boathouse-five", Caution::Full), all);
    write(folder.path(), "3.jsonl", later(same));
    assert_eq!(said(), None);
}

#[test]
fn the_caution_is_brief_for_thirty_days_after_it_was_heard_in_full() {
    let heard = |length, what| {
        let text = lines(began("a", length), what);
        vec![parsed(text.as_bytes()).0.unwrap()]
    };
    let begun = || vec![Happening::WorkBegun(work(1))];
    let days = |days: i64| minute(days * 24 * 60);
    let full = heard(Caution::Full, begun());
    assert_eq!(caution(&full, days(1)), CautionLength::Brief);
    assert_eq!(caution(&full, days(30)), CautionLength::Brief);
    assert_eq!(caution(&full, days(31)), CautionLength::Full);
    // Before it: a clock that was wrong.
    assert_eq!(caution(&full, days(-1)), CautionLength::Full);
    assert_eq!(caution(&[], days(1)), CautionLength::Full);
    for not in [
        heard(Caution::Brief, begun()),
        heard(Caution::Full, vec![]),
        parsed(some_lines().as_bytes()).0.into_iter().collect(),
    ] {
        assert_eq!(caution(&not, days(1)), CautionLength::Full);
    }
}

#[test]
fn an_effort_told_later_goes_to_the_last_run_without_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    assert!(matches!(
        rate(path, Some(7), minute(30)),
        Err(RateError::NoneWaits)
    ));
    let text = some_lines();
    write(path, "1.jsonl", &text);
    // Cut in mid-line: what is left of it must not be glued to the answer.
    write(
        path,
        "2.jsonl",
        &text.replace("18:0", "19:0")[..text.len() - 9],
    );
    // Without its last line feed.
    write(path, "3.jsonl", text.replace("18:0", "20:0").trim_end());
    let nothing_done = lines(began("a", Caution::Full), vec![]).replace("18:0", "21:0");
    write(path, "4.jsonl", nothing_done);
    for (felt, file) in [
        (Some(7), "3.jsonl"),
        (None, "2.jsonl"),
        (Some(0), "1.jsonl"),
    ] {
        let run = rate(path, felt, minute(300)).unwrap();
        assert_eq!(run.file, path.join("log").join(file));
        let text = read_text(&run.file);
        assert!(text.ends_with("\"later\":true}\n"), "{text}");
        let record = read(path);
        assert_eq!(record.faults, []);
        let again = record.runs.iter().find(|r| r.file == run.file).unwrap();
        assert_eq!(again.rate(), Some(felt));
        assert!(!again.torn);
    }
    assert!(matches!(
        rate(path, Some(7), minute(30)),
        Err(RateError::NoneWaits)
    ));
}

/// Bytes, or lines of a record with bytes in them replaced.
fn anything() -> impl Strategy<Value = Vec<u8>> {
    let changes = prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..6);
    let damaged = changes.prop_map(|changes| {
        let mut bytes = some_lines().into_bytes();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        bytes
    });
    let number = any::<i64>().prop_map(|n| {
        let text = some_lines();
        text.replace("20000", &n.to_string())
            .replace(":60000", &format!(":{n}"))
            .into_bytes()
    });
    prop_oneof![prop::collection::vec(any::<u8>(), 0..400), damaged, number]
}

proptest! {
    #[test]
    fn whatever_is_in_a_file_it_is_read_or_told(bytes in anything()) {
        let (run, faults) = parse(Path::new("a.jsonl"), &bytes);
        let whole = bytes.iter().filter(|byte| **byte == b'\n').count();
        prop_assert!(faults.len() <= whole + 1);
        let runs: Vec<_> = run.into_iter().collect();
        for run in &runs {
            prop_assert!(run.minutes() >= 0.0);
            prop_assert!(run.done() <= run.entries.len());
            let _ = run.load();
        }
        let _ = caution(&runs, minute(0));
        let weeks = sidevoice::live::history::weeks(&runs, minute(0), &jiff::tz::TimeZone::UTC);
        prop_assert!(weeks.len() <= 1);
        for left in unfinished(&runs).values() {
            prop_assert!(left.sentence(&Wording::english()).contains("stopped"));
        }
    }
}
