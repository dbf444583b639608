//! The trade's words come out right: 150 of them, with the sounds that dictionaries give.

#![expect(
    clippy::disallowed_methods,
    reason = "reads the list and hands it to a reference library"
)]

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::Command;

use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Utterance;
use sidevoice::sound::speech::library;
use sidevoice::sound::speech::neural::Neural;
use sidevoice::sound::speech::normalise;
use sidevoice::sound::speech::pronounce::Pronunciations;
use sidevoice::sound::speech::pronounce::phones;

use super::program::Ground;
use super::program::need;
use super::recognition::Put;
use super::recognition::recognise;
use super::recognition::write;
use crate::common::python;

const LIST: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/it/outside/trade.tsv");

/// Words that may be said as something else, of a hundred.
const MISTAKEN: usize = 5;

/// So many words are to choose from: those that sound most alike.
const AMONG: usize = 12;

/// Each word with its sounds in IPA, the other way to say it last, if there is one.
fn rows() -> Vec<Vec<String>> {
    let list = std::fs::read_to_string(LIST).unwrap();
    let rows = list.lines().filter(|line| !line.starts_with('#'));
    rows.map(|row| row.split('\t').map(str::to_owned).collect())
        .collect()
}

/// Each word with its sounds in IPA.
fn words() -> Vec<(String, String)> {
    let words: Vec<_> = rows()
        .into_iter()
        .map(|row| (row[0].clone(), row[1].clone()))
        .collect();
    assert_eq!(words.len(), 150);
    words
}

/// How a word is said, less what no listener tells apart: stress marks, the flap, soft vowels, and the two
/// vowels that most Americans say alike in "cot" and "caught".
fn heard(sounds: &str) -> String {
    sounds
        .chars()
        .filter(|c| !matches!(c, 'ˈ' | 'ˌ' | ' ' | '.'))
        .map(|c| match c {
            'T' | 'ɾ' => 't',
            'ᵊ' | 'ᵻ' | 'ɪ' | 'ʌ' => 'ə',
            'ɔ' => 'ɑ',
            c => c,
        })
        .collect()
}

#[test]
fn the_neural_voice_is_given_the_sounds_that_dictionaries_give() {
    need("hibari");
    let info = library::find("hibari").unwrap();
    let folder = Settings::standard().voices.unwrap().join("hibari");
    let known = Pronunciations::new(info.pronounce.iter().cloned(), &normalise::ENGLISH);
    let voice = Neural::load(&info, &folder).unwrap();
    let mut other = Vec::new();
    for row in rows() {
        let text = normalise::normalise(&row[0], &normalise::ENGLISH);
        let own = voice.sounds(&known.apply(&text)).unwrap();
        let ways = [Some(&row[1]), row.get(3)].into_iter().flatten();
        let ways: Vec<String> = ways
            .map(|ipa| phones::neural(&phones::read(ipa).unwrap()))
            .collect();
        if !ways.iter().any(|way| heard(&own) == heard(way)) {
            other.push(format!("{}: {own}, expected {ways:?}", row[0]));
        }
    }
    assert!(other.is_empty(), "{}", other.join("\n"));
}

#[test]
fn a_recogniser_with_the_sounds_of_dictionaries_tells_the_words_apart() {
    for voice in ["hibari", "compact"] {
        need(voice);
        let words = words();
        let line = |word: &str| format!("next, the {}", word.to_lowercase());
        let lines: Vec<Put> = words
            .iter()
            .map(|(word, ipa)| Put {
                utterance: Utterance::new(format!("Next, the {word}")),
                place: word.clone(),
                among: nearest(ipa, &words).map(line).collect(),
            })
            .collect();
        let phones: BTreeMap<String, String> = words
            .iter()
            .map(|(word, ipa)| (word.to_lowercase(), cmu(ipa)))
            .collect();
        let ground = Ground::new();
        let file = ground.path("words.wav");
        let spoken: Vec<_> = lines.iter().map(|l| l.utterance.clone()).collect();
        let places = write(&spoken, voice, ground.takes("cache"), &file);
        let heard = recognise(&file, &lines, &places, &phones);
        let wrong: Vec<_> = lines
            .iter()
            .zip(&heard)
            .filter(|(put, heard)| line(&put.place) != **heard)
            .map(|(put, heard)| format!("{} was heard as {heard:?}", put.place))
            .collect();
        println!("{voice}: {} of 150 recognised", 150 - wrong.len());
        let most = 150 * MISTAKEN / 100;
        assert!(wrong.len() <= most, "{voice}:\n{}", wrong.join("\n"));
    }
}

/// The words that sound most like the one with these sounds, itself the first.
fn nearest<'a>(ipa: &str, words: &'a [(String, String)]) -> impl Iterator<Item = &'a str> {
    let sounds = |ipa: &str| -> Vec<String> { cmu(ipa).split(' ').map(str::to_owned).collect() };
    let wanted = sounds(ipa);
    let mut all: Vec<_> = words
        .iter()
        .map(|(word, ipa)| {
            (
                strsim::generic_levenshtein(&wanted, &sounds(ipa)),
                word.as_str(),
            )
        })
        .collect();
    all.sort_unstable();
    all.into_iter().take(AMONG).map(|(_, word)| word)
}

/// IPA in the phones of CMUdict, as the recogniser has them: no stress, one soft vowel.
fn cmu(ipa: &str) -> String {
    let sounds = phones::arpabet(&phones::read(ipa).unwrap());
    let plain =
        sounds.split(' ').map(
            |sound| match sound.trim_end_matches(|c: char| c.is_ascii_digit()) {
                "ax" => "AH".to_owned(),
                other => other.to_uppercase(),
            },
        );
    plain.collect::<Vec<_>>().join(" ")
}

#[test]
fn the_list_agrees_with_the_cmu_pronouncing_dictionary() {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/cmu.py");
    let rows: String = words()
        .iter()
        .map(|(word, ipa)| format!("{word}\t{}\n", cmu(ipa)))
        .collect();
    let folder = tempfile::tempdir().unwrap();
    let path: PathBuf = folder.path().join("words.tsv");
    std::fs::write(&path, rows).unwrap();
    let output = Command::new(python())
        .arg(script)
        .arg(&path)
        .arg(LIST)
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&output.stdout);
    let failed = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{told}{failed}");
    assert!(told.starts_with("88 words agree"), "{told}");
}
