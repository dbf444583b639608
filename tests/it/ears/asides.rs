//! What only a coach hears: true, in the language of the session, and never over a sound of the plan.

use crate::common::starter;
use crate::common::tabled_plan;
use crate::outside::texts::stems;
use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::planning::asides::Aside;
use sidevoice::planning::asides::asides;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::script::Scribe;
use sidevoice::planning::session::Session;
use sidevoice::planning::timeline::SegmentKind;

/// A third of a second a word.
fn lasts(text: &str) -> Option<Millis> {
    Some(Millis::from_ms(
        333 * text.split_whitespace().count() as i64,
    ))
}

fn of(session: &Session, plan: &Plan) -> Vec<Aside> {
    asides(
        session,
        Wording::of(session.text.language),
        plan,
        &mut lasts,
    )
}

fn lines(asides: &[Aside]) -> Vec<String> {
    let line = |aside: &Aside| format!("{} {}", aside.onset, aside.text);
    asides.iter().map(line).collect()
}

#[test]
fn no_aside_is_over_a_sound_or_where_a_count_stands() {
    let mut placed = 0;
    for id in stems("sessions") {
        let session = starter(&id);
        let plan = tabled_plan(&session);
        let asides = of(&session, &plan);
        placed += asides.len();
        let mut all: Vec<(At, At, bool)> = asides
            .iter()
            .map(|aside| (aside.onset, aside.end, true))
            .chain(
                plan.sounds
                    .iter()
                    .map(|sound| (sound.onset, sound.end, false)),
            )
            .collect();
        all.sort();
        for pair in all.windows(2) {
            // The rules of a plan: sounds are 150 ms apart.
            let apart = pair[1].0 - pair[0].1;
            assert!(apart >= Millis::from_ms(150), "{id}: {pair:?}");
        }
        for aside in &asides {
            assert!(aside.end > aside.onset, "{id}: {aside:?}");
            for sound in plan.sounds.iter().filter(|s| s.kind == SoundKind::Count) {
                let free = sound.onset - aside.end;
                let before = sound.onset >= aside.end;
                assert!(!before || free >= Millis::from_ms(300), "{id}: {aside:?}");
            }
            for segment in &plan.timeline.segments {
                let start = segment.start;
                let near = aside.end > start - Millis::from_ms(3300) && aside.onset < start;
                assert!(
                    segment.kind != SegmentKind::Work || !near,
                    "{id}: {aside:?}"
                );
            }
        }
    }
    assert!(placed > 100, "{placed}");
}

#[test]
fn near_the_end_of_a_work_a_coach_hears_what_comes_and_what_to_pick_up() {
    let session = starter("strength-long-rests");
    let plan = tabled_plan(&session);
    let asides = of(&session, &plan);
    let works: Vec<_> = plan
        .timeline
        .segments
        .iter()
        .filter(|s| s.kind == SegmentKind::Work)
        .collect();
    let mut coming = 0;
    for (nth, work) in works.iter().enumerate() {
        let inside = |aside: &&Aside| aside.onset >= work.start && aside.end <= work.end;
        let said: Vec<_> = asides.iter().filter(inside).collect();
        let Some(next) = plan.timeline.works.get(nth + 1) else {
            let last = said.iter().any(|a| a.text == "After this comes the end.");
            assert!(last, "{said:?}");
            continue;
        };
        let name = &session.movement(next.movement_use(&session)).name;
        let found = said.iter().find(|a| a.text.starts_with("Coming up: "));
        if let Some(found) = found {
            coming += 1;
            assert!(
                found.text.to_lowercase().contains(&name.to_lowercase()),
                "{found:?}"
            );
            assert!(work.end - found.onset <= Millis::from_secs(25), "{found:?}");
        }
    }
    assert!(coming * 4 >= works.len() * 3, "{coming} of {}", works.len());
    let takes = |a: &&Aside| a.text.contains("Put the ") || a.text.contains("Take the ");
    assert!(
        asides.iter().filter(takes).count() > 3,
        "{:#?}",
        lines(&asides)
    );
}

#[test]
fn the_time_left_is_told_each_five_minutes_and_after_a_block_and_is_right() {
    let mut told = 0;
    for id in stems("sessions") {
        let session = starter(&id);
        if session.text.language != Language::English {
            continue;
        }
        let plan = tabled_plan(&session);
        let segments = &plan.timeline.segments;
        let end = segments.iter().rfind(|s| s.work.is_some()).unwrap().end;
        let wording = Wording::of(Language::English);
        let mut last: Option<At> = None;
        for aside in of(&session, &plan) {
            let minutes = (1..60).find(|n| {
                let length = wording.counted("minutes", *n);
                aside.text == format!("About {length} left of the class.")
            });
            let Some(minutes) = minutes else {
                continue;
            };
            told += 1;
            let left = end - aside.onset;
            let off = (left.ms() - minutes * 60_000).abs();
            assert!(off <= 56_000, "{id}: {aside:?}, {left} left");
            assert!(
                last.is_none_or(|last| aside.onset - last >= Millis::from_secs(35)),
                "{id}"
            );
            last = Some(aside.onset);
            assert!(
                segments.iter().all(|s| !s.open || s.end <= aside.onset),
                "{id}"
            );
        }
    }
    assert!(told > 8, "{told}");
}

#[test]
fn asides_are_said_in_the_language_of_the_session() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let said = |language| {
        let wording = Wording::of(language);
        let works = &plan.timeline.works;
        let scribe = Scribe::new(&session, works, wording, CautionLength::Brief);
        let bare = scribe.coming(&plan.timeline, 1).pop().unwrap();
        let last = scribe.coming(&plan.timeline, works.len()).pop().unwrap();
        [
            bare,
            last,
            scribe.left_of_the_class(1),
            scribe.left_of_the_class(5),
        ]
        .join(" | ")
    };
    // By somebody who teaches in each: the name itself is the session's own.
    for (language, expected) in [
        (
            Language::English,
            "Coming up: Press-up. | After this comes the end. | About one minute left of the class. \
             | About five minutes left of the class.",
        ),
        (
            Language::German,
            "Gleich: Press-up. | Danach ist Schluss. | Noch etwa eine Minute bis zum Ende. \
             | Noch etwa fünf Minuten bis zum Ende.",
        ),
        (
            Language::Spanish,
            "Después: Press-up. | Después viene el final. | Hasta el final, más o menos un minuto. \
             | Hasta el final, más o menos cinco minutos.",
        ),
        (
            Language::French,
            "Ensuite : Press-up. | Après, c'est la fin. | Encore une minute environ. \
             | Encore cinq minutes environ.",
        ),
        (
            Language::Portuguese,
            "A seguir: Press-up. | Depois vem o fim. | Até o fim, mais ou menos um minuto. \
             | Até o fim, mais ou menos cinco minutos.",
        ),
    ] {
        assert_eq!(said(language), expected);
    }
}
