//! What several boundaries' tests share: the project's files, and voices that are a table.
#![expect(clippy::disallowed_methods, reason = "reads the files of the tests")]

use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Utterance;
use sidevoice::planning::plan::Durations;
use std::path::Path;

/// The folder of the project.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Reads a text file that a test stands on.
pub fn read_text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// A voice whose lengths come from a table: estimates are a little longer, as real ones are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Voice {
    /// 2.6 words a second, the rate of the written-out example session.
    Even,
    /// Between half and one and a half times that, by a hash of the text and this seed: no two
    /// lines alike, and the same on every run. Some are longer than their estimate.
    Uneven(u64),
}

impl Voice {
    fn length(self, utterance: &Utterance) -> Millis {
        let words = utterance.text.split_whitespace().count().max(1) as f64;
        let even = words / 2.6;
        let seconds = match self {
            Voice::Even => even,
            Voice::Uneven(seed) => even * (0.5 + share(&utterance.text, seed)),
        };
        let ms = seconds * 1000.0 / f64::from(utterance.rate.factor());
        // A count is heard for less than the second that it has.
        let most = if words > 1.0 { f64::MAX } else { 700.0 };
        Millis::from_ms(ms.clamp(150.0, most).round() as i64)
    }
}

impl Durations for Voice {
    fn estimate(&self, utterance: &Utterance) -> Millis {
        Millis::from_ms(Voice::Even.length(utterance).ms() * 11 / 10)
    }

    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        wanted.iter().map(|u| Some(self.length(u))).collect()
    }
}

/// Turns a text into a number from 0 to 1: FNV-1a, which has no state and no salt.
fn share(text: &str, seed: u64) -> f64 {
    let start = 0xcbf2_9ce4_8422_2325 ^ seed;
    let hash = text.bytes().fold(start, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    (hash >> 11) as f64 / (1u64 << 53) as f64
}
