//! The verbs, as they are written in mappings and on the socket.

use crate::base::diagnostic::nearest;
use thiserror::Error;

/// One thing that a listener can tell the program.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Verb {
    /// Begins the session named, or the one that was chosen by ear.
    Start(Option<String>),
    Pause,
    Resume,
    /// Pauses what runs, lets go on what is paused, and ends what waits for a key.
    PauseOrResume,
    Skip,
    Back,
    /// Says the last line again.
    Repeat,
    /// Says where the session is, in one breath.
    Where,
    /// Says the movement again from its start position, with the clock held.
    Explain,
    Easier,
    Louder,
    Quieter,
    SpeechFaster,
    SpeechSlower,
    TalkMore,
    TalkLess,
    Next,
    Previous,
    /// The effort felt, 0 to 10; `None` leaves the question unanswered.
    Rate(Option<u8>),
    Help,
    Stop,
}

/// Why a text is no verb, as it is told.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{0}")]
pub struct Unknown(pub String);

/// The words of the verbs that take nothing.
const WORDS: [(&str, Verb); 19] = [
    ("start", Verb::Start(None)),
    ("pause", Verb::Pause),
    ("resume", Verb::Resume),
    ("pause-or-resume", Verb::PauseOrResume),
    ("skip", Verb::Skip),
    ("back", Verb::Back),
    ("repeat", Verb::Repeat),
    ("where", Verb::Where),
    ("explain", Verb::Explain),
    ("easier", Verb::Easier),
    ("louder", Verb::Louder),
    ("quieter", Verb::Quieter),
    ("speech-faster", Verb::SpeechFaster),
    ("speech-slower", Verb::SpeechSlower),
    ("talk-more", Verb::TalkMore),
    ("talk-less", Verb::TalkLess),
    ("next", Verb::Next),
    ("previous", Verb::Previous),
    ("help", Verb::Help),
];
const STOP: &str = "stop";
const RATE: &str = "rate";

impl Verb {
    /// Reads a verb: `pause`, `start SESSION`, `rate 7`, `rate skip`.
    ///
    /// # Errors
    ///
    /// [`Unknown`] says what was expected, and the nearest verb.
    pub fn parse(text: &str) -> Result<Self, Unknown> {
        let mut words = text.split_whitespace();
        let first = words.next().unwrap_or("");
        let rest: Vec<_> = words.collect();
        match (first, &rest[..]) {
            ("start", [session]) => Ok(Verb::Start(Some((*session).to_owned()))),
            (RATE, ["skip"]) => Ok(Verb::Rate(None)),
            (RATE, [number]) => match number.parse() {
                Ok(felt) if felt <= 10 => Ok(Verb::Rate(Some(felt))),
                _ => Err(Unknown(
                    "expected `rate` with a number from 0 to 10, or `rate skip`".to_owned(),
                )),
            },
            (RATE, _) => Err(Unknown(
                "expected `rate` with a number from 0 to 10, or `rate skip`".to_owned(),
            )),
            (STOP, []) => Ok(Verb::Stop),
            (word, []) => {
                let known = WORDS.iter().find(|(known, _)| *known == word);
                known
                    .map(|(_, verb)| verb.clone())
                    .ok_or_else(|| unknown(word))
            }
            (word, _) if word == STOP || WORDS.iter().any(|(known, _)| *known == word) => {
                Err(Unknown(format!("expected nothing after `{word}`")))
            }
            (word, _) => Err(unknown(word)),
        }
    }

    /// Returns the verb as it is written.
    pub fn text(&self) -> String {
        match self {
            Verb::Start(Some(session)) => format!("start {session}"),
            Verb::Rate(Some(felt)) => format!("{RATE} {felt}"),
            Verb::Rate(None) => format!("{RATE} skip"),
            Verb::Stop => STOP.to_owned(),
            other => {
                let known = WORDS.iter().find(|(_, verb)| verb == other);
                known.map_or(String::new(), |(word, _)| (*word).to_owned())
            }
        }
    }

    /// Returns the words of all verbs, for help and completion.
    pub fn words() -> impl Iterator<Item = &'static str> {
        WORDS.iter().map(|(word, _)| *word).chain([RATE, STOP])
    }
}

fn unknown(word: &str) -> Unknown {
    let shown: String = word.chars().take(40).collect();
    Unknown(match nearest(&shown, Verb::words()) {
        Some(near) => format!("expected a verb, found `{shown}`: did you mean `{near}`?"),
        None => {
            let all: Vec<_> = Verb::words().collect();
            format!(
                "expected a verb, found `{shown}`; the verbs are {}",
                all.join(", ")
            )
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_verb_is_read_as_it_is_written() {
        for word in Verb::words().filter(|word| *word != RATE) {
            assert_eq!(Verb::parse(word).unwrap().text(), word);
        }
        for text in ["start boathouse-five", "rate 0", "rate 10", "rate skip"] {
            assert_eq!(Verb::parse(text).unwrap().text(), text);
        }
    }

    #[test]
    fn what_is_no_verb_is_told_with_the_nearest() {
        let told = |text| Verb::parse(text).unwrap_err().0;
        assert!(told("puase").contains("`pause`"));
        assert!(told("rate 11").contains("0 to 10"));
        assert!(told("pause now").contains("nothing after"));
        assert!(told("").contains("the verbs are"));
        assert!(told(&"x".repeat(1_000_000)).len() < 400);
    }
}
