//! Where a class is played: one act follows another when the class is planned again.

use super::Change;
use super::Class;
use super::News;
use super::clips::Clips;
use super::maker;
use super::maker::Made;
use super::maker::Recipe;
use super::maker::Respoken;
use super::maker::StartAt;
use super::music::Accompaniment;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::utterance::Utterance;
use crate::live::control::Inputs;
use crate::live::control::Verb;
use crate::live::core::Carried;
use crate::live::core::Core;
use crate::live::core::Effect;
use crate::live::core::Event;
use crate::live::core::Message;
use crate::live::core::Wishes;
use crate::live::ears::Ears;
use crate::live::ears::Heard;
use crate::live::ears::Loudspeakers;
use crate::live::history::Happening;
use crate::live::history::Step;
use crate::live::history::Told;
use crate::planning::session::Session;
use crate::planning::timeline::Landmark;
use crate::planning::timeline::Timeline;
use crate::sound::mix::Command;
use crate::sound::mix::Finished;
use crate::sound::mix::Outcome;
use crate::sound::music::BedNews;
use std::sync::Arc;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::Sender;
use std::thread;
use std::time::Duration;
use std::time::Instant;

/// How often the clock is read. Nothing is timed by it: sounds stand on frames.
const TICK: Duration = Duration::from_millis(20);
/// What was rendered last is this long on its way to the ear, with a buffer of 960 frames.
const ON_ITS_WAY: Duration = Duration::from_millis(200);
/// A maker hands over what it has within this time.
const TO_TAKE: Duration = Duration::from_millis(3);
/// The ids of clips of an act begin so far after those of the act before.
const IDS: u64 = 1 << 24;

/// A plan that is made and played.
pub struct Act {
    session: Arc<Session>,
    made: Receiver<Made>,
    /// The change of the files that it was made for.
    change: Option<Change>,
    /// What was made before the act began.
    first: Option<Made>,
    timeline: Option<Timeline>,
}

impl Act {
    /// Makes the act of what a maker makes.
    pub fn new(made: Receiver<Made>, session: Arc<Session>) -> Self {
        Self {
            session,
            made,
            change: None,
            first: None,
            timeline: None,
        }
    }

    /// Returns the session that is played.
    pub fn session(&self) -> &Arc<Session> {
        &self.session
    }

    /// Returns the change of the files that it was made for.
    pub fn change(&self) -> Option<&Change> {
        self.change.as_ref()
    }
}

/// How an act ends.
pub enum Turn {
    Over,
    HandOver(Box<(Carried, Act)>),
}

/// What stays while acts come and go.
pub struct Stage {
    pub(super) clips: Clips,
    loudspeakers: Loudspeakers,
    recipe: Recipe,
    wishes: Wishes,
    /// The files as they are, if they have changed since the act began.
    change: Option<Change>,
    next: Option<Act>,
    respoken: (Sender<Respoken>, Receiver<Respoken>),
    lost_since: Option<Instant>,
    /// Why the class ended before its time, if it did: nobody hears it any more.
    unheard: Option<String>,
    music: Option<Accompaniment>,
}

impl Stage {
    /// Sets the stage for a class.
    pub fn new(
        ears: Ears,
        loudspeakers: Loudspeakers,
        recipe: Recipe,
        class: &Class,
        music: Option<Accompaniment>,
    ) -> Self {
        let mut clips = Clips::new(ears, &recipe, class);
        if class.wishes != Wishes::default() {
            clips.tell(class.volume());
        }
        Self {
            clips,
            loudspeakers,
            recipe,
            wishes: class.wishes,
            change: None,
            next: None,
            respoken: mpsc::channel(),
            lost_since: None,
            unheard: None,
            music,
        }
    }

    /// Plays an act to its end, or until another takes over.
    pub fn play(
        &mut self,
        mut core: Core,
        act: &mut Act,
        inputs: &Inputs,
        changes: &Receiver<Change>,
        watch: &mut dyn FnMut(News),
    ) -> Turn {
        loop {
            let mut events = Vec::new();
            if let Some(told) = inputs.next(TICK) {
                events.push(Event::Verb(told.verb));
            }
            if let Some(change) = changes.try_iter().last() {
                self.change = Some(change);
                events.push(Event::Changed);
            }
            let first = act.first.take();
            let made = first.or_else(|| match core.wants_more() {
                true => act.made.try_recv().ok(),
                false => None,
            });
            if let Some(made) = made {
                events.extend(self.event_of(made, act, watch));
            }
            self.hear_the_device(&mut events, watch);
            for respoken in self.respoken.1.try_iter() {
                events.push(Event::Respoken {
                    id: respoken.id,
                    lasts: respoken.lasts(),
                    rate: respoken.utterance.rate,
                });
                self.clips.spoken_again(respoken);
            }
            while let Some(done) = self.clips.ears.finished() {
                self.tell_what_sounded(&done, watch);
                let over = matches!(done.outcome, Outcome::Played | Outcome::Late);
                if over && !core.may_come_again(done.clip.id) {
                    self.clips.forget(done.clip.id);
                }
                if self.clips.stood_in(done.clip.id) || self.clips.concerns_nobody(done.clip.id) {
                    continue;
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
            let status = self.clips.ears.status();
            // First: what is told now moves the clock after this was read.
            let clock = Event::Clock {
                at: status.position.at(SampleRate::OUTPUT),
                settled: status.settled,
                heard: status.device.millis(SampleRate::OUTPUT),
            };
            events.insert(0, clock);
            for event in events {
                let told = Told::from(&event);
                let effects = core.step(event);
                watch(News::Step(Step {
                    told,
                    effects: &effects,
                    timeline: act.timeline.as_ref(),
                    frame: status.device,
                }));
                for effect in effects {
                    match effect {
                        Effect::End => return Turn::Over,
                        Effect::HandOver(since) => {
                            if let Some(next) = self.next_act() {
                                let carried = core.carried(Some(since));
                                return Turn::HandOver(Box::new((carried, next)));
                            }
                        }
                        Effect::StartFrom(work) => {
                            self.plan_from(work, true, act);
                            if let Some(next) = self.next_act() {
                                return Turn::HandOver(Box::new((core.carried(None), next)));
                            }
                        }
                        Effect::PlanFrom(work) => self.plan_from(work, false, act),
                        effect => self.carry_out(effect, &core, watch),
                    }
                }
            }
            self.clips.feed_what_waits();
            self.clips.whisper();
            self.clips.ears.keep_together();
            if let Some(notice) = self.clips.speak_aloud() {
                watch(News::Notice(notice));
            }
            // Until a jump is carried out the place is one of the plan before.
            let status = self.clips.ears.status();
            if let Some(timeline) = act.timeline.as_ref().filter(|_| status.settled) {
                let at = status.position.at(SampleRate::OUTPUT);
                if let Some(music) = &mut self.music {
                    music.follow(&act.session, timeline, at, &mut self.clips);
                }
                watch(News::Clock { at, timeline });
            }
            self.tell_what_moved(watch);
        }
    }

    fn hear_the_device(&mut self, events: &mut Vec<Event>, watch: &mut dyn FnMut(News)) {
        for heard in self.loudspeakers.events(&mut self.clips.ears) {
            if let Heard::RoomEnded { reason } = heard {
                // Told when it has ended.
                self.unheard = Some(reason);
                events.push(Event::Verb(Verb::Stop));
                continue;
            }
            watch(News::Notice(heard.notice()));
            events.push(match heard {
                Heard::RoomEnded { .. } => continue,
                // The room does not care.
                Heard::EarLost { .. } | Heard::EarBack { .. } => continue,
                Heard::RoomLost { .. } => {
                    self.lost_since.get_or_insert_with(Instant::now);
                    Event::DeviceLost
                }
                Heard::RoomBack { .. } => {
                    self.clips.asleep();
                    let away = self
                        .lost_since
                        .take()
                        .map_or(0, |at| at.elapsed().as_millis());
                    Event::DeviceBack {
                        away: Millis::from_ms(i64::try_from(away).unwrap_or(i64::MAX)),
                    }
                }
            });
        }
    }

    fn event_of(
        &mut self,
        made: Made,
        act: &mut Act,
        watch: &mut dyn FnMut(News),
    ) -> Option<Event> {
        match made {
            Made::All => Some(Event::AllPlanned),
            Made::FirstLine(sound, clip, aloud) => {
                let id = clip.id;
                if aloud {
                    self.clips.keep_aloud(id, &sound);
                }
                self.clips.keep(clip);
                Some(Event::FirstLine { id, sound })
            }
            Made::Notices(notices) => {
                for notice in notices {
                    watch(News::Notice(notice));
                }
                None
            }
            Made::Whispers(whispers) => {
                self.clips.whispers.add(whispers);
                None
            }
            Made::Stretch(compiled) => {
                let mut sounds = Vec::with_capacity(compiled.sounds.len());
                for (sound, clip) in compiled.sounds {
                    if compiled.aloud.contains(&clip.id) {
                        self.clips.keep_aloud(clip.id, &sound);
                    }
                    sounds.push((clip.id, sound));
                    self.clips.keep(clip);
                }
                act.timeline = Some(compiled.timeline.clone());
                Some(Event::Planned {
                    sounds,
                    timeline: compiled.timeline,
                    begins: compiled.begins,
                })
            }
        }
    }

    /// Starts to make the class from a work on, as the files are now; from the rest before it, or with the
    /// work itself.
    fn plan_from(&mut self, work: usize, itself: bool, act: &Act) {
        let change = self.change.take().or_else(|| {
            // A plan for a change that was not played yet is planned again.
            self.next.as_mut().and_then(|next| next.change.take())
        });
        let session = change.as_ref().map_or(&act.session, |c| &c.session);
        let works = act.timeline.as_ref().map_or(&[][..], |t| &t.works);
        let from = match Landmark::of(&act.session, works, work) {
            Some(landmark) if change.is_some() => landmark.find(session),
            Some(_) => work,
            // After the last work as it was there may be more now.
            None => {
                let last = Landmark::of(&act.session, works, works.len().saturating_sub(1));
                last.map_or(0, |last| last.find(session) + 1)
            }
        };
        self.recipe = Recipe {
            session: Arc::clone(session),
            from: Some(StartAt { work: from, itself }),
            speed: self.wishes.speed,
            talk: self.wishes.talk,
            first_id: self.recipe.first_id + IDS,
            ..self.recipe.clone()
        };
        let mut next = Act::new(maker::start(self.recipe.clone()), Arc::clone(session));
        next.change = change;
        self.next = Some(next);
    }

    /// Takes the act that was made beside the one that plays; the clock waits until its first stretch is
    /// there.
    fn next_act(&mut self) -> Option<Act> {
        let mut next = self.next.take()?;
        self.clips.drop_all();
        next.first = next.made.recv_timeout(TO_TAKE).ok();
        if next.first.is_none() {
            self.clips.tell(Command::Hold);
        }
        Some(next)
    }

    fn carry_out(&mut self, effect: Effect, core: &Core, watch: &mut dyn FnMut(News)) {
        match effect {
            Effect::Play => self.clips.play(),
            Effect::Hush => self.clips.hush(),
            Effect::Hold => self.clips.tell(Command::Hold),
            Effect::Jump(to) => self.clips.jump(to),
            Effect::Feed { id, onset } => self.clips.feed(id, onset, core.sound(id)),
            Effect::Withdraw(id) => self.clips.withdraw(id),
            Effect::Swap { id, onset } => self.clips.swap(id, onset),
            Effect::Say(message) => {
                watch(News::Said(message));
                self.clips.say_message(message);
            }
            Effect::SayText(text) => self.clips.say(&Utterance::new(text)),
            Effect::SayAgain(id) => {
                if let Some(sound) = core.sound(id) {
                    self.clips.say(&Utterance {
                        text: sound.text.clone(),
                        rate: sound.rate,
                    });
                }
            }
            Effect::CountIn { tone } => self.clips.count_in(tone),
            Effect::Respeak(lines) => {
                let lines = self.clips.lines(core, &lines);
                let speaker = Arc::clone(&self.recipe.speaker);
                maker::respeak(speaker, lines, self.respoken.0.clone());
            }
            Effect::Volume(volume) => {
                self.wishes.volume_db = volume.db();
                self.clips.tell(Command::Volume(volume));
                watch(News::Wishes(self.wishes));
            }
            Effect::Speed(speed) => {
                self.wishes.speed = speed;
                watch(News::Wishes(self.wishes));
            }
            Effect::Talk(talk) => {
                self.wishes.talk = talk;
                watch(News::Wishes(self.wishes));
            }
            Effect::Show(state) => watch(News::State(state)),
            // The record sees it; the others end an act.
            Effect::Rate(_)
            | Effect::Easier
            | Effect::End
            | Effect::HandOver(_)
            | Effect::StartFrom(_)
            | Effect::PlanFrom(_) => {}
        }
    }

    fn tell_what_sounded(&self, done: &Finished, watch: &mut dyn FnMut(News)) {
        if let Some(heard) = self.clips.sounds.heard(done) {
            let what = Happening::Sounded(heard);
            watch(News::Heard(&what, self.clips.ears.status().device));
        }
    }

    /// Tells what became of the music and of the volume.
    fn tell_what_moved(&mut self, watch: &mut dyn FnMut(News)) {
        while let Some(noted) = self.clips.ears.noted() {
            let what = Happening::moved(noted.what, noted.frame);
            watch(News::Heard(&what, self.clips.ears.status().device));
        }
        for news in self.music.iter().flat_map(Accompaniment::news) {
            match news {
                BedNews::Notice(notice) => watch(News::Notice(format!("music: {notice}"))),
                BedNews::Begun(music) => {
                    let what = Happening::Music(music);
                    watch(News::Heard(&what, self.clips.ears.status().device));
                }
            }
        }
    }

    /// Fades out, lets the last of it be heard, and closes the loudspeaker.
    ///
    /// Returns why nobody heard it any more, if that is how it ended.
    pub fn close(mut self, watch: &mut dyn FnMut(News)) -> Option<String> {
        self.clips.tell(Command::Stop);
        let mut turns = 0;
        while !self.clips.ears.status().settled && turns < 50 {
            thread::sleep(TICK);
            turns += 1;
        }
        while let Some(done) = self.clips.ears.finished() {
            self.tell_what_sounded(&done, watch);
        }
        self.tell_what_moved(watch);
        thread::sleep(ON_ITS_WAY);
        self.recipe.speaker.forget();
        self.loudspeakers.close();
        self.unheard
    }
}

/// What a message is said with, made ready before it is needed; what is not ready in time stays unsaid.
pub(super) fn message_texts(recipe: &Recipe, keys: &str) -> Vec<(Message, Utterance)> {
    let text = |message: Message| match message.wording() {
        Some(id) => recipe.wording().say(id, &[]),
        None => keys.to_owned(),
    };
    let all: Vec<_> = Message::ALL
        .into_iter()
        .map(|m| (m, Utterance::new(text(m))))
        .collect();
    let texts: Vec<_> = all.iter().map(|(_, u)| u.clone()).collect();
    recipe.speaker.prefetch(&texts);
    all
}

/// The silence in frames that a loudspeaker needs to wake.
pub(super) fn silence(wake: Millis) -> FrameAt {
    FrameAt::new(wake.frames(SampleRate::OUTPUT).count())
}
