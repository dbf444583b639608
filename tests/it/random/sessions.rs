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
use sidevoice::planning::session::PerRound;
use sidevoice::planning::session::Session;
use sidevoice::planning::session::Sides;
use sidevoice::planning::session::read_session;
use sidevoice::planning::session::resolve;
use std::collections::HashSet;
use std::fmt::Write;

/// Reads a session that must be sound.
fn session(text: &str) -> Session {
    let mut sources = Sources::default();
    let source = sources.add("sessions/random.toml", text);
    let (read, faults) = read_session(&sources, source);
    assert_eq!(faults, [], "\n{text}");
    let (session, faults) = resolve(read.unwrap(), &LIBRARY);
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

/// One use: a movement with what may be said beside it.
fn movement_use() -> impl Strategy<Value = String> {
    let ids: Vec<_> = LIBRARY.keys().cloned().collect();
    let side = select(vec!["each", "right", "left"]);
    let first = select(vec!["right", "left", "by round"]);
    let maybe = prop::option::weighted::<BoxedStrategy<i64>>;
    let extras = (
        prop::option::weighted(0.5, side),
        prop::option::weighted(0.3, first),
        maybe(0.2, work().boxed()),
        maybe(0.3, rest().boxed()),
        prop::option::weighted(0.2, 1..=20i64),
        prop::bool::weighted(0.1),
    );
    (select(ids), extras).prop_map(|(id, (side, first, work, rest, load, note))| {
        let movement = LIBRARY[&id].as_ref();
        let sides = movement.map(|movement| movement.sides);
        let held = movement.is_some_and(|movement| movement.held().next().is_some());
        let mut text = format!("{{ use = \"{id}\"");
        // A write into a string cannot fail.
        if sides == Some(Sides::Each) {
            let _ = side.map(|it| write!(text, ", side = \"{it}\""));
            let _ = first.map(|it| write!(text, ", first_side = \"{it}\""));
        }
        let _ = work.map(|it| write!(text, ", work = \"{it}s\""));
        let _ = rest.map(|it| write!(text, ", rest = \"{it}s\""));
        let load = load.filter(|_| held);
        let _ = load.map(|it| write!(text, ", load = \"{it} kg\""));
        text += if note {
            ", note = \"Keep the walking lane clear.\" }"
        } else {
            " }"
        };
        text
    })
}

fn block() -> impl Strategy<Value = String> {
    let uses = prop::collection::vec(movement_use(), 1..6);
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
    (uses, times, rest_of_it).prop_map(|(uses, (rounds, times, lists), rest_of_it)| {
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
            "\n[[block]]\npart = \"{part}\"\nrounds = {rounds}\nwork = {}\nrest = {}\n",
            list(&|t| t.0),
            list(&|t| t.1)
        );
        if let Some(between) = between {
            text += &format!("between_rounds = \"{between}s\"\n");
        }
        if title {
            text += "title = \"On the ergometers' mats\"\n";
        }
        text + &format!(
            "last_rest = {last_rest}\ncount_out = {count_out}\nmovements = [\n  {},\n]\n",
            uses.join(",\n  ")
        )
    })
}

fn whole_session() -> impl Strategy<Value = String> {
    let head = (
        select(vec!["quiet", "normal", "full"]),
        any::<bool>(),
        prop::option::of(1..=10u8),
        prop::option::weighted(0.2, 10..=600i64),
        prop::option::weighted(0.2, 5..=600i64),
        any::<bool>(),
    );
    (head, prop::collection::vec(block(), 1..4)).prop_map(|(head, blocks)| {
        let (talk, by_ear, effort, lead_in, finish, words) = head;
        let mut text = format!("title = \"Random outing\"\ntalk = \"{talk}\"\nby_ear = {by_ear}\n");
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

fn plan(session: &Session, caution: CautionLength, mut voice: Voice) -> Plan {
    let wording = Wording::english();
    let settings = settings("table", caution);
    Planner::new(session, &wording, settings, &mut voice).finish(&mut voice)
}

fn keeps_its_rules(text: &str, caution: CautionLength, voice: Voice) {
    let session = session(text);
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
        let block = session(&text).text.blocks.remove(0);
        prop_assert_eq!(block.work, PerRound::Same(work));
        prop_assert_eq!(block.rest, PerRound::Same(rest));
    }

    #[test]
    fn each_sound_session_has_a_plan_that_keeps_its_rules(
        text in whole_session(),
        brief in any::<bool>(),
        seed in prop::option::of(0..1000u64),
    ) {
        let caution = if brief { CautionLength::Brief } else { CautionLength::Full };
        keeps_its_rules(&text, caution, seed.map_or(Voice::Even, Voice::Uneven));
    }
}

#[test]
fn what_the_next_work_needs_at_the_end_of_a_work_is_not_talked_over() {
    // No rests: each name is said in the work before, ahead of the count. A cue once ran into it.
    let text = "title = \"Outing\"\ntalk = \"full\"\n\n[[block]]\nrounds = 2\nwork = [\"1s\", \"10s\"]\n\
                count_out = false\nmovements = [\"ankle-rock\"]\n";
    keeps_its_rules(text, CautionLength::Full, Voice::Even);
}
