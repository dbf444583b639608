//! Marks: sounds whose time is fixed by the clock. They never move.

use super::Sound;
use super::SoundKind;
use super::Tone;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::base::utterance::Utterance;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::planning::session::Repetitions;
use crate::planning::session::Session;
use crate::planning::session::Sides;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::planning::timeline::Work;

/// The shortest work whose end is counted out.
const COUNT_OUT_FROM: Millis = Millis::from_secs(15);
/// A rest counts in only the numbers this long after its own start.
const COUNT_CLEAR_OF_START: Millis = Millis::from_ms(500);
/// In a work that follows another without rest, the count keeps clear of the first cue.
const COUNT_CLEAR_OF_WORK: Millis = Millis::from_ms(1500);
/// "Ten to go" and "halfway" from these lengths of work on.
const TEN_TO_GO_FROM: Millis = Millis::from_secs(30);
const HALFWAY_FROM: Millis = Millis::from_secs(40);
/// Each minute is said in works longer than this.
const MINUTES_ABOVE: Millis = Millis::from_secs(120);
/// "Thirty seconds" is said in rests longer than this.
const THIRTY_SECONDS_ABOVE: Millis = Millis::from_secs(60);
/// While a session waits for a key, it is said again every so often which one.
pub const REMINDER_EVERY: Millis = Millis::from_secs(20);
/// The first time where the session has not begun yet: at once, but for a breath.
const FIRST_REMINDER: Millis = Millis::from_secs(1);
/// Time marks nearer than this to one another would be a muddle: the earlier named one stays.
const APART: Millis = Millis::from_secs(4);

/// How long the tones are heard, in ms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ToneLengths {
    pub start: Millis,
    pub end: Millis,
}

/// A spoken or sounded mark before its length is known.
struct Mark {
    at: At,
    what: What,
    segment: usize,
}

enum What {
    Tone(Tone),
    Said(String),
}

/// Returns the texts of the marks that nearly every session has, in the order of need.
pub fn counts(wording: &Wording) -> Vec<Utterance> {
    [3, 2, 1]
        .map(|n| Utterance::new(wording.say(&format!("count-{n}"), &[])))
        .into()
}

/// Returns the marks of a stretch: of its rest, then of its work, in order of time. The spoken
/// ones have no length yet: it is the voice's. `key` is what ends a wait, as one says it.
pub fn marks(
    session: &Session,
    timeline: &Timeline,
    stretch: usize,
    wording: &Wording,
    tones: ToneLengths,
    key: Option<&str>,
) -> Vec<Sound> {
    let at = timeline.stretches[stretch];
    let mut marks = Vec::new();
    match (at.rest, at.work) {
        (Some(rest), Some(_)) => {
            marks.extend(rest_marks(&timeline.segments[rest], rest, wording));
        }
        (Some(rest), None) if timeline.segments[rest].open => {
            let segment = &timeline.segments[rest];
            let said = by_key(wording, key, "begin-by-key", "begin-when-told");
            marks.extend(reminders(segment, rest, FIRST_REMINDER, &said));
        }
        _ => {}
    }
    if let Some(work) = at.work {
        marks.extend(work_marks(session, timeline, work, wording, key));
    }
    let mut sounds: Vec<_> = marks
        .into_iter()
        .map(|mark| match mark.what {
            What::Tone(tone) => {
                let lasts = match tone {
                    Tone::Start => tones.start,
                    Tone::End => tones.end,
                };
                let kind = SoundKind::Tone(tone);
                sound(kind, mark.at, lasts, mark.segment, String::new())
            }
            What::Said(text) => sound(SoundKind::Count, mark.at, Millis::ZERO, mark.segment, text),
        })
        .collect();
    sounds.sort_by_key(|s| s.onset);
    sounds
}

fn sound(kind: SoundKind, onset: At, lasts: Millis, segment: usize, text: String) -> Sound {
    Sound {
        kind,
        onset,
        end: onset + lasts,
        segment,
        text,
        rate: Rate::NORMAL,
    }
}

fn rest_marks(rest: &Segment, index: usize, wording: &Wording) -> Vec<Mark> {
    let mut marks = count_before(rest.end, rest.start + COUNT_CLEAR_OF_START, index, wording);
    if rest.kind == SegmentKind::Rest && rest.length() > THIRTY_SECONDS_ABOVE {
        marks.push(Mark {
            at: rest.end - Millis::from_secs(30),
            what: What::Said(wording.say("thirty-seconds", &[])),
            segment: index,
        });
    }
    marks
}

fn work_marks(
    session: &Session,
    timeline: &Timeline,
    index: usize,
    wording: &Wording,
    key: Option<&str>,
) -> Vec<Mark> {
    let work = &timeline.segments[index];
    let next = timeline.segments.get(index + 1).map(|s| s.kind);
    let goes_on = next == Some(SegmentKind::Work);
    let of = work.work.map(|w| &timeline.works[w]);
    let repetitions = of.and_then(|w| w.repetitions);
    let counted = of.is_some_and(|w| w.block(session).count_out);
    let mut marks = vec![Mark {
        at: work.start,
        what: What::Tone(Tone::Start),
        segment: index,
    }];
    if !goes_on {
        marks.push(Mark {
            at: work.end,
            what: What::Tone(Tone::End),
            segment: index + 1,
        });
    }
    if work.open {
        let said = by_key(wording, key, "until-key", "until-told");
        marks.extend(reminders(work, index, REMINDER_EVERY, &said));
        return marks;
    }
    if let Some(repetitions) = repetitions {
        marks.extend(numbers(work, index, repetitions, wording));
        return marks;
    }
    // A count says that the work changes: without a rest, it is also the count into the next.
    if goes_on || (counted && work.length() >= COUNT_OUT_FROM) {
        let from = work.start + COUNT_CLEAR_OF_WORK;
        marks.extend(count_before(work.end, from, index, wording));
    }
    let sides_change = of.is_some_and(|w| w.stations && changes_sides(session, w));
    marks.extend(time_marks(work, index, wording, sides_change));
    marks
}

/// Returns whether somebody on a station changes sides in the middle of the work.
fn changes_sides(session: &Session, work: &Work) -> bool {
    let uses = &work.block(session).uses;
    uses.iter()
        .any(|used| session.movement(used).sides == Sides::Each)
}

/// The start tone is repetition one; each number has its onset on the start of its repetition.
fn numbers(
    work: &Segment,
    segment: usize,
    repetitions: Repetitions,
    wording: &Wording,
) -> Vec<Mark> {
    let Repetitions { count, each } = repetitions;
    (2..=count)
        .map(|number| Mark {
            at: work.start + Millis::from_ms(each.ms() * (number as i64 - 1)),
            what: What::Said(if number == count {
                wording.say("last-repetition", &[])
            } else {
                wording.number(number as i64)
            }),
            segment,
        })
        .collect()
}

/// Says which key ends a wait; without one, that it waits to be told.
fn by_key(wording: &Wording, key: Option<&str>, with: &str, without: &str) -> String {
    match key {
        Some(key) => wording.say(with, &[("key", Arg::Text(key))]),
        None => wording.say(without, &[]),
    }
}

/// Says which key goes on, from `first` after the start of a segment.
fn reminders(open: &Segment, segment: usize, first: Millis, said: &str) -> Vec<Mark> {
    let mut marks = Vec::new();
    let mut at = open.start + first;
    while at < open.end {
        marks.push(Mark {
            at,
            what: What::Said(said.to_owned()),
            segment,
        });
        at += REMINDER_EVERY;
    }
    marks
}

fn count_before(change: At, from: At, segment: usize, wording: &Wording) -> Vec<Mark> {
    [3, 2, 1]
        .into_iter()
        .map(|n| Mark {
            at: change - Millis::from_secs(n),
            what: What::Said(wording.say(&format!("count-{n}"), &[])),
            segment,
        })
        .filter(|mark| mark.at >= from)
        .collect()
}

/// The clock during a work, in the order of what is kept where two would collide.
fn time_marks(work: &Segment, segment: usize, wording: &Wording, sides_change: bool) -> Vec<Mark> {
    let length = work.length();
    let mut wanted: Vec<(At, String)> = Vec::new();
    let middle = work.start + Millis::from_ms(length.ms() / 2);
    if sides_change {
        wanted.push((middle, wording.say("change-sides", &[])));
    }
    if length >= TEN_TO_GO_FROM {
        let at = work.end - Millis::from_secs(10);
        wanted.push((at, wording.say("ten-to-go", &[])));
    }
    if length >= HALFWAY_FROM {
        wanted.push((middle, wording.say("halfway", &[])));
    }
    if length > MINUTES_ABOVE {
        let whole = (length.ms() - 1) / 60_000;
        wanted.extend((1..=whole).map(|minutes| {
            let at = work.end - Millis::from_secs(60 * minutes);
            (at, wording.counted("minutes-to-go", minutes))
        }));
    }
    let mut kept: Vec<Mark> = Vec::new();
    for (at, text) in wanted {
        let clear = |other: At| (at - other).ms().abs() >= APART.ms();
        if kept.iter().all(|k| clear(k.at)) && clear(work.start) {
            kept.push(Mark {
                at,
                what: What::Said(text),
                segment,
            });
        }
    }
    kept
}
