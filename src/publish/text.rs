//! The plan as a coach reads it: time, what is heard, what was left out and why.

use super::Speaking;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::planning::plan::LeftOut;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::script::Topic;
use crate::planning::session::Session;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use std::fmt::Write;

/// Writes the plan as text, a segment a paragraph.
pub fn text(plan: &Plan, session: &Session, speaking: Option<Speaking>) -> String {
    let mut out = String::new();
    let timeline = &plan.timeline;
    let works: Millis = of_kind(plan, SegmentKind::Work);
    let rests: Millis = of_kind(plan, SegmentKind::Rest);
    // A write into a string cannot fail.
    let _ = writeln!(out, "{}", plan.title);
    let _ = writeln!(
        out,
        "{} in all: {} of work and {} of rest. {}.",
        timeline.end(),
        clock(works),
        clock(rests),
        super::who_speaks(&plan.voice, speaking)
    );
    for (index, segment) in timeline.segments.iter().enumerate() {
        let _ = writeln!(out, "\n{}", heading(plan, session, segment));
        let sounds = plan.sounds.iter().filter(|s| s.segment == index);
        for line in lines(sounds.collect()) {
            let _ = writeln!(out, "  {line}");
        }
        for left in left_out(plan, index) {
            let _ = writeln!(out, "  not said         {} ({})", left.text, left.reason);
        }
    }
    out + &super::rounds::text(plan, session)
}

/// Returns what was left out of a segment and might be missed: no facts of the plan.
fn left_out(plan: &Plan, segment: usize) -> impl Iterator<Item = &LeftOut> {
    let missed = |l: &&LeftOut| l.topic != Topic::Progress && l.topic != Topic::Recovery;
    let inside = plan.left_out.iter().filter(move |l| l.segment == segment);
    inside.filter(missed)
}

fn of_kind(plan: &Plan, kind: SegmentKind) -> Millis {
    let segments = plan.timeline.segments.iter();
    segments
        .filter(|s| s.kind == kind)
        .map(Segment::length)
        .sum()
}

fn clock(length: Millis) -> At {
    At::START + length
}

fn heading(plan: &Plan, session: &Session, segment: &Segment) -> String {
    let (start, length) = (segment.start, segment.length());
    let length = match segment.open {
        true => format!("until a key, here {length}"),
        false => length.to_string(),
    };
    match segment.kind {
        SegmentKind::LeadIn => format!("{start} lead-in, {length}"),
        SegmentKind::Finish => format!("{start} finish, {length}"),
        SegmentKind::Rest => format!("{start} rest, {length}"),
        SegmentKind::Work => {
            let work = &plan.timeline.works[segment.work.unwrap_or(0)];
            let movement = session.movement(work.movement_use(session));
            let side = work.side.map_or(String::new(), |s| format!(", {}", s.id()));
            let name = match work.stations {
                true => "all stations",
                false => &movement.name,
            };
            let repetitions = work.repetitions.map_or(String::new(), |reps| {
                format!(", {} x {}", reps.count, reps.each)
            });
            let rounds = work.block(session).rounds;
            let round = if rounds > 1 {
                format!(", round {} of {rounds}", work.round + 1)
            } else {
                String::new()
            };
            format!("{start} WORK, {length}{repetitions}: {name}{side}{round}")
        }
    }
}

/// Writes sounds a line each; marks that follow one another share a line.
fn lines(sounds: Vec<&Sound>) -> Vec<String> {
    let mut lines = Vec::new();
    let mut marks: Vec<&Sound> = Vec::new();
    for sound in sounds {
        if sound.kind == SoundKind::Count {
            if marks
                .last()
                .is_some_and(|m| sound.onset - m.onset > Millis::from_secs(1))
            {
                lines.extend(together(&mut marks));
            }
            marks.push(sound);
            continue;
        }
        lines.extend(together(&mut marks));
        lines.push(match &sound.kind {
            SoundKind::Tone(tone) => {
                format!("{:<16} {} tone", sound.onset.to_string(), tone.word())
            }
            SoundKind::Count => unreachable!("counted above"),
            SoundKind::Line { topic, .. } => {
                let times = format!("{}-{}", sound.onset, sound.end);
                let faster = if sound.rate == Rate::NORMAL {
                    ""
                } else {
                    "  (a little faster)"
                };
                format!("{times:<16} {:<10} {}{faster}", topic.word(), sound.text)
            }
        });
    }
    lines.extend(together(&mut marks));
    lines
}

fn together(marks: &mut Vec<&Sound>) -> Option<String> {
    let first = marks.first()?;
    let words: Vec<_> = marks.iter().map(|m| m.text.as_str()).collect();
    let line = format!("{:<16} {}", first.onset.to_string(), words.join(", "));
    marks.clear();
    Some(line)
}
