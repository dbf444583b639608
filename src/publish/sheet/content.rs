//! What stands on a sheet, read off the plan and the session.

use super::Exercise;
use super::Heard;
use super::HeardKind;
use super::Labels;
use super::LeftOut;
use super::Part;
use super::Sheet;
use crate::base::chapters::Chapter;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::base::wording::capitalised;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::script::Topic;
use crate::planning::script::brought;
use crate::planning::session::CueKind;
use crate::planning::session::FirstSide;
use crate::planning::session::Movement;
use crate::planning::session::Session;
use crate::planning::session::SideChoice;
use crate::planning::session::SideWords;
use crate::planning::session::Sides;
use crate::planning::session::Use;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::publish::chapters;

/// The cautions that stand on every sheet, in full.
const CAUTIONS: [&str; 5] = [
    "caution-space",
    "caution-stop",
    "caution-emergency",
    "finish-faint",
    "caution-doubt",
];

/// Gathers what stands on the sheet of a plan.
pub fn content(plan: &Plan, session: &Session, wording: &Wording) -> Sheet {
    let segments = plan.timeline.segments.iter().enumerate();
    let own_caution = session.text.caution.iter().cloned();
    let cautions = CAUTIONS.iter().map(|id| wording.say(id, &[]));
    let total = clock(plan.timeline.end().since_start());
    let mut openings = Vec::new();
    gather(&chapters::of_plan(plan, session, wording), &mut openings);
    let (total, voice) = (Arg::Text(&total), Arg::Text(&plan.voice));
    Sheet {
        title: folded(&plan.title),
        language: wording.language(),
        facts: wording.say("sheet-facts", &[("total", total), ("voice", voice)]),
        outline: outline(plan),
        parts: segments
            .map(|(index, segment)| Part {
                opens: opens(&openings, segment.start, &plan.title),
                ..part(plan, session, wording, index, segment)
            })
            .collect(),
        left_out: left_out(plan),
        cautions: own_caution.chain(cautions).map(|c| folded(&c)).collect(),
        ready: ready(session, wording),
        exercises: exercises(session, wording),
        stations: session.text.blocks.iter().any(|block| block.stations),
        labels: labels(session, wording),
    }
}

/// Returns a text on one line, without what cannot be printed.
fn folded(text: &str) -> String {
    let words = text.split_whitespace().map(|word| {
        let printed = word.chars().filter(|c| !c.is_control());
        printed.collect::<String>()
    });
    words.collect::<Vec<_>>().join(" ")
}

/// Shows a length as a clock does.
fn clock(length: Millis) -> String {
    let seconds = (length.ms() + 500) / 1000;
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    match hours {
        0 => format!("{minutes}:{seconds:02}"),
        _ => format!("{hours}:{minutes:02}:{seconds:02}"),
    }
}

/// Shows an instant as a clock does.
pub fn time(at: At) -> String {
    clock(at.since_start())
}

/// What the opening says of the whole, without what has a place of its own on the sheet.
fn outline(plan: &Plan) -> Vec<String> {
    let said = plan.sounds.iter().filter(|sound| match &sound.kind {
        SoundKind::Line { topic, .. } => {
            sound.segment == 0 && matches!(topic, Topic::Opening | Topic::Effort)
        }
        _ => false,
    });
    said.map(|sound| isolated(&sound.text, &plan.title))
        .collect()
}

/// Lists where blocks and rounds begin, with their titles.
fn gather(chapters: &[Chapter], all: &mut Vec<(At, String)>) {
    for chapter in chapters.iter().filter(|c| !c.parts.is_empty()) {
        all.push((chapter.start, chapter.title.clone()));
        gather(&chapter.parts, all);
    }
}

/// Names what begins at an instant.
fn opens(openings: &[(At, String)], at: At, title: &str) -> Option<String> {
    let here = openings.iter().filter(|(start, _)| *start == at);
    let titles: Vec<_> = here.map(|(_, name)| isolated(name, title)).collect();
    (!titles.is_empty()).then(|| titles.join(" / "))
}

/// Folds a text to one line. A title in it that is read from the right is kept apart (Unicode, annex 9), for the
/// sentence around it is not.
fn isolated(text: &str, title: &str) -> String {
    let (text, title) = (folded(text), folded(title));
    let from_the_right =
        |c| matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefc}');
    match title.contains(from_the_right) && text != title {
        true => text.replace(&title, &format!("\u{2068}{title}\u{2069}")),
        false => text,
    }
}

fn part(
    plan: &Plan,
    session: &Session,
    wording: &Wording,
    index: usize,
    segment: &Segment,
) -> Part {
    let sounds = plan.sounds.iter().filter(|sound| sound.segment == index);
    Part {
        kind: segment.kind,
        start: segment.start,
        end: segment.end,
        heading: heading(plan, session, wording, segment),
        opens: None,
        heard: sounds.map(|sound| heard(sound, plan, wording)).collect(),
    }
}

fn heading(plan: &Plan, session: &Session, wording: &Wording, segment: &Segment) -> String {
    let length = match segment.open {
        true => wording.say("sheet-until-key", &[]),
        false => clock(segment.length()),
    };
    let what = match (segment.kind, segment.work.map(|w| &plan.timeline.works[w])) {
        (SegmentKind::LeadIn, _) => wording.say("chapter-opening", &[]),
        (SegmentKind::Finish, _) => wording.say("chapter-finish", &[]),
        (SegmentKind::Rest, _) | (SegmentKind::Work, None) => wording.say("sheet-rest", &[]),
        (SegmentKind::Work, Some(work)) if work.stations => chapters::of_stations(work, wording),
        (SegmentKind::Work, Some(work)) => {
            let movement = session.movement(work.movement_use(session));
            let name = capitalised(&movement.name);
            let sides = SideWords::of_limb(wording, movement.limb);
            let name = match work.side {
                Some(side) => format!("{name}, {}", sides.of(side)),
                None => name,
            };
            match work.repetitions {
                Some(reps) => format!("{name}, {} \u{d7}", reps.count),
                None => name,
            }
        }
    };
    format!("{what}, {length}")
}

fn heard(sound: &Sound, plan: &Plan, wording: &Wording) -> Heard {
    use crate::planning::plan::Tone;
    let (kind, text) = match &sound.kind {
        SoundKind::Tone(tone) => {
            let id = match tone {
                Tone::Start => "caption-start-tone",
                Tone::End => "caption-end-tone",
            };
            (HeardKind::Tone(*tone), wording.say(id, &[]))
        }
        SoundKind::Count => (HeardKind::Count, folded(&sound.text)),
        SoundKind::Line { topic, .. } => {
            let text = isolated(&sound.text, &plan.title);
            (HeardKind::Line(*topic), text)
        }
    };
    Heard {
        onset: sound.onset,
        end: sound.end,
        text,
        kind,
    }
}

/// What was left out and might be missed: no facts of the plan. The same words are listed once, with the reason
/// that they had first.
fn left_out(plan: &Plan) -> Vec<LeftOut> {
    let mut all: Vec<(Vec<At>, String, &str)> = Vec::new();
    for left in &plan.left_out {
        if matches!(left.topic, Topic::Progress | Topic::Recovery) {
            continue;
        }
        let text = folded(&left.text);
        let at = plan.timeline.segments[left.segment].start;
        match all.iter_mut().find(|(_, known, _)| *known == text) {
            Some((known, ..)) => known.push(at),
            None => all.push((vec![at], text, &left.reason)),
        }
    }
    let mut grouped: Vec<LeftOut> = Vec::new();
    for (at, text, reason) in all {
        match grouped.iter_mut().find(|known| known.reason == reason) {
            Some(known) => known.lines.push((at, text)),
            None => grouped.push(LeftOut {
                reason: reason.to_owned(),
                lines: vec![(at, text)],
            }),
        }
    }
    grouped
}

/// What to have ready: as the session says it, else what its movements need, as the opening counts it.
fn ready(session: &Session, wording: &Wording) -> Vec<String> {
    let said = session.text.ready.iter().map(|ready| {
        let (noun, place) = (session.noun(&ready.item), ready.place.as_ref());
        let what = ready.say.clone().unwrap_or_else(|| wording.some(&noun, 1));
        match place.filter(|_| ready.say.is_none()) {
            Some(place) => format!("{what}: {place}"),
            None => what,
        }
    });
    let mut all: Vec<String> = said.collect();
    all.extend(
        brought(session)
            .iter()
            .map(|item| wording.some_loaded(&item.noun, item.count, item.load.as_deref())),
    );
    all.iter().map(|text| capitalised(&folded(text))).collect()
}

/// The movements in the order of the session, each once with each load.
fn exercises(session: &Session, wording: &Wording) -> Vec<Exercise> {
    let mut all: Vec<Exercise> = Vec::new();
    let blocks = session.text.blocks.iter();
    for (block, used) in blocks.flat_map(|block| block.uses.iter().map(move |used| (block, used))) {
        let mut exercise = exercise(used, session.movement(used), wording);
        let note = used.note.as_ref().filter(|_| block.stations);
        exercise.how.extend(note.map(|note| folded(note)));
        if !all.contains(&exercise) {
            all.push(exercise);
        }
    }
    all
}

fn exercise(used: &Use, movement: &Movement, wording: &Wording) -> Exercise {
    let words = SideWords::of_limb(wording, movement.limb);
    let first = match used.side.as_ref().map(|side| side.value) {
        Some(SideChoice::Only(side)) => side,
        _ => {
            let first = used
                .first_side
                .as_ref()
                .map_or(FirstSide::Right, |f| f.value);
            first.in_round(0)
        }
    };
    let one_side = matches!(
        used.side.as_ref().map(|s| s.value),
        Some(SideChoice::Only(_))
    );
    let sides = (movement.sides == Sides::Each).then(|| match one_side {
        true => words.of(first).to_owned(),
        false => {
            let (side, other) = (words.of(first), words.of(first.other()));
            let args = [("side", Arg::Text(side)), ("other", Arg::Text(other))];
            wording.say("side-then", &args)
        }
    });
    let side = (movement.sides == Sides::Each).then_some(first);
    let cues = |kind: CueKind| -> Vec<String> {
        let cues = used.cues.iter().chain(&movement.cues);
        let said = cues.filter(|cue| cue.kind == kind).map(|cue| {
            let brief = cue
                .said
                .brief(side, &words)
                .filter(|_| kind == CueKind::Easier);
            folded(&brief.unwrap_or_else(|| cue.said.full(side, &words)))
        });
        said.collect()
    };
    // Without a brief wording an offer names itself: the label is not said twice.
    let label = wording.say("easier-brief", &[("text", Arg::Text(""))]);
    let bare = |text: String| match text.strip_prefix(label.trim_end()) {
        Some(rest) => capitalised(rest.trim()),
        None => text,
    };
    let load = used.load.as_ref().map(|load| folded(&load.value));
    let name = capitalised(&folded(&movement.name));
    Exercise {
        name: load.map_or(name.clone(), |load| format!("{name}, {load}")),
        sides,
        start: folded(&movement.start.full(side, &words)),
        how: movement
            .how
            .iter()
            .map(|how| folded(&how.full(side, &words)))
            .collect(),
        care: cues(CueKind::Safety),
        easier: cues(CueKind::Easier).into_iter().map(bare).collect(),
    }
}

fn labels(session: &Session, wording: &Wording) -> Labels {
    let say = |id: &str| wording.say(id, &[]);
    let stations = session.text.blocks.iter().any(|block| block.stations);
    Labels {
        coach: say("sheet-coach"),
        participants: say("sheet-participants"),
        timeline: say("sheet-timeline"),
        left_out: say("sheet-left-out"),
        nothing: say("sheet-nothing"),
        work: say("sheet-work"),
        rest: say("sheet-rest"),
        around: say("sheet-around"),
        start_tone: say("caption-start-tone"),
        end_tone: say("caption-end-tone"),
        count: say("sheet-count"),
        line: say("sheet-line"),
        safety: say("sheet-safety"),
        ready: say("sheet-ready"),
        exercises: say(if stations {
            "sheet-stations"
        } else {
            "sheet-exercises"
        }),
        start: say("sheet-start"),
        how: say("sheet-how"),
        care: say("sheet-care"),
        easier: say("sheet-easier"),
        cautions: say("sheet-cautions"),
        mirrored: say("sheet-mirrored"),
    }
}
