//! Whether what must be heard before each work fits the time before it, and how much would hold
//! all of it in full.
//!
//! The least rest is worked out from the guards as the plan keeps them, said here in own words;
//! a test plans with it and finds every full wording in, and with a second less not. It is the
//! least for what is said in the rest as written: a much shorter one may need fewer words, since
//! what is put down in a long rest stays in the hands in a short one.

use super::Fit;
use super::look::Done;
use super::look::Look;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Plan;
use crate::planning::plan::Solved;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::plan::Tone;
use crate::planning::plan::UNDIVIDED_UP_TO;
use crate::planning::plan::Window;
use crate::planning::plan::Wordings;
use crate::planning::plan::late_part;
use crate::planning::script::Slot;
use crate::planning::script::Topic;
use crate::planning::script::weights::order;
use crate::planning::timeline::Half;
use crate::planning::timeline::SegmentKind;
use std::collections::HashSet;

/// What a change of equipment, of hold or of posture takes at the least (common practice).
pub const A_CHANGE: Millis = Millis::from_secs(3);

/// The guards around speech in a rest: after the end tone, between lines, before the count with
/// the count.
const AFTER_START: Millis = Millis::from_ms(400);
const AFTER_TONE: Millis = Millis::from_ms(150);
const GAP: Millis = Millis::from_ms(300);
const COUNT: Millis = Millis::from_ms(3300);
/// The same in a lead-in and a finish.
const GAP_LONG: Millis = Millis::from_ms(400);
const LEAD_IN: Millis = Millis::from_ms(500 + 3300);
const FINISH: Millis = Millis::from_ms(500 + 1000);
/// In the late part of a long rest the name is not said again before this.
const NAME_AGAIN: Millis = Millis::from_secs(8);
/// No rest is longer than the reader allows; none is proposed beyond ten minutes.
const LONGEST_S: i64 = 600;

/// Looks at the time before each work and at the end; with the changes that are too quick.
pub fn fit(look: &Look) -> (Vec<Fit>, Vec<Diagnostic>) {
    let mut rows = Vec::with_capacity(look.plan.stretches.len());
    let mut advice = Vec::new();
    let mut met = HashSet::new();
    let opens = AFTER_START.max(end_tone(look.plan) + AFTER_TONE);
    for solved in &look.plan.stretches {
        let timeline = &look.plan.timeline;
        let stretch = timeline.stretches[solved.index];
        let work = stretch.work.and_then(|w| timeline.segments[w].work);
        let done = work.map(|w| &look.works[w]);
        let new = done.is_some_and(|d| met.insert(&d.movement.id));
        let rest = stretch.rest.map(|r| &timeline.segments[r]);
        let kind = rest.map_or(SegmentKind::Rest, |r| r.kind);
        let length = rest.map_or(Millis::ZERO, |r| r.length());
        // Lead-in and finish are as long as their words, or as the session says: nothing is added.
        let written = rest.filter(|r| r.kind == SegmentKind::Rest);
        let written = written.and_then(|r| timeline.works[r.work?].rest);
        let spoken: Vec<&Wordings> = solved.wordings.iter().filter(|w| in_rest(w)).collect();
        let changes = if kind == SegmentKind::Finish {
            0
        } else {
            changes(&spoken, new)
        };
        let smallest = match kind {
            SegmentKind::LeadIn => Some((together(&spoken, full, GAP_LONG) + LEAD_IN).ceil_secs()),
            SegmentKind::Finish => Some((together(&spoken, full, GAP_LONG) + FINISH).ceil_secs()),
            _ if done.is_none() => None,
            _ => smallest(&spoken, changes, opens),
        };
        let musts: Vec<_> = spoken.iter().filter(|w| w.must).copied().collect();
        let gap = solved.problem.windows.first().map_or(GAP, |w| w.gap);
        let before_work = |w: &&Window| matches!(w.slot, Slot::Early | Slot::Late);
        let windows = solved.problem.windows.iter();
        let row = Fit {
            kind,
            at: rest.map_or(done.map_or(At::START, |d| d.start), |r| r.start),
            rest: length,
            added: written.map_or(Millis::ZERO, |w| length - w),
            before: done.map(|d| (d.movement.name.clone(), d.work.side)),
            changes,
            needed: together(&musts, |w| w.fitting, gap),
            free: windows.filter(before_work).map(|w| w.length()).sum(),
            in_work_before: solved.problem.windows.iter().any(|w| w.slot == Slot::Tail),
            smallest,
        };
        if let Some(done) = done.filter(|_| kind == SegmentKind::Rest) {
            advice.extend(too_quick(solved, &row, done, new));
        }
        rows.push(row);
    }
    (rows, advice)
}

fn full(w: &Wordings) -> Millis {
    w.full
}

fn in_rest(w: &Wordings) -> bool {
    w.early || w.late
}

fn end_tone(plan: &Plan) -> Millis {
    let tone = |s: &&Sound| s.kind == SoundKind::Tone(Tone::End);
    let first = plan.sounds.iter().find(tone);
    first.map_or(Millis::ZERO, |s| s.end - s.onset)
}

/// Returns how long lines are one after another.
fn together(lines: &[&Wordings], length: fn(&Wordings) -> Millis, gap: Millis) -> Millis {
    let spoken: Millis = lines.iter().map(|w| length(w)).sum();
    spoken + gap * (lines.len() as i64 - 1).max(0)
}

/// Counts what changes before a work: each thing put down, what is taken up or held otherwise,
/// the posture; at a first meeting the start position is new.
fn changes(spoken: &[&Wordings], new: bool) -> usize {
    let counts = |w: &&&Wordings| matches!(w.order, order::PUT_DOWN | order::TAKE | order::POSTURE);
    spoken.iter().filter(counts).count() + usize::from(new)
}

fn says_what_changes(order: u16) -> bool {
    matches!(
        order,
        order::PUT_DOWN | order::TAKE | order::POSTURE | order::START
    )
}

/// Returns the least rest that holds in full what should be heard: what changes, the name, start
/// and, where it is new, how it goes, and what matters before the first repetition; and the
/// time for the changes.
fn smallest(spoken: &[&Wordings], changes: usize, opens: Millis) -> Option<Millis> {
    let is_name = |w: &Wordings| w.topic == Topic::Name && w.order == order::NAME;
    let name = spoken.iter().find(|w| is_name(w) && w.early).copied();
    let rest_of_it = spoken.iter().copied().filter(|w| {
        says_what_changes(w.order) || w.order == order::HOW || (w.topic == Topic::Safety && !w.work)
    });
    let lines: Vec<_> = name.into_iter().chain(rest_of_it).collect();
    let early_name = |w: &&Wordings| w.early && w.order <= order::NAME;
    let before_name: Vec<_> = spoken.iter().copied().filter(early_name).collect();
    let name_ends = together(&before_name, full, GAP) + GAP;
    let words = in_one(&lines, opens).or_else(|| in_two(&lines, opens, name_ends))?;
    let to_act = |w: &&Wordings| says_what_changes(w.order) || is_name(w);
    let act: Vec<_> = lines.iter().copied().filter(to_act).collect();
    let acts = if changes == 0 {
        Millis::ZERO
    } else {
        (opens + together(&act, full, GAP) + A_CHANGE * changes as i64).ceil_secs()
    };
    Some(words.max(acts))
}

/// Returns the rest that holds lines in one window, if it is no longer than one that is left whole.
fn in_one(lines: &[&Wordings], opens: Millis) -> Option<Millis> {
    let rest = (opens + together(lines, full, GAP) + COUNT).ceil_secs();
    (rest <= UNDIVIDED_UP_TO).then_some(rest)
}

/// Returns the long rest that holds lines in an early and a late part, the name in each.
fn in_two(lines: &[&Wordings], opens: Millis, name_ends: Millis) -> Option<Millis> {
    let takes_up_late = lines.iter().any(|w| w.order == order::TAKE && !w.early);
    let holds = |rest: &Millis| {
        let late_from = *rest - late_part(*rest, takes_up_late);
        let late_from = late_from.max(opens + name_ends + NAME_AGAIN);
        let room = [late_from - opens, *rest - COUNT - late_from + GAP];
        room[1] > Millis::ZERO && pack(lines, room)
    };
    let above = UNDIVIDED_UP_TO.ms() / 1000 + 1;
    let mut rests = (above..=LONGEST_S).map(Millis::from_secs);
    rests.find(holds)
}

/// Returns whether lines find room in two parts, a gap after each taken off; the name stands in
/// both, any other line where it may.
fn pack(lines: &[&Wordings], room: [Millis; 2]) -> bool {
    if room.iter().any(|left| *left < Millis::ZERO) {
        return false;
    }
    let Some((line, others)) = lines.split_first() else {
        return true;
    };
    let takes = line.full + GAP;
    if line.order == order::NAME {
        return pack(others, [room[0] - takes, room[1] - takes]);
    }
    (line.early && pack(others, [room[0] - takes, room[1]]))
        || (line.late && pack(others, [room[0], room[1] - takes]))
}

/// Advises where a change has less time than it takes once the words for it are heard. What was
/// told in the early part of a long rest is done before the late part.
fn too_quick(solved: &Solved, row: &Fit, done: &Done, new: bool) -> Option<Diagnostic> {
    let mut changes = row.changes;
    let mut known = row.at;
    for (chosen, start) in solved.solution.chosen.iter().zip(&solved.starts) {
        let line = &solved.problem.lines[chosen.line];
        let choice = &line.choices[chosen.choice];
        match solved.problem.windows[choice.window].slot {
            Slot::Work => continue,
            _ if !says_what_changes(line.order) => continue,
            Slot::Early if line.order == order::START && !new => {}
            Slot::Early => changes -= changes.min(1),
            Slot::Late | Slot::Tail => known = known.max(*start + choice.lasts),
        }
    }
    let left = done.start - known;
    let takes = A_CHANGE * changes as i64;
    // A change of side in mid-work is part of the work.
    if left >= takes || done.work.half == Some(Half::Second) {
        return None;
    }
    let many = match changes {
        1 => "one change".to_owned(),
        n => format!("{n} changes"),
    };
    let message = format!(
        "expected {takes} for {many} before {} at {}, found {:.1} s after the words",
        done.name(),
        done.start,
        left.secs()
    );
    let first = match row.smallest.filter(|s| *s > row.rest) {
        Some(smallest) => format!("give the rest before it at least {smallest}"),
        None => "shorten the start position or the words for taking up".to_owned(),
    };
    let help = format!(
        "{first}: each change of equipment, hold or posture takes at least {A_CHANGE} (common \
         practice)"
    );
    let told = Diagnostic::advice(Code::ChangeTooQuick, done.used.place, message);
    Some(told.help(help))
}
