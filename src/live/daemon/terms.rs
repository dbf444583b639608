//! The words that the background process and whoever carries it out share.

use super::super::control::Verb;
use super::super::core::Wishes;
use super::super::history::Unfinished;
use super::super::watch::Fault;
use super::super::watch::Told;
use crate::planning::session::Session;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// The watch has told something.
    Told(Told),
    /// A session was planned; with the fault that only planning finds.
    Planned {
        id: String,
        session: Arc<Session>,
        fault: Option<Fault>,
    },
    /// What was to be said was said, or could not be: the how manieth it was.
    Spoken(u64),
    /// A listener has told something.
    Verb(Verb),
    /// Where sessions were left not long ago, by id.
    Left(BTreeMap<String, Unfinished>),
    /// The effort felt was written down, or why not.
    Rated(Result<(), String>),
    /// What the listener wishes was changed while a class ran.
    Wishes(Wishes),
    /// The class has ended, with what kept it from running.
    ClassOver(Option<String>),
    /// Something that the user should know, in a sentence without its full stop.
    Notice(String),
    /// Everything is to be read again.
    ReadAgain,
    /// An end was asked for.
    Stop,
}

/// Something to be done.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    Print(String),
    /// Say something in place of what is being said.
    Say(String),
    /// Fall silent.
    Hush,
    /// Plan a session, then speak its opening lines ahead; `urgent` for one just written.
    Prepare {
        id: String,
        session: Arc<Session>,
        urgent: bool,
    },
    /// What was to be prepared of this session is out of date.
    Forget(String),
    /// Begin a class, in the middle where it was left there.
    Begin {
        id: String,
        session: Arc<Session>,
        left: Option<Box<Unfinished>>,
    },
    /// Tell the class that runs.
    Tell(Verb),
    /// The files of the class that runs have changed.
    Change {
        id: String,
        session: Arc<Session>,
    },
    /// Write the effort felt down for the last run that lacks it.
    Rate(Option<u8>),
    /// Keep what the listener wishes.
    Keep(Wishes),
    /// Find out where sessions were left.
    LookForLeft,
    /// What is chosen now: the title of a session.
    Show(Option<String>),
    /// The folder was looked at for the first time.
    Ready,
    Status(String),
    ReadAgain,
    End,
}

/// What the process is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// Looking at the folder for the first time.
    Looking,
    Idle,
    Speaking,
    /// A class runs.
    Class,
    Ended,
}

/// How a listener is told what to press.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Hints {
    /// What the keys do between classes.
    pub keys: String,
    /// How a session is chosen, in a sentence; may be empty.
    pub choose: String,
}
