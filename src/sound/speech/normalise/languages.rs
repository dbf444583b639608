//! Normalisation in the languages beside English, by example and by property.

use proptest::prelude::*;

use super::*;

fn check(language: &Language, pairs: &[(&str, &str)]) {
    for (text, expected) in pairs {
        assert_eq!(normalise(text, language), *expected, "of {text:?}");
    }
}

#[test]
fn german_is_read_as_it_is_said() {
    check(
        &GERMAN,
        &[
            ("Süße Übung, große Füße.", "Süße Übung, große Füße."),
            ("Cafe\u{301} u\u{308}ben", "Cafe üben"),
            ("Café", "Cafe"),
            (
                "21 100 101 1999",
                "einundzwanzig einhundert einhunderteins eintausendneunhundertneunundneunzig",
            ),
            ("1 Runde, 2 Runden", "eine Runde, zwei Runden"),
            (
                "1 Schritt, 1 Mal, 1 und 1",
                "ein Schritt, ein Mal, eins und eins",
            ),
            ("1,5 kg", "eins Komma fünf Kilogramm"),
            ("2.5 kg", "zwei Komma fünf Kilogramm"),
            ("1.250 m", "eintausendzweihundertfünfzig Meter"),
            (
                "1 min, 20 s, 1m30s",
                "eine Minute, zwanzig Sekunden, eine Minute dreißig Sekunden",
            ),
            ("1:30 Arbeit", "eine Minute dreißig Sekunden Arbeit"),
            ("10:30 Uhr", "zehn Uhr dreißig"),
            ("3x12 bei 20 kg", "drei mal zwölf bei zwanzig Kilogramm"),
            ("8-12 Wdh.", "acht bis zwölf Wiederholungen."),
            ("Tempo 2-0-1-0", "Tempo zwei null eins null"),
            ("die 3te Runde, der 1ste", "die dritte Runde, der erste"),
            ("z.B. ca. 5 Min", "zum Beispiel circa fünf Minuten"),
            ("7/10, 1/2, 3/4", "sieben von zehn, ein halb, drei Viertel"),
            (
                "90 %, 45°, 20°C",
                "neunzig Prozent, fünfundvierzig Grad, zwanzig Grad Celsius",
            ),
            ("KH in beide Hände", "Kurzhantel in beide Hände"),
            ("R: noch einmal", "R: noch einmal"),
            ("GRÖẞE", "GRÖẞE"),
            (
                "8er-Satz, im 4er, 7er Block",
                "Achter-Satz, im Vierer, Siebener Block",
            ),
        ],
    );
}

#[test]
fn german_tells_a_place_in_an_order_from_a_stop() {
    check(
        &GERMAN,
        &[
            ("2. Runde", "zweite Runde"),
            ("die 3. Übung", "die dritte Übung"),
            ("Jetzt die 3. Übung.", "Jetzt die dritte Übung."),
            ("am 3. Tag", "am dritten Tag"),
            ("Zum 2. Mal. 3. Satz!", "Zum zweiten Mal. dritter Satz!"),
            (
                "der 3. Satz, in der 3. Runde",
                "der dritte Satz, in der dritten Runde",
            ),
            ("bei der 7. Planke", "bei der siebten Planke"),
            (
                "die 2. und 3. Runde, die 4., 5. und 6. schwere Übung",
                "die zweite und dritte Runde, die vierte, fünfte und sechste schwere Übung",
            ),
            (
                "ab 2. Runde, ein 2. Satz",
                "ab zweiter Runde, ein zweiter Satz",
            ),
            ("20. Wiederholung", "zwanzigste Wiederholung"),
            ("Noch 2.", "Noch zwei."),
            ("Noch 2. Dann Pause.", "Noch zwei. Dann Pause."),
            ("Noch 2. Runde 3.", "Noch zwei. Runde drei."),
            ("Satz 2. Pause.", "Satz zwei. Pause."),
            ("1. Liegestütze", "eins. Liegestütze"),
        ],
    );
}

#[test]
fn a_number_sign_and_a_written_ending_are_read() {
    check(
        &FRENCH,
        &[
            ("n° 4, nº 5", "numéro quatre, numéro cinq"),
            ("N°4", "numéro quatre"),
        ],
    );
    check(
        &SPANISH,
        &[
            ("3.ª serie, 1.er set", "tercera serie, primer set"),
            ("n.º 4, nº 5", "número cuatro, número cinco"),
        ],
    );
    check(
        &PORTUGUESE,
        &[
            ("nº 5, n.º 5", "número cinco, número cinco"),
            ("2.ª série, 1.º", "segunda série, primeiro"),
        ],
    );
}

#[test]
fn thousands_may_be_set_off_by_a_space() {
    check(
        &FRENCH,
        &[
            ("1 000 m", "mille mètres"),
            ("1\u{a0}000\u{a0}m", "mille mètres"),
            ("1\u{202f}000\u{202f}m", "mille mètres"),
            ("12 500 et 100 000", "douze mille cinq cents et cent mille"),
            ("100 200", "cent deux cents"),
            ("5 10 20", "cinq dix vingt"),
        ],
    );
    check(
        &GERMAN,
        &[
            (
                "1\u{202f}000 m, 2\u{a0}kg",
                "eintausend Meter, zwei Kilogramm",
            ),
            ("100 200", "einhundert zweihundert"),
        ],
    );
    check(&ENGLISH, &[("1\u{a0}000 m", "one thousand meters")]);
}

#[test]
fn halves_go_by_their_noun() {
    check(
        &SPANISH,
        &[
            ("1/2 vuelta, ½ minuto", "media vuelta, medio minuto"),
            (
                "1½ vueltas, 2½ vueltas",
                "una vuelta y media, dos vueltas y media",
            ),
            ("1½ repeticiones", "una y media repeticiones"),
            ("1½ h, 2½ kg", "una hora y media, dos kilos y medio"),
            ("1/2 kg, 1/2 h", "medio kilo, media hora"),
        ],
    );
    check(
        &PORTUGUESE,
        &[
            ("1/2 volta, 1/2 kg", "meia volta, meio quilo"),
            ("1½ voltas", "uma e meia voltas"),
            ("2½ h", "duas horas e meia"),
        ],
    );
    check(
        &GERMAN,
        &[
            ("1/2 Drehung", "eine halbe Drehung"),
            ("½ h, 1/2 Satz", "eine halbe Stunde, ein halber Satz"),
            (
                "1½ Runden, 2 1/2 kg",
                "eineinhalb Runden, zweieinhalb Kilogramm",
            ),
            ("1/2", "ein halb"),
        ],
    );
    check(
        &FRENCH,
        &[
            ("1/2 tour, 1/2 série", "un demi tour, une demi série"),
            ("½ h", "une demi heure"),
            (
                "1½ tours, 2½ séries",
                "un tour et demi, deux séries et demie",
            ),
            ("1½ h", "une heure et demie"),
        ],
    );
}

#[test]
fn a_short_form_ends_a_sentence_only_where_one_ends() {
    check(
        &GERMAN,
        &[
            ("12 Wdh. mit Pause", "zwölf Wiederholungen mit Pause"),
            (
                "1 Std., 100 Wdh., usw., dann Ende",
                "eine Stunde, einhundert Wiederholungen, und so weiter, dann Ende",
            ),
            ("12 Wdh. Dann Pause.", "zwölf Wiederholungen. Dann Pause."),
            ("usw. Dann Pause.", "und so weiter. Dann Pause."),
            ("30 Sek. über", "dreißig Sekunden über"),
        ],
    );
    check(
        &FRENCH,
        &[
            ("12 rép. avec", "douze répétitions avec"),
            ("12 rép. étire", "douze répétitions étire"),
            ("12 rép.", "douze répétitions."),
        ],
    );
    check(
        &PORTUGUESE,
        &[
            ("12 rep. com", "doze repetições com"),
            ("12 rep. É tudo.", "doze repetições. É tudo."),
        ],
    );
}

#[test]
fn a_split_keeps_its_tenths_with_the_seconds() {
    for (language, said) in [
        (&ENGLISH, "two minutes five point three seconds"),
        (&SPANISH, "dos minutos cinco coma tres segundos"),
        (&GERMAN, "zwei Minuten fünf Komma drei Sekunden"),
        (&FRENCH, "deux minutes cinq virgule trois secondes"),
        (&PORTUGUESE, "dois minutos cinco vírgula três segundos"),
    ] {
        check(language, &[("2:05.3", said), ("2:05,3", said)]);
    }
}

#[test]
fn spanish_is_read_as_it_is_said() {
    check(
        &SPANISH,
        &[
            ("¿Año, corazón, pingüino?", "Año, corazón, pingüino?"),
            ("an\u{303}o", "año"),
            ("21 31 100 101", "veintiuno treinta y uno cien ciento uno"),
            (
                "1 ronda, 21 rondas, 1 ejercicio",
                "una ronda, veintiuna rondas, un ejercicio",
            ),
            (
                "21 segundos, 31 kg",
                "veintiún segundos, treinta y un kilos",
            ),
            ("200 repeticiones", "doscientas repeticiones"),
            ("1 y 2", "uno y dos"),
            (
                "2,5 kg; 1.500 m",
                "dos coma cinco kilos; mil quinientos metros",
            ),
            ("1:30 de trabajo", "un minuto treinta segundos de trabajo"),
            (
                "3x12 @ 20 kg, 2x",
                "tres por doce con veinte kilos, dos veces",
            ),
            ("8-12 reps", "ocho a doce repeticiones"),
            ("1º, 3ª, 1er", "primero, tercera, primer"),
            ("p. ej. 10 seg", "por ejemplo diez segundos"),
            ("7/10, 1/3, 3/4", "siete de diez, un tercio, tres cuartos"),
            ("90 %", "noventa por ciento"),
        ],
    );
}

#[test]
fn french_is_read_as_it_is_said() {
    check(
        &FRENCH,
        &[
            ("Élève l'épaule, ça va où ?", "Élève l'épaule, ça va où?"),
            (
                "21 71 80 81 91 99",
                "vingt et un soixante et onze quatre-vingts quatre-vingt-un quatre-vingt-onze quatre-vingt-dix-neuf",
            ),
            (
                "1 série, 21 minutes, 1 tour",
                "une série, vingt et une minutes, un tour",
            ),
            (
                "200, 201, 80000",
                "deux cents, deux cent un, quatre-vingt mille",
            ),
            ("1h30, 20 s", "une heure trente minutes, vingt secondes"),
            ("2,5 kg", "deux virgule cinq kilos"),
            (
                "1er, 1re, 2e, 9e, 5e",
                "premier, première, deuxième, neuvième, cinquième",
            ),
            (
                "3x12, 8-12 rép",
                "trois fois douze, huit à douze répétitions",
            ),
            ("7/10", "sept sur dix"),
            (
                "21 flexions, 1 rotation, 21 millions",
                "vingt et une flexions, une rotation, vingt et un millions",
            ),
            ("l'haltère et l’élastique", "l'haltère et l'élastique"),
        ],
    );
}

#[test]
fn portuguese_is_read_as_it_is_said() {
    check(
        &PORTUGUESE,
        &[
            (
                "Coração, você, às três, lição.",
                "Coração, você, às três, lição.",
            ),
            (
                "21 22 100 101 1234",
                "vinte e um vinte e dois cem cento e um mil duzentos e trinta e quatro",
            ),
            (
                "2 rodadas, 22 séries, 2 exercícios",
                "duas rodadas, vinte e duas séries, dois exercícios",
            ),
            ("1 mão, 2 e 3", "uma mão, dois e três"),
            ("2h, 1 min", "duas horas, um minuto"),
            ("2,5 kg", "dois vírgula cinco quilos"),
            ("1º, 2ª", "primeiro, segunda"),
            ("3x12, 8-12 reps", "três vezes doze, oito a doze repetições"),
            ("7/10, 1/2", "sete de dez, meio"),
        ],
    );
}

/// Whether an engine can say it: words of the language, and marks followed by one space.
fn speakable(text: &str, language: &Language) -> bool {
    let word = |c: char| c.is_ascii_alphabetic() || language.letters.contains(c);
    let chars: Vec<char> = text.chars().collect();
    let before = |n: usize| n.checked_sub(1).map(|n| chars[n]);
    let after = |n: usize| chars.get(n + 1).copied();
    chars.iter().enumerate().all(|(n, c)| match c {
        '\'' | '-' => before(n).is_some_and(word),
        ' ' => before(n).is_some_and(|c| c != ' ') && after(n).is_some(),
        ',' | '.' | ';' | ':' | '!' | '?' => {
            before(n).is_some_and(word) && after(n).is_none_or(|c| c == ' ')
        }
        c => word(*c),
    })
}

proptest! {
    #[test]
    fn any_text_becomes_speakable_and_stays_as_it_is(nth in 0..LANGUAGES.len(), text in any::<String>()) {
        let language = LANGUAGES[nth].1;
        let once = normalise(&text, language);
        prop_assert!(speakable(&once, language), "{:?}", once);
        prop_assert_eq!(normalise(&once, language), once);
    }

    #[test]
    fn any_session_like_text_becomes_speakable_and_stays_as_it_is(
        nth in 0..LANGUAGES.len(),
        text in "[0-9xXRLmskgh:./%@&<>()' ,.!?DBhäöüßáéíóúñçãõàêœºª\u{301}\u{303}\u{308}°½ºẞ\u{a0}\u{202f}n-]{0,40}",
    ) {
        let language = LANGUAGES[nth].1;
        let once = normalise(&text, language);
        prop_assert!(speakable(&once, language), "{:?}", once);
        prop_assert_eq!(normalise(&once, language), once);
    }

    #[test]
    fn every_number_is_words(nth in 0..LANGUAGES.len(), value in 0u64..1_000_000_000_000) {
        let language = LANGUAGES[nth].1;
        let said = normalise(&value.to_string(), language);
        prop_assert!(!said.is_empty() && !said.contains(|c: char| c.is_ascii_digit()));
    }
}
