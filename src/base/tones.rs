//! How the tones sound: the noun that sessions, the configuration and the mixer share.

/// How the tones sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Tones {
    /// For a room with people in it, and for ears that hear high sounds badly.
    #[default]
    Clear,
    /// For a quiet room: fainter, and without an edge.
    Soft,
}

impl Tones {
    /// The words for them.
    pub const WORDS: [(&'static str, Tones); 2] = [("soft", Tones::Soft), ("clear", Tones::Clear)];

    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Tones::Clear => "clear",
            Tones::Soft => "soft",
        }
    }
}
