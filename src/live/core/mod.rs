//! The whole behaviour of a running class as a pure function: `step(Event) -> Vec<Effect>`.
//!
//! The clock is the number of frames rendered: it comes in with events as a position in the
//! session. Nothing here waits, reads a clock or makes a sound.

mod told;
mod words;

pub use words::Words;

use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::Millis;
use crate::live::control::Verb;
use crate::planning::plan::REMINDER_EVERY;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::timeline::Segment;
use crate::planning::timeline::Timeline;
use std::collections::BTreeMap;
use std::collections::BTreeSet;

/// What happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    Verb(Verb),
    /// The first line is there, before its stretch is planned.
    FirstLine {
        id: u64,
        sound: Sound,
    },
    /// The next stretch is planned; each sound has the id of its clip.
    Planned {
        sounds: Vec<(u64, Sound)>,
        timeline: Timeline,
    },
    /// All stretches are planned.
    AllPlanned,
    /// The session clock as last seen; `settled` when every command was carried out. `heard` is how
    /// much was rendered since the start, held or not: the clock that never stands.
    Clock {
        at: At,
        settled: bool,
        heard: Millis,
    },
    /// A clip was faded out before its end.
    Cut {
        id: u64,
    },
    /// What was said over the stopped clock is over.
    SaidOver,
    /// The loudspeaker is gone: the clock stands still.
    DeviceLost,
    DeviceBack,
}

/// What is to be done.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    Play,
    /// Fades out and stops the clock.
    Hold,
    /// Fades out what is spoken over the stopped clock.
    Hush,
    /// Moves the clock, dropping all that waits.
    Jump(At),
    /// Hands a clip to the mixer so that its onset lies at an instant.
    Feed {
        id: u64,
        onset: At,
    },
    /// Says a message over the stopped clock.
    Say(Message),
    /// Says a text of the moment, over the session.
    SayText(String),
    /// Says a line of the plan again, over the session.
    SayAgain(u64),
    /// Counts three, two, one over the stopped clock, which goes on a second after "one": with a
    /// start tone, if none stands there.
    CountIn {
        tone: bool,
    },
    /// Sets the volume.
    Volume(Db),
    /// Sets how fast lines are spoken from now on, per mille of the plan's rate.
    Speed(u16),
    /// Says more (1) or less (-1) from what is not made yet.
    Talk(i8),
    /// Tells the state to the screen.
    Show(State),
    /// Fades out and ends.
    End,
}

/// What the program says while it runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Message {
    Paused,
    GoingOn,
    Keys,
    DeviceBack,
    Louder,
    Quieter,
    Faster,
    Slower,
    More,
    Less,
    NotNow,
    NothingYet,
    NoEasier,
    Noted,
}

impl Message {
    /// All messages, to be made ready before they are needed.
    pub const ALL: [Message; 14] = [
        Message::Paused,
        Message::GoingOn,
        Message::Keys,
        Message::DeviceBack,
        Message::Louder,
        Message::Quieter,
        Message::Faster,
        Message::Slower,
        Message::More,
        Message::Less,
        Message::NotNow,
        Message::NothingYet,
        Message::NoEasier,
        Message::Noted,
    ];

    /// Returns the id of its wording.
    pub const fn wording(self) -> &'static str {
        match self {
            Message::Paused => "said-paused",
            Message::GoingOn => "said-going-on",
            Message::Keys => "keys-help",
            Message::DeviceBack => "said-device-back",
            Message::Louder => "said-louder",
            Message::Quieter => "said-quieter",
            Message::Faster => "said-faster",
            Message::Slower => "said-slower",
            Message::More => "said-more",
            Message::Less => "said-less",
            Message::NotNow => "said-not-now",
            Message::NothingYet => "said-nothing-yet",
            Message::NoEasier => "said-no-easier",
            Message::Noted => "said-noted",
        }
    }
}

/// What the class is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// The first stretch, or the next one, is being made.
    Building,
    Running,
    Paused,
    Finished,
}

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
    CountIn { tone: bool },
    /// The count is on its way: the mixer starts the clock with its end.
    Counting,
}

/// A class that runs.
#[derive(Debug)]
pub struct Core<'a> {
    state: State,
    words: Option<Words<'a>>,
    heard: Millis,
    /// When it was paused, on the clock that never stands.
    paused_at: Millis,
    /// What is still to be said over the stopped clock, and what follows.
    to_say: usize,
    then: Option<Then>,
    /// Something to say as soon as it fits between what is planned.
    when_it_fits: Option<String>,
    volume_db: f32,
    speed: u16,
    at: At,
    timeline: Option<Timeline>,
    sounds: BTreeMap<u64, Sound>,
    /// Ids not handed over yet, by onset.
    waiting: BTreeSet<(At, u64)>,
    all_planned: bool,
    /// How far the plan reaches: the start of the last rest planned or the end.
    planned_to: At,
    /// Clips that a hold cut, to be said again.
    cut: Vec<u64>,
}

impl Default for Core<'_> {
    fn default() -> Self {
        Self {
            state: State::Building,
            words: None,
            heard: Millis::ZERO,
            paused_at: Millis::ZERO,
            to_say: 0,
            then: None,
            when_it_fits: None,
            volume_db: 0.0,
            speed: 1000,
            at: At::START,
            timeline: None,
            sounds: BTreeMap::new(),
            waiting: BTreeSet::new(),
            all_planned: false,
            planned_to: At::START,
            cut: Vec::new(),
        }
    }
}

impl<'a> Core<'a> {
    /// Makes a class that knows how to speak of its session.
    pub fn new(words: Words<'a>) -> Self {
        Self {
            words: Some(words),
            ..Self::default()
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
            Event::Planned { sounds, timeline } => self.planned(sounds, timeline, &mut effects),
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
            Event::DeviceBack => effects.push(Effect::Say(Message::DeviceBack)),
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
        self.at = to;
        self.cut.clear();
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
        effects: &mut Vec<Effect>,
    ) {
        let first = self.sounds.is_empty();
        for (id, sound) in sounds {
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
        if first {
            let onset = self.waiting.first().map_or(At::START, |first| first.0);
            self.begin_at(onset, effects);
        }
        self.feed(effects);
        self.go_on_if_built(effects);
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
        if self.state != State::Running {
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
        let end = self.timeline.as_ref().map_or(At::START, Timeline::end);
        if self.all_planned && self.at >= end {
            self.enter(State::Finished, effects);
            effects.push(Effect::End);
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
