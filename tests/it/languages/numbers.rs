//! Number words of each language against num2words 0.5.14 (PyPI), by `tests/reference/number_words.py`,
//! which names where we differ on purpose.

use crate::common::python;
use crate::common::root;
use sidevoice::base::wording::Language as Spoken;
use sidevoice::base::wording::Wording;
use sidevoice::sound::speech::normalise;
use std::fmt::Write;
use std::io::Write as _;
use std::process::Command;
use std::process::Stdio;

/// Beyond a thousand: each scale, with one, with several, and with what follows them.
const LARGER: [u64; 26] = [
    1001,
    1021,
    1100,
    1101,
    1111,
    1234,
    1900,
    2000,
    2001,
    7777,
    10_000,
    21_000,
    31_121,
    80_000,
    99_999,
    100_000,
    101_101,
    200_000,
    999_999,
    1_000_000,
    1_000_001,
    2_000_000,
    21_000_000,
    80_000_000,
    1_000_000_000,
    2_000_000_000,
];

/// Beyond these nobody says an ordinal.
const ORDINALS: u64 = 99;

#[expect(clippy::disallowed_methods, reason = "asks an outside reference")]
fn differences(lines: &str) -> String {
    let mut script = Command::new(python())
        .arg(root().join("tests/reference/number_words.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = script.stdin.take().unwrap();
    let lines = lines.to_owned();
    let writer = std::thread::spawn(move || to.write_all(lines.as_bytes()));
    let said = script.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    assert!(said.status.success(), "number_words.py failed");
    String::from_utf8(said.stdout).unwrap()
}

#[test]
fn number_words_agree_with_num2words_in_each_language() {
    let mut lines = String::new();
    for spoken in Spoken::ALL {
        let (tag, language) = (spoken.tag(), normalise::language(spoken.tag()));
        for value in (0..=1000).chain(LARGER) {
            let words = (language.cardinal)(value);
            writeln!(lines, "{tag} cardinal {value} {words}").unwrap();
        }
        // The masculine, and in German "der", as the reference has it.
        let ending = match spoken {
            Spoken::English => "th",
            Spoken::German => "te",
            Spoken::French => "e",
            Spoken::Spanish | Spoken::Portuguese => "º",
        };
        for value in 1..=ORDINALS {
            let words = (language.ordinal)(value, ending);
            writeln!(lines, "{tag} ordinal {value} {words}").unwrap();
        }
    }
    assert_eq!(differences(&lines), "");
}

#[test]
fn the_wording_counts_as_the_normaliser_reads() {
    for spoken in Spoken::ALL.into_iter().filter(|l| *l != Spoken::English) {
        let language = normalise::language(spoken.tag());
        let wording = Wording::of(spoken);
        for value in 0..100u64 {
            let said = wording.number(value as i64);
            assert_eq!(said, (language.cardinal)(value), "{}", spoken.tag());
        }
    }
}
