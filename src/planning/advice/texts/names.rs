//! Names: one a thing, and each of one thing.

use super::Role;
use super::Text;
use super::advise;
use super::lexicon::DETERMINERS;
use super::words::Word;
use super::words::words;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::short;
use crate::planning::session::Movement;
use crate::planning::session::Session;
use std::collections::HashMap;

/// Names of the trade for one movement or part of a name (common practice), the words run
/// together.
const SAME_MOVEMENT: [&[&str]; 15] = [
    &["pressup", "pushup"],
    &["onearm", "singlearm", "onearmed"],
    &["oneleg", "singleleg", "onelegged"],
    &["starjump", "jumpingjack"],
    &["overheadpress", "shoulderpress", "militarypress"],
    &["bicepscurl", "bicepcurl"],
    &["farmerscarry", "farmercarry", "farmerswalk", "farmerwalk"],
    &["childspose", "childpose"],
    &["hipbridge", "glutebridge"],
    &["catandcamel", "catandcow", "catcow", "catcamel"],
    &["mountainclimber", "mountainclimb"],
    &["benchdip", "chairdip"],
    &["situp", "curlup"],
    &["stepup", "boxstep"],
    &["wallsit", "wallsquat"],
];

/// Names for one item.
const SAME_ITEM: [&[&str]; 9] = [
    &["dumbbell", "dumbell", "handweight", "weights", "freeweight"],
    &["kettlebell", "kettleweight"],
    &["mat", "rug", "carpet"],
    &["step", "platform", "box", "stair"],
    &["box", "platform"],
    &["chair", "stool"],
    &["band", "elastic", "tube"],
    &["medicineball", "medball"],
    &["bench", "form", "plinth"],
];

/// What may have the name of a movement in its own.
const THINGS: [&str; 6] = ["bar", "bench", "box", "handle", "machine", "rack"];

/// The most words of a name that are compared with a text.
const LONGEST: usize = 4;

/// Runs words together, without spaces, hyphens and apostrophes, in the singular.
fn run_together(words: &[Word]) -> String {
    let letters = words.iter().flat_map(|word| word.low.chars());
    let all: String = letters.filter(|c| c.is_alphanumeric()).collect();
    single(&all).to_owned()
}

fn single(all: &str) -> &str {
    match all.strip_suffix('s') {
        Some(one) if !all.ends_with("ss") && all != "weights" => one,
        _ => all,
    }
}

fn group_of(
    name: &str,
    groups: &'static [&'static [&'static str]],
) -> Option<&'static [&'static str]> {
    let one = single(name);
    let holds = |group: &&&[&str]| group.iter().any(|known| single(known) == one);
    groups.iter().find(holds).copied()
}

/// How a run of words is written, in the singular.
fn spelt(words: &[Word]) -> String {
    let low: Vec<_> = words
        .iter()
        .map(|word| word.low.replace('\'', ""))
        .collect();
    single(&low.join(" ")).to_owned()
}

/// All runs of words in a text that stand within a clause and could be a name.
fn runs(text: &[Word]) -> impl Iterator<Item = (usize, &[Word])> {
    (0..text.len()).flat_map(move |from| {
        (1..=LONGEST)
            .map_while(move |length| text.get(from..from + length))
            .take_while(|run| !run[..run.len() - 1].iter().any(Word::ends_a_clause))
            .map(move |run| (from, run))
    })
}

/// The parts of a name that have spellings or other names of their own: the whole, and what is
/// in the table.
fn parts(name: &[Word]) -> Vec<(String, String)> {
    let whole = (name.len() <= LONGEST).then_some(name);
    let known = runs(name)
        .map(|(_, run)| run)
        .filter(|run| group_of(&run_together(run), &SAME_MOVEMENT).is_some());
    let mut found: Vec<_> = whole
        .into_iter()
        .chain(known)
        .map(|run| (run_together(run), spelt(run)))
        .collect();
    found.dedup();
    found
}

/// Returns whether a word names a thing because of the word before it.
fn is_noun(words: &[Word], at: usize) -> bool {
    at.checked_sub(1)
        .and_then(|before| words.get(before))
        .is_some_and(|word| !word.ends_a_clause() && word.is_one_of(&DETERMINERS))
}

/// Returns whether words run together are a name in the singular, or that and an "s".
fn is(run: &[Word], name: &str) -> bool {
    let mut letters = run
        .iter()
        .flat_map(|word| word.low.chars())
        .filter(|c| c.is_alphanumeric());
    let mut wanted = name.chars();
    loop {
        match (wanted.next(), letters.next()) {
            (None, None) => return true,
            (None, Some('s')) => return letters.next().is_none(),
            (wanted, letter) if wanted != letter => return false,
            _ => {}
        }
    }
}

/// A name is said in full in every rest: beyond so many words there is no time for anything else.
const MOST_NAME_WORDS: usize = 5;

pub(super) fn too_long(movement: &Movement, _: &[Text]) -> Vec<Diagnostic> {
    let many = movement.name.split_whitespace().count();
    if many <= MOST_NAME_WORDS {
        return Vec::new();
    }
    let message = format!("expected a name of at most {MOST_NAME_WORDS} words, found {many}");
    let help = "shorten it: it is said in full before every work, and names stay short and the same \
                (common practice)";
    vec![advise(Code::NameLong, movement.name_place, message, help)]
}

pub(super) fn own_name_varies(movement: &Movement, texts: &[Text]) -> Vec<Diagnostic> {
    let parts = parts(&words(&movement.name));
    let also = |part: &str| group_of(part, &SAME_MOVEMENT).unwrap_or(&[]);
    let wanted: Vec<&str> = parts
        .iter()
        .flat_map(|(part, _)| {
            also(part)
                .iter()
                .copied()
                .map(single)
                .chain([part.as_str()])
        })
        .collect();
    let other = |text: &Text| {
        runs(&text.words).find_map(|(at, run)| {
            if !wanted.iter().any(|name| is(run, name)) {
                return None;
            }
            let written = spelt(run);
            // What is written as a part of the name is the name.
            if parts.iter().any(|(_, whole)| whole.contains(&written)) {
                return None;
            }
            // "Press up" may be what the arms do; after "the" it is a name.
            let verb = run.len() > 1 && written.ends_with("up") && !is_noun(&text.words, at);
            // "Standing on one leg" is no name, and a "pull-up bar" is another thing.
            let count = run.len() == 2 && run[0].low == "one";
            let next = text.words.get(at + run.len());
            let thing = next.is_some_and(|next| next.is_one_of(&THINGS));
            (!verb && !count && !thing).then_some(written)
        })
    };
    let told = |text: &Text| {
        let found = other(text)?;
        Some(advise(
            Code::NameVaries,
            text.place,
            format!(
                "expected \"{}\", found \"{}\" for it",
                short(&movement.name),
                short(&found)
            ),
            format!(
                "write \"{}\" here too: a name is always the same (common practice)",
                short(&movement.name)
            ),
        ))
    };
    let spoken = texts.iter().filter(|text| text.role != Role::Name);
    spoken.filter_map(told).collect()
}

pub(super) fn own_items_vary(movement: &Movement, texts: &[Text]) -> Vec<Diagnostic> {
    let items: Vec<String> = movement
        .equipment
        .iter()
        .map(|item| run_together(&words(&item.item)))
        .collect();
    let mut found = Vec::new();
    for text in texts.iter().filter(|text| text.role != Role::Name) {
        let told = movement
            .equipment
            .iter()
            .zip(&items)
            .find_map(|(item, own)| {
                let other = other_name(&text.words, own, &words(&item.item), &items)?;
                Some(advise(
                    Code::ItemVaries,
                    text.place,
                    format!(
                        "expected \"{}\", found \"{}\" for it",
                        short(&item.item),
                        short(&other)
                    ),
                    format!(
                        "write \"{}\" in both places: a thing has one name (common practice)",
                        short(&item.item)
                    ),
                ))
            });
        found.extend(told);
    }
    found
}

/// Returns another name by which a text calls an item.
fn other_name(text: &[Word], own: &str, item: &[Word], items: &[String]) -> Option<String> {
    // Before these, "weights" is a load and not a thing.
    const LOADS: [&str; 9] = [
        "no", "without", "lighter", "heavier", "less", "more", "smaller", "any", "light",
    ];
    let group = group_of(own, &SAME_ITEM).unwrap_or(&[]);
    runs(text).find_map(|(at, run)| {
        let known = group.iter().any(|known| is(run, single(known)));
        if !known && !is(run, own) {
            return None;
        }
        let together = run_together(run);
        let respelt = together == own && spelt(run) != spelt(item);
        let before = at.checked_sub(1).and_then(|before| text.get(before));
        let before = before.map_or("", |word| word.low.as_str());
        let load = LOADS.contains(&before);
        // "Step", "box", "form" and "bar" are verbs or other things where no article stands.
        let thing = !["step", "box", "form", "bar", "tube", "stair"].contains(&together.as_str())
            || is_noun(text, at);
        let other = known && together != own && !items.contains(&together);
        ((other && thing && !load) || respelt).then(|| spelt(run))
    })
}

/// Returns where a movement is used first.
pub(super) fn first_use(session: &Session, movement: &Movement) -> Place {
    let mut uses = session.text.blocks.iter().flat_map(|block| &block.uses);
    uses.find(|of| of.movement.value == movement.id)
        .map_or(session.text.place, |of| of.movement.place)
}

/// The name as it is known whatever its spelling, and whichever of its names was taken.
pub(super) fn sense(name: &str) -> String {
    let name = words(name);
    let mut sense = String::new();
    let mut at = 0;
    while at < name.len() {
        let lengths = (1..=LONGEST.min(name.len() - at)).rev();
        let known = lengths
            .filter_map(|length| {
                let together = run_together(&name[at..at + length]);
                group_of(&together, &SAME_MOVEMENT).map(|group| (length, group[0]))
            })
            .next();
        let (length, word) = match known {
            Some((length, word)) => (length, word.to_owned()),
            None => (1, run_together(&name[at..=at])),
        };
        sense += &word;
        at += length;
    }
    single(&sense).to_owned()
}

pub(super) fn same_name(session: &Session) -> Vec<Diagnostic> {
    let mut seen: HashMap<String, &str> = HashMap::new();
    let mut found = Vec::new();
    for movement in &session.movements {
        let sense = sense(&movement.name);
        if let Some(first) = seen.get(&sense) {
            found.push(advise(
                Code::NameTwice,
                first_use(session, movement),
                format!(
                    "expected a name of its own, found \"{}\" beside \"{}\"",
                    short(&movement.name),
                    short(first)
                ),
                format!(
                    "change `name` in movements/{}.toml: by ear the name is all that tells them \
                     apart (common practice)",
                    movement.id
                ),
            ));
        } else {
            seen.insert(sense, &movement.name);
        }
    }
    found
}

pub(super) fn items_vary(session: &Session) -> Vec<Diagnostic> {
    let mut seen: Vec<(String, &str)> = Vec::new();
    let mut found = Vec::new();
    let listed = session.text.ready.iter();
    let listed = listed.map(|ready| (ready.item.as_str(), Err(ready.item_at)));
    let taken = session.movements.iter().flat_map(|movement| {
        let items = movement.equipment.iter();
        items.map(move |item| (item.item.as_str(), Ok(movement)))
    });
    for (item, from) in listed.chain(taken) {
        if seen.iter().any(|(_, written)| *written == item) {
            continue;
        }
        let own = run_together(&words(item));
        let names = |known: &str| {
            group_of(&own, &SAME_ITEM)
                .is_some_and(|group| group.iter().any(|name| single(name) == known))
        };
        let other = seen.iter().find(|(known, written)| {
            (*known == own || names(known)) && !both_listed(session, written, item)
        });
        if let Some((_, written)) = other {
            found.push(advise(
                Code::ItemVaries,
                from.map_or_else(|place| place, |movement| first_use(session, movement)),
                format!(
                    "expected \"{}\", found \"{}\" for it",
                    short(written),
                    short(item)
                ),
                "write the same `item` in `ready` and in all movements: a thing has one name \
                 (common practice)",
            ));
        }
        seen.push((own, item));
    }
    found
}

/// Where a session lists both, or a movement takes both, they are two things.
fn both_listed(session: &Session, one: &str, other: &str) -> bool {
    let both = |items: Vec<&str>| items.contains(&one) && items.contains(&other);
    let spelling = run_together(&words(one)) == run_together(&words(other));
    let ready = session.text.ready.iter().map(|r| r.item.as_str());
    let mut movements = session.movements.iter();
    !spelling
        && (both(ready.collect())
            || movements.any(|m| both(m.equipment.iter().map(|e| e.item.as_str()).collect())))
}
