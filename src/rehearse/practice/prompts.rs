//! What is whispered to a coach ahead of a line, and when: over before it is due, never over a mark.

use crate::base::units::At;
use crate::base::units::Millis;

/// A prompt is over so long before its line is due: time to breathe in.
const BEFORE: Millis = Millis::from_ms(300);
/// Between a prompt and any other sound, as in a plan.
const APART: Millis = Millis::from_ms(150);
/// So many words bring a line back that one knows: common practice of prompters.
const WORDS: usize = 3;

/// Some words ahead of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prompt {
    pub text: String,
    /// Where it is heard, from its first sound to its last.
    pub onset: At,
    pub end: At,
    /// The line it is for: its place among the sounds of the plan.
    pub line: usize,
}

/// A time that something else takes.
#[derive(Debug, Clone, Copy)]
pub struct Taken {
    pub from: At,
    pub to: At,
}

/// Returns the first words of a line: three, or up to a stop or comma among them; the last word alone is
/// never left out.
pub fn first_words(line: &str) -> String {
    let words: Vec<&str> = line.split_whitespace().collect();
    if words.len() <= WORDS + 1 {
        return line.to_owned();
    }
    let stops = |word: &&str| word.ends_with(['.', ',', ';', ':', '!', '?']);
    let first = &words[..WORDS];
    // A single word before a comma says little.
    let end = first
        .iter()
        .skip(1)
        .position(stops)
        .map_or(WORDS, |at| at + 2);
    let some = first[..end].join(" ");
    some.trim_end_matches(['.', ',', ';', ':']).to_owned()
}

/// Finds where a prompt of some length ends in time for a line that is due, not before `earliest`, clear of
/// what is taken; `None` where there is no room.
pub fn place(length: Millis, due: At, earliest: At, taken: &[Taken]) -> Option<(At, At)> {
    let mut end = due - BEFORE;
    loop {
        let onset = end - length;
        if onset < earliest {
            return None;
        }
        // The earliest of those in the way: what lies between two that are close holds nothing.
        let way = taken
            .iter()
            .filter(|other| onset < other.to + APART && other.from < end + APART)
            .map(|other| other.from)
            .min();
        match way {
            None => return Some((onset, end)),
            Some(from) => end = from - APART,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_words_bring_a_line_back() {
        for (line, first) in [
            ("Hips back, shoulders square to the floor.", "Hips back"),
            ("Draw the elbow up past your ribs.", "Draw the elbow"),
            ("Next, one-arm row, left.", "Next, one-arm row, left."),
            ("Walk, breathe, and let it settle down.", "Walk, breathe"),
            ("Breathe out.", "Breathe out."),
            ("Rest.", "Rest."),
        ] {
            assert_eq!(first_words(line), first);
        }
    }

    #[test]
    fn a_prompt_is_over_before_its_line_and_clear_of_what_else_sounds() {
        let at = At::from_ms;
        let length = Millis::from_ms(700);
        let free = place(length, at(5000), at(0), &[]);
        assert_eq!(free, Some((at(4000), at(4700))));
        let count = Taken {
            from: at(3900),
            to: at(4300),
        };
        let before = place(length, at(5000), at(0), &[count]);
        assert_eq!(before, Some((at(3050), at(3750))));
        let tone = Taken {
            from: at(2500),
            to: at(2900),
        };
        let before = place(length, at(5000), at(0), &[count, tone]);
        assert_eq!(before, Some((at(3050), at(3750))));
        let near = Taken {
            from: at(2500),
            to: at(2950),
        };
        let before = place(length, at(5000), at(0), &[count, near]);
        assert_eq!(before, Some((at(1650), at(2350))));
        assert_eq!(place(length, at(5000), at(2000), &[count, near]), None);
    }
}
