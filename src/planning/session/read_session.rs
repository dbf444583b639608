//! Reads a session file.

use super::Block;
use super::FirstSide;
use super::Part;
use super::Ready;
use super::SessionText;
use super::Side;
use super::SideChoice;
use super::Talk;
use super::TextPlaces;
use super::Use;
use super::dates;
use super::duration;
use super::read_movement::cues;
use super::read_times;
use super::text::all;
use super::text::sideless;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Located;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::SourceId;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::Table;
use crate::base::diagnostic::parse_toml;
use crate::base::diagnostic::short;
use crate::base::music;
use crate::base::tones::Tones;
use crate::base::units::Millis;
use crate::base::utterance::Clarity;
use crate::base::wording::Language;

const TALKS: [(&str, Talk); 3] = [
    ("quiet", Talk::Quiet),
    ("normal", Talk::Normal),
    ("full", Talk::Full),
];

const PARTS: [(&str, Part); 3] = [
    ("warm-up", Part::WarmUp),
    ("main", Part::Main),
    ("cool-down", Part::CoolDown),
];

const FIRST_SIDES: [(&str, FirstSide); 3] = [
    ("right", FirstSide::Right),
    ("left", FirstSide::Left),
    ("by round", FirstSide::ByRound),
];

const SIDE_CHOICES: [(&str, SideChoice); 4] = [
    ("each", SideChoice::Each),
    ("right", SideChoice::Only(Side::Right)),
    ("left", SideChoice::Only(Side::Left)),
    ("halves", SideChoice::Halves),
];

const KEY: [(&str, ()); 1] = [("key", ())];

/// Limits beyond any class that is led, so that a slip of the finger is told from a plan.
const MOST_ROUNDS: i64 = 1000;
const MOST_BLOCKS: usize = 100;
const MOST_MOVEMENTS: usize = 200;

/// Reads the text of a session; returns it if nothing in it is at fault, with all faults and
/// warnings.
pub fn read_session(sources: &Sources, source: SourceId) -> (Option<SessionText>, Vec<Diagnostic>) {
    let (session, faults) = parse_toml(sources, source, |top| session(source, top));
    let sound = !crate::base::diagnostic::any_error(&faults);
    (session.filter(|_| sound), faults)
}

fn session(source: SourceId, top: &mut Table) -> Option<SessionText> {
    let title = top.need("title", "\"Boathouse five\"");
    let title_place = title.map(|item| item.place);
    let title = title.and_then(sideless);
    let (opening_place, opening) = placed(top.get("opening"));
    let (closing_place, closing) = placed(top.get("closing"));
    let (caution_place, caution) = placed(top.get("caution"));
    let effort = top.number("effort", 1..=10).map(|n| n.value as u8);
    let talk = top.word("talk", &TALKS).map_or(Talk::Normal, |t| t.value);
    let tones = top.word("tones", &Tones::WORDS).map(|t| t.value);
    let clarity = top.word("clarity", &Clarity::WORDS).map(|c| c.value);
    let by_ear = top.flag("by_ear", false);
    let lead_in = top.get("lead_in");
    let finish = top.get("finish");
    let voice = top.text("voice");
    let language = language(top);
    let music = music::read(top);
    let dates = dates::read(top);
    let begin_by_key = top.word("begin", &KEY).is_some();
    let ready = ready(top);
    let blocks = blocks(top);
    // All is read before anything is given up, so that all faults are told.
    let (lead_in_at, finish_at) = (lead_in.map(|i| i.place), finish.map(|i| i.place));
    let lead_in = read_length(lead_in, &duration::LEAD_IN);
    let finish = read_length(finish, &duration::FINISH);
    Some(SessionText {
        place: Place::start_of(source),
        title: title?,
        opening,
        closing,
        caution,
        text_places: TextPlaces {
            title: title_place?,
            opening: opening_place,
            closing: closing_place,
            caution: caution_place,
        },
        effort,
        talk,
        clarity,
        tones,
        by_ear,
        begin_by_key,
        lead_in: lead_in?,
        finish: finish?,
        lead_in_at,
        finish_at,
        voice,
        language,
        written_in: language,
        music,
        dates,
        ready,
        blocks: blocks?,
    })
}

/// Reads an optional text without sides; returns where it was written, too.
fn placed(item: Option<Item>) -> (Option<Place>, Option<String>) {
    (item.map(|item| item.place), item.and_then(sideless))
}

/// Reads an optional length: `None` only where one was written and is at fault.
fn read_length(
    item: Option<Item>,
    limits: &std::ops::RangeInclusive<Millis>,
) -> Option<Option<Millis>> {
    match item {
        None => Some(None),
        Some(item) => duration::read(item, limits).map(|length| Some(length.value)),
    }
}

/// Reads in which language texts are: English, where a file does not say.
pub fn language(top: &mut Table) -> Language {
    let Some((item, tag)) = top
        .get("language")
        .and_then(|item| Some((item, item.text()?.value)))
    else {
        return Language::default();
    };
    Language::of(&tag).unwrap_or_else(|| {
        let all = Language::ALL.map(|l| format!("\"{}\" {}", l.tag(), l.name()));
        let base = tag.split(['-', '_']).next().unwrap_or_default();
        let help = match Language::of(&base.to_ascii_lowercase()) {
            Some(near) => format!(
                "write \"{}\": a country is no part of it, a voice is chosen by `voice`",
                near.tag()
            ),
            None => format!("write one of {}", all.join(", ")),
        };
        item.fault(
            Code::LanguageUnknown,
            format!(
                "expected a language that the program speaks, found \"{}\"",
                short(&tag)
            ),
            help,
        );
        Language::default()
    })
}

fn ready(top: &mut Table) -> Vec<Ready> {
    let mut all = Vec::new();
    for mut table in top.tables("ready", "thing to have ready") {
        let item = table.need("item", "\"dumbbell\"");
        let item_at = item.map_or(table.place, |item| item.place);
        let item = item.and_then(sideless);
        let (say_at, say) = placed(table.get("say"));
        let (place_at, place) = placed(table.get("place"));
        table.finish();
        all.extend(item.map(|item| Ready {
            item_at,
            say_at,
            place_at,
            item,
            say,
            place,
        }));
    }
    all
}

fn blocks(top: &mut Table) -> Option<Vec<Block>> {
    let Some(list) = top.get("block") else {
        let message = "expected at least one `[[block]]` in this file, found none";
        let fault = Diagnostic::error(Code::KeyMissing, top.place, message);
        top.fault(fault.help("write `[[block]]`, and under it `work` and `movements`"));
        return None;
    };
    let items = list.items();
    if !list.is_list() {
        return None;
    }
    if items.is_empty() || items.len() > MOST_BLOCKS {
        list.fault(
            if items.is_empty() {
                Code::ListEmpty
            } else {
                Code::ListTooLong
            },
            format!("expected 1 to {MOST_BLOCKS} blocks, found {}", items.len()),
            "write each block under its own `[[block]]`",
        );
        return None;
    }
    all(items.iter().map(|item| block(*item)).collect())
}

fn block(item: Item) -> Option<Block> {
    let mut table = item.table("block")?;
    let (title_place, title) = placed(table.get("title"));
    let part = table.word("part", &PARTS).map_or(Part::Main, |p| p.value);
    let rounds = rounds(&mut table);
    let work = read_times::lasts(&mut table, Some(rounds));
    if let Some(None) = work {
        table.need("work", "\"20s\"");
    }
    let rests = read_times::rests(&mut table, rounds);
    let stations = table.flag("stations", false);
    let last_rest = table.flag("last_rest", false);
    let count_out = table.flag("count_out", true);
    let music = music::read(&mut table);
    let uses = uses(&mut table);
    let place = table.place;
    table.finish();
    let rests = rests?;
    Some(Block {
        place,
        title,
        title_place,
        part,
        rounds: rounds?,
        work: work??,
        rest: rests.rest,
        between_rounds: rests.between_rounds,
        every: rests.every,
        stations,
        last_rest,
        count_out,
        music,
        uses: uses?,
    })
}

/// Reads how often a block is done: once, where it does not say.
fn rounds(table: &mut Table) -> Option<usize> {
    let written = table.has("rounds");
    let rounds = table.number("rounds", 1..=MOST_ROUNDS);
    match written {
        true => rounds.map(|n| n.value as usize),
        false => Some(1),
    }
}

fn uses(table: &mut Table) -> Option<Vec<Use>> {
    let list = table.need("movements", "[\"bench-squat\", \"press-up\"]")?;
    let items = list.items();
    if !list.is_list() {
        return None;
    }
    if items.is_empty() || items.len() > MOST_MOVEMENTS {
        list.fault(
            if items.is_empty() {
                Code::ListEmpty
            } else {
                Code::ListTooLong
            },
            format!(
                "expected 1 to {MOST_MOVEMENTS} movements, found {}",
                items.len()
            ),
            "list the ids of movements: the names of their files without the ending",
        );
        return None;
    }
    all(items.iter().map(|item| movement_use(*item)).collect())
}

pub(super) fn movement_use(item: Item) -> Option<Use> {
    if item.is_text() {
        return item.text().map(Use::bare);
    }
    let mut table = item.table("use of a movement")?;
    let movement = table.need("use", "\"bench-squat\"").and_then(|i| i.text());
    let side = table.word("side", &SIDE_CHOICES);
    let first_side = table.word("first_side", &FIRST_SIDES);
    let work = read_times::lasts(&mut table, None);
    let rest = table.get("rest");
    let load = table.get("load");
    let talk = table.word("talk", &TALKS).map(|talk| talk.value);
    let (note_place, note) = placed(table.get("note"));
    // Whether the movement is one-sided is known later; its own reader guards its own texts.
    let cues = cues(&mut table, "cues", true);
    table.finish();
    let rest = match rest {
        None => Some(None),
        Some(item) => duration::read_rest(item).map(Some),
    };
    let load = match load {
        None => Some(None),
        Some(item) => sideless(item).map(|load| Some(Located::new(load, item.place))),
    };
    Some(Use {
        place: item.place,
        movement: movement?,
        side,
        first_side,
        work: work?,
        rest: rest?,
        load: load?,
        talk,
        note,
        note_place,
        cues,
    })
}
