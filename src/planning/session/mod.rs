//! A session and its movements, as written: TOML text -> validated [`Session`] and [`Movement`].
//!
//! Every value here holds what it promises; what could not be read is a diagnostic instead.

mod block;
mod dates;
mod duration;
mod lasting;
mod movement;
mod read_movement;
mod read_session;
mod read_times;
mod read_translation;
mod resolve;
mod text;
mod uses;

pub use crate::base::wording::capitalised;
pub use block::Block;
pub use block::FirstSide;
pub use block::Lasts;
pub use block::Part;
pub use block::PerRound;
pub use block::SideChoice;
pub use block::Use;
pub use dates::Dates;
pub use dates::Ends;
pub use dates::Repeats;
pub use lasting::NOMINAL_OPEN;
pub use lasting::Repetitions;
pub use lasting::WorkTime;
pub use movement::Cue;
pub use movement::CueKind;
pub use movement::Demands;
pub use movement::Equipment;
pub use movement::Limb;
pub use movement::Movement;
pub use movement::Pattern;
pub use movement::Phase;
pub use movement::Posture;
pub use movement::Sides;
pub use movement::Tempo;
pub use movement::When;
pub use read_movement::read_movement;
pub use read_session::language;
pub use read_session::read_session;
pub use read_translation::read_translation;
pub use resolve::Library;
pub use resolve::faults_of_uses;
pub use resolve::is_id;
pub use resolve::resolve;
pub use text::Said;
pub use text::Side;
pub use text::SideWords;
pub use text::Template;
pub use uses::language_found;
pub use uses::uses_found;

use crate::base::diagnostic::Located;
use crate::base::diagnostic::Place;
use crate::base::music::Music;
use crate::base::music::Wish;
use crate::base::tones::Tones;
use crate::base::units::Millis;
use crate::base::utterance::Clarity;
use crate::base::wording::Language;
use crate::base::wording::Noun;
use std::sync::Arc;

/// How much is said around the counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Talk {
    Quiet,
    #[default]
    Normal,
    Full,
}

impl Talk {
    /// Returns how much is said with so many steps more, or less.
    pub fn more(self, steps: i8) -> Self {
        let all = [Talk::Quiet, Talk::Normal, Talk::Full];
        let at = all.iter().position(|talk| *talk == self).unwrap_or(1) as i8;
        all[at.saturating_add(steps).clamp(0, 2) as usize]
    }
}

/// One thing the listener should have ready before the session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ready {
    /// Where the item, its `say` and its `place` were written.
    pub item_at: Place,
    pub say_at: Option<Place>,
    pub place_at: Option<Place>,
    /// The item as movements call it.
    pub item: String,
    /// The item with its article and where it stands, as the opening says it.
    pub say: Option<String>,
    /// Where it is put down and taken up: a noun phrase such as "the bench's right end".
    pub place: Option<String>,
}

/// Where the texts of a session were written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TextPlaces {
    pub title: Place,
    pub opening: Option<Place>,
    pub closing: Option<Place>,
    pub caution: Option<Place>,
}

/// A session as written, not yet joined with its movements.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionText {
    pub place: Place,
    pub title: String,
    pub opening: Option<String>,
    pub closing: Option<String>,
    pub caution: Option<String>,
    pub text_places: TextPlaces,
    /// The effort aimed at, 1 to 10 (the CR10 scale's range without rest).
    pub effort: Option<u8>,
    pub talk: Talk,
    /// How clearly it is spoken; none leaves it to the listener.
    pub clarity: Option<Clarity>,
    pub tones: Option<Tones>,
    pub by_ear: bool,
    /// Whether the session waits for the listener after its opening.
    pub begin_by_key: bool,
    pub lead_in: Option<Millis>,
    pub finish: Option<Millis>,
    /// Where the lead-in and the finish are written.
    pub lead_in_at: Option<Place>,
    pub finish_at: Option<Place>,
    pub voice: Option<Located<String>>,
    /// What its texts are in, and what the program speaks while it runs.
    pub language: Language,
    /// What its own texts are written in: another one only where it was asked for in a language.
    pub written_in: Language,
    /// What it says of music, for all blocks.
    pub music: Option<Wish>,
    /// When it takes place.
    pub dates: Option<Dates>,
    pub ready: Vec<Ready>,
    pub blocks: Vec<Block>,
}

impl SessionText {
    /// Returns the music of a block, or of what lies outside the blocks; `outside` is what the configuration
    /// says.
    pub fn music(&self, block: Option<usize>, outside: Option<&Wish>) -> Option<Music> {
        let block = block.and_then(|block| self.blocks.get(block));
        let within = block.and_then(|block| block.music.as_ref());
        Music::of([outside, self.music.as_ref(), within])
    }
}

/// A session with all that it needs: what is planned.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    pub text: SessionText,
    /// The movements used, each once, in the order of first use; a [`Use`] is joined to them by
    /// [`Session::movement`].
    pub movements: Vec<Arc<Movement>>,
}

impl Session {
    /// Returns what a thing is called, as the first movement that needs it calls it.
    pub fn noun(&self, item: &str) -> Noun {
        let mut all = self.movements.iter().flat_map(|m| &m.equipment);
        let known = all.find(|known| known.item == item);
        known.map_or_else(|| Noun::plain(item), |known| known.noun.clone())
    }

    /// Returns the movement of a use.
    ///
    /// # Panics
    ///
    /// If the use is not one of this session's: [`resolve`] lets none through.
    pub fn movement(&self, of: &Use) -> &Arc<Movement> {
        self.movements
            .iter()
            .find(|m| m.id == of.movement.value)
            .expect("resolve keeps every movement that is used")
    }
}
