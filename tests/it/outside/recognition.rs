//! A recogniser that knows nothing of the program tells which movement is next, from the sound.
//!
//! For every lead-in and every rest of every starter session, the line that names the next
//! movement is put to the recogniser with all names of the library in it to choose from; a line
//! that says a side, with both sides too. The names that no starter session uses, and the counts,
//! are put to it in the same way. Each distinct line is heard once: its take is the one that
//! `render` places, and a test below finds it in a rendered session sample for sample.

use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::io::Write;
use std::ops::ControlFlow;
use std::ops::Range;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::process::Stdio;

use serde::Deserialize;
use serde_json::json;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Frames;
use sidevoice::base::wording::Arg;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::planning::session::capitalised;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::out::Offline;
use sidevoice::sound::out::SoundFile;
use sidevoice::sound::out::write_sound;
use sidevoice::sound::speech::Rate;
use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use sidevoice::sound::speech::Utterance;

use super::program::BINARY;
use super::program::Ground;
use super::program::MS;
use super::program::Plan;
use super::program::SESSIONS;
use super::program::heard;
use super::program::need;
use super::program::read_wav;
use super::texts;
use crate::common::python;
use crate::common::starter;

/// The room that a line has in the file of lines: more than any name takes.
const ROOM: u64 = 8 * 48_000;

/// A line that must be understood, and what may be heard in its place.
pub(super) struct Put {
    pub utterance: Utterance,
    /// Where it is said first, for messages.
    pub place: String,
    pub among: Vec<String>,
}

/// The names of the library's movements.
fn names() -> Vec<String> {
    let movements = texts::starter_movements();
    let names: Vec<String> = movements
        .iter()
        .filter_map(|(_, text)| {
            let line = text.lines().find_map(|l| l.strip_prefix("name = \""))?;
            Some(line.trim_end_matches('"').to_owned())
        })
        .collect();
    assert_eq!(names.len(), movements.len());
    names
}

/// Returns the line's text with every other name in the place of its own, and, where it says a
/// side, with both sides.
fn among(text: &str, name: &str, side: Option<&str>, names: &[String]) -> Option<Vec<String>> {
    let text = text.to_lowercase();
    let at = text.find(&name.to_lowercase())?;
    let (before, after) = (&text[..at], &text[at + name.len()..]);
    let sides = |after: &str| match side {
        None => vec![after.to_owned()],
        Some(side) => ["right", "left"].map(|s| after.replace(side, s)).into(),
    };
    let all = names
        .iter()
        .flat_map(|n| sides(after).into_iter().map(move |a| (n, a)));
    Some(all.map(|(n, a)| format!("{before}{n}{a}")).collect())
}

/// Collects the name lines of a plan: at least one before each work, and each whole, with its side.
fn collect(plan: &Plan, session: &str, names: &[String], lines: &mut BTreeMap<Utterance, Put>) {
    for (at, work) in plan.segments.iter().enumerate() {
        let Some(name) = work.name.as_deref() else {
            continue;
        };
        let side = work.side.as_deref();
        // In the rest before it; where that has none, at the end of the work before.
        let before = at.checked_sub(1).expect("a lead-in comes first");
        let naming = |segment: usize| {
            let said = plan.sounds.iter().filter(move |s| s.segment == segment);
            said.filter(|s| s.cue.as_deref() == Some("name"))
        };
        let all = naming(before).chain(naming(before.saturating_sub(1)));
        let mut found = 0;
        for sound in all.filter(|s| side.is_none_or(|side| s.text.contains(side))) {
            let Some(among) = among(&sound.text, name, side, names) else {
                continue;
            };
            found += 1;
            let rate = Rate::from_per_mille((sound.rate * 1000.0).round() as u16);
            let utterance = Utterance {
                text: sound.text.clone(),
                rate,
            };
            lines.entry(utterance.clone()).or_insert(Put {
                utterance,
                place: format!("{session} at {} ms", sound.onset_ms),
                among,
            });
        }
        assert!(found > 0, "{session}: {name} is not named before it begins");
    }
}

/// Adds the bare name of every movement of the library, whether a session uses it or not.
fn add_names(names: &[String], lines: &mut BTreeMap<Utterance, Put>) {
    let wording = Wording::english();
    let say = |name: &str| capitalised(&wording.say("name", &[("name", Arg::Text(name))]));
    let all: Vec<String> = names.iter().map(|name| say(name)).collect();
    for text in &all {
        let utterance = Utterance::new(text.as_str());
        lines.entry(utterance.clone()).or_insert(Put {
            utterance,
            place: "the library".to_owned(),
            among: all.iter().map(|t| t.to_lowercase()).collect(),
        });
    }
}

/// Adds every count of the plans: told from all the others.
fn add_counts(plans: &[Plan], lines: &mut BTreeMap<Utterance, Put>) {
    let sounds = plans.iter().flat_map(|p| &p.sounds);
    let counts = sounds.filter(|s| s.kind == "count").map(|s| &s.text);
    let counts: BTreeSet<&String> = counts.collect();
    for count in &counts {
        let utterance = Utterance::new(count.as_str());
        lines.entry(utterance.clone()).or_insert(Put {
            utterance,
            place: "a count".to_owned(),
            among: counts.iter().map(|c| c.to_lowercase()).collect(),
        });
    }
}

/// Speaks each line once, by the program's own speaker and writer; returns the frames of each.
pub(super) fn write(
    lines: &[Utterance],
    voice: &str,
    takes: PathBuf,
    file: &Path,
) -> Vec<Range<u64>> {
    let settings = Settings {
        voice: Some(voice.to_owned()),
        cache: Some(takes),
        engine: Some(PathBuf::from(BINARY)),
        ..Settings::standard()
    };
    let (speaker, notices) = Speaker::open(settings);
    assert!(notices.is_empty(), "{notices:?}");
    let mut clips = Vec::new();
    let mut places = Vec::new();
    for (id, take) in (0..).zip(speaker.takes(lines)) {
        let take = take.unwrap();
        let at = id * ROOM;
        assert!((take.samples.len() as u64) < ROOM);
        places.push(at + take.onset.count()..at + take.end.count());
        clips.push(Clip {
            id,
            at: FrameAt::new(at),
            samples: take.samples,
        });
    }
    assert!(speaker.notices().is_empty(), "{:?}", speaker.notices());
    let length = Frames::new(lines.len() as u64 * ROOM);
    let mut go_on = |_| ControlFlow::Continue(());
    write_sound(
        file,
        &SoundFile::default(),
        Offline::new(clips, length),
        &mut go_on,
    )
    .unwrap();
    places
}

/// Puts each line to the recogniser; returns what it heard.
///
/// `words` are those that the recogniser lacks, in the phones of CMUdict.
pub(super) fn recognise(
    file: &Path,
    lines: &[Put],
    places: &[Range<u64>],
    words: &BTreeMap<String, String>,
) -> Vec<String> {
    #[derive(Deserialize)]
    struct Answer {
        heard: Vec<Item>,
    }
    #[derive(Deserialize)]
    struct Item {
        id: usize,
        text: String,
    }
    let items: Vec<_> = lines
        .iter()
        .zip(places)
        .enumerate()
        .map(|(id, (line, at))| {
            json!({ "id": id, "from": at.start, "to": at.end, "among": line.among })
        })
        .collect();
    let job = json!({ "wav": file, "items": items, "words": words }).to_string();
    let helper = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/recognise.py");
    let mut child = Command::new(python())
        .arg(helper)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    stdin.write_all(job.as_bytes()).unwrap();
    drop(stdin);
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "the recogniser failed");
    let answer: Answer = serde_json::from_slice(&output.stdout).unwrap();
    let ids: Vec<_> = answer.heard.iter().map(|h| h.id).collect();
    assert_eq!(ids, (0..lines.len()).collect::<Vec<_>>());
    answer.heard.into_iter().map(|h| h.text).collect()
}

/// Returns the lines that were heard as something else, of how many.
fn misheard(voice: &str) -> (Vec<String>, usize) {
    need(voice);
    let names = names();
    let ground = Ground::new();
    let mut lines = BTreeMap::new();
    let mut plans = Vec::new();
    for session in texts::stems("sessions") {
        // The recogniser knows English words.
        if starter(&session).text.language != Language::English {
            continue;
        }
        let plan = Plan::read(&ground.plan("cache", &session, voice));
        collect(&plan, &session, &names, &mut lines);
        plans.push(plan);
    }
    add_names(&names, &mut lines);
    add_counts(&plans, &mut lines);
    let lines: Vec<Put> = lines.into_values().collect();
    let spoken: Vec<_> = lines.iter().map(|l| l.utterance.clone()).collect();
    let file = ground.path("names.wav");
    let places = write(&spoken, voice, ground.takes("cache"), &file);
    let heard = recognise(&file, &lines, &places, &BTreeMap::new());
    let wrong = lines.iter().zip(&heard).filter_map(|(line, heard)| {
        let said = &line.utterance.text;
        (said.to_lowercase() != *heard)
            .then(|| format!("{said:?} was heard as {heard:?} ({})", line.place))
    });
    (wrong.collect(), lines.len())
}

fn all_are_told_apart(voice: &str) {
    let (wrong, of) = misheard(voice);
    println!("{voice}: {} of {of} lines recognised", of - wrong.len());
    assert!(
        wrong.is_empty(),
        "{voice}, {} of {of}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn the_next_movement_is_recognised_in_every_rest_in_the_neural_voice() {
    all_are_told_apart("hibari");
}

#[test]
fn the_next_movement_is_recognised_in_every_rest_in_the_compact_voice() {
    all_are_told_apart("compact");
}

#[test]
fn the_lines_that_are_recognised_are_those_of_the_rendered_session() {
    for (session, voice) in [(SESSIONS[0], "compact"), (SESSIONS[1], "hibari")] {
        let heard = heard(session, voice);
        let named = heard.plan.sounds.iter();
        let named: Vec<_> = named
            .filter(|s| s.cue.as_deref() == Some("name") && s.rate == 1.0)
            .collect();
        let spoken: Vec<_> = named
            .iter()
            .map(|s| Utterance::new(s.text.as_str()))
            .collect();
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("names.wav");
        let places = write(&spoken, voice, folder.path().join("takes"), &file);
        let (samples, _) = read_wav(&file);
        for (sound, place) in named.iter().zip(places) {
            let alone = &samples[place.start as usize..place.end as usize];
            let from = (sound.onset_ms * MS) as usize;
            let in_session = &heard.samples[from..from + alone.len()];
            assert!(alone == in_session, "{}: {}", heard.label, sound.text);
        }
    }
}

#[test]
fn the_recogniser_answers_what_is_heard_and_not_what_it_is_asked_for() {
    let mut lines = BTreeMap::new();
    add_names(&names(), &mut lines);
    // Six names, each put with the sound of the next.
    let lines: Vec<Put> = lines.into_values().step_by(12).collect();
    let spoken: Vec<_> = lines.iter().map(|l| l.utterance.clone()).collect();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("names.wav");
    let mut places = write(&spoken, "compact", folder.path().join("takes"), &file);
    places.rotate_left(1);
    let heard = recognise(&file, &lines, &places, &BTreeMap::new());
    let mut sounded: Vec<_> = spoken.iter().map(|u| u.text.to_lowercase()).collect();
    sounded.rotate_left(1);
    assert_eq!(heard, sounded);
}
