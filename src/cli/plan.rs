//! `plan`: shows what will be said, and when.

use super::Done;
use super::Planning;
use super::complain;
use super::load;
use super::print;
use crate::base::wording::Wording;
use crate::compile::Compiler;
use crate::compile::settings_in;
use crate::publish;
use clap::Args;
use clap::ValueEnum;

#[derive(Args)]
pub struct Options {
    #[command(flatten)]
    planning: Planning,
    /// What to print.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Clone, Copy, Default, ValueEnum)]
enum Format {
    /// Time, what is heard, what was left out and why.
    #[default]
    Text,
    /// The plan for other programs, `sidevoice-plan/1`.
    Json,
    /// What was chosen from what, for an outside solver, `sidevoice-problem/1`.
    Problem,
}

pub fn run(options: Options) -> Done {
    let ready = load::session(&options.planning)?;
    let config = load::config(options.planning.plain);
    let speaker = load::speaker(&options.planning, &ready, &config)?;
    let wording = Wording::of(ready.session.text.language);
    let caution = options.planning.caution();
    let settings = settings_in(wording, speaker.name(), caution);
    let class = Compiler::new(&ready.session, wording, &speaker, settings).finish();
    load::say(&speaker.notices());
    for unspoken in &class.unspoken {
        complain(&format!("sidevoice: cannot be spoken: {unspoken}\n"));
    }
    let plan = &class.plan;
    load::tell(&plan.diagnostics, &ready.sources, options.planning.plain);
    print(&match options.format {
        Format::Text => publish::text::text(plan, &ready.session),
        Format::Problem => publish::problem::problem(plan),
        Format::Json => {
            let all = ready.diagnostics.iter().chain(&plan.diagnostics);
            let all: Vec<_> = all.cloned().collect();
            publish::json::json(plan, &ready.session, &all, &ready.sources, |s| {
                class.words(s)
            })
        }
    })?;
    load::sound_plan(&plan.diagnostics)
}
