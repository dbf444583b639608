//! The whole behaviour of a running class as a pure function: `step(Event) -> Vec<Effect>`.
//!
//! The clock is the number of frames rendered: it comes in with events as a position in the
//! session. Nothing here waits, reads a clock or makes a sound.

mod again;
mod ask;
mod moves;
mod pause;
mod terms;
mod told;
mod words;

pub use terms::Effect;
pub use terms::Event;
pub use terms::Message;
pub use terms::State;
pub use terms::Wishes;
pub use words::Words;

use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::planning::plan::REMINDER_EVERY;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use std::collections::BTreeMap;
use std::collections::BTreeSet;

/// Clips are handed over this far ahead.
const AHEAD: Millis = Millis::from_secs(30);
/// A jump lands this long before a change, so that the tone on it is heard from its first sample.
const BEFORE_CHANGE: Millis = Millis::from_ms(5);
/// The clock stops this long before the end of what is planned.
const SPARE: Millis = Millis::from_secs(1);
/// A live class begins this long before its first sound: nobody needs the silence before it.
const BEFORE_FIRST_SOUND: Millis = Millis::from_ms(60);
/// After the first line, until the next one is due.
const AFTER_FIRST_LINE: Millis = Millis::from_ms(350);
/// The plan is made this far ahead, and at least so many changes, so that a skip finds its place.
const MADE_AHEAD: Millis = Millis::from_secs(45);
const CHANGES_AHEAD: usize = 3;
/// A segment that is open goes back this long before its nominal end, clear of what sounds there, by
/// as much as lies between two words on which key goes on.
const BEFORE_OPEN_END: Millis = Millis::from_secs(2);
/// A line said again keeps this far from the sound after it.
const CLEAR: Millis = Millis::from_ms(300);

/// What follows when all that is said over the stopped clock is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Then {
    /// The clock goes on.
    GoOn,
    /// It is counted in, with a start tone where there is none.
    CountIn {
        tone: bool,
    },
    /// The count is on its way: the mixer starts the clock with its end.
    Counting {
        tone: bool,
    },
    /// The class goes on as it would have without the loss of its loudspeaker.
    Resume,
    End,
}

/// How a class begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Begin {
    /// Just before its first sound.
    Whole,
    /// In the middle, once it was said where.
    InTheMiddle,
    /// At a work that a listener went back to.
    AtWork,
    /// In the place of one that runs, so long after its stretch began.
    Over(Millis),
}

/// Something to say as soon as it fits between what is planned.
#[derive(Debug, Clone, PartialEq)]
enum Pending {
    /// Words for the movement at hand: worth nothing when that is over, at this time of the class.
    Text(String, At),
    /// An answer, which is worth nothing later than this on the clock that never stands.
    Answer(Message, Millis),
}

/// A class that runs.
#[derive(Debug)]
pub struct Core<'a> {
    state: State,
    words: Option<Words<'a>>,
    begin: Begin,
    wishes: Wishes,
    heard: Millis,
    /// When it was paused, on the clock that never stands.
    paused_at: Millis,
    /// Whether it goes on by itself when the loudspeaker is back.
    lost_while_running: bool,
    /// What is still to be said over the stopped clock, and what follows.
    to_say: usize,
    then: Option<Then>,
    pending: Option<Pending>,
    at: At,
    timeline: Option<Timeline>,
    sounds: BTreeMap<u64, Sound>,
    /// Ids not handed over yet, by onset.
    waiting: BTreeSet<(At, u64)>,
    all_planned: bool,
    /// Where the plan begins, and how far it reaches: the start of the last rest planned or the end.
    planned_from: At,
    planned_to: At,
    /// Where another plan takes over.
    hand_over: Option<At>,
    /// The speed at which it was planned, and the rates that lines had then which have another now.
    planned_speed: u16,
    own_rates: BTreeMap<u64, Rate>,
    /// Whether it is to be planned again as soon as anything is planned.
    again: bool,
    /// Clips that a hold cut, to be said again.
    cut: Vec<u64>,
    /// Until when one of them sounds, or a tone that is not in the plan.
    again_until: At,
    effort: Effort,
}

/// Returns whether a work starts at an instant.
fn starts_work(timeline: &Timeline, at: At) -> bool {
    let mut segments = timeline.segments.iter();
    segments.any(|s| s.kind == SegmentKind::Work && s.start == at)
}

/// What one class hands on to the one that takes over from it.
#[derive(Debug)]
pub struct Carried {
    begin: Begin,
    wishes: Wishes,
    heard: Millis,
    pending: Option<Pending>,
    effort: Effort,
}

/// What there is to know of the effort felt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Effort {
    /// Whether somebody could answer after the end.
    asks: bool,
    /// Whether a work was begun.
    worked: bool,
    told: bool,
    /// Until when an answer is waited for, on the clock that never stands.
    until: Option<Millis>,
}

impl Default for Core<'_> {
    fn default() -> Self {
        Self {
            state: State::Building,
            words: None,
            begin: Begin::Whole,
            wishes: Wishes::default(),
            heard: Millis::ZERO,
            paused_at: Millis::ZERO,
            lost_while_running: false,
            to_say: 0,
            then: None,
            pending: None,
            at: At::START,
            timeline: None,
            sounds: BTreeMap::new(),
            waiting: BTreeSet::new(),
            all_planned: false,
            planned_from: At::START,
            planned_to: At::START,
            hand_over: None,
            planned_speed: Wishes::default().speed,
            own_rates: BTreeMap::new(),
            again: false,
            cut: Vec::new(),
            again_until: At::START,
            effort: Effort::default(),
        }
    }
}

impl<'a> Core<'a> {
    /// Makes a class that knows how to speak of its session, with what the listener wishes.
    pub fn new(words: Words<'a>, wishes: Wishes) -> Self {
        Self {
            words: Some(words),
            planned_speed: wishes.speed,
            wishes,
            ..Self::default()
        }
    }

    /// Has it begin in the middle, with the stretch that is planned first.
    pub fn in_the_middle(mut self) -> Self {
        self.begin = Begin::InTheMiddle;
        self
    }

    /// Has it ask for the effort felt at the end, and wait for an answer.
    pub fn asking(mut self) -> Self {
        self.effort.asks = true;
        self
    }

    /// Makes the class that takes over from one that runs.
    pub fn after(words: Words<'a>, carried: Carried) -> Self {
        Self {
            begin: carried.begin,
            heard: carried.heard,
            pending: carried.pending,
            effort: carried.effort,
            ..Self::new(words, carried.wishes)
        }
    }

    /// Takes what goes over to the class that takes over; `since` is what [`Effect::HandOver`] said,
    /// none for [`Effect::StartFrom`].
    pub fn carried(self, since: Option<Millis>) -> Carried {
        Carried {
            begin: since.map_or(Begin::AtWork, Begin::Over),
            wishes: self.wishes,
            heard: self.heard,
            pending: self.pending,
            effort: self.effort,
        }
    }

    /// Returns what the class is doing.
    pub fn state(&self) -> State {
        self.state
    }

    /// Returns a sound of the plan by the id of its clip.
    pub fn sound(&self, id: u64) -> Option<&Sound> {
        self.sounds.get(&id)
    }

    /// Takes in what happened and returns what is to be done about it, in order.
    pub fn step(&mut self, event: Event) -> Vec<Effect> {
        let mut effects = Vec::new();
        match event {
            Event::Verb(verb) => self.told(verb, &mut effects),
            Event::FirstLine { id, sound } => self.first_line(id, sound, &mut effects),
            Event::Planned {
                sounds,
                timeline,
                begins,
            } => self.planned(sounds, timeline, begins, &mut effects),
            Event::Changed => self.plan_again(&mut effects),
            Event::Respoken { id, lasts, rate } => self.respoken(id, lasts, rate, &mut effects),
            Event::AllPlanned => {
                self.all_planned = true;
                self.planned_to = self.timeline.as_ref().map_or(At::START, Timeline::end);
                self.go_on_if_built(&mut effects);
            }
            Event::Clock { at, settled, heard } => {
                self.heard = heard;
                self.clock(at, settled, &mut effects);
            }
            Event::Cut { id } => self.cut.push(id),
            Event::SaidOver => self.said_over(&mut effects),
            Event::DeviceLost => self.lost(&mut effects),
            Event::DeviceBack { away } => self.device_back(away, &mut effects),
        }
        effects
    }

    fn enter(&mut self, state: State, effects: &mut Vec<Effect>) {
        if self.state != state {
            self.state = state;
            effects.push(Effect::Show(state));
        }
    }

    /// Moves the clock; sounds from `from` on are heard again.
    fn jump(&mut self, to: At, from: At, effects: &mut Vec<Effect>) {
        effects.push(Effect::Jump(to));
        // It ends what is said over the class, too.
        self.to_say = 0;
        self.at = to;
        self.cut.clear();
        self.again_until = At::START;
        self.waiting = self
            .sounds
            .iter()
            .filter(|(_, s)| s.onset >= from)
            .map(|(id, s)| (s.onset, *id))
            .collect();
        self.feed(effects);
    }

    /// Returns the segment that the clock is in, if it goes on until a key.
    fn open_segment(&self) -> Option<&Segment> {
        let segments = &self.timeline.as_ref()?.segments;
        let inside = |s: &&Segment| (s.start..s.end).contains(&(self.at + BEFORE_CHANGE));
        segments.iter().find(inside).filter(|s| s.open)
    }

    /// Returns whether a sound may be heard again while the class waits for a key.
    pub fn may_come_again(&self, id: u64) -> bool {
        let segments = self.timeline.as_ref().map(|t| &t.segments);
        let of = self.sounds.get(&id).map(|s| s.segment);
        let segment = segments.zip(of).and_then(|(all, at)| all.get(at));
        segment.is_some_and(|s| s.open)
    }

    /// Begins with the first line; the clock waits after it until its stretch is planned.
    fn first_line(&mut self, id: u64, sound: Sound, effects: &mut Vec<Effect>) {
        self.planned_to = sound.end + SPARE + AFTER_FIRST_LINE;
        self.begin_at(sound.onset, effects);
        self.waiting.insert((sound.onset, id));
        self.sounds.insert(id, sound);
        self.feed(effects);
        self.go_on_if_built(effects);
    }

    /// Moves the clock to just before the first sound.
    fn begin_at(&mut self, onset: At, effects: &mut Vec<Effect>) {
        let start = onset - BEFORE_FIRST_SOUND;
        if start > At::START {
            self.at = start;
            effects.push(Effect::Jump(start));
        }
    }

    /// Returns whether another stretch should be made by now.
    pub fn wants_more(&self) -> bool {
        let Some(timeline) = &self.timeline else {
            return true;
        };
        let ahead = |s: &&Segment| s.start > self.at && s.start <= self.planned_to;
        let changes_ahead = timeline.segments.iter().filter(ahead).count();
        self.planned_to < self.at + MADE_AHEAD || changes_ahead < CHANGES_AHEAD
    }

    fn planned(
        &mut self,
        sounds: Vec<(u64, Sound)>,
        timeline: Timeline,
        begins: Option<At>,
        effects: &mut Vec<Effect>,
    ) {
        let first = self.timeline.is_none() && self.sounds.is_empty();
        let from = match (self.begin, begins) {
            (Begin::Over(since), Some(begins)) if !starts_work(&timeline, begins) => begins + since,
            _ => At::START,
        };
        for (id, sound) in sounds.into_iter().filter(|(_, s)| s.onset >= from) {
            self.waiting.insert((sound.onset, id));
            self.sounds.insert(id, sound);
        }
        // The end of a work may still get words for what follows: it is planned with the next.
        let last_work = self
            .sounds
            .values()
            .filter(|s| s.kind != SoundKind::Count)
            .map(|s| timeline.segments[s.segment].start)
            .max();
        self.planned_to = last_work.unwrap_or(At::START);
        self.timeline = Some(timeline);
        if std::mem::take(&mut self.again) {
            self.plan_again(effects);
        }
        if first {
            self.planned_from = begins.unwrap_or(At::START);
            let onset = self.waiting.first().map_or(from, |first| first.0);
            match self.begin {
                Begin::Whole => self.begin_at(onset, effects),
                Begin::Over(_) if self.begins_with_a_work() => {
                    effects.push(Effect::Hold);
                    return self.begin_in_the_middle(onset, effects);
                }
                Begin::Over(_) => self.jump(from, from, effects),
                Begin::AtWork => return self.enter_work(self.planned_from, effects),
                Begin::InTheMiddle => return self.begin_in_the_middle(onset, effects),
            }
        }
        self.feed(effects);
        self.go_on_if_built(effects);
    }

    fn begins_with_a_work(&self) -> bool {
        let timeline = self.timeline.as_ref();
        timeline.is_some_and(|timeline| starts_work(timeline, self.planned_from))
    }

    /// Says where it goes on; a work is counted in, a rest begins after the words.
    fn begin_in_the_middle(&mut self, onset: At, effects: &mut Vec<Effect>) {
        let from = self.planned_from;
        let in_work = self.begins_with_a_work();
        if in_work {
            self.jump(from - BEFORE_CHANGE, from, effects);
        } else {
            self.begin_at(onset, effects);
            self.feed(effects);
        }
        let text = self.words.zip(self.timeline.as_ref());
        let text = text.and_then(|(words, timeline)| words.goes_on(timeline, from));
        self.enter(State::Announcing, effects);
        match text {
            Some(text) => self.say_text(text, effects),
            None => self.say(Message::GoingOn, effects),
        }
        self.then = Some(match in_work {
            true => Then::CountIn { tone: false },
            false => Then::GoOn,
        });
    }

    fn go_on_if_built(&mut self, effects: &mut Vec<Effect>) {
        let enough = self.all_planned || self.at + SPARE < self.planned_to;
        if self.state == State::Building && enough {
            effects.push(Effect::Play);
            self.enter(State::Running, effects);
        }
    }

    fn clock(&mut self, at: At, settled: bool, effects: &mut Vec<Effect>) {
        // Until a jump is carried out the mixer still tells the old place.
        if settled {
            self.at = at;
        }
        self.feed(effects);
        self.wait_for_the_effort(effects);
        if self.state != State::Running {
            return;
        }
        if settled && self.hands_over(effects) {
            return;
        }
        if settled
            && let Some(open) = self.open_segment()
            && at + BEFORE_OPEN_END >= open.end
        {
            let back = at - REMINDER_EVERY;
            self.jump(back, back, effects);
            return;
        }
        self.say_when_it_fits(effects);
        let working = |s: &Segment| s.kind == SegmentKind::Work;
        self.effort.worked |= self.here().is_some_and(working);
        let end = self.timeline.as_ref().map_or(At::START, Timeline::end);
        if self.all_planned && self.at >= end {
            self.finish(effects);
        } else if !self.all_planned && self.at + SPARE >= self.planned_to {
            effects.push(Effect::Hold);
            self.enter(State::Building, effects);
        }
    }

    /// Hands over what sounds within the next half minute.
    fn feed(&mut self, effects: &mut Vec<Effect>) {
        let until = self.at + AHEAD;
        while let Some((onset, id)) = self.waiting.first().copied() {
            if onset > until {
                break;
            }
            self.waiting.remove(&(onset, id));
            effects.push(Effect::Feed { id, onset });
        }
    }
}
