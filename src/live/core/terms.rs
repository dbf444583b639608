//! The words that the core and the shell share: what happens, what is to be done, what is said.

use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::live::control::Verb;
use crate::planning::plan::Sound;
use crate::planning::timeline::Timeline;
use std::ops::RangeInclusive;

/// What happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    Verb(Verb),
    /// The first line is there, before its stretch is planned.
    FirstLine {
        id: u64,
        sound: Sound,
    },
    /// The next stretch is planned; each sound has the id of its clip. `begins` is where a class begins
    /// that goes on in the middle, with its first stretch.
    Planned {
        sounds: Vec<(u64, Sound)>,
        timeline: Timeline,
        begins: Option<At>,
    },
    /// The files changed: the class is to be planned again from the next stretch on.
    Changed,
    /// A line was spoken again at another speed, and is heard for so long now.
    Respoken {
        id: u64,
        lasts: Millis,
        rate: Rate,
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
    /// It is back, after so long.
    DeviceBack {
        away: Millis,
    },
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
    /// Says so many steps more than the session asks for, or less, in what is not made yet.
    Talk(i8),
    /// Speaks lines of the plan again, each at this rate.
    Respeak(Vec<(u64, Rate)>),
    /// Puts the line that was spoken again in place of the one before.
    Swap {
        id: u64,
        onset: At,
    },
    /// Takes a clip back that was handed over and waits.
    Withdraw(u64),
    /// Plans the class again from a work on (its number, from 0; after the last, the finish), beside
    /// the plan that runs.
    PlanFrom(usize),
    /// Goes over to the new plan, so long after its stretch began.
    HandOver(Millis),
    /// Plans the class again from a work on and goes there.
    StartFrom(usize),
    /// The easier option is said, now or where it fits.
    Easier,
    /// The effort felt is written down.
    Rate(Option<u8>),
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
    /// Asks for the effort felt.
    HowHard,
}

impl Message {
    /// All messages, to be made ready before they are needed.
    pub const ALL: [Message; 15] = [
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
        Message::HowHard,
    ];

    /// Returns the id of its wording; the keys are said as they are mapped.
    pub const fn wording(self) -> Option<&'static str> {
        let id = match self {
            Message::Keys => return None,
            Message::Paused => "said-paused",
            Message::GoingOn => "said-going-on",
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
            Message::HowHard => "said-how-hard",
        };
        Some(id)
    }
}

/// What the class is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// The first stretch, or the next one, is being made.
    Building,
    Running,
    /// The clock stands while something is said, and goes on by itself after it.
    Announcing,
    Paused,
    /// The session is over; the effort felt may still be asked for.
    Finished,
}

/// What the listener wishes, kept from class to class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wishes {
    pub volume_db: f32,
    /// How fast lines are spoken, per mille of the plan's rate.
    pub speed: u16,
    /// How many steps more is said than a session asks for, or less.
    pub talk: i8,
}

impl Wishes {
    /// The bounds of the volume, in dB.
    pub const VOLUMES: RangeInclusive<f32> = -24.0..=6.0;
    /// The bounds of the speed, per mille of the plan's rate.
    pub const SPEEDS: RangeInclusive<u16> = 700..=2000;
    /// The bounds of how much more is said: a session has three steps of its own.
    pub const TALKS: RangeInclusive<i8> = -2..=2;

    /// Makes wishes that are within their bounds.
    pub fn within_bounds(volume_db: f32, speed: u16, talk: i8) -> Self {
        let volume_db = if volume_db.is_nan() { 0.0 } else { volume_db };
        Self {
            volume_db: volume_db.clamp(*Self::VOLUMES.start(), *Self::VOLUMES.end()),
            speed: speed.clamp(*Self::SPEEDS.start(), *Self::SPEEDS.end()),
            talk: talk.clamp(*Self::TALKS.start(), *Self::TALKS.end()),
        }
    }
}

impl Default for Wishes {
    fn default() -> Self {
        Self {
            volume_db: 0.0,
            speed: 1000,
            talk: 0,
        }
    }
}
