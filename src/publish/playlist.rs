//! Files in the order in which they are to be played, as M3U in UTF-8.

use crate::base::units::Millis;
use std::fmt::Write;

/// A file of sound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Track {
    /// From the folder of the list, with `/` between names.
    pub path: String,
    pub title: String,
    /// None where it is not known.
    pub length: Option<Millis>,
}

/// Writes a list of files.
pub fn playlist(tracks: &[Track]) -> String {
    let mut out = String::from("#EXTM3U\n");
    for track in tracks {
        // Whole seconds, rounded; -1 for what is not known (common practice of players).
        let seconds = track.length.map_or(-1, |length| (length.ms() + 500) / 1000);
        let title = line(&track.title);
        // A name that begins as a remark does is none.
        let begins = if track.path.starts_with('#') {
            "./"
        } else {
            ""
        };
        // A write into a string cannot fail.
        let _ = writeln!(out, "#EXTINF:{seconds},{title}\n{begins}{}", track.path);
    }
    out
}

fn line(text: &str) -> String {
    let words = text
        .split_whitespace()
        .map(|word| word.replace(char::is_control, ""));
    words.collect::<Vec<_>>().join(" ")
}
