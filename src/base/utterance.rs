//! What is to be said, how fast and how clearly: the nouns that planning and sound share.

/// How fast a text is spoken, in thousandths of the voice's normal rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Rate(u16);

impl Rate {
    /// The voice's own rate.
    pub const NORMAL: Rate = Rate(1000);

    /// Makes a rate from thousandths of the normal one; held between half and twice of it,
    /// beyond which no engine is intelligible.
    pub const fn from_per_mille(per_mille: u16) -> Self {
        match per_mille {
            0..500 => Rate(500),
            2001.. => Rate(2000),
            other => Rate(other),
        }
    }

    /// Returns the rate at another speed, both in thousandths of what a plan says.
    pub fn at_speed(self, from: u16, to: u16) -> Self {
        let rate = u32::from(self.0) * u32::from(to) / u32::from(from.max(1));
        Rate::from_per_mille(u16::try_from(rate).unwrap_or(u16::MAX))
    }

    /// Returns the thousandths of the normal rate.
    pub const fn per_mille(self) -> u16 {
        self.0
    }

    /// Returns the rate as a factor; 1.0 is normal.
    pub fn factor(self) -> f32 {
        f32::from(self.0) / 1000.0
    }
}

/// How far speech is shaped to cut through noise, at the same loudness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Clarity {
    /// Not at all.
    #[default]
    Plain,
    /// For a room with people in it.
    Room,
    /// For music and machines.
    Gym,
}

impl Clarity {
    /// The words for them, from the least.
    pub const WORDS: [(&'static str, Clarity); 3] = [
        ("plain", Clarity::Plain),
        ("room", Clarity::Room),
        ("gym", Clarity::Gym),
    ];

    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        let found = Self::WORDS.iter().find(|(_, clarity)| *clarity == self);
        found.map_or("", |(word, _)| word)
    }
}

/// A text and the rate at which it is spoken.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Utterance {
    pub text: String,
    pub rate: Rate,
}

impl Utterance {
    /// Makes an utterance at the normal rate.
    pub fn new(text: impl Into<String>) -> Self {
        Utterance {
            text: text.into(),
            rate: Rate::NORMAL,
        }
    }
}
