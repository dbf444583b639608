//! `check`: reads a session or a folder and tells every fault.

use super::Done;
use super::Failure;
use super::load;
use super::print;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Level;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::any_error;
use crate::base::wording::Wording;
use crate::compile::plan_by_estimate;
use crate::folder::Folder;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::publish::json::DiagnosticJson;
use crate::publish::json::pretty;
use clap::Args;
use serde::Serialize;
use std::path::Path;

#[derive(Args)]
pub struct Options {
    /// A session file, a session's id, or a session folder.
    #[arg(default_value = ".")]
    path: String,
    /// Fail with code 1 where there is advice or a warning.
    #[arg(long)]
    strict: bool,
    /// Print JSON for other programs.
    #[arg(long)]
    json: bool,
    /// Say faults as sentences.
    #[arg(long)]
    plain: bool,
}

#[derive(Serialize)]
struct Report<'a> {
    sessions: usize,
    diagnostics: Vec<DiagnosticJson<'a>>,
}

pub fn run(options: Options) -> Done {
    let (sessions, mut diagnostics, sources) = read(&options.path);
    // By estimate, nothing is synthesised: an error here would be one of the files alone.
    let wording = Wording::english();
    for session in &sessions {
        diagnostics.extend(load::unknown_voice(session));
        let voice = session.text.voice.as_ref().map_or("", |v| v.value.as_str());
        let plan = plan_by_estimate(session, &wording, voice, CautionLength::Full);
        diagnostics.extend(plan.diagnostics);
    }
    if options.json {
        print(&pretty(&Report {
            sessions: sessions.len(),
            diagnostics: diagnostics
                .iter()
                .map(|d| DiagnosticJson::new(d, &sources))
                .collect(),
        }))?;
    } else {
        load::tell(&diagnostics, &sources, options.plain);
        print(&summary(&sessions, &diagnostics))?;
    }
    if any_error(&diagnostics) {
        return Err(Failure::Faults);
    }
    if options.strict && !diagnostics.is_empty() {
        return Err(Failure::Advice);
    }
    Ok(())
}

fn read(path: &str) -> (Vec<Session>, Vec<Diagnostic>, Sources) {
    if Path::new(path).is_dir() {
        let loaded = Folder::at(path).load_all();
        let sound = loaded.sessions.into_values().flatten().collect();
        return (sound, loaded.diagnostics, loaded.sources);
    }
    let (folder, file) = Folder::of_session(path, Path::new(""));
    let loaded = folder.load(&file);
    let sound = loaded.session.into_iter().collect();
    (sound, loaded.diagnostics, loaded.sources)
}

fn summary(sessions: &[Session], diagnostics: &[Diagnostic]) -> String {
    let count = |level| diagnostics.iter().filter(|d| d.level == level).count();
    let many = |n: usize, one: &str, more: &str| match n {
        1 => format!("1 {one}"),
        n => format!("{n} {more}"),
    };
    format!(
        "{} in order; {}, {}, {}.\n",
        many(sessions.len(), "session", "sessions"),
        many(count(Level::Error), "error", "errors"),
        many(count(Level::Warning), "warning", "warnings"),
        many(count(Level::Advice), "piece of advice", "pieces of advice"),
    )
}
