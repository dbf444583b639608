//! One run as its record tells it, and what follows from all of them: where a session was left,
//! and how much of the caution is due.

use super::Began;
use super::Caution;
use super::Entry;
use super::Happening;
use super::WorkAt;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::planning::session::Side;
use crate::planning::timeline::Landmark;
use jiff::SignedDuration;
use jiff::Timestamp;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::path::Path;
use std::path::PathBuf;

/// The caution is said in full again after this long.
const CAUTION_HOLDS: SignedDuration = SignedDuration::from_hours(30 * 24);

/// A run that began longer ago is not gone on with unasked.
const LATELY: SignedDuration = SignedDuration::from_hours(3);

/// One run, read again.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    pub file: PathBuf,
    pub time: Timestamp,
    /// How many frames the room's mixer had rendered by then.
    pub frame: Option<u64>,
    pub began: Began,
    /// All that followed, in the order written.
    pub entries: Vec<Entry>,
    /// Whether the last line was cut off.
    pub torn: bool,
    /// Whether it still goes on.
    pub live: bool,
}

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    Finished,
    Stopped,
    /// The program or the machine was cut off.
    BrokenOff,
    /// It still goes on.
    NotYet,
}

impl Ended {
    /// Returns the word for it in the contracts.
    pub const fn word(self) -> &'static str {
        match self {
            Ended::Finished => "finished",
            Ended::Stopped => "stopped",
            Ended::BrokenOff => "broken-off",
            Ended::NotYet => "goes-on",
        }
    }
}

impl Run {
    /// Makes a run from its first entry and the others; `None` if the first is no beginning.
    pub fn new(file: &Path, first: Entry, entries: Vec<Entry>, torn: bool) -> Option<Self> {
        let Happening::Began(began) = first.what else {
            return None;
        };
        Some(Self {
            file: file.to_owned(),
            time: first.time,
            frame: first.frame,
            began,
            entries,
            torn,
            live: false,
        })
    }

    /// Returns the session folder in whose `log` it lies.
    pub fn root(&self) -> PathBuf {
        let log = self.file.parent().unwrap_or(Path::new(""));
        match log.parent() {
            Some(root) => root.to_owned(),
            // The folder that the program was started in is the log.
            None => log.join(".."),
        }
    }

    /// Returns how it ended.
    pub fn ended(&self) -> Ended {
        let end = self.entries.iter().find_map(|entry| match entry.what {
            Happening::Finished(_) => Some(Ended::Finished),
            Happening::Stopped(_) => Some(Ended::Stopped),
            _ => None,
        });
        match (end, self.live) {
            (Some(end), _) => end,
            (None, true) => Ended::NotYet,
            (None, false) => Ended::BrokenOff,
        }
    }

    /// Returns how many works the session had, as it was last changed.
    pub fn all_works(&self) -> usize {
        let changes = self.entries.iter().rev();
        let changed = changes.filter_map(|entry| match entry.what {
            Happening::ChangedFile { works, .. } => works,
            _ => None,
        });
        changed.into_iter().next().unwrap_or(self.began.works)
    }

    /// Returns how many works were done to their end; one done twice counts once.
    pub fn done(&self) -> usize {
        self.works(|what| match what {
            Happening::WorkDone(done) => Some(&done.work),
            _ => None,
        })
    }

    /// Returns how many works were begun; one begun twice counts once.
    pub fn begun(&self) -> usize {
        self.works(|what| match what {
            Happening::WorkBegun(work) => Some(work),
            _ => None,
        })
    }

    fn works(&self, of: fn(&Happening) -> Option<&WorkAt>) -> usize {
        let works = self.entries.iter().filter_map(|entry| of(&entry.what));
        works.map(|work| work.work).collect::<BTreeSet<_>>().len()
    }

    /// Returns the answer to the question of the effort, if it was given: the last one.
    pub fn rate(&self) -> Option<Option<u8>> {
        let rates = self.entries.iter().rev();
        rates
            .filter_map(|entry| match entry.what {
                Happening::Rate(rate) => Some(rate.felt),
                _ => None,
            })
            .next()
    }

    /// Returns how long the class was heard, pauses left out. Of a run that was cut off it is what
    /// the wall clock tells up to the last line.
    pub fn minutes(&self) -> f64 {
        let played = self.entries.iter().find_map(|entry| match entry.what {
            Happening::Finished(played) | Happening::Stopped(played) => Some(played.played_ms),
            _ => None,
        });
        let ms = played.unwrap_or_else(|| self.by_the_wall_clock());
        ms.max(0) as f64 / 60_000.0
    }

    fn by_the_wall_clock(&self) -> i64 {
        let mut ms = 0i64;
        let mut last = self.time.as_millisecond();
        let mut paused = false;
        for entry in &self.entries {
            match entry.what {
                // Told afterwards, maybe much later.
                Happening::Rate(_) => continue,
                Happening::Paused | Happening::Resumed => {}
                _ if paused => continue,
                _ => {}
            }
            let now = entry.time.as_millisecond();
            if !paused {
                ms = ms.saturating_add(now.saturating_sub(last).max(0));
            }
            last = now;
            paused = entry.what == Happening::Paused;
        }
        ms
    }

    /// Returns the session load: the effort felt times the minutes (Foster's session RPE).
    pub fn load(&self) -> Option<f64> {
        let felt = self.rate()??;
        Some(f64::from(felt) * self.minutes())
    }

    /// Returns whether the caution was heard in full: the opening was not left before its end.
    fn cautioned(&self) -> bool {
        let began = self.entries.iter().find_map(|entry| match entry.what {
            Happening::WorkBegun(_) => Some(true),
            Happening::SkippedRest { .. } => Some(false),
            _ => None,
        });
        self.began.caution == Caution::Full && began == Some(true)
    }
}

/// Returns how much of the caution is due: a sentence where the record shows a run within the last
/// thirty days that heard it in full, else all of it.
pub fn caution(runs: &[Run], now: Timestamp) -> CautionLength {
    let heard = runs.iter().any(|run| {
        let ago = now.duration_since(run.time);
        // A run of the future is a clock that was wrong.
        run.cautioned() && ago <= CAUTION_HOLDS && ago >= SignedDuration::ZERO
    });
    if heard {
        CautionLength::Brief
    } else {
        CautionLength::Full
    }
}

/// A session whose last run did not come to its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Unfinished {
    pub session: String,
    pub title: String,
    /// When that run began.
    pub time: Timestamp,
    pub ended: Ended,
    /// The hash of the texts: where it differs by now, the place may be another.
    pub hash: String,
    /// The work last begun.
    pub work: WorkAt,
    /// Whether that work was over, so that the rest after it is where to go on.
    pub over: bool,
    /// The last place of the session written down, in ms.
    pub at_ms: i64,
}

impl Unfinished {
    /// Returns the work to go on from, as a session shows it now: its number, from 0.
    pub fn goes_on_from(&self, session: &Session) -> usize {
        let work = &self.work;
        let sides = [Side::Right, Side::Left];
        let landmark = Landmark {
            movement: work.movement.clone(),
            side: sides
                .into_iter()
                .find(|side| work.side.as_deref() == Some(side.id())),
            block: work.block.saturating_sub(1),
            round: work.round.saturating_sub(1),
            index: work.work.saturating_sub(1),
        };
        landmark.find(session) + usize::from(self.over)
    }

    /// Says where it stopped: "Boathouse five stopped in round two at the press-up."
    pub fn sentence(&self, wording: &Wording) -> String {
        let work = &self.work;
        let name = match &work.side {
            Some(side) => {
                let side = wording.say(&format!("side-{side}"), &[]);
                format!("{}, {side}", work.name)
            }
            None => work.name.clone(),
        };
        let round = wording.number(work.round as i64);
        let args = [
            ("title", Arg::Text(&self.title)),
            ("name", Arg::Text(&name)),
            ("round", Arg::Text(&round)),
        ];
        let over = if self.over { "after" } else { "at" };
        let rounds = if work.rounds > 1 { "-round" } else { "" };
        wording.say(&format!("stopped-{over}{rounds}"), &args)
    }
}

/// Returns where the last run of each session was left, if it had begun a work and did not come to
/// its end; by id of the session. The next run goes on from the stretch of that work, or of the one
/// after it where it was over.
pub fn unfinished(runs: &[Run]) -> BTreeMap<String, Unfinished> {
    let mut left: BTreeMap<String, Unfinished> = BTreeMap::new();
    for run in runs {
        let id = &run.began.session;
        // One that went on and was left before its first work stands where the one before it stood.
        let went_on = run.began.from.is_some() && run.begun() == 0;
        match left_at(run) {
            Some(at) => drop(left.insert(id.clone(), at)),
            None if went_on && matches!(run.ended(), Ended::Stopped | Ended::BrokenOff) => {}
            None => drop(left.remove(id)),
        }
    }
    left
}

/// Returns where sessions were left so lately that a listener may want to go on.
pub fn left_lately(runs: &[Run], now: Timestamp) -> BTreeMap<String, Unfinished> {
    let mut left = unfinished(runs);
    left.retain(|_, left| {
        let ago = now.duration_since(left.time);
        ago <= LATELY && ago >= SignedDuration::ZERO
    });
    left
}

fn left_at(run: &Run) -> Option<Unfinished> {
    let ended = run.ended();
    if matches!(ended, Ended::Finished | Ended::NotYet) || run.done() >= run.all_works() {
        return None;
    }
    let mut at = None;
    for entry in &run.entries {
        match &entry.what {
            Happening::WorkBegun(work) => at = Some((work, false)),
            Happening::WorkDone(done) | Happening::Skipped(done) => at = Some((&done.work, true)),
            _ => {}
        }
    }
    let (work, over) = at?;
    // All that is left is the rest at the end.
    if over && work.work >= run.all_works() {
        return None;
    }
    Some(Unfinished {
        session: run.began.session.clone(),
        title: run.began.title.clone(),
        time: run.time,
        ended,
        hash: run.began.hash.clone(),
        work: work.clone(),
        over,
        at_ms: run.entries.last().map_or(0, |entry| entry.at_ms),
    })
}
