//! The background process as a pure function: what happens -> what is to be done.
//!
//! It knows each session's verdict and the one that was told last, and speaks when it is idle; by what it
//! is told a listener chooses a session by ear and begins it. While a class runs, news waits for its end.

mod choose;
mod terms;

pub use choose::Choice;
pub use terms::Effect;
pub use terms::Event;
pub use terms::Hints;
pub use terms::State;

use super::control::Verb;
use super::core::Wishes;
use super::history::Unfinished;
use super::watch::Fault;
use super::watch::News;
use super::watch::Told;
use super::watch::Verdict;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::planning::session::Session;
use crate::planning::session::capitalised;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::sync::Arc;

/// From so many changes on, their number is said instead of each.
const MANY: usize = 3;

/// A session as the process knows it.
#[derive(Debug, Clone)]
struct Known {
    verdict: Verdict,
    /// The session as it is, or the last one that could be run.
    session: Option<Arc<Session>>,
    /// Being planned: nothing is said of it before that is done.
    preparing: bool,
    /// What was printed last.
    printed: Option<Verdict>,
    /// What a listener knows.
    told: Option<Verdict>,
}

/// The background process.
pub struct Daemon {
    wording: &'static Wording,
    hints: Hints,
    state: State,
    sessions: BTreeMap<String, Known>,
    /// Sessions of which something may have to be said.
    to_say: BTreeSet<String>,
    status: String,
    /// What was said last, and how often something was: what is over is told by its number.
    said: String,
    saying: u64,
    wishes: Wishes,
    /// Where sessions were left not long ago, by id.
    unfinished: BTreeMap<String, Unfinished>,
    chosen: Option<Choice>,
    /// To begin when what is being said is over.
    then: Option<Choice>,
    /// Told before the folder was looked at.
    early: Option<Verb>,
    /// The class that runs: its id, and the session as it was begun or changed.
    class: Option<(String, Arc<Session>)>,
}

impl Daemon {
    /// Makes a process that has not looked yet.
    pub fn new(wording: &'static Wording, hints: Hints, wishes: Wishes) -> Self {
        Self {
            wording,
            hints,
            state: State::Looking,
            sessions: BTreeMap::new(),
            to_say: BTreeSet::new(),
            status: String::new(),
            said: String::new(),
            saying: 0,
            wishes,
            unfinished: BTreeMap::new(),
            chosen: None,
            then: None,
            early: None,
            class: None,
        }
    }

    /// Returns what the process is doing.
    pub fn state(&self) -> State {
        self.state
    }

    /// Returns a session as it can be run: as it is, or as it last could be.
    pub fn session(&self, id: &str) -> Option<&Arc<Session>> {
        self.sessions.get(id)?.session.as_ref()
    }

    /// Takes in what happened; returns what is to be done about it, in order.
    pub fn step(&mut self, event: Event) -> Vec<Effect> {
        let mut effects = Vec::new();
        match event {
            _ if self.state == State::Ended => {}
            Event::Told(Told::News(news)) => self.news(news, &mut effects),
            Event::Told(Told::Looked) => self.looked(&mut effects),
            Event::Told(Told::Notice(text)) | Event::Notice(text) => {
                effects.push(Effect::Print(capitalised(&text) + "."));
            }
            Event::Planned { id, session, fault } => {
                self.planned(&id, &session, fault, &mut effects);
            }
            Event::Spoken(said) if self.state == State::Speaking && said == self.saying => {
                self.state = State::Idle;
                match self.then.take() {
                    Some(choice) => self.begin(choice, &mut effects),
                    None => self.say_what_is_new(&mut effects),
                }
            }
            Event::Spoken(_) => {}
            Event::Verb(verb) => self.told(verb, &mut effects),
            Event::Left(unfinished) => self.unfinished = unfinished,
            Event::Rated(noted) => self.rated(noted, &mut effects),
            Event::Wishes(wishes) => {
                self.wishes = wishes;
                effects.push(Effect::Keep(wishes));
            }
            Event::ClassOver(trouble) => self.class_over(trouble, &mut effects),
            Event::ReadAgain => effects.push(Effect::ReadAgain),
            Event::Stop => {
                self.state = State::Ended;
                effects.push(Effect::End);
            }
        }
        effects
    }

    fn news(&mut self, news: News, effects: &mut Vec<Effect>) {
        let News {
            id,
            verdict,
            session,
            same: _,
        } = news;
        let known = self.sessions.entry(id.clone()).or_insert(Known {
            verdict: Verdict::Gone,
            session: None,
            preparing: false,
            printed: None,
            told: None,
        });
        known.session.clone_from(&session);
        // What there is at the start is planned when all of it is known.
        let urgent = self.state != State::Looking;
        known.preparing = false;
        match (&verdict, session) {
            (Verdict::Ready(_), Some(session)) if urgent => {
                known.preparing = true;
                effects.push(Effect::Prepare {
                    id: id.clone(),
                    session,
                    urgent,
                });
            }
            _ if urgent => effects.push(Effect::Forget(id.clone())),
            _ => {}
        }
        known.verdict = verdict;
        if !known.preparing {
            self.print(&id, effects);
        }
        if urgent {
            self.to_say.insert(id);
        }
    }

    fn planned(
        &mut self,
        id: &str,
        session: &Arc<Session>,
        fault: Option<Fault>,
        effects: &mut Vec<Effect>,
    ) {
        let Some(known) = self.sessions.get_mut(id) else {
            return;
        };
        // It may have been written again meanwhile.
        let current = known
            .session
            .as_ref()
            .is_some_and(|s| Arc::ptr_eq(s, session));
        if !current || !matches!(known.verdict, Verdict::Ready(_)) {
            return;
        }
        known.preparing = false;
        if let Some(fault) = fault {
            known.verdict = Verdict::Fault(fault);
            self.to_say.insert(id.to_owned());
        }
        let sound = matches!(known.verdict, Verdict::Ready(_));
        let running =
            |(of, now): &&mut (String, Arc<Session>)| of == id && !Arc::ptr_eq(now, session);
        if sound && let Some(class) = self.class.as_mut().filter(running) {
            class.1 = Arc::clone(session);
            effects.push(Effect::Change {
                id: id.to_owned(),
                session: Arc::clone(session),
            });
        }
        self.print(id, effects);
        self.show_status(effects);
        self.say_what_is_new(effects);
    }

    /// Says something; what was being said gives way.
    fn say(&mut self, text: String, effects: &mut Vec<Effect>) {
        self.said.clone_from(&text);
        self.saying += 1;
        self.state = State::Speaking;
        effects.push(Effect::Say(text));
    }

    fn looked(&mut self, effects: &mut Vec<Effect>) {
        self.show_status(effects);
        if self.state == State::Looking {
            for known in self.sessions.values_mut() {
                known.told = Some(known.verdict.clone());
            }
            let all: Vec<_> = self.sessions.values().map(|k| &k.verdict).collect();
            let facts = self.facts(&all);
            let said = self
                .wording
                .say("sessions-told", &[("facts", Arg::Text(&facts))]);
            effects.push(Effect::Ready);
            let said = capitalised(&said) + &self.how_to_begin();
            effects.extend(self.left_and_chosen().map(Effect::Print));
            self.say(said, effects);
            let ready = self
                .sessions
                .iter()
                .filter(|(_, known)| matches!(known.verdict, Verdict::Ready(_)));
            effects.extend(ready.filter_map(|(id, known)| {
                Some(Effect::Prepare {
                    id: id.clone(),
                    session: known.session.clone()?,
                    urgent: false,
                })
            }));
            if let Some(verb) = self.early.take() {
                self.told(verb, effects);
            }
            return;
        }
        self.say_what_is_new(effects);
    }

    /// Prints the verdict of a session, if it is another than the one printed last.
    fn print(&mut self, id: &str, effects: &mut Vec<Effect>) {
        let Some(known) = self.sessions.get_mut(id) else {
            return;
        };
        if known.printed.as_ref() == Some(&known.verdict) {
            return;
        }
        known.printed = Some(known.verdict.clone());
        let said = said(self.wording, id, known);
        let help = match &known.verdict {
            Verdict::Fault(fault) if !fault.help.is_empty() => format!(" Help: {}.", fault.help),
            _ => String::new(),
        };
        effects.push(Effect::Print(format!("{id}: {said}{help}")));
    }

    /// Says what a listener does not know yet, if nothing else is being said or made.
    fn say_what_is_new(&mut self, effects: &mut Vec<Effect>) {
        let preparing = |id: &String| self.sessions.get(id).is_some_and(|k| k.preparing);
        if self.state != State::Idle || self.to_say.iter().any(preparing) {
            return;
        }
        let mut new = Vec::new();
        for id in std::mem::take(&mut self.to_say) {
            let Some(known) = self.sessions.get_mut(&id) else {
                continue;
            };
            // What changed and changed back is no news; nor is the end of what nobody heard of.
            let told = known.told.as_ref().unwrap_or(&Verdict::Gone);
            if *told != known.verdict {
                new.push(id.clone());
            }
            known.told = Some(known.verdict.clone());
        }
        let said = match new.len() {
            0 => None,
            1..MANY => {
                let all = new.iter().filter_map(|id| {
                    let known = self.sessions.get(id)?;
                    Some(said(self.wording, id, known))
                });
                Some(all.collect::<Vec<_>>().join(" "))
            }
            many => {
                let known = new.iter().filter_map(|id| self.sessions.get(id));
                let facts = self.facts(&known.map(|k| &k.verdict).collect::<Vec<_>>());
                let changed = self.wording.counted("sessions-changed", many as i64);
                let args = [
                    ("changed", Arg::Text(&changed)),
                    ("facts", Arg::Text(&facts)),
                ];
                Some(capitalised(
                    &self.wording.say("sessions-changed-told", &args),
                ))
            }
        };
        self.sessions
            .retain(|_, known| known.verdict != Verdict::Gone);
        if let Some(said) = said {
            self.say(said, effects);
        }
    }

    fn show_status(&mut self, effects: &mut Vec<Effect>) {
        let all: Vec<_> = self.sessions.values().map(|k| &k.verdict).collect();
        let status = capitalised(&self.facts(&all));
        if status != self.status {
            self.status.clone_from(&status);
            effects.push(Effect::Status(status));
        }
    }

    /// Says how many sessions wait, how many have faults, how many are gone.
    fn facts(&self, verdicts: &[&Verdict]) -> String {
        let count = |is: fn(&Verdict) -> bool| verdicts.iter().filter(|v| is(v)).count() as i64;
        let waiting = count(|v| matches!(v, Verdict::Ready(_)));
        let faulty = count(|v| matches!(v, Verdict::Fault(_)));
        let gone = count(|v| matches!(v, Verdict::Gone));
        let counts = [
            ("sessions-waiting", waiting),
            ("sessions-faulty", faulty),
            ("sessions-gone", gone),
        ];
        let facts: Vec<_> = counts
            .into_iter()
            .filter(|(_, n)| *n > 0)
            .map(|(message, n)| self.wording.counted(message, n))
            .collect();
        match &facts[..] {
            [] => self.wording.say("sessions-none", &[]),
            facts => self.wording.list(facts),
        }
    }
}

/// Says the verdict of a session.
fn said(wording: &Wording, id: &str, known: &Known) -> String {
    let title = match &known.session {
        Some(session) => capitalised(&session.text.title),
        None => capitalised(&id.replace(['-', '_'], " ")),
    };
    let fault = match &known.verdict {
        Verdict::Ready(brief) => return brief.said(wording),
        Verdict::Gone => return wording.say("session-gone", &[("title", Arg::Text(&title))]),
        Verdict::Fault(fault) => fault,
    };
    let line = fault.line.map(|line| line.to_string());
    let mut args = vec![
        ("title", Arg::Text(&title)),
        ("message", Arg::Text(&fault.message)),
    ];
    let line = line.as_deref();
    args.extend(line.map(|line| ("line", Arg::Text(line))));
    let movement = fault.movement.as_deref();
    args.extend(movement.map(|id| ("movement", Arg::Text(id))));
    let message = match (movement, line) {
        (None, None) => "session-fault",
        (None, Some(_)) => "session-fault-line",
        (Some(_), None) => "session-fault-movement-whole",
        (Some(_), Some(_)) => "session-fault-movement",
    };
    wording.say(message, &args)
}
