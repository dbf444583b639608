//! Carries out what the core decides: threads, the mixer's desk, the loudspeaker, the screen.
#![expect(clippy::disallowed_methods, reason = "the shell has the threads")]

use super::control::Inputs;
use super::control::Teller;
use super::core::Core;
use super::core::Effect;
use super::core::Event;
use super::core::Message;
use super::core::State;
use super::core::Words;
use super::history::Step;
use super::history::Told;
use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::SampleRate;
use crate::base::utterance::Utterance;
use crate::base::wording::Wording;
use crate::compile::Compiled;
use crate::compile::Compiler;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::plan::Tone;
use crate::planning::plan::counts;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::planning::timeline::Timeline;
use crate::sound::mix;
use crate::sound::mix::CAPACITY;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::mix::Desk;
use crate::sound::mix::Outcome;
use crate::sound::mix::desk_and_mixer;
use crate::sound::out;
use crate::sound::out::DeviceError;
use crate::sound::out::Loudspeaker;
use crate::sound::speech::Notice;
use crate::sound::speech::Speaker;
use std::collections::HashMap;
use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::AtomicI8;
use std::sync::atomic::AtomicU16;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::thread;
use std::time::Duration;

/// How often the clock is read. Nothing is timed by it: sounds stand on frames.
const TICK: Duration = Duration::from_millis(20);
/// Messages spoken over the session have ids above those of the plan.
const MESSAGES: u64 = 1 << 40;
/// What was rendered last is this long on its way to the ear, with a buffer of 960 frames.
const ON_ITS_WAY: Duration = Duration::from_millis(200);

/// What the shell tells whoever watches.
pub enum News<'a> {
    /// The class is doing something else now.
    State(State),
    /// This is being said.
    Said(Message),
    /// The clock has moved.
    Clock { at: At, timeline: &'a Timeline },
    /// What the core was told and decided, before it is carried out.
    Step(Step<'a>),
    /// The device is gone or back; what could not be spoken; a fall-back of the voice.
    Notice(String),
}

/// What the maker has made.
#[derive(Debug)]
enum Made {
    FirstLine(Sound, Clip),
    Stretch(Compiled),
    All,
    Notices(Vec<String>),
}

/// Speaks a class through the loudspeaker until it ends or is stopped.
///
/// `line` is both ends of what [`super::control::line`] made; `watch` sees the news.
///
/// # Errors
///
/// [`DeviceError`] where there is no loudspeaker to begin with.
pub fn run(
    session: &Session,
    speaker: &Speaker,
    caution: CautionLength,
    options: out::Options,
    line: (Teller, Inputs),
    watch: &mut dyn FnMut(News),
) -> Result<(), DeviceError> {
    let wording = Wording::english();
    let (desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, CAPACITY);
    let (_teller, inputs) = line;
    // The maker waits with a stretch in hand until the core wants it.
    let (to, made) = mpsc::sync_channel(0);
    let wishes = Arc::new(Wishes::default());
    thread::scope(|scope| {
        // The voice gets to work while the loudspeaker opens.
        let wording = &wording;
        let made_by = Arc::clone(&wishes);
        scope.spawn(move || make(session, wording, speaker, caution, &made_by, &to));
        let loudspeaker = match Loudspeaker::open(mixer, options) {
            Ok(loudspeaker) => loudspeaker,
            Err(error) => {
                // The maker ends when nobody listens any more.
                drop(made);
                return Err(error);
            }
        };
        let mut shell = Shell {
            core: Core::new(Words::new(session, wording)),
            desk,
            clips: HashMap::new(),
            to_feed: VecDeque::new(),
            timeline: None,
            messages: messages(wording, speaker),
            counts: counts(wording),
            wishes: Arc::clone(&wishes),
            said: MESSAGES,
            speaker,
        };
        shell.turn(&inputs, &made, &loudspeaker, watch);
        drop(made);
        speaker.forget();
        loudspeaker.close();
        Ok(())
    })
}

/// Makes the class, stretch by stretch.
fn make(
    session: &Session,
    wording: &Wording,
    speaker: &Speaker,
    caution: CautionLength,
    wishes: &Wishes,
    to: &mpsc::SyncSender<Made>,
) {
    let mut compiler = Compiler::new(session, wording, speaker, caution);
    if let Some((sound, clip)) = compiler.first_line()
        && to.send(Made::FirstLine(sound, clip)).is_err()
    {
        return;
    }
    loop {
        compiler.speak_at(wishes.speed.load(Ordering::Relaxed));
        compiler.talk(wishes.talk.load(Ordering::Relaxed));
        let Some(compiled) = compiler.next_stretch() else {
            break;
        };
        let mut notices: Vec<_> = speaker.notices().into_iter().map(text).collect();
        notices.extend(compiler.unspoken());
        if !notices.is_empty() && to.send(Made::Notices(notices)).is_err() {
            return;
        }
        if to.send(Made::Stretch(compiled)).is_err() {
            return;
        }
        compiler.let_go();
    }
    // Nobody may be listening any more.
    let _ = to.send(Made::All);
}

fn text(notice: Notice) -> String {
    notice.message
}

/// Makes what may have to be said at once ready; what is not ready in time stays unsaid.
fn messages(wording: &Wording, speaker: &Speaker) -> HashMap<Message, Utterance> {
    let all: HashMap<_, _> = Message::ALL
        .into_iter()
        .map(|m| (m, Utterance::new(wording.say(m.wording(), &[]))))
        .collect();
    let texts: Vec<_> = all.values().cloned().collect();
    speaker.prefetch(&texts);
    all
}

struct Shell<'a> {
    core: Core<'a>,
    speaker: &'a Speaker,
    desk: Desk,
    /// All clips of the plan so far, at their places.
    clips: HashMap<u64, Clip>,
    /// Clips that the mixer had no room for yet.
    to_feed: VecDeque<Clip>,
    timeline: Option<Timeline>,
    messages: HashMap<Message, Utterance>,
    /// Three, two, one.
    counts: Vec<Utterance>,
    wishes: Arc<Wishes>,
    said: u64,
}

/// What the listener wishes of what is still to be made.
#[derive(Debug)]
struct Wishes {
    /// Per mille of the plan's rate.
    speed: AtomicU16,
    /// How much more is said, or less.
    talk: AtomicI8,
}

impl Default for Wishes {
    fn default() -> Self {
        Self {
            speed: AtomicU16::new(1000),
            talk: AtomicI8::new(0),
        }
    }
}

impl Shell<'_> {
    fn turn(
        &mut self,
        inputs: &Inputs,
        made: &Receiver<Made>,
        loudspeaker: &Loudspeaker,
        watch: &mut dyn FnMut(News),
    ) {
        loop {
            let mut events = Vec::new();
            if let Some(told) = inputs.next(TICK) {
                events.push(Event::Verb(told.verb));
            }
            if self.core.wants_more()
                && let Ok(made) = made.try_recv()
            {
                events.extend(self.event_of(made, watch));
            }
            while let Ok(event) = loudspeaker.events().try_recv() {
                events.push(match event {
                    out::Event::Lost { reason, .. } => {
                        watch(News::Notice(format!("the loudspeaker is gone: {reason}")));
                        Event::DeviceLost
                    }
                    out::Event::Back { device } => {
                        watch(News::Notice(format!("the sound is back: {device}")));
                        Event::DeviceBack
                    }
                });
            }
            while let Some(done) = self.desk.finished() {
                let over = matches!(done.outcome, Outcome::Played | Outcome::Late);
                if over && !self.core.may_come_again(done.clip.id) {
                    self.clips.remove(&done.clip.id);
                }
                match done.outcome {
                    Outcome::Played if done.over => events.push(Event::SaidOver),
                    Outcome::Cut(_) if !done.over => events.push(Event::Cut { id: done.clip.id }),
                    Outcome::Late if !done.over => {
                        tracing::warn!(id = done.clip.id, "a sound came after its time");
                    }
                    _ => {}
                }
            }
            let status = self.desk.status();
            // First: what is told now moves the clock after this was read.
            let clock = Event::Clock {
                at: status.position.at(SampleRate::OUTPUT),
                settled: status.settled,
                heard: status.device.millis(SampleRate::OUTPUT),
            };
            events.insert(0, clock);
            for event in events {
                let told = Told::from(&event);
                let effects = self.core.step(event);
                watch(News::Step(Step {
                    told,
                    effects: &effects,
                    timeline: self.timeline.as_ref(),
                }));
                for effect in effects {
                    if effect == Effect::End {
                        self.end();
                        return;
                    }
                    self.carry_out(effect, watch);
                }
            }
            self.feed_what_waits();
            if let Some(timeline) = &self.timeline {
                watch(News::Clock {
                    at: status.position.at(SampleRate::OUTPUT),
                    timeline,
                });
            }
        }
    }

    fn event_of(&mut self, made: Made, watch: &mut dyn FnMut(News)) -> Option<Event> {
        match made {
            Made::All => Some(Event::AllPlanned),
            Made::FirstLine(sound, clip) => {
                let id = clip.id;
                self.clips.insert(id, clip);
                Some(Event::FirstLine { id, sound })
            }
            Made::Notices(notices) => {
                for notice in notices {
                    watch(News::Notice(notice));
                }
                None
            }
            Made::Stretch(compiled) => {
                let mut sounds = Vec::with_capacity(compiled.sounds.len());
                for (sound, clip) in compiled.sounds {
                    sounds.push((clip.id, sound));
                    self.clips.insert(clip.id, clip);
                }
                self.timeline = Some(compiled.timeline.clone());
                Some(Event::Planned {
                    sounds,
                    timeline: compiled.timeline,
                })
            }
        }
    }

    fn carry_out(&mut self, effect: Effect, watch: &mut dyn FnMut(News)) {
        match effect {
            Effect::Play => self.tell(Command::Play),
            Effect::Hush => self.tell(Command::Hush),
            Effect::Hold => self.tell(Command::Hold),
            Effect::Jump(to) => {
                self.to_feed.clear();
                self.tell(Command::Jump(SampleRate::OUTPUT.frame_at(to)));
            }
            Effect::Feed { id, onset } => self.feed(id, onset),
            Effect::Say(message) => {
                watch(News::Said(message));
                if let Some(utterance) = self.messages.get(&message).cloned() {
                    self.say(&utterance);
                }
            }
            Effect::SayText(text) => self.say(&Utterance::new(text)),
            Effect::SayAgain(id) => {
                let line = self.core.sound(id).map(|sound| Utterance {
                    text: sound.text.clone(),
                    rate: sound.rate,
                });
                if let Some(line) = line {
                    self.say(&line);
                }
            }
            Effect::CountIn { tone } => self.count_in(tone),
            Effect::Volume(volume) => self.tell(Command::Volume(volume)),
            Effect::Speed(speed) => self.wishes.speed.store(speed, Ordering::Relaxed),
            Effect::Talk(by) => {
                self.wishes.talk.fetch_add(by, Ordering::Relaxed);
            }
            Effect::Show(state) => watch(News::State(state)),
            Effect::End => {}
        }
    }

    fn tell(&mut self, command: Command) {
        if self.desk.tell(command).is_err() {
            tracing::error!(?command, "the mixer does not take commands");
        }
    }

    fn feed(&mut self, id: u64, onset: At) {
        let Some(mut clip) = self.clips.get(&id).cloned().or_else(|| self.made_again(id)) else {
            return;
        };
        if let Some(sound) = self.core.sound(id) {
            // The clip keeps its lead before the onset, wherever the onset is now.
            let planned = SampleRate::OUTPUT.frame_at(sound.onset).index();
            let lead = planned.saturating_sub(clip.at.index());
            let now = SampleRate::OUTPUT.frame_at(onset).index();
            clip.at = FrameAt::new(now.saturating_sub(lead));
        }
        self.to_feed.push_back(clip);
        self.feed_what_waits();
    }

    /// Makes a clip again that was played and let go, for a class that goes back.
    fn made_again(&self, id: u64) -> Option<Clip> {
        let sound = self.core.sound(id)?;
        let at = SampleRate::OUTPUT.frame_at(sound.onset);
        let tone = match sound.kind {
            SoundKind::Tone(Tone::Start) => Some(mix::Tone::Start),
            SoundKind::Tone(Tone::End) => Some(mix::Tone::End),
            _ => None,
        };
        if let Some(tone) = tone {
            return Some(tone.clip(id, at));
        }
        let utterance = Utterance {
            text: sound.text.clone(),
            rate: sound.rate,
        };
        let take = self.speaker.take(&utterance).ok()?;
        Some(Clip {
            id,
            at: FrameAt::new(at.index().saturating_sub(take.onset.count())),
            samples: take.samples,
        })
    }

    fn feed_what_waits(&mut self) {
        while let Some(clip) = self.to_feed.pop_front() {
            if let Err(mix::Full(clip)) = self.desk.feed(clip) {
                self.to_feed.push_front(clip);
                break;
            }
        }
    }

    /// Speaks over the session; what was said before comes from the cache.
    fn say(&mut self, utterance: &Utterance) {
        let samples = match self.speaker.take(utterance) {
            Ok(take) => take.samples,
            Err(_) => mix::Tone::Fault.samples(),
        };
        self.speak_over(samples);
    }

    fn speak_over(&mut self, samples: Arc<[f32]>) {
        self.said += 1;
        let clip = Clip {
            id: self.said,
            at: FrameAt::START,
            samples,
        };
        if self.desk.speak_over(clip).is_err() {
            tracing::warn!("no room to say it");
        }
    }

    /// Counts three, two, one, each onset on its second; the clock starts a second after "one", to the
    /// frame.
    fn count_in(&mut self, tone: bool) {
        let second = SampleRate::OUTPUT.hz() as usize;
        let takes: Vec<_> = self
            .counts
            .iter()
            .filter_map(|count| self.speaker.take(count).ok())
            .collect();
        let lead = takes.iter().map(|take| take.onset.count() as usize).max();
        let lead = lead.unwrap_or(0);
        let mut samples = vec![0.0; lead + takes.len() * second];
        for (nth, take) in takes.iter().enumerate() {
            let start = lead + nth * second - take.onset.count() as usize;
            for (out, sample) in samples[start..].iter_mut().zip(take.samples.iter()) {
                *out += sample;
            }
        }
        self.speak_over(samples.into());
        if tone {
            self.said += 1;
            // Its first sample where the clock stands, so that it is in time.
            let stands = self.desk.status().position.index();
            let onset = FrameAt::new(stands + mix::Tone::Start.onset().count());
            let tone = mix::Tone::Start.clip(self.said, onset);
            self.to_feed.push_back(tone);
            self.feed_what_waits();
        }
        self.tell(Command::PlayWhenSaid);
    }

    /// Fades out and lets the last of it be heard.
    fn end(&mut self) {
        self.tell(Command::Stop);
        let mut turns = 0;
        while !self.desk.status().settled && turns < 50 {
            thread::sleep(TICK);
            turns += 1;
        }
        thread::sleep(ON_ITS_WAY);
    }
}
