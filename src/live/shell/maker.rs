//! Makes a class on threads of its own: stretch by stretch, and lines again at another speed.

use super::whispers::Heard;
use super::whispers::Whisper;
use super::whispers::Whisperer;
use crate::base::tones::Tones;
use crate::base::units::Millis;
use crate::base::utterance::Utterance;
use crate::base::wording::Wording;
use crate::compile::Compiled;
use crate::compile::Compiler;
use crate::compile::settings_in;
use crate::planning::asides::Asides;
use crate::planning::plan::Settings;
use crate::planning::plan::Sound;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::planning::timeline::timeline;
use crate::sound::mix::Clip;
use crate::sound::speech::Speaker;
use crate::sound::speech::Take;
use std::sync::Arc;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::Sender;
use std::sync::mpsc::SyncSender;
use std::thread;

/// What is to be made.
#[derive(Clone)]
pub struct Recipe {
    pub session: Arc<Session>,
    pub speaker: Arc<Speaker>,
    pub caution: CautionLength,
    /// The key that ends a wait, as one says it.
    pub key: Option<String>,
    /// Where to go on; none for the whole.
    pub from: Option<StartAt>,
    /// Per mille of the plan's rate.
    pub speed: u16,
    /// Steps more than the session asks for, or less.
    pub talk: i8,
    /// The tones where the session asks for none.
    pub tones: Tones,
    /// The ids of clips begin here.
    pub first_id: u64,
    /// Whether asides are made for an ear.
    pub whispers: bool,
}

impl Recipe {
    /// Returns how the tones sound.
    pub fn tones(&self) -> Tones {
        self.session.text.tones.unwrap_or(self.tones)
    }

    /// Returns what the program says in the language of the session.
    pub fn wording(&self) -> &'static Wording {
        Wording::of(self.session.text.language)
    }
}

/// Where a class goes on: a work, and whether with itself or with the rest before it.
#[derive(Clone, Copy)]
pub struct StartAt {
    pub work: usize,
    pub itself: bool,
}

/// What has been made.
#[derive(Debug)]
pub enum Made {
    /// With whether the clip is silence for a line of the system's voice.
    FirstLine(Sound, Clip, bool),
    Stretch(Compiled),
    All,
    /// What only the ear hears, after the stretch with which it was known.
    Whispers(Vec<Whisper>),
    Notices(Vec<String>),
}

/// A line that was spoken again.
pub struct Respoken {
    pub id: u64,
    pub utterance: Utterance,
    pub take: Take,
}

impl Respoken {
    /// Returns how long it is heard.
    pub fn lasts(&self) -> Millis {
        self.take.length()
    }
}

/// Starts to make a class. The maker waits with each piece until it is asked for, and ends when nobody
/// can ask any more.
pub fn start(recipe: Recipe) -> Receiver<Made> {
    let (to, made) = mpsc::sync_channel(0);
    thread::spawn(move || make(&recipe, &to));
    made
}

/// Speaks lines again, in order.
pub fn respeak(speaker: Arc<Speaker>, lines: Vec<(u64, Utterance)>, to: Sender<Respoken>) {
    thread::spawn(move || {
        for (id, utterance) in lines {
            // What cannot be spoken so stays as it was.
            let Ok(take) = speaker.line(&utterance) else {
                continue;
            };
            let respoken = Respoken {
                id,
                utterance,
                take,
            };
            if to.send(respoken).is_err() {
                return;
            }
        }
    });
}

fn make(recipe: &Recipe, to: &SyncSender<Made>) {
    let Recipe {
        session, speaker, ..
    } = recipe;
    let wording = recipe.wording();
    let settings = Settings {
        key: recipe.key.clone(),
        ..settings_in(wording, speaker.name(), recipe.caution)
    };
    let mut compiler =
        Compiler::new(session, wording, speaker, settings).with_tones(recipe.tones());
    compiler.number_from(recipe.first_id);
    compiler.speak_at(recipe.speed);
    compiler.talk(recipe.talk);
    if let Some(from) = recipe.from {
        compiler.go_to_work(from.work, from.itself);
    } else if let Some((sound, clip)) = compiler.first_line()
        && let aloud = !compiler.aloud().is_empty()
        && to.send(Made::FirstLine(sound, clip, aloud)).is_err()
    {
        return;
    }
    let mut whisperer = recipe.whispers.then(|| {
        let laid_out = timeline(session, &[]);
        let asides = Asides::new(session, &laid_out, wording);
        Whisperer::new(asides, laid_out, speaker, recipe.speed)
    });
    while let Some(compiled) = compiler.next_stretch() {
        let mut notices: Vec<_> = speaker.notices().into_iter().map(|n| n.message).collect();
        notices.extend(compiler.unspoken());
        if !notices.is_empty() && to.send(Made::Notices(notices)).is_err() {
            return;
        }
        // What is needed sooner is made first.
        let mut whispers = Vec::new();
        let heard = whisperer.as_ref().map(|_| Heard::of(&compiled));
        if to.send(Made::Stretch(compiled)).is_err() {
            return;
        }
        if let (Some(whisperer), Some(heard)) = (&mut whisperer, heard) {
            whispers = whisperer.take_in(heard);
        }
        if !whispers.is_empty() && to.send(Made::Whispers(whispers)).is_err() {
            return;
        }
        compiler.let_go();
    }
    if let Some(whisperer) = whisperer {
        let last = whisperer.finish();
        if !last.is_empty() && to.send(Made::Whispers(last)).is_err() {
            return;
        }
    }
    // Nobody may be listening any more.
    let _ = to.send(Made::All);
}
