//! English words that the dictionary lacks, mostly names: syllables guessed from the letters.
//!
//! The rules are common knowledge of English spelling; which of them pay was found on a part of the CMU
//! Pronouncing Dictionary that its test does not use.

/// Ends before which an e inside a compound is silent: "Lakeland", "Wedgewood".
const AFTER_SILENT_E: [&str; 33] = [
    "ly", "ment", "less", "ness", "ful", "land", "wood", "field", "man", "ton", "ville", "well",
    "worth", "berry", "house", "ward", "port", "ford", "water", "bird", "bush", "lock", "son",
    "stone", "town", "way", "wright", "sworth", "sville", "boat", "side", "work", "board",
];

/// Counts the syllables of a word, at least one. Letters without a vowel are read one by one, "w" as three.
pub fn count(word: &str) -> usize {
    let lower: String = word.chars().filter(|c| c.is_alphabetic()).collect();
    let lower = lower.to_lowercase();
    if !lower.contains(is_vowel) {
        return lower.chars().map(|c| if c == 'w' { 3 } else { 1 }).sum();
    }
    let letters = sounded(&lower);
    let heard = groups(&letters) + hiatus(&letters) + syllabic(&lower);
    let silent = silent_at_end(&letters) + silent_inside(&letters);
    heard.saturating_sub(silent).max(1)
}

fn is_vowel(c: char) -> bool {
    matches!(c, 'a' | 'e' | 'i' | 'o' | 'u' | 'y') || (!c.is_ascii() && c.is_alphabetic())
}

/// The letters, with those that only look like vowels taken out: the y of "yes", the u of "quick" and "guess".
fn sounded(word: &str) -> Vec<char> {
    let letters: Vec<char> = word.chars().collect();
    let at = |i: usize| letters.get(i).copied().unwrap_or(' ');
    let plain = |c: char| is_vowel(c) && c != 'y';
    let mut out = Vec::with_capacity(letters.len());
    for (i, &c) in letters.iter().enumerate() {
        let before = i.checked_sub(1).map_or(' ', at);
        match c {
            'y' if plain(at(i + 1)) && (i == 0 || plain(before)) => out.push('j'),
            'u' if before == 'q' => out.push('w'),
            'u' if before == 'g' && matches!(at(i + 1), 'e' | 'i') => {}
            other => out.push(other),
        }
    }
    out
}

fn groups(letters: &[char]) -> usize {
    let runs = letters.chunk_by(|a, b| is_vowel(*a) == is_vowel(*b));
    runs.filter(|run| is_vowel(run[0])).count()
}

/// Counts vowels beside one another that are said apart, as in "radio", less the i that softens a
/// consonant, as in "station".
fn hiatus(letters: &[char]) -> usize {
    let at = |i: usize| letters.get(i).copied().unwrap_or(' ');
    let apart = |i: usize| {
        let before = i.checked_sub(1).map_or(' ', at);
        let soft = matches!(before, 't' | 's' | 'c' | 'g');
        match (at(i), at(i + 1), at(i + 2)) {
            ('i', 'o', 'n' | 'u') if soft => false,
            ('i', 'a', 'l' | 'n' | ' ') if soft => false,
            ('i', 'a' | 'o', next) => next != 'u',
            ('e', 'o', _) => !is_vowel(before),
            ('u', 'a', next) => next != 'y',
            ('u', 'i', 'n') => at(i + 3) == 'g',
            ('i', 'e', 'r') => i > 0 && !is_vowel(before) && i + 3 == letters.len(),
            ('u', 'o', _) | ('y', 'i', _) | ('i', 'i' | 'u', _) => true,
            _ => false,
        }
    };
    (0..letters.len()).filter(|i| apart(*i)).count()
}

/// Consonants that make a syllable: the end of "prism", the start of "McKay".
fn syllabic(word: &str) -> usize {
    let mc = word.strip_prefix("mc");
    let mc = mc.and_then(|rest| rest.chars().next());
    let sm = word.strip_suffix("sm");
    let sm = sm.is_some_and(|rest| rest.ends_with(is_vowel));
    usize::from(mc.is_some_and(|c| !is_vowel(c))) + usize::from(sm)
}

/// One if the word ends in an e, es or ed that is not heard.
fn silent_at_end(letters: &[char]) -> usize {
    let word: String = letters.iter().collect();
    let stem = |end: &str| word.strip_suffix(end).filter(|s| !s.ends_with(is_vowel));
    // The l of "table" makes a syllable of its own; that of "Carle" and "mile" does not.
    let consonant_l = |stem: &str| {
        let before = stem.strip_suffix('l').and_then(|s| s.chars().next_back());
        before.is_some_and(|c| !is_vowel(c) && c != 'l' && c != 'r')
    };
    let silent = if let Some(stem) = stem("e") {
        !consonant_l(stem)
    } else if let Some(stem) = stem("es") {
        let hisses = ["s", "x", "z", "ch", "sh", "c", "g"];
        !consonant_l(stem) && !hisses.iter().any(|end| stem.ends_with(end))
    } else if let Some(stem) = stem("ed") {
        !consonant_l(stem) && !stem.ends_with(['t', 'd'])
    } else {
        false
    };
    usize::from(silent)
}

/// One if the word ends in one of [`AFTER_SILENT_E`] with a silent e before it.
fn silent_inside(letters: &[char]) -> usize {
    let word: String = letters.iter().collect();
    let word = word.trim_end_matches('s');
    let silent = AFTER_SILENT_E.iter().any(|end| {
        let stem = word.strip_suffix(end).and_then(|s| s.strip_suffix('e'));
        let mut last = stem.unwrap_or("").chars().rev();
        let (consonant, vowel) = (last.next(), last.next());
        consonant.is_some_and(|c| !is_vowel(c) && !matches!(c, 'w' | 'x'))
            && vowel.is_some_and(is_vowel)
    });
    usize::from(silent)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_count_as_they_are_written() {
        // Our own knowledge: each stands for one rule.
        for (word, expected) in [
            ("Yarrow", 2),
            ("Quill", 1),
            ("Guerney", 2),
            ("Lakeland", 2),
            ("McNab", 2),
            ("Fabled", 2),
            ("Hoped", 1),
            ("Mateo", 3),
            ("Portia", 2),
            ("pvc", 3),
            ("www", 9),
            ("Hmm", 3),
            ("e", 1),
        ] {
            assert_eq!(count(word), expected, "of {word}");
        }
    }
}
