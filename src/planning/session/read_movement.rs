//! Reads a movement file.

use super::Cue;
use super::CueKind;
use super::Demands;
use super::Equipment;
use super::Limb;
use super::Movement;
use super::Pattern;
use super::Phase;
use super::Posture;
use super::Said;
use super::Sides;
use super::Template;
use super::When;
use super::duration;
use super::read_session::language;
use super::text::Written;
use super::text::all;
use super::text::said_twice;
use super::text::sideless;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::SourceId;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::Table;
use crate::base::diagnostic::parse_toml;
use crate::base::wording::Gender;
use crate::base::wording::Noun;
use std::collections::BTreeMap;
use std::collections::HashSet;

const SIDES: [(&str, Sides); 3] = [
    ("both", Sides::Both),
    ("each", Sides::Each),
    ("alternate", Sides::Alternate),
];

const LIMBS: [(&str, Limb); 3] = [("arm", Limb::Arm), ("leg", Limb::Leg), ("side", Limb::Side)];

const POSTURES: [(&str, Posture); 3] = [
    ("standing", Posture::Standing),
    ("kneeling", Posture::Kneeling),
    ("floor", Posture::Floor),
];

pub(super) const KINDS: [(&str, CueKind); 5] = [
    ("safety", CueKind::Safety),
    ("form", CueKind::Form),
    ("breathing", CueKind::Breathing),
    ("easier", CueKind::Easier),
    ("harder", CueKind::Harder),
];

const WHENS: [(&str, When); 3] = [
    ("before", When::Before),
    ("during", When::During),
    ("either", When::Either),
];

const PHASES: [(&str, Phase); 2] = [("effort", Phase::Effort), ("lowering", Phase::Lowering)];

/// The most steps that say how a movement goes.
const MOST_STEPS: usize = 4;
/// The most cues and items of one movement: beyond any that a listener could be told.
const MOST_ENTRIES: usize = 100;

/// Reads the text of a movement; returns it if nothing in it is at fault, with all faults.
pub fn read_movement(
    id: &str,
    sources: &Sources,
    source: SourceId,
) -> (Option<Movement>, Vec<Diagnostic>) {
    let (movement, faults) = parse_toml(sources, source, |top| movement(id, source, top));
    (movement.filter(|_| faults.is_empty()), faults)
}

fn movement(id: &str, source: SourceId, top: &mut Table) -> Option<Movement> {
    let name = top.need("name", "\"one-arm row\"");
    let name_place = name.map(|item| item.place);
    let name = name.and_then(sideless);
    let pattern = top
        .need("pattern", "\"pull\"")
        .and_then(|item| item.word(&Pattern::WORDS));
    let language = language(top);
    let sides = top.word("sides", &SIDES);
    let sides = sides.map_or(Sides::Both, |s| s.value);
    let limb = top.word("limb", &LIMBS);
    if let Some(limb) = limb.as_ref().filter(|_| sides == Sides::Both) {
        let fault = Diagnostic::error(
            Code::SideWithoutSides,
            limb.place,
            "expected no `limb`: this movement works both sides at once",
        );
        top.fault(fault.help("add `sides = \"each\"` or `sides = \"alternate\"`, or take it out"));
    }
    let sided = sides == Sides::Each;
    let posture = top.word("posture", &POSTURES);
    let demands = demands(top);
    let equipment = equipment(top);
    let hold = top.get("hold");
    // Where the equipment is at fault, it is not known that there is nothing to hold.
    if let (Some(hold), Some(equipment)) = (hold, &equipment)
        && equipment.iter().all(|item| item.fixed)
    {
        hold.fault(
            Code::HoldWithoutItem,
            "expected something to hold beside `hold`, found nothing".to_owned(),
            "list it in `equipment`, or take the hold out",
        );
    }
    let hold = hold.and_then(|item| Template::read(item, sided));
    let mut own = |key| top.get(key).and_then(|item| Template::read(item, sided));
    let (take, take_brief) = (own("take"), own("take_brief"));
    let (tempo, begins) = tempo(top);
    let start = top.need("start", "\"Feet under your hips.\"");
    let brief = top
        .get("start_brief")
        .map(|item| Template::read(item, sided));
    let start = start.and_then(|item| {
        let full = Template::read(item, sided)?;
        Some(Said::same(item.place, full, brief.flatten()))
    });
    let how = how(top, sided);
    let cues = cues(top, "cue", sided);
    no_words_twice(top, &cues);
    Some(Movement {
        id: id.to_owned(),
        place: Place::start_of(source),
        language,
        untranslated: Vec::new(),
        translations: BTreeMap::new(),
        name: name?,
        name_place: name_place?,
        pattern: pattern?.value,
        sides,
        limb: limb.map(|l| l.value),
        posture: posture.map_or(Posture::Standing, |p| p.value),
        demands,
        equipment: equipment?,
        hold,
        take,
        take_brief,
        tempo,
        begins,
        start: start?,
        how: how?,
        cues,
    })
}

fn demands(top: &mut Table) -> Demands {
    const WORDS: [(&str, usize); 3] = [("impact", 0), ("overhead", 1), ("static", 2)];
    let mut found = [false; 3];
    for item in top.get("demands").map_or(Vec::new(), |list| list.items()) {
        if let Some(demand) = item.word(&WORDS) {
            found[demand.value] = true;
        }
    }
    let [impact, overhead, held_still] = found;
    Demands {
        impact,
        overhead,
        held_still,
    }
}

fn equipment(top: &mut Table) -> Option<Vec<Equipment>> {
    let Some(list) = top.get("equipment") else {
        return Some(Vec::new());
    };
    let items = list.items();
    if !list.is_list() || too_many(list, items.len(), "items") {
        return None;
    }
    let piece = |item: &Item| {
        let mut table = item.table("piece of equipment")?;
        let name = table.need("item", "\"dumbbell\"").and_then(sideless);
        let noun = noun(&mut table, name.as_deref());
        let count = table.number("count", 1..=20).map_or(1, |n| n.value);
        let load = table.get("load").and_then(sideless);
        let fixed = table.flag("fixed", false);
        table.finish();
        Some(Equipment {
            item: name?,
            noun: noun?,
            count: count as u8,
            load,
            fixed,
        })
    };
    all(items.iter().map(piece).collect())
}

/// Reads what a thing is called where it has another name than `item`, or a plural of its own.
pub(super) fn noun(table: &mut Table, item: Option<&str>) -> Option<Noun> {
    let name = table.get("name").and_then(sideless);
    let plural = table.get("plural").and_then(sideless);
    let gender = table.word("gender", &Gender::WORDS);
    Some(Noun {
        name: name.or_else(|| item.map(str::to_owned))?,
        plural,
        gender: gender.map_or(Gender::default(), |gender| gender.value),
    })
}

fn tempo(top: &mut Table) -> (Option<super::Tempo>, Option<Phase>) {
    let tempo = top.get("tempo");
    let begins = top.word("begins", &PHASES);
    if let Some(begins) = &begins
        && tempo.is_none()
    {
        let fault = Diagnostic::error(
            Code::TempoMissing,
            begins.place,
            "expected a `tempo` beside `begins`, found none",
        );
        top.fault(fault.help("add a line such as `tempo = \"2-0-1-0\"`, or take `begins` out"));
    }
    (
        tempo.and_then(duration::read_tempo),
        begins.map(|b| b.value),
    )
}

fn how(top: &mut Table, sided: bool) -> Option<Vec<Said>> {
    let list = top.need("how", "[\"Sit back.\", \"Stand up.\"]")?;
    steps(list, sided)
}

/// Reads the steps of how it goes.
pub(super) fn steps(list: Item, sided: bool) -> Option<Vec<Said>> {
    let items = list.items();
    if list.is_list() && items.is_empty() {
        list.fault(
            Code::ListEmpty,
            "expected one to four steps in `how`, found none".to_owned(),
            "by ear the steps are the movement: say them from the start position and back to it",
        );
        return None;
    }
    if items.len() > MOST_STEPS {
        list.fault(
            Code::ListTooLong,
            format!("expected one to four steps in `how`, found {}", items.len()),
            "join steps: nobody keeps more than four in mind",
        );
        return None;
    }
    let step = |item: &Item| {
        let said = Template::read(*item, sided)?;
        Some(Said::same(item.place, said, None))
    };
    all(items.iter().map(step).collect())
}

/// Reads a list of cues, of a movement or of a use.
pub(super) fn cues(top: &mut Table, key: &'static str, sided: bool) -> Vec<Cue> {
    let Some(list) = top.get(key) else {
        return Vec::new();
    };
    let items = list.items();
    if too_many(list, items.len(), "cues") {
        return Vec::new();
    }
    items.iter().filter_map(|item| cue(*item, sided)).collect()
}

fn cue(item: Item, sided: bool) -> Option<Cue> {
    let mut table = item.table("cue")?;
    let kind = table
        .need("kind", "\"safety\"")
        .and_then(|item| item.word(&KINDS));
    let when = table.word("when", &WHENS);
    let said = wordings(&mut table, item.place, sided);
    if let Some(None) = said {
        let fault = Diagnostic::error(
            Code::KeyMissing,
            table.place,
            "expected the key `say` in this cue, found none",
        );
        table.fault(fault.help("add a line such as `say = \"Knees follow your feet.\"`"));
    }
    table.finish();
    let kind = kind?.value;
    let usual = match kind {
        CueKind::Easier => When::Either,
        _ => When::During,
    };
    Some(Cue {
        kind,
        when: when.map_or(usual, |w| w.value),
        said: said??,
    })
}

/// Reads the words of a cue: none at all where none are written, else `None` where they are at
/// fault.
pub(super) fn wordings(table: &mut Table, place: Place, sided: bool) -> Option<Option<Said>> {
    let full = Written {
        both: table.get("say"),
        right: table.get("say_right"),
        left: table.get("say_left"),
    };
    let brief = Written {
        both: table.get("brief"),
        right: table.get("brief_right"),
        left: table.get("brief_left"),
    };
    let lines = [full.both, full.right, full.left];
    if lines.iter().all(Option::is_none) {
        return Some(None);
    }
    Said::read(place, &full, &brief, sided).map(Some)
}

fn too_many(list: Item, count: usize, what: &str) -> bool {
    if count > MOST_ENTRIES {
        list.fault(
            Code::ListTooLong,
            format!("expected at most {MOST_ENTRIES} {what}, found {count}"),
            "keep the ones that matter",
        );
    }
    count > MOST_ENTRIES
}

pub(super) fn no_words_twice(top: &Table, cues: &[Cue]) {
    let names = super::SideWords {
        right: "right".to_owned(),
        left: "left".to_owned(),
    };
    let mut heard = HashSet::new();
    for cue in cues {
        let words = cue.said.full(None, &names);
        if !heard.insert(words.to_lowercase()) {
            top.fault(said_twice(cue.said.place, &words));
        }
    }
}
