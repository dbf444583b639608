//! Spanish and Portuguese words: syllables by strong and weak vowels, which their spelling tells apart
//! (Real Academia Española, Ortografía de la lengua española, 2010, on hiatus and diphthong; for
//! Portuguese the same in the grammars; from memory).

/// What a language adds to the common rule.
struct Rule {
    /// Pairs that are one vowel although both are strong: "mão".
    one: &'static [&'static str],
}

const SPANISH: Rule = Rule { one: &[] };

const PORTUGUESE: Rule = Rule {
    one: &["ão", "õe", "ãe"],
};

/// Counts the syllables of a Spanish word.
pub fn spanish(word: &str) -> usize {
    count(word, &SPANISH)
}

/// Counts the syllables of a Portuguese word.
pub fn portuguese(word: &str) -> usize {
    count(word, &PORTUGUESE)
}

/// Counts vowels; two beside one another are one unless both are strong.
fn count(word: &str, rule: &Rule) -> usize {
    let letters = sounded(word);
    let mut count = 0;
    let mut before: Option<char> = None;
    for &c in &letters {
        let joined = before.is_some_and(|b| {
            let pair: String = [b, c].iter().collect();
            !(is_strong(b) && is_strong(c)) || rule.one.contains(&pair.as_str())
        });
        count += usize::from(is_vowel(c) && !joined);
        before = Some(c).filter(|c| is_vowel(*c));
    }
    count.max(1)
}

/// The letters without the u of "que" and "gui", and with a y before a vowel as the consonant that it is.
fn sounded(word: &str) -> Vec<char> {
    let letters: Vec<char> = word.to_lowercase().chars().collect();
    let mut out = Vec::with_capacity(letters.len());
    for (at, &c) in letters.iter().enumerate() {
        let next = letters.get(at + 1).copied().unwrap_or(' ');
        let soft = matches!(next, 'e' | 'i' | 'é' | 'í' | 'ê');
        match c {
            'u' if soft && matches!(out.last(), Some('q' | 'g')) => {}
            'y' if is_vowel(next) => out.push('j'),
            other => out.push(other),
        }
    }
    out
}

/// A vowel that no other takes into its syllable: a, e, o, and a weak one with an accent.
fn is_strong(c: char) -> bool {
    "aeoáéóâêôãõíú".contains(c)
}

fn is_vowel(c: char) -> bool {
    is_strong(c) || "iuüyà".contains(c)
}
