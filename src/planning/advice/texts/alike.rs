//! Names that sound alike: heard once, over breath and steps, one is taken for the other.

use super::advise;
use super::names::first_use;
use super::names::sense;
use super::words::words;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::short;
use crate::planning::session::Session;

pub(super) fn sound_alike(session: &Session) -> Vec<Diagnostic> {
    let heard = session.movements.iter();
    let heard: Vec<_> = heard.map(|m| (m, split(&m.name), sense(&m.name))).collect();
    let mut found = Vec::new();
    for (second, (movement, words, sense)) in heard.iter().enumerate() {
        let mut before = heard[..second].iter();
        let other = before
            .find(|(_, other, other_sense)| sense != other_sense && sounds_like(words, other));
        if let Some((first, ..)) = other {
            found.push(advise(
                Code::NamesAlike,
                first_use(session, movement),
                format!(
                    "expected names that sound apart, found \"{}\" beside \"{}\"",
                    short(&movement.name),
                    short(&first.name)
                ),
                format!(
                    "change `name` in movements/{}.toml, such as by a word in front: the name is \
                     heard once, over breath and steps (common practice)",
                    movement.id
                ),
            ));
        }
    }
    found
}

fn split(name: &str) -> Vec<String> {
    let heard = words(name).into_iter();
    heard
        .flat_map(|word| word.low.split('-').map(str::to_owned).collect::<Vec<_>>())
        .collect()
}

/// Returns whether two names differ in one word, and there in little that carries: the vowels
/// and the last consonant are the same; or in a small word at the end.
fn sounds_like(one: &[String], other: &[String]) -> bool {
    let (short, long) = if one.len() <= other.len() {
        (one, other)
    } else {
        (other, one)
    };
    if long.len() == short.len() + 1 && long.starts_with(short) {
        let small = ["up", "in", "on", "out", "off", "ups"];
        return small.contains(&long[short.len()].as_str());
    }
    let differ: Vec<_> = one.iter().zip(other).filter(|(a, b)| a != b).collect();
    one.len() == other.len() && matches!(differ[..], [(a, b)] if rhyme(a) == rhyme(b))
}

/// The vowels of a word as they are heard, roughly, and its last consonant.
fn rhyme(word: &str) -> (String, Option<char>) {
    // Mute endings and spellings of one sound.
    let word = word.replace("dge", "j").replace("nge", "nj");
    let word = word
        .replace("ck", "k")
        .replace("ph", "f")
        .replace("ea", "e");
    let word = match word.strip_suffix('e') {
        Some(rest) if rest.chars().any(is_vowel) => rest.to_owned(),
        _ => word,
    };
    let mut vowels = String::new();
    let mut in_vowel = false;
    for c in word.chars() {
        let vowel = is_vowel(c);
        if vowel && !in_vowel {
            vowels.push(if c == 'y' { 'i' } else { c });
        }
        in_vowel = vowel;
    }
    let last = word.chars().rev().find(|c| c.is_alphabetic());
    (vowels, last.filter(|c| !is_vowel(*c)))
}

fn is_vowel(c: char) -> bool {
    matches!(c, 'a' | 'e' | 'i' | 'o' | 'u' | 'y')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_sound_alike_are_told_from_those_that_only_look_it() {
        for (one, other) in [
            ("hip hinge", "hip bridge"),
            ("floor press", "floor press-up"),
            ("march", "arch"),
            ("row", "throw"),
        ] {
            assert!(sounds_like(&split(one), &split(other)), "{one}, {other}");
        }
        for (one, other) in [
            ("bench squat", "split squat"),
            ("side lunge", "side step"),
            ("wall sit", "wall hinge"),
            ("plank", "side plank"),
            ("squat", "squat jump"),
        ] {
            assert!(!sounds_like(&split(one), &split(other)), "{one}, {other}");
        }
    }
}
