//! A rehearsal that runs: carries out what [`Practice`] decides, and listens to the coach.
#![expect(
    clippy::disallowed_methods,
    reason = "the shell reads clocks and waits"
)]

mod booth;
mod files;
mod listening;

use crate::base::units::Db;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::live::config::Outputs;
use crate::live::control::Inputs;
use crate::live::control::Verb;
use crate::live::ears;
use crate::live::ears::Ears;
use crate::live::ears::Heard as Told;
use crate::live::ears::Loudspeakers;
use crate::rehearse::practice::Effect;
use crate::rehearse::practice::Event;
use crate::rehearse::practice::Help;
use crate::rehearse::practice::Pass;
use crate::rehearse::practice::Practice;
use crate::rehearse::practice::Wish;
use crate::rehearse::report::Heard;
use crate::sound::mix::Clear;
use crate::sound::mix::Command;
use crate::sound::mix::Desk;
use crate::sound::mix::desk_and_mixer;
use crate::sound::out;
use crate::sound::out::DeviceError;
use booth::Answer;
pub use booth::Booth;
pub use files::Kepts;
pub use files::edit;
pub use listening::Listening;
use std::thread;
use std::time::Duration;

/// How often the clock is read. Nothing is timed by it: sounds stand on frames.
const TICK: Duration = Duration::from_millis(20);
/// What was rendered last is this long on its way to the ear, with a buffer of 960 frames.
const ON_ITS_WAY: Duration = Duration::from_millis(200);
/// A step of the volume, and its bounds, in dB: as in a class.
const STEP_DB: f32 = 3.0;
const QUIETEST_DB: f32 = -24.0;
/// Clips of two passages under way: a counted work of half an hour has one a second.
const CAPACITY: usize = 4096;

/// What the shell tells whoever watches.
pub enum News<'a> {
    /// A pass has begun.
    Began(Pass),
    /// The clock of the rehearsal.
    Clock(crate::base::units::At, Pass),
    Help(Help),
    Loop(bool),
    Where(usize),
    Keys,
    Paused,
    /// Something that the coach should know.
    Notice(&'a str),
}

/// Runs a rehearsal through the loudspeaker until it ends; returns what was heard of the coach.
///
/// # Errors
///
/// [`DeviceError`] where there is no loudspeaker.
pub fn run(
    booth: Booth,
    (from, help): (usize, Help),
    (out, outputs): (out::Options, &Outputs),
    inputs: &Inputs,
    watch: &mut dyn FnMut(News),
) -> Result<Vec<Heard>, DeviceError> {
    let room = desk_and_mixer(SampleRate::OUTPUT, ears::channels(outputs), CAPACITY);
    // A prompt is in time for its line: here the ear is not ahead.
    let (mut ears, loudspeakers) = ears::open(room, outputs, Some(Millis::ZERO), CAPACITY, out)?;
    for text in loudspeakers.found(&mut ears) {
        watch(News::Notice(&text));
    }
    let (mut practice, effects) = Practice::new(&booth.score, from, help);
    let mut stage = Stage {
        booth,
        ears,
        loudspeakers,
        volume: 0.0,
    };
    let mut over = stage.carry_out(effects, watch);
    while !over {
        let mut events = Vec::new();
        if let Some(told) = inputs.next(TICK) {
            events.extend(wish(&told.verb).map(Event::Told));
        }
        for told in stage.loudspeakers.events(&mut stage.ears) {
            watch(News::Notice(&told.notice()));
            match told {
                Told::RoomLost { .. } => events.push(Event::Told(Wish::Pause)),
                Told::RoomEnded { .. } => events.push(Event::Told(Wish::End)),
                Told::RoomBack { .. } | Told::EarLost { .. } | Told::EarBack { .. } => {}
            }
        }
        while stage.ears.finished().is_some() {}
        stage.ears.keep_together();
        let status = stage.ears.status();
        let at = status.position.at(SampleRate::OUTPUT);
        if status.settled {
            stage.booth.listen(at, watch);
            events.insert(0, Event::Clock(at));
        }
        for event in events {
            let effects = practice.step(event);
            over |= stage.carry_out(effects, watch);
        }
        if status.settled {
            watch(News::Clock(at, practice.pass()));
        }
    }
    Ok(stage.close(watch))
}

/// What a verb of a class means here.
fn wish(verb: &Verb) -> Option<Wish> {
    Some(match verb {
        Verb::Pause => Wish::Pause,
        Verb::Resume => Wish::GoOn,
        Verb::PauseOrResume => Wish::PauseOrGoOn,
        Verb::Skip | Verb::Next => Wish::Next,
        Verb::Back | Verb::Previous => Wish::Back,
        Verb::Repeat => Wish::Loop,
        Verb::Explain => Wish::Hear,
        Verb::TalkMore => Wish::MoreHelp,
        Verb::TalkLess => Wish::LessHelp,
        Verb::Where => Wish::Where,
        Verb::Louder => Wish::Louder,
        Verb::Quieter => Wish::Quieter,
        Verb::Help => Wish::Keys,
        Verb::Stop => Wish::End,
        Verb::Start(_) | Verb::Easier | Verb::SpeechFaster | Verb::SpeechSlower | Verb::Rate(_) => {
            return None;
        }
    })
}

struct Stage {
    booth: Booth,
    ears: Ears,
    loudspeakers: Loudspeakers,
    volume: f32,
}

impl Stage {
    /// Carries effects out; returns whether it is over.
    fn carry_out(&mut self, effects: Vec<Effect>, watch: &mut dyn FnMut(News)) -> bool {
        for effect in effects {
            match effect {
                Effect::Begin(pass) => {
                    let at = self.booth.score.begins(pass.passage);
                    let frame = SampleRate::OUTPUT.frame_at(at);
                    self.booth.goes_elsewhere();
                    self.tell(Command::Jump(frame));
                    self.feed(pass, frame);
                    self.tell(Command::Play);
                }
                Effect::Instead(pass, at) => {
                    // What is about to sound stays: a number or a tone must not be lost.
                    let from = at + Millis::from_ms(300);
                    let frame = SampleRate::OUTPUT.frame_at(from);
                    self.tell(Command::Clear(Clear::From(frame)));
                    self.booth.forget_fed_from(frame);
                    self.feed(pass, frame);
                }
                Effect::Follow(pass) => {
                    let at = self.booth.score.begins(pass.passage);
                    self.feed(pass, SampleRate::OUTPUT.frame_at(at));
                }
                Effect::Began(pass) => {
                    self.booth.began(pass, watch);
                    watch(News::Began(pass));
                }
                Effect::Changed(pass) => self.booth.changed(pass),
                Effect::Hold => {
                    self.booth.held();
                    self.tell(Command::Hold);
                    watch(News::Paused);
                }
                Effect::Louder => self.volume(STEP_DB),
                Effect::Quieter => self.volume(-STEP_DB),
                Effect::Help(help) => {
                    self.answer(Answer::Help(help));
                    watch(News::Help(help));
                }
                Effect::Loop(on) => {
                    self.answer(Answer::Loop(on));
                    watch(News::Loop(on));
                }
                Effect::Where(passage) => {
                    self.answer(Answer::Where(passage));
                    watch(News::Where(passage));
                }
                Effect::Keys => watch(News::Keys),
                Effect::End => return true,
            }
        }
        false
    }

    /// Hands over what a pass sounds from an instant on, each sound once.
    fn feed(&mut self, pass: Pass, from: FrameAt) {
        let whispers = self.ears.ear_hears();
        for (prompts, clip) in self.booth.clips(pass, from, whispers) {
            if prompts && whispers {
                self.ears.feed_ear(clip);
            } else if self.ears.feed(clip).is_err() {
                tracing::warn!("no room for a sound");
            }
        }
    }

    /// Speaks over what sounds: who practises does not look at a screen.
    fn answer(&mut self, answer: Answer) {
        self.tell(Command::Hush);
        if let Some(clip) = self.booth.answer(answer)
            && self.ears.speak_over(clip).is_err()
        {
            tracing::warn!("no room for an answer");
        }
    }

    fn volume(&mut self, step: f32) {
        self.volume = (self.volume + step).clamp(QUIETEST_DB, Desk::LOUDEST.db());
        self.tell(Command::Volume(Db::new(self.volume)));
    }

    fn tell(&mut self, command: Command) {
        if self.ears.tell(command).is_err() {
            tracing::error!(?command, "the mixer does not take commands");
        }
    }

    /// Fades out, closes, and hands over what was heard.
    fn close(mut self, watch: &mut dyn FnMut(News)) -> Vec<Heard> {
        self.tell(Command::Stop);
        let mut turns = 0;
        while !self.ears.status().settled && turns < 50 {
            thread::sleep(TICK);
            turns += 1;
        }
        thread::sleep(ON_ITS_WAY);
        self.loudspeakers.close();
        self.booth.heard(watch)
    }
}
