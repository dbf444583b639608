//! French: number words, units, and the trade's abbreviations.

use crate::sound::speech::normalise::Gender;
use crate::sound::speech::normalise::Language;
use crate::sound::speech::normalise::Unit;
use crate::sound::speech::normalise::Words;
use crate::sound::speech::normalise::feminine;
use crate::sound::speech::normalise::masculine;
use crate::sound::speech::normalise::part_of;

const SMALL: [&str; 20] = [
    "zéro", "un", "deux", "trois", "quatre", "cinq", "six", "sept", "huit", "neuf", "dix", "onze",
    "douze", "treize", "quatorze", "quinze", "seize", "dix-sept", "dix-huit", "dix-neuf",
];

const TENS: [&str; 10] = [
    "",
    "",
    "vingt",
    "trente",
    "quarante",
    "cinquante",
    "soixante",
    "soixante",
    "quatre-vingt",
    "quatre-vingt",
];

const HOUR: Unit = feminine(&["h"], "heure", "heures");
const MINUTE: Unit = feminine(&["min", "mn"], "minute", "minutes");
const SECOND: Unit = feminine(&["s", "sec"], "seconde", "secondes");

/// French as it is spoken in a session.
pub static FRENCH: Language = Language {
    letters: "àâæçéèêëîïôœùûüÿÀÂÆÇÉÈÊËÎÏÔŒÙÛÜŸ",
    cardinal,
    before,
    gender_of,
    ordinal,
    ordinal_by_dot: |_, _, _| None,
    decimal: b',',
    thousands: b'.',
    spaced_thousands: true,
    half: |gender| match gender {
        Some(Gender::Feminine) => "une demi",
        _ => "un demi",
    },
    and_a_half,
    before_half,
    fraction,
    ordinal_endings: &["er", "re", "ère", "e", "ème", "nd", "nde"],
    digits: [
        "zéro", "un", "deux", "trois", "quatre", "cinq", "six", "sept", "huit", "neuf",
    ],
    units: &[
        SECOND,
        MINUTE,
        HOUR,
        feminine(&["ms"], "milliseconde", "millisecondes"),
        masculine(&["kg"], "kilo", "kilos"),
        masculine(&["g"], "gramme", "grammes"),
        feminine(&["lb", "lbs"], "livre", "livres"),
        masculine(&["km"], "kilomètre", "kilomètres"),
        masculine(&["m"], "mètre", "mètres"),
        masculine(&["cm"], "centimètre", "centimètres"),
        masculine(&["mm"], "millimètre", "millimètres"),
        masculine(&["ml"], "millilitre", "millilitres"),
        masculine(&["%"], "pour cent", "pour cent"),
        masculine(&["rpm", "tr/min"], "tour par minute", "tours par minute"),
        masculine(&["bpm"], "battement par minute", "battements par minute"),
        masculine(&["spm"], "coup par minute", "coups par minute"),
        masculine(
            &["km/h", "kmh"],
            "kilomètre à l'heure",
            "kilomètres à l'heure",
        ),
        masculine(&["m/s"], "mètre par seconde", "mètres par seconde"),
        masculine(&["W"], "watt", "watts"),
        feminine(&["kcal"], "kilocalorie", "kilocalories"),
        feminine(&["rep", "reps", "rép", "réps"], "répétition", "répétitions"),
    ],
    abbreviations: &[
        ("KB", "kettlebell"),
        ("rep", "répétition"),
        ("reps", "répétitions"),
        ("rép", "répétition"),
        ("sec", "secondes"),
        ("min", "minutes"),
        ("kg", "kilos"),
        ("km", "kilomètres"),
        ("cm", "centimètres"),
        ("max", "maximum"),
        ("etc", "et cetera"),
    ],
    dotted: &[
        ("p. ex.", "par exemple"),
        ("p.ex.", "par exemple"),
        ("env.", "environ"),
        ("c.-à-d.", "c'est-à-dire"),
    ],
    measured: &[],
    counted: &[
        "tour", "série", "bloc", "atelier", "partie", "minute", "semaine", "séance",
    ],
    day: &[],
    day_in_between: false,
    sides: &[],
    parts: &["côté", "bras", "jambe", "main", "pied"],
    hour: HOUR,
    minute: MINUTE,
    second: SECOND,
    words: Words {
        minus: "moins",
        point: "virgule",
        to: "à",
        times: "fois",
        times_alone: "fois",
        degrees: "degrés",
        celsius: "Celsius",
        fahrenheit: "Fahrenheit",
        squared: "carré",
        cubed: "cube",
        out_of: "sur",
        per: "par",
        and: "et",
        or: "ou",
        at: "à",
        plus: "plus",
        equals: "égale",
        about: "environ",
        less_than: "moins de",
        more_than: "plus de",
        number: "numéro",
    },
};

fn cardinal(value: u64) -> String {
    match value {
        0..20 => SMALL[value as usize].to_owned(),
        80 => "quatre-vingts".to_owned(),
        20..100 => tens(value),
        100..1000 => match (value / 100, value % 100) {
            (1, rest) => followed("cent".to_owned(), rest),
            // Several hundreds have a plural where nothing follows.
            (heads, 0) => format!("{} cents", SMALL[heads as usize]),
            (heads, rest) => followed(format!("{} cent", SMALL[heads as usize]), rest),
        },
        1000..1_000_000 => {
            let head = match value / 1000 {
                1 => "mille".to_owned(),
                heads => format!("{} mille", unmarked(heads)),
            };
            followed(head, value % 1000)
        }
        _ => {
            let (scale, name) = match value {
                1_000_000_000.. => (1_000_000_000, "milliard"),
                _ => (1_000_000, "million"),
            };
            let plural = if value / scale == 1 { "" } else { "s" };
            let head = format!("{} {name}{plural}", cardinal(value / scale));
            followed(head, value % scale)
        }
    }
}

fn tens(value: u64) -> String {
    let ten = value / 10;
    // Seventy and ninety go on from sixty and eighty.
    let rest = value % 10 + if matches!(ten, 7 | 9) { 10 } else { 0 };
    let base = TENS[ten as usize];
    match rest {
        0 => base.to_owned(),
        1 | 11 if ten < 8 => format!("{base} et {}", SMALL[rest as usize]),
        _ => format!("{base}-{}", SMALL[rest as usize]),
    }
}

/// Before "mille" eighty and the hundreds have no plural.
fn unmarked(value: u64) -> String {
    let said = cardinal(value);
    match said.strip_suffix("vingts").is_some() || said.ends_with("cents") {
        true => said[..said.len() - 1].to_owned(),
        false => said,
    }
}

fn followed(head: String, rest: u64) -> String {
    match rest {
        0 => head,
        rest => format!("{head} {}", cardinal(rest)),
    }
}

fn before(value: u64, gender: Gender) -> String {
    let said = cardinal(value);
    let is_one = said == "un" || said.ends_with(" un") || said.ends_with("-un");
    match gender {
        Gender::Feminine if is_one => said + "e",
        _ => said,
    }
}

fn gender_of(noun: &str) -> Option<Gender> {
    Some(match noun {
        "seconde" | "secondes" | "minute" | "minutes" | "heure" | "heures" | "répétition"
        | "répétitions" | "série" | "séries" | "fois" | "jambe" | "jambes" | "main" | "mains"
        | "partie" | "parties" | "séance" | "séances" | "pause" | "pauses" | "respiration"
        | "respirations" | "pompe" | "pompes" | "fente" | "fentes" | "planche" | "planches"
        | "semaine" | "semaines" | "étape" | "étapes" | "longueur" | "longueurs" => {
            Gender::Feminine
        }
        // An action is feminine: "flexion", "traction", "rotation".
        _ if noun.trim_end_matches('s').ends_with("ion") && !is_masculine_ion(noun) => {
            Gender::Feminine
        }
        _ => return None,
    })
}

/// The nouns in -ion that are no action.
fn is_masculine_ion(noun: &str) -> bool {
    let masculine = [
        "avion", "bastion", "camion", "champion", "ion", "lion", "million", "pion", "scorpion",
    ];
    masculine.contains(&noun.trim_end_matches('s'))
}

fn ordinal(value: u64, ending: &str) -> String {
    match (value, ending) {
        (1, "re" | "ère") => return "première".to_owned(),
        (1, _) => return "premier".to_owned(),
        (2, "nd") => return "second".to_owned(),
        (2, "nde") => return "seconde".to_owned(),
        _ => {}
    }
    let said = unmarked(value);
    let stem = match said.as_str() {
        said if said.ends_with("cinq") => format!("{said}u"),
        said if said.ends_with("neuf") => format!("{}v", &said[..said.len() - 1]),
        said => said.trim_end_matches('e').to_owned(),
    };
    format!("{stem}ième")
}

fn and_a_half(whole: u64, gender: Option<Gender>) -> (String, &'static str) {
    match gender {
        Some(Gender::Feminine) => (before(whole, Gender::Feminine), "et demie"),
        _ => (cardinal(whole), "et demi"),
    }
}

/// "un tour et demi", "deux séries et demie".
fn before_half(noun: &str) -> Option<&str> {
    const SMALL: [&str; 20] = [
        "a", "au", "avec", "d", "de", "des", "du", "en", "et", "la", "le", "les", "ou", "par",
        "plus", "pour", "puis", "sans", "sur", "x",
    ];
    match noun {
        "" | "à" => None,
        "bras" | "fois" | "pas" | "temps" => Some(noun),
        _ if SMALL.contains(&noun) => None,
        _ => Some(noun.strip_suffix('s').unwrap_or(noun)),
    }
}

fn fraction(above: u64, below: u64) -> Option<String> {
    let parts = [
        ("tiers", "tiers"),
        ("quart", "quarts"),
        ("huitième", "huitièmes"),
    ];
    part_of((above, below), parts, cardinal)
}
