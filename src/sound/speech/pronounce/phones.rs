//! The sounds of American English, as three alphabets write them: IPA, the neural voice's own, and that of
//! the CMU dictionary (ARPAbet), which the compact voice reads.

use std::fmt;

/// A sound: a row of the table, and how a vowel is stressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Phone {
    row: &'static Row,
    stress: Stress,
}

/// How strong a vowel is; a consonant has none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stress {
    None,
    Main,
    Second,
}

#[derive(Debug, PartialEq, Eq)]
struct Row {
    /// As it is written here, then other ways to write the same; the longest that fits is read.
    ipa: &'static [&'static str],
    neural: &'static str,
    arpabet: &'static str,
    vowel: bool,
}

const fn vowel(ipa: &'static [&'static str], neural: &'static str, arpabet: &'static str) -> Row {
    Row {
        ipa,
        neural,
        arpabet,
        vowel: true,
    }
}

const fn consonant(
    ipa: &'static [&'static str],
    neural: &'static str,
    arpabet: &'static str,
) -> Row {
    Row {
        ipa,
        neural,
        arpabet,
        vowel: false,
    }
}

/// IPA by the handbook of the International Phonetic Association and as dictionaries of American and
/// British English write it; ARPAbet as in the CMU Pronouncing Dictionary.
static ROWS: [Row; 46] = [
    vowel(&["ɑ", "ɑː", "ɒ"], "ɑ", "aa"),
    vowel(&["æ", "a"], "æ", "ae"),
    vowel(&["ʌ"], "ʌ", "ah"),
    vowel(&["ə"], "ə", "ax"),
    vowel(&["ɔ", "ɔː"], "ɔ", "ao"),
    vowel(&["aʊ", "aʊ̯", "au"], "W", "aw"),
    vowel(&["aɪ", "aɪ̯", "ai"], "I", "ay"),
    vowel(&["ɛ", "e"], "ɛ", "eh"),
    vowel(&["ɝ", "ɝː", "ɜː", "ɜɹ", "ɜr", "ɜːɹ", "ɜːr"], "ɜɹ", "er"),
    vowel(&["ɚ", "əɹ", "ər"], "əɹ", "er"),
    vowel(&["eɪ", "eɪ̯", "ei"], "A", "ey"),
    vowel(&["ɪ", "ᵻ"], "ɪ", "ih"),
    vowel(&["i", "iː"], "i", "iy"),
    vowel(&["oʊ", "oʊ̯", "əʊ", "ou", "o", "oː"], "O", "ow"),
    vowel(&["ɔɪ", "ɔɪ̯", "ɔi"], "Y", "oy"),
    vowel(&["ʊ"], "ʊ", "uh"),
    vowel(&["u", "uː"], "u", "uw"),
    consonant(&["b"], "b", "b"),
    consonant(&["d"], "d", "d"),
    consonant(&["f"], "f", "f"),
    consonant(&["ɡ", "g"], "ɡ", "g"),
    consonant(&["h"], "h", "hh"),
    consonant(&["j"], "j", "y"),
    consonant(&["k"], "k", "k"),
    consonant(&["l", "ɫ"], "l", "l"),
    consonant(&["m"], "m", "m"),
    consonant(&["n"], "n", "n"),
    consonant(&["ŋ"], "ŋ", "ng"),
    consonant(&["p"], "p", "p"),
    consonant(&["ɹ", "r"], "ɹ", "r"),
    consonant(&["s"], "s", "s"),
    consonant(&["ʃ"], "ʃ", "sh"),
    consonant(&["t", "ʔ"], "t", "t"),
    // The soft t of "water".
    consonant(&["ɾ", "t̬"], "ɾ", "t"),
    consonant(&["v"], "v", "v"),
    consonant(&["w", "ʍ"], "w", "w"),
    consonant(&["z"], "z", "z"),
    consonant(&["ʒ"], "ʒ", "zh"),
    consonant(&["θ"], "θ", "th"),
    consonant(&["ð"], "ð", "dh"),
    consonant(&["tʃ", "t͡ʃ", "ʧ"], "ʧ", "ch"),
    consonant(&["dʒ", "d͡ʒ", "ʤ"], "ʤ", "jh"),
    // Syllables without a vowel of their own; the neural voice knows their soft vowel.
    vowel(&["l̩", "əl"], "ᵊl", "ax l"),
    vowel(&["n̩"], "ᵊn", "ax n"),
    vowel(&["m̩"], "ᵊm", "ax m"),
    // French sounds that the trade's words came with.
    vowel(&["ɑ̃", "ɒ̃"], "ɑn", "aa n"),
];

/// What may stand in IPA and says nothing here: borders of syllables, links, narrow marks. What makes a
/// syllable, or sounds through the nose, is no narrow mark.
fn is_skipped(c: char) -> bool {
    matches!(c, '.' | '\u{203f}' | 'ˑ' | '\u{2060}' | ' ' | '-')
        || matches!(c, '\u{300}'..='\u{36f}' if c != '\u{329}' && c != '\u{303}')
}

/// Reads IPA, with or without its slashes or brackets.
///
/// # Errors
///
/// What was expected and what was found.
pub fn read(text: &str) -> Result<Vec<Phone>, String> {
    let inner = text.trim().trim_matches(['/', '[', ']']);
    let mut phones: Vec<Phone> = Vec::new();
    let mut stress = Stress::None;
    let mut left = inner;
    while let Some(first) = left.chars().next() {
        let mark = match first {
            'ˈ' | '\'' => Some(Stress::Main),
            'ˌ' => Some(Stress::Second),
            c if is_skipped(c) => Some(stress),
            _ => None,
        };
        if let Some(mark) = mark {
            stress = mark;
            left = &left[first.len_utf8()..];
            continue;
        }
        let (row, length) = longest(left).ok_or_else(|| {
            format!("expected a sound of American English in IPA, found \"{first}\"")
        })?;
        // A mark stands before its syllable; its vowel carries it.
        let own = if row.vowel {
            std::mem::replace(&mut stress, Stress::None)
        } else {
            Stress::None
        };
        phones.push(Phone { row, stress: own });
        left = &left[length..];
    }
    if phones.iter().any(|phone| phone.row.vowel) {
        Ok(phones)
    } else {
        Err(format!("expected a word in IPA, found \"{text}\""))
    }
}

/// The row that writes the longest start of a text.
fn longest(text: &str) -> Option<(&'static Row, usize)> {
    let spellings = ROWS
        .iter()
        .flat_map(|row| row.ipa.iter().map(move |ipa| (row, *ipa)));
    spellings
        .filter(|(_, ipa)| text.starts_with(ipa))
        .map(|(row, ipa)| (row, ipa.len()))
        .max_by_key(|(_, length)| *length)
}

/// Writes sounds as the neural voice reads them: a mark before its vowel.
pub fn neural(phones: &[Phone]) -> String {
    let mut written = String::new();
    for phone in phones {
        written.push_str(match phone.stress {
            Stress::None => "",
            Stress::Main => "ˈ",
            Stress::Second => "ˌ",
        });
        written.push_str(phone.row.neural);
    }
    written
}

/// Counts the vowels in sounds as the neural voice's dictionary writes them: the syllables of a word.
pub fn vowels(neural: &str) -> usize {
    let begins = |row: &Row, c: char| row.vowel && row.neural.starts_with(c);
    // Two weak vowels of the dictionary have no row of their own: those of "a" and "roses".
    let is_vowel = |c: &char| matches!(c, 'ɐ' | 'ᵻ') || ROWS.iter().any(|row| begins(row, *c));
    neural.chars().filter(is_vowel).count()
}

/// Writes sounds as the compact voice reads them: ARPAbet in small letters, a figure after each vowel.
pub fn arpabet(phones: &[Phone]) -> String {
    let written: Vec<String> = phones
        .iter()
        .map(|phone| {
            let plain = phone.row.arpabet;
            match (phone.row.vowel, phone.stress) {
                // A soft vowel has no strength; written so, it would have no name.
                (true, _) if plain.starts_with("ax") => plain.to_owned(),
                (true, Stress::None) => figure(plain, '0'),
                (true, Stress::Main) => figure(plain, '1'),
                (true, Stress::Second) => figure(plain, '2'),
                (false, _) => plain.to_owned(),
            }
        })
        .collect();
    written.join(" ")
}

/// The figure goes after the first sound of a row.
fn figure(sounds: &str, figure: char) -> String {
    match sounds.split_once(' ') {
        Some((vowel, rest)) => format!("{vowel}{figure} {rest}"),
        None => format!("{sounds}{figure}"),
    }
}

impl fmt::Display for Phone {
    /// Writes it in IPA, one way for each sound.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mark = match self.stress {
            Stress::None => "",
            Stress::Main => "ˈ",
            Stress::Second => "ˌ",
        };
        write!(f, "{mark}{}", self.row.ipa[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ipa_is_read_by_its_longest_signs_and_written_in_three_alphabets() {
        // Wiktionary's "eccentric" and "thruster", the CMU dictionary's "burpee"-like "barbell".
        for (ipa, misaki, cmu) in [
            ("/ɪkˈsɛntrɪk/", "ɪksˈɛntɹɪk", "ih0 k s eh1 n t r ih0 k"),
            ("ˈθɹʌstɚ", "θɹˈʌstəɹ", "th r ah1 s t er0"),
            ("[ˈtʃɛɹ.i]", "ʧˈɛɹi", "ch eh1 r iy0"),
            ("ˈboʊtˌhaʊs", "bˈOthˌWs", "b ow1 t hh aw2 s"),
            ("dʒɜːk", "ʤɜɹk", "jh er0 k"),
            ("ˈmʌsl̩", "mˈʌsᵊl", "m ah1 s ax l"),
        ] {
            let phones = read(ipa).unwrap();
            assert_eq!(neural(&phones), misaki, "of {ipa}");
            assert_eq!(arpabet(&phones), cmu, "of {ipa}");
            let written: String = phones.iter().map(Phone::to_string).collect();
            assert_eq!(read(&written).unwrap(), phones, "of {written}");
        }
    }

    #[test]
    fn each_vowel_is_one_however_many_signs_write_it() {
        // As the dictionary writes "eccentric", "muscle", "earth", "a", "houses".
        for (sounds, expected) in [
            ("ɪksˈɛntɹɪk", 3),
            ("mˈʌsᵊl", 2),
            ("ˈɜɹθ", 1),
            ("ɐ", 1),
            ("hˈWzᵻz", 2),
            ("", 0),
        ] {
            assert_eq!(vowels(sounds), expected, "of {sounds}");
        }
    }

    #[test]
    fn what_is_no_sound_is_named() {
        for (text, found) in [("θɹ7st", "7"), ("ˈʂ", "ʂ"), ("", "\"\""), ("/t/", "/t/")] {
            let error = read(text).unwrap_err();
            assert!(error.contains(found), "{text}: {error}");
        }
    }
}
