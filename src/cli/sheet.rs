//! `sheet`: writes a class to paper.

use super::Done;
use super::Failure;
use super::Planning;
use super::complain;
use super::load;
use super::print;
use super::written;
use crate::base::wording::Wording;
use crate::compile::Compiler;
use crate::compile::settings_in;
use crate::planning::plan::Plan;
use crate::planning::session::Session;
use crate::publish::sheet;
use crate::publish::sheet::Paper;
use crate::sound::out::Target;
use clap::Args;
use std::path::Path;
use std::path::PathBuf;

#[derive(Args)]
pub struct Options {
    #[command(flatten)]
    planning: Planning,
    /// The file to write; its ending says what: .html, to be read or printed, or .pdf
    #[arg(short, long)]
    output: PathBuf,
    /// Replace the file if it is there.
    #[arg(long)]
    overwrite: bool,
    /// The paper of a .pdf: a4 or letter.
    #[arg(long, default_value = "a4", value_parser = paper)]
    paper: Paper,
}

/// Reads the name of a paper.
pub fn paper(text: &str) -> Result<Paper, String> {
    match text.to_lowercase().as_str() {
        "a4" => Ok(Paper::A4),
        "letter" => Ok(Paper::Letter),
        _ => Err(format!("expected a4 or letter, found {text}")),
    }
}

/// What a sheet is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Html,
    Pdf,
}

impl Kind {
    fn of(path: &Path) -> Option<Self> {
        let ending = path.extension()?.to_string_lossy().to_lowercase();
        match ending.as_str() {
            "html" | "htm" => Some(Kind::Html),
            "pdf" => Some(Kind::Pdf),
            _ => None,
        }
    }

    /// Writes a plan on it.
    ///
    /// # Errors
    ///
    /// [`Failure::File`] where it cannot be a PDF.
    pub fn of_plan(self, plan: &Plan, session: &Session, paper: Paper) -> Result<Vec<u8>, Failure> {
        let wording = Wording::of(session.text.language);
        let content = sheet::content(plan, session, wording);
        match self {
            Kind::Html => Ok(sheet::html(&content).into_bytes()),
            Kind::Pdf => sheet::pdf(&content, paper).map_err(|found| {
                Failure::File(format!(
                    "expected a sheet that can be written as PDF, found: {found}. Write it as .html, and print that"
                ))
            }),
        }
    }
}

pub fn run(options: &Options) -> Done {
    let path = &options.output;
    let Some(kind) = Kind::of(path) else {
        return Err(Failure::File(format!(
            "expected a file name that ends in .html or .pdf, found {}",
            path.display()
        )));
    };
    // Where the file cannot be written, say so before the work is done.
    drop(Target::begin(path, options.overwrite)?);
    let ready = load::session(&options.planning)?;
    let config = load::config_beside(ready.folder.root(), options.planning.plain);
    let speaker = load::speaker(&options.planning, &ready, &config)?;
    let wording = Wording::of(ready.session.text.language);
    let settings = settings_in(wording, speaker.name(), options.planning.caution());
    let class = Compiler::new(&ready.session, wording, &speaker, settings).finish();
    load::say(&speaker.notices());
    for unspoken in &class.unspoken {
        complain(&format!("sidevoice: cannot be spoken: {unspoken}\n"));
    }
    let plan = &class.plan;
    load::tell(&plan.diagnostics, &ready.sources, options.planning.plain);
    load::sound_plan(&plan.diagnostics)?;
    let bytes = kind.of_plan(plan, &ready.session, options.paper)?;
    written::whole(path, options.overwrite, &bytes)?;
    print(&format!("{}: written.\n", path.display()))
}
