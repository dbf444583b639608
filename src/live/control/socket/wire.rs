//! What a line asks, and the lines that answer.

use super::super::Verb;
use serde::Deserialize;
use serde::Serialize;

/// What a line asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Request {
    Tell(Verb),
    Status { follow: bool },
}

/// The answer to what was told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    pub ok: bool,
    /// Why it was not taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    verb: String,
    #[serde(default)]
    follow: bool,
}

const STATUS: &str = "status";

impl Request {
    /// Reads a line: a verb in plain words, or JSON.
    ///
    /// # Errors
    ///
    /// Says what was expected, in a sentence.
    pub fn parse(line: &str) -> Result<Self, String> {
        let line = line.trim();
        let (words, follow) = if line.starts_with('{') {
            let asked: Asked = serde_json::from_str(line).map_err(|error| {
                format!("expected JSON such as {{\"verb\":\"pause\"}}, found a fault: {error}")
            })?;
            (asked.verb, asked.follow)
        } else {
            match line.strip_suffix(" --follow") {
                Some(words) => (words.to_owned(), true),
                None => (line.to_owned(), false),
            }
        };
        if words.trim() == STATUS {
            return Ok(Request::Status { follow });
        }
        if follow {
            return Err("expected `follow` with `status`, found it with a verb".to_owned());
        }
        Verb::parse(&words)
            .map(Request::Tell)
            .map_err(|unknown| unknown.0)
    }

    /// Returns the line that asks for it, without its line feed.
    pub fn line(&self) -> String {
        let (verb, follow) = match self {
            Request::Tell(verb) => (verb.text(), false),
            Request::Status { follow } => (STATUS.to_owned(), *follow),
        };
        let asked = match follow {
            true => serde_json::json!({ "verb": verb, "follow": true }),
            false => serde_json::json!({ "verb": verb }),
        };
        asked.to_string()
    }
}

impl Answer {
    /// Makes the answer to what was taken, or why it was not.
    pub fn of(taken: Result<(), String>) -> Self {
        Self {
            ok: taken.is_ok(),
            error: taken.err(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_asked_is_read_as_words_and_as_json() {
        let tell = |verb| Ok(Request::Tell(verb));
        let status = |follow| Ok(Request::Status { follow });
        for (line, wanted) in [
            ("pause", tell(Verb::Pause)),
            (" rate 7\r", tell(Verb::Rate(Some(7)))),
            (
                "{\"verb\":\"start boathouse-five\"}",
                tell(Verb::Start(Some("boathouse-five".to_owned()))),
            ),
            ("status", status(false)),
            ("status --follow", status(true)),
            ("{\"verb\":\"status\",\"follow\":true}", status(true)),
        ] {
            assert_eq!(Request::parse(line), wanted, "{line}");
            let request = wanted.unwrap();
            assert_eq!(Request::parse(&request.line()), Ok(request));
        }
        for (line, words) in [
            ("", "the verbs are"),
            ("puase", "did you mean `pause`"),
            ("{", "expected JSON"),
            ("{\"verb\":5}", "expected JSON"),
            ("{\"verb\":\"pause\",\"now\":true}", "now"),
            ("pause --follow", "with `status`"),
            ("\u{0}\u{1}", "the verbs are"),
        ] {
            let told = Request::parse(line).unwrap_err();
            assert!(told.contains(words), "{line}: {told}");
        }
    }
}
