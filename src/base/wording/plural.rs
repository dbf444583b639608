//! The plural of a thing whose movement does not say it, as it is spelled as a rule; exceptions say theirs.

use super::Language;

/// Returns the plural of a name: its last word's, where that word is the noun.
pub fn of(name: &str, language: Language) -> String {
    match language {
        Language::English => english(name),
        // Which of its plurals a German noun has cannot be told by its letters.
        Language::German => name.to_owned(),
        Language::French if ends(name, &["s", "x", "z"]) => name.to_owned(),
        Language::French if ends(name, &["au", "eu"]) => format!("{name}x"),
        Language::Spanish if !ends(name, &["s"]) && consonant(name) => format!("{name}es"),
        Language::Portuguese if ends(name, &["r", "s", "z"]) => format!("{name}es"),
        Language::Spanish | Language::French | Language::Portuguese => format!("{name}s"),
    }
}

/// A hiss takes a vowel before the "s", and "y" after a consonant becomes "ie" (common practice).
fn english(name: &str) -> String {
    match name.strip_suffix('y') {
        _ if ends(name, &["ch", "sh", "s", "x", "z"]) => format!("{name}es"),
        Some(stem) if consonant(stem) => format!("{stem}ies"),
        _ => format!("{name}s"),
    }
}

fn ends(name: &str, endings: &[&str]) -> bool {
    endings.iter().any(|ending| name.ends_with(ending))
}

fn consonant(name: &str) -> bool {
    let last = name.chars().next_back();
    last.is_some_and(|c| c.is_ascii_alphabetic() && !"aeiouAEIOU".contains(c))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plurals_are_spelled_as_a_rule() {
        for (language, one, several) in [
            (Language::English, "bench", "benches"),
            (Language::English, "box", "boxes"),
            (Language::English, "trolley", "trolleys"),
            (Language::English, "buoy", "buoys"),
            (Language::English, "dumbbell", "dumbbells"),
            (
                Language::English,
                "jersey bench press",
                "jersey bench presses",
            ),
            (Language::English, "gantry", "gantries"),
            (Language::German, "Hantel", "Hantel"),
            (Language::Spanish, "banco", "bancos"),
            (Language::Spanish, "pared", "paredes"),
            (Language::French, "tapis", "tapis"),
            (Language::French, "poteau", "poteaux"),
            (Language::Portuguese, "halter", "halteres"),
        ] {
            assert_eq!(of(one, language), several, "{one}");
        }
    }
}
