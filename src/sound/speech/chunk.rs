//! Long texts in pieces that an engine can take: at sentences, else at marks, else at spaces.

/// The most characters of a piece: about twenty seconds of speech, within the 510 phonemes that
/// the neural model was trained with.
const MOST: usize = 300;

/// The longest text that is spoken at all, after normalisation: about five minutes.
pub const LONGEST: usize = 6000;

/// Splits a normalised text into pieces of at most 300 characters; a text that is short enough
/// stays whole, so that the voice can shape it as one.
pub fn chunks(text: &str) -> Vec<&str> {
    let mut pieces = Vec::new();
    let mut rest = text.trim();
    while rest.len() > MOST {
        // Normalised text is ASCII; anything else is cut where a character starts.
        let limit = rest.floor_char_boundary(MOST);
        let window = &rest[..limit];
        let cut = [". ", "? ", "! ", "; ", ": ", ", ", " "]
            .iter()
            .find_map(|mark| window.rfind(mark).map(|at| at + mark.len()))
            .unwrap_or(limit);
        let (piece, after) = rest.split_at(cut);
        pieces.push(piece.trim_end());
        rest = after.trim_start();
    }
    if !rest.is_empty() {
        pieces.push(rest);
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_text_stays_whole_and_nothing_is_lost_of_a_long_one() {
        assert_eq!(chunks("Hips back. Chest up."), ["Hips back. Chest up."]);
        assert!(chunks("").is_empty());
        for sentence in ["Hips back, chest up. ", "word ", "unbroken"] {
            let text = sentence.repeat(300);
            let pieces = chunks(&text);
            assert!(
                pieces
                    .iter()
                    .all(|piece| !piece.is_empty() && piece.len() <= MOST)
            );
            let strip = |text: &str| text.replace(' ', "");
            assert_eq!(strip(&pieces.concat()), strip(&text));
        }
        let text = "Hips back, chest up. ".repeat(40);
        assert!(chunks(&text).iter().all(|piece| piece.ends_with('.')));
    }
}
