//! The movements and sessions of a folder as they were read last, and what is to be told of each
//! session when some of them change. Pure: what was read is handed in.

use super::Fault;
use super::News;
use super::Verdict;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Level;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::nearest;
use crate::base::wording::Language;
use crate::folder::LoneMovement;
use crate::folder::LoneSession;
use crate::planning::script::Brief;
use crate::planning::session::Library;
use crate::planning::session::Session;
use crate::planning::session::is_id;
use crate::planning::session::resolve;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::collections::HashMap;
use std::sync::Arc;

/// What is known of a folder.
#[derive(Debug, Default)]
pub struct Shelf {
    /// The voices that there are.
    voices: Vec<String>,
    movements: Library,
    /// Of a movement's own file, and of its texts in a language.
    faults: HashMap<(String, Option<Language>), Fault>,
    /// The sessions that use a movement, whether there is one of that id or not.
    users: HashMap<String, BTreeSet<String>>,
    sessions: BTreeMap<String, Held>,
}

#[derive(Debug)]
struct Held {
    uses: Vec<String>,
    verdict: Verdict,
    /// The last one that could be run.
    good: Option<Arc<Session>>,
}

/// A session joined with its movements.
#[derive(Debug)]
pub struct Checked {
    uses: Vec<String>,
    verdict: Verdict,
    session: Option<Session>,
}

impl Shelf {
    /// Makes an empty shelf; sessions may ask for these voices.
    pub fn new(voices: Vec<String>) -> Self {
        Self {
            voices,
            ..Self::default()
        }
    }

    /// Takes in a movement that was read; returns the sessions that must be checked again.
    pub fn movement(&mut self, id: &str, read: LoneMovement) -> Vec<String> {
        let in_movement = |found: &[Diagnostic], named: String| {
            let fault = fault_of(found, &read.sources)?;
            let movement = Some(named);
            Some(Fault { movement, ..fault })
        };
        let own = in_movement(&read.diagnostics, id.to_owned());
        let movement = read.movement.filter(|_| own.is_none());
        let of_texts = read.of_translations.iter();
        // The line is that of its file in this language.
        let of_texts = of_texts.map(|(language, found)| {
            let named = format!("{id} in {}", language.name());
            (Some(*language), in_movement(found, named))
        });
        let faults: Vec<_> = std::iter::once((None, own))
            .chain(of_texts)
            .filter_map(|(language, fault)| Some(((id.to_owned(), language), fault?)))
            .collect();
        let before = self.movements.insert(id.to_owned(), movement);
        let faults_before = self.take_faults(id);
        let same_faults = faults_before.len() == faults.len()
            && faults
                .iter()
                .all(|(of, fault)| faults_before.get(of) == Some(fault));
        self.faults.extend(faults);
        if before.as_ref() == self.movements.get(id) && same_faults {
            return Vec::new();
        }
        self.users_of(id)
    }

    /// Takes a movement away; returns the sessions that must be checked again.
    pub fn movement_gone(&mut self, id: &str) -> Vec<String> {
        self.movements.remove(id);
        self.take_faults(id);
        self.users_of(id)
    }

    fn take_faults(&mut self, id: &str) -> HashMap<(String, Option<Language>), Fault> {
        let languages = Language::ALL.map(Some).into_iter().chain([None]);
        let of = languages.map(|language| (id.to_owned(), language));
        of.filter_map(|of| self.faults.remove_entry(&of)).collect()
    }

    fn users_of(&self, id: &str) -> Vec<String> {
        let users = self.users.get(id).into_iter().flatten();
        users.cloned().collect()
    }

    /// Joins a session that was read with its movements, and says what is to be said of it.
    pub fn check(&self, id: &str, read: LoneSession) -> Checked {
        let LoneSession {
            sources,
            text,
            uses,
            diagnostics,
        } = read;
        let mut found = diagnostics;
        if !is_id(id) {
            return Checked {
                uses,
                verdict: Verdict::Fault(Fault {
                    movement: None,
                    line: None,
                    message: "expected a file name of letters, digits, `-` and `_`".to_owned(),
                    help: "the name without its ending is the id by which it is called".to_owned(),
                }),
                session: None,
            };
        }
        let language = text.as_ref().map(|text| text.language);
        let session = text.and_then(|text| {
            let (session, more) = resolve(text, &self.movements);
            found.extend(more);
            session
        });
        let own = fault_of(&found, &sources)
            .or_else(|| session.as_ref().and_then(|s| self.no_voice(s, &sources)));
        let of_movement = || {
            let fault = |id: &String, of| self.faults.get(&(id.clone(), of));
            let fault = |id| {
                fault(id, None).or_else(|| language.and_then(|language| fault(id, Some(language))))
            };
            uses.iter().find_map(fault).cloned()
        };
        let (verdict, session) = match (own.or_else(of_movement), session) {
            (None, Some(session)) => (Verdict::Ready(Brief::of(&session)), Some(session)),
            (Some(fault), _) => (Verdict::Fault(fault), None),
            // Not reached: a session is missing only with a fault of its own or of a movement.
            (None, None) => (
                Verdict::Fault(Fault {
                    movement: None,
                    line: None,
                    message: "expected a session, found none".to_owned(),
                    help: "`sidevoice check` tells more".to_owned(),
                }),
                None,
            ),
        };
        Checked {
            uses,
            verdict,
            session,
        }
    }

    fn no_voice(&self, session: &Session, sources: &Sources) -> Option<Fault> {
        let wanted = session.text.voice.as_ref()?;
        if self.voices.contains(&wanted.value) {
            return None;
        }
        let near = nearest(&wanted.value, self.voices.iter().map(String::as_str));
        Some(Fault {
            movement: None,
            line: Some(sources.position(wanted.place).line),
            message: format!("expected the name of a voice, found \"{}\"", wanted.value),
            help: match near {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("the voices are: {}", self.voices.join(", ")),
            },
        })
    }

    /// Takes in a session that was checked; returns what is to be told, if anything has changed.
    pub fn session(&mut self, id: &str, checked: Checked) -> Option<News> {
        let before = self.sessions.remove(id);
        for used in before.iter().flat_map(|held| &held.uses) {
            if let Some(users) = self.users.get_mut(used) {
                users.remove(id);
            }
        }
        for used in &checked.uses {
            let users = self.users.entry(used.clone()).or_default();
            users.insert(id.to_owned());
        }
        let (verdict_before, good) = match before {
            Some(held) => (Some(held.verdict), held.good),
            None => (None, None),
        };
        let same = verdict_before.as_ref() == Some(&checked.verdict);
        let changed = match (&checked.session, &good) {
            (Some(now), Some(before)) => now != &**before,
            (Some(_), None) => true,
            (None, _) => false,
        };
        let good = match checked.session {
            Some(session) if changed => Some(Arc::new(session)),
            _ => good,
        };
        let news = News {
            id: id.to_owned(),
            verdict: checked.verdict.clone(),
            session: good.clone(),
            same,
        };
        let held = Held {
            uses: checked.uses,
            verdict: checked.verdict,
            good,
        };
        self.sessions.insert(id.to_owned(), held);
        (!same || changed).then_some(news)
    }

    /// Takes a session away; returns what is to be told, if it was there.
    pub fn session_gone(&mut self, id: &str) -> Option<News> {
        let held = self.sessions.remove(id)?;
        for used in &held.uses {
            if let Some(users) = self.users.get_mut(used) {
                users.remove(id);
            }
        }
        Some(News {
            id: id.to_owned(),
            verdict: Verdict::Gone,
            session: held.good,
            same: false,
        })
    }
}

/// Returns the first error, as it is told.
pub fn fault_of(diagnostics: &[Diagnostic], sources: &Sources) -> Option<Fault> {
    let error = diagnostics.iter().find(|d| d.level == Level::Error)?;
    // A file that could not be read has an empty text and no line worth naming.
    let in_text = !sources.text(error.place.source).is_empty();
    Some(Fault {
        movement: None,
        line: in_text.then(|| sources.position(error.place).line),
        message: error.message.clone(),
        help: error.help.clone(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planning::session::read_movement;
    use crate::planning::session::read_session;

    fn session(title: &str, movement: &str) -> LoneSession {
        let mut sources = Sources::default();
        let text = format!(
            "title = \"{title}\"\n[[block]]\nwork = \"20s\"\nmovements = [\"{movement}\"]\n"
        );
        let source = sources.add("a.toml", text);
        let (text, diagnostics) = read_session(&sources, source);
        LoneSession {
            sources,
            text,
            uses: vec![movement.to_owned()],
            diagnostics,
        }
    }

    fn movement(id: &str, how: &str) -> LoneMovement {
        let mut sources = Sources::default();
        let text = format!(
            "name = \"{id}\"\npattern = \"locomotion\"\nsides = \"both\"\nposture = \"standing\"\n\
             start = \"Stand tall.\"\nhow = [{how}]\n"
        );
        let source = sources.add("m.toml", text);
        let (movement, diagnostics) = read_movement(id, &sources, source);
        LoneMovement {
            sources,
            movement: movement.map(Arc::new),
            diagnostics,
            of_translations: Vec::new(),
        }
    }

    fn put(shelf: &mut Shelf, id: &str, read: LoneSession) -> Option<News> {
        let checked = shelf.check(id, read);
        shelf.session(id, checked)
    }

    #[test]
    fn a_movement_rechecks_the_sessions_that_use_it_and_only_if_it_changed() {
        let mut shelf = Shelf::default();
        assert!(
            shelf
                .movement("march", movement("march", "\"Lift.\""))
                .is_empty()
        );
        assert!(
            shelf
                .movement("jog", movement("jog", "\"Lift.\""))
                .is_empty()
        );
        for (id, of) in [("a", "march"), ("b", "jog"), ("c", "march")] {
            let news = put(&mut shelf, id, session(id, of)).unwrap();
            assert!(matches!(news.verdict, Verdict::Ready(_)), "{news:?}");
        }
        assert_eq!(
            shelf.movement("march", movement("march", "\"Rise.\"")),
            ["a", "c"]
        );
        assert!(
            shelf
                .movement("march", movement("march", "\"Rise.\""))
                .is_empty()
        );
        // The verdict is the same, what is behind it is not.
        let news = put(&mut shelf, "a", session("a", "march")).unwrap();
        assert!(news.same);
        assert_eq!(put(&mut shelf, "a", session("a", "march")), None);
        // A session that went over to another movement is left alone by the first.
        put(&mut shelf, "c", session("c", "jog"));
        assert_eq!(shelf.movement("march", movement("march", "")), ["a"]);
        let news = put(&mut shelf, "a", session("a", "march")).unwrap();
        let Verdict::Fault(fault) = &news.verdict else {
            panic!("{news:?}");
        };
        assert_eq!(
            (fault.movement.as_deref(), fault.line),
            (Some("march"), Some(6))
        );
        assert_eq!(news.session.unwrap().text.title, "a");
        assert_eq!(shelf.movement_gone("jog"), ["b", "c"]);
        // One that never was there is waited for.
        put(&mut shelf, "d", session("d", "row"));
        assert_eq!(shelf.movement("row", movement("row", "\"Pull.\"")), ["d"]);
    }

    #[test]
    fn what_is_gone_is_told_once_with_the_last_good_session() {
        let mut shelf = Shelf::default();
        shelf.movement("march", movement("march", "\"Lift.\""));
        put(&mut shelf, "a", session("First", "march"));
        let fault = put(&mut shelf, "a", session("Second", "march, jog")).unwrap();
        assert!(matches!(fault.verdict, Verdict::Fault(_)));
        let gone = shelf.session_gone("a").unwrap();
        assert_eq!(gone.session.unwrap().text.title, "First");
        assert_eq!(shelf.session_gone("a"), None);
    }

    #[test]
    fn a_voice_that_there_is_not_and_a_name_that_is_no_id_are_faults() {
        let mut shelf = Shelf::new(vec!["hibari".to_owned()]);
        shelf.movement("march", movement("march", "\"Lift.\""));
        let mut read = session("A", "march");
        let place = read.text.as_ref().unwrap().place;
        let voice = crate::base::diagnostic::Located::new("hibary".to_owned(), place);
        read.text.as_mut().unwrap().voice = Some(voice);
        let help = |news: Option<News>| match news.unwrap().verdict {
            Verdict::Fault(fault) => fault.help,
            other => panic!("{other:?}"),
        };
        assert_eq!(help(put(&mut shelf, "a", read)), "did you mean \"hibari\"?");
        let named = put(&mut shelf, "two words", session("A", "march"));
        assert!(help(named).contains("the id"));
    }
}
