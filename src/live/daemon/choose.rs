//! Choosing a session by ear, beginning it, and what else is told between classes.

use super::Daemon;
use super::Effect;
use super::State;
use super::Verdict;
use super::said;
use crate::base::diagnostic::nearest;
use crate::base::wording::Arg;
use crate::live::control::Verb;
use crate::live::core::Message;
use crate::live::core::Wishes;
use crate::planning::session::capitalised;
use std::sync::Arc;

/// What can be begun.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Choice {
    /// A session where it was left.
    GoOn(String),
    /// A session from its beginning.
    Whole(String),
}

impl Choice {
    fn id(&self) -> &str {
        match self {
            Choice::GoOn(id) | Choice::Whole(id) => id,
        }
    }
}

/// A step of the volume in dB, and of the speed in per mille: as while a class runs.
const STEP_DB: f32 = 3.0;
const FASTER: u16 = 100;

impl Daemon {
    /// A listener has told something.
    pub(super) fn told(&mut self, verb: Verb, effects: &mut Vec<Effect>) {
        match self.state {
            State::Class => return effects.push(Effect::Tell(verb)),
            State::Looking => return self.early = Some(verb),
            State::Idle | State::Speaking | State::Ended => {}
        }
        let Wishes {
            volume_db: db,
            speed,
            talk,
        } = self.wishes;
        match verb {
            // By the buttons of media keys: on and back.
            Verb::Next | Verb::Skip => self.choose(true, effects),
            Verb::Previous | Verb::Back => self.choose(false, effects),
            Verb::Start(Some(id)) => self.start(&id, effects),
            Verb::Start(None) | Verb::Resume | Verb::PauseOrResume => {
                self.start_chosen(effects);
            }
            Verb::Pause => {
                effects.push(Effect::Hush);
                self.then = None;
                self.state = State::Idle;
            }
            Verb::Repeat => self.say(self.said.clone(), effects),
            Verb::Help => self.say(self.hints.keys.clone(), effects),
            Verb::Rate(felt) => effects.push(Effect::Rate(felt)),
            Verb::Louder => self.wish(db + STEP_DB, speed, talk, Message::Louder, effects),
            Verb::Quieter => self.wish(db - STEP_DB, speed, talk, Message::Quieter, effects),
            Verb::SpeechFaster => self.wish(db, speed + FASTER, talk, Message::Faster, effects),
            Verb::SpeechSlower => self.wish(db, speed - FASTER, talk, Message::Slower, effects),
            Verb::TalkMore => self.wish(db, speed, talk + 1, Message::More, effects),
            Verb::TalkLess => self.wish(db, speed, talk - 1, Message::Less, effects),
            Verb::Where => {
                let text = match &self.chosen {
                    Some(choice) => self.told_of(choice),
                    None => self.nothing_runs(),
                };
                self.say(text, effects);
            }
            Verb::Explain | Verb::Easier | Verb::Stop => {
                let text = self.nothing_runs();
                self.say(text, effects);
            }
        }
    }

    fn nothing_runs(&self) -> String {
        let hint = &self.hints.choose;
        let said = self.wording.say("said-nothing-runs", &[]);
        format!("{said} {hint}").trim_end().to_owned()
    }

    fn text(&self, message: Message) -> String {
        let wording = message.wording();
        wording.map_or_else(String::new, |id| self.wording.say(id, &[]))
    }

    fn wish(
        &mut self,
        volume_db: f32,
        speed: u16,
        talk: i8,
        message: Message,
        effects: &mut Vec<Effect>,
    ) {
        self.wishes = Wishes::within_bounds(volume_db, speed, talk);
        effects.push(Effect::Keep(self.wishes));
        let text = self.text(message);
        self.say(text, effects);
    }

    /// All that can be begun, in order of id; where one was left comes before its whole.
    fn choices(&self) -> Vec<Choice> {
        let there = self.sessions.iter();
        let there = there.filter(|(_, known)| known.verdict != Verdict::Gone);
        let mut all = Vec::new();
        for (id, _) in there {
            if self.unfinished.contains_key(id) {
                all.push(Choice::GoOn(id.clone()));
            }
            all.push(Choice::Whole(id.clone()));
        }
        all
    }

    fn choose(&mut self, onward: bool, effects: &mut Vec<Effect>) {
        let all = self.choices();
        let now = self.chosen.as_ref();
        let now = now.and_then(|now| all.iter().position(|choice| choice == now));
        let at = match (now, onward) {
            (None, true) => 0,
            (None, false) => all.len().saturating_sub(1),
            (Some(now), true) => (now + 1) % all.len(),
            (Some(now), false) => (now + all.len() - 1) % all.len(),
        };
        let text = match all.get(at) {
            Some(choice) => self.told_of(choice),
            None => {
                let none = self.wording.say("sessions-none", &[]);
                capitalised(&none) + "."
            }
        };
        self.chosen = all.get(at).cloned();
        self.show(effects);
        effects.push(Effect::Print(text.clone()));
        self.say(text, effects);
    }

    fn show(&self, effects: &mut Vec<Effect>) {
        let known = self.chosen.as_ref().map(|choice| self.title(choice.id()));
        effects.push(Effect::Show(known));
    }

    fn title(&self, id: &str) -> String {
        let session = self.sessions.get(id).and_then(|k| k.session.as_ref());
        session.map_or_else(|| id.to_owned(), |s| s.text.title.clone())
    }

    /// Says what would be begun.
    fn told_of(&self, choice: &Choice) -> String {
        match choice {
            Choice::GoOn(id) => match self.unfinished.get(id) {
                Some(left) => {
                    let at = left.sentence(self.wording);
                    at + " " + &self.wording.say("start-goes-on", &[])
                }
                None => self.title(id),
            },
            Choice::Whole(id) => match self.sessions.get(id) {
                Some(known) => said(self.wording, id, known),
                None => id.clone(),
            },
        }
    }

    /// Says what was left and is chosen, for the screen.
    pub(super) fn left_and_chosen(&self) -> Option<String> {
        self.chosen.as_ref().map(|choice| self.told_of(choice))
    }

    /// After the first look: what was left not long ago is chosen, and it is said how to begin.
    pub(super) fn how_to_begin(&mut self) -> String {
        let last = self.unfinished.values().max_by_key(|left| left.time);
        let there = |id: &str| self.sessions.contains_key(id);
        let last = last.filter(|left| there(&left.session));
        self.chosen = last.map(|left| Choice::GoOn(left.session.clone()));
        let hint = match &self.chosen {
            Some(choice) => self.told_of(choice),
            None if self.choices().is_empty() => String::new(),
            None => self.hints.choose.clone(),
        };
        match hint.is_empty() {
            true => hint,
            false => format!(" {hint}"),
        }
    }

    fn start_chosen(&mut self, effects: &mut Vec<Effect>) {
        let all = self.choices();
        let chosen = self.chosen.clone().filter(|choice| all.contains(choice));
        match (chosen, &all[..]) {
            (Some(choice), _) => self.start_or_say_why(choice, effects),
            (None, [only]) => self.start_or_say_why(only.clone(), effects),
            // Nobody knows yet which.
            (None, _) => self.choose(true, effects),
        }
    }

    /// Begins a session by its id, from its beginning.
    fn start(&mut self, id: &str, effects: &mut Vec<Effect>) {
        let there = |known: &super::Known| known.verdict != Verdict::Gone;
        if self.sessions.get(id).is_some_and(there) {
            return self.start_or_say_why(Choice::Whole(id.to_owned()), effects);
        }
        let shown: String = id.chars().take(40).collect();
        let names = |text: &str| text.replace(['-', '_'], " ");
        let near = nearest(&shown, self.sessions.keys().map(String::as_str)).map(names);
        let shown = names(&shown);
        let mut args = vec![("title", Arg::Text(&shown))];
        let message = match &near {
            Some(near) => {
                args.push(("near", Arg::Text(near)));
                "no-session-near"
            }
            None => "no-session",
        };
        let text = self.wording.say(message, &args);
        effects.push(Effect::Print(text.clone()));
        self.say(text, effects);
    }

    /// Begins it; of a session at fault the last good one, once that was said.
    fn start_or_say_why(&mut self, choice: Choice, effects: &mut Vec<Effect>) {
        let Some(known) = self.sessions.get(choice.id()) else {
            return;
        };
        if let Verdict::Fault(_) = known.verdict {
            let mut text = said(self.wording, choice.id(), known);
            if known.session.is_some() {
                text = text + " " + &self.wording.say("last-good-one", &[]);
                self.then = Some(choice);
            }
            effects.push(Effect::Print(text.clone()));
            return self.say(text, effects);
        }
        self.begin(choice, effects);
    }

    /// Begins a class.
    pub(super) fn begin(&mut self, choice: Choice, effects: &mut Vec<Effect>) {
        let id = choice.id().to_owned();
        let session = self.sessions.get(&id).and_then(|k| k.session.clone());
        let Some(session) = session else {
            return;
        };
        let left = match choice {
            Choice::GoOn(_) => self.unfinished.get(&id).cloned().map(Box::new),
            Choice::Whole(_) => None,
        };
        self.then = None;
        self.state = State::Class;
        self.class = Some((id.clone(), Arc::clone(&session)));
        let title = capitalised(&session.text.title);
        let args = [("title", Arg::Text(&title))];
        let text = self.wording.say("session-begins", &args);
        effects.push(Effect::Hush);
        effects.push(Effect::Print(text.clone()));
        effects.push(Effect::Status(text));
        effects.push(Effect::Begin { id, session, left });
    }

    /// The class has ended: what was held back is told now.
    pub(super) fn class_over(&mut self, trouble: Option<String>, effects: &mut Vec<Effect>) {
        let Some((id, session)) = self.class.take() else {
            return;
        };
        self.state = State::Idle;
        self.chosen = None;
        self.show(effects);
        effects.push(Effect::LookForLeft);
        match trouble {
            Some(trouble) => effects.push(Effect::Print(format!("{id}: {trouble}."))),
            None => {
                let title = capitalised(&session.text.title);
                let args = [("title", Arg::Text(&title))];
                effects.push(Effect::Print(self.wording.say("session-over", &args)));
            }
        }
        self.status.clear();
        self.show_status(effects);
        self.say_what_is_new(effects);
    }

    /// Says that the effort felt was noted, or why not.
    pub(super) fn rated(&mut self, noted: Result<(), String>, effects: &mut Vec<Effect>) {
        let text = match noted {
            Ok(()) => self.text(Message::Noted),
            Err(why) => capitalised(&why) + ".",
        };
        effects.push(Effect::Print(text.clone()));
        if self.state != State::Class {
            self.say(text, effects);
        }
    }
}
