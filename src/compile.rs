//! The one join of planning and sound: a session and a voice -> a plan with measured lengths,
//! and the clips that make it heard.
//!
//! Lengths pass to planning, texts to sound; neither knows of the other.

mod again;
mod beds;
mod class;

pub use again::Again;
pub use again::again;
pub use again::bed_again;
pub use again::counted_in;
pub use again::moves;
pub use again::utterances;
pub use beds::Beds;
pub use beds::Below;
pub use beds::Notices;
pub use beds::Tell;
pub use beds::Told;
pub use class::Class;
pub use class::Stream;

use crate::base::tones::Tones;
use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::utterance::Utterance;
use crate::base::wording::Language;
use crate::base::wording::Wording;
use crate::planning::plan::Durations;
use crate::planning::plan::Plan;
use crate::planning::plan::Planner;
use crate::planning::plan::Settings;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::plan::Tone;
use crate::planning::plan::ToneLengths;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::rehearse::pace::Person;
use crate::sound::mix;
use crate::sound::mix::Clip;
use crate::sound::speech::Estimate;
use crate::sound::speech::Speaker;
use crate::sound::speech::Take;
use crate::sound::speech::VoiceError;
use crate::sound::speech::VoiceInfo;
use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::Arc;

/// A stretch with its sounds, each with the clip that makes it heard.
#[derive(Debug)]
pub struct Compiled {
    /// The rate of each sound is the one at which it is spoken.
    pub sounds: Vec<(Sound, Clip)>,
    /// The clips that are silence for lines of the system's voice.
    pub aloud: Vec<u64>,
    /// Where the class begins, if this is the first stretch of one that goes on in the middle.
    pub begins: Option<At>,
    /// The session in time as far as it is known with this stretch planned.
    pub timeline: Timeline,
}

/// Makes a class, stretch by stretch, so that the first is heard while the rest is made.
pub struct Compiler<'a> {
    planner: Planner<'a>,
    voice: SpokenLengths<'a>,
    next_id: u64,
    /// The first line, if it was handed out before its stretch.
    first: Option<Sound>,
    /// The segment with which a class begins that goes on in the middle, until its stretch is made.
    begins: Option<usize>,
    /// The clips made since they were handed out that are silence for lines of the system's voice.
    aloud: Vec<u64>,
    tones: Tones,
}

/// A class that goes on with a rest leaves out the tone that ended the work before, and its silence.
const AFTER_END_TONE: Millis = Millis::from_ms(350);

/// Lengths measured by speaking: what is measured is what will be heard.
struct SpokenLengths<'a> {
    speaker: &'a Speaker,
    estimate: Estimate,
    /// How fast lines are spoken, of what the plan says.
    per_mille: u16,
    takes: HashMap<Utterance, Take>,
    /// Whether samples are let go of once their length is known.
    light: bool,
    unspoken: Vec<String>,
}

impl SpokenLengths<'_> {
    /// Returns an utterance as it is spoken at the speed that is wished for.
    fn as_spoken(&self, utterance: &Utterance) -> Utterance {
        Utterance {
            text: utterance.text.clone(),
            rate: utterance.rate.at_speed(1000, self.per_mille),
        }
    }

    fn all_as_spoken(&self, wanted: &[Utterance]) -> Vec<Utterance> {
        wanted.iter().map(|u| self.as_spoken(u)).collect()
    }

    /// Gets the samples of a sound again if they were let go.
    fn have(&mut self, sound: &Sound) {
        let utterance = utterance(sound);
        let exact = sound.kind == SoundKind::Count;
        let known = self.takes.get(&utterance);
        if utterance.text.is_empty() || known.is_some_and(|take| !(exact && take.aloud)) {
            return;
        }
        let spoken = self.as_spoken(&utterance);
        let take = match exact {
            true => self.speaker.take(&spoken),
            false => self.speaker.line(&spoken),
        };
        if let Ok(take) = take {
            self.takes.insert(utterance, take);
        }
    }

    /// Takes in what was spoken.
    fn lengths(
        &mut self,
        wanted: &[Utterance],
        takes: Vec<Result<Take, VoiceError>>,
    ) -> Vec<Option<Millis>> {
        let lengths = wanted
            .iter()
            .zip(takes)
            .map(|(utterance, take)| match take {
                Ok(mut take) => {
                    let length = take.length();
                    if self.light && self.speaker.keeps() {
                        take.samples = Arc::default();
                    }
                    self.takes.insert(utterance.clone(), take);
                    Some(length)
                }
                Err(error) => {
                    self.unspoken
                        .push(format!("\"{}\": {error}", utterance.text));
                    None
                }
            });
        lengths.collect()
    }
}

impl Durations for SpokenLengths<'_> {
    fn estimate(&self, utterance: &Utterance) -> Millis {
        let spoken = self.as_spoken(utterance);
        self.estimate.length(&spoken.text, spoken.rate)
    }

    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        let spoken = self.all_as_spoken(wanted);
        self.lengths(wanted, self.speaker.lines(&spoken))
    }

    fn measure_marks(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        let spoken = self.all_as_spoken(wanted);
        self.lengths(wanted, self.speaker.takes(&spoken))
    }
}

/// Lengths by estimate alone: nothing is spoken.
pub struct EstimatedLengths {
    /// The name of the voice, or of the person.
    name: String,
    mouth: Mouth,
    known: RefCell<HashMap<Utterance, Millis>>,
}

/// The most that a person takes for each word of a count: whoever counts on a beat of a second is done before the
/// next (common practice).
const COUNTED_WORD: Millis = Millis::from_ms(600);

/// Whose mouth lengths are estimated for.
enum Mouth {
    Voice(Estimate),
    Person(Person, Language),
}

impl EstimatedLengths {
    fn new(name: &str, mouth: Mouth) -> Self {
        Self {
            name: name.to_owned(),
            mouth,
            known: RefCell::default(),
        }
    }

    /// Makes the lengths of a voice.
    pub fn for_voice(name: &str) -> Self {
        Self::new(name, Mouth::Voice(Estimate::for_voice(name)))
    }

    /// Makes the lengths of a voice that is known.
    pub fn of(voice: &VoiceInfo) -> Self {
        Self::new(&voice.name, Mouth::Voice(Estimate::of(voice)))
    }

    /// Makes the lengths of a person who speaks a session in a language herself.
    pub fn of_person(name: &str, person: Person, language: Language) -> Self {
        Self::new(name, Mouth::Person(person, language))
    }

    /// Plans a session by these; what one session needed is known for the next.
    pub fn plan(&mut self, session: &Session, wording: &Wording, caution: CautionLength) -> Plan {
        let settings = settings_in(wording, &self.name, caution);
        Planner::new(session, wording, settings, self).finish(self)
    }
}

impl Durations for EstimatedLengths {
    fn estimate(&self, utterance: &Utterance) -> Millis {
        let known = self.known.borrow().get(utterance).copied();
        known.unwrap_or_else(|| {
            let (text, rate) = (&utterance.text, utterance.rate);
            let length = match &self.mouth {
                Mouth::Voice(estimate) => estimate.length(text, rate),
                Mouth::Person(person, language) => person.length(text, *language, rate),
            };
            self.known.borrow_mut().insert(utterance.clone(), length);
            length
        })
    }

    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        vec![None; wanted.len()]
    }

    /// A person says what falls on the clock as quickly as it asks for.
    fn measure_marks(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        if let Mouth::Voice(_) = self.mouth {
            return self.measure(wanted);
        }
        let most = |text: &str| COUNTED_WORD * text.split_whitespace().count() as i64;
        let lengths = wanted.iter().map(|u| self.estimate(u).min(most(&u.text)));
        lengths.map(Some).collect()
    }
}

/// The key that ends a wait without a configuration, by its message.
const DEFAULT_KEY: &str = "key-named-space";

/// Returns what a plan needs to know of a voice and of the tones, with the key that ends a wait
/// without a configuration: so a plan is the same on every machine. The key is said in English.
pub fn settings(voice: &str, caution: CautionLength) -> Settings {
    settings_in(Wording::of(Language::English), voice, caution)
}

/// Returns the same for a session in another language.
pub fn settings_in(wording: &Wording, voice: &str, caution: CautionLength) -> Settings {
    let heard = |tone: mix::Tone| {
        // The same for all kinds of tones. As for a spoken line: from the first audible sample to the last, rounded up.
        let frames = tone.end(Tones::Clear).count() - tone.onset(Tones::Clear).count();
        let hz = u64::from(SampleRate::OUTPUT.hz());
        Millis::from_ms((frames * 1000).div_ceil(hz) as i64)
    };
    Settings {
        voice: voice.to_owned(),
        caution,
        tones: ToneLengths {
            start: heard(mix::Tone::Start),
            end: heard(mix::Tone::End),
        },
        key: Some(wording.say(DEFAULT_KEY, &[])),
    }
}

impl<'a> Compiler<'a> {
    /// Starts a class, with the [`settings_in`] of the speaker's voice.
    pub fn new(
        session: &'a Session,
        wording: &'a Wording,
        speaker: &'a Speaker,
        settings: Settings,
    ) -> Self {
        let mut voice = SpokenLengths {
            speaker,
            estimate: speaker.estimate(),
            per_mille: 1000,
            takes: HashMap::new(),
            light: false,
            unspoken: Vec::new(),
        };
        Self {
            planner: Planner::new(session, wording, settings, &mut voice),
            voice,
            next_id: 0,
            first: None,
            begins: None,
            aloud: Vec::new(),
            tones: session.text.tones.unwrap_or_default(),
        }
    }

    /// Sounds with tones of a kind instead of the session's.
    #[must_use]
    pub fn with_tones(self, tones: Tones) -> Self {
        Self { tones, ..self }
    }

    /// Keeps no samples where they can be had again from the cache: the class is then heard by [`Class::stream`], and
    /// takes the memory of what is heard in half a minute, however long it is.
    #[must_use]
    pub fn light(mut self) -> Self {
        self.voice.light = true;
        self
    }

    /// Numbers the clips from here on.
    pub fn number_from(&mut self, id: u64) {
        self.next_id = id;
    }

    /// Goes to the rest before a work without a word: what would have been said until then counts as
    /// heard.
    ///
    /// With `itself`, and before the first work, it begins at the work; what is said in the rest is made
    /// all the same, to be said again.
    pub fn go_to_work(&mut self, work: usize, itself: bool) {
        self.begins = self.planner.go_to_work(work, itself, &mut self.voice);
    }

    /// Makes the first line of the opening, to be heard while its stretch is made; the stretch
    /// then comes without it. `None` where its place is not certain yet.
    pub fn first_line(&mut self) -> Option<(Sound, Clip)> {
        let sound = self.planner.first_line(&mut self.voice)?;
        self.first = Some(sound.clone());
        Some(self.with_clip(sound))
    }

    /// Returns the session in time, as far as it is known by now.
    pub fn timeline(&self) -> &Timeline {
        self.planner.timeline()
    }

    /// Returns how many stretches there are.
    pub fn stretches(&self) -> usize {
        self.planner.timeline().stretches.len()
    }

    /// Makes the next stretch; `None` when all are made.
    pub fn next_stretch(&mut self) -> Option<Compiled> {
        let planned = self.planner.next_stretch(&mut self.voice)?;
        let segments = &self.planner.timeline().segments;
        let begins = self.begins.take().and_then(|at| segments.get(at));
        let begins = begins.map(|s| match s.kind {
            SegmentKind::Work => (s.start, At::START),
            _ => (s.start, s.start + AFTER_END_TONE),
        });
        let mut made = Vec::with_capacity(planned.sounds.len());
        for sound in planned.sounds {
            let wanted = begins.is_none_or(|(_, from)| sound.onset >= from);
            if wanted && Some(&sound) != self.first.as_ref() {
                made.push(self.with_clip(sound));
            }
        }
        Some(Compiled {
            sounds: made,
            aloud: self.aloud(),
            begins: begins.map(|(begins, _)| begins),
            timeline: self.planner.timeline().clone(),
        })
    }

    fn with_clip(&mut self, mut sound: Sound) -> (Sound, Clip) {
        self.voice.have(&sound);
        let utterance = utterance(&sound);
        if self.voice.takes.get(&utterance).is_some_and(|t| t.aloud) {
            self.aloud.push(self.next_id);
        }
        let clip = clip(&sound, &self.voice.takes, self.tones, self.next_id);
        self.next_id += 1;
        sound.rate = self.voice.as_spoken(&utterance).rate;
        (sound, clip)
    }

    /// Hands out which of the clips since the last time are silence for lines of the system's voice.
    pub fn aloud(&mut self) -> Vec<u64> {
        std::mem::take(&mut self.aloud)
    }

    /// Lets go of the samples made so far, for a class that is heard as it is made. What is said
    /// again comes from the cache.
    pub fn let_go(&mut self) {
        self.voice.takes.clear();
    }

    /// Speaks what is still to be made at so many per mille of the plan's rate.
    pub fn speak_at(&mut self, per_mille: u16) {
        if self.voice.per_mille != per_mille {
            self.voice.per_mille = per_mille;
            self.voice.takes.clear();
            self.planner.forget_lengths();
        }
    }

    /// Says so much more, or less, in what is still to be made.
    pub fn talk(&mut self, more: i8) {
        self.planner.talk(more);
    }

    /// Returns what could not be spoken since the last call.
    pub fn unspoken(&mut self) -> Vec<String> {
        std::mem::take(&mut self.voice.unspoken)
    }

    /// Makes what is left and returns the whole class.
    pub fn finish(mut self) -> Class {
        let plan = self.planner.finish(&mut self.voice);
        let takes = self.voice.takes;
        let clips = plan
            .sounds
            .iter()
            .zip(0..)
            .map(|(sound, id)| clip(sound, &takes, self.tones, id))
            .collect();
        Class {
            plan,
            clips,
            spoken: takes,
            tones: self.tones,
            unspoken: self.voice.unspoken,
        }
    }
}

/// Plans a session by estimated lengths alone.
pub fn plan_by_estimate(
    session: &Session,
    wording: &Wording,
    voice: &str,
    caution: CautionLength,
) -> Plan {
    EstimatedLengths::for_voice(voice).plan(session, wording, caution)
}

fn utterance(sound: &Sound) -> Utterance {
    Utterance {
        text: sound.text.clone(),
        rate: sound.rate,
    }
}

/// Makes the clip of a sound: its onset lies on the sound's frame. What could not be spoken is
/// sounded as a fault, so that nothing fails in silence.
fn clip(sound: &Sound, takes: &HashMap<Utterance, Take>, kind: Tones, id: u64) -> Clip {
    let onset = SampleRate::OUTPUT.frame_at(sound.onset);
    let tone = match sound.kind {
        SoundKind::Tone(Tone::Start) => Some(mix::Tone::Start),
        SoundKind::Tone(Tone::End) => Some(mix::Tone::End),
        _ => None,
    };
    match (tone, takes.get(&utterance(sound))) {
        (Some(tone), _) => tone.clip(kind, id, onset),
        (None, Some(take)) => Clip {
            id,
            at: FrameAt::new(onset.index().saturating_sub(take.onset.count())),
            samples: take.samples.clone(),
        },
        (None, None) => mix::Tone::Fault.clip(kind, id, onset),
    }
}
