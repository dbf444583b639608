//! German and French words: syllables by the vowels that are written. Near enough to pace a line; a dictionary
//! would know better.

/// Vowels that are written with two letters and heard as one (Duden, from memory).
const GERMAN_PAIRS: [&str; 13] = [
    "ei", "ai", "au", "eu", "äu", "ie", "ey", "ay", "aa", "ee", "oo", "oi", "ui",
];

fn is_vowel(c: char) -> bool {
    "aeiouyáàâãäåéèêëíìîïóòôõöúùûüýÿœæ".contains(c)
}

/// Counts the syllables of a German word: each vowel is one, but for those that two letters write.
pub fn german(word: &str) -> usize {
    let word = word.to_lowercase().replace("qu", "kw");
    let letters: Vec<char> = word.chars().collect();
    let (mut count, mut at) = (0, 0);
    while at < letters.len() {
        let pair: String = letters[at..].iter().take(2).collect();
        let first = is_vowel(letters[at]);
        // A y before a vowel is a consonant: "Yoga".
        let glide = letters[at] == 'y' && letters.get(at + 1).copied().is_some_and(is_vowel);
        count += usize::from(first && !glide);
        at += if GERMAN_PAIRS.contains(&pair.as_str()) {
            2
        } else {
            1
        };
    }
    count.max(1)
}

/// Counts the syllables of a French word: groups of vowels, parted by an é or a diaeresis, without the e at
/// the end that is not heard.
pub fn french(word: &str) -> usize {
    let word = word.to_lowercase().replace("qu", "k").replace("gu", "g");
    let letters: Vec<char> = word.chars().collect();
    let apart = |a: char, b: char| a == 'é' || "ïëü".contains(b);
    let mut count = 0;
    for (at, &c) in letters.iter().enumerate() {
        let before = at.checked_sub(1).map(|at| letters[at]);
        let goes_on = before.is_some_and(|b| is_vowel(b) && !(apart(b, c)));
        count += usize::from(is_vowel(c) && !goes_on);
    }
    let silent = ["e", "es", "ent"].iter().any(|end| {
        let stem = word.strip_suffix(end);
        stem.is_some_and(|stem| !stem.ends_with(is_vowel))
    });
    match count {
        more @ 2.. if silent => more - 1,
        other => other.max(1),
    }
}
