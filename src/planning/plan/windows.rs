//! Windows: the time between marks in which speech may stand, all guards taken off.

use super::Sound;
use super::SoundKind;
use super::ToneLengths;
use super::Window;
use super::marks::REMINDER_EVERY;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::script::LONG_REST_MS;
use crate::planning::script::Slot;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Stretch;
use crate::planning::timeline::Timeline;

/// Sounds are at least this far apart.
pub const APART: Millis = Millis::from_ms(150);
/// Free before a count, so that it stands alone.
const BEFORE_MARK: Millis = Millis::from_ms(300);
/// The first window of a rest opens this long after its start, clear of the end tone.
const AFTER_REST_START: Millis = Millis::from_ms(400);
/// The lead-in has no tone before it, but a loudspeaker that wakes.
const AFTER_LEAD_IN_START: Millis = Millis::from_ms(500);
/// The first window of a work opens this long after its start: the first repetition is quiet.
const AFTER_WORK_START: Millis = Millis::from_ms(1500);
/// Least quiet between two lines: in a rest, in lead-in and finish, in a work.
const GAP_REST: Millis = Millis::from_ms(300);
const GAP_LONG: Millis = Millis::from_ms(400);
const GAP_WORK: Millis = Millis::from_ms(1500);
/// A long rest's late part is a third of it, within these bounds: the name and what comes with it.
/// Where something is taken up late, with time for that and for all that follows from it.
const LATE_LEAST: Millis = Millis::from_secs(6);
const LATE_MOST: Millis = Millis::from_secs(10);
const LATE_WITH_TAKING_UP: Millis = Millis::from_secs(20);
/// Up to this length a rest is not divided if only the whole of it holds what should be heard.
pub const UNDIVIDED_UP_TO: Millis = Millis::from_secs(30);
/// How long before a change its count begins.
const COUNT: Millis = Millis::from_secs(3);
/// Nothing can be said in less.
const SHORTEST: Millis = Millis::from_ms(300);
/// A repeated name has a window that opens this long after the first can have ended.
const NAME_AGAIN: Millis = Millis::from_secs(8);

/// What a rest has to hold, as far as it decides how the rest is divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Needs {
    /// Whether something has to be taken up in its late part.
    pub takes_up_late: bool,
    /// How long after its first window opens the name has ended at the latest.
    pub name_ends: Millis,
    /// How long all takes that should be heard in it, with the gaps between.
    pub all: Millis,
    /// How long all takes that must be heard in its late part, with the gaps between.
    pub late: Millis,
}

/// Returns how long before its end the late part of a long rest begins.
pub fn late_part(rest: Millis, takes_up_late: bool) -> Millis {
    if takes_up_late {
        return LATE_WITH_TAKING_UP;
    }
    Millis::from_ms(rest.ms() / 3).clamp(LATE_LEAST, LATE_MOST)
}

/// Returns the windows of the rest of a stretch: an early and a late one in a long rest.
pub fn rest_windows(
    timeline: &Timeline,
    at: Stretch,
    marks: &[Sound],
    tones: ToneLengths,
    needs: Needs,
) -> Vec<Window> {
    let Some(index) = at.rest else {
        return Vec::new();
    };
    let rest = &timeline.segments[index];
    let after_end_tone = rest.start + AFTER_REST_START.max(tones.end + APART);
    let (opens, gap) = match rest.kind {
        SegmentKind::LeadIn => (rest.start + AFTER_LEAD_IN_START, GAP_LONG),
        SegmentKind::Finish => (after_end_tone, GAP_LONG),
        _ => (after_end_tone, GAP_REST),
    };
    let guard = if at.work.is_some() {
        BEFORE_MARK
    } else {
        Millis::ZERO
    };
    let free = free_time(opens, rest.end - guard, (index, rest.end), marks);
    let window = |slot, start, end| Window {
        slot,
        nth: 0,
        start,
        end,
        gap,
        segment: index,
    };
    let Some(&(first_start, first_end)) = free.first() else {
        return Vec::new();
    };
    let (_, last_end) = free[free.len() - 1];
    let late_start = rest.end - late_part(rest.length(), needs.takes_up_late);
    let late_start = late_start.max(first_start + needs.name_ends + NAME_AGAIN);
    let early_end = first_end.min(late_start - gap);
    let whole = last_end - first_start;
    let too_tight = rest.length() <= UNDIVIDED_UP_TO
        && needs.all > early_end - first_start + gap
        && needs.all <= whole + gap;
    let no_room = last_end - late_start + gap < needs.late.max(SHORTEST + gap);
    if !is_split(timeline, at) || no_room || too_tight {
        let longest = free.iter().max_by_key(|(s, e)| *e - *s);
        let (start, end) = longest.copied().unwrap_or((first_start, first_end));
        return vec![window(Slot::Late, start, end)];
    }
    vec![
        window(Slot::Early, first_start, early_end),
        window(Slot::Late, late_start, last_end),
    ]
}

/// Returns whether a rest is long as written: then the set-up comes early, and the name again.
pub fn is_split(timeline: &Timeline, at: Stretch) -> bool {
    let written = at.rest.map(|r| &timeline.segments[r]);
    at.work.is_some()
        && written
            .filter(|r| r.kind == SegmentKind::Rest)
            .and_then(|r| timeline.works[r.work?].rest)
            .is_some_and(|rest| rest.ms() > LONG_REST_MS)
}

/// Returns the windows of a work; `tail` is the time at its end that belongs to the next
/// stretch.
pub fn work_windows(
    timeline: &Timeline,
    at: Stretch,
    marks: &[Sound],
    tail: Option<&Window>,
) -> Vec<Window> {
    let Some(index) = at.work else {
        return Vec::new();
    };
    let work = &timeline.segments[index];
    let mut until = match tail {
        Some(tail) => tail.start - GAP_WORK,
        None => work.end - BEFORE_MARK,
    };
    if work.open {
        // Then quiet, but for the word on which key goes on.
        until = work.start + REMINDER_EVERY - BEFORE_MARK;
    }
    let mut free = free_time(
        work.start + AFTER_WORK_START,
        until,
        (index, work.end),
        marks,
    );
    if work
        .work
        .is_some_and(|w| timeline.works[w].repetitions.is_some())
    {
        free = longest_of_thirds(free);
    }
    free.into_iter()
        .filter(|(start, end)| *end - *start >= SHORTEST)
        .enumerate()
        .map(|(nth, (start, end))| Window {
            slot: Slot::Work,
            nth,
            start,
            end,
            gap: GAP_WORK,
            segment: index,
        })
        .collect()
}

/// Between the numbers of counted repetitions at most three windows are for speech: the longest of
/// each third of the work, so that most repetitions are heard alone.
fn longest_of_thirds(free: Vec<(At, At)>) -> Vec<(At, At)> {
    let third = free.len().div_ceil(3).max(1);
    let longest = |part: &[(At, At)]| {
        // Of equal ones the first.
        let part = part.iter().rev().copied();
        part.max_by_key(|(start, end)| *end - *start)
    };
    free.chunks(third).filter_map(longest).collect()
}

/// Returns the window at the end of a work that holds `need` of what the next stretch must
/// say: at most the last two thirds of the work.
pub fn tail_window(work: &Segment, index: usize, marks: &[Sound], need: Millis) -> Option<Window> {
    let third = work.start + Millis::from_ms(work.length().ms() / 3);
    let opens = third.max(work.start + AFTER_WORK_START);
    let free = free_time(opens, work.end - BEFORE_MARK, (index, work.end), marks);
    let (start, end) = *free.last()?;
    let start = start.max(end - need);
    (end - start >= SHORTEST).then_some(Window {
        slot: Slot::Tail,
        nth: 0,
        start,
        end,
        gap: GAP_REST,
        segment: index,
    })
}

/// Returns the free time of a segment between `from` and `to`, guards around its marks taken
/// off. A count of three is one mark: nothing fits between its numbers. `segment` is its index
/// and its end.
fn free_time(from: At, to: At, segment: (usize, At), marks: &[Sound]) -> Vec<(At, At)> {
    let (segment, ends) = segment;
    let mut free = Vec::new();
    let mut start = from;
    let inside = marks
        .iter()
        .filter(|m| m.segment == segment && matches!(m.kind, SoundKind::Count));
    for mark in inside {
        // Never beyond `to`: what the next stretch needs may begin before this mark.
        let end = to.min(mark.onset - BEFORE_MARK);
        if end - start >= SHORTEST {
            free.push((start, end));
        }
        start = start.max(mark.end + APART);
    }
    if to - start >= SHORTEST {
        free.push((start, to));
    }
    // What lies between the numbers of a count, or between it and the change, is no window.
    let count = marks
        .iter()
        .find(|m| m.segment == segment && m.kind == SoundKind::Count && m.onset >= ends - COUNT);
    if let Some(count) = count {
        free.retain(|(start, _)| *start < count.onset);
    }
    free
}
