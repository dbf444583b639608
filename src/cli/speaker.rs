//! `speaker`: the people who speak classes themselves; and `--speaker` of the commands that plan.

use super::Done;
use super::Failure;
use super::complain;
use super::load;
use super::print;
use super::reading;
use crate::base::diagnostic::any_error;
use crate::base::diagnostic::nearest;
use crate::publish::Speaking;
use crate::publish::json::pretty;
use crate::rehearse::pace::Person;
use crate::speakers::ME;
use crate::speakers::Speakers;
use clap::Subcommand;
use serde::Serialize;

#[derive(Subcommand)]
pub enum Action {
    /// Learn in a minute how fast somebody speaks: ten lines are read aloud into the microphone.
    ///
    /// The room is measured in two seconds of silence; then each line is shown, read, and the next
    /// one shown when it is over. What cannot be the line, such as a cough, is asked for again. At
    /// least seven lines must be heard well, else nothing is kept. Keys, in a terminal: space or
    /// enter reads again (this line, or the one before if nothing was said yet); Ctrl-C ends, and
    /// nothing is kept.
    ///
    /// `sidevoice plan SESSION --speaker NAME` then plans for this person. No sound leaves the
    /// machine, and none is kept without --keep.
    New(reading::Options),
    /// Forget how fast somebody speaks: the file of that name is removed, and a recording with it.
    Forget {
        /// The speaker's name, as `sidevoice speaker` lists it.
        name: String,
    },
}

/// A person who is asked for, by name.
pub struct Asked {
    pub name: String,
    pub person: Person,
}

impl Asked {
    /// Returns what outputs say of who speaks.
    pub fn speaking(&self) -> Speaking<'_> {
        Speaking {
            name: &self.name,
            words_a_minute: self.person.words_a_minute(),
            lines: self.person.lines,
            breathless: self.person.breathless.is_some(),
        }
    }
}

pub fn run(action: Option<Action>, json: bool) -> Done {
    match action {
        None => list(json),
        Some(Action::New(options)) => reading::run(&options, json),
        Some(Action::Forget { name }) => forget(&name),
    }
}

/// Reads the speaker of a name; the faults of the file are printed. `me` is there from the start, at a
/// usual pace until a rehearsal was heard.
pub fn asked(name: &str, plain: bool) -> Result<Asked, Failure> {
    let speakers = folder()?;
    let loaded = speakers.load(name);
    load::tell(&loaded.diagnostics, &loaded.sources, plain);
    if any_error(&loaded.diagnostics) {
        return Err(Failure::Faults);
    }
    let person = match loaded.person {
        Some(person) => person,
        None if name == ME => {
            let usual = Person::usual();
            complain(&format!(
                "sidevoice: nobody has heard you yet: reckoning with {} words a minute, a usual pace.\n",
                usual.words_a_minute()
            ));
            usual
        }
        None => return Err(unknown(name, &speakers)),
    };
    let name = name.to_owned();
    Ok(Asked { name, person })
}

pub fn folder() -> Result<Speakers, Failure> {
    let none = || Failure::File("there is no home folder to keep speakers in".to_owned());
    Speakers::standard().ok_or_else(none)
}

fn unknown(name: &str, speakers: &Speakers) -> Failure {
    let names = speakers.names();
    let known = names.iter().map(String::as_str).chain([ME]);
    let known = known.filter(|known| *known != name);
    let help = match nearest(name, known) {
        Some(near) => format!("Did you mean \"{near}\"?"),
        None if names.is_empty() => format!("There is \"{ME}\" alone, at a usual pace"),
        None => format!("The speakers are: {}", names.join(", ")),
    };
    Failure::Voice(format!("there is no speaker called \"{name}\". {help}"))
}

#[derive(Serialize)]
pub struct SpeakerJson {
    name: String,
    language: &'static str,
    words_a_minute: u32,
    lines: usize,
    breathless: bool,
}

impl SpeakerJson {
    /// Makes what is told of a person.
    pub fn of(name: String, person: &Person) -> Self {
        Self {
            name,
            language: person.language.tag(),
            words_a_minute: person.words_a_minute(),
            lines: person.lines,
            breathless: person.breathless.is_some(),
        }
    }
}

fn list(json: bool) -> Done {
    let speakers = folder()?;
    let mut all = Vec::new();
    let mut faults = false;
    for name in speakers.names() {
        let loaded = speakers.load(&name);
        load::tell(&loaded.diagnostics, &loaded.sources, false);
        faults |= any_error(&loaded.diagnostics);
        all.extend(loaded.person.map(|person| SpeakerJson::of(name, &person)));
    }
    print(&match json {
        true => pretty(&all),
        false if all.is_empty() && !faults => format!(
            "Nobody has been heard yet. \"{ME}\" speaks at a usual pace, {} words a minute.\n",
            Person::usual().words_a_minute()
        ),
        false => all.iter().map(line).collect(),
    })?;
    if faults {
        return Err(Failure::Faults);
    }
    Ok(())
}

fn line(speaker: &SpeakerJson) -> String {
    let lines = match speaker.lines {
        1 => "1 line".to_owned(),
        many => format!("{many} lines"),
    };
    let moved = match speaker.breathless {
        true => "; out of breath too",
        false => "",
    };
    format!(
        "{}: {} words a minute, from {lines} in {}{moved}\n",
        speaker.name,
        speaker.words_a_minute,
        crate::sound::speech::library::language_name(speaker.language),
    )
}

fn forget(name: &str) -> Done {
    let speakers = folder()?;
    let file = speakers.file(name).unwrap_or_default();
    match speakers.forget(name) {
        Ok(true) => print(&format!("{name} is forgotten.\n")),
        Ok(false) => Err(unknown(name, &speakers)),
        Err(error) => Err(Failure::File(format!(
            "{} cannot be removed: {error}",
            file.display()
        ))),
    }
}
