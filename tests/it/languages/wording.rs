//! What the program says, in each language: nothing is missing, no value is lost, plurals are right.

use crate::common::read_text;
use crate::common::root;
use fluent_syntax::ast::CallArguments;
use fluent_syntax::ast::Entry;
use fluent_syntax::ast::Expression;
use fluent_syntax::ast::InlineExpression;
use fluent_syntax::ast::Pattern;
use fluent_syntax::ast::PatternElement;
use fluent_syntax::parser;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Gender;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Noun;
use sidevoice::base::wording::Wording;
use std::collections::BTreeMap;
use std::collections::BTreeSet;

/// Values that say the same in another form: a language takes the one that it needs.
const FORMS: [(&str, &str); 9] = [
    // A number before a noun goes by its gender.
    ("masculine", "words"),
    ("feminine", "words"),
    // "six minutes ten", "seis minutos y diez segundos".
    ("rest", "seconds"),
    // "two rounds of five", "zwei Runden mit je fünf Übungen".
    ("uses", "n"),
    // A thing with its article, or without.
    ("the", "items"),
    // At the start of a sentence, or inside.
    ("Left", "left"),
    // Plurals and articles are chosen by these; what is said is another value.
    ("gender", ""),
    ("begins", ""),
    ("n", ""),
];

/// Messages whose values differ for a reason of their own.
const APART: [(&str, &str); 2] = [
    // The load stands before the noun in English, after the phrase elsewhere.
    ("loaded-name", "load"),
    ("loaded-phrase", "load"),
];

type Messages = BTreeMap<String, BTreeSet<String>>;

/// The messages of a language with the values that each takes.
fn messages(language: Language) -> Messages {
    let file = format!("voices/{}/phrases.ftl", language.tag());
    let text = read_text(&root().join(file));
    let resource = parser::parse(text).unwrap_or_else(|(_, errors)| panic!("{errors:?}"));
    let mut found = Messages::new();
    for entry in resource.body {
        match entry {
            Entry::Message(message) => {
                let mut values = BTreeSet::new();
                let pattern = message.value.expect("each message says something");
                of_pattern(&pattern, &mut values);
                let twice = found.insert(message.id.name.clone(), values);
                assert!(twice.is_none(), "{} twice", message.id.name);
            }
            Entry::Junk { content } => panic!("{}: {content}", language.tag()),
            _ => {}
        }
    }
    found
}

fn of_pattern(pattern: &Pattern<String>, into: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        if let PatternElement::Placeable { expression } = element {
            of_expression(expression, into);
        }
    }
}

fn of_expression(expression: &Expression<String>, into: &mut BTreeSet<String>) {
    match expression {
        Expression::Inline(inline) => of_inline(inline, into),
        Expression::Select { selector, variants } => {
            of_inline(selector, into);
            for variant in variants {
                of_pattern(&variant.value, into);
            }
        }
    }
}

fn of_inline(inline: &InlineExpression<String>, into: &mut BTreeSet<String>) {
    match inline {
        InlineExpression::VariableReference { id } => drop(into.insert(id.name.clone())),
        InlineExpression::Placeable { expression } => of_expression(expression, into),
        InlineExpression::FunctionReference { arguments, .. } => {
            let CallArguments { positional, .. } = arguments;
            positional.iter().for_each(|inline| of_inline(inline, into));
        }
        _ => {}
    }
}

/// The values that reach the listener, each in the form that English takes.
fn said(id: &str, values: &BTreeSet<String>, english: &BTreeSet<String>) -> BTreeSet<String> {
    let form = |value: &String| {
        // "Left" is a form of "left" in English too.
        if english.contains(value) && value != "Left" {
            return value.clone();
        }
        let known = FORMS.iter().find(|(form, _)| form == value);
        known.map_or(value.clone(), |(_, of)| (*of).to_owned())
    };
    let apart: Vec<_> = APART.iter().filter(|(of, _)| *of == id).collect();
    let mut said: BTreeSet<String> = values.iter().map(form).collect();
    said.retain(|value| !value.is_empty() && !apart.iter().any(|(_, free)| free == value));
    said
}

/// What only chooses a form, and need not be said.
const CHOOSES: [&str; 3] = ["n", "gender", "begins"];

#[test]
fn no_message_is_missing_and_no_value_is_lost_in_any_language() {
    let english = messages(Language::English);
    for language in Language::ALL {
        let here = messages(language);
        let tag = language.tag();
        for (id, values) in &english {
            let found = here.get(id).unwrap_or_else(|| panic!("{tag}: no {id}"));
            let free = |set: &BTreeSet<String>| -> BTreeSet<String> {
                let counted = values.contains("words") || id == "a-item";
                let chooses = |v: &&String| counted && CHOOSES.contains(&v.as_str());
                set.iter().filter(|v| !chooses(v)).cloned().collect()
            };
            let wanted = free(&said(id, values, values));
            let found = free(&said(id, found, values));
            assert_eq!(found, wanted, "{tag}: {id}");
        }
        for id in here.keys().filter(|id| !english.contains_key(*id)) {
            let number = id.strip_prefix("number-").expect(id);
            let (number, gender) = number.split_once('-').expect(id);
            assert!(number.parse::<u8>().is_ok(), "{tag}: {id}");
            assert!(Gender::WORDS.iter().any(|(word, _)| *word == gender));
        }
    }
}

#[test]
fn plurals_are_right_in_each_language() {
    // The categories are those of CLDR; French and Portuguese count nought as one.
    let said = |language, id: &str| {
        let wording = Wording::of(language);
        [0, 1, 2, 5, 21].map(|n| wording.counted(id, n)).join("; ")
    };
    for (language, id, expected) in [
        (
            Language::English,
            "rounds",
            "nought rounds; one round; two rounds; five rounds; twenty-one rounds",
        ),
        (
            Language::German,
            "rounds",
            "null Runden; eine Runde; zwei Runden; fünf Runden; einundzwanzig Runden",
        ),
        (
            Language::German,
            "blocks",
            "null Teile; ein Teil; zwei Teile; fünf Teile; einundzwanzig Teile",
        ),
        (
            Language::Spanish,
            "rounds",
            "cero rondas; una ronda; dos rondas; cinco rondas; veintiuna rondas",
        ),
        (
            Language::Spanish,
            "seconds",
            "cero segundos; un segundo; dos segundos; cinco segundos; veintiún segundos",
        ),
        (
            Language::French,
            "rounds",
            "zéro tour; un tour; deux tours; cinq tours; vingt et un tours",
        ),
        (
            Language::French,
            "seconds",
            "zéro seconde; une seconde; deux secondes; cinq secondes; vingt et une secondes",
        ),
        (
            Language::Portuguese,
            "rounds",
            "zero rodada; uma rodada; duas rodadas; cinco rodadas; vinte e uma rodadas",
        ),
        (
            Language::Portuguese,
            "minutes",
            "zero minuto; um minuto; dois minutos; cinco minutos; vinte e um minutos",
        ),
    ] {
        assert_eq!(said(language, id), expected);
    }
}

#[test]
fn lengths_are_said_as_people_say_them() {
    let said = |language| {
        let wording = Wording::of(language);
        [20, 60, 61, 370].map(|s| wording.length(Millis::from_secs(s)))
    };
    assert_eq!(
        said(Language::German),
        [
            "zwanzig Sekunden",
            "eine Minute",
            "eine Minute eins",
            "sechs Minuten zehn"
        ]
    );
    assert_eq!(
        said(Language::Spanish)[2..],
        ["un minuto y un segundo", "seis minutos y diez segundos"]
    );
    assert_eq!(said(Language::French)[3], "six minutes dix");
    assert_eq!(said(Language::Portuguese)[3], "seis minutos e dez segundos");
}

#[test]
fn things_have_the_articles_of_their_language() {
    let noun = |name: &str, plural: &str, gender| Noun {
        name: name.to_owned(),
        plural: Some(plural.to_owned()),
        gender,
    };
    let check = |language, noun: &Noun, expected: [&str; 6]| {
        let wording = Wording::of(language);
        let said = [
            wording.some(noun, 1),
            wording.some(noun, 2),
            wording.the(noun, 1),
            wording.the(noun, 2),
            wording.number_of(noun, 1),
            wording.the_loaded(noun, 1, Some("6 kg")),
        ];
        assert_eq!(said, expected);
    };
    let hantel = noun("Kurzhantel", "Kurzhanteln", Gender::Feminine);
    check(
        Language::German,
        &hantel,
        [
            "eine Kurzhantel",
            "zwei Kurzhanteln",
            "die Kurzhantel",
            "die Kurzhanteln",
            "eine Kurzhantel",
            "die Kurzhantel mit 6 kg",
        ],
    );
    // Things are in the accusative: they are taken, put down, needed.
    let stab = noun("Stab", "Stäbe", Gender::Masculine);
    check(
        Language::German,
        &stab,
        [
            "einen Stab",
            "zwei Stäbe",
            "den Stab",
            "die Stäbe",
            "einen Stab",
            "den Stab mit 6 kg",
        ],
    );
    let mancuerna = noun("mancuerna", "mancuernas", Gender::Feminine);
    check(
        Language::Spanish,
        &mancuerna,
        [
            "una mancuerna",
            "dos mancuernas",
            "la mancuerna",
            "las mancuernas",
            "una mancuerna",
            "la mancuerna de 6 kg",
        ],
    );
    let haltere = noun("haltère", "haltères", Gender::Masculine);
    check(
        Language::French,
        &haltere,
        [
            "un haltère",
            "deux haltères",
            "l'haltère",
            "les haltères",
            "un haltère",
            "l'haltère de 6 kg",
        ],
    );
    let bola = noun("bola", "bolas", Gender::Feminine);
    check(
        Language::Portuguese,
        &bola,
        [
            "uma bola",
            "duas bolas",
            "a bola",
            "as bolas",
            "uma bola",
            "a bola de 6 kg",
        ],
    );
    check(
        Language::English,
        &noun("oar", "oars", Gender::Neuter),
        [
            "an oar",
            "two oars",
            "the oar",
            "the oars",
            "one oar",
            "the 6 kg oar",
        ],
    );
}
