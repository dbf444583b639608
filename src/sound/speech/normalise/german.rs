//! German: number words, units, and the trade's abbreviations.

use crate::sound::speech::normalise::Gender;
use crate::sound::speech::normalise::Language;
use crate::sound::speech::normalise::Unit;
use crate::sound::speech::normalise::Words;
use crate::sound::speech::normalise::feminine;
use crate::sound::speech::normalise::german_order;
use crate::sound::speech::normalise::masculine;
use crate::sound::speech::normalise::part_of;

const SMALL: [&str; 20] = [
    "null",
    "eins",
    "zwei",
    "drei",
    "vier",
    "fünf",
    "sechs",
    "sieben",
    "acht",
    "neun",
    "zehn",
    "elf",
    "zwölf",
    "dreizehn",
    "vierzehn",
    "fünfzehn",
    "sechzehn",
    "siebzehn",
    "achtzehn",
    "neunzehn",
];

const TENS: [&str; 10] = [
    "", "", "zwanzig", "dreißig", "vierzig", "fünfzig", "sechzig", "siebzig", "achtzig", "neunzig",
];

const HOUR: Unit = feminine(&["h", "Std"], "Stunde", "Stunden");
const MINUTE: Unit = feminine(&["min", "Min"], "Minute", "Minuten");
const SECOND: Unit = feminine(&["s", "sec", "sek", "Sek"], "Sekunde", "Sekunden");

/// German as it is spoken in a session.
pub static GERMAN: Language = Language {
    letters: "äöüßÄÖÜẞ",
    cardinal,
    before,
    gender_of,
    ordinal,
    ordinal_by_dot,
    decimal: b',',
    thousands: b'.',
    spaced_thousands: false,
    half,
    and_a_half: |whole, _| (format!("{}einhalb", joined(whole)), ""),
    before_half: |_| None,
    fraction,
    ordinal_endings: &[
        "te", "ter", "ten", "tes", "ste", "ster", "sten", "stes", "er", "ers", "ern",
    ],
    digits: [
        "null", "eins", "zwei", "drei", "vier", "fünf", "sechs", "sieben", "acht", "neun",
    ],
    units: &[
        SECOND,
        MINUTE,
        HOUR,
        feminine(&["ms"], "Millisekunde", "Millisekunden"),
        neuter(&["kg"], "Kilogramm"),
        neuter(&["g"], "Gramm"),
        neuter(&["lb", "lbs"], "Pfund"),
        masculine(&["km"], "Kilometer", "Kilometer"),
        masculine(&["m"], "Meter", "Meter"),
        masculine(&["cm"], "Zentimeter", "Zentimeter"),
        masculine(&["mm"], "Millimeter", "Millimeter"),
        masculine(&["ml"], "Milliliter", "Milliliter"),
        neuter(&["%"], "Prozent"),
        feminine(
            &["rpm", "U/min"],
            "Umdrehung pro Minute",
            "Umdrehungen pro Minute",
        ),
        masculine(&["bpm"], "Schlag pro Minute", "Schläge pro Minute"),
        masculine(&["spm"], "Schlag pro Minute", "Schläge pro Minute"),
        masculine(&["km/h", "kmh"], "Stundenkilometer", "Stundenkilometer"),
        masculine(&["m/s"], "Meter pro Sekunde", "Meter pro Sekunde"),
        neuter(&["W"], "Watt"),
        feminine(&["kcal"], "Kilokalorie", "Kilokalorien"),
        feminine(&["Wdh", "WH"], "Wiederholung", "Wiederholungen"),
    ],
    abbreviations: &[
        ("KH", "Kurzhantel"),
        ("LH", "Langhantel"),
        ("KB", "Kettlebell"),
        ("Wdh", "Wiederholungen"),
        ("WH", "Wiederholungen"),
        ("Sek", "Sekunden"),
        ("Min", "Minuten"),
        ("min", "Minuten"),
        ("Std", "Stunden"),
        ("kg", "Kilogramm"),
        ("km", "Kilometer"),
        ("cm", "Zentimeter"),
        ("max", "maximal"),
        ("ca", "circa"),
        ("usw", "und so weiter"),
    ],
    dotted: &[
        ("z.B.", "zum Beispiel"),
        ("z. B.", "zum Beispiel"),
        ("d.h.", "das heißt"),
        ("d. h.", "das heißt"),
        ("bzw.", "beziehungsweise"),
        ("ca.", "circa"),
        ("max.", "maximal"),
        ("Nr.", "Nummer"),
        ("ggf.", "gegebenenfalls"),
    ],
    measured: &[],
    counted: &[
        "runde", "satz", "serie", "block", "station", "teil", "minute", "woche", "einheit",
    ],
    day: &[("Uhr", "Uhr")],
    day_in_between: true,
    sides: &[],
    parts: &["Seite", "Arm", "Bein", "Hand", "Fuß"],
    hour: HOUR,
    minute: MINUTE,
    second: SECOND,
    words: Words {
        minus: "minus",
        point: "Komma",
        to: "bis",
        times: "mal",
        times_alone: "mal",
        degrees: "Grad",
        celsius: "Celsius",
        fahrenheit: "Fahrenheit",
        squared: "Quadrat",
        cubed: "hoch drei",
        out_of: "von",
        per: "pro",
        and: "und",
        or: "oder",
        at: "bei",
        plus: "plus",
        equals: "gleich",
        about: "etwa",
        less_than: "weniger als",
        more_than: "mehr als",
        number: "Nummer",
    },
};

const fn neuter(signs: &'static [&'static str], name: &'static str) -> Unit {
    Unit::new(signs, name, name, Gender::Neuter)
}

fn cardinal(value: u64) -> String {
    match value {
        1_000_000.. => {
            let (scale, one, many) = match value {
                1_000_000_000.. => (1_000_000_000, "Milliarde", "Milliarden"),
                _ => (1_000_000, "Million", "Millionen"),
            };
            let head = match value / scale {
                1 => format!("eine {one}"),
                heads => format!("{} {many}", joined(heads)),
            };
            match value % scale {
                0 => head,
                rest => format!("{head} {}", cardinal(rest)),
            }
        }
        _ => {
            let joined = joined(value);
            // One at the end is counted, not put before a noun.
            match value % 100 {
                1 => joined + "s",
                _ => joined,
            }
        }
    }
}

/// Says a number below a million as one word that goes on: "ein", "einundzwanzig", "hundertein".
fn joined(value: u64) -> String {
    match value {
        1 => "ein".to_owned(),
        0..20 => SMALL[value as usize].to_owned(),
        20..100 => {
            let tens = TENS[(value / 10) as usize];
            match value % 10 {
                0 => tens.to_owned(),
                ones => format!("{}und{tens}", joined(ones)),
            }
        }
        100..1000 => {
            let head = format!("{}hundert", joined(value / 100));
            continued(head, value % 100)
        }
        _ => {
            let head = format!("{}tausend", joined(value / 1000));
            continued(head, value % 1000)
        }
    }
}

fn continued(head: String, rest: u64) -> String {
    match rest {
        0 => head,
        rest => head + &joined(rest),
    }
}

fn before(value: u64, gender: Gender) -> String {
    match (value, gender) {
        (1, Gender::Feminine) => "eine".to_owned(),
        (1, _) => "ein".to_owned(),
        _ => cardinal(value),
    }
}

/// Endings that tell the gender of a noun, also of one that is put together.
const BY_ENDING: [(&str, Gender); 16] = [
    ("sprung", Gender::Masculine),
    ("schwung", Gender::Masculine),
    ("ung", Gender::Feminine),
    ("heit", Gender::Feminine),
    ("keit", Gender::Feminine),
    ("ion", Gender::Feminine),
    ("runde", Gender::Feminine),
    ("pause", Gender::Feminine),
    ("woche", Gender::Feminine),
    ("hälfte", Gender::Feminine),
    ("minute", Gender::Feminine),
    ("satz", Gender::Masculine),
    ("gang", Gender::Masculine),
    ("block", Gender::Masculine),
    ("tag", Gender::Masculine),
    ("schritt", Gender::Masculine),
];

pub fn gender_of(noun: &str) -> Option<Gender> {
    Some(match noun {
        "runde" | "minute" | "sekunde" | "stunde" | "wiederholung" | "übung" | "seite"
        | "serie" | "station" | "hantel" | "kurzhantel" | "einheit" | "pause" => Gender::Feminine,
        "mal" | "bein" | "gewicht" | "prozent" | "kilo" => Gender::Neuter,
        "schritt" | "satz" | "durchgang" | "atemzug" | "block" | "teil" | "arm" | "zug"
        | "schlag" | "versuch" | "zirkel" | "kreis" | "platz" => Gender::Masculine,
        _ => {
            let known = BY_ENDING.iter().find(|(end, _)| noun.ends_with(end));
            return known.map(|(_, gender)| *gender);
        }
    })
}

fn capitalised(word: &str) -> String {
    let mut chars = word.chars();
    let first = chars.next().map(char::to_uppercase);
    first.into_iter().flatten().chain(chars).collect()
}

fn ordinal(value: u64, ending: &str) -> String {
    // A group, or a boat: `8er-Satz`, `4er`.
    if ending.starts_with("er") {
        return capitalised(&joined(value)) + ending;
    }
    let words = cardinal(value);
    // The case stands in the written ending: `3ter` is "dritter".
    let case = ending.trim_start_matches(['t', 's']);
    let stem = match value % 100 {
        1 => words.trim_end_matches("eins").to_owned() + "erst",
        3 => words.trim_end_matches("drei").to_owned() + "dritt",
        7 => words.trim_end_matches("sieben").to_owned() + "siebt",
        // It ends in a t already.
        8 => words,
        2 | 4..=6 | 9..20 => words + "t",
        _ => words + "st",
    };
    format!("{stem}{case}")
}

fn ordinal_by_dot(before: &str, value: u64, after: &str) -> Option<String> {
    german_order::ending(before, after).map(|ending| ordinal(value, ending))
}

fn half(gender: Option<Gender>) -> &'static str {
    match gender {
        Some(Gender::Feminine) => "eine halbe",
        Some(Gender::Masculine) => "ein halber",
        Some(Gender::Neuter) => "ein halbes",
        None => "ein halb",
    }
}

fn fraction(above: u64, below: u64) -> Option<String> {
    let parts = ["Drittel", "Viertel", "Achtel"].map(|part| (part, part));
    part_of((above, below), parts, |n| before(n, Gender::Neuter))
}
