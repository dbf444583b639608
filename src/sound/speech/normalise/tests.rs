//! Normalisation, by example and by property.

use proptest::prelude::*;

use super::*;

fn check(text: &str, expected: &str) {
    assert_eq!(normalise(text, &ENGLISH), expected, "of {text:?}");
}

#[test]
fn ordinary_words_are_left_alone() {
    for text in [
        "Draw the elbow up past your ribs.",
        "Press-up, don't rush: hips level; breathe out!",
        "Ready? Three, two, one.",
        "I can. A row. X marks it.",
        "Form up as many as you like",
        "Left hand on the bench, feet a step back.",
    ] {
        check(text, text);
    }
}

#[test]
fn numbers_are_spoken() {
    check(
        "0 1 12 20 21 99",
        "zero one twelve twenty twenty-one ninety-nine",
    );
    check(
        "1,250 and 1000000",
        "one thousand two hundred fifty and one million",
    );
    check(
        "2.5 or .75 or 10.0",
        "two point five or zero point seven five or ten point zero",
    );
    check(
        "1st 2nd 3rd 11th 112th",
        "first second third eleventh one hundred twelfth",
    );
    check("-5 and 8 - 5", "minus five and eight to five");
    check("007", "zero zero seven");
    check("zone2, B12, 3D", "zone two, B twelve, three D");
    check("Round 1. Next 2.", "Round one. Next two.");
    check("#3", "number three");
    check("99999999999999", &["nine"; 14].join(" "));
}

#[test]
fn times_are_spoken() {
    check("1:30 of work", "one minute thirty seconds of work");
    check("0:45", "forty-five seconds");
    check("1:00:05", "one hour five seconds");
    check("2:1 ratio", "two to one ratio");
    check("20s on, 1 s off", "twenty seconds on, one second off");
    check("1m30s", "one minute thirty seconds");
    check("1h 5m", "one hour five minutes");
    check("20-second hold", "twenty second hold");
    check("5 min, 30 sec.", "five minutes, thirty seconds.");
    check("5m30, 2:00 min", "five minutes thirty seconds, two minutes");
    check("10:30am, 5 p.m. today", "ten thirty AM, five PM today");
    check("10s on/10s off", "ten seconds on, ten seconds off");
    check(
        "2:00.3, 0:59.9",
        "two minutes zero point three seconds, fifty-nine point nine seconds",
    );
    check(
        "At 2:05. 3 more.",
        "At two minutes five seconds. three more.",
    );
    check("1:30,2:00", "one minute thirty seconds, two minutes");
}

#[test]
fn units_agree_with_their_number() {
    check("1 kg", "one kilogram");
    check("6 kg", "six kilograms");
    check("6KG", "six kilograms");
    check("2.5kg", "two point five kilograms");
    check("a 6-kg dumbbell", "a six kilogram dumbbell");
    check("2 x 6 kg DBs", "two times six kilogram dumbbells");
    check("12.5kg DB", "twelve point five kilogram dumbbell");
    check("12 reps/side", "twelve reps per side");
    check("6'2\"", "six two");
    check("1 lb, 10 lbs", "one pound, ten pounds");
    check("10 m then 2km", "ten meters then two kilometers");
    check(
        "90% at 80 rpm",
        "ninety percent at eighty revolutions per minute",
    );
    check("100%", "one hundred percent");
    check("12 km/h", "twelve kilometers per hour");
    check("45\u{b0} bend", "forty-five degrees bend");
    check("20\u{b0}C", "twenty degrees Celsius");
    check("8-12 kg", "eight to twelve kilograms");
    check("8kg-12kg", "eight kilograms to twelve kilograms");
    check("in kg", "in kilograms");
}

#[test]
fn a_short_form_ends_a_sentence_only_where_one_ends() {
    check("approx. 20 s", "about twenty seconds");
    check(
        "30 sec. then 5 min. more",
        "thirty seconds then five minutes more",
    );
    check(
        "1 min. 30 sec. (2 min.), go",
        "one minute thirty seconds, two minutes, go",
    );
    check("30 sec. Then 5 min.", "thirty seconds. Then five minutes.");
    check("90%. 5 more", "ninety percent. five more");
}

#[test]
fn fractions_and_scores_are_spoken() {
    check("1/2, 3/4, 2/3", "one half, three quarters, two thirds");
    check("1\u{bd} rounds", "one and one half rounds");
    check("1 1/2 kg", "one and one half kilograms");
    check("1/2 mi", "one half mile");
    check("RPE 7/10", "rate of perceived exertion seven out of ten");
    check("24/7, 20/10", "twenty-four seven, twenty ten");
    check(
        "Round 3/4, effort 10/10",
        "Round three out of four, effort ten out of ten",
    );
    check("2/3 of the way", "two thirds of the way");
}

#[test]
fn sets_ranges_and_tempo_are_spoken() {
    check("8-12 reps", "eight to twelve reps");
    check("8\u{2013}12", "eight to twelve");
    check("8 - 12", "eight to twelve");
    check("3x12", "three times twelve");
    check("3 x 12", "three times twelve");
    check(
        "3\u{d7}12 @ 20 kg",
        "three times twelve at twenty kilograms",
    );
    check("2x", "two times");
    check(
        "Press-up x 10, row x3",
        "Press-up times ten, row times three",
    );
    check("tempo 2-0-1-0", "tempo two zero one zero");
    check("3-1-X", "three one X");
}

#[test]
fn abbreviations_are_expanded_only_as_whole_words_in_capitals() {
    check("DB row, KB swing", "dumbbell row, kettlebell swing");
    check(
        "2 DBs, the KB's handle",
        "two dumbbells, the kettlebell's handle",
    );
    check(
        "e.g. hold, i.e. stay w/ it",
        "for example hold, that is stay with it",
    );
    check("dB and KBps and ROMs", "dB and KBps and ROMs");
    check(
        "RDL, AMRAP",
        "Romanian deadlift, as many rounds as possible",
    );
    check(
        "R side first, then L side",
        "right side first, then left side",
    );
    check("Row (R)", "Row, right");
    check("R/L", "right and left");
    check("Vitamin R is L", "Vitamin R is L");
    check("squat & press + hold", "squat and press plus hold");
    check("and/or", "and or or");
}

#[test]
fn signs_and_markup_never_reach_the_engine() {
    check("Go! \u{1f4aa}\u{1f3fd} Now\u{2026}", "Go! Now.");
    check("Wait... now", "Wait, now");
    check("<speak>Hi <break time=\"1s\"/>there</speak>", "Hi there");
    check(
        "a < b, <3, >90%",
        "a b, less than three, more than ninety percent",
    );
    check("[squat](/skwat/) {up}", "squat, skwat, up");
    check("caf\u{e9} na\u{ef}ve", "cafe naive");
    check(
        "\u{201c}Quote\u{201d} \u{2018}it\u{2019}s\u{2019}",
        "Quote it's",
    );
    check("\u{41f}\u{440}\u{438}\u{432}\u{435}\u{442} press", "press");
    check("one\u{0}two\u{7}three", "one two three");
    check("line\nnext", "line. next");
    check("Really?!?!", "Really?");
    check("Up \u{2014} and down", "Up, and down");
    check("rock &amp; roll", "rock and roll");
    check("a &lt;x&gt; b &amp;lt;br&amp;gt; c", "a x b br c");
    check("a <b and c> d, e <f> g", "a b and c d, e g");
    check(
        "<a href = 'x'>in</a ><br /><hr/><!-- x --><?x y?> out",
        "in out",
    );
    check("a </ b> c <! d> e", "a, b c! d e");
    for nothing in [
        "",
        "  ",
        "...",
        "\u{1f4aa}",
        "\u{6f22}\u{5b57}",
        "<br/>",
        "-",
        "'",
    ] {
        check(nothing, "");
    }
}

/// num2words 0.5.14 (PyPI), `num2words(n)`, without its commas and "and".
#[test]
fn cardinals_agree_with_num2words() {
    for (value, words) in include!("num2words_cardinal.in") {
        assert_eq!((ENGLISH.cardinal)(value), words);
    }
}

/// num2words 0.5.14 (PyPI), `num2words(n, to="ordinal")`, without its commas and "and".
#[test]
fn ordinals_agree_with_num2words() {
    for (value, words) in include!("num2words_ordinal.in") {
        assert_eq!((ENGLISH.ordinal)(value, "th"), words);
    }
}

/// Whether an engine can say it: words, and marks followed by one space.
fn speakable(text: &str) -> bool {
    let bytes = text.as_bytes();
    bytes.iter().enumerate().all(|(n, byte)| match byte {
        b'a'..=b'z' | b'A'..=b'Z' => true,
        b'\'' | b'-' => n > 0 && bytes[n - 1].is_ascii_alphanumeric(),
        b' ' => n > 0 && bytes[n - 1] != b' ' && n + 1 < bytes.len(),
        b',' | b'.' | b';' | b':' | b'!' | b'?' => {
            n > 0
                && bytes[n - 1].is_ascii_alphanumeric()
                && bytes.get(n + 1).is_none_or(|b| *b == b' ')
        }
        _ => false,
    })
}

proptest! {
    #[test]
    fn any_text_becomes_speakable_and_stays_as_it_is(text in any::<String>()) {
        let once = normalise(&text, &ENGLISH);
        prop_assert!(speakable(&once), "{:?}", once);
        prop_assert_eq!(normalise(&once, &ENGLISH), once);
    }

    #[test]
    fn any_session_like_text_becomes_speakable(text in "[0-9xXRLmskg:./%@&<>()' ,.!?DBh-]{0,40}") {
        let once = normalise(&text, &ENGLISH);
        prop_assert!(speakable(&once), "{:?}", once);
        prop_assert_eq!(normalise(&once, &ENGLISH), once);
    }

    #[test]
    fn every_number_is_words(value in 0u64..1_000_000_000_000) {
        let said = normalise(&value.to_string(), &ENGLISH);
        prop_assert!(!said.is_empty() && !said.contains(|c: char| c.is_ascii_digit()));
    }
}
