//! Keeps the record of one run: the one thing that a running class is hooked to.

use super::Began;
use super::Entry;
use super::Happening;
use super::Noter;
use super::Recorder;
use super::Step;
use crate::planning::session::Session;
use crate::planning::timeline::works;
use jiff::Timestamp;
use std::path::PathBuf;
use std::sync::Arc;

/// The record of a run, begun with the first step of its core: a class that finds no loudspeaker
/// leaves no file.
#[derive(Debug)]
pub struct Keeper {
    folder: PathBuf,
    began: Began,
    noter: Noter,
    recorder: Option<Recorder>,
    /// Whether a work was begun and the effort felt was not told.
    asks: bool,
}

impl Keeper {
    /// Makes the keeper of a run about to begin, in a session folder.
    pub fn new(folder: impl Into<PathBuf>, session: Arc<Session>, began: Began) -> Self {
        Self {
            folder: folder.into(),
            began,
            noter: Noter::new(session),
            recorder: None,
            asks: false,
        }
    }

    /// Writes down what is worth it of a step; never waits for the disk.
    pub fn see(&mut self, step: &Step, now: Timestamp) {
        let notes = self.noter.note(step);
        let recorder = self
            .recorder
            .get_or_insert_with(|| Recorder::start(&self.folder, now, self.began.clone()));
        for (at, what) in notes {
            match what {
                Happening::WorkBegun(_) => self.asks = true,
                Happening::Rate(_) => self.asks = false,
                _ => {}
            }
            recorder.record(Entry::new(now, at.ms(), what));
        }
    }

    /// Writes down that the files changed and the class goes on as they are now.
    pub fn changed(&mut self, session: Arc<Session>, hash: String, now: Timestamp) {
        let at = self.noter.at().ms();
        let works = Some(works(&session).len());
        self.noter.changed(session);
        if let Some(recorder) = &mut self.recorder {
            recorder.record(Entry::new(now, at, Happening::ChangedFile { hash, works }));
        }
    }

    /// Returns what is wrong with the record, once.
    pub fn trouble(&mut self) -> Option<String> {
        self.recorder.as_mut()?.trouble()
    }

    /// Returns whether the effort felt is still to be told.
    pub fn asks(&self) -> bool {
        self.asks
    }

    /// Ends the record; returns what is wrong with it, if that was not told yet.
    pub fn close(self) -> Option<String> {
        self.recorder?.close()
    }
}
