//! English: number words, units, and the trade's abbreviations.

use crate::sound::speech::normalise::Gender;
use crate::sound::speech::normalise::Language;
use crate::sound::speech::normalise::Unit;
use crate::sound::speech::normalise::Words;

const SMALL: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];

const TENS: [&str; 10] = [
    "", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety",
];

const SCALES: [(u64, &str); 4] = [
    (1_000_000_000, "billion"),
    (1_000_000, "million"),
    (1000, "thousand"),
    (100, "hundred"),
];

const HOUR: Unit = unit(&["h", "hr", "hrs"], "hour", "hours");
const MINUTE: Unit = unit(&["min", "mins"], "minute", "minutes");
const SECOND: Unit = unit(&["s", "sec", "secs"], "second", "seconds");

/// English as it is spoken in a session.
pub static ENGLISH: Language = Language {
    letters: "",
    cardinal,
    before: |value, _| cardinal(value),
    gender_of: |_| None,
    ordinal: |value, _| ordinal(value),
    ordinal_by_dot: |_, _, _| None,
    decimal: b'.',
    thousands: b',',
    spaced_thousands: false,
    half: |_| "one half",
    and_a_half: |whole, _| (format!("{} and one half", cardinal(whole)), ""),
    before_half: |_| None,
    fraction,
    ordinal_endings: &["st", "nd", "rd", "th"],
    digits: [
        "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    ],
    units: &[
        SECOND,
        MINUTE,
        HOUR,
        unit(&["ms"], "millisecond", "milliseconds"),
        unit(&["kg", "kgs"], "kilogram", "kilograms"),
        unit(&["g"], "gram", "grams"),
        unit(&["lb", "lbs"], "pound", "pounds"),
        unit(&["oz"], "ounce", "ounces"),
        unit(&["km"], "kilometer", "kilometers"),
        unit(&["m"], "meter", "meters"),
        unit(&["cm"], "centimeter", "centimeters"),
        unit(&["mm"], "millimeter", "millimeters"),
        unit(&["mi"], "mile", "miles"),
        unit(&["ft"], "foot", "feet"),
        unit(&["yd", "yds"], "yard", "yards"),
        unit(&["ml"], "milliliter", "milliliters"),
        unit(&["%"], "percent", "percent"),
        unit(&["rpm"], "revolution per minute", "revolutions per minute"),
        unit(&["bpm"], "beat per minute", "beats per minute"),
        unit(&["spm"], "stroke per minute", "strokes per minute"),
        unit(&["mph"], "mile per hour", "miles per hour"),
        unit(
            &["km/h", "kph", "kmh"],
            "kilometer per hour",
            "kilometers per hour",
        ),
        unit(&["m/s"], "meter per second", "meters per second"),
        unit(&["W"], "watt", "watts"),
        unit(&["kcal"], "kilocalorie", "kilocalories"),
        unit(&["cal", "cals"], "calorie", "calories"),
        unit(&["rep"], "rep", "reps"),
    ],
    abbreviations: &[
        ("DB", "dumbbell"),
        ("DBs", "dumbbells"),
        ("KB", "kettlebell"),
        ("KBs", "kettlebells"),
        ("BB", "barbell"),
        ("RDL", "Romanian deadlift"),
        ("RDLs", "Romanian deadlifts"),
        ("AMRAP", "as many rounds as possible"),
        ("EMOM", "every minute on the minute"),
        ("RPE", "rate of perceived exertion"),
        ("RIR", "reps in reserve"),
        ("ROM", "range of motion"),
        ("ISO", "isometric"),
        ("BW", "body weight"),
        ("OHP", "overhead press"),
        ("RM", "rep max"),
        ("HIIT", "high intensity interval training"),
        ("vs", "versus"),
        ("etc", "et cetera"),
        ("approx", "about"),
        // Units that stand alone.
        ("kg", "kilograms"),
        ("lbs", "pounds"),
        ("km", "kilometers"),
        ("cm", "centimeters"),
        ("rpm", "revolutions per minute"),
        ("bpm", "beats per minute"),
        ("sec", "seconds"),
        ("secs", "seconds"),
        ("min", "minutes"),
        ("mins", "minutes"),
    ],
    dotted: &[
        ("e.g.", "for example"),
        ("i.e.", "that is"),
        ("w/ ", "with "),
        ("w/o ", "without "),
    ],
    measured: &[
        "dumbbell",
        "kettlebell",
        "barbell",
        "db",
        "dbs",
        "kb",
        "kbs",
        "bb",
        "dumbbells",
        "kettlebells",
        "plate",
        "plates",
        "ball",
        "vest",
        "bag",
        "band",
        "weight",
        "weights",
        "shuttle",
        "shuttles",
        "sprint",
        "sprints",
        "hold",
        "holds",
        "plank",
    ],
    counted: &[
        "round", "rounds", "set", "block", "station", "lap", "part", "minute", "effort",
        "exertion", "rpe", "week", "session",
    ],
    day: &[("am", "AM"), ("pm", "PM"), ("a.m.", "AM"), ("p.m.", "PM")],
    day_in_between: false,
    sides: &[("R", "right"), ("L", "left")],
    parts: &[
        "side", "arm", "hand", "leg", "foot", "knee", "elbow", "hip", "shoulder", "heel", "wrist",
        "ankle", "thigh", "calf", "glute", "sides", "arms", "hands", "legs", "feet",
    ],
    hour: HOUR,
    minute: MINUTE,
    second: SECOND,
    words: Words {
        minus: "minus",
        point: "point",
        to: "to",
        times: "times",
        times_alone: "times",
        degrees: "degrees",
        celsius: "Celsius",
        fahrenheit: "Fahrenheit",
        squared: "squared",
        cubed: "cubed",
        out_of: "out of",
        per: "per",
        and: "and",
        or: "or",
        at: "at",
        plus: "plus",
        equals: "equals",
        about: "about",
        less_than: "less than",
        more_than: "more than",
        number: "number",
    },
};

const fn unit(signs: &'static [&'static str], one: &'static str, many: &'static str) -> Unit {
    Unit::new(signs, one, many, Gender::Neuter)
}

fn cardinal(value: u64) -> String {
    if let Some(word) = usize::try_from(value).ok().and_then(|n| SMALL.get(n)) {
        return (*word).to_owned();
    }
    if value < 100 {
        let tens = TENS[(value / 10) as usize];
        return match value % 10 {
            0 => tens.to_owned(),
            ones => format!("{tens}-{}", SMALL[ones as usize]),
        };
    }
    for (scale, name) in SCALES {
        if value >= scale {
            let head = cardinal(value / scale);
            return match value % scale {
                0 => format!("{head} {name}"),
                rest => format!("{head} {name} {}", cardinal(rest)),
            };
        }
    }
    String::new()
}

fn ordinal(value: u64) -> String {
    let words = cardinal(value);
    // Only the last word changes.
    let split = words.rfind([' ', '-']).map_or(0, |at| at + 1);
    let (head, last) = words.split_at(split);
    let last = match last {
        "one" => "first".to_owned(),
        "two" => "second".to_owned(),
        "three" => "third".to_owned(),
        "five" => "fifth".to_owned(),
        "eight" => "eighth".to_owned(),
        "nine" => "ninth".to_owned(),
        "twelve" => "twelfth".to_owned(),
        other => match other.strip_suffix('y') {
            Some(stem) => format!("{stem}ieth"),
            None => format!("{other}th"),
        },
    };
    format!("{head}{last}")
}

fn fraction(above: u64, below: u64) -> Option<String> {
    // Seven of ten and the like are read as a score, not as a part.
    if above == 0 || above >= below || !matches!(below, 3 | 4 | 8) {
        return None;
    }
    let part = match below {
        4 => "quarter".to_owned(),
        other => ordinal(other),
    };
    let plural = if above == 1 { "" } else { "s" };
    Some(format!("{} {part}{plural}", cardinal(above)))
}
