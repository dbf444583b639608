//! A folder played without end: one track fading into the next, the next one got ready meanwhile.

use std::collections::HashSet;
use std::path::Path;
use std::path::PathBuf;

use super::CROSS_FADE;
use super::Shelf;
use super::deck::Deck;
use super::kept::Kept;
use super::list;
use super::list::Found;
use super::measure::Measured;
use super::measure::Measuring;
use super::measure::Step;
use super::order::Row;
use crate::sound::mix::BED_BLOCK;

/// Softer than this is nothing that one hears in a room with people.
const SILENCE: f32 = -60.0;
/// A second: shorter is a signal, not music.
const SHORTEST: u64 = 48_000;
/// Files that are spoken of one by one.
const MOST_TOLD: usize = 10;

pub(super) struct Reel {
    folder: PathBuf,
    files: Vec<PathBuf>,
    row: Row,
    kept: Kept,
    now: Option<Deck>,
    fading: Option<Fading>,
    next: Next,
    /// Files that are skipped, and those of which it was said that they end too soon.
    bad: HashSet<usize>,
    /// Whether one of them is skipped since it is there no longer.
    gone: bool,
    cut: HashSet<usize>,
    told: usize,
    notices: Vec<String>,
}

/// A track on its way out.
struct Fading {
    deck: Deck,
    done: usize,
    length: usize,
}

enum Next {
    Wanted,
    Measuring(usize, Box<Measuring>),
    Ready(Box<Deck>),
    /// Nothing in the folder can be played.
    Nothing,
}

impl Reel {
    /// Lists a folder; no file is opened.
    pub(super) fn open(shelf: &Shelf, kept: Kept) -> Self {
        let folder = shelf.folder.clone();
        let shown = folder.display();
        let found = list::files(&folder);
        let notice = match &found {
            Ok(found) if found.files.is_empty() => {
                Some(format!("there is no music in \"{shown}\""))
            }
            Ok(_) => None,
            Err(error) => Some(format!(
                "there is no music: \"{shown}\" cannot be read: {}",
                list::why(error)
            )),
        };
        let Found { files, passed } = found.unwrap_or_default();
        let mut reel = Self {
            row: Row::new(shelf.order, files.len()),
            folder,
            files,
            kept,
            now: None,
            fading: None,
            next: Next::Wanted,
            bad: HashSet::new(),
            gone: false,
            cut: HashSet::new(),
            told: 0,
            notices: Vec::new(),
        };
        for (path, why) in passed {
            let name = reel.name(&path);
            reel.tell(format!("{name} is skipped: {why}"));
        }
        reel.notices.extend(notice);
        reel
    }

    /// Does a little to get the next track ready; returns whether there is more to do.
    pub(super) fn prepare(&mut self) -> bool {
        match &mut self.next {
            Next::Ready(_) | Next::Nothing => return false,
            Next::Wanted => {
                self.next = match self.pick() {
                    Some(at) => Next::Measuring(
                        at,
                        Box::new(Measuring::new(&self.files[at], self.kept.clone())),
                    ),
                    None => self.nothing(),
                };
            }
            Next::Measuring(at, measuring) => {
                let at = *at;
                match measuring.step() {
                    Step::NotYet => {}
                    Step::Known(measured) => {
                        let path = measuring.path().to_owned();
                        self.next = self.put_on(at, &path, measured);
                    }
                    Step::Bad(why) => self.next = self.skip(at, &why),
                }
            }
        }
        true
    }

    /// Returns whether the next block can be had without waiting for a track to be measured.
    pub(super) fn is_ready(&self) -> bool {
        self.now.is_some() || matches!(self.next, Next::Ready(_) | Next::Nothing)
    }

    /// Returns what there is to say since the last time.
    pub(super) fn notices(&mut self) -> Vec<String> {
        std::mem::take(&mut self.notices)
    }

    /// Returns what tells its files from others.
    pub(super) fn fingerprint(&self) -> String {
        list::fingerprint(&self.folder, &self.files)
    }

    /// Plays the next block; silence where nothing can be played.
    pub(super) fn fill(&mut self, out: &mut [[f32; 2]; BED_BLOCK]) {
        self.change();
        out.fill([0.0; 2]);
        if let Some(now) = &mut self.now {
            now.take(out);
        }
        let Some(fading) = &mut self.fading else {
            return;
        };
        let mut old = [[0.0; 2]; BED_BLOCK];
        fading.deck.take(&mut old);
        for (new, old) in out.iter_mut().zip(old) {
            let [rise, fall] = equal_power(fading.done, fading.length);
            for (new, old) in new.iter_mut().zip(old) {
                *new = *new * rise + old * fall;
            }
            fading.done += 1;
        }
        if fading.done >= fading.length {
            self.fading = None;
        }
    }

    /// Puts the next track on where the one that plays comes to its end.
    fn change(&mut self) {
        let Some(now) = &mut self.now else {
            self.now = self.next_deck();
            return;
        };
        now.ready(CROSS_FADE + BED_BLOCK);
        if self.fading.is_some() {
            return;
        }
        let Some(remaining) = now.remaining() else {
            return;
        };
        let own = now.frames;
        while self.prepare() {}
        let Next::Ready(next) = &self.next else {
            if remaining == 0 {
                self.now = None;
            }
            return;
        };
        // Of a short track half fades in, and half out.
        let most = (own.min(next.frames) / 2).min(CROSS_FADE as u64) as usize;
        if remaining > most {
            return;
        }
        let next = self.next_deck();
        if let Some(deck) = std::mem::replace(&mut self.now, next)
            && remaining > 0
        {
            self.fading = Some(Fading {
                deck,
                done: 0,
                length: remaining,
            });
        }
    }

    /// Takes the next track, waiting for it where that must be.
    fn next_deck(&mut self) -> Option<Deck> {
        while self.prepare() {}
        match std::mem::replace(&mut self.next, Next::Wanted) {
            Next::Ready(deck) => Some(*deck),
            other => {
                self.next = other;
                None
            }
        }
    }

    fn pick(&mut self) -> Option<usize> {
        if self.bad.len() == self.files.len() {
            return None;
        }
        loop {
            let at = self.row.next()?;
            if !self.bad.contains(&at) {
                return Some(at);
            }
        }
    }

    fn put_on(&mut self, at: usize, path: &Path, measured: Measured) -> Next {
        // First: what is so short has no loudness.
        if measured.frames < SHORTEST {
            return self.skip(
                at,
                match measured.cut {
                    true => "it is cut off: there is less than a second of it",
                    false => "it is shorter than a second",
                },
            );
        }
        if measured.loudness.is_nan() || measured.loudness <= SILENCE {
            return self.skip(at, "it is silence");
        }
        match Deck::open(path, measured) {
            Err(why) => self.skip(at, &why),
            Ok(deck) => {
                if measured.cut && self.cut.insert(at) {
                    let name = self.name(path);
                    self.tell(format!(
                        "{name} ends before it should: what is there is played"
                    ));
                }
                Next::Ready(Box::new(deck))
            }
        }
    }

    fn skip(&mut self, at: usize, why: &str) -> Next {
        self.bad.insert(at);
        self.gone |= !self.files[at].exists();
        let name = self.name(&self.files[at]);
        self.tell(format!("{name} is skipped: {why}"));
        Next::Wanted
    }

    fn nothing(&mut self) -> Next {
        if !self.files.is_empty() {
            let shown = self.folder.display();
            self.notices.push(match self.gone {
                true => format!("there is no more music: files of \"{shown}\" are gone"),
                false => format!(
                    "nothing in \"{shown}\" can be played: WAV, FLAC, MP3 and Ogg Vorbis can"
                ),
            });
        }
        Next::Nothing
    }

    fn tell(&mut self, text: String) {
        self.told += 1;
        match self.told {
            ..=MOST_TOLD => self.notices.push(text),
            told if told == MOST_TOLD + 1 => {
                let text = "more files cannot be played as they are; of these nothing more is said";
                self.notices.push(text.to_owned());
            }
            _ => {}
        }
    }

    /// The name of a file within the folder, without what a screen would take for a command.
    fn name(&self, path: &Path) -> String {
        let name = path
            .strip_prefix(&self.folder)
            .unwrap_or(path)
            .to_string_lossy();
        name.chars()
            .map(|c| if c.is_control() { '?' } else { c })
            .collect()
    }
}

/// Returns the gains of what comes and of what goes, whose powers add up to one.
pub(super) fn equal_power(done: usize, length: usize) -> [f32; 2] {
    let part = (done as f32 + 0.5) / length.max(1) as f32;
    let (rise, fall) = (part.min(1.0) * std::f32::consts::FRAC_PI_2).sin_cos();
    [rise, fall.max(0.0)]
}
