//! `plan`: shows what will be said, and when.

use super::Done;
use super::Failure;
use super::Planning;
use super::complain;
use super::load;
use super::load::Ready;
use super::print;
use super::speaker;
use super::speaker::Asked;
use crate::base::wording::Wording;
use crate::compile::Class;
use crate::compile::Compiler;
use crate::compile::EstimatedLengths;
use crate::compile::settings_in;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::publish;
use crate::publish::json::Words;
use clap::Args;
use clap::ValueEnum;

#[derive(Args)]
pub struct Options {
    #[command(flatten)]
    planning: Planning,
    /// Plan for a person who speaks the class herself, at her own pace: `me`, or a name that
    /// `sidevoice speaker` lists. Lengths are then what 95 of 100 of her lines are shorter than.
    #[arg(long, value_name = "NAME", conflicts_with = "voice")]
    speaker: Option<String>,
    /// What to print.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Clone, Copy, Default, ValueEnum)]
enum Format {
    /// Time, what is heard, what was left out and why.
    #[default]
    Text,
    /// What to say, in order, for a coach who speaks the class herself: with the times, where she can
    /// breathe, and the counts as they fall. `--speaker me` gives the times at her own pace.
    Script,
    /// The same as a web page of its own, in letters that can be read two metres away and headings that a
    /// screen reader moves by: `--format script-html > script.html`.
    ScriptHtml,
    /// The plan for other programs, `sidevoice-plan/1`.
    Json,
    /// What was chosen from what, for an outside solver, `sidevoice-problem/1`.
    Problem,
}

/// A plan, and the class that was spoken to make it; none where a person will speak.
enum Made {
    Spoken(Box<Class>),
    Paced(Box<Plan>),
}

impl Made {
    fn plan(&self) -> &Plan {
        match self {
            Made::Spoken(class) => &class.plan,
            Made::Paced(plan) => plan,
        }
    }

    /// Returns the words of a sound where they are known: nobody knows when a person will say them.
    fn words(&self, sound: &Sound) -> Words {
        match self {
            Made::Spoken(class) => class.words(sound),
            Made::Paced(_) => Vec::new(),
        }
    }
}

pub fn run(options: Options) -> Done {
    let plain = options.planning.plain;
    let asked = options.speaker.as_deref();
    let asked = asked.map(|name| speaker::asked(name, plain)).transpose()?;
    let ready = load::session(&options.planning)?;
    let made = match &asked {
        Some(asked) => paced(&options.planning, &ready, asked),
        None => spoken(&options.planning, &ready)?,
    };
    let plan = made.plan();
    load::tell(&plan.diagnostics, &ready.sources, plain);
    let session = &ready.session;
    let speaking = asked.as_ref().map(Asked::speaking);
    print(&match options.format {
        Format::Text => publish::text::text(plan, session, speaking),
        Format::Script => publish::script::text(plan, session, speaking),
        Format::ScriptHtml => publish::script::html(plan, session, speaking),
        Format::Problem => publish::problem::problem(plan),
        Format::Json => {
            let all = ready.diagnostics.iter().chain(&plan.diagnostics);
            let all: Vec<_> = all.cloned().collect();
            let words = |sound: &Sound| made.words(sound);
            publish::json::json(plan, session, speaking, &all, &ready.sources, words)
        }
    })?;
    load::sound_plan(&plan.diagnostics)
}

/// Plans with lengths measured by speaking; says what could not be spoken.
fn spoken(options: &Planning, ready: &Ready) -> Result<Made, Failure> {
    let config = load::config_beside(ready.folder.root(), options.plain);
    let speaker = load::speaker(options, ready, &config)?;
    let wording = Wording::of(ready.session.text.language);
    let settings = settings_in(wording, speaker.name(), options.caution());
    let class = Compiler::new(&ready.session, wording, &speaker, settings).finish();
    load::say(&speaker.notices());
    for unspoken in &class.unspoken {
        complain(&format!("sidevoice: cannot be spoken: {unspoken}\n"));
    }
    Ok(Made::Spoken(Box::new(class)))
}

/// Plans with the lengths of a person; nothing is spoken.
fn paced(options: &Planning, ready: &Ready, asked: &Asked) -> Made {
    let language = ready.session.text.language;
    let wording = Wording::of(language);
    let person = asked.person.clone();
    let mut lengths = EstimatedLengths::of_person(&asked.name, person, language);
    Made::Paced(Box::new(lengths.plan(
        &ready.session,
        wording,
        options.caution(),
    )))
}
