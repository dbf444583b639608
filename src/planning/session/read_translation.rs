//! Reads the texts of a movement in another language, and lays them over the movement.

use super::Cue;
use super::Equipment;
use super::Movement;
use super::Said;
use super::Sides;
use super::Template;
use super::read_movement::KINDS;
use super::read_movement::no_words_twice;
use super::read_movement::noun;
use super::read_movement::steps;
use super::read_movement::wordings;
use super::text::sideless;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::SourceId;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::Table;
use crate::base::diagnostic::parse_toml;
use crate::base::diagnostic::short;
use crate::base::wording::Language;
use crate::base::wording::Noun;
use std::sync::Arc;

impl Movement {
    /// Returns the movement as it is spoken in a language; `None` where the file with its texts is
    /// at fault. What was not translated is in the words of the movement's own file.
    pub fn in_language(self: &Arc<Self>, language: Language) -> Option<Arc<Movement>> {
        if self.language == language {
            return Some(Arc::clone(self));
        }
        match self.translations.get(&language) {
            Some(translated) => translated.clone(),
            None => Some(Arc::new(untranslated(self, language))),
        }
    }
}

/// Reads the texts of a movement in a language; returns the movement with them if nothing in them
/// is at fault, with all faults.
pub fn read_translation(
    of: &Movement,
    language: Language,
    sources: &Sources,
    source: SourceId,
) -> (Option<Movement>, Vec<Diagnostic>) {
    let (translated, faults) = parse_toml(sources, source, |top| {
        let mut movement = untranslated(of, language);
        movement.place = Place::start_of(source);
        movement.untranslated = lay_over(&mut movement, top);
        movement
    });
    (Some(translated).filter(|_| faults.is_empty()), faults)
}

/// Returns a movement of which no text is translated. Its sides are still said in its own language.
fn untranslated(of: &Movement, language: Language) -> Movement {
    let bound = |said: &Said| said.bound_to(of.language, of.limb);
    let template = |text: &Option<Template>| {
        let text = text.as_ref()?;
        Some(text.bound_to(of.language, of.limb))
    };
    let cue = |cue: &Cue| Cue {
        said: bound(&cue.said),
        ..cue.clone()
    };
    Movement {
        language,
        untranslated: all_texts(of),
        translations: std::collections::BTreeMap::new(),
        hold: template(&of.hold),
        take: template(&of.take),
        take_brief: template(&of.take_brief),
        start: bound(&of.start),
        how: of.how.iter().map(bound).collect(),
        cues: of.cues.iter().map(cue).collect(),
        ..of.clone()
    }
}

fn all_texts(of: &Movement) -> Vec<String> {
    let mut all = vec!["name".to_owned(), "start".to_owned(), "how".to_owned()];
    all.extend(of.hold.iter().map(|_| "hold".to_owned()));
    all.extend((1..=of.cues.len()).map(|nth| format!("cue {nth}")));
    all.extend(of.equipment.iter().map(piece));
    all
}

fn piece(item: &Equipment) -> String {
    format!("equipment {}", item.item)
}

/// Puts the texts of a file in the place of a movement's own; returns those that it lacks.
fn lay_over(movement: &mut Movement, top: &mut Table) -> Vec<String> {
    let sided = movement.sides == Sides::Each;
    let mut lacks = Vec::new();
    let mut lack = |what: &str| lacks.push(what.to_owned());
    match top.get("name") {
        Some(item) => {
            movement.name_place = item.place;
            movement.name = sideless(item).unwrap_or_default();
        }
        None => lack("name"),
    }
    let had_brief = movement.start.has_brief();
    let start = top.get("start");
    let brief = top.get("start_brief");
    match (start, brief) {
        (Some(start), brief) => {
            if had_brief && brief.is_none() {
                lack("start_brief");
            }
            let full = Template::read(start, sided);
            let brief = brief.and_then(|item| Template::read(item, sided));
            if let Some(full) = full {
                movement.start = Said::same(start.place, full, brief);
            }
        }
        (None, Some(brief)) => {
            lack("start");
            if let Some(text) = Template::read(brief, sided) {
                let brief = Said::same(brief.place, text.clone(), Some(text));
                movement.start = movement.start.clone().with_brief_of(&brief);
            }
        }
        (None, None) => lack("start"),
    }
    match top.get("how") {
        Some(list) => movement.how = steps(list, sided).unwrap_or_default(),
        None => lack("how"),
    }
    let mut hands = |key, had: bool| {
        let item = top.get(key);
        if item.is_none() && had {
            lack(key);
        }
        if let Some(item) = item.filter(|_| movement.hold.is_none()) {
            unmatched(
                item,
                format!("expected no `{key}`: the movement has no `hold`"),
                "take it out, or give the movement itself a `hold`",
            );
        }
        item.and_then(|item| Template::read(item, sided))
    };
    let hold = hands("hold", movement.hold.is_some());
    // Without own words for taking it up, the program has its own in this language.
    let take = hands("take", movement.take.is_some());
    let take_brief = hands("take_brief", movement.take_brief.is_some());
    movement.hold = hold.or_else(|| movement.hold.take());
    (movement.take, movement.take_brief) = (take, take_brief);
    lacks.extend(cues(movement, top, sided));
    lacks.extend(equipment(movement, top));
    lacks
}

fn cues(movement: &mut Movement, top: &mut Table, sided: bool) -> Vec<String> {
    let list = top.get("cue");
    let items = list.map_or(Vec::new(), |list| list.items());
    let mut lacks = Vec::new();
    for (at, cue) in movement.cues.iter_mut().enumerate() {
        let nth = at + 1;
        let Some(said) = items.get(at).and_then(|item| one_cue(*item, cue, sided)) else {
            lacks.push(format!("cue {nth}"));
            continue;
        };
        if cue.said.has_brief() && !said.has_brief() {
            lacks.push(format!("cue {nth} brief"));
        }
        cue.said = said;
    }
    for item in items.iter().skip(movement.cues.len()) {
        unmatched(
            *item,
            format!(
                "expected at most {} cues, as the movement has, found more",
                movement.cues.len()
            ),
            "cues are translated in their order; add it to the movement itself first",
        );
    }
    no_words_twice(top, &movement.cues);
    lacks
}

/// Reads the words of a cue; `None` where there are none.
fn one_cue(item: Item, of: &Cue, sided: bool) -> Option<Said> {
    let mut table = item.table("cue")?;
    if let Some(kind) = table.word("kind", &KINDS)
        && kind.value != of.kind
    {
        let found = KINDS.iter().find(|(_, other)| *other == of.kind);
        let expected = found.map_or("", |(word, _)| *word);
        let fault = Diagnostic::error(
            Code::TranslationUnmatched,
            kind.place,
            format!("expected a cue of the kind \"{expected}\", as the movement has it here"),
        );
        table.fault(fault.help("put the cues in the order of the movement's own file"));
    }
    let said = wordings(&mut table, item.place, sided);
    table.finish();
    said?
}

fn equipment(movement: &mut Movement, top: &mut Table) -> Vec<String> {
    let list = top.get("equipment");
    let mut lacks: Vec<String> = movement.equipment.iter().map(piece).collect();
    for item in list.map_or(Vec::new(), |list| list.items()) {
        let Some(mut table) = item.table("piece of equipment") else {
            continue;
        };
        let called = table.need("item", "\"dumbbell\"");
        let named: Option<Noun> = noun(&mut table, None);
        let load = table.get("load").and_then(sideless);
        if !table.has("name") {
            table.need("name", "\"Kurzhantel\"");
        }
        table.finish();
        let Some((called, id)) = called.and_then(|item| Some((item, item.text()?.value))) else {
            continue;
        };
        let Some(known) = movement.equipment.iter_mut().find(|e| e.item == id) else {
            unmatched(
                called,
                format!("expected an item of the movement, found \"{}\"", short(&id)),
                "write the item as the movement's own file does; its `name` is what is spoken",
            );
            continue;
        };
        lacks.retain(|other| *other != piece(known));
        known.noun = named.unwrap_or_else(|| known.noun.clone());
        known.load = load.or_else(|| known.load.take());
    }
    lacks
}

fn unmatched(item: Item, message: String, help: &str) {
    item.fault(Code::TranslationUnmatched, message, help.to_owned());
}
