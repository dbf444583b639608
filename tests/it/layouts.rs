//! The ways to lay out a class, as they are heard: repetitions, on the minute, by a key, on stations,
//! in halves, sides in turn; and what fades or takes turns over the rounds.

use crate::common::Tabled;
use crate::common::tabled_plan;
use crate::random::LIBRARY;
use crate::random::sessions::session;
use sidevoice::base::wording::Wording;
use sidevoice::compile;
use sidevoice::live::control::Mapping;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::plan::Settings;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::plan::check;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::script::Topic;
use sidevoice::planning::timeline::Segment;
use sidevoice::planning::timeline::SegmentKind;
use sidevoice::publish::rounds::rounds;
use std::collections::HashMap;

/// Plans a session of one block, or of whatever `text` says after the title.
fn plan(text: &str) -> Plan {
    let text = format!("title = \"Layouts\"\n{text}");
    let session = session(&text, &LIBRARY);
    let plan = tabled_plan(&session);
    assert_eq!(check::faults(&plan, &session), [""; 0], "{text}");
    plan
}

fn of_kind(plan: &Plan, kind: SegmentKind) -> Vec<(usize, &Segment)> {
    let segments = plan.timeline.segments.iter().enumerate();
    segments.filter(|(_, s)| s.kind == kind).collect()
}

/// Returns the spoken marks of a segment: seconds after its start, and the words.
fn counts(plan: &Plan, (index, segment): (usize, &Segment)) -> Vec<(f64, String)> {
    let of = |s: &&sidevoice::planning::plan::Sound| s.segment == index;
    let counts = plan.sounds.iter().filter(of);
    counts
        .filter(|s| s.kind == SoundKind::Count)
        .map(|s| ((s.onset - segment.start).secs(), s.text.clone()))
        .collect()
}

/// Returns the lines of a topic in a segment.
fn lines(plan: &Plan, segment: usize, topic: Topic) -> Vec<&str> {
    let sounds = plan.sounds.iter().filter(|s| s.segment == segment);
    sounds
        .filter(|s| matches!(&s.kind, SoundKind::Line { topic: t, .. } if *t == topic))
        .map(|s| s.text.as_str())
        .collect()
}

#[test]
fn a_work_of_repetitions_lasts_as_long_as_its_tempo_makes_it() {
    // PMC6006544 (R): 2/0/2/0 is a repetition of 4 s, 5/0/3/0 of 8 s, 6/0/4/0 of 10 s.
    for (tempo, each) in [
        ("2/0/2/0", 4),
        ("5/0/3/0", 8),
        ("6/0/4/0", 10),
        ("3-0-X-0", 4),
    ] {
        let movement = format!(
            "name = \"slow stroke\"\npattern = \"pull\"\ntempo = \"{tempo}\"\n\
             start = \"Stand tall.\"\nhow = [\"Draw the elbows back.\"]\n"
        );
        let text = "title = \"T\"\n[[block]]\nreps = 5\nmovements = [\"slow-stroke\"]\n";
        let movements = [("slow-stroke".to_owned(), movement)];
        let session = crate::outside::texts::session("sessions/t.toml", text, &movements);
        let plan = tabled_plan(&session);
        let work = of_kind(&plan, SegmentKind::Work)[0];
        assert_eq!(work.1.length().ms(), 5000 * each, "{tempo}");
        let words = ["two", "three", "four", "last one"];
        let wanted: Vec<_> = (1..=4)
            .map(|n| (f64::from(n * each as i32), words[n as usize - 1].to_owned()))
            .collect();
        assert_eq!(counts(&plan, work), wanted, "{tempo}");
    }
}

#[test]
fn counted_works_have_no_count_out_and_at_most_three_cues_between_the_numbers() {
    let plan = plan(
        "talk = \"full\"\n[[block]]\nreps = 20\nrest = \"30s\"\nmovements = [\"goblet-squat\", \"press-up\"]\n",
    );
    for work in of_kind(&plan, SegmentKind::Work) {
        let heard = counts(&plan, work);
        assert_eq!(heard.len(), 19);
        assert_eq!(heard[18].1, "last one");
        let solved = plan.stretches.iter().find(|s| {
            let at = plan.timeline.stretches[s.index];
            at.work == Some(work.0)
        });
        let limit = &solved.unwrap().problem.limits[0];
        assert!(limit.windows.len() <= 3);
    }
}

#[test]
fn where_nothing_is_said_of_the_breath_out_is_on_the_effort() {
    // Williams et al. 2007, Circulation 116:572-84 (R2): out on the effort.
    for (begins, wanted) in [
        ("effort", "Breathe out on the effort, in as you return."),
        ("lowering", "Breathe in as you lower, out on the effort."),
    ] {
        let movement = format!(
            "name = \"long press\"\npattern = \"push\"\ntempo = \"4-0-4-0\"\nbegins = \"{begins}\"\n\
             start = \"Stand tall.\"\nhow = [\"Press up and lower.\"]\n"
        );
        let text = "title = \"T\"\n[[block]]\nreps = 5\nmovements = [\"long-press\"]\n";
        let movements = [("long-press".to_owned(), movement)];
        let session = crate::outside::texts::session("sessions/t.toml", text, &movements);
        let plan = tabled_plan(&session);
        let work = of_kind(&plan, SegmentKind::Work)[0].0;
        assert_eq!(lines(&plan, work, Topic::Breathing), [wanted]);
    }
}

#[test]
fn on_the_minute_each_work_begins_on_its_minute() {
    // Smith et al. 2025, Front Physiol 15:1511961 (R): every minute, 5 rounds of 4: 1200 s.
    let plan = plan(
        "[[block]]\nrounds = 5\nreps = 10\nevery = \"1m\"\nlast_rest = true\n\
         movements = [\"squat\", \"press-up\", \"hip-hinge\", \"bent-over-row\"]\n",
    );
    let works = of_kind(&plan, SegmentKind::Work);
    assert_eq!(works.len(), 20);
    for pair in works.windows(2) {
        assert_eq!((pair[1].1.start - pair[0].1.start).ms(), 60_000);
    }
    assert_eq!(plan.timeline.training_time().ms(), 1_200_000);
}

#[test]
fn halves_change_sides_in_the_middle_counted_and_named() {
    let plan = plan(
        "[[block]]\nrounds = 2\nwork = \"40s\"\nrest = \"20s\"\n\
         movements = [{ use = \"one-arm-row\", side = \"halves\", first_side = \"by round\" }]\n",
    );
    let works = of_kind(&plan, SegmentKind::Work);
    assert_eq!(works.len(), 4);
    for (round, pair) in works.chunks(2).enumerate() {
        let (first, second) = (pair[0], pair[1]);
        assert_eq!(first.1.end, second.1.start, "no rest between");
        assert_eq!(first.1.length().ms(), 20_000);
        let count: Vec<_> = counts(&plan, first);
        let three_two_one = [17.0, 18.0, 19.0].iter().zip(["three", "two", "one"]);
        let wanted: Vec<_> = three_two_one
            .map(|(at, word)| (*at, word.to_owned()))
            .collect();
        assert_eq!(count, wanted);
        let other = if round == 0 { "left" } else { "right" };
        assert_eq!(
            lines(&plan, first.0, Topic::Name),
            [format!(
                "Next, the {other} arm, the dumbbell in your {other} hand."
            )]
        );
    }
}

#[test]
fn sides_in_turn_may_say_which_begins() {
    let plan = plan(
        "[[block]]\nrounds = 2\nwork = \"30s\"\nrest = \"15s\"\n\
         movements = [{ use = \"reverse-lunge\", first_side = \"by round\" }, \"squat\"]\n",
    );
    let names: Vec<_> = plan
        .sounds
        .iter()
        .filter(|s| s.text.contains("everse lunge, starting"))
        .map(|s| s.text.as_str())
        .collect();
    assert_eq!(names.len(), 2, "{names:?}");
    assert!(names[0].contains("starting right") && names[1].contains("starting left"));
}

#[test]
fn on_stations_all_hear_what_is_where_and_cues_name_their_station() {
    let plan = plan(
        "[[block]]\nrounds = 2\nwork = \"40s\"\nrest = \"20s\"\nstations = true\n\
         movements = [\"press-up\", \"step-up\", \"goblet-squat\"]\n",
    );
    let opening: Vec<_> = lines(&plan, 0, Topic::Name);
    assert_eq!(
        opening,
        [
            "Station one: press-up.",
            "Station two: step-up, right first, then left from halfway.",
            "Station three: goblet squat.",
            "Take one station each."
        ]
    );
    for (index, work) in of_kind(&plan, SegmentKind::Work) {
        let middle = counts(&plan, (index, work));
        assert!(
            middle.contains(&(20.0, "change sides".to_owned())),
            "{middle:?}"
        );
        let cues = plan.sounds.iter().filter(|s| s.segment == index);
        let cues = cues.filter(|s| matches!(s.kind, SoundKind::Line { .. }));
        assert!(cues.clone().count() > 0);
        assert!(cues.into_iter().all(|s| s.text.starts_with("Station ")));
    }
    for (index, _) in of_kind(&plan, SegmentKind::Rest) {
        let said = lines(&plan, index, Topic::Name).join(" ");
        assert!(
            said.to_lowercase().contains("on to your next station"),
            "{said}"
        );
    }
}

#[test]
fn an_open_work_is_quiet_but_for_the_key_every_twenty_seconds() {
    let plan = plan(
        "begin = \"key\"\n[[block]]\nuntil = \"key\"\nrest = \"15s\"\nmovements = [\"squat\", \"plank\"]\n",
    );
    for work in of_kind(&plan, SegmentKind::Work) {
        assert!(work.1.open);
        let heard = counts(&plan, work);
        let key = "Press space to go on.".to_owned();
        assert_eq!(heard, [(20.0, key.clone()), (40.0, key)]);
        let mut inside = plan.sounds.iter().filter(|s| s.segment == work.0);
        let last = inside.rfind(|s| matches!(s.kind, SoundKind::Line { .. }));
        assert!((last.unwrap().end - work.1.start).ms() < 20_000);
    }
    let waits = of_kind(&plan, SegmentKind::LeadIn)[1];
    assert!(waits.1.open);
    assert_eq!(counts(&plan, waits).len(), 3);
    // After the key: the name, and the count.
    let after = of_kind(&plan, SegmentKind::LeadIn)[2];
    assert_eq!(lines(&plan, after.0, Topic::Name), ["Squat."]);
    assert_eq!(counts(&plan, after).len(), 3);
}

#[test]
fn what_ends_a_wait_is_told_as_it_is_mapped() {
    let session = session(
        "title = \"Layouts\"\nbegin = \"key\"\n[[block]]\nuntil = \"key\"\nrest = \"15s\"\n\
         movements = [\"squat\"]\n",
        &LIBRARY,
    );
    let wording = Wording::english();
    let standard = compile::settings("tabled", CautionLength::Full);
    // A plan without a configuration says what the keys are without one.
    assert_eq!(standard.key, Mapping::default().goes_on_spoken(&wording));
    for (key, begins, goes_on) in [
        (
            Some("space"),
            "Press space to begin.",
            "Press space to go on.",
        ),
        (
            Some("the button"),
            "Press the button to begin.",
            "Press the button to go on.",
        ),
        (None, "Tell it to begin.", "Tell it to go on."),
    ] {
        let settings = Settings {
            key: key.map(str::to_owned),
            ..standard.clone()
        };
        let plan = Planner::new(&session, &wording, settings, &mut Tabled).finish(&mut Tabled);
        assert_eq!(check::faults(&plan, &session), [""; 0], "{key:?}");
        let waits = of_kind(&plan, SegmentKind::LeadIn)[1];
        assert!(counts(&plan, waits).iter().all(|(_, said)| said == begins));
        let work = of_kind(&plan, SegmentKind::Work)[0];
        assert_eq!(counts(&plan, work)[0].1, goes_on);
    }
}

#[test]
fn safety_never_fades_and_what_was_said_does() {
    let plan = plan(
        "[[block]]\nrounds = 6\nwork = \"40s\"\nrest = \"30s\"\n\
         movements = [\"squat\", \"press-up\", \"deadlift\", \"plank\"]\n",
    );
    let rounds = rounds(&plan);
    assert_eq!(rounds.len(), 6);
    assert!(
        rounds.iter().all(|r| r.of(Topic::Safety) == 4),
        "{rounds:?}"
    );
    let all: Vec<_> = rounds
        .iter()
        .map(sidevoice::publish::rounds::Round::all)
        .collect();
    assert!(all.windows(2).all(|two| two[0] >= two[1]), "{all:?}");
    assert!(all[5] < all[0] && all[5] >= 4, "{all:?}");
}

#[test]
fn no_wording_of_a_fact_comes_again_before_all_were_said() {
    // Movements with hardly a cue leave room for facts.
    let movement = |id: &str| {
        let text = format!(
            "name = \"{id} stroke\"\npattern = \"pull\"\nstart = \"Stand tall.\"\nhow = [\"Draw the elbows back.\"]\n\
             [[cue]]\nkind = \"safety\"\nsay = \"Keep your back long in the {id} stroke.\"\n"
        );
        (format!("{id}-stroke"), text)
    };
    let ids = ["half", "full", "short", "long", "slow", "quick"];
    let movements: Vec<_> = ids.iter().map(|id| movement(id)).collect();
    let uses: Vec<_> = movements
        .iter()
        .map(|(id, _)| format!("\"{id}\""))
        .collect();
    let text = format!(
        "title = \"T\"\ntalk = \"full\"\n[[block]]\nrounds = 6\nwork = \"40s\"\nrest = \"20s\"\nmovements = [{}]\n",
        uses.join(", ")
    );
    let session = crate::outside::texts::session("sessions/t.toml", &text, &movements);
    let plan = tabled_plan(&session);
    let mut said: HashMap<&str, usize> = HashMap::new();
    let facts: Vec<_> = plan
        .sounds
        .iter()
        .filter(|s| matches!(&s.kind, SoundKind::Line { id, topic: Topic::Progress, .. } if id.contains(": ")))
        .collect();
    assert!(facts.len() >= 6, "{facts:?}");
    for fact in &facts {
        *said.entry(fact.text.as_str()).or_default() += 1;
    }
    // Of each kind three wordings take turns: of those heard twice, all others were heard before.
    let starts = |id: &str| id.split(": ").next().unwrap_or("").to_owned();
    let mut turns: HashMap<String, Vec<usize>> = HashMap::new();
    for fact in &facts {
        let SoundKind::Line { id, .. } = &fact.kind else {
            continue;
        };
        let kind = starts(id);
        let wording = wording_of(&kind, &fact.text);
        turns.entry(kind).or_default().push(wording);
    }
    for (kind, turns) in turns
        .into_iter()
        .filter(|(kind, _)| kind != "progress/half")
    {
        let wanted: Vec<_> = (0..turns.len()).map(|n| n % 3).collect();
        assert_eq!(turns, wanted, "{kind}");
    }
}

/// Tells which of its three wordings a fact has, by words that only this one holds.
fn wording_of(kind: &str, text: &str) -> usize {
    let signs = match kind {
        "progress-round" => ["done, ", "behind you", " to go, "],
        "progress-in-round" => ["done in this round", "to go in this round", "This round"],
        "progress-clock" => ["to go in all", "In about", "or so to the end"],
        _ => return 0,
    };
    let found = signs.iter().rposition(|sign| text.contains(sign));
    found.unwrap_or_else(|| panic!("{kind}: {text}"))
}

#[test]
fn talk_changes_how_much_is_said_by_its_table() {
    let text = |talk: &str| {
        format!(
            "talk = \"{talk}\"\neffort = 7\n[[block]]\nrounds = 3\nwork = \"40s\"\nrest = \"30s\"\n\
             movements = [\"squat\", \"press-up\", \"deadlift\", \"goblet-squat\"]\n"
        )
    };
    let cues = |talk: &str| {
        let plan = plan(&text(talk));
        let all: usize = rounds(&plan)
            .iter()
            .map(sidevoice::publish::rounds::Round::all)
            .sum();
        let topics = |topic| {
            plan.sounds
                .iter()
                .filter(|s| matches!(&s.kind, SoundKind::Line { topic: t, .. } if *t == topic))
                .count()
        };
        (all, topics(Topic::Recovery), topics(Topic::Harder))
    };
    let (quiet, normal, full) = (cues("quiet"), cues("normal"), cues("full"));
    assert!(
        quiet.0 < normal.0 && normal.0 < full.0,
        "{quiet:?} {normal:?} {full:?}"
    );
    // The finish alone lets the breath settle: that is said to whoever listens.
    assert_eq!((quiet.1, quiet.2), (1, 0));
    assert!(normal.1 > 1);
}
