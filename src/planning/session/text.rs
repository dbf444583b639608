//! Texts that may speak of a side.

use super::Limb;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::short;
use crate::base::wording::Language;
use crate::base::wording::Wording;
use crate::base::wording::capitalised;

/// A side of the listener's own body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    Right,
    Left,
}

impl Side {
    /// Returns the opposite side.
    pub const fn other(self) -> Side {
        match self {
            Side::Right => Side::Left,
            Side::Left => Side::Right,
        }
    }

    /// Returns the side's name in files and contracts.
    pub const fn id(self) -> &'static str {
        match self {
            Side::Right => "right",
            Side::Left => "left",
        }
    }
}

/// The words for the sides in the language spoken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SideWords {
    pub right: String,
    pub left: String,
}

impl SideWords {
    /// Returns the words of a language for the sides of a limb.
    pub fn of_limb(wording: &Wording, limb: Option<Limb>) -> Self {
        let limb = limb.and_then(Limb::named);
        Self {
            right: wording.side(Side::Right.id(), limb),
            left: wording.side(Side::Left.id(), limb),
        }
    }

    /// Returns the word for a side.
    pub fn of(&self, side: Side) -> &str {
        match side {
            Side::Right => &self.right,
            Side::Left => &self.left,
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Part {
    Words(String),
    Side,
    Other,
    /// One wording for the right, one for the left: `{rechte|linke}`.
    Either(String, String),
}

/// A text whose `{side}`, `{other}` and `{right|left}` are filled in when it is known which side
/// works.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Template {
    parts: Vec<Part>,
    place: Option<Place>,
}

/// The longest text that is taken, in characters: about six minutes of speech.
const LONGEST_TEXT: usize = 5000;

impl Template {
    /// Makes a text without placeholders.
    pub fn plain(words: &str) -> Self {
        Self {
            parts: vec![Part::Words(words.to_owned())],
            place: None,
        }
    }

    /// Reads a spoken text. White space is folded, so that a text may span lines.
    pub fn read(item: Item, sided: bool) -> Option<Self> {
        let text = spoken_text(item)?;
        let mut parts = Vec::new();
        let mut rest = text.as_str();
        let mut good = true;
        while let Some(open) = rest.find(['{', '}']) {
            let (words, from) = rest.split_at(open);
            parts.push(Part::Words(words.to_owned()));
            let close = from.find('}').filter(|_| from.starts_with('{'));
            let name = close.map(|close| &from[1..close]);
            match name {
                Some("side") => parts.push(Part::Side),
                Some("other") => parts.push(Part::Other),
                Some(name) if name.matches('|').count() == 1 => {
                    let (right, left) = name.split_once('|').unwrap_or_default();
                    parts.push(Part::Either(right.to_owned(), left.to_owned()));
                }
                _ => {
                    good = false;
                    let shown = name.map_or(from.chars().take(1).collect(), |n| {
                        format!("{{{}}}", short(n))
                    });
                    item.fault(
                        Code::PlaceholderUnknown,
                        format!("expected {{side}}, {{other}} or {{right|left}} in braces, found {shown}"),
                        "texts take {side}, {other}, and a word for each side such as {right|left}",
                    );
                }
            }
            rest = close.map_or(&from[1..], |close| &from[close + 1..]);
        }
        parts.push(Part::Words(rest.to_owned()));
        parts.retain(|p| *p != Part::Words(String::new()));
        let template = Self {
            parts,
            place: Some(item.place),
        };
        if good && !sided && template.speaks_of_a_side() {
            good = false;
            item.fault(
                Code::PlaceholderNoSide,
                "expected no {side} or {other}: this has no side".to_owned(),
                "give the movement `sides = \"each\"`, or leave the side out of the text",
            );
        }
        good.then_some(template)
    }

    /// Returns where the text was written, if it was read from a file.
    pub fn place(&self) -> Option<Place> {
        self.place
    }

    /// Returns whether the text changes with the side.
    pub fn speaks_of_a_side(&self) -> bool {
        self.parts
            .iter()
            .any(|p| matches!(p, Part::Side | Part::Other | Part::Either(..)))
    }

    /// Returns the same text with the sides named in a language, whatever the words around it are
    /// in later.
    pub(super) fn bound_to(&self, language: Language, limb: Option<Limb>) -> Self {
        let names = SideWords::of_limb(Wording::of(language), limb);
        let (right, left) = (names.right, names.left);
        let bound = self.parts.iter().map(|part| match part {
            Part::Side => Part::Either(right.clone(), left.clone()),
            Part::Other => Part::Either(left.clone(), right.clone()),
            other => other.clone(),
        });
        Self {
            parts: bound.collect(),
            place: self.place,
        }
    }

    /// Fills in the side. Where no side works, a text that speaks of one speaks of the right:
    /// readers let no such text through.
    pub fn words(&self, side: Option<Side>, names: &SideWords) -> String {
        let side = side.unwrap_or(Side::Right);
        self.parts
            .iter()
            .map(|part| match part {
                Part::Words(words) => words.as_str(),
                Part::Side => names.of(side),
                Part::Other => names.of(side.other()),
                Part::Either(right, left) => match side {
                    Side::Right => right,
                    Side::Left => left,
                },
            })
            .collect()
    }
}

/// Reads a text that will be spoken: not empty, not endless, no control characters, white
/// space folded.
pub fn spoken_text(item: Item) -> Option<String> {
    let text = item.text()?.value;
    let folded = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let length = folded.chars().count();
    if !folded.chars().any(char::is_alphanumeric) {
        item.fault(
            Code::TextEmpty,
            "expected words to speak, found none".to_owned(),
            "write what is to be said, or leave the key out",
        );
        return None;
    }
    if length > LONGEST_TEXT {
        item.fault(
            Code::TextTooLong,
            format!("expected at most {LONGEST_TEXT} characters, found {length}"),
            "what is said in a session is a sentence or two",
        );
        return None;
    }
    let control = |c: &char| c.is_control() || turns(*c);
    if let Some(control) = folded.chars().find(control) {
        let what = match turns(control) {
            true => "mark that turns the direction of writing,",
            false => "control character",
        };
        item.fault(
            Code::TextControl,
            format!(
                "expected words, found the {what} U+{:04X}",
                u32::from(control)
            ),
            "take it out: it cannot be spoken",
        );
        return None;
    }
    if !folded.chars().any(is_sayable) {
        let message = format!(
            "no voice has sounds for \"{}\": it is silence",
            short(&folded)
        );
        let silent = Diagnostic::warning(Code::TextEmpty, item.place, message);
        item.push(silent.help("write it in Latin letters as well, as it sounds"));
    }
    Some(folded)
}

/// Whether a voice may have a sound for it: the Latin letters and digits, full width as well.
fn is_sayable(c: char) -> bool {
    c.is_alphanumeric() && (c < '\u{250}' || ('\u{ff10}'..='\u{ff5a}').contains(&c))
}

/// The explicit marks of the Unicode bidirectional algorithm (UAX 9, table 4): with them a text is read
/// otherwise than it is spoken.
fn turns(c: char) -> bool {
    matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A text in a full wording and, if there is one, a brief one; each may differ by side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// Where the full wording was written.
    pub place: Place,
    full: ForSides,
    brief: Option<ForSides>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum ForSides {
    Same(Template),
    Each { right: Template, left: Template },
}

impl ForSides {
    /// The texts with the side for which each is said.
    fn each(&self) -> Vec<(Side, &Template)> {
        match self {
            ForSides::Same(same) => vec![(Side::Right, same)],
            ForSides::Each { right, left } => vec![(Side::Right, right), (Side::Left, left)],
        }
    }

    fn bound_to(&self, language: Language, limb: Option<Limb>) -> Self {
        match self {
            ForSides::Same(same) => ForSides::Same(same.bound_to(language, limb)),
            ForSides::Each { right, left } => ForSides::Each {
                right: right.bound_to(language, limb),
                left: left.bound_to(language, limb),
            },
        }
    }

    fn words(&self, side: Option<Side>, names: &SideWords) -> String {
        let template = match (self, side) {
            (ForSides::Same(same), _) => same,
            (ForSides::Each { left, .. }, Some(Side::Left)) => left,
            (ForSides::Each { right, .. }, _) => right,
        };
        capitalised(&template.words(side, names))
    }
}

/// The texts of one wording as found in a file: for both sides, or for each.
pub(super) struct Written<'a> {
    pub both: Option<Item<'a>>,
    pub right: Option<Item<'a>>,
    pub left: Option<Item<'a>>,
}

impl Written<'_> {
    fn is_empty(&self) -> bool {
        self.both.is_none() && self.right.is_none() && self.left.is_none()
    }

    fn read(&self, sided: bool, keys: [&str; 3]) -> Option<ForSides> {
        let [key, key_right, key_left] = keys;
        match (self.both, self.right, self.left) {
            (Some(both), None, None) => Template::read(both, sided).map(ForSides::Same),
            (None, Some(right), Some(left)) => {
                if !sided {
                    right.fault(
                        Code::PlaceholderNoSide,
                        format!("expected `{key}`, found `{key_right}`: this has no side"),
                        format!("write one `{key}`, or give the movement `sides = \"each\"`"),
                    );
                    return None;
                }
                let (right, left) = (Template::read(right, true), Template::read(left, true));
                Some(ForSides::Each {
                    right: right?,
                    left: left?,
                })
            }
            (both, right, left) => {
                let at = both.or(right).or(left)?;
                at.fault(
                    Code::SayIncomplete,
                    format!("expected either `{key}`, or both `{key_right}` and `{key_left}`"),
                    "say it once for both sides, or once for each",
                );
                None
            }
        }
    }
}

impl Said {
    /// Makes a text of full words alone.
    pub fn plain(place: Place, full: &str) -> Self {
        Self {
            place,
            full: ForSides::Same(Template::plain(full)),
            brief: None,
        }
    }

    /// Reads the wordings of a text; `place` stands for it where it has no words of its own.
    pub(super) fn read(place: Place, full: &Written, brief: &Written, sided: bool) -> Option<Self> {
        let place = full
            .both
            .or(full.right)
            .or(full.left)
            .map_or(place, |item| item.place);
        let full = full.read(sided, ["say", "say_right", "say_left"]);
        let brief = if brief.is_empty() {
            Some(None)
        } else {
            brief
                .read(sided, ["brief", "brief_right", "brief_left"])
                .map(Some)
        };
        Some(Self {
            place,
            full: full?,
            brief: brief?,
        })
    }

    /// Makes a text from its two wordings, the same for both sides.
    pub(super) fn same(place: Place, full: Template, brief: Option<Template>) -> Self {
        Self {
            place,
            full: ForSides::Same(full),
            brief: brief.map(ForSides::Same),
        }
    }

    /// Returns the same text with the sides named in a language.
    pub(super) fn bound_to(&self, language: Language, limb: Option<Limb>) -> Self {
        Self {
            place: self.place,
            full: self.full.bound_to(language, limb),
            brief: self.brief.as_ref().map(|b| b.bound_to(language, limb)),
        }
    }

    /// Takes the brief wording of another text.
    pub(super) fn with_brief_of(mut self, other: &Self) -> Self {
        self.brief.clone_from(&other.brief);
        self
    }

    /// Returns whether there is a brief wording.
    pub(super) fn has_brief(&self) -> bool {
        self.brief.is_some()
    }

    /// Returns the full wording for a side.
    pub fn full(&self, side: Option<Side>, names: &SideWords) -> String {
        self.full.words(side, names)
    }

    /// Returns the brief wording for a side, if there is one.
    pub fn brief(&self, side: Option<Side>, names: &SideWords) -> Option<String> {
        self.brief.as_ref().map(|b| b.words(side, names))
    }

    /// Returns all wordings as written: whether it is the brief one, a side for which it is
    /// said, and the text.
    pub fn wordings(&self) -> Vec<(bool, Side, &Template)> {
        let full = self.full.each().into_iter();
        let brief = self.brief.iter().flat_map(ForSides::each);
        full.map(|(side, text)| (false, side, text))
            .chain(brief.map(|(side, text)| (true, side, text)))
            .collect()
    }

    /// Returns whether a wording is given for each side or speaks of one.
    pub fn speaks_of_a_side(&self) -> bool {
        [Some(&self.full), self.brief.as_ref()]
            .into_iter()
            .flatten()
            .any(|text| match text {
                ForSides::Same(same) => same.speaks_of_a_side(),
                ForSides::Each { .. } => true,
            })
    }
}

/// Returns all of a list, if none of it is at fault. Unlike a `collect` into an `Option`, what
/// stands after a fault was read as well, so that its faults are told too.
pub(super) fn all<T>(read: Vec<Option<T>>) -> Option<Vec<T>> {
    read.into_iter().collect()
}

/// Reports a text with a placeholder that stands where no side is known.
pub(super) fn sideless(item: Item) -> Option<String> {
    let template = Template::read(item, false)?;
    let words = template.words(
        None,
        &SideWords {
            right: String::new(),
            left: String::new(),
        },
    );
    Some(words)
}

/// Makes the fault of a movement in which the same words stand twice.
pub(super) fn said_twice(place: Place, words: &str) -> Diagnostic {
    Diagnostic::error(
        Code::CueTwice,
        place,
        format!("expected each cue once, found \"{}\" again", short(words)),
    )
    .help("take one of the two out, or say something else in it")
}
