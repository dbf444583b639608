//! Lines of the system's voice: each is begun when the silence that keeps its time begins, and stopped
//! with whatever stops that. Where that voice fails, another one says the line in its place.

use super::clips::Clips;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::base::utterance::Utterance;
use crate::planning::plan::Sound;
use crate::sound::mix::Command;
use std::collections::HashMap;
use std::collections::HashSet;

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
}

impl Aloud {
    /// Keeps the line of a clip.
    pub fn keep(&mut self, id: u64, utterance: Utterance) {
        self.lines.insert(id, utterance);
    }

    /// Lets it go.
    pub fn forget(&mut self, id: u64) {
        self.lines.remove(&id);
    }
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

    /// Returns whether a clip that is done was a stand-in: then it concerns nobody.
    pub fn stood_in(&mut self, id: u64) -> bool {
        self.aloud.stand_ins.remove(&id)
    }

    /// Begins the line whose time is now; to be called at each turn. Returns what a listener should
    /// know, once.
    pub fn speak_aloud(&mut self) -> Option<String> {
        let system = std::sync::Arc::clone(self.speaker.system()?);
        let notice = system.trouble().map(|why| {
            // Made now, to be there when their time comes.
            let lines: Vec<_> = self.aloud.lines.values().cloned().collect();
            self.speaker.prefetch(&lines);
            let next = self.speaker.next_name();
            format!("the voice of the operating system fell silent: {why}. The {next} voice speaks")
        });
        let status = self.desk.status();
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
            let lasts = self
                .speaker
                .estimate()
                .length(&utterance.text, utterance.rate);
            match system.works() {
                true => {
                    self.speaker.say_aloud(&utterance, lasts);
                    self.aloud.begun = true;
                }
                false => self.stand_in(&utterance, lasts, status.over == Some(id)),
            }
        }
        notice
    }

    /// Has another voice say a line within its time; one that is said over the session it replaces.
    fn stand_in(&mut self, utterance: &Utterance, lasts: Millis, over: bool) {
        let Ok(mut take) = self.speaker.take(utterance) else {
            return;
        };
        let length = take.length().ms();
        if length > lasts.ms() && lasts.ms() > 0 {
            let faster = i64::from(utterance.rate.per_mille()) * length / lasts.ms() + 10;
            let hurried = Utterance {
                text: utterance.text.clone(),
                rate: Rate::from_per_mille(u16::try_from(faster).unwrap_or(u16::MAX)),
            };
            take = self.speaker.take(&hurried).unwrap_or(take);
        }
        if over {
            self.tell(Command::Hush);
        }
        self.speak_over(take.samples);
        if !over {
            self.aloud.stand_ins.insert(self.said);
        }
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
