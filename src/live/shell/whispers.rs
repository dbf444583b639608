//! What only the ear hears of a class: asides, made with the plan and handed over as their time comes.

use super::clips::Clips;
use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::SampleRate;
use crate::base::utterance::Rate;
use crate::base::utterance::Utterance;
use crate::compile::Compiled;
use crate::planning::asides::Asides;
use crate::planning::plan::Sound;
use crate::planning::timeline::Timeline;
use crate::sound::mix;
use crate::sound::mix::Clip;
use crate::sound::speech::Speaker;

/// The ids of asides are above those of plans and below those of messages.
const IDS: u64 = 1 << 59;

/// An aside as it is spoken.
#[derive(Debug, Clone)]
pub struct Whisper {
    pub onset: At,
    pub utterance: Utterance,
}

/// Makes the asides of a plan that is made stretch by stretch.
pub struct Whisperer<'a> {
    asides: Asides<'a>,
    speaker: &'a Speaker,
    rate: Rate,
    /// The sounds of the last stretches: those of a work come with two.
    sounds: Vec<Sound>,
    /// The session in time as far as it is known.
    timeline: Timeline,
    began: bool,
}

/// What is heard of a stretch.
pub struct Heard {
    sounds: Vec<Sound>,
    timeline: Timeline,
    /// Where the class begins, if it does with this one.
    begins: Option<At>,
}

impl Heard {
    /// Takes it from a stretch that is about to be handed over.
    pub fn of(made: &Compiled) -> Self {
        Self {
            sounds: made.sounds.iter().map(|(sound, _)| sound.clone()).collect(),
            timeline: made.timeline.clone(),
            begins: made.begins,
        }
    }
}

impl<'a> Whisperer<'a> {
    /// Starts; asides are spoken at so many per mille of the usual rate.
    pub fn new(
        asides: Asides<'a>,
        timeline: Timeline,
        speaker: &'a Speaker,
        per_mille: u16,
    ) -> Self {
        Self {
            asides,
            speaker,
            rate: Rate::NORMAL.at_speed(1000, per_mille),
            sounds: Vec::new(),
            timeline,
            began: false,
        }
    }

    /// Takes in a stretch and returns the asides before the work at its end: all that sounds there is known
    /// now.
    pub fn take_in(&mut self, heard: Heard) -> Vec<Whisper> {
        self.timeline = heard.timeline;
        if let Some(begins) = heard.begins.filter(|_| !self.began) {
            let first = self
                .timeline
                .segments
                .iter()
                .position(|s| s.start >= begins);
            self.asides.begin_at(first.unwrap_or(0));
        }
        self.began = true;
        self.sounds.extend(heard.sounds);
        let last = self.sounds.iter().map(|sound| sound.segment).max();
        let last = last.unwrap_or(0);
        let made = self.place(last);
        // A work and the rest before it are still to come or just done.
        self.sounds.retain(|sound| sound.segment + 3 > last);
        made
    }

    /// Returns what is left once all stretches are made.
    pub fn finish(mut self) -> Vec<Whisper> {
        self.place(self.timeline.segments.len())
    }

    fn place(&mut self, until: usize) -> Vec<Whisper> {
        let (speaker, rate) = (self.speaker, self.rate);
        let utterance = |text: &str| Utterance {
            text: text.to_owned(),
            rate,
        };
        // Always samples, whoever speaks the class: an ear hears no voice of the system.
        let mut length = |text: &str| Some(speaker.take(&utterance(text)).ok()?.length());
        let placed = self
            .asides
            .place(&self.timeline, &self.sounds, until, &mut length);
        let whispers = placed.into_iter().map(|aside| Whisper {
            onset: aside.onset,
            utterance: utterance(&aside.text),
        });
        whispers.collect()
    }
}

/// The asides of a class so far.
#[derive(Default)]
pub struct Whispers {
    /// In order.
    all: Vec<Whisper>,
    /// The one that is handed over next.
    next: usize,
}

impl Whispers {
    /// Takes more of them, which come after those before.
    pub fn add(&mut self, more: Vec<Whisper>) {
        self.all.extend(more);
    }

    /// The clock goes to an instant.
    pub fn go(&mut self, to: At) {
        self.next = self.all.partition_point(|whisper| whisper.onset < to);
    }
}

impl Clips {
    /// Hands over what the ear hears within the time that clips are handed over ahead.
    pub fn whisper(&mut self) {
        let status = self.ears.status();
        if !status.settled || !self.ears.has_ear() {
            return;
        }
        let now = status.position.at(SampleRate::OUTPUT);
        while let Some(whisper) = self.whispers.all.get(self.whispers.next) {
            if whisper.onset > now + mix::AHEAD {
                return;
            }
            let id = IDS + self.whispers.next as u64;
            self.whispers.next += 1;
            // It was spoken when it was placed: this comes from the cache.
            if whisper.onset > now
                && let Ok(take) = self.speaker.take(&whisper.utterance)
            {
                let onset = SampleRate::OUTPUT.frame_at(whisper.onset).index();
                self.ears.feed_ear(Clip {
                    id,
                    at: FrameAt::new(onset.saturating_sub(take.onset.count())),
                    samples: take.samples,
                });
            }
        }
    }
}
