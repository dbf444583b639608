//! A plan -> the chapters and parts of its script.

use super::BREATH;
use super::Chapter;
use super::Item;
use super::Part;
use crate::base::units::Millis;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::session::Session;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Work;
use std::collections::BTreeMap;

/// Counts so far apart stand on one line, as a countdown; others each on its own.
const TOGETHER: Millis = Millis::from_secs(1);

/// Divides a plan into chapters.
pub fn chapters<'a>(plan: &'a Plan, session: &Session) -> Vec<Chapter<'a>> {
    let mut chapters: Vec<Chapter> = Vec::new();
    let mut breaths = breaths(plan);
    // The block and the round: two may have the same title.
    let mut before = None;
    for (index, segment) in plan.timeline.segments.iter().enumerate() {
        let place = work(plan, segment).map(|work| (work.block, work.round));
        if chapters.is_empty() || place != before {
            before = place;
            let title = chapter_title(plan, session, segment);
            let parts = Vec::new();
            chapters.push(Chapter { title, parts });
        }
        let mut items = sounds(plan, index);
        items.extend(breaths.remove(&index).into_iter().flatten());
        // Stable: a breath that begins with a tone comes after it.
        items.sort_by_key(Item::at);
        let title = part_title(plan, session, segment);
        if let Some(chapter) = chapters.last_mut() {
            let part = Part {
                segment,
                title,
                items,
            };
            chapter.parts.push(part);
        }
    }
    chapters
}

/// The items of the sounds of a segment; counts a second apart are one.
fn sounds(plan: &Plan, segment: usize) -> Vec<Item<'_>> {
    let mut items: Vec<Item> = Vec::new();
    for sound in plan.sounds.iter().filter(|s| s.segment == segment) {
        match &sound.kind {
            SoundKind::Line { topic, .. } => items.push(Item::Line {
                sound,
                cue: topic.word(),
            }),
            SoundKind::Tone(tone) => items.push(Item::Tone {
                at: sound.onset,
                tone: *tone,
            }),
            SoundKind::Count => match items.last_mut() {
                Some(Item::Counts(counts)) if follows(counts, sound) => counts.push(sound),
                _ => items.push(Item::Counts(vec![sound])),
            },
        }
    }
    items
}

fn follows(counts: &[&Sound], sound: &Sound) -> bool {
    let last = counts.last();
    last.is_some_and(|last| sound.onset - last.onset == TOGETHER)
}

/// The silences in which a coach can breathe, by the segment in which they begin: she speaks lines and counts,
/// and no tones.
fn breaths<'a>(plan: &Plan) -> BTreeMap<usize, Vec<Item<'a>>> {
    let spoken: Vec<&Sound> = {
        let sounds = plan.sounds.iter();
        sounds
            .filter(|s| !matches!(s.kind, SoundKind::Tone(_)))
            .collect()
    };
    let mut breaths: BTreeMap<usize, Vec<Item>> = BTreeMap::new();
    for pair in spoken.windows(2) {
        let (at, length) = (pair[0].end, pair[1].onset - pair[0].end);
        if length >= BREATH {
            let segments = &plan.timeline.segments;
            let inside = segments.iter().position(|s| s.start <= at && at < s.end);
            let inside = inside.unwrap_or(pair[0].segment);
            breaths
                .entry(inside)
                .or_default()
                .push(Item::Breath { at, length });
        }
    }
    breaths
}

fn chapter_title(plan: &Plan, session: &Session, segment: &Segment) -> String {
    let work = match segment.kind {
        SegmentKind::LeadIn => return "Opening".to_owned(),
        SegmentKind::Finish => return "Finish".to_owned(),
        SegmentKind::Work | SegmentKind::Rest => work(plan, segment),
    };
    let Some(work) = work else {
        return "Works".to_owned();
    };
    let block = work.block(session);
    let round = match block.rounds {
        1 => None,
        rounds => Some(format!("round {} of {rounds}", work.round + 1)),
    };
    let title = match (&block.title, session.text.blocks.len()) {
        (Some(title), _) => Some(title.clone()),
        (None, 1) => None,
        (None, _) => Some(format!("Block {}", work.block + 1)),
    };
    match (title, round) {
        (Some(title), Some(round)) => format!("{title}, {round}"),
        (Some(title), None) => title,
        (None, Some(round)) => format!("Round {}", round.trim_start_matches("round ")),
        (None, None) => "Works".to_owned(),
    }
}

fn work<'a>(plan: &'a Plan, segment: &Segment) -> Option<&'a Work> {
    segment.work.map(|at| &plan.timeline.works[at])
}

fn part_title(plan: &Plan, session: &Session, segment: &Segment) -> String {
    let length = match segment.open {
        true => "until a key".to_owned(),
        false => segment.length().to_string(),
    };
    let work = match (segment.kind, work(plan, segment)) {
        (SegmentKind::LeadIn, _) => return format!("Lead-in, {length}"),
        (SegmentKind::Finish, _) => return format!("After the last work, {length}"),
        (SegmentKind::Rest, _) | (SegmentKind::Work, None) => return format!("Rest, {length}"),
        (SegmentKind::Work, Some(work)) => work,
    };
    let name = match work.stations {
        true => "all stations",
        false => &session.movement(work.movement_use(session)).name,
    };
    let side = work.side.map_or(String::new(), |s| format!(", {}", s.id()));
    let reps = work.repetitions.map_or(String::new(), |reps| {
        format!(", {} repetitions", reps.count)
    });
    format!("Work, {length}{reps}: {name}{side}")
}
