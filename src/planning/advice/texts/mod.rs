//! The lint, by ear, of the texts that are spoken: what a listener who sees nothing, or who is
//! out of breath, could not follow. Each rule is a function that reads one text or one movement.
//!
//! The rules are heuristics on English words and careful ones: a text that may be right passes, and
//! texts in another language are not looked at.

mod act;
mod alike;
mod breath;
mod gather;
mod harm;
mod lexicon;
mod looks;
mod names;
mod place;
mod plain;
mod pointing;
mod safety;
mod start;
mod words;

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Level;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::in_order;
use crate::base::wording::Language;
use crate::planning::session::CueKind;
use crate::planning::session::Movement;
use crate::planning::session::Session;
use crate::planning::session::When;
use words::Word;

/// What a text is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    /// The name of a movement or an item, the title of a session or block.
    Name,
    Start,
    How,
    /// How an item is held or taken up.
    Hands,
    Cue(CueKind, When),
    /// What a session says of itself.
    Frame,
    /// Where something is to be ready.
    Ready,
    Caution,
}

impl Role {
    /// Returns whether the text is heard while the listener works.
    fn in_work(self) -> bool {
        matches!(self, Role::Cue(_, When::During | When::Either))
    }

    /// Returns whether the text tells the listener what to do.
    fn orders(self) -> bool {
        matches!(
            self,
            Role::Start | Role::How | Role::Hands | Role::Cue(..) | Role::Frame
        )
    }
}

/// A text that is spoken, with the sides filled in.
#[derive(Debug, Clone)]
struct Text {
    role: Role,
    brief: bool,
    place: Place,
    words: Vec<Word>,
}

/// A rule on any text.
type OfText = fn(&Text) -> Option<Diagnostic>;
/// A rule on a text of a movement.
type OfCue = fn(&Text, &Movement) -> Option<Diagnostic>;
/// A rule on all texts of a movement together.
type OfWhole = fn(&Movement, &[Text]) -> Vec<Diagnostic>;

const TEXT_RULES: [OfText; 7] = [
    pointing::points,
    looks::by_looks_alone,
    place::vague,
    plain::abbreviation,
    harm::through_pain,
    harm::breath_held,
    harm::shaming,
];

const CUE_RULES: [OfCue; 5] = [
    act::more_than_one,
    act::too_many_words,
    act::bare_negative,
    harm::load_hurried,
    breath::reversed,
];

const MOVEMENT_RULES: [OfWhole; 7] = [
    names::too_long,
    start::start_missing,
    start::side_missing,
    safety::safety_missing,
    safety::space_unchecked,
    names::own_name_varies,
    names::own_items_vary,
];

/// What somebody who follows by ear alone cannot make up for: a warning where a session is
/// made for that.
const BY_EAR: [Code; 10] = [
    Code::PointingWord,
    Code::LooksOnly,
    Code::SideMissing,
    Code::PlaceVague,
    Code::StartMissing,
    Code::NameTwice,
    Code::NameVaries,
    Code::ItemVaries,
    Code::NamesAlike,
    Code::Abbreviation,
];

/// Returns what could be better in the texts of a movement; by ear, more of it is a warning.
pub fn of_movement(movement: &Movement, by_ear: bool) -> Vec<Diagnostic> {
    if movement.language != Language::English {
        return Vec::new();
    }
    let texts = gather::of_movement(movement);
    let mut found: Vec<_> = texts.iter().flat_map(of_text).collect();
    found.extend(texts.iter().flat_map(|text| of_cue(text, movement)));
    let wholes = MOVEMENT_RULES.iter();
    found.extend(wholes.flat_map(|rule| rule(movement, &texts)));
    finished(found, by_ear)
}

/// Returns what could be better in the texts of the session itself, and in the names of its
/// movements beside one another.
pub fn of_session(session: &Session) -> Vec<Diagnostic> {
    if session.text.language != Language::English {
        return Vec::new();
    }
    let by_ear = session.text.by_ear;
    let texts = gather::of_session(&session.text);
    let mut found: Vec<_> = texts.iter().flat_map(of_text).collect();
    for of in session.text.blocks.iter().flat_map(|block| &block.uses) {
        let movement = session.movement(of);
        for text in gather::of_use(of) {
            found.extend(of_text(&text));
            found.extend(of_cue(&text, movement));
        }
    }
    found.extend(place::ready_nowhere(session));
    found.extend(names::same_name(session));
    found.extend(names::items_vary(session));
    if by_ear {
        found.extend(alike::sound_alike(session));
    }
    finished(found, by_ear)
}

fn of_text(text: &Text) -> Vec<Diagnostic> {
    TEXT_RULES.iter().filter_map(|rule| rule(text)).collect()
}

fn of_cue(text: &Text, movement: &Movement) -> Vec<Diagnostic> {
    let rules = CUE_RULES.iter();
    rules.filter_map(|rule| rule(text, movement)).collect()
}

/// What could harm is a warning in any session.
const HARMFUL: [Code; 3] = [Code::ThroughPain, Code::BreathHeld, Code::LoadHurried];

fn finished(mut found: Vec<Diagnostic>, by_ear: bool) -> Vec<Diagnostic> {
    for told in &mut found {
        if HARMFUL.contains(&told.code) || (by_ear && BY_EAR.contains(&told.code)) {
            told.level = Level::Warning;
        }
    }
    in_order(found)
}

/// Makes a piece of advice; `place` is the text's.
fn advise(code: Code, place: Place, message: String, help: impl Into<String>) -> Diagnostic {
    Diagnostic::advice(code, place, message).help(help)
}
