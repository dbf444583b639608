//! What is heard when, found in the samples of the rendered file alone.
//!
//! The file is parted half-way between each two sounds of the plan: so each part must hold one
//! sound, where the plan says, and every sample of the file belongs to one part.

use std::collections::BTreeSet;

use super::program::Heard;
use super::program::MS;
use super::program::Plan;
use super::program::Sound;
use super::program::all_heard;

/// -40 dBFS of 16 bits: a sound begins and ends with the first and last sample above it.
const AUDIBLE: f64 = 327.68;

/// A clip begins at most so long before its onset and ends at most so long after its end.
const LEAD_MS: i64 = 50;
const TAIL_MS: i64 = 200;

/// The least quiet between two sounds.
const APART_MS: i64 = 150;

/// A sound of the plan, and the frames at which it is heard: the first, and one past the last.
struct Found<'a> {
    sound: &'a Sound,
    first: i64,
    end: i64,
}

fn found(heard: &Heard) -> Vec<Found<'_>> {
    let sounds = &heard.plan.sounds;
    let half_way = |at: usize| (sounds[at - 1].end_ms + sounds[at].onset_ms) * MS / 2;
    let part = |(at, sound)| {
        let from = if at == 0 { 0 } else { half_way(at) };
        let to = match at + 1 < sounds.len() {
            true => half_way(at + 1),
            false => heard.samples.len() as i64,
        };
        let inside = &heard.samples[from as usize..to as usize];
        let loud = |s: &i16| f64::from(*s).abs() > AUDIBLE;
        let place = |index: Option<usize>| {
            from + index.expect("a part without a sound: nothing is heard in it") as i64
        };
        Found {
            sound,
            first: place(inside.iter().position(loud)),
            end: place(inside.iter().rposition(loud)) + 1,
        }
    };
    sounds.iter().enumerate().map(part).collect()
}

/// The marks that the contract asks for, worked out from the segments alone: ms and what is heard.
fn marks(plan: &Plan) -> BTreeSet<(i64, String)> {
    let mut marks = BTreeSet::new();
    let counts = |before: i64, from: i64| {
        [(3, "three"), (2, "two"), (1, "one")]
            .into_iter()
            .map(move |(n, word)| (before - n * 1000, word.to_owned()))
            .filter(move |(at, _)| *at >= from)
    };
    for (at, segment) in plan.segments.iter().enumerate() {
        let next = plan.segments.get(at + 1).map(|s| s.kind.as_str());
        let length = segment.end_ms - segment.start_ms;
        match segment.kind.as_str() {
            "work" => {
                marks.insert((segment.start_ms, "start".to_owned()));
                if next != Some("work") {
                    marks.insert((segment.end_ms, "end".to_owned()));
                }
                if length >= 15_000 || next == Some("work") {
                    marks.extend(counts(segment.end_ms, segment.start_ms + 1500));
                }
                if length >= 30_000 {
                    marks.insert((segment.end_ms - 10_000, "ten to go".to_owned()));
                }
                if length >= 40_000 {
                    marks.insert((segment.start_ms + length / 2, "halfway".to_owned()));
                }
            }
            "lead-in" | "rest" if next == Some("work") => {
                marks.extend(counts(segment.end_ms, segment.start_ms + 500));
            }
            _ => {}
        }
    }
    marks
}

#[test]
fn every_start_and_end_has_its_tone_and_its_count_and_no_other_mark_is_planned() {
    for heard in all_heard() {
        let planned: BTreeSet<(i64, String)> = heard
            .plan
            .sounds
            .iter()
            .filter(|s| s.kind != "line")
            .map(|s| (s.onset_ms, s.tone.clone().unwrap_or(s.text.clone())))
            .collect();
        assert_eq!(planned, marks(&heard.plan), "{}", heard.label);
    }
}

#[test]
fn every_tone_and_every_count_is_heard_on_its_very_sample() {
    for heard in all_heard() {
        for found in found(heard).iter().filter(|f| f.sound.kind != "line") {
            let off = found.first - found.sound.onset_ms * MS;
            let said = format!(
                "{}: {} {} at {} ms is {off} samples off",
                heard.label, found.sound.kind, found.sound.text, found.sound.onset_ms
            );
            assert_eq!(off, 0, "{said}");
        }
    }
}

#[test]
fn every_line_is_heard_when_the_plan_says() {
    for heard in all_heard() {
        assert!(heard.label.ends_with(&heard.plan.voice));
        let mut lines = 0;
        for found in found(heard) {
            let (sound, label) = (found.sound, &heard.label);
            let begins = found.first - sound.onset_ms * MS;
            // The plan is in whole milliseconds, lengths rounded up.
            let ends = found.end - sound.end_ms * MS;
            assert!(
                begins == 0 && -MS < ends && ends <= 0,
                "{label}: \"{}\" at {} ms begins {begins} and ends {ends} samples off",
                sound.text,
                sound.onset_ms
            );
            lines += usize::from(sound.kind == "line");
        }
        assert!(lines > 20, "{}: {lines} lines", heard.label);
    }
}

#[test]
fn no_two_sounds_are_heard_within_150_ms() {
    for heard in all_heard() {
        for pair in found(heard).windows(2) {
            let quiet = pair[1].first - pair[0].end;
            assert!(
                quiet >= APART_MS * MS,
                "{}: {quiet} samples after \"{}\" at {} ms",
                heard.label,
                pair[0].sound.text,
                pair[0].sound.onset_ms
            );
        }
    }
}

#[test]
fn where_the_plan_has_no_clip_there_are_digital_zeros() {
    for heard in all_heard() {
        let mut from = 0;
        let end = heard.samples.len() as i64;
        let sounds = heard.plan.sounds.iter();
        let clips = sounds.map(|s| ((s.onset_ms - LEAD_MS) * MS, (s.end_ms + TAIL_MS) * MS));
        let mut quiet = 0;
        for (begins, ends) in clips.chain([(end, end)]) {
            let begins = begins.max(from);
            let between = &heard.samples[from as usize..begins as usize];
            let sound = between.iter().position(|s| *s != 0);
            assert_eq!(
                sound.map(|at| (from + at as i64) / MS),
                None,
                "{}: sound at this ms",
                heard.label
            );
            quiet += between.len();
            from = from.max(ends).min(end);
        }
        assert!(
            quiet > heard.samples.len() / 4,
            "{}: {quiet} zeros",
            heard.label
        );
    }
}

#[test]
fn the_file_is_as_long_as_the_plan_with_left_as_right() {
    for heard in all_heard() {
        let last = heard.plan.segments.last().unwrap();
        assert_eq!(last.end_ms, heard.plan.length_ms);
        let frames = heard.plan.length_ms * MS;
        assert_eq!(heard.samples.len() as i64, frames, "{}", heard.label);
        assert_eq!(heard.unequal, 0, "{}", heard.label);
    }
}
