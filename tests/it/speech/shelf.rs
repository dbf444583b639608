//! Voices that a file describes: in the data folder and in a session folder.

#![expect(clippy::disallowed_methods, reason = "writes files")]

use std::fmt::Write;
use std::fs;
use std::path::Path;

use sidevoice::base::diagnostic::Code;
use sidevoice::base::diagnostic::Sources;
use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use sidevoice::sound::speech::library;
use sidevoice::sound::speech::library::Shelf;

use crate::speech::all;
use crate::speech::lines::LINES;
use crate::speech::settings;
use crate::speech::speaker;
use crate::speech::utterances;
use crate::speech::voices;

/// The file of a second neural voice, with the files of the first one.
fn kestrel() -> String {
    let hibari = library::find("hibari").unwrap();
    let mut text = format!(
        "name = \"kestrel\"\nabout = \"a second voice\"\nengine = \"neural\"\nlanguage = \"en-US\"\n\
         licence = \"Apache-2.0\"\nfolder = {:?}\n",
        voices().join("hibari")
    );
    for file in hibari.files {
        let (name, bytes, sha256) = (file.name, file.bytes, file.sha256);
        write!(
            text,
            "[[files]]\nname = \"{name}\"\nbytes = {bytes}\nsha256 = \"{sha256}\"\n"
        )
        .unwrap();
    }
    text
}

fn put(folder: &Path, name: &str, text: &str) {
    fs::create_dir_all(folder).unwrap();
    fs::write(folder.join(name), text).unwrap();
}

#[test]
fn a_second_neural_voice_is_a_file_and_speaks_in_its_own_process() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("boathouse/voices");
    put(&own, "kestrel.toml", &kestrel());
    let (second, notices) = Speaker::open(Settings {
        voice: Some("kestrel".to_owned()),
        own: vec![own],
        ..settings(folder.path())
    });
    assert_eq!(notices, []);
    assert_eq!(second.name(), "kestrel");
    let takes = all(second.takes(&utterances(&LINES[..3])));
    assert_eq!(second.notices(), []);
    assert!(second.engine_process().is_some());
    let (first, _cache) = speaker();
    assert_eq!(all(first.takes(&utterances(&LINES[..3]))), takes);
}

#[test]
fn a_model_swapped_for_another_is_named_with_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("voices");
    // The sum of another file of the same length.
    let wrong = "0".repeat(64);
    let right = library::find("hibari").unwrap().files[0].sha256.clone();
    put(&own, "kestrel.toml", &kestrel().replace(&right, &wrong));
    let (speaker, notices) = Speaker::open(Settings {
        voice: Some("kestrel".to_owned()),
        own: vec![own],
        ..settings(folder.path())
    });
    assert_eq!(notices, []);
    assert_eq!(all(speaker.takes(&utterances(&LINES[..4]))).len(), 4);
    let notices = speaker.notices();
    assert_eq!(notices.len(), 1, "{notices:?}");
    let message = &notices[0].message;
    assert!(
        message.contains("hibari.onnx of the voice kestrel"),
        "{message}"
    );
    assert!(
        message.contains("put the right file in its place"),
        "{message}"
    );
    assert!(
        message.ends_with("The hibari voice speaks instead of kestrel"),
        "{message}"
    );
}

#[test]
fn every_fault_of_a_voice_is_told_with_its_place_and_no_name_is_taken_over() {
    let folder = tempfile::tempdir().unwrap();
    let text = "name = \"Big Voice\"\nabuot = \"x\"\nabout = \"\"\nengine = \"steam\"\n\
                language = \"English\"\n[package]\nname = \"x\"\nversion = \"1\"\nfile = \"../x.whl\"\n\
                sha256 = \"abc\"\n[[files]]\nname = \"vocab.json\"\nbytes = -1\nsha256 = 7\n";
    put(folder.path(), "a-faulty.toml", text);
    put(
        folder.path(),
        "b-few.toml",
        "name = \"few\"\nengine = \"neural\"\nabout = \"a\"\nlanguage = \"en\"\nlicence = \"l\"\n",
    );
    let taken = "name = \"compact\"\nengine = \"espeak\"\nspeaks = \"en\"\nabout = \"a\"\nlanguage = \"en\"\nlicence = \"l\"\n";
    put(folder.path(), "c-taken.toml", taken);
    put(
        folder.path(),
        "d-good.toml",
        &taken.replace("compact", "heron"),
    );
    put(
        folder.path(),
        "e-again.toml",
        &taken.replace("compact", "heron"),
    );
    put(folder.path(), "f-broken.toml", "name = \n");
    fs::write(folder.path().join("g-bytes.toml"), [0xff, 0xfe]).unwrap();
    put(
        folder.path(),
        "h-other.toml",
        &taken
            .replace("compact", "gull")
            .replace("\"espeak\"\nspeaks = \"en\"", "\"compact\""),
    );
    put(
        folder.path(),
        "i-speaks.toml",
        &taken
            .replace("compact", "owl")
            .replace("speaks = \"en\"\n", ""),
    );
    let said = "[pronounce]\n\"\" = \"bur pee\"\nerg = \"/ɝɡ/\"\nscull = \"skull\"\n";
    put(
        folder.path(),
        "j-sounds.toml",
        &format!("{}{said}", taken.replace("compact", "tern")),
    );
    // What is handed to the client of the index, or moved, must not reach elsewhere.
    let reaching = kestrel()
        .replace("folder = ", "folder = \"../sessions\" #")
        .replacen("[[files]]\n", "[[files]]\nfrom = \"/etc/motd\"\n", 1)
        .replacen(
            "[[files]]\nname",
            "[[files]]\nfrom = \"a/../../b\"\nname",
            1,
        )
        + "[package]\nname = \"--log=x\"\nversion = \"1 @ y\"\nfile = \"x.whl\"\nsha256 = \""
        + &"0".repeat(64)
        + "\"\n";
    put(folder.path(), "k-reaching.toml", &reaching);

    let mut sources = Sources::default();
    let folders = [folder.path().to_owned(), folder.path().to_owned()];
    let (shelf, told) = Shelf::read(&folders, &mut sources);
    let found: Vec<_> = told
        .iter()
        .map(|fault| {
            let at = sources.position(fault.place);
            let file = Path::new(sources.path(fault.place.source))
                .file_stem()
                .unwrap();
            let file = file.to_str().unwrap().split('-').next().unwrap().to_owned();
            (file, at.line, at.column, fault.code)
        })
        .collect();
    let expected = [
        ("a", 1, 1, Code::KeyMissing), // licence
        ("a", 1, 8, Code::IdInvalid),
        ("a", 2, 1, Code::KeyUnknown),
        ("a", 3, 9, Code::TextEmpty),
        ("a", 4, 10, Code::ValueUnknown),
        ("a", 5, 12, Code::ValueUnknown),
        ("a", 9, 8, Code::IdInvalid),
        ("a", 10, 10, Code::ValueUnknown),
        ("a", 13, 9, Code::NumberOutside),
        ("a", 14, 10, Code::TypeWrong),
        ("b", 1, 1, Code::KeyMissing),
        ("c", 1, 8, Code::VoiceTaken),
        ("e", 1, 8, Code::VoiceTaken),
        ("f", 1, 8, Code::Syntax),
        ("g", 1, 1, Code::NotUtf8),
        ("h", 1, 8, Code::ValueUnknown),
        ("i", 1, 1, Code::KeyMissing),
        ("j", 8, 1, Code::PronunciationInvalid), // no word
        ("j", 9, 7, Code::PronunciationInvalid), // sounds that espeak-ng is not given
        ("k", 6, 10, Code::IdInvalid),           // folder
        ("k", 8, 8, Code::IdInvalid),            // from
        ("k", 13, 8, Code::IdInvalid),           // from
        ("k", 34, 8, Code::IdInvalid),           // name
        ("k", 35, 11, Code::IdInvalid),          // version
    ];
    let expected = expected.map(|(file, line, column, code)| (file.to_owned(), line, column, code));
    assert_eq!(found, expected, "{told:#?}");
    let names: Vec<_> = shelf.voices()[8..]
        .iter()
        .map(|v| v.name.as_str())
        .collect();
    assert_eq!(names, ["heron"], "only the sound one is there");
}
