//! The file of a voice -> [`VoiceInfo`], with every fault of it told in one pass.

use std::path::Component;
use std::path::Path;
use std::path::PathBuf;

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Located;
use crate::base::diagnostic::SourceId;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::Table;
use crate::base::diagnostic::any_error;
use crate::base::diagnostic::parse_toml;
use crate::base::diagnostic::short;
use crate::sound::speech::library::EngineKind;
use crate::sound::speech::library::Package;
use crate::sound::speech::library::VoiceFile;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::pronounce::Said;

/// What a file may ask of the engines: those of the first list are part of the program itself.
const ENGINES: [(&str, EngineKind); 4] = [
    ("neural", EngineKind::Neural),
    ("espeak", EngineKind::Espeak),
    ("compact", EngineKind::Compact),
    ("system", EngineKind::System),
];

/// No file of a model is larger.
const LARGEST: i64 = 1 << 32;
/// SHA-256 in hexadecimal digits.
const DIGITS: usize = 64;
/// The files that a neural voice loads besides its model, by these names.
const NEURAL_FILES: [&str; 3] = ["vocab.json", "oov.onnx", "oov.json"];

/// Reads one voice, with the place of its name; `None` where there are errors.
pub fn read_voice(
    sources: &Sources,
    source: SourceId,
) -> (Option<Located<VoiceInfo>>, Vec<Diagnostic>) {
    let (voice, faults) = parse_toml(sources, source, voice);
    let voice = voice.filter(|_| !any_error(&faults));
    (voice, faults)
}

fn voice(top: &mut Table) -> Option<Located<VoiceInfo>> {
    let name = top.need("name", "\"kestrel\"").and_then(|item| item.text());
    if let Some(name) = name.as_ref().filter(|name| !is_name(&name.value)) {
        let message = format!(
            "expected a name of small letters, digits and hyphens, found \"{}\"",
            short(&name.value)
        );
        let help = "write a name such as \"kestrel\": it names a folder too";
        top.fault(Diagnostic::error(Code::IdInvalid, name.place, message).help(help));
    }
    let about = needed(top, "about", "\"a calm female voice, British English\"");
    let engine = top
        .need("engine", "\"neural\"")
        .and_then(|item| item.word(&ENGINES));
    let language = language(top);
    let licence = needed(top, "licence", "\"CC-BY-4.0\"");
    let filled = top.has("package");
    let package = top.get("package").and_then(|item| item.table("package"));
    let package = package.and_then(package_of);
    let place = top.place;
    let files: Vec<_> = top
        .tables("files", "file")
        .into_iter()
        .filter_map(file_of)
        .collect();
    let kind = engine.as_ref().map(|engine| engine.value);
    let pronounce = top.get("pronounce").map(|item| pronounce(item, kind));
    let folder = folder(top, filled);
    let speaks = top.text("speaks");
    match kind {
        Some(EngineKind::Espeak) if speaks.is_none() => {
            top.need("speaks", "\"en-us\"");
        }
        Some(EngineKind::Neural) => {
            let missing = |name: &&&str| !files.iter().any(|file| file.name == **name);
            let model = files.iter().any(VoiceFile::is_model);
            let lacks: Vec<&str> = NEURAL_FILES.iter().filter(missing).copied().collect();
            let lacks = match model {
                true => lacks,
                false => [&["a model that ends in .onnx"], &lacks[..]].concat(),
            };
            if !lacks.is_empty() {
                let message = format!(
                    "expected the files of a neural voice, found none for: {}",
                    lacks.join(", ")
                );
                let help = "give each its own `[[files]]` with name, from, bytes and sha256";
                top.fault(Diagnostic::error(Code::KeyMissing, place, message).help(help));
            }
        }
        _ => {}
    }
    let name = name?;
    let place = name.place;
    let info = VoiceInfo {
        name: name.value,
        about: about?,
        engine: engine?.value,
        language: language?,
        licence: licence?,
        pronounce: pronounce.unwrap_or_default(),
        package,
        files,
        folder,
        speaks: speaks.map(|speaks| speaks.value),
        source: None,
    };
    Some(Located::new(info, place))
}

fn language(top: &mut Table) -> Option<String> {
    let language = top.need("language", "\"en-GB\"")?.text()?;
    if is_tag(&language.value) {
        return Some(language.value);
    }
    let message = format!(
        "expected a language tag, found \"{}\"",
        short(&language.value)
    );
    let help = "write a tag of BCP 47 such as \"en\", \"de\" or \"pt-BR\"";
    top.fault(Diagnostic::error(Code::ValueUnknown, language.place, message).help(help));
    None
}

/// The words of `[pronounce]`, each with how it is said.
fn pronounce(item: Item, engine: Option<EngineKind>) -> Vec<(String, Said)> {
    let entries = item.table("pronounce").map(Table::entries);
    let said = |(word, item): (Located<&str>, Item)| {
        if word.value.trim().is_empty() {
            let message = "expected a word to be said, found none".to_owned();
            let fault = Diagnostic::error(Code::PronunciationInvalid, word.place, message);
            item.push(fault.help("write the word as texts have it, in front of its sounds"));
            return None;
        }
        let text = item.text()?;
        match Said::read(&text.value) {
            Ok(Said::Sounds(_)) if engine == Some(EngineKind::Espeak) => {
                let message = format!(
                    "sounds for \"{}\" have no effect: espeak-ng is given plain text",
                    short(word.value)
                );
                let fault = Diagnostic::warning(Code::PronunciationInvalid, text.place, message);
                item.push(fault.help("write how it would be spelt: \"bur pee\""));
                None
            }
            Ok(said) => Some((word.value.to_owned(), said)),
            Err(message) => {
                let fault = Diagnostic::error(Code::PronunciationInvalid, text.place, message);
                item.push(fault.help("write \"bur pee\", or sounds in IPA: \"/ˈbɝpi/\""));
                None
            }
        }
    };
    entries.into_iter().flatten().filter_map(said).collect()
}

fn package_of(mut table: Table) -> Option<Package> {
    let name = of_index(&mut table, "name", "\"kestrel-voice\"", "._-");
    let version = of_index(&mut table, "version", "\"1.0\"", "._-+!");
    let file = file_name(&mut table, "file", "\"kestrel_voice-1.0-py3-none-any.whl\"");
    let sha256 = sha256(&mut table);
    table.finish();
    Some(Package {
        name: name?,
        version: version?,
        file: file?,
        sha256: sha256?,
    })
}

fn file_of(mut table: Table) -> Option<VoiceFile> {
    let name = file_name(&mut table, "name", "\"vocab.json\"");
    let from = inside(&mut table);
    let bytes = match table.number("bytes", 1..=LARGEST) {
        None if !table.has("bytes") => {
            table.need("bytes", "1144");
            None
        }
        bytes => bytes,
    };
    let sha256 = sha256(&mut table);
    table.finish();
    let name = name?;
    Some(VoiceFile {
        from: from.unwrap_or_else(|| name.clone()),
        name,
        bytes: u64::try_from(bytes?.value).ok()?,
        sha256: sha256?,
    })
}

/// The folder of a voice's files. One that is filled by `voices get` is a folder of the voice's own.
fn folder(top: &mut Table, filled: bool) -> Option<PathBuf> {
    let folder = top.text("folder")?;
    if !filled || is_plain(&folder.value) {
        return Some(folder.value.into());
    }
    let message = format!(
        "expected the name of a folder for this voice alone, found \"{}\"",
        short(&folder.value)
    );
    let help = "`voices get` fills it: write a name without `/`, beside this file";
    top.fault(Diagnostic::error(Code::IdInvalid, folder.place, message).help(help));
    None
}

/// A name or a version as the index of packages has them: it is handed to a program.
fn of_index(table: &mut Table, key: &'static str, example: &str, marks: &str) -> Option<String> {
    let text = table.need(key, example)?.text()?;
    let plain = |c: char| c.is_ascii_alphanumeric() || marks.contains(c);
    let begins = text.value.starts_with(|c: char| c.is_ascii_alphanumeric());
    if begins && text.value.chars().all(plain) {
        return Some(text.value);
    }
    let message = format!(
        "expected the {key} of a package, found \"{}\"",
        short(&text.value)
    );
    let help = format!("write it as the index has it, such as {example}");
    table.fault(Diagnostic::error(Code::IdInvalid, text.place, message).help(help));
    None
}

/// The place of a file in its package: a path that stays inside.
fn inside(table: &mut Table) -> Option<String> {
    let from = table.text("from")?;
    let mut parts = Path::new(&from.value).components();
    if !from.value.is_empty() && parts.all(|part| matches!(part, Component::Normal(_))) {
        return Some(from.value);
    }
    let message = format!(
        "expected a path inside the package, found \"{}\"",
        short(&from.value)
    );
    let help = "write it from the package's top on, such as \"kestrel/kestrel.onnx\"";
    table.fault(Diagnostic::error(Code::IdInvalid, from.place, message).help(help));
    None
}

/// A text that must be there and hold something.
fn needed(table: &mut Table, key: &'static str, example: &str) -> Option<String> {
    let text = table.need(key, example)?.text()?;
    if !text.value.trim().is_empty() {
        return Some(text.value);
    }
    let message = format!("expected some words for `{key}`, found none");
    let help = format!("write a text such as {example}");
    table.fault(Diagnostic::error(Code::TextEmpty, text.place, message).help(help));
    None
}

/// The name of a file, not a path: it is joined to a folder.
fn file_name(table: &mut Table, key: &'static str, example: &str) -> Option<String> {
    let name = table.need(key, example)?.text()?;
    if is_plain(&name.value) {
        return Some(name.value);
    }
    let message = format!(
        "expected the name of a file, found \"{}\"",
        short(&name.value)
    );
    let help = "write a name without folders, of letters, digits, dots and hyphens";
    table.fault(Diagnostic::error(Code::IdInvalid, name.place, message).help(help));
    None
}

fn sha256(table: &mut Table) -> Option<String> {
    let sum = table.need("sha256", "\"49f2abbb...\"")?.text()?;
    let digit = |c: char| c.is_ascii_digit() || ('a'..='f').contains(&c);
    if sum.value.len() == DIGITS && sum.value.chars().all(digit) {
        return Some(sum.value);
    }
    let message = format!(
        "expected {DIGITS} hexadecimal digits in small letters, found \"{}\"",
        short(&sum.value)
    );
    let help = "`sha256sum FILE` prints them";
    table.fault(Diagnostic::error(Code::ValueUnknown, sum.place, message).help(help));
    None
}

fn is_name(name: &str) -> bool {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    (1..=40).contains(&name.len()) && !name.starts_with('-') && name.chars().all(plain)
}

/// A name that stays in its folder.
fn is_plain(name: &str) -> bool {
    let plain = |c: char| c.is_ascii_alphanumeric() || "._-+".contains(c);
    !name.starts_with(['.', '-']) && !name.is_empty() && name.chars().all(plain)
}

fn is_tag(tag: &str) -> bool {
    let mut parts = tag.split('-');
    let first = parts.next().unwrap_or_default();
    let base = (2..=3).contains(&first.len()) && first.chars().all(|c| c.is_ascii_lowercase());
    let part = |p: &str| (1..=8).contains(&p.len()) && p.chars().all(|c| c.is_ascii_alphanumeric());
    base && parts.all(part)
}
