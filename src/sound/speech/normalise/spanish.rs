//! Spanish: number words, units, and the trade's abbreviations.

use crate::sound::speech::normalise::Gender;
use crate::sound::speech::normalise::Language;
use crate::sound::speech::normalise::Unit;
use crate::sound::speech::normalise::Words;
use crate::sound::speech::normalise::by_ending;
use crate::sound::speech::normalise::feminine;
use crate::sound::speech::normalise::masculine;
use crate::sound::speech::normalise::part_of;

const SMALL: [&str; 30] = [
    "cero",
    "uno",
    "dos",
    "tres",
    "cuatro",
    "cinco",
    "seis",
    "siete",
    "ocho",
    "nueve",
    "diez",
    "once",
    "doce",
    "trece",
    "catorce",
    "quince",
    "dieciséis",
    "diecisiete",
    "dieciocho",
    "diecinueve",
    "veinte",
    "veintiuno",
    "veintidós",
    "veintitrés",
    "veinticuatro",
    "veinticinco",
    "veintiséis",
    "veintisiete",
    "veintiocho",
    "veintinueve",
];

const TENS: [&str; 10] = [
    "",
    "",
    "",
    "treinta",
    "cuarenta",
    "cincuenta",
    "sesenta",
    "setenta",
    "ochenta",
    "noventa",
];

const HUNDREDS: [&str; 10] = [
    "",
    "ciento",
    "doscientos",
    "trescientos",
    "cuatrocientos",
    "quinientos",
    "seiscientos",
    "setecientos",
    "ochocientos",
    "novecientos",
];

const FIRST: [&str; 10] = [
    "", "primero", "segundo", "tercero", "cuarto", "quinto", "sexto", "séptimo", "octavo", "noveno",
];

const TENTHS: [&str; 10] = [
    "",
    "décimo",
    "vigésimo",
    "trigésimo",
    "cuadragésimo",
    "quincuagésimo",
    "sexagésimo",
    "septuagésimo",
    "octogésimo",
    "nonagésimo",
];

const HOUR: Unit = feminine(&["h"], "hora", "horas");
const MINUTE: Unit = masculine(&["min"], "minuto", "minutos");
const SECOND: Unit = masculine(&["s", "seg"], "segundo", "segundos");

/// Spanish as it is spoken in a session.
pub static SPANISH: Language = Language {
    letters: "áéíóúüñÁÉÍÓÚÜÑºª",
    cardinal,
    before,
    gender_of,
    ordinal,
    ordinal_by_dot: |_, _, _| None,
    decimal: b',',
    thousands: b'.',
    spaced_thousands: false,
    half: |gender| match gender {
        Some(Gender::Feminine) => "media",
        _ => "medio",
    },
    and_a_half,
    before_half,
    fraction,
    ordinal_endings: &["º", "ª", "er", "ro", "ra", "do", "da", "to", "ta"],
    digits: [
        "cero", "uno", "dos", "tres", "cuatro", "cinco", "seis", "siete", "ocho", "nueve",
    ],
    units: &[
        SECOND,
        MINUTE,
        HOUR,
        masculine(&["ms"], "milisegundo", "milisegundos"),
        masculine(&["kg", "kgs"], "kilo", "kilos"),
        masculine(&["g"], "gramo", "gramos"),
        feminine(&["lb", "lbs"], "libra", "libras"),
        masculine(&["km"], "kilómetro", "kilómetros"),
        masculine(&["m"], "metro", "metros"),
        masculine(&["cm"], "centímetro", "centímetros"),
        masculine(&["mm"], "milímetro", "milímetros"),
        masculine(&["ml"], "mililitro", "mililitros"),
        masculine(&["%"], "por ciento", "por ciento"),
        feminine(&["rpm"], "revolución por minuto", "revoluciones por minuto"),
        masculine(
            &["bpm", "lpm", "ppm"],
            "latido por minuto",
            "latidos por minuto",
        ),
        feminine(&["spm"], "palada por minuto", "paladas por minuto"),
        masculine(
            &["km/h", "kmh"],
            "kilómetro por hora",
            "kilómetros por hora",
        ),
        masculine(&["m/s"], "metro por segundo", "metros por segundo"),
        masculine(&["W"], "vatio", "vatios"),
        feminine(&["kcal"], "kilocaloría", "kilocalorías"),
        feminine(&["rep", "reps"], "repetición", "repeticiones"),
    ],
    abbreviations: &[
        ("KB", "pesa rusa"),
        ("rep", "repetición"),
        ("reps", "repeticiones"),
        ("seg", "segundos"),
        ("min", "minutos"),
        ("kg", "kilos"),
        ("km", "kilómetros"),
        ("cm", "centímetros"),
        ("dcha", "derecha"),
        ("izq", "izquierda"),
        ("máx", "máximo"),
        ("etc", "etcétera"),
    ],
    dotted: &[
        ("p. ej.", "por ejemplo"),
        ("p.ej.", "por ejemplo"),
        ("aprox.", "aproximadamente"),
        ("máx.", "máximo"),
        ("mín.", "mínimo"),
        ("núm.", "número"),
        ("dcha.", "derecha"),
        ("izq.", "izquierda"),
    ],
    measured: &[],
    counted: &[
        "ronda",
        "serie",
        "bloque",
        "estación",
        "parte",
        "minuto",
        "semana",
        "sesión",
    ],
    day: &[],
    day_in_between: false,
    sides: &[],
    parts: &["lado", "brazo", "pierna", "mano", "pie"],
    hour: HOUR,
    minute: MINUTE,
    second: SECOND,
    words: Words {
        minus: "menos",
        point: "coma",
        to: "a",
        times: "por",
        times_alone: "veces",
        degrees: "grados",
        celsius: "Celsius",
        fahrenheit: "Fahrenheit",
        squared: "al cuadrado",
        cubed: "al cubo",
        out_of: "de",
        per: "por",
        and: "y",
        or: "o",
        at: "con",
        plus: "más",
        equals: "igual a",
        about: "cerca de",
        less_than: "menos de",
        more_than: "más de",
        number: "número",
    },
};

fn cardinal(value: u64) -> String {
    match value {
        0..30 => SMALL[value as usize].to_owned(),
        30..100 => {
            let tens = TENS[(value / 10) as usize];
            match value % 10 {
                0 => tens.to_owned(),
                ones => format!("{tens} y {}", SMALL[ones as usize]),
            }
        }
        100 => "cien".to_owned(),
        101..1000 => followed(HUNDREDS[(value / 100) as usize].to_owned(), value % 100),
        1000..1_000_000 => {
            let head = match value / 1000 {
                1 => "mil".to_owned(),
                heads => format!("{} mil", shortened(heads)),
            };
            followed(head, value % 1000)
        }
        _ => {
            let head = match value / 1_000_000 {
                1 => "un millón".to_owned(),
                heads => format!("{} millones", shortened(heads)),
            };
            followed(head, value % 1_000_000)
        }
    }
}

fn followed(head: String, rest: u64) -> String {
    match rest {
        0 => head,
        rest => format!("{head} {}", cardinal(rest)),
    }
}

/// Says a number as it stands before a masculine noun: "un", "veintiún", "treinta y un".
fn shortened(value: u64) -> String {
    let said = cardinal(value);
    match said.strip_suffix("uno") {
        Some(head) if head.ends_with("veinti") => format!("{head}ún"),
        Some(head) => format!("{head}un"),
        None => said,
    }
}

fn before(value: u64, gender: Gender) -> String {
    match gender {
        Gender::Feminine => {
            let said = cardinal(value).replace("cientos", "cientas");
            let said = said.replace("quinientos", "quinientas");
            match said.strip_suffix("uno") {
                Some(head) => format!("{head}una"),
                None => said,
            }
        }
        Gender::Masculine | Gender::Neuter => shortened(value),
    }
}

fn gender_of(noun: &str) -> Option<Gender> {
    const SMALL: [&str; 22] = [
        "", "a", "al", "con", "de", "del", "e", "el", "en", "la", "las", "los", "más", "menos",
        "o", "para", "por", "que", "sin", "u", "y", "x",
    ];
    let feminine = [
        "a", "as", "ión", "iones", "dad", "dades", "mano", "manos", "serie", "series",
    ];
    let masculine = ["día", "días"];
    by_ending(noun, &SMALL, &feminine, &masculine)
}

fn ordinal(value: u64, ending: &str) -> String {
    let said = match value {
        1..10 => FIRST[value as usize].to_owned(),
        11 => "undécimo".to_owned(),
        12 => "duodécimo".to_owned(),
        10..100 => {
            let tens = TENTHS[(value / 10) as usize];
            match (value / 10, value % 10) {
                (_, 0) => tens.to_owned(),
                // One word up to nineteen, two from then on.
                (1, ones) => format!("decimo{}", FIRST[ones as usize]),
                (_, ones) => format!("{tens} {}", FIRST[ones as usize]),
            }
        }
        // Nobody says more of them.
        _ => return cardinal(value),
    };
    match ending {
        "ª" | "ra" | "da" | "ta" => {
            said.replace("o ", "a ").trim_end_matches('o').to_owned() + "a"
        }
        "er" => said.strip_suffix('o').map_or(said.clone(), str::to_owned),
        _ => said,
    }
}

fn and_a_half(whole: u64, gender: Option<Gender>) -> (String, &'static str) {
    match gender {
        Some(Gender::Feminine) => (before(whole, Gender::Feminine), "y media"),
        Some(_) => (shortened(whole), "y medio"),
        None => (cardinal(whole), "y medio"),
    }
}

/// "una vuelta y media"; only where the plural has but one more letter.
fn before_half(noun: &str) -> Option<&str> {
    gender_of(noun)?;
    let singular = noun.strip_suffix('s').unwrap_or(noun);
    singular.ends_with(['a', 'o']).then_some(singular)
}

fn fraction(above: u64, below: u64) -> Option<String> {
    let parts = [
        ("tercio", "tercios"),
        ("cuarto", "cuartos"),
        ("octavo", "octavos"),
    ];
    part_of((above, below), parts, shortened)
}
