//! What a file says of the music below the voice, and what that comes to: the noun that sessions, the
//! configuration and whoever plays share.

use super::diagnostic::Code;
use super::diagnostic::Item;
use super::diagnostic::Located;
use super::diagnostic::Table;
use super::diagnostic::short;
use super::units::Db;
use std::path::Path;
use std::path::PathBuf;

/// The key of all files that speak of music.
pub const KEY: &str = "music";
/// The folder where none is written.
const FOLDER: &str = "music";
/// Softer than this nothing is heard of it below a class.
const SOFTEST: i16 = -400;

/// A level against that of speech, in tenths of a loudness unit; never above it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Lu(i16);

impl Lu {
    /// The level where none is written. Beside it speech stands out by 10 LU and more (Torcoli et al. 2019).
    pub const USUAL: Lu = Lu(-120);

    /// Returns the ratio to speech.
    pub fn db(self) -> Db {
        Db::new(f32::from(self.0) / 10.0)
    }
}

/// Shows a level as the files write it.
impl std::fmt::Display for Lu {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (whole, tenth) = (self.0 / 10, self.0 % 10);
        let sign = if self.0 < 0 { "-" } else { "" };
        write!(f, "{sign}{}", whole.abs())?;
        if tenth != 0 {
            write!(f, ".{}", tenth.abs())?;
        }
        write!(f, " LU")
    }
}

/// In which order the tracks of a folder are heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TrackOrder {
    /// Another order each day, each track once before any comes again.
    #[default]
    Shuffled,
    /// By their names.
    Named,
}

/// What music does while a class is paused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum OnPause {
    /// It fades and goes on where it was when the class goes on.
    #[default]
    Wait,
    PlayOn,
}

const ORDERS: [(&str, TrackOrder); 2] = [
    ("shuffled", TrackOrder::Shuffled),
    ("named", TrackOrder::Named),
];
const PAUSES: [(&str, OnPause); 2] = [("wait", OnPause::Wait), ("play on", OnPause::PlayOn)];

/// What one file, or one block, says of music.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wish {
    /// No music.
    Off,
    /// Music, with what is said of it.
    On(Wishes),
}

/// What is said of music; what is not said is left to what stands around it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wishes {
    pub folder: Option<Located<String>>,
    pub order: Option<TrackOrder>,
    /// In works, and in rests if those say nothing.
    pub level: Option<Lu>,
    pub rest: Option<Lu>,
    pub pause: Option<OnPause>,
}

/// The music of a part of a class.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Music {
    /// A path: absolute, beginning with `~/`, or within the session folder.
    pub folder: String,
    pub order: TrackOrder,
    pub work: Lu,
    pub rest: Lu,
    pub pause: OnPause,
}

impl Music {
    /// Joins what is said of music, the outermost first; `None` for no music.
    pub fn of<'w>(said: impl IntoIterator<Item = Option<&'w Wish>>) -> Option<Music> {
        let mut on = false;
        let mut all = Wishes::default();
        for wish in said.into_iter().flatten() {
            on = *wish != Wish::Off;
            let Wish::On(wishes) = wish else { continue };
            let Wishes {
                folder,
                order,
                level,
                rest,
                pause,
            } = wishes.clone();
            // A level without one for rests is meant for both.
            all.rest = rest.or(if level.is_some() { None } else { all.rest });
            all.folder = folder.or(all.folder);
            all.order = order.or(all.order);
            all.level = level.or(all.level);
            all.pause = pause.or(all.pause);
        }
        let work = all.level.unwrap_or(Lu::USUAL);
        on.then(|| Music {
            folder: all.folder.map_or(FOLDER.to_owned(), |f| f.value),
            order: all.order.unwrap_or_default(),
            work,
            rest: all.rest.unwrap_or(work),
            pause: all.pause.unwrap_or_default(),
        })
    }
}

/// Returns where a folder of music is: `root` is the session folder, `home` the user's.
pub fn in_folder(folder: &str, root: &Path, home: Option<&Path>) -> PathBuf {
    match (folder.strip_prefix("~/"), home) {
        (Some(within), Some(home)) => home.join(within),
        _ => root.join(folder),
    }
}

/// What lies beside music in many a folder and is none, by its ending.
const BESIDE: [&str; 24] = [
    "accurip", "bmp", "cue", "db", "gif", "htm", "html", "ini", "jpeg", "jpg", "json", "log",
    "lrc", "m3u", "m3u8", "md", "md5", "nfo", "pdf", "pls", "png", "toml", "txt", "webp",
];

/// Returns whether a file of this name, or a folder, is looked into for music. Endings that are wrong or unknown
/// are no hindrance: what a file holds is seen when its turn comes.
pub fn may_be_music(name: &str) -> bool {
    let ending = name
        .rsplit_once('.')
        .map(|(_, ending)| ending.to_ascii_lowercase());
    !name.starts_with('.') && !ending.is_some_and(|ending| BESIDE.contains(&ending.as_str()))
}

/// Reads what a table says of music, if anything; its faults are told.
pub fn read(table: &mut Table) -> Option<Wish> {
    let item = table.get(KEY)?;
    match item.flag() {
        Some(true) => return Some(Wish::On(Wishes::default())),
        Some(false) => return Some(Wish::Off),
        None => {}
    }
    if !item.is_table() {
        item.wrong_type("a table such as { folder = \"music\" }, or false");
        return None;
    }
    let mut said = item.table("table of music")?;
    let wishes = Wishes {
        folder: said.get("folder").and_then(folder),
        order: said.word("order", &ORDERS).map(|o| o.value),
        level: said.get("level").and_then(level),
        rest: said.get("rest").and_then(level),
        pause: said.word("pause", &PAUSES).map(|p| p.value),
    };
    said.finish();
    Some(Wish::On(wishes))
}

fn folder(item: Item) -> Option<Located<String>> {
    let text = item.text()?;
    let fault = |code, message: &str, help| {
        item.fault(code, message.to_owned(), help);
        None
    };
    if text.value.trim().is_empty() {
        return fault(
            Code::TextEmpty,
            "expected the name of a folder, found nothing",
            "name the folder with the music, or leave the key out: it is \"music\" then",
        );
    }
    if text.value.chars().any(char::is_control) {
        return fault(
            Code::TextControl,
            "expected the name of a folder, found a control character in it",
            "take it out; a backslash is written as two",
        );
    }
    Some(text)
}

/// Reads a level against speech: `-12 LU`.
fn level(item: Item) -> Option<Lu> {
    if !item.is_text() {
        item.wrong_type("a level such as \"-12 LU\"");
        return None;
    }
    let text = item.text()?.value;
    let Some(tenths) = tenths(&text) else {
        let message = format!(
            "expected a level such as \"-12 LU\", found \"{}\"",
            short(&text)
        );
        item.fault(
            Code::LevelInvalid,
            message,
            "write by how many loudness units it is softer than speech: \"-12 LU\", \"-15.5 LU\"",
        );
        return None;
    };
    match i16::try_from(tenths).map(Lu) {
        Ok(level) if (SOFTEST..=0).contains(&level.0) => Some(level),
        _ => {
            let help = match tenths {
                1.. => "music is never louder than speech: is there a minus missing?",
                _ => "for no music at all write `music = false`",
            };
            let message = format!(
                "expected a level from {} to 0 LU, found {}",
                Lu(SOFTEST),
                short(&text)
            );
            item.fault(Code::LevelOutside, message, help);
            None
        }
    }
}

/// Parses a level into tenths; beyond any sense it is held at the end of the numbers.
fn tenths(text: &str) -> Option<i32> {
    let number = text.trim().strip_suffix("LU")?.trim_end();
    let (sign, digits) = match number.strip_prefix('-') {
        Some(digits) => (-1, digits),
        None => (1, number.strip_prefix('+').unwrap_or(number)),
    };
    let (whole, tenth) = digits.split_once('.').unwrap_or((digits, "0"));
    let only_digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    if !only_digits(whole) || !only_digits(tenth) || tenth.len() > 1 {
        return None;
    }
    let whole: i32 = whole
        .parse()
        .unwrap_or(i32::MAX / 10)
        .min(i32::MAX / 10 - 1);
    Some(sign * (whole * 10 + tenth.parse::<i32>().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_are_read_to_the_tenth_and_shown_as_they_are_written() {
        for (text, tenths_of) in [
            ("-12 LU", -120),
            ("-15.5LU", -155),
            (" -0.5 LU ", -5),
            ("3 LU", 30),
        ] {
            assert_eq!(tenths(text), Some(tenths_of), "{text}");
        }
        for text in [
            "-12",
            "-12 dB",
            "LU",
            "- 12 LU",
            "-12.25 LU",
            "--1 LU",
            "-1e3 LU",
            "-١٢ LU",
        ] {
            assert_eq!(tenths(text), None, "{text}");
        }
        assert!(tenths("-99999999999999 LU").unwrap() < -1000);
        assert_eq!(Lu(-120).to_string(), "-12 LU");
        assert_eq!(Lu(-5).to_string(), "-0.5 LU");
        assert_eq!(Lu(-155).db(), Db::new(-15.5));
    }

    fn on(level: Option<i16>, rest: Option<i16>) -> Wish {
        Wish::On(Wishes {
            level: level.map(Lu),
            rest: rest.map(Lu),
            ..Wishes::default()
        })
    }

    #[test]
    fn what_stands_further_in_counts_and_no_music_is_said_by_false() {
        assert_eq!(Music::of([None, None]), None);
        let usual = Music::of([Some(&on(None, None))]).unwrap();
        assert_eq!(
            (usual.folder.as_str(), usual.work, usual.rest),
            ("music", Lu(-120), Lu(-120))
        );
        let outer = on(Some(-100), Some(-200));
        assert_eq!(Music::of([Some(&outer), Some(&Wish::Off)]), None);
        let levels = |inner: &Wish| {
            let music = Music::of([Some(&outer), Some(inner)]).unwrap();
            (music.work, music.rest)
        };
        assert_eq!(levels(&on(None, None)), (Lu(-100), Lu(-200)));
        assert_eq!(levels(&on(None, Some(-150))), (Lu(-100), Lu(-150)));
        // A level alone is for works and rests.
        assert_eq!(levels(&on(Some(-140), None)), (Lu(-140), Lu(-140)));
        // Off outside, on within a block, with what was said before.
        let again = [Some(&outer), Some(&Wish::Off), Some(&on(None, None))];
        assert_eq!(Music::of(again).map(|m| m.work), Some(Lu(-100)));
    }
}
