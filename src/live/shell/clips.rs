//! The clips of a class and the ears that they go to.

use super::Class;
use super::aloud::Aloud;
use super::maker::Recipe;
use super::maker::Respoken;
use super::sounds::Content;
use super::sounds::Sounds;
use super::stage::message_texts;
use super::stage::silence;
use super::whispers::Whispers;
use crate::base::tones::Tones;
use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::utterance::Rate;
use crate::base::utterance::Utterance;
use crate::compile::counted_in;
use crate::live::core::Core;
use crate::live::core::Message;
use crate::live::ears::Ears;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::plan::Tone;
use crate::planning::plan::counts;
use crate::sound::mix;
use crate::sound::mix::Clear;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::speech::Speaker;
use std::collections::HashMap;
use std::collections::VecDeque;
use std::sync::Arc;

/// Messages spoken over the session have ids above those of the plans.
const MESSAGES: u64 = 1 << 60;

/// Between the sync tone and the class: the tone has died away, and an editor sees a gap.
const AFTER_SYNC_TONE: Millis = Millis::from_secs(1);

/// All clips of the plan so far, at their places.
pub struct Clips {
    pub ears: Ears,
    pub(super) aloud: Aloud,
    pub whispers: Whispers,
    pub(super) speaker: Arc<Speaker>,
    kept: HashMap<u64, Clip>,
    /// Lines spoken again that were not put in place yet.
    again: HashMap<u64, Respoken>,
    /// Clips that the mixer had no room for yet.
    to_feed: VecDeque<Clip>,
    messages: HashMap<Message, Utterance>,
    /// Three, two, one.
    counts: Vec<Utterance>,
    pub(super) said: u64,
    /// What all that was handed over is.
    pub sounds: Sounds,
    /// Whether the sync tone is still to be heard.
    sync_tone: bool,
    /// The tone that waits for the end of a count.
    count_tone: Option<u64>,
    wake: Millis,
    tones: Tones,
    /// Whether the loudspeaker has to wake before the next sound.
    asleep: bool,
}

impl Clips {
    /// Makes the store of a class's clips.
    pub fn new(ears: Ears, recipe: &Recipe, class: &Class) -> Self {
        Self {
            ears,
            sounds: Sounds::default(),
            sync_tone: class.sync_tone,
            aloud: Aloud::default(),
            whispers: Whispers::default(),
            speaker: Arc::clone(&recipe.speaker),
            kept: HashMap::new(),
            again: HashMap::new(),
            to_feed: VecDeque::new(),
            messages: message_texts(recipe, &class.keys).into_iter().collect(),
            counts: counts(recipe.wording()),
            said: MESSAGES,
            count_tone: None,
            wake: class.wake,
            tones: recipe.tones(),
            asleep: true,
        }
    }

    /// Keeps a clip until it was heard.
    pub fn keep(&mut self, clip: Clip) {
        self.kept.insert(clip.id, clip);
    }

    /// Lets a clip go.
    pub fn forget(&mut self, id: u64) {
        self.kept.remove(&id);
        self.aloud.forget(id);
    }

    /// Drops all clips: another plan takes over.
    pub fn drop_all(&mut self) {
        self.kept.clear();
        self.again.clear();
        self.to_feed.clear();
        self.aloud = Aloud::default();
        self.whispers = Whispers::default();
        self.tell(Command::Clear(Clear::All));
    }

    /// Keeps a line spoken again until it is known whether it fits.
    pub fn spoken_again(&mut self, respoken: Respoken) {
        self.again.insert(respoken.id, respoken);
    }

    /// Puts a line spoken again in place of the one before.
    pub fn swap(&mut self, id: u64, onset: At) {
        let (Some(again), Some(kept)) = (self.again.remove(&id), self.kept.get_mut(&id)) else {
            return;
        };
        kept.at = before(SampleRate::OUTPUT.frame_at(onset), again.take.onset);
        kept.samples = again.take.samples;
        self.aloud.forget(id);
        if again.take.aloud {
            self.aloud.keep(id, again.utterance);
        }
    }

    /// Returns lines of the plan as they are spoken at other rates.
    pub fn lines(&self, core: &Core, lines: &[(u64, Rate)]) -> Vec<(u64, Utterance)> {
        let again = lines.iter().filter_map(|(id, rate)| {
            let utterance = Utterance {
                text: core.sound(*id)?.text.clone(),
                rate: *rate,
            };
            Some((*id, utterance))
        });
        again.collect()
    }

    /// Sends a command to the mixer.
    pub fn tell(&mut self, command: Command) {
        if matches!(
            command,
            Command::Hold | Command::Hush | Command::Jump(_) | Command::Stop
        ) {
            self.fall_silent();
        }
        if self.ears.tell(command).is_err() {
            tracing::error!(?command, "the mixer does not take commands");
        }
    }

    /// The loudspeaker was away and has to wake again.
    pub fn asleep(&mut self) {
        self.asleep = true;
    }

    /// Returns the silence before the next sound that is said over the class: it wakes the loudspeaker, before the
    /// first sound only, or lies between the sync tone and the class.
    fn waking(&mut self) -> FrameAt {
        let waking = match std::mem::take(&mut self.asleep) {
            true => silence(self.wake),
            false => FrameAt::START,
        };
        if !std::mem::take(&mut self.sync_tone) {
            return waking;
        }
        self.said += 1;
        self.sounds.is(self.said, Content::SyncTone);
        self.hand_over(self.said, waking, mix::sync_tone());
        silence(AFTER_SYNC_TONE)
    }

    fn hand_over(&mut self, id: u64, at: FrameAt, samples: Arc<[f32]>) {
        if self.ears.speak_over(Clip { id, at, samples }).is_err() {
            tracing::warn!("no room to say it");
        }
    }

    /// Returns whether a clip that is done is not part of the class.
    pub fn concerns_nobody(&self, id: u64) -> bool {
        self.sounds.is_sync_tone(id)
    }

    /// Starts the session clock, once the loudspeaker is awake.
    pub fn play(&mut self) {
        let silence = self.waking();
        if silence == FrameAt::START {
            return self.tell(Command::Play);
        }
        self.said += 1;
        self.hand_over(self.said, silence, Arc::new([]));
        self.tell(Command::PlayWhenSaid);
    }

    /// Ends what is said over the session, a count and its tone included.
    pub fn hush(&mut self) {
        self.tell(Command::Hush);
        self.take_tone_back();
    }

    fn take_tone_back(&mut self) {
        if let Some(tone) = self.count_tone.take() {
            self.withdraw(tone);
        }
    }

    /// Moves the session clock.
    pub fn jump(&mut self, to: At) {
        self.to_feed.clear();
        self.whispers.go(to);
        self.tell(Command::Jump(SampleRate::OUTPUT.frame_at(to)));
    }

    /// Takes a clip back that waits in the mixer.
    pub fn withdraw(&mut self, id: u64) {
        self.to_feed.retain(|clip| clip.id != id);
        self.tell(Command::Clear(Clear::Id(id)));
    }

    /// Hands a clip over, to be heard at an instant.
    pub fn feed(&mut self, id: u64, onset: At, sound: Option<&Sound>) {
        let Some(sound) = sound else {
            return;
        };
        let kept = self.kept.get(&id).cloned();
        let Some(mut clip) = kept.or_else(|| self.made_again(id, sound)) else {
            return;
        };
        // The clip keeps its lead before the onset, wherever the onset is now.
        let planned = SampleRate::OUTPUT.frame_at(sound.onset).index();
        let lead = planned.saturating_sub(clip.at.index());
        let now = SampleRate::OUTPUT.frame_at(onset).index();
        clip.at = FrameAt::new(now.saturating_sub(lead));
        self.sounds
            .is(id, Content::of_plan(sound, &clip.samples, self.tones));
        self.to_feed.push_back(clip);
        self.feed_what_waits();
    }

    /// Makes a clip again that was played and let go, for a class that goes back.
    fn made_again(&mut self, id: u64, sound: &Sound) -> Option<Clip> {
        let at = SampleRate::OUTPUT.frame_at(sound.onset);
        let tone = match sound.kind {
            SoundKind::Tone(Tone::Start) => Some(mix::Tone::Start),
            SoundKind::Tone(Tone::End) => Some(mix::Tone::End),
            _ => None,
        };
        if let Some(tone) = tone {
            return Some(tone.clip(self.tones, id, at));
        }
        let utterance = Utterance {
            text: sound.text.clone(),
            rate: sound.rate,
        };
        let take = match sound.kind {
            SoundKind::Count => self.speaker.take(&utterance),
            _ => self.speaker.line(&utterance),
        };
        let take = take.ok()?;
        if take.aloud {
            self.aloud.keep(id, utterance);
        }
        Some(Clip {
            id,
            at: before(at, take.onset),
            samples: take.samples,
        })
    }

    /// Hands over what the mixer had no room for.
    pub fn feed_what_waits(&mut self) {
        while let Some(clip) = self.to_feed.pop_front() {
            if let Err(mix::Full(clip)) = self.ears.feed(clip) {
                self.to_feed.push_front(clip);
                break;
            }
        }
    }

    /// Says a message over the session.
    pub fn say_message(&mut self, message: Message) {
        if let Some(utterance) = self.messages.get(&message).cloned() {
            self.say(&utterance);
        }
    }

    /// Speaks over the session; what was said before comes from the cache.
    pub fn say(&mut self, utterance: &Utterance) {
        match self.speaker.line(utterance) {
            Ok(take) => {
                let id = self.speak_over(take.samples, Content::Said(utterance.clone()));
                if take.aloud {
                    self.aloud.keep(id, utterance.clone());
                }
            }
            Err(_) => {
                let fault = mix::Tone::Fault.samples(self.tones);
                self.speak_over(fault, Content::fault(&utterance.text, self.tones));
            }
        }
    }

    /// Speaks samples over the session, and keeps what they are; returns the id of their clip.
    pub(super) fn speak_over(&mut self, samples: Arc<[f32]>, content: Content) -> u64 {
        let silence = self.waking();
        self.said += 1;
        self.sounds.is(self.said, content);
        self.hand_over(self.said, silence, samples);
        self.said
    }

    /// Counts three, two, one, each onset on its second; the clock starts a second after "one", to the
    /// frame.
    pub fn count_in(&mut self, tone: bool) {
        let takes = self.counts.iter().filter_map(|count| {
            let take = self.speaker.take(count).ok()?;
            Some((count.text.clone(), take))
        });
        let (counts, takes): (Vec<_>, Vec<_>) = takes.unzip();
        self.speak_over(counted_in(&takes).samples, Content::CountIn(counts));
        self.take_tone_back();
        if tone {
            self.said += 1;
            // Its first sample where the clock stands, so that it is in time.
            let stands = self.ears.status().position.index();
            let onset = FrameAt::new(stands + mix::Tone::Start.onset(self.tones).count());
            let tone = mix::Tone::Start.clip(self.tones, self.said, onset);
            self.sounds.is(self.said, Content::StartTone(self.tones));
            self.count_tone = Some(self.said);
            self.to_feed.push_back(tone);
            self.feed_what_waits();
        }
        self.tell(Command::PlayWhenSaid);
    }
}

fn before(at: FrameAt, lead: Frames) -> FrameAt {
    FrameAt::new(at.index().saturating_sub(lead.count()))
}
