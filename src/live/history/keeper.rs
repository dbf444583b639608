//! Keeps the record of one run: the one thing that a running class is hooked to.

use super::Began;
use super::Entry;
use super::Happening;
use super::Noter;
use super::Recorder;
use super::Step;
use super::Told;
use crate::base::units::At;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::planning::session::Session;
use crate::planning::timeline::works;
use jiff::Timestamp;
use std::path::PathBuf;
use std::sync::Arc;

/// Returns when the class was at an instant: the clock that told of it may be a turn of the shell further.
fn frame_of(at: At, step: &Step) -> Frames {
    let Told::Clock(clock) = step.told else {
        return step.frame;
    };
    let since = clock - at;
    // Another place is no time ago.
    if !(Millis::ZERO..Millis::from_secs(1)).contains(&since) {
        return step.frame;
    }
    let since = since.frames(SampleRate::OUTPUT).count();
    Frames::new(step.frame.count().saturating_sub(since))
}

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
        let recorder = self.recorder.get_or_insert_with(|| {
            Recorder::start_at(&self.folder, now, self.began.clone(), step.frame)
        });
        for (at, what) in notes {
            match what {
                Happening::WorkBegun(_) => self.asks = true,
                Happening::Rate(_) => self.asks = false,
                _ => {}
            }
            let entry = Entry::new(now, at.ms(), what);
            recorder.record(entry.at_frame(frame_of(at, step)));
        }
    }

    /// Writes down something of how it sounded; so many frames are rendered by now.
    ///
    /// A folder of music within the session folder is named from there, so that both can be moved.
    pub fn heard(&mut self, mut what: Happening, frame: Frames, now: Timestamp) {
        if let Happening::Music(music) = &mut what
            && let Ok(within) = music.folder.strip_prefix(&self.folder)
        {
            music.folder = within.to_owned();
        }
        let at = self.noter.at().ms();
        if let Some(recorder) = &mut self.recorder {
            recorder.record(Entry::new(now, at, what).at_frame(frame));
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
