//! Turns a record of the open data set into the text of a movement file: steps become texts, and what is
//! long or awkward in them stays as it is.

use serde::Deserialize;
use std::fmt::Write;

/// A record, as far as a movement file can say it.
#[derive(Debug, Deserialize)]
pub struct Record {
    pub id: String,
    pub name: String,
    pub force: Option<String>,
    pub mechanic: Option<String>,
    pub equipment: Option<String>,
    pub category: String,
    #[serde(rename = "primaryMuscles")]
    pub muscles: Vec<String>,
    pub instructions: Vec<String>,
}

/// What a record without steps says, so that it can be planned: who does it was shown it before.
const SHOWN_BEFORE: &str = "Take up the start position that you were shown.";
/// What follows a start position that is all a record says.
const BACK: &str = "Move slowly, and come back to where you began.";
/// The most steps that say how a movement goes; the others become cues.
const MOST_STEPS: usize = 4;

/// Returns the text of the movement file.
pub fn movement(record: &Record) -> String {
    let name = record.name.to_lowercase();
    let side = Side::of(&name);
    let mut text = format!("name = {}\n", quoted(&record.name));
    let mut key = |key: &str, value: &str| {
        // A write into a string cannot fail.
        let _ = writeln!(text, "{key} = {value}");
    };
    key("pattern", &quoted(pattern(record, &name)));
    if let Some((sides, limb)) = side.words() {
        key("sides", &quoted(sides));
        if let Some(limb) = limb {
            key("limb", &quoted(limb));
        }
    }
    key("posture", &quoted(posture(record)));
    key("demands", &format!("[{}]", demands(record, &name)));
    let items = equipment(record, &name, side);
    if !items.is_empty() {
        let held = items.iter().any(|item| !item.fixed);
        let all: Vec<_> = items.iter().map(Item::text).collect();
        key("equipment", &format!("[{}]", all.join(", ")));
        if held {
            let hold = match side {
                Side::Each(_) => "in your {side} hand",
                _ => "in your hands",
            };
            key("hold", &quoted(hold));
        }
    }
    let steps = steps(record);
    let (how, cues) = steps[1..].split_at(MOST_STEPS.min(steps.len() - 1));
    key("start", &quoted(&steps[0]));
    let how: Vec<_> = how.iter().map(|step| quoted(step)).collect();
    key("how", &format!("[{}]", how.join(", ")));
    for cue in cues {
        let _ = write!(text, "\n[[cue]]\nkind = \"form\"\nsay = {}\n", quoted(cue));
    }
    text
}

/// A text as TOML writes it; of the characters that JSON leaves as they are, TOML forbids one.
fn quoted(text: &str) -> String {
    let text = serde_json::to_string(text).expect("a text can always be written");
    text.replace('\u{7f}', "\\u007F")
}

/// The start position and what follows: at least two texts.
fn steps(record: &Record) -> Vec<String> {
    match record.instructions.as_slice() {
        [] => vec![SHOWN_BEFORE.to_owned(), BACK.to_owned()],
        [one] => {
            let ends: Vec<_> = one.split_inclusive(". ").map(str::to_owned).collect();
            match ends.len() {
                1 => vec![one.clone(), BACK.to_owned()],
                _ => ends,
            }
        }
        more => more.to_vec(),
    }
}

/// The side that a name speaks of.
#[derive(Clone, Copy)]
enum Side {
    None,
    Each(Option<&'static str>),
    Alternate,
}

impl Side {
    fn of(name: &str) -> Self {
        let name = name.replace('-', " ");
        let says = |words: &[&str]| words.iter().any(|word| name.contains(word));
        if says(&["alternat"]) {
            Side::Alternate
        } else if says(&["one arm", "single arm", "one handed"]) {
            Side::Each(Some("arm"))
        } else if says(&["one leg", "single leg", "one knee"]) {
            Side::Each(Some("leg"))
        } else if says(&["side bridge", "side jackknife", "your side", "side lying"]) {
            Side::Each(Some("side"))
        } else {
            Side::None
        }
    }

    fn words(self) -> Option<(&'static str, Option<&'static str>)> {
        match self {
            Side::None => None,
            Side::Each(limb) => Some(("each", limb)),
            Side::Alternate => Some(("alternate", None)),
        }
    }
}

fn pattern(record: &Record, name: &str) -> &'static str {
    let works = |muscle: &str| record.muscles.iter().any(|m| m == muscle);
    let whole_body = record.mechanic.as_deref() == Some("compound");
    match (record.category.as_str(), record.force.as_deref()) {
        ("stretching", _) => "mobility",
        ("plyometrics" | "cardio", _) => "locomotion",
        ("strongman", _) if name.contains("carry") || name.contains("walk") => "carry",
        (_, Some("static")) => "brace",
        _ if name.contains("lunge") => "lunge",
        _ if name.contains("twist") => "rotate",
        (_, Some("push")) if whole_body && works("quadriceps") => "squat",
        (_, Some("push")) => "push",
        _ if whole_body && (works("hamstrings") || works("lower back")) => "hinge",
        (_, Some("pull")) => "pull",
        _ => "mobility",
    }
}

fn posture(record: &Record) -> &'static str {
    let start = record.instructions.first().map(|step| step.to_lowercase());
    let start = start.unwrap_or_default();
    let says = |word: &str| start.split(|c: char| !c.is_alphabetic()).any(|w| w == word);
    if says("lie") || says("lying") {
        "floor"
    } else if says("kneel") || says("kneeling") {
        "kneeling"
    } else {
        "standing"
    }
}

fn demands(record: &Record, name: &str) -> String {
    let all = [
        ("\"impact\"", record.category == "plyometrics"),
        ("\"overhead\"", name.contains("overhead")),
        ("\"static\"", record.force.as_deref() == Some("static")),
    ];
    let asked: Vec<_> = all.iter().filter(|(_, is)| *is).map(|(w, _)| *w).collect();
    asked.join(", ")
}

struct Item {
    name: &'static str,
    count: u8,
    fixed: bool,
}

impl Item {
    fn text(&self) -> String {
        let name = quoted(self.name);
        match self.fixed {
            true => format!("{{ item = {name}, fixed = true }}"),
            false => format!("{{ item = {name}, count = {} }}", self.count),
        }
    }
}

/// What stays where it is is fixed; the rest is in the hands, two of a kind where there are two hands.
fn equipment(record: &Record, name: &str, side: Side) -> Vec<Item> {
    let pair = match side {
        Side::Each(_) => 1,
        _ => 2,
    };
    let (item, count, fixed) = match record.equipment.as_deref() {
        Some("machine") => ("machine", 1, true),
        Some("cable") => ("cable machine", 1, true),
        Some("foam roll") => ("foam roll", 1, true),
        Some("exercise ball") => ("exercise ball", 1, true),
        Some("barbell") => ("barbell", 1, false),
        Some("e-z curl bar") => ("curl bar", 1, false),
        Some("medicine ball") => ("medicine ball", 1, false),
        Some("bands") => ("band", 1, false),
        Some("dumbbell") => ("dumbbell", pair, false),
        Some("kettlebells") => ("kettlebell", pair, false),
        _ => ("", 0, true),
    };
    let mut items = Vec::new();
    if count > 0 {
        items.push(Item {
            name: item,
            count,
            fixed,
        });
    }
    if ["bench", "incline", "decline"]
        .iter()
        .any(|w| name.contains(w))
    {
        items.push(Item {
            name: "bench",
            count: 1,
            fixed: true,
        });
    }
    items
}
