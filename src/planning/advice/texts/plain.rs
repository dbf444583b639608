//! Abbreviations, which a voice spells or guesses.

use super::Text;
use super::advise;
use super::lexicon::BODY;
use super::words::After;
use super::words::Word;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::short;

/// Abbreviations of the trade and of English, in lower case, with their words. Units after a
/// number are not among them: the voice's normaliser reads those out.
const KNOWN: [(&str, &str); 42] = [
    ("db", "dumbbell"),
    ("dbs", "dumbbells"),
    ("kb", "kettlebell"),
    ("kbs", "kettlebells"),
    ("bb", "barbell"),
    ("rdl", "Romanian deadlift"),
    ("rdls", "Romanian deadlifts"),
    ("sldl", "stiff-legged deadlift"),
    ("ohp", "overhead press"),
    ("amrap", "as many rounds as possible"),
    ("emom", "every minute on the minute"),
    ("hiit", "high-intensity intervals"),
    ("rpe", "effort out of ten"),
    ("rir", "repetitions in reserve"),
    ("rom", "range of motion"),
    ("bw", "body weight"),
    ("w/", "with"),
    ("w/o", "without"),
    ("approx", "about"),
    ("etc", "and so on"),
    ("e.g", "for example"),
    ("i.e", "that is"),
    ("vs", "against"),
    ("incl", "including"),
    ("excl", "without"),
    ("alt", "alternating"),
    ("ext", "extension"),
    ("abd", "abduction"),
    ("sl", "single-leg"),
    ("sa", "single-arm"),
    ("bss", "rear-foot-raised split squat"),
    ("ghr", "glute and hamstring raise"),
    ("ghd", "glute and hamstring bench"),
    ("trx", "straps"),
    ("cns", "nervous system"),
    ("doms", "soreness"),
    ("asap", "as soon as you can"),
    ("esp", "above all"),
    ("l/r", "left and right"),
    ("r/l", "right and left"),
    ("ea", "each"),
    ("b/w", "between"),
];

/// Of those, the ones that are words or names as well: abbreviations in capitals alone.
const IN_CAPITALS: [&str; 8] = ["rom", "alt", "ext", "sa", "sl", "abd", "ea", "doms"];

/// Words that people write in capitals to stress them, and short forms that are words by now.
const STRESSED: [&str; 39] = [
    "not", "do", "don't", "never", "only", "always", "and", "or", "no", "stop", "all", "the",
    "one", "tip", "note", "very", "slow", "up", "down", "both", "must", "is", "are", "in", "out",
    "on", "off", "ok", "tv", "am", "pm", "usb", "led", "breathe", "keep", "if", "to", "it",
    "before",
];

/// The longest word in capitals that is taken for an abbreviation.
const LONGEST: usize = 5;

pub(super) fn abbreviation(text: &Text) -> Option<Diagnostic> {
    let words = &text.words;
    let shouted = words.len() > 1 && !words.iter().any(|w| w.written.contains(char::is_lowercase));
    let (word, meaning) = words
        .iter()
        .enumerate()
        .find_map(|(at, word)| short_form(words, at, shouted).map(|meaning| (word, meaning)))?;
    let help = match meaning {
        Some(meaning) => format!("write \"{meaning}\""),
        None => "write it out".to_owned(),
    };
    Some(advise(
        Code::Abbreviation,
        text.place,
        format!("expected words, found \"{}\"", short(&word.written)),
        format!("{help}: a listener cannot look a short form up (common practice)"),
    ))
}

/// Returns the words for which a word stands, if it is short for others and they are known.
fn short_form(words: &[Word], at: usize, shouted: bool) -> Option<Option<&'static str>> {
    let word = &words[at];
    let capitals = word.written.strip_suffix('s').unwrap_or(&word.written);
    let all_capitals = capitals.len() > 1 && capitals.chars().all(|c| c.is_ascii_uppercase());
    if let Some((_, meaning)) = KNOWN.iter().find(|(known, _)| *known == word.low)
        && (all_capitals || !IN_CAPITALS.contains(&word.low.as_str()))
    {
        return Some(Some(meaning));
    }
    // "R arm": a side in one letter.
    let next = words.get(at + 1).filter(|_| word.after == After::Space);
    let limb = next.is_some_and(|next| next.is_one_of(&BODY));
    match word.written.as_str() {
        "R" if limb => return Some(Some("right")),
        "L" if limb => return Some(Some("left")),
        _ => {}
    }
    let unknown = all_capitals
        && !shouted
        && word.written.len() <= LONGEST
        && !STRESSED.contains(&word.low.as_str());
    unknown.then_some(None)
}
