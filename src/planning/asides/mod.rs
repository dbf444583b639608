//! What only the coach hears: what comes next and what to pick up for it, how much of the class is left.
//!
//! The plan stands; asides go where it is quiet for long enough, and what does not fit is left out. This
//! room knows no voice: lengths are handed to it.

mod gaps;

use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::wording::Wording;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::script::CautionLength;
use crate::planning::script::Scribe;
use crate::planning::session::Session;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use gaps::Gaps;

/// A work has begun before anything is said of the next one.
const AFTER_START: Millis = Millis::from_secs(1);
/// Near its end: sooner it would be forgotten (common practice: name the next thing in the last third).
const NEAR_THE_END: Millis = Millis::from_secs(25);
/// A work that goes on until a key comes back to its last seconds again and again: nothing is told there.
const COMES_AGAIN: Millis = Millis::from_secs(24);
/// How often the time left is told.
const EVERY_MINUTES: i64 = 5;
/// So long after its moment it is no news any more, and still right to half a minute.
const NEWS_FOR: Millis = Millis::from_secs(25);
/// Told once within this time, whatever the reasons.
const NOT_AGAIN_FOR: Millis = Millis::from_secs(60);
const MINUTE_MS: i64 = 60_000;

/// Something that only the coach hears, from its first sound to its last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    pub text: String,
    pub onset: At,
    pub end: At,
}

/// Places asides, segment by segment, as a plan is made.
pub struct Asides<'a> {
    scribe: Scribe<'a>,
    /// The segment that is looked at next.
    next: usize,
    /// When the time left is to be told, from then on.
    due: Option<At>,
    told: Option<At>,
}

/// How long a text is spoken; none if it cannot be.
pub type Lengths<'l> = &'l mut dyn FnMut(&str) -> Option<Millis>;

impl<'a> Asides<'a> {
    /// Starts for a session laid out in time.
    pub fn new(session: &'a Session, timeline: &Timeline, wording: &'a Wording) -> Self {
        Self {
            // What the opening says does not matter here.
            scribe: Scribe::new(session, &timeline.works, wording, CautionLength::Brief),
            next: 0,
            due: None,
            told: None,
        }
    }

    /// Leaves out what comes before a segment: the class begins with it.
    pub fn begin_at(&mut self, segment: usize) {
        self.next = segment;
    }

    /// Places the asides of the segments before `until` that were not looked at yet. `sounds` holds at
    /// least all that is heard in them.
    pub fn place(
        &mut self,
        timeline: &Timeline,
        sounds: &[Sound],
        until: usize,
        length: Lengths,
    ) -> Vec<Aside> {
        let mut placed = Vec::new();
        let until = until.min(timeline.segments.len());
        while self.next < until {
            let index = self.next;
            self.next += 1;
            let segment = &timeline.segments[index];
            let mut gaps = Gaps::of(timeline, sounds, segment);
            let next = next_of(segment, timeline);
            let coming = next.and_then(|next| self.coming(timeline, segment, next, &gaps, length));
            if let Some(aside) = coming {
                gaps.take(aside.onset, aside.end);
                placed.push(aside);
            }
            self.watch_the_time(timeline, segment, index);
            placed.extend(self.left(timeline, segment, &gaps, length));
        }
        placed.sort_by_key(|aside| aside.onset);
        placed
    }

    /// What comes next, as late in a work as there is room for it.
    fn coming(
        &self,
        timeline: &Timeline,
        segment: &Segment,
        next: usize,
        gaps: &Gaps,
        length: Lengths,
    ) -> Option<Aside> {
        let to = match segment.open {
            true => segment.end - COMES_AGAIN,
            false => segment.end,
        };
        let from = (segment.start + AFTER_START).max(to - NEAR_THE_END);
        let texts = self.scribe.coming(timeline, next);
        texts.into_iter().find_map(|text| {
            let lasts = length(&text)?;
            let (onset, end) = gaps.latest(from, to, lasts)?;
            Some(Aside { text, onset, end })
        })
    }

    /// Takes note of a moment to tell the time left at: each five minutes of it, and after a block.
    fn watch_the_time(&mut self, timeline: &Timeline, segment: &Segment, index: usize) {
        if segment.kind == SegmentKind::LeadIn {
            return;
        }
        let end = end_of_works(timeline);
        let every = EVERY_MINUTES * MINUTE_MS;
        let fives = (end - segment.start).ms() / every;
        let moment = end - Millis::from_ms(fives * every);
        let five = (fives > 0 && moment < segment.end).then_some(moment.max(segment.start));
        let block = ended_block(timeline, index).then_some(segment.start);
        let due = five.into_iter().chain(block).min();
        self.due = match (self.due, due) {
            (Some(one), Some(other)) => Some(one.max(other)),
            (one, other) => one.or(other),
        };
    }

    /// The time left, if it is due and fits.
    fn left(
        &mut self,
        timeline: &Timeline,
        segment: &Segment,
        gaps: &Gaps,
        length: Lengths,
    ) -> Option<Aside> {
        let due = self.due?;
        let just_told = self.told.is_some_and(|told| due - told < NOT_AGAIN_FOR);
        let unknown = timeline.segments.iter().any(|s| s.open && s.end > due);
        let from = due.max(segment.start);
        let last = due + NEWS_FOR;
        if just_told || unknown || from >= last {
            self.due = None;
            return None;
        }
        let minutes = ((end_of_works(timeline) - due).ms() + MINUTE_MS / 2) / MINUTE_MS;
        if minutes < 1 {
            self.due = None;
            return None;
        }
        let text = self.scribe.left_of_the_class(minutes);
        let lasts = length(&text)?;
        let (onset, end) = gaps.earliest(from, last.min(segment.end), lasts)?;
        self.due = None;
        self.told = Some(onset);
        Some(Aside { text, onset, end })
    }
}

/// Places all asides of a plan.
pub fn asides(session: &Session, wording: &Wording, plan: &Plan, length: Lengths) -> Vec<Aside> {
    let timeline = &plan.timeline;
    let mut asides = Asides::new(session, timeline, wording);
    asides.place(timeline, &plan.sounds, timeline.segments.len(), length)
}

/// Returns the work that comes after a segment of work.
fn next_of(segment: &Segment, timeline: &Timeline) -> Option<usize> {
    let work = segment.work.filter(|_| segment.kind == SegmentKind::Work)?;
    // Where one work is all there is, its end is told by its own count.
    (timeline.works.len() > 1).then_some(work + 1)
}

fn end_of_works(timeline: &Timeline) -> At {
    let last = timeline.segments.iter().rfind(|s| s.work.is_some());
    last.map_or(At::START, |segment| segment.end)
}

/// Returns whether a block ended where a segment begins, and there is more to come.
fn ended_block(timeline: &Timeline, index: usize) -> bool {
    let before = index.checked_sub(1).map(|at| &timeline.segments[at]);
    let work = before.filter(|s| s.kind == SegmentKind::Work);
    let Some(work) = work.and_then(|s| s.work) else {
        return false;
    };
    let next = timeline.works.get(work + 1);
    next.is_some_and(|next| next.block != timeline.works[work].block)
}
