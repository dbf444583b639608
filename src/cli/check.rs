//! `check`: reads a session or a folder, tells every fault, and what a coach should know of each
//! session before it is run.

use super::Done;
use super::Failure;
use super::load;
use super::print;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::any_error;
use crate::base::diagnostic::in_order;
use crate::base::wording::Wording;
use crate::compile::EstimatedLengths;
use crate::folder::Folder;
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
use clap::Args;
use std::collections::HashMap;
use std::collections::HashSet;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicUsize;
use std::sync::atomic::Ordering;
use std::thread;

#[derive(Args)]
pub struct Options {
    /// A session file, a session's id, or a session folder.
    #[arg(default_value = ".")]
    path: String,
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
}

pub fn run(options: Options) -> Done {
    let found = read(&options.path);
    let checked = look_at_all(&found.sessions, Kilograms::new(options.mass));
    let told = checked.iter().flat_map(|c| c.told.iter().cloned());
    let told = told.chain(look_through(&found));
    let diagnostics = in_order(found.diagnostics.into_iter().chain(told).collect());
    if options.json {
        print(&check::json(&checked, &diagnostics, &found.sources))?;
    } else {
        load::tell(&diagnostics, &found.sources, options.plain);
        let form = if options.plain {
            Form::Sentences
        } else {
            Form::Table
        };
        let said = match (&checked[..], found.folder) {
            (sessions, true) => check::folder(sessions),
            (sessions, false) => {
                let reports = sessions.iter();
                reports.map(|s| check::session(&s.report, form)).collect()
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

fn read(path: &str) -> Found {
    if Path::new(path).is_dir() {
        let loaded = Folder::at(path).load_all();
        let sessions = loaded.sessions.into_iter();
        return Found {
            movements: loaded.movements.into_values().flatten().collect(),
            sessions: sessions.filter_map(|(id, s)| Some((id, s?))).collect(),
            diagnostics: loaded.diagnostics,
            sources: loaded.sources,
            folder: true,
        };
    }
    let (folder, file) = Folder::of_session(path, Path::new(""));
    let loaded = folder.load(&file);
    let id = file.file_stem().map(|s| s.to_string_lossy().into_owned());
    let session = loaded.session.map(|s| (id.unwrap_or_default(), s));
    let movements = session.iter().flat_map(|(_, s)| s.movements.clone());
    Found {
        movements: movements.collect(),
        sessions: session.into_iter().collect(),
        diagnostics: loaded.diagnostics,
        sources: loaded.sources,
        folder: false,
    }
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
fn look_at_all(sessions: &[(String, Session)], mass: Kilograms) -> Vec<Checked> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let next = AtomicUsize::new(0);
    let work = || {
        let mut desk = Desk::new(mass);
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
struct Desk {
    lengths: HashMap<String, EstimatedLengths>,
    mass: Kilograms,
}

impl Desk {
    fn new(mass: Kilograms) -> Self {
        Self {
            lengths: HashMap::new(),
            mass,
        }
    }

    /// By estimate, nothing is synthesised: an error here would be one of the files alone.
    fn look_at(&mut self, id: &str, session: &Session) -> Checked {
        let voice = session.text.voice.as_ref().map_or("", |v| v.value.as_str());
        let lengths = self
            .lengths
            .entry(voice.to_owned())
            .or_insert_with(|| EstimatedLengths::for_voice(voice));
        let plan = lengths.plan(
            session,
            Wording::of(session.text.language),
            CautionLength::Full,
        );
        let report = report(session, &plan, self.mass);
        let told = load::unknown_voice(session).into_iter();
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
