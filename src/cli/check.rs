//! `check`: reads a session or a folder, tells every fault, and what a coach should know of each
//! session before it is run.

use super::Done;
use super::Failure;
use super::load;
use super::print;
use super::speaker;
use super::speaker::Asked;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::any_error;
use crate::base::diagnostic::in_order;
use crate::base::wording::Language;
use crate::base::wording::Wording;
use crate::compile::EstimatedLengths;
use crate::folder::Folder;
use crate::folder::music_missing;
use crate::live::config;
use crate::planning::advice::Kilograms;
use crate::planning::advice::one_a_fact;
use crate::planning::advice::report;
use crate::planning::advice::texts;
use crate::planning::advice::untranslated;
use crate::planning::script::CautionLength;
use crate::planning::session::Movement;
use crate::planning::session::Session;
use crate::publish::check;
use crate::publish::check::Checked;
use crate::publish::check::Form;
use crate::sound::speech::Settings;
use crate::sound::speech::VoiceInfo;
use crate::sound::speech::chain;
use crate::sound::speech::library::EngineKind;
use crate::sound::speech::library::Shelf;
use crate::sound::speech::library::language_name;
use clap::Args;
use std::collections::HashMap;
use std::collections::HashSet;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicUsize;
use std::sync::atomic::Ordering;
use std::thread;

#[derive(Args)]
pub struct Options {
    /// A session file, a session's id, or a session folder.
    #[arg(default_value = ".")]
    path: String,
    /// Reckon with a person who speaks the class herself, at her own pace: `me`, or a name that
    /// `sidevoice speaker` lists [default: the voice of each session].
    #[arg(long, value_name = "NAME")]
    speaker: Option<String>,
    /// The body mass in kg for which energy is estimated.
    #[arg(long, value_name = "KG", default_value = "70", value_parser = mass)]
    mass: f64,
    /// Fail with code 1 where there is advice or a warning.
    #[arg(long)]
    strict: bool,
    /// Print JSON for other programs.
    #[arg(long)]
    json: bool,
    /// Say faults and tables as sentences.
    #[arg(long)]
    plain: bool,
}

/// Reads a body mass: whoever trains is inside these limits.
fn mass(text: &str) -> Result<f64, String> {
    match text.parse() {
        Ok(kg) if (20.0..=400.0).contains(&kg) => Ok(kg),
        _ => Err("expected a body mass from 20 to 400, in kg".to_owned()),
    }
}

/// What was read: the sound sessions by id, in order.
struct Found {
    sessions: Vec<(String, Session)>,
    /// The movements whose texts are looked through.
    movements: Vec<Arc<Movement>>,
    diagnostics: Vec<Diagnostic>,
    sources: Sources,
    folder: bool,
    root: PathBuf,
    shelf: Shelf,
}

pub fn run(options: Options) -> Done {
    let asked = options.speaker.as_deref();
    let asked = asked.map(|name| speaker::asked(name, options.plain));
    let asked = asked.transpose()?;
    let speaking = asked.as_ref().map(Asked::speaking);
    let found = read(&options.path);
    let checked = look_at_all(&found, Kilograms::new(options.mass), asked.as_ref());
    let told = checked.iter().flat_map(|c| c.told.iter().cloned());
    let told = told.chain(look_through(&found));
    let diagnostics = in_order(found.diagnostics.into_iter().chain(told).collect());
    if options.json {
        print(&check::json(
            &checked,
            speaking,
            &diagnostics,
            &found.sources,
        ))?;
    } else {
        load::tell(&diagnostics, &found.sources, options.plain);
        load::tell_misplaced(&found.root, options.plain);
        tell_of_music(&found.root, options.plain);
        let form = if options.plain {
            Form::Sentences
        } else {
            Form::Table
        };
        let said = match (&checked[..], found.folder) {
            (sessions, true) => check::folder(sessions),
            (sessions, false) => {
                let reports = sessions.iter();
                reports
                    .map(|s| check::session(&s.report, speaking, form))
                    .collect()
            }
        };
        print(&(said + &check::summary(checked.len(), &diagnostics)))?;
    }
    if any_error(&diagnostics) {
        return Err(Failure::Faults);
    }
    if options.strict && !diagnostics.is_empty() {
        return Err(Failure::Advice);
    }
    Ok(())
}

/// Warns of a folder of music that the configuration names for all sessions, and that is not in this folder.
fn tell_of_music(root: &Path, plain: bool) {
    let Some(path) = config::path() else { return };
    let loaded = config::load(&path);
    let wish = loaded.config.music.as_ref();
    let missing: Vec<_> = wish
        .and_then(|it| music_missing(it, root))
        .into_iter()
        .collect();
    load::tell(&missing, &loaded.sources, plain);
}

fn read(path: &str) -> Found {
    if Path::new(path).is_dir() {
        let mut loaded = Folder::at(path).load_all();
        let (shelf, faults) = own_voices(Path::new(path), &mut loaded.sources);
        let sessions = loaded.sessions.into_iter();
        return Found {
            movements: loaded.movements.into_values().flatten().collect(),
            sessions: sessions.filter_map(|(id, s)| Some((id, s?))).collect(),
            diagnostics: [loaded.diagnostics, faults].concat(),
            sources: loaded.sources,
            folder: true,
            root: path.into(),
            shelf,
        };
    }
    let (folder, file) = Folder::of_session(path, Path::new(""));
    let mut loaded = folder.load(&file);
    let (shelf, faults) = own_voices(folder.root(), &mut loaded.sources);
    let id = file.file_stem().map(|s| s.to_string_lossy().into_owned());
    let session = loaded.session.map(|s| (id.unwrap_or_default(), s));
    let movements = session.iter().flat_map(|(_, s)| s.movements.clone());
    Found {
        movements: movements.collect(),
        sessions: session.into_iter().collect(),
        diagnostics: [loaded.diagnostics, faults].concat(),
        sources: loaded.sources,
        folder: false,
        root: folder.root().to_owned(),
        shelf,
    }
}

/// Reads the voices that the folder may name, with the faults of their files.
fn own_voices(root: &Path, sources: &mut Sources) -> (Shelf, Vec<Diagnostic>) {
    Shelf::read(&load::speech(Some(root)).shelves(), sources)
}

/// Looks through the texts of movements, each once: more strictly where a session by ear uses it.
fn look_through(found: &Found) -> Vec<Diagnostic> {
    let by_ear = found.sessions.iter().filter(|(_, s)| s.text.by_ear);
    let by_ear: HashSet<&str> = by_ear
        .flat_map(|(_, s)| s.movements.iter().map(|m| m.id.as_str()))
        .collect();
    let movements = found.movements.iter();
    movements
        .flat_map(|m| texts::of_movement(m, by_ear.contains(m.id.as_str())))
        .collect()
}

/// Plans and looks at all sessions, on all cores; the order is that of the sessions.
fn look_at_all(found: &Found, mass: Kilograms, asked: Option<&Asked>) -> Vec<Checked> {
    let sessions = &found.sessions;
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let next = AtomicUsize::new(0);
    let work = || {
        let mut desk = Desk::new(mass, &found.shelf, asked);
        let mut done = Vec::new();
        while let Some((id, session)) = sessions.get(next.fetch_add(1, Ordering::Relaxed)) {
            done.push((id, desk.look_at(id, session)));
        }
        done
    };
    let mut all: Vec<_> = thread::scope(|scope| {
        let helpers = (1..cores.min(sessions.len())).map(|_| scope.spawn(work));
        let helpers: Vec<_> = helpers.collect();
        let mut all = work();
        for helper in helpers {
            match helper.join() {
                Ok(done) => all.extend(done),
                // A bug of ours is told as one, not hidden in a shorter list.
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    });
    all.sort_by_key(|(id, _)| *id);
    all.into_iter().map(|(_, checked)| checked).collect()
}

/// What one core keeps from session to session.
struct Desk<'a> {
    shelf: &'a Shelf,
    /// The person who speaks, if it is no voice.
    asked: Option<&'a Asked>,
    /// By the name of the voice, or, of a person, by the language.
    lengths: HashMap<String, EstimatedLengths>,
    mass: Kilograms,
}

impl<'a> Desk<'a> {
    fn new(mass: Kilograms, shelf: &'a Shelf, asked: Option<&'a Asked>) -> Self {
        Self {
            shelf,
            asked,
            lengths: HashMap::new(),
            mass,
        }
    }

    /// The voice to reckon with: the one that is named, else the best one of the language, whatever is
    /// here; for English none, which is as slow as the slowest.
    fn voice(&self, session: &Session) -> Option<&'a VoiceInfo> {
        let text = &session.text;
        let named = text.voice.as_ref().and_then(|v| self.shelf.find(&v.value));
        match text.language {
            Language::English => named,
            other => chain::ordered(self.shelf, named, other.tag())
                .first()
                .copied(),
        }
    }

    /// Warns where nobody here would speak the language of a session.
    fn voice_missing(&self, session: &Session) -> Option<Diagnostic> {
        let text = &session.text;
        if text.language == Language::English || self.asked.is_some() {
            return None;
        }
        let settings = Settings::standard();
        // Which languages the system's voice speaks is not known.
        let mut voices = self.shelf.voices().iter().filter(|voice| {
            voice.engine != EngineKind::System && voice.speaks_language(text.language.tag())
        });
        if voices.any(|voice| chain::check(voice, &settings).is_ok()) {
            return None;
        }
        let place = text.voice.as_ref().map_or(text.place, |voice| voice.place);
        let message = format!(
            "expected a voice for {}, found none here: an English one would read it",
            language_name(text.language.tag())
        );
        let fault = Diagnostic::warning(Code::VoiceMissing, place, message);
        Some(fault.help("install one: `sidevoice voices` says how"))
    }

    /// The lengths of whoever speaks a session.
    fn lengths(&mut self, session: &Session) -> &mut EstimatedLengths {
        let language = session.text.language;
        if let Some(Asked { name, person }) = self.asked {
            let of_person = || EstimatedLengths::of_person(name, person.clone(), language);
            let known = self.lengths.entry(language.tag().to_owned());
            return known.or_insert_with(of_person);
        }
        let voice = self.voice(session);
        let name = voice.map_or("", |v| v.name.as_str());
        let of_voice =
            || voice.map_or_else(|| EstimatedLengths::for_voice(""), EstimatedLengths::of);
        self.lengths.entry(name.to_owned()).or_insert_with(of_voice)
    }

    /// By estimate, nothing is synthesised: an error here would be one of the files alone.
    fn look_at(&mut self, id: &str, session: &Session) -> Checked {
        let plan = self.lengths(session).plan(
            session,
            Wording::of(session.text.language),
            CautionLength::Full,
        );
        let report = report(session, &plan, self.mass);
        let told = load::unknown_voice(session, self.shelf).into_iter();
        let told = told.chain(self.voice_missing(session));
        let told = told.chain(plan.diagnostics);
        let told = told.chain(report.advice.iter().cloned());
        let told = told.chain(texts::of_session(session));
        let told = told.chain(untranslated(session));
        Checked {
            id: id.to_owned(),
            told: one_a_fact(told.collect()),
            report,
        }
    }
}
