//! What sounded in a run -> its captions and its chapters, on the clock of the file made of it.

use super::captions::Caption;
use super::captions::ROW;
use super::captions::fold;
use super::captions::in_brackets;
use super::captions::stay_long_enough;
use super::captions::tell_music;
use super::chapters::by;
use super::chapters::numbered;
use super::chapters::turn_on_stations;
use crate::base::chapters::Chapter;
use crate::base::chapters::Contents;
use crate::base::chapters::one_line;
use crate::base::heard::BedMove;
use crate::base::heard::Course;
use crate::base::heard::Missing;
use crate::base::heard::Moved;
use crate::base::heard::Spoken;
use crate::base::heard::What;
use crate::base::heard::Why;
use crate::base::heard::WorkDone;
use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::base::wording::capitalised;

/// What was cut off ends with it (common practice).
const CUT_OFF: char = '\u{2014}';

/// Makes the captions of all that was heard, and of what lacks, in order; and of where music began.
pub fn captions(
    spoken: &[Spoken],
    missing: &[Missing],
    music: &[At],
    wording: &Wording,
) -> Vec<Caption> {
    let mut all: Vec<Caption> = spoken.iter().flat_map(|it| shown(it, wording)).collect();
    let lacks = missing.iter().filter_map(|missing| {
        let id = match missing.why {
            Why::Missed(_) => "caption-not-recorded",
            Why::CutOff => "caption-record-ends",
            Why::Unknown => return None,
        };
        let (from, to) = (at(missing.from), at(missing.to));
        Some(in_brackets(from, to, &wording.say(id, &[])))
    });
    all.extend(lacks);
    all.sort_by_key(|caption| caption.start);
    // What is said over the class may begin while something fades: none lies over another.
    for next in 1..all.len() {
        let start = all[next].start;
        let before = &mut all[next - 1];
        before.end = before.end.min(start);
    }
    stay_long_enough(&mut all);
    tell_music(&mut all, music, wording);
    all
}

/// Returns where music began to be heard in a run: a shorter silence is no end of it.
pub fn music_begins(course: &Course) -> Vec<At> {
    let mut silent_since = Some(At::START - SILENCE);
    let mut begins = Vec::new();
    for (frame, moved) in &course.moves {
        let Moved::Bed(BedMove {
            gate: Some(gate), ..
        }) = moved
        else {
            continue;
        };
        let now = at(*frame);
        match silent_since {
            Some(since) if gate.to > 0.0 => {
                if now - since >= SILENCE {
                    begins.push(now);
                }
                silent_since = None;
            }
            None if gate.to == 0.0 => silent_since = Some(now),
            _ => {}
        }
    }
    begins
}

/// So long a silence ends music.
const SILENCE: Millis = Millis::from_secs(2);

fn shown(spoken: &Spoken, wording: &Wording) -> Vec<Caption> {
    let end = spoken.cut.unwrap_or(spoken.end);
    let tone = match spoken.what {
        What::SyncTone => Some("caption-sync-tone"),
        What::StartTone => Some("caption-start-tone"),
        What::EndTone => Some("caption-end-tone"),
        What::FaultTone => Some("caption-fault-tone"),
        What::Count | What::Line | What::Said | What::CountIn => None,
        What::Unknown => return Vec::new(),
    };
    if let Some(tone) = tone {
        return vec![in_brackets(spoken.onset, end, &wording.say(tone, &[]))];
    }
    if !spoken.sounds {
        let args = [("text", Arg::Text(&spoken.text))];
        let text = format!("[{}]", wording.say("caption-left-out", &args));
        let told = fold::told(&text, &[], spoken.onset, end);
        return fold::captions(told, end);
    }
    let mut told = fold::told(&spoken.text, &spoken.words, spoken.onset, spoken.end);
    if let Some(cut) = spoken.cut {
        told.retain(|word| word.onset < cut);
        if let Some(last) = told
            .last_mut()
            .filter(|last| last.text.chars().count() < ROW)
        {
            last.text.push(CUT_OFF);
        }
    }
    fold::captions(told, end)
}

fn at(frame: FrameAt) -> At {
    frame.at(SampleRate::OUTPUT)
}

/// Says what a recording of a run holds.
pub fn contents(course: &Course, wording: &Wording) -> Contents {
    Contents {
        title: one_line(&course.title),
        chapters: chapters(course, wording),
    }
}

/// Divides a run into chapters as it went. That of a movement begins with the rest in which it is named; what was gone
/// back to has one more.
pub fn chapters(course: &Course, wording: &Wording) -> Vec<Chapter> {
    let (Some(first), Some(last)) = (course.works.first(), course.works.last()) else {
        // It ended before its first work began.
        let opening = wording.say("chapter-opening", &[]);
        let mut all = vec![Chapter::leaf(At::START, at(course.end), &opening)];
        all.retain(|chapter| chapter.end > chapter.start);
        return all;
    };
    let (opens, closes) = (at(first.start), at(last.end));
    let mut since = opens;
    let mut leaves = Vec::new();
    for work in &course.works {
        let end = at(work.end).max(since);
        leaves.push((work, Chapter::leaf(since, end, &name(work, wording))));
        since = end;
    }
    let several = course.works.iter().any(|work| work.block != first.block);
    let mut all = vec![Chapter::leaf(
        At::START,
        opens,
        &wording.say("chapter-opening", &[]),
    )];
    for block in by(leaves, |work| work.block) {
        let number = block.first().map_or(0, |(work, _)| work.block);
        let rounds = rounds(block, wording);
        match several {
            true => all.extend(Chapter::of(
                rounds,
                &numbered("chapter-block", number, None, wording),
            )),
            false => all.extend(rounds),
        }
    }
    all.push(Chapter::leaf(
        closes,
        at(course.end),
        &wording.say("chapter-finish", &[]),
    ));
    all.retain(|chapter| chapter.end > chapter.start);
    all
}

fn rounds(block: Vec<(&WorkDone, Chapter)>, wording: &Wording) -> Vec<Chapter> {
    let rounds = block.first().map_or(1, |(work, _)| work.rounds);
    if rounds < 2 {
        return chapters_of(block);
    }
    let each = by(block, |work| work.round).into_iter();
    let each = each.filter_map(|round| {
        let number = round.first().map_or(0, |(work, _)| work.round);
        let title = numbered("chapter-round", number, Some(rounds), wording);
        Chapter::of(chapters_of(round), &title)
    });
    each.collect()
}

fn chapters_of(works: Vec<(&WorkDone, Chapter)>) -> Vec<Chapter> {
    works.into_iter().map(|(_, chapter)| chapter).collect()
}

fn name(work: &WorkDone, wording: &Wording) -> String {
    let Some(name) = &work.name else {
        let (turn, turns) = work.turn.unwrap_or((1, 1));
        return turn_on_stations(turn, turns, wording);
    };
    let name = capitalised(name);
    match work.side.as_deref() {
        Some(side @ ("right" | "left")) => {
            format!("{name}, {}", wording.say(&format!("side-{side}"), &[]))
        }
        _ => name,
    }
}
