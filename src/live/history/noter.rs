//! What is worth writing down of a running class: a pure function of what the core was told and
//! what it decided, from one step to the next.

use super::Done;
use super::Happening;
use super::Played;
use super::Rate;
use super::WorkAt;
use crate::base::units::At;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::live::control::Verb;
use crate::live::core::Effect;
use crate::live::core::Event;
use crate::live::core::State;
use crate::planning::session::Session;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use std::sync::Arc;

/// What the core was told, as far as it is of interest here.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    Verb(Verb),
    DeviceLost,
    DeviceBack,
    /// The clock, where every command was carried out.
    Clock(At),
    Other,
}

impl From<&Event> for Told {
    fn from(event: &Event) -> Self {
        match event {
            Event::Verb(verb) => Told::Verb(verb.clone()),
            Event::DeviceLost => Told::DeviceLost,
            Event::DeviceBack { .. } => Told::DeviceBack,
            Event::Clock {
                at, settled: true, ..
            } => Told::Clock(*at),
            _ => Told::Other,
        }
    }
}

/// One step of the core.
#[derive(Debug)]
pub struct Step<'a> {
    pub told: Told,
    pub effects: &'a [Effect],
    /// The session in time as far as it is known.
    pub timeline: Option<&'a Timeline>,
    /// How many frames the room's mixer had rendered.
    pub frame: Frames,
}

/// A jump that lands so shortly before a change goes to the change.
const BEFORE_CHANGE: Millis = Millis::from_ms(10);

/// Follows a class from step to step.
#[derive(Debug)]
pub struct Noter {
    session: Arc<Session>,
    at: At,
    /// The segment that the clock is in, until it was left by a jump.
    inside: Option<usize>,
    /// How long the class was heard: in this segment, and in all.
    done: Millis,
    played: Millis,
    paused: bool,
    ended: bool,
    /// Between two plans: the clock still tells a place of the one before.
    between: bool,
    goes_back: bool,
}

type Notes = Vec<(At, Happening)>;

impl Noter {
    /// Begins at the start of a session.
    pub fn new(session: Arc<Session>) -> Self {
        Self {
            session,
            at: At::START,
            inside: None,
            done: Millis::ZERO,
            played: Millis::ZERO,
            paused: false,
            ended: false,
            between: false,
            goes_back: false,
        }
    }

    /// Goes on with a session as its files are now; the place in it comes with the next step.
    pub fn changed(&mut self, session: Arc<Session>) {
        self.session = session;
        self.inside = None;
    }

    /// Returns where the class is.
    pub fn at(&self) -> At {
        self.at
    }

    /// Returns what is to be written down of a step, each with its place in the session.
    pub fn note(&mut self, step: &Step) -> Notes {
        let mut notes = Vec::new();
        match &step.told {
            _ if self.ended => {}
            Told::Clock(_) if self.between => {}
            Told::Clock(at) => self.go_to(*at, step.timeline, &mut notes),
            Told::DeviceLost => notes.push((self.at, Happening::DeviceLost)),
            Told::DeviceBack => notes.push((self.at, Happening::DeviceBack)),
            _ => {}
        }
        for effect in step.effects {
            match effect {
                Effect::Rate(felt) => {
                    let rate = Rate {
                        felt: *felt,
                        later: false,
                    };
                    notes.push((self.at, Happening::Rate(rate)));
                }
                // After the end nothing else is worth a line.
                _ if self.ended => {}
                Effect::Easier => {
                    let work = self.work(step.timeline);
                    notes.extend(work.map(|work| (self.at, Happening::MadeEasier(work))));
                }
                // The places of another plan are others.
                Effect::HandOver(_) => {
                    self.inside = None;
                    self.between = true;
                }
                Effect::StartFrom(_) => {
                    self.inside = None;
                    self.between = true;
                    self.goes_back = true;
                }
                Effect::Jump(to) if self.between => {
                    self.between = false;
                    if std::mem::take(&mut self.goes_back) {
                        notes.push((self.at, Happening::GoneBack { to_ms: to.ms() }));
                    }
                    self.at = *to;
                }
                Effect::Jump(to) => self.jump(*to, step, &mut notes),
                Effect::Show(state) => self.show(*state, &step.told, &mut notes),
                _ => {}
            }
        }
        notes
    }

    fn show(&mut self, state: State, told: &Told, notes: &mut Notes) {
        let played = Played {
            played_ms: self.played.ms(),
        };
        match state {
            State::Finished => {
                self.ended = true;
                let stopped = *told == Told::Verb(Verb::Stop);
                let end = if stopped {
                    Happening::Stopped(played)
                } else {
                    Happening::Finished(played)
                };
                notes.push((self.at, end));
            }
            State::Paused if !self.paused => {
                self.paused = true;
                notes.push((self.at, Happening::Paused));
            }
            State::Running | State::Building | State::Announcing if self.paused => {
                self.paused = false;
                notes.push((self.at, Happening::Resumed));
            }
            _ => {}
        }
    }

    /// The clock has moved on its own.
    fn go_to(&mut self, to: At, timeline: Option<&Timeline>, notes: &mut Notes) {
        if to <= self.at {
            self.at = to;
            return;
        }
        self.played += to - self.at;
        let segments = timeline.map_or(&[][..], |t| &t.segments);
        while let Some(index) = around(segments, self.at) {
            let end = segments[index].end;
            if self.inside != Some(index) && end - self.at > BEFORE_CHANGE {
                self.enter(index, timeline, notes);
            }
            if to < end {
                break;
            }
            self.done += end - self.at;
            self.at = end;
            if self.inside == Some(index) {
                self.leave(timeline, notes, Happening::WorkDone);
            }
        }
        self.done += to - self.at;
        self.at = to;
    }

    fn enter(&mut self, index: usize, timeline: Option<&Timeline>, notes: &mut Notes) {
        self.inside = Some(index);
        self.done = Millis::ZERO;
        if let Some(work) = self.work(timeline) {
            notes.push((self.at, Happening::WorkBegun(work)));
        }
    }

    /// Leaves the segment; a work is noted so.
    fn leave(
        &mut self,
        timeline: Option<&Timeline>,
        notes: &mut Notes,
        how: fn(Done) -> Happening,
    ) {
        if let Some(work) = self.work(timeline) {
            let done_ms = self.done.ms();
            notes.push((self.at, how(Done { work, done_ms })));
        }
        self.inside = None;
    }

    fn jump(&mut self, to: At, step: &Step, notes: &mut Notes) {
        let segments = step.timeline.map_or(&[][..], |t| &t.segments);
        let here = self.inside.and_then(|index| segments.get(index));
        let asked = matches!(step.told, Told::Verb(_));
        if let Some(here) = here {
            if to >= here.end - BEFORE_CHANGE {
                self.left(here, step, notes);
            } else if to < here.start || (asked && to < self.at) {
                notes.push((self.at, Happening::GoneBack { to_ms: to.ms() }));
                self.inside = None;
            }
        } else if asked && to < self.at {
            notes.push((self.at, Happening::GoneBack { to_ms: to.ms() }));
        }
        self.at = to;
    }

    /// A segment was left by a jump to its end.
    fn left(&mut self, here: &Segment, step: &Step, notes: &mut Notes) {
        let skipped = !here.open || step.told == Told::Verb(Verb::Skip);
        match (here.kind, skipped) {
            (SegmentKind::Work, true) => self.leave(step.timeline, notes, Happening::Skipped),
            // The key that it waited for.
            (SegmentKind::Work, false) => self.leave(step.timeline, notes, Happening::WorkDone),
            (kind, true) => {
                let segment = kind.word().to_owned();
                notes.push((self.at, Happening::SkippedRest { segment }));
            }
            (_, false) => {}
        }
        self.inside = None;
    }

    /// Returns the work that the clock is in.
    fn work(&self, timeline: Option<&Timeline>) -> Option<WorkAt> {
        let timeline = timeline?;
        let segment = timeline.segments.get(self.inside?)?;
        let index = segment.work.filter(|_| segment.kind == SegmentKind::Work)?;
        let work = timeline.works.get(index)?;
        let movement = self.session.movement(work.movement_use(&self.session));
        Some(WorkAt {
            work: index + 1,
            movement: (!work.stations).then(|| movement.id.clone()),
            name: if work.stations {
                "all stations".to_owned()
            } else {
                movement.name.clone()
            },
            side: work.side.map(|side| side.id().to_owned()),
            block: work.block + 1,
            round: work.round + 1,
            rounds: work.block(&self.session).rounds,
            turn: work.stations.then_some((work.position + 1, work.positions)),
            planned_ms: (!work.open).then(|| work.length.ms()),
        })
    }
}

/// Returns the segment around an instant.
fn around(segments: &[Segment], at: At) -> Option<usize> {
    segments.iter().position(|s| (s.start..s.end).contains(&at))
}
