//! Sessions made at random from the starter's movements: sound, and planned by the rules.

use super::LIBRARY;
use super::cases;
use crate::common::Voice;
use proptest::prelude::*;
use proptest::sample::select;
use sidevoice::base::diagnostic::Sources;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Wording;
use sidevoice::compile::settings;
use sidevoice::planning::advice;
use sidevoice::planning::advice::Kilograms;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::plan::check;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Lasts;
use sidevoice::planning::session::Library;
use sidevoice::planning::session::PerRound;
use sidevoice::planning::session::Session;
use sidevoice::planning::session::Sides;
use sidevoice::planning::session::read_session;
use sidevoice::planning::session::resolve;
use std::collections::HashSet;

/// Reads a session that must be sound.
pub fn session(text: &str, library: &Library) -> Session {
    let mut sources = Sources::default();
    let source = sources.add("sessions/random.toml", text);
    let (read, faults) = read_session(&sources, source);
    assert_eq!(faults, [], "\n{text}");
    let (session, faults) = resolve(read.unwrap(), library);
    assert_eq!(faults, [], "\n{text}");
    session.unwrap()
}

/// A rest as the files write it: none, or 1 to 120 s.
fn rest() -> impl Strategy<Value = i64> {
    prop_oneof![1 => Just(0i64), 2 => 1..=12i64, 2 => 1..=120i64]
}

fn work() -> impl Strategy<Value = i64> {
    prop_oneof![1 => 1..=10i64, 2 => 10..=60i64, 1 => 1..=200i64]
}

/// How a block is laid out, as far as it bears on what its uses may say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Layout {
    Plain,
    Every,
    Stations,
}

/// How long one use lasts, if it says so itself.
#[derive(Debug, Clone, Copy)]
enum Own {
    Nothing,
    Work(i64),
    Reps(i64),
    UntilKey,
}

fn own() -> impl Strategy<Value = Own> {
    prop_oneof![
        6 => Just(Own::Nothing),
        2 => work().prop_map(Own::Work),
        2 => (1..=15i64).prop_map(Own::Reps),
        1 => Just(Own::UntilKey),
    ]
}

/// One use: a movement with what may be said beside it.
fn movement_use(library: &'static Library, layout: Layout) -> impl Strategy<Value = String> {
    let ids: Vec<_> = library.keys().cloned().collect();
    let side = select(vec!["each", "right", "left", "halves"]);
    let first = select(vec!["right", "left", "by round"]);
    let extras = (
        prop::option::weighted(0.5, side),
        prop::option::weighted(0.3, first),
        own(),
        prop::option::weighted(0.3, rest()),
        prop::option::weighted(0.2, 1..=20i64),
        prop::bool::weighted(0.1),
    );
    (select(ids), extras).prop_map(move |(id, (side, first, own, rest, load, note))| {
        let movement = library[&id].as_ref().unwrap();
        let mut text = format!("{{ use = \"{id}\"");
        let mut add = |more: String| text += &more;
        let own = match own {
            Own::Reps(_) if movement.tempo.is_none() => Own::Nothing,
            _ if layout != Layout::Plain => Own::Nothing,
            own => own,
        };
        let one_side = |side: &&str| matches!(*side, "right" | "left");
        // On stations nobody works one side alone.
        let side = side.filter(|side| layout != Layout::Stations || !one_side(side));
        // Two halves need an even work of ten seconds at least.
        let divides = match own {
            Own::Work(secs) => secs >= 10,
            Own::Reps(reps) => reps % 2 == 0 && reps >= 6,
            _ => false,
        };
        let side = side.filter(|_| movement.sides == Sides::Each);
        let side = side.filter(|side| *side != "halves" || divides);
        if let Some(side) = side {
            add(format!(", side = \"{side}\""));
        }
        let takes_turns =
            movement.sides != Sides::Both && side.as_ref().is_none_or(|s| !one_side(s));
        if let Some(first) = first.filter(|_| takes_turns) {
            add(format!(", first_side = \"{first}\""));
        }
        match own {
            Own::Nothing => {}
            Own::Work(secs) => add(format!(", work = \"{secs}s\"")),
            Own::Reps(reps) => add(format!(", reps = {reps}")),
            Own::UntilKey => add(", until = \"key\"".to_owned()),
        }
        match (own, rest.filter(|_| layout == Layout::Plain)) {
            (Own::UntilKey, rest) => add(format!(", rest = \"{}s\"", rest.unwrap_or(0).max(5))),
            (_, Some(rest)) => add(format!(", rest = \"{rest}s\"")),
            _ => {}
        }
        if let Some(load) = load.filter(|_| movement.held().next().is_some()) {
            add(format!(", load = \"{load} kg\""));
        }
        if note {
            add(", note = \"Keep the walking lane clear.\"".to_owned());
        }
        text + " }"
    })
}

fn block(library: &'static Library) -> impl Strategy<Value = String> {
    let layout = prop_oneof![
        6 => Just(Layout::Plain),
        1 => Just(Layout::Every),
        1 => Just(Layout::Stations),
    ];
    layout.prop_flat_map(move |layout| block_of(library, layout))
}

fn block_of(library: &'static Library, layout: Layout) -> impl Strategy<Value = String> {
    let least = if layout == Layout::Stations { 2 } else { 1 };
    let uses = prop::collection::vec(movement_use(library, layout), least..6);
    let times = (
        1..=3usize,
        prop::collection::vec((work(), rest()), 3),
        any::<bool>(),
    );
    let rest_of_it = (
        prop::option::of(rest()),
        any::<bool>(),
        prop::bool::weighted(0.8),
        select(vec!["warm-up", "main", "cool-down"]),
        prop::bool::weighted(0.3),
    );
    (uses, times, rest_of_it).prop_map(move |(uses, (rounds, times, lists), rest_of_it)| {
        let (between, last_rest, count_out, part, title) = rest_of_it;
        let list = |of: &dyn Fn(&(i64, i64)) -> i64| match lists {
            true => {
                let each: Vec<_> = times[..rounds]
                    .iter()
                    .map(|t| format!("\"{}s\"", of(t)))
                    .collect();
                format!("[{}]", each.join(", "))
            }
            false => format!("\"{}s\"", of(&times[0])),
        };
        let mut text = format!(
            "\n[[block]]\npart = \"{part}\"\nrounds = {rounds}\nwork = {}\n",
            // On stations sides change in the middle: ten seconds at least.
            list(&|t| if layout == Layout::Stations {
                t.0.max(10)
            } else {
                t.0
            })
        );
        if layout == Layout::Every {
            // Longer than any work here, so that a rest is left.
            text += "every = \"210s\"\n";
        } else {
            text += &format!("rest = {}\n", list(&|t| t.1));
            if let Some(between) = between {
                text += &format!("between_rounds = \"{between}s\"\n");
            }
        }
        if layout == Layout::Stations {
            text += "stations = true\n";
        }
        if title {
            text += "title = \"On the ergometers' mats\"\n";
        }
        // What comes after a work that ends by a key is said in a rest.
        let last_rest = last_rest || uses.iter().any(|used| used.contains("until"));
        text + &format!(
            "last_rest = {last_rest}\ncount_out = {count_out}\nmovements = [\n  {},\n]\n",
            uses.join(",\n  ")
        )
    })
}

/// The text of a session of movements of a library.
pub fn whole_session(library: &'static Library) -> impl Strategy<Value = String> {
    let head = (
        select(vec!["quiet", "normal", "full"]),
        any::<bool>(),
        prop::option::of(1..=10u8),
        prop::option::weighted(0.2, 10..=600i64),
        prop::option::weighted(0.2, 5..=600i64),
        any::<bool>(),
        prop::bool::weighted(0.2),
    );
    (head, prop::collection::vec(block(library), 1..4)).prop_map(|(head, blocks)| {
        let (talk, by_ear, effort, lead_in, finish, words, by_key) = head;
        let mut text = format!("title = \"Random outing\"\ntalk = \"{talk}\"\nby_ear = {by_ear}\n");
        if by_key {
            text += "begin = \"key\"\n";
        }
        if let Some(effort) = effort {
            text += &format!("effort = {effort}\n");
        }
        if let Some(lead_in) = lead_in {
            text += &format!("lead_in = \"{lead_in}s\"\n");
        }
        if let Some(finish) = finish {
            text += &format!("finish = \"{finish}s\"\n");
        }
        if words {
            text +=
                "opening = \"The river is high today.\"\nclosing = \"The boat is alongside.\"\n";
            text += "ready = [{ item = \"dumbbell\", place = \"the bench's right end\" }]\n";
        }
        text + &blocks.concat()
    })
}

pub fn plan(session: &Session, caution: CautionLength, mut voice: Voice) -> Plan {
    let wording = Wording::english();
    let settings = settings("table", caution);
    Planner::new(session, &wording, settings, &mut voice).finish(&mut voice)
}

pub fn keeps_its_rules(text: &str, library: &Library, caution: CautionLength, voice: Voice) {
    let session = session(text, library);
    let plan = plan(&session, caution, voice);
    let faults = check::faults(&plan, &session);
    assert!(faults.is_empty(), "{faults:#?}\n{text}");
    adds_up(&session, &plan, text);
    let segments = &plan.timeline.segments;
    assert!(
        segments.windows(2).all(|pair| pair[0].end == pair[1].start),
        "\n{text}"
    );
    assert!(
        plan.stretches.len() == plan.timeline.stretches.len(),
        "\n{text}"
    );
}

/// The report of any session adds up, says each fact once and keeps to one line a thing.
fn adds_up(session: &Session, plan: &Plan, text: &str) {
    let report = advice::report(session, plan, Kilograms::USUAL);
    let totals = report.totals;
    assert_eq!(totals.work + totals.rest, totals.training, "\n{text}");
    assert_eq!(report.fit.len(), plan.stretches.len(), "\n{text}");
    let counts = &report.counts;
    let sides = counts.right + counts.left + counts.both + counts.alternate;
    assert_eq!(sides, totals.works, "\n{text}");
    let patterns: usize = counts.patterns.iter().map(|(_, works)| works).sum();
    assert_eq!(patterns, totals.works, "\n{text}");
    let kcal: Millis = report.energy.parts.iter().map(|part| part.time).sum();
    assert_eq!(kcal, totals.training, "\n{text}");
    for fit in &report.fit {
        assert!(
            fit.needed >= Millis::ZERO && fit.free >= Millis::ZERO,
            "{fit:?}"
        );
        assert!(
            fit.added >= Millis::ZERO && fit.added <= fit.rest,
            "{fit:?}"
        );
    }
    let mut told = HashSet::new();
    for advice in &report.advice {
        assert!(
            told.insert((advice.code, advice.place)),
            "{advice:?}\n{text}"
        );
        for words in [&advice.message, &advice.help] {
            assert!(!words.is_empty() && !words.contains(char::is_control));
        }
    }
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn a_length_is_read_as_it_is_shown(work in 1000..=14_400_000i64, rest in 1000..=3_600_000i64) {
        let (work, rest) = (Millis::from_ms(work), Millis::from_ms(rest));
        let text = format!(
            "title = \"A\"\n[[block]]\nwork = \"{work}\"\nrest = \"{rest}\"\nmovements = [\"march\"]\n"
        );
        let block = session(&text, &LIBRARY).text.blocks.remove(0);
        prop_assert_eq!(block.work, Lasts::For(PerRound::Same(work)));
        prop_assert_eq!(block.rest, PerRound::Same(rest));
    }

    #[test]
    fn each_sound_session_has_a_plan_that_keeps_its_rules(
        text in whole_session(&LIBRARY),
        brief in any::<bool>(),
        seed in prop::option::of(0..1000u64),
    ) {
        let caution = if brief { CautionLength::Brief } else { CautionLength::Full };
        keeps_its_rules(&text, &LIBRARY, caution, seed.map_or(Voice::Even, Voice::Uneven));
    }
}

#[test]
fn what_the_next_work_needs_at_the_end_of_a_work_is_not_talked_over() {
    // No rests: each name is said in the work before, ahead of the count. A cue once ran into it.
    let text = "title = \"Outing\"\ntalk = \"full\"\n\n[[block]]\nrounds = 2\nwork = [\"1s\", \"10s\"]\n\
                count_out = false\nmovements = [\"ankle-rock\"]\n";
    keeps_its_rules(text, &LIBRARY, CautionLength::Full, Voice::Even);
}
