//! Carries out what the core decides: threads, the mixer's desk, the loudspeaker, the screen.
#![expect(clippy::disallowed_methods, reason = "the shell has the threads")]

mod aloud;
mod clips;
mod maker;
mod music;
mod sounds;
mod stage;
mod whispers;

pub use sounds::Content;
pub use sounds::Sounds;

use super::config::Outputs;
use super::control::Inputs;
use super::core::Core;
use super::core::Message;
use super::core::State;
use super::core::Wishes;
use super::core::Words;
use super::ears;
use super::history::Happening;
use super::history::Step;
use crate::base::tones::Tones;
use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::wording::Wording;
use crate::compile::Beds;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::planning::timeline::Timeline;
use crate::sound::mix::CAPACITY;
use crate::sound::mix::Command;
use crate::sound::mix::desk_and_mixer;
use crate::sound::out;
use crate::sound::out::DeviceError;
use crate::sound::speech::Speaker;
use maker::Recipe;
use maker::StartAt;
use music::Accompaniment;
use stage::Act;
use stage::Stage;
use stage::Turn;
use std::sync::Arc;
use std::sync::mpsc::Receiver;

/// A class to be spoken.
pub struct Class {
    pub session: Arc<Session>,
    pub speaker: Arc<Speaker>,
    pub caution: CautionLength,
    /// The work to go on from, counted from 0; none for the whole.
    pub from: Option<usize>,
    pub wishes: Wishes,
    pub out: out::Options,
    /// How loud the room is, and whether there is an ear.
    pub outputs: Outputs,
    /// Silence before the first sound, for loudspeakers that wake slowly.
    pub wake: Millis,
    /// The tones where the session asks for none.
    pub tones: Tones,
    /// Whether somebody can tell the effort felt after the end.
    pub asks: bool,
    /// What is said when the keys are asked for.
    pub keys: String,
    /// The key that ends a wait, as one says it.
    pub key: Option<String>,
    /// Whether the sync tone is heard before it.
    pub sync_tone: bool,
    /// The music below it; none where it is not wanted, whatever the files say.
    pub beds: Option<Beds>,
}

/// A session as its files are now.
pub struct Change {
    pub session: Arc<Session>,
    /// The hash of its texts.
    pub hash: String,
}

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
    /// What there is to write down of how it sounded in the room; so many frames are rendered by now.
    Heard(&'a Happening, Frames),
    /// The class goes on as its files are now.
    Changed(&'a Change),
    /// What the listener wishes is another now.
    Wishes(Wishes),
    /// The device is gone or back; what could not be spoken; a fall-back of the voice.
    Notice(String),
}

/// Speaks a class through the loudspeaker until it ends or is stopped.
///
/// `inputs` is an end of what [`super::control::line`] made; what comes in by `changes` is planned from the
/// next stretch on; `watch` sees the news.
///
/// # Errors
///
/// [`DeviceError`] where there is no loudspeaker to begin with, or it is gone for good.
pub fn run(
    class: Class,
    inputs: &Inputs,
    changes: &Receiver<Change>,
    watch: &mut dyn FnMut(News),
) -> Result<(), DeviceError> {
    let channels = ears::channels(&class.outputs);
    let (desk, mut mixer) = desk_and_mixer(SampleRate::OUTPUT, channels, CAPACITY);
    let recipe = Recipe {
        session: Arc::clone(&class.session),
        speaker: Arc::clone(&class.speaker),
        caution: class.caution,
        tones: class.tones,
        key: class.key.clone(),
        from: class.from.map(|work| StartAt {
            work,
            itself: false,
        }),
        speed: class.wishes.speed,
        talk: class.wishes.talk,
        first_id: 0,
        whispers: class.outputs.ear.is_some(),
    };
    let beds = class.beds.clone();
    let music = beds.map(|beds| Accompaniment::lay(beds, &mut mixer));
    // The voice gets to work while the loudspeaker opens.
    let mut act = Act::new(maker::start(recipe.clone()), Arc::clone(&class.session));
    let (mut ears, loudspeakers) = ears::open(
        (desk, mixer),
        &class.outputs,
        None,
        CAPACITY,
        class.out.clone(),
    )?;
    for text in loudspeakers.found(&mut ears) {
        watch(News::Notice(text));
    }
    let mut stage = Stage::new(ears, loudspeakers, recipe, &class, music);
    let mut carried = None;
    loop {
        let session = Arc::clone(act.session());
        let words = Words::new(&session, Wording::of(session.text.language));
        let core = match carried.take() {
            Some(carried) => Core::after(words, carried),
            None => {
                let mut core = Core::new(words, class.wishes);
                if class.from.is_some() {
                    core = core.in_the_middle();
                }
                match class.asks {
                    true => core.asking(),
                    false => core,
                }
            }
        };
        match stage.play(core, &mut act, inputs, changes, watch) {
            Turn::Over => break,
            Turn::HandOver(next) => {
                let (from_core, next) = *next;
                carried = Some(from_core);
                act = next;
                if let Some(change) = act.change() {
                    watch(News::Changed(change));
                }
            }
        }
    }
    match stage.close(watch) {
        Some(reason) => Err(DeviceError::Pipe(reason)),
        None => Ok(()),
    }
}

impl Class {
    fn volume(&self) -> Command {
        Command::Volume(Db::new(self.wishes.volume_db))
    }
}
