//! Title and chapters as Vorbis comments, which FLAC and Opus share (Xiph.org, "Vorbis comment field and header";
//! chapters by the `CHAPTERxxx` convention of its wiki).

use crate::base::chapters::Contents;
use crate::base::units::At;

/// Who made the file; without a version, so that a new one writes the same bytes.
pub const VENDOR: &str = "sidevoice";

/// Returns the comments with their names. The list has no levels.
pub fn comments(contents: &Contents) -> Vec<(String, String)> {
    let mut all = Vec::new();
    if !contents.title.is_empty() {
        all.push(("TITLE".to_owned(), contents.title.clone()));
    }
    for (leaf, number) in contents.leaves().into_iter().zip(1..) {
        let name = format!("CHAPTER{number:03}");
        all.push((name.clone(), time(leaf.start)));
        all.push((format!("{name}NAME"), leaf.title));
    }
    all
}

fn time(at: At) -> String {
    let (seconds, ms) = (at.ms() / 1000, at.ms() % 1000);
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    format!("{hours:02}:{minutes:02}:{seconds:02}.{ms:03}")
}

/// Writes comments as FLAC has them in a block: before each text its length, 32 bits, the lowest byte first.
pub fn block(contents: &Contents) -> Vec<u8> {
    let comments = comments(contents);
    let count = (comments.len() as u32).to_le_bytes().to_vec();
    let mut parts = vec![text(VENDOR), count];
    parts.extend(
        comments
            .iter()
            .map(|(name, value)| text(&format!("{name}={value}"))),
    );
    parts.concat()
}

fn text(text: &str) -> Vec<u8> {
    [&(text.len() as u32).to_le_bytes(), text.as_bytes()].concat()
}
