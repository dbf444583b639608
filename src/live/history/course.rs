//! What sounded in a run, laid out on the clock of a file of it: a pure function of its record.
//!
//! The frames of the record run through pauses, so what is counted by them is exact to each other. They stand while
//! there is no loudspeaker; how long that was is told by the wall clock, by the earliest lines on both sides, since a
//! line may be late and is never early. They stand too while a machine or its sound server does: then all lines from
//! there on are late.

use super::BedMoved;
use super::Ended;
use super::Happening;
use super::Run;
use super::WorkAt;
use crate::base::heard::BedMove;
use crate::base::heard::Course;
use crate::base::heard::Heard;
use crate::base::heard::Missing;
use crate::base::heard::Moved;
use crate::base::heard::MusicFrom;
use crate::base::heard::Way;
use crate::base::heard::What;
use crate::base::heard::Why;
use crate::base::heard::WorkDone;
use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use jiff::Timestamp;
use std::ops::RangeInclusive;
use thiserror::Error;

/// Without a sync tone in the room the run begins so long after the file, which has one.
const BEFORE: Millis = Millis::from_secs(2);
/// A line is written this long after what it tells of ended, at most: a buffer.
const LATEST: i64 = 16_384;
/// Sound stood still where all later lines are late by so much; by more than the most somebody set the clock.
const STOOD: Millis = Millis::from_ms(300);
const STOOD_AT_MOST: Millis = Millis::from_secs(60);
/// No fade of music at the end of a class lasts longer: ten seconds.
const LONGEST_FADE: u64 = 480_000;
/// Music comes back within this after sound stood still: that there was silence is all that is known.
const COMES_BACK: Millis = Millis::from_ms(400);
/// Fewer lines may all be late for another reason.
const LINES_TO_TELL: usize = 3;
/// No run lasts longer.
const LONGEST: Millis = Millis::from_secs(24 * 60 * 60);

/// What sounded in a run, and how it lies to the time of day.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    pub course: Course,
    /// When the first frame of the file was rendered, by the wall clock.
    pub starts: Timestamp,
    /// Whether the sync tone was heard in the room.
    pub synced: bool,
    /// How long sound stood still in all although no loudspeaker was lost.
    pub stood: Millis,
}

/// Why a run cannot be laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum CourseError {
    #[error("its record does not tell what sounded: it is from before that was written down")]
    TooOld,
    #[error("nothing sounded in it")]
    Silent,
    #[error("it still goes on")]
    GoesOn,
    #[error("its record tells of more than a day")]
    TooLong,
}

/// A stretch between two losses of the loudspeaker.
#[derive(Debug, Clone, Copy)]
struct Span {
    /// Its first frame, as the record counts.
    from: i64,
    /// What the wall clock is ahead of the frames, in frames.
    ahead: i64,
}

fn frames(length: Millis) -> i64 {
    length.frames(SampleRate::OUTPUT).count() as i64
}

/// The wall clock in frames.
fn clock(time: Timestamp) -> i64 {
    time.as_millisecond()
        .saturating_mul(frames(Millis::from_ms(1)))
}

fn counted(frame: u64) -> i64 {
    i64::try_from(frame).unwrap_or(i64::MAX / 4)
}

impl Run {
    /// Lays out what sounded in it.
    ///
    /// # Errors
    ///
    /// [`CourseError`] says why its record does not do for that.
    pub fn course(&self) -> Result<Laid, CourseError> {
        if self.live {
            return Err(CourseError::GoesOn);
        }
        let began = self.frame.map(counted).ok_or(CourseError::TooOld)?;
        if self.entries.iter().all(|entry| entry.frame.is_none()) {
            return Err(CourseError::TooOld);
        }
        if !self.heard().any(|heard| heard.what != What::SyncTone) {
            return Err(CourseError::Silent);
        }
        let (spans, stands) = self.with_stands(self.spans(began));
        let tone = self.heard().find(|heard| heard.what == What::SyncTone);
        let zero = match tone {
            Some(tone) => placed(&spans, counted(tone.from_frame)),
            None => placed(&spans, began) - frames(BEFORE),
        };
        let at = |frame: i64| FrameAt::new((placed(&spans, frame) - zero).max(0) as u64);
        let mut course = self.laid_out(&at);
        for (from, _) in &stands {
            stand(&mut course.moves, after(from - 1, &at), at(*from));
        }
        let stood: i64 = stands.iter().map(|(_, late)| late).sum();
        if course.end > SampleRate::OUTPUT.frame_at(At::START + LONGEST) {
            return Err(CourseError::TooLong);
        }
        let first = spans.first().map_or(0, |span| span.ahead);
        let starts = (first + zero).div_euclid(frames(Millis::from_ms(1)));
        Ok(Laid {
            course,
            starts: Timestamp::from_millisecond(starts).unwrap_or(self.time),
            synced: tone.is_some(),
            stood: Millis::from_ms(stood / frames(Millis::from_ms(1))),
        })
    }

    fn heard(&self) -> impl Iterator<Item = &Heard> {
        self.entries.iter().filter_map(|entry| match &entry.what {
            Happening::Sounded(heard) => Some(heard),
            _ => None,
        })
    }

    /// Divides the run where its loudspeaker was lost, and reads off the wall clock for each part.
    fn spans(&self, began: i64) -> Vec<Span> {
        let mut spans = vec![Span {
            from: i64::MIN,
            ahead: clock(self.time) - began,
        }];
        // While it is away the frames stand, and time tells nothing of them.
        let mut back = None;
        let mut away = false;
        for entry in &self.entries {
            let Some(frame) = entry.frame.map(counted) else {
                continue;
            };
            let ahead = clock(entry.time) - frame;
            match entry.what {
                Happening::DeviceLost => {
                    away = true;
                    back = Some(frame);
                    continue;
                }
                Happening::DeviceBack if away => {
                    away = false;
                    let from = back.unwrap_or(frame);
                    spans.push(Span { from, ahead });
                    continue;
                }
                _ if away => continue,
                _ => {}
            }
            // The first line after it is back may be written before the first of its frames.
            if let Some(from) = back.filter(|from| frame > *from)
                && let Some(span) = spans.last_mut().filter(|span| span.from == from)
            {
                span.ahead = ahead;
                back = None;
            }
            if back.is_none()
                && let Some(span) = spans.last_mut()
            {
                span.ahead = span.ahead.min(ahead);
            }
        }
        // Time only goes on, whatever somebody did to the clock.
        for at in 1..spans.len() {
            spans[at].ahead = spans[at].ahead.max(spans[at - 1].ahead);
        }
        spans
    }

    /// Divides the run also where sound stood still without a loss; returns from which frames on, and for how many.
    fn with_stands(&self, spans: Vec<Span>) -> (Vec<Span>, Vec<(i64, i64)>) {
        let lines = self.entries.iter().filter_map(|entry| {
            let frame = entry.frame.map(counted)?;
            let lost = matches!(entry.what, Happening::DeviceLost | Happening::DeviceBack);
            (!lost).then(|| (frame, clock(entry.time) - frame))
        });
        let lines: Vec<(i64, i64)> = lines.collect();
        let mut all = Vec::new();
        let mut stands = Vec::new();
        for (nth, span) in spans.iter().enumerate() {
            let next = spans.get(nth + 1).map_or(i64::MAX, |next| next.from);
            let within = |line: &&(i64, i64)| line.0 > span.from && line.0 <= next;
            let lines: Vec<_> = lines.iter().filter(within).collect();
            // The least that any later line is late by.
            let mut least = i64::MAX;
            let earliest = lines.iter().rev().map(|line| {
                least = least.min(line.1);
                least
            });
            let earliest: Vec<i64> = earliest.collect();
            let mut here = *span;
            all.push(here);
            for at in 1..lines.len().saturating_sub(LINES_TO_TELL - 1) {
                let ahead = earliest[lines.len() - 1 - at];
                let late = ahead.saturating_sub(here.ahead);
                if (frames(STOOD)..=frames(STOOD_AT_MOST)).contains(&late) {
                    let from = lines[at - 1].0 + 1;
                    here = Span { from, ahead };
                    all.push(here);
                    stands.push((from, late));
                }
            }
        }
        (all, stands)
    }

    /// Says where the files of music are.
    fn found(&self, music: &MusicFrom) -> MusicFrom {
        MusicFrom {
            folder: self.root().join(&music.folder),
            ..music.clone()
        }
    }

    fn laid_out(&self, at: &dyn Fn(i64) -> FrameAt) -> Course {
        let mut course = Course {
            title: self.began.title.clone(),
            ..Course::default()
        };
        let mut open: Option<WorkDone> = None;
        let mut last = FrameAt::START;
        for entry in &self.entries {
            let Some(frame) = entry.frame.map(counted) else {
                // Not needed to know which music it is; else nothing is told of where it sounded.
                match &entry.what {
                    Happening::Music(music) => course.music.push(self.found(music)),
                    Happening::Bed(_) | Happening::Volume(_) => {
                        course.missing.push(missing(last, last, Why::Unknown));
                    }
                    _ => {}
                }
                continue;
            };
            let now = at(frame);
            match &entry.what {
                Happening::Sounded(heard) => {
                    let from = counted(heard.from_frame);
                    let ended = from.saturating_add(counted(heard.played().count()));
                    if heard.what == What::Unknown || ended > frame.saturating_add(LATEST) {
                        course.missing.push(missing(now, now, Why::Unknown));
                    } else if heard.what != What::SyncTone {
                        let from = at(from);
                        course.end = course.end.max(from + heard.played());
                        course.sounds.push((from, heard.clone()));
                    }
                }
                Happening::Music(music) => course.music.push(self.found(music)),
                Happening::Bed(BedMoved { from_frame, moved })
                    if !may_be(moved) || counted(*from_frame) > frame.saturating_add(LATEST) =>
                {
                    course.missing.push(missing(now, now, Why::Unknown));
                }
                Happening::Volume(set)
                    if !VOLUMES_DB.contains(&set.volume_db)
                        || counted(set.from_frame) > frame.saturating_add(LATEST) =>
                {
                    course.missing.push(missing(now, now, Why::Unknown));
                }
                Happening::Bed(bed) => {
                    let from = counted(bed.from_frame);
                    let from = match bed.moved.cuts() {
                        true => after(from - 1, at),
                        false => at(from),
                    };
                    course.moves.push((from, Moved::Bed(bed.moved)));
                    // A fade at the end is heard to its end.
                    if let Some(gate) = bed.moved.gate.filter(|gate| gate.to == 0.0) {
                        let left = gate.left.min(LONGEST_FADE);
                        course.end = course.end.max(from + Frames::new(left));
                    }
                }
                Happening::Volume(set) => {
                    let from = at(counted(set.from_frame));
                    let volume = Moved::Volume(Db::new(set.volume_db));
                    course.moves.push((from, volume));
                }
                Happening::WorkBegun(work) => {
                    close(&mut open, now, &mut course.works);
                    open = Some(begun(work, now));
                }
                Happening::WorkDone(_) | Happening::Skipped(_) | Happening::GoneBack { .. } => {
                    close(&mut open, now, &mut course.works);
                }
                Happening::Missed { count } => {
                    course.missing.push(missing(last, now, Why::Missed(*count)));
                }
                Happening::Unknown => course.missing.push(missing(now, now, Why::Unknown)),
                _ => {}
            }
            last = last.max(now);
            course.end = course.end.max(now);
        }
        close(&mut open, course.end, &mut course.works);
        if self.torn || self.ended() == Ended::BrokenOff {
            course.missing.push(missing(last, last, Why::CutOff));
        }
        let bed = |it: &(FrameAt, Moved)| matches!(it.1, Moved::Bed(_));
        if let Some((from, _)) = course.moves.iter().find(|it| bed(it))
            && course.music.is_empty()
        {
            // Which music it was is not there.
            course.missing.push(missing(*from, *from, Why::Unknown));
        }
        course.sounds.sort_by_key(|(from, _)| *from);
        course.moves.sort_by_key(|(from, _)| *from);
        let first = course.sounds.first().map_or(FrameAt::START, |it| it.0);
        from_the_usual_volume(&mut course.moves, first);
        course
    }
}

/// Volumes that a mixer is told, in decibels: from silence to the loudest against the least level of a device.
const VOLUMES_DB: RangeInclusive<f32> = -200.0..=100.0;

/// Tells whether a bed can move so: levels, a gate and a dip are within their limits.
fn may_be(moved: &BedMove) -> bool {
    let within = |way: Option<Way>, limits: RangeInclusive<f32>| {
        way.is_none_or(|way| {
            let there = limits.contains(&way.from) && limits.contains(&way.to);
            there && way.left <= way.frames
        })
    };
    within(moved.level, 0.0..=16.0)
        && within(moved.gate, 0.0..=1.01)
        && within(moved.dip, -60.1..=0.0)
}

/// Returns the place after a frame. Where the loudspeaker is lost then, the next frame lies much later.
fn after(frame: i64, at: &dyn Fn(i64) -> FrameAt) -> FrameAt {
    at(frame) + Frames::new(1)
}

/// Makes the volume with which a class begins the usual one, so that only a change during the class is heard.
fn from_the_usual_volume(moves: &mut Vec<(FrameAt, Moved)>, first: FrameAt) {
    let mut usual = Db::default();
    moves.retain_mut(|(at, moved)| {
        let Moved::Volume(volume) = moved else {
            return true;
        };
        if *at <= first {
            usual = *volume;
            return false;
        }
        *volume = Db::new(volume.db() - usual.db());
        true
    });
}

/// Has music wait where sound stood still, from a place to another one.
fn stand(moves: &mut Vec<(FrameAt, Moved)>, from: FrameAt, to: FrameAt) {
    let before = moves.partition_point(|(at, _)| *at <= from);
    let gates = moves[..before].iter().rev();
    let gate = gates.filter_map(|(_, moved)| match moved {
        Moved::Bed(BedMove { gate, .. }) => *gate,
        Moved::Volume(_) => None,
    });
    let Some(gate) = gate.into_iter().next().filter(|gate| gate.to > 0.0) else {
        return;
    };
    moves.insert(before, (from, Moved::Bed(BedMove::CUT)));
    let frames = COMES_BACK.frames(SampleRate::OUTPUT).count();
    let comes = BedMove {
        gate: Some(Way {
            from: 0.0,
            to: gate.to,
            frames,
            left: frames,
        }),
        ..BedMove::default()
    };
    let after = moves.partition_point(|(at, _)| *at <= to);
    moves.insert(after, (to, Moved::Bed(comes)));
}

/// Returns where a frame of the record lies when the time without a loudspeaker counts too.
fn placed(spans: &[Span], frame: i64) -> i64 {
    let after = spans.partition_point(|span| span.from <= frame);
    let (Some(first), Some(here)) = (spans.first(), spans.get(after.saturating_sub(1))) else {
        return frame;
    };
    frame.saturating_add(here.ahead.saturating_sub(first.ahead))
}

fn missing(from: FrameAt, to: FrameAt, why: Why) -> Missing {
    Missing { from, to, why }
}

fn begun(work: &WorkAt, start: FrameAt) -> WorkDone {
    WorkDone {
        start,
        end: start,
        name: work.movement.is_some().then(|| work.name.clone()),
        side: work.side.clone(),
        block: work.block,
        round: work.round,
        rounds: work.rounds,
        turn: work.turn,
    }
}

fn close(open: &mut Option<WorkDone>, end: FrameAt, works: &mut Vec<WorkDone>) {
    if let Some(work) = open.take() {
        works.push(WorkDone { end, ..work });
    }
}
