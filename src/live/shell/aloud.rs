//! Lines of the system's voice: each is begun when the silence that keeps its time begins, and stopped
//! with whatever stops that. Where that voice fails, another one says the line in its place.

use super::clips::Clips;
use super::sounds::Content;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::base::utterance::Utterance;
use crate::planning::plan::Sound;
use crate::sound::mix::Command;
use crate::sound::speech::Speaker;
use crate::sound::speech::Take;
use std::collections::HashMap;
use std::collections::HashSet;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::PoisonError;
use std::time::Instant;

/// So much later than the silence for it a line may end: half of what is free before any sound.
const AFTER: Millis = Millis::from_ms(75);

/// Which clips are silence for a line, and which of them is spoken.
#[derive(Default)]
pub struct Aloud {
    lines: HashMap<u64, Utterance>,
    /// The clip that sounded at the last look.
    seen: Option<u64>,
    /// Whether the line of a clip was begun and not yet stopped or followed by another sound.
    begun: bool,
    /// Clips in which another voice says a line; nobody else knows of them.
    stand_ins: HashSet<u64>,
    /// What another voice says in place of a clip, as far as it is made.
    ready: Arc<Mutex<HashMap<u64, Take>>>,
}

impl Aloud {
    /// Keeps the line of a clip.
    pub fn keep(&mut self, id: u64, utterance: Utterance) {
        self.lines.insert(id, utterance);
    }

    /// Lets it go.
    pub fn forget(&mut self, id: u64) {
        self.lines.remove(&id);
        locked(&self.ready).remove(&id);
    }
}

/// A line as another voice says it, faster where it would not end within its time.
fn within(speaker: &Speaker, utterance: &Utterance, lasts: Millis) -> Option<Take> {
    let take = speaker.take(utterance).ok()?;
    let (length, lasts) = (take.length().ms(), lasts.ms());
    if length <= lasts || lasts <= 0 {
        return Some(take);
    }
    let faster = i64::from(utterance.rate.per_mille()) * length / lasts + 10;
    let hurried = Utterance {
        text: utterance.text.clone(),
        rate: Rate::from_per_mille(u16::try_from(faster).unwrap_or(u16::MAX)),
    };
    Some(speaker.take(&hurried).unwrap_or(take))
}

fn locked<T>(shared: &Mutex<T>) -> MutexGuard<'_, T> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Clips {
    /// Keeps the line for a clip that is silence.
    pub fn keep_aloud(&mut self, id: u64, sound: &Sound) {
        let utterance = Utterance {
            text: sound.text.clone(),
            rate: sound.rate,
        };
        self.aloud.keep(id, utterance);
    }

    /// Has another voice make all lines that wait, the next ones first, to be there at their time.
    fn make_stand_ins(&self) {
        let mut lines: Vec<_> = self.aloud.lines.clone().into_iter().collect();
        lines.sort_by_key(|(id, _)| *id);
        let (speaker, ready) = (Arc::clone(&self.speaker), Arc::clone(&self.aloud.ready));
        let make = move || {
            for (id, utterance) in lines {
                let lasts = speaker.lasts(&utterance);
                if let Some(take) = within(&speaker, &utterance, lasts) {
                    locked(&ready).insert(id, take);
                }
            }
        };
        let thread = std::thread::Builder::new().name("stand-ins".to_owned());
        if let Err(error) = thread.spawn(make) {
            tracing::warn!(%error, "each line is made when it is due");
        }
    }

    /// Returns whether a clip that is done was a stand-in: then it concerns nobody.
    pub fn stood_in(&mut self, id: u64) -> bool {
        self.aloud.stand_ins.remove(&id)
    }

    /// Begins the line whose time is now; to be called at each turn. Returns what a listener should
    /// know, once.
    pub fn speak_aloud(&mut self) -> Option<String> {
        let system = std::sync::Arc::clone(self.speaker.system()?);
        let notice = system.trouble().map(|why| {
            self.make_stand_ins();
            let next = self.speaker.next_name();
            format!("the voice of the operating system fell silent: {why}. The {next} voice speaks")
        });
        let status = self.ears.status();
        // While something fades the gauges still show what is over.
        if !status.settled {
            return notice;
        }
        let sounds = status.over.or(status.sounding);
        if sounds == self.aloud.seen {
            return notice;
        }
        self.aloud.seen = sounds;
        let Some(id) = sounds.filter(|id| !self.aloud.stand_ins.contains(id)) else {
            return notice;
        };
        // Two are never heard at once: a line that takes longer than estimated gives way.
        if self.aloud.begun {
            system.stop();
            self.aloud.begun = false;
        }
        if let Some(utterance) = self.aloud.lines.get(&id).cloned() {
            let lasts = self.speaker.lasts(&utterance);
            match system.works() {
                true => {
                    self.speaker.say_aloud(&utterance, lasts);
                    self.aloud.begun = true;
                }
                false => self.stand_in(id, &utterance, lasts, status.over == Some(id)),
            }
        }
        notice
    }

    /// Has another voice say a line within its time; one that is said over the session it replaces.
    fn stand_in(&mut self, id: u64, utterance: &Utterance, lasts: Millis, over: bool) {
        let begun = Instant::now();
        let ready = locked(&self.aloud.ready).remove(&id);
        let Some(take) = ready.or_else(|| within(&self.speaker, utterance, lasts)) else {
            return;
        };
        if over {
            self.tell(Command::Hush);
            self.speak_over(take.samples, Content::Said(utterance.clone()));
            return;
        }
        let late = begun.elapsed().as_millis() as i64;
        if late + take.length().ms() > lasts.ms() + AFTER.ms() {
            // Not a word over the count that may follow.
            tracing::warn!(
                text = utterance.text,
                late,
                "left out: it would not end in time"
            );
            return;
        }
        let id = self.speak_over(take.samples, Content::Said(utterance.clone()));
        self.aloud.stand_ins.insert(id);
    }

    /// Stops the line that is being spoken, whatever sounds besides.
    pub fn fall_silent(&mut self) {
        self.aloud.seen = None;
        if std::mem::take(&mut self.aloud.begun)
            && let Some(system) = self.speaker.system()
        {
            system.stop();
        }
    }
}
