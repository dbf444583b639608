//! Where a class is heard: the room's loudspeaker, and the coach's ear if it has one of its own.

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Table;
use crate::base::diagnostic::short;
use crate::base::units::Db;
use crate::base::units::Millis;

/// The ear is this far ahead where nothing is said of it: long enough to take a line in, short enough to
/// still feel the count (common practice of prompters: a breath and a half).
const AHEAD: Millis = Millis::from_ms(1500);
/// What is heard earlier than this belongs to something else already.
const FARTHEST: Millis = Millis::from_secs(3);
/// The bounds of a level, in dB: what is softer is not heard, what is louder is for the volume to say.
const SOFTEST_DB: f32 = -40.0;
const LOUDEST_DB: f32 = 6.0;

/// What hears a class, and how loud.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outputs {
    /// The id of the room's device; the default device where none is given.
    pub room: Option<String>,
    pub room_level: Db,
    pub ear: Option<EarOutput>,
}

/// What only the coach hears.
#[derive(Debug, Clone, PartialEq)]
pub struct EarOutput {
    pub at: EarAt,
    /// How far it is ahead of the room, at most.
    pub ahead: Millis,
    pub level: Db,
}

/// Where the ear is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EarAt {
    /// The left channel of the room's device; the room has the right one.
    Left,
    Right,
    /// A device of its own, by its id.
    Device(String),
}

impl EarAt {
    /// Reads `left` or `right`, in small letters or large, or the id of a device.
    pub fn parse(text: &str) -> Self {
        match text {
            left if left.eq_ignore_ascii_case("left") => EarAt::Left,
            right if right.eq_ignore_ascii_case("right") => EarAt::Right,
            device => EarAt::Device(device.to_owned()),
        }
    }
}

impl EarOutput {
    /// Makes an ear with what is usual.
    pub fn at(at: EarAt) -> Self {
        Self {
            at,
            ahead: AHEAD,
            level: Db::new(0.0),
        }
    }
}

impl Outputs {
    /// Takes what a command line says in place of what is written; an ear that was written down keeps its
    /// lead and level.
    pub fn told(mut self, room: Option<String>, ear: Option<&str>) -> Self {
        self.room = room.or(self.room);
        if let Some(at) = ear.map(EarAt::parse) {
            let written = self.ear.take().unwrap_or(EarOutput::at(at.clone()));
            self.ear = Some(EarOutput { at, ..written });
        }
        self
    }
}

/// Reads the table `out`.
pub(super) fn read(top: &mut Table) -> Outputs {
    let Some(mut table) = top
        .get("out")
        .and_then(|item| item.table("table of outputs"))
    else {
        return Outputs::default();
    };
    let room = table.get("room").and_then(|item| device(&item));
    let item = table.get("ear");
    let at = item.and_then(|item| Some((item, EarAt::parse(&device(&item)?))));
    if let Some((item, EarAt::Device(ear))) = &at
        && Some(ear) == room.as_ref()
    {
        item.fault(
            Code::ValueUnknown,
            format!(
                "expected another device than the room's for `ear`, found \"{}\"",
                short(ear)
            ),
            "write \"left\" or \"right\" for a channel of the room's device",
        );
    }
    let ahead = table.get("ahead").map(|item| {
        let read = item.lasts("how far the ear is ahead", FARTHEST, "1500ms");
        (item, read)
    });
    let room_level = table.get("room_level").and_then(|item| read_level(&item));
    let ear_level = table.get("ear_level");
    let of_ear = [ahead.map(|it| it.0), ear_level];
    if item.is_none()
        && let Some(first) = of_ear.into_iter().flatten().next()
    {
        first.fault(
            Code::KeyMissing,
            "expected the key `ear` beside what is written of it, found none".to_owned(),
            "add `ear = \"left\"`, \"right\" or the id of a device",
        );
    }
    let level = ear_level.and_then(|item| read_level(&item));
    table.finish();
    Outputs {
        room,
        room_level: room_level.unwrap_or_default(),
        ear: at.map(|(_, at)| EarOutput {
            ahead: ahead.and_then(|it| it.1).unwrap_or(AHEAD),
            level: level.unwrap_or_default(),
            at,
        }),
    }
}

fn device(item: &Item) -> Option<String> {
    let text = item.text()?.value;
    if text.trim().is_empty() {
        item.fault(
            Code::ValueUnknown,
            "expected the id of a device, found nothing in the quotes".to_owned(),
            "leave the line out for the system's own",
        );
        return None;
    }
    Some(text)
}

fn read_level(item: &Item) -> Option<Db> {
    let text = item.text()?.value;
    let number = text.trim().strip_suffix("dB").map(str::trim_end);
    let db = number.and_then(|number| number.parse::<f32>().ok());
    let db = db.filter(|db| (SOFTEST_DB..=LOUDEST_DB).contains(db));
    if db.is_none() {
        let message = format!(
            "expected a level from {SOFTEST_DB} dB to {LOUDEST_DB} dB, found \"{}\"",
            short(&text)
        );
        let help = match number {
            Some(_) => "write it as \"-6 dB\"",
            None => "write it with its unit, dB, as \"-6 dB\"",
        };
        item.fault(Code::NumberOutside, message, help);
    }
    db.map(Db::new)
}

#[cfg(test)]
mod tests {
    use super::super::read_text;
    use super::*;

    #[test]
    fn a_room_and_an_ear_are_read_with_their_levels() {
        let loaded = read_text(
            "config.toml",
            "out = { room = \"hall\", ear = \"bud\", ahead = \"800ms\", room_level = \"0 dB\", ear_level = \"-6 dB\" }\n",
        );
        assert_eq!(loaded.diagnostics, []);
        let out = loaded.config.out;
        assert_eq!(out.room.as_deref(), Some("hall"));
        let ear = EarOutput {
            at: EarAt::Device("bud".to_owned()),
            ahead: Millis::from_ms(800),
            level: Db::new(-6.0),
        };
        assert_eq!(
            (out.room_level, out.ear.as_ref()),
            (Db::new(0.0), Some(&ear))
        );
        let told = out.told(Some("boathouse".to_owned()), Some("left"));
        let ear = EarOutput {
            at: EarAt::Left,
            ..ear
        };
        assert_eq!(
            (told.room.as_deref(), told.ear),
            (Some("boathouse"), Some(ear))
        );
        let written = read_text("config.toml", "[out]\near = \"right\"\n")
            .config
            .out;
        assert_eq!(written.ear, Some(EarOutput::at(EarAt::Right)));
        assert_eq!(
            ["Left", "RIGHT", "bud"].map(EarAt::parse),
            [EarAt::Left, EarAt::Right, EarAt::Device("bud".to_owned())]
        );
        let none = read_text("config.toml", "").config.out;
        assert_eq!(none, Outputs::default());
    }

    #[test]
    fn each_fault_of_the_outputs_is_told_with_its_place_and_help() {
        for (text, begin, help) in [
            (
                "[out]\near = \"\"\n",
                "2:7 value-unknown",
                "leave the line out",
            ),
            ("[out]\nroom = 1\n", "2:8 type-wrong", "quotes"),
            (
                "[out]\near = \"a\"\nroom = \"a\"\n",
                "2:7 value-unknown",
                "\"left\" or \"right\"",
            ),
            (
                "[out]\near = \"left\"\nahead = \"5s\"\n",
                "3:9 duration-invalid",
                "1500ms",
            ),
            (
                "[out]\near = \"left\"\nahead = \"soon\"\n",
                "3:9 duration-invalid",
                "1500ms",
            ),
            (
                "[out]\near = \"left\"\near_level = \"loud\"\n",
                "3:13 number-outside",
                "its unit, dB",
            ),
            (
                "[out]\near = \"left\"\near_level = \"-6 LU\"\n",
                "3:13 number-outside",
                "its unit, dB",
            ),
            (
                "[out]\near = \"left\"\nahead = \"1.5s\"\n",
                "3:9 duration-invalid",
                "a whole number of ms or s",
            ),
            (
                "[out]\nroom_level = \"9 dB\"\n",
                "2:14 number-outside",
                "-6 dB",
            ),
            (
                "[out]\nroom_level = \"NaN dB\"\n",
                "2:14 number-outside",
                "-6 dB",
            ),
            ("[out]\nahead = \"1s\"\n", "2:9 key-missing", "ear ="),
            ("[out]\nahed = \"left\"\n", "2:1 key-unknown", "`ahead`"),
            ("out = \"left\"\n", "1:7 type-wrong", "table"),
        ] {
            let loaded = read_text("config.toml", text);
            let told: Vec<_> = loaded
                .diagnostics
                .iter()
                .map(|d| {
                    let at = loaded.sources.position(d.place);
                    format!("{}:{} {} {}", at.line, at.column, d.code.text(), d.help)
                })
                .collect();
            let right = told.len() == 1 && told[0].starts_with(begin) && told[0].contains(help);
            assert!(right, "{text}: {told:#?}");
            assert!(loaded.is_default_for_faults());
        }
    }
}
