//! Portuguese as it is spoken in Brazil: number words, units, and the trade's abbreviations.

use crate::sound::speech::normalise::Gender;
use crate::sound::speech::normalise::Language;
use crate::sound::speech::normalise::Unit;
use crate::sound::speech::normalise::Words;
use crate::sound::speech::normalise::by_ending;
use crate::sound::speech::normalise::feminine;
use crate::sound::speech::normalise::masculine;
use crate::sound::speech::normalise::part_of;

const SMALL: [&str; 20] = [
    "zero",
    "um",
    "dois",
    "três",
    "quatro",
    "cinco",
    "seis",
    "sete",
    "oito",
    "nove",
    "dez",
    "onze",
    "doze",
    "treze",
    "catorze",
    "quinze",
    "dezesseis",
    "dezessete",
    "dezoito",
    "dezenove",
];

const TENS: [&str; 10] = [
    "",
    "",
    "vinte",
    "trinta",
    "quarenta",
    "cinquenta",
    "sessenta",
    "setenta",
    "oitenta",
    "noventa",
];

const HUNDREDS: [&str; 10] = [
    "",
    "cento",
    "duzentos",
    "trezentos",
    "quatrocentos",
    "quinhentos",
    "seiscentos",
    "setecentos",
    "oitocentos",
    "novecentos",
];

const FIRST: [&str; 10] = [
    "", "primeiro", "segundo", "terceiro", "quarto", "quinto", "sexto", "sétimo", "oitavo", "nono",
];

const TENTHS: [&str; 10] = [
    "",
    "décimo",
    "vigésimo",
    "trigésimo",
    "quadragésimo",
    "quinquagésimo",
    "sexagésimo",
    "septuagésimo",
    "octogésimo",
    "nonagésimo",
];

const HOUR: Unit = feminine(&["h"], "hora", "horas");
const MINUTE: Unit = masculine(&["min"], "minuto", "minutos");
const SECOND: Unit = masculine(&["s", "seg"], "segundo", "segundos");

/// Portuguese as it is spoken in a session in Brazil.
pub static PORTUGUESE: Language = Language {
    letters: "áâãàçéêíóôõúüÁÂÃÀÇÉÊÍÓÔÕÚÜºª",
    cardinal,
    before,
    gender_of,
    ordinal,
    ordinal_by_dot: |_, _, _| None,
    decimal: b',',
    thousands: b'.',
    spaced_thousands: false,
    half: |gender| match gender {
        Some(Gender::Feminine) => "meia",
        _ => "meio",
    },
    and_a_half: |whole, gender| match gender {
        Some(Gender::Feminine) => (before(whole, Gender::Feminine), "e meia"),
        _ => (cardinal(whole), "e meio"),
    },
    before_half: |_| None,
    fraction,
    ordinal_endings: &["º", "ª"],
    digits: [
        "zero", "um", "dois", "três", "quatro", "cinco", "seis", "sete", "oito", "nove",
    ],
    units: &[
        SECOND,
        MINUTE,
        HOUR,
        masculine(&["ms"], "milissegundo", "milissegundos"),
        masculine(&["kg"], "quilo", "quilos"),
        masculine(&["g"], "grama", "gramas"),
        feminine(&["lb", "lbs"], "libra", "libras"),
        masculine(&["km"], "quilômetro", "quilômetros"),
        masculine(&["m"], "metro", "metros"),
        masculine(&["cm"], "centímetro", "centímetros"),
        masculine(&["mm"], "milímetro", "milímetros"),
        masculine(&["ml"], "mililitro", "mililitros"),
        masculine(&["%"], "por cento", "por cento"),
        feminine(&["rpm"], "rotação por minuto", "rotações por minuto"),
        masculine(&["bpm"], "batimento por minuto", "batimentos por minuto"),
        feminine(&["spm"], "remada por minuto", "remadas por minuto"),
        masculine(
            &["km/h", "kmh"],
            "quilômetro por hora",
            "quilômetros por hora",
        ),
        masculine(&["m/s"], "metro por segundo", "metros por segundo"),
        masculine(&["W"], "watt", "watts"),
        feminine(&["kcal"], "quilocaloria", "quilocalorias"),
        feminine(&["rep", "reps"], "repetição", "repetições"),
    ],
    abbreviations: &[
        ("KB", "kettlebell"),
        ("rep", "repetição"),
        ("reps", "repetições"),
        ("seg", "segundos"),
        ("min", "minutos"),
        ("kg", "quilos"),
        ("km", "quilômetros"),
        ("cm", "centímetros"),
        ("dir", "direita"),
        ("esq", "esquerda"),
        ("máx", "máximo"),
        ("etc", "et cetera"),
    ],
    dotted: &[
        ("p. ex.", "por exemplo"),
        ("p.ex.", "por exemplo"),
        ("aprox.", "aproximadamente"),
        ("máx.", "máximo"),
        ("mín.", "mínimo"),
    ],
    measured: &[],
    counted: &[
        "rodada",
        "série",
        "bloco",
        "estação",
        "parte",
        "minuto",
        "semana",
        "sessão",
    ],
    day: &[],
    day_in_between: false,
    sides: &[],
    parts: &["lado", "braço", "perna", "mão", "pé"],
    hour: HOUR,
    minute: MINUTE,
    second: SECOND,
    words: Words {
        minus: "menos",
        point: "vírgula",
        to: "a",
        times: "vezes",
        times_alone: "vezes",
        degrees: "graus",
        celsius: "Celsius",
        fahrenheit: "Fahrenheit",
        squared: "ao quadrado",
        cubed: "ao cubo",
        out_of: "de",
        per: "por",
        and: "e",
        or: "ou",
        at: "com",
        plus: "mais",
        equals: "igual a",
        about: "cerca de",
        less_than: "menos de",
        more_than: "mais de",
        number: "número",
    },
};

fn cardinal(value: u64) -> String {
    match value {
        0..20 => SMALL[value as usize].to_owned(),
        20..100 => {
            let tens = TENS[(value / 10) as usize];
            match value % 10 {
                0 => tens.to_owned(),
                ones => format!("{tens} e {}", SMALL[ones as usize]),
            }
        }
        100 => "cem".to_owned(),
        101..1000 => match value % 100 {
            0 => HUNDREDS[(value / 100) as usize].to_owned(),
            rest => format!("{} e {}", HUNDREDS[(value / 100) as usize], cardinal(rest)),
        },
        _ => {
            let (scale, one, many) = match value {
                1_000_000_000.. => (1_000_000_000, "um bilhão", "bilhões"),
                1_000_000.. => (1_000_000, "um milhão", "milhões"),
                _ => (1000, "mil", "mil"),
            };
            let head = match value / scale {
                1 => one.to_owned(),
                heads => format!("{} {many}", cardinal(heads)),
            };
            let rest = value % scale;
            // "e" joins what is one word, or a round hundred: "mil e cem", "mil duzentos e um".
            match rest {
                0 => head,
                rest if rest <= 100 || (rest < 1000 && rest.is_multiple_of(100)) => {
                    format!("{head} e {}", cardinal(rest))
                }
                rest => format!("{head} {}", cardinal(rest)),
            }
        }
    }
}

fn before(value: u64, gender: Gender) -> String {
    let said = cardinal(value);
    if gender != Gender::Feminine {
        return said;
    }
    let said = said.replace("entos", "entas");
    let (head, last) = said.split_at(said.rfind(' ').map_or(0, |at| at + 1));
    match last {
        "um" => format!("{head}uma"),
        "dois" => format!("{head}duas"),
        _ => said,
    }
}

fn gender_of(noun: &str) -> Option<Gender> {
    const SMALL: [&str; 24] = [
        "", "a", "as", "ao", "com", "da", "de", "do", "e", "em", "mais", "menos", "na", "no", "o",
        "os", "ou", "para", "pela", "por", "que", "sem", "um", "x",
    ];
    let feminine = [
        "a", "as", "ção", "ções", "são", "sões", "dade", "mão", "mãos", "série", "séries", "vez",
        "vezes",
    ];
    let masculine = ["grama", "gramas", "dia", "dias"];
    by_ending(noun, &SMALL, &feminine, &masculine)
}

fn ordinal(value: u64, ending: &str) -> String {
    let said = match value {
        1..10 => FIRST[value as usize].to_owned(),
        10..100 => {
            let tens = TENTHS[(value / 10) as usize];
            match value % 10 {
                0 => tens.to_owned(),
                ones => format!("{tens} {}", FIRST[ones as usize]),
            }
        }
        // Nobody says more of them.
        _ => return cardinal(value),
    };
    match ending {
        "ª" => said.replace("o ", "a ").trim_end_matches('o').to_owned() + "a",
        _ => said,
    }
}

fn fraction(above: u64, below: u64) -> Option<String> {
    let parts = [
        ("terço", "terços"),
        ("quarto", "quartos"),
        ("oitavo", "oitavos"),
    ];
    part_of((above, below), parts, cardinal)
}
