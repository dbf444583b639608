//! `rehearse`: practises a class that the coach speaks herself.

use super::Done;
use super::Failure;
use super::Planning;
use super::aloud;
use super::complain;
use super::interrupt::Interrupt;
use super::keys::Keys;
use super::load;
use super::print;
use super::run::nobody_else_speaks;
use crate::base::units::At;
use crate::base::wording::Language;
use crate::base::wording::Wording;
use crate::compile::Compiler;
use crate::compile::settings_in;
use crate::live::control::Board;
use crate::live::control::Controls;
use crate::live::control::Doing;
use crate::live::control::Mapping;
use crate::live::control::Status;
use crate::live::control::Verb;
use crate::live::control::line;
use crate::live::control::socket;
use crate::live::core::State;
use crate::live::rehearsal;
use crate::live::rehearsal::Booth;
use crate::live::rehearsal::Kepts;
use crate::live::rehearsal::Listening;
use crate::live::rehearsal::News;
use crate::live::status::status;
use crate::planning::session::Session;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::rehearse::practice::Help;
use crate::rehearse::practice::Pass;
use crate::rehearse::practice::RUN_UP;
use crate::rehearse::practice::slow_down;
use crate::rehearse::report::Edit;
use crate::rehearse::report::Kept;
use crate::rehearse::report::Occasion;
use crate::rehearse::report::judge;
use crate::rehearse::report::kept;
use crate::rehearse::report::since;
use crate::rehearse::report::spoken;
use crate::rehearse::report::text;
use crate::rehearse::report::worst;
use crate::sound::microphone;
use crate::sound::microphone::Microphone;
use crate::sound::out;
use clap::Args;
use jiff::Timestamp;

#[derive(Args)]
pub struct Options {
    #[command(flatten)]
    planning: Planning,
    /// How much of the class is spoken for you: whole (each passage is heard, then it is yours),
    /// first-words (of each line, before it is due), name (of each movement), marks (counts and
    /// tones alone).
    #[arg(long, default_value = "whole", value_parser = help)]
    help_with: Help,
    /// The passage to begin with, counted from 1: a rest with the work after it.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    from: u32,
    /// How fast the class goes: 0.8 makes each written rest, the lead-in and the finish a quarter
    /// longer, and what `every` leaves for rest; works stay as they are.
    #[arg(long, default_value_t = 1.0, value_parser = pace)]
    pace: f64,
    /// The loudspeaker to use, by its id [default: the system's].
    #[arg(long, value_parser = super::id())]
    device: Option<String>,
    /// Where your own ear is: a device by its id, or left or right for a channel of the loudspeaker. It
    /// alone hears the prompts [default: as the configuration says].
    #[arg(long, value_name = "DEVICE", value_parser = super::id())]
    ear: Option<String>,
    /// Frames a buffer.
    #[arg(long, default_value_t = 960, value_parser = clap::value_parser!(u32).range(64..=8192))]
    buffer: u32,
    /// Listen through the microphone and say at the end how your words fitted. What is heard is measured
    /// at once and not kept; nothing of it leaves this machine.
    #[arg(long)]
    listen: bool,
    /// The microphone to listen with, by its id [default: the system's].
    #[arg(long, requires = "listen")]
    microphone: Option<String>,
    /// You alone hear the program, by an earpiece or headphones: what it says is not taken for yours.
    #[arg(long, requires = "listen")]
    earpiece: bool,
    /// Keep what the microphone hears, as a WAV file in the folder's `log`.
    #[arg(long, requires = "listen")]
    keep: bool,
    /// Make the edits of the session's file that the report proposes.
    #[arg(long, requires = "listen", conflicts_with = "pace")]
    apply: bool,
    /// Write nothing down: no report in the folder's `log`, no pace learnt.
    #[arg(long)]
    no_log: bool,
}

fn help(text: &str) -> Result<Help, String> {
    super::word(text, &Help::WORDS)
}

fn pace(text: &str) -> Result<f64, String> {
    match text.parse() {
        Ok(pace) if (0.25..=1.0).contains(&pace) => Ok(pace),
        _ => Err("expected a number from 0.25 to 1".to_owned()),
    }
}

pub fn run(options: Options) -> Done {
    nobody_else_speaks()?;
    let mut ready = load::session(&options.planning)?;
    let config = load::config_beside(ready.folder.root(), options.planning.plain);
    let speaker = load::speaker(&options.planning, &ready, &config)?;
    if speaker.system().is_some() {
        return Err(Failure::Voice(format!(
            "the voice {} speaks by itself and keeps no time with a count: nothing could be practised \
             with it. Take another one: --voice {}",
            speaker.name(),
            speaker.next_name()
        )));
    }
    slow_down(&mut ready.session, options.pace);
    let session = &ready.session;
    let wording = Wording::of(session.text.language);
    let settings = settings_in(wording, speaker.name(), options.planning.caution());
    complain("sidevoice: making the class and its prompts.\n");
    let class = Compiler::new(session, wording, &speaker, settings)
        .with_tones(session.text.tones.unwrap_or(config.tones))
        .finish();
    load::say(&speaker.notices());
    load::tell(
        &class.plan.diagnostics,
        &ready.sources,
        options.planning.plain,
    );
    let began = Timestamp::now();
    let id = ready.file.file_stem().unwrap_or_default().to_string_lossy();
    let kepts = Kepts::of(ready.folder.root());
    let listening = options
        .listen
        .then(|| listen(&options, &kepts, (began, id.as_ref())))
        .transpose()?;
    let outputs = config
        .out
        .clone()
        .told(options.device.clone(), options.ear.as_deref());
    let booth = Booth::new(&class, &speaker, wording, listening);
    let score = booth.score.clone();
    let passages = score.passages.len();
    let from = options.from as usize - 1;
    if from >= passages {
        return Err(Failure::Usage(format!(
            "there are {passages} passages in {}",
            session.text.title
        )));
    }
    let (teller, inputs) = line();
    let mapping = config.mapping;
    let board = Board::default();
    let controls = Controls::open(&mapping, teller.clone(), board.clone(), &socket::folder());
    let keys = Keys::read_by(mapping.keys.clone(), controls.panel().clone());
    let screen = Screen {
        session,
        timeline: &class.plan.timeline,
        raw: keys.is_some(),
        passages: score.passages.clone(),
    };
    screen.line(&format!("{}: {passages} passages.", session.text.title));
    if keys.is_some() {
        screen.line(&what_keys_do(&mapping));
    }
    let interrupt = Interrupt::noted();
    let out = out::Options {
        device: outputs.room.clone(),
        buffer: options.buffer,
        ..out::Options::default()
    };
    let ended = rehearsal::run(
        booth,
        (from, options.help_with),
        (out, &outputs),
        &inputs,
        &mut |news| {
            if interrupt.asked() {
                teller.tell(Verb::Stop);
            }
            for notice in controls.notices() {
                screen.line(&notice);
            }
            show_on(&board, &news, session, &class.plan.timeline);
            screen.show(&news, &mapping);
        },
    );
    drop(keys);
    let heard = ended?;
    if !options.listen {
        return Ok(());
    }
    let report = judge(&score, &class.plan, &heard, options.earpiece);
    if report.rows.is_empty() {
        complain("No passage was heard to its end: there is no report.\n");
        return Ok(());
    }
    let mut remedies = worst(&report, &score, &class.plan, session);
    if options.pace < 1.0 {
        // The lengths are those of the slower class, and not the file's.
        let length = |edit: &Edit| matches!(edit, Edit::Length { .. });
        remedies
            .iter_mut()
            .for_each(|remedy| remedy.edit = remedy.edit.take().filter(|edit| !length(edit)));
    }
    print(&text(&report, &remedies, &score, &class.plan, session))?;
    if !options.no_log {
        let occasion = Occasion {
            session: &id,
            language: session.text.language,
            began: &began.to_string(),
            pace: (options.pace * 100.0).round() as u32,
            earpiece: options.earpiece,
        };
        let kept = kept(&report, &score, &class.plan, occasion);
        if let Some(before) = kepts.last(&id, occasion.pace) {
            print(&format!("{}\n", since(&before, &kept)))?;
        }
        keep(&kepts, &kept, began, session.text.language)?;
    }
    if let Err(Failure::Device(why)) =
        aloud::speak(&speaker, &spoken(&report, wording), outputs.room)
    {
        complain(&format!("{why}.\n"));
    }
    if options.apply {
        let edits: Vec<_> = remedies.into_iter().filter_map(|r| r.edit).collect();
        if edits.is_empty() {
            return print("There is nothing to change in the session.\n");
        }
        let was = ready.sources.texts().next().unwrap_or_default();
        rehearsal::edit(&ready.file, was, &edits).map_err(Failure::File)?;
        print(&format!("{} was changed.\n", ready.file.display()))?;
    }
    Ok(())
}

/// Opens the microphone, and says what is done with what it hears.
fn listen(
    options: &Options,
    kepts: &Kepts,
    (began, session): (Timestamp, &str),
) -> Result<Listening, Failure> {
    let microphone = Microphone::open(microphone::Options {
        device: options.microphone.clone(),
        ..microphone::Options::default()
    });
    let microphone = microphone.map_err(|error| Failure::Device(error.to_string()))?;
    let path = options
        .keep
        .then(|| kepts.path(began, session, ".rehearsal.wav"));
    if let Some(folder) = path.as_deref().and_then(std::path::Path::parent) {
        std::fs::create_dir_all(folder).map_err(|error| {
            Failure::File(format!("{} cannot be made: {error}", folder.display()))
        })?;
    }
    complain(&format!(
        "sidevoice: listening by {}. {}. Nothing leaves this machine.\n",
        microphone.device(),
        match &path {
            Some(path) => format!("What it hears is kept as {}", path.display()),
            None => "What it hears is not kept".to_owned(),
        }
    ));
    let heard = (!options.earpiece, options.buffer);
    Listening::new(microphone, heard, path.as_deref()).map_err(Failure::Device)
}

/// Keeps the report for the next one, and the pace that was heard.
fn keep(kepts: &Kepts, kept: &Kept, began: Timestamp, language: Language) -> Done {
    let path = kepts
        .keep(kept, began)
        .map_err(|error| Failure::File(format!("the report cannot be kept: {error}")))?;
    complain(&format!(
        "sidevoice: the report is kept as {}.\n",
        path.display()
    ));
    match kepts.learn(language) {
        Ok(Some(person)) => complain(&format!(
            "sidevoice: you speak {} words a minute, by {} lines; `--speaker me` plans by it.\n",
            person.words_a_minute(),
            person.lines
        )),
        Ok(None) => {}
        Err(error) => complain(&format!("sidevoice: your pace cannot be kept: {error}.\n")),
    }
    Ok(())
}

/// Puts up where the rehearsal stands, for whoever asks from elsewhere.
fn show_on(board: &Board, news: &News, session: &Session, timeline: &Timeline) {
    match news {
        News::Clock(at, _) => {
            let state = match board.now().state {
                Doing::Paused => State::Paused,
                _ => State::Running,
            };
            let at = (*at - RUN_UP).max(At::START);
            board.show(status(session, state, at, Some(timeline)));
        }
        News::Began(_) => board.show(Status {
            state: Doing::Running,
            ..board.now()
        }),
        News::Paused => board.show(Status {
            state: Doing::Paused,
            ..board.now()
        }),
        _ => {}
    }
}

fn what_keys_do(mapping: &Mapping) -> String {
    let verbs = [
        (
            Verb::PauseOrResume,
            "pause, and again from the passage's start",
        ),
        (Verb::Skip, "next passage"),
        (Verb::Back, "back"),
        (Verb::Repeat, "this passage again and again, or on"),
        (Verb::Explain, "hear it"),
        (Verb::TalkMore, "more help"),
        (Verb::TalkLess, "less help"),
        (Verb::Stop, "end"),
    ];
    let told = verbs.iter().filter_map(|(verb, what)| {
        let key = mapping.key_of(verb)?;
        Some(format!("{key} {what}"))
    });
    format!("Keys: {}.", told.collect::<Vec<_>>().join("; "))
}

struct Screen<'a> {
    session: &'a Session,
    timeline: &'a Timeline,
    raw: bool,
    passages: Vec<crate::rehearse::practice::Passage>,
}

impl Screen<'_> {
    fn line(&self, text: &str) {
        complain(&format!("{text}{}", if self.raw { "\r\n" } else { "\n" }));
    }

    fn show(&self, news: &News, mapping: &Mapping) {
        match news {
            News::Began(pass) => self.line(&self.pass(pass)),
            News::Help(help) => self.line(&format!("Help: {}.", help.word())),
            News::Loop(true) => self.line("This passage again and again."),
            News::Loop(false) => self.line("On with the next passage."),
            News::Where(passage) => self.line(&self.passage(*passage)),
            News::Keys => self.line(&what_keys_do(mapping)),
            News::Paused => self.line("Paused."),
            News::Notice(text) => self.line(text),
            News::Clock(..) => {}
        }
    }

    fn pass(&self, pass: &Pass) -> String {
        let whose = match pass.shown {
            true => "listen",
            false => "yours",
        };
        format!("{}: {whose}", self.passage(pass.passage))
    }

    /// Names a passage: "3 of 12, rest of 10s and one-arm row, left".
    fn passage(&self, at: usize) -> String {
        let passage = self.passages[at];
        let parts = [passage.rest, passage.work].into_iter().flatten();
        let parts = parts.map(|segment| {
            let segment = &self.timeline.segments[segment];
            match (segment.kind, segment.work) {
                (SegmentKind::Work, Some(work)) => {
                    let work = &self.timeline.works[work];
                    if work.stations {
                        return "all stations".to_owned();
                    }
                    let movement = self.session.movement(work.movement_use(self.session));
                    match work.side {
                        Some(side) => format!("{}, {}", movement.name, side.id()),
                        None => movement.name.clone(),
                    }
                }
                (kind, _) => format!("{} of {}", kind.word(), segment.length()),
            }
        });
        let parts: Vec<_> = parts.collect();
        format!(
            "{} of {}, {}",
            at + 1,
            self.passages.len(),
            parts.join(" and ")
        )
    }
}
