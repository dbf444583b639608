//! The command line: one file a command.

mod agenda;
mod aloud;
mod buttons;
mod check;
mod exit;
mod history;
mod interrupt;
mod keys;
mod load;
mod log;
mod many;
mod new;
mod outputs;
mod plan;
mod reading;
mod recorded;
mod rehearse;
mod render;
mod run;
mod sheet;
mod speaker;
mod tell;
mod tones;
mod voices;
mod watch;
mod written;

use crate::base::utterance::Clarity;
use crate::planning::script::CautionLength;
use crate::sound::out::Pipe;
use crate::sound::speech::serve;
use clap::Args;
use clap::Parser;
use clap::Subcommand;
use clap::ValueEnum;
use clap::builder::NonEmptyStringValueParser;
use exit::Failure;
use std::ffi::OsString;
use std::io::IsTerminal;
use std::path::PathBuf;
use std::process::ExitCode;

/// A voice at your side that knows the plan: timed exercise sessions, spoken to the sample.
///
/// A session folder holds `sessions/*.toml` and `movements/*.toml`; `sidevoice new FOLDER` writes
/// one to begin with. A SESSION is named by its file's path or, inside its folder, by its id:
/// the file's name without the ending.
#[derive(Parser)]
#[command(
    name = "sidevoice",
    version,
    max_term_width = 100,
    after_help = "Exit codes: 0 done, 1 advice with --strict, 2 faults in the session files, \
                  3 a file cannot be read or written, 4 no sound device, 5 no such voice or speaker, \
                  6 nothing is running, 7 another one watches or runs, 8 some of a folder could not be \
                  rendered, 64 wrong usage, 130 interrupted."
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Write a session folder to begin with: sessions and movements of a boathouse circuit.
    New {
        /// The folder to write into; files that are there are kept.
        folder: PathBuf,
    },
    /// Read a session or a whole folder and tell every fault.
    Check(check::Options),
    /// Show what will be said, and when.
    Plan(plan::Options),
    /// Write a class to a file: its sound, its captions, its chapters, its sheet.
    Render(render::Options),
    /// Write a class to paper: for the coach what is said and when, for participants what is done.
    Sheet(sheet::Options),
    /// Write when the sessions of a folder take place, as a calendar; or a list of their rendered files.
    Agenda(agenda::Options),
    /// Speak a class now, through the loudspeaker.
    #[command(after_help = run::keys())]
    Run(run::Options),
    /// Practise a class that you speak yourself: with prompts, and measured against the plan.
    Rehearse(rehearse::Options),
    /// Show what was done in a session folder, and the load of the weeks.
    History(history::Options),
    /// Stay in the background: watch a session folder, tell what changes, get it ready.
    Watch(watch::Options),
    /// Tell the running class something: pause, skip, where ...
    #[command(after_help = tell::verbs())]
    Tell(tell::Tell),
    /// Say what runs, and where it is.
    Status(tell::Ask),
    /// Learn what the buttons of a clicker, a foot pedal or a keypad are for.
    Buttons {
        #[command(subcommand)]
        action: buttons::Buttons,
    },
    /// List the people who speak classes themselves, and how fast; hear one read, or forget one.
    Speaker {
        #[command(subcommand)]
        action: Option<speaker::Action>,
        /// Print JSON for other programs.
        #[arg(long)]
        json: bool,
    },
    /// Name the tones of a class and play them.
    Tones(tones::Options),
    /// List the voices, hear one, or get one.
    Voices {
        #[command(subcommand)]
        action: Option<voices::Action>,
        /// Print JSON for other programs.
        #[arg(long)]
        json: bool,
    },
}

/// Options of all commands that plan a session.
#[derive(Args)]
struct Planning {
    /// The session: a path, or an id inside its folder.
    session: String,
    /// The voice that speaks [default: the session's, else the best one here].
    #[arg(long)]
    voice: Option<String>,
    /// How far speech is shaped to cut through noise, at the same loudness: plain, room or gym
    /// [default: the session's, else that of the configuration, else plain].
    #[arg(long, value_parser = clarity)]
    clarity: Option<Clarity>,
    /// How much of the caution the opening says: all of it, as at a first session, or a sentence
    /// [default: full; `run` goes by its record].
    #[arg(long, value_enum)]
    caution: Option<Caution>,
    /// Say faults as sentences and progress as lines; never redraw or colour.
    #[arg(long)]
    plain: bool,
}

/// Reads where raw samples go.
fn pipe(text: &str) -> Result<Pipe, String> {
    Pipe::parse(text).ok_or_else(|| "expected pipe:PATH, or pipe:- for standard output".to_owned())
}

/// One that is no standard output: lines are printed there.
fn named_pipe(text: &str) -> Result<Pipe, String> {
    match Pipe::parse(text) {
        Some(pipe @ Pipe::Named(_)) => Ok(pipe),
        _ => Err("expected pipe:PATH".to_owned()),
    }
}

/// Reads the id of a device: not an empty one.
fn id() -> NonEmptyStringValueParser {
    NonEmptyStringValueParser::new()
}

/// Reads how far speech is shaped.
fn clarity(text: &str) -> Result<Clarity, String> {
    word(text, &Clarity::WORDS)
}

/// Reads one of some words.
fn word<T: Copy>(text: &str, words: &[(&str, T)]) -> Result<T, String> {
    let found = words.iter().find(|(word, _)| *word == text);
    found.map(|(_, value)| *value).ok_or_else(|| {
        let words: Vec<_> = words.iter().map(|(word, _)| *word).collect();
        format!("expected one of {}", words.join(", "))
    })
}

#[derive(Clone, Copy, ValueEnum)]
enum Caution {
    Full,
    Brief,
}

impl Planning {
    /// Returns how much of the caution is said where no record is asked: all of it.
    fn caution(&self) -> CautionLength {
        self.caution.map_or(CautionLength::Full, Into::into)
    }
}

impl From<Caution> for CautionLength {
    fn from(caution: Caution) -> Self {
        match caution {
            Caution::Full => CautionLength::Full,
            Caution::Brief => CautionLength::Brief,
        }
    }
}

/// Runs the command line and returns the exit code.
pub fn main(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let mut arguments: Vec<_> = arguments.into_iter().collect();
    // The neural engine is this program again; not a command, so not in the help.
    if arguments
        .get(1)
        .is_some_and(|first| first == serve::ARGUMENT)
    {
        return serve::serve(arguments.drain(2..));
    }
    log::start();
    interrupt::outlive_large_files();
    let cli = match Cli::try_parse_from(arguments) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version are no errors; a print that fails has nobody to tell.
            let _ = error.print();
            return ExitCode::from(if error.use_stderr() { exit::USAGE } else { 0 });
        }
    };
    let done = match cli.command {
        Command::New { folder } => new::run(&folder),
        Command::Check(options) => check::run(options),
        Command::Plan(options) => plan::run(options),
        Command::Render(options) => render::run(options),
        Command::Sheet(options) => sheet::run(&options),
        Command::Agenda(options) => agenda::run(&options),
        Command::Run(options) => run::run(options),
        Command::Rehearse(options) => rehearse::run(options),
        Command::History(options) => history::run(options),
        Command::Watch(options) => watch::run(options),
        Command::Tell(options) => tell::tell(&options),
        Command::Status(options) => tell::status(&options),
        Command::Buttons { action } => buttons::run(action),
        Command::Speaker { action, json } => speaker::run(action, json),
        Command::Tones(options) => tones::run(&options),
        Command::Voices { action, json } => voices::run(action, json),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            if let Some(message) = failure.message() {
                complain(&format!("sidevoice: {message}.\n"));
            }
            failure.into()
        }
    }
}

/// Prints to standard output; a reader that has gone away (`| head`) is no failure, a full disk is.
fn print(text: &str) -> Done {
    use std::io::ErrorKind;
    use std::io::Write;
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Failure::File(format!(
            "what was asked for could not be printed: {error}"
        ))),
        _ => Ok(()),
    }
}

/// Prints to standard error; where nobody reads it, there is nobody to tell that, and the work
/// goes on (`eprint!` would panic).
fn complain(text: &str) {
    use std::io::Write;
    let mut err = std::io::stderr().lock();
    let _ = err.write_all(text.as_bytes()).and_then(|()| err.flush());
}

fn is_terminal() -> bool {
    std::io::stderr().is_terminal()
}

type Done = Result<(), Failure>;
