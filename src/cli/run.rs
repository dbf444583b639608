//! `run`: speaks a class now, through the loudspeaker.
use super::Done;
use super::Failure;
use super::Planning;
use super::complain;
use super::interrupt::Interrupt;
use super::is_terminal;
use super::keys::Keys;
use super::load;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::wording::Language;
use crate::base::wording::Wording;
use crate::compile::Beds;
use crate::compile::plan_by_estimate;
use crate::live::control::Board;
use crate::live::control::Controls;
use crate::live::control::Doing;
use crate::live::control::Mapping;
use crate::live::control::Verb;
use crate::live::control::line;
use crate::live::control::socket;
use crate::live::control::socket::Client;
use crate::live::core::Message;
use crate::live::core::State;
use crate::live::core::Wishes;
use crate::live::history;
use crate::live::history::Began;
use crate::live::history::Keeper;
use crate::live::shell;
use crate::live::shell::News;
use crate::live::status::Reporter;
use crate::live::wishes;
use crate::planning::session::Session;
use crate::planning::session::capitalised;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::sound::out;
use clap::Args;
use crossterm::terminal;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc;

#[derive(Args)]
pub struct Options {
    #[command(flatten)]
    planning: Planning,
    /// The loudspeaker to use, by its id [default: the system's].
    #[arg(long, value_parser = super::id())]
    device: Option<String>,
    /// Send raw samples down a pipe instead of to a loudspeaker: pipe:PATH for a named pipe that a program reads,
    /// pipe:- for standard output (48 kHz, 16 bit little endian, two channels).
    #[arg(long, value_name = "pipe:PATH", value_parser = super::pipe, conflicts_with = "device")]
    sink: Option<out::Pipe>,
    /// Where the coach's own ear is: a device by its id, or left or right for a channel of the loudspeaker.
    /// It hears the class ahead of the room, and what comes next [default: as the configuration says].
    #[arg(long, value_name = "DEVICE", value_parser = super::id())]
    ear: Option<String>,
    /// Frames a buffer: less answers a pause sooner, more bears a busier machine.
    #[arg(long, default_value_t = 960, value_parser = clap::value_parser!(u32).range(64..=8192))]
    buffer: u32,
    /// Write nothing down: no file in the folder's `log`.
    #[arg(long)]
    no_log: bool,
    /// Play no music, whatever the files say.
    #[arg(long)]
    no_music: bool,
    /// Go on where the last run of this session was left.
    #[arg(long)]
    go_on: bool,
    /// Play the sync tone in the room before the class, so that a film of it and `render --from-record` can be laid
    /// over each other.
    #[arg(long)]
    sync_tone: bool,
}

/// The keys without a configuration, for help.
pub fn keys() -> String {
    let keys = Mapping::default().help();
    format!(
        "{keys}\nThe configuration changes them; `sidevoice tell` does the same from elsewhere."
    )
}

pub fn run(options: Options) -> Done {
    nobody_else_speaks()?;
    let ready = load::session(&options.planning)?;
    let config = load::config_beside(ready.folder.root(), options.planning.plain);
    let speaker = load::speaker(&options.planning, &ready, &config)?;
    let session = Arc::new(ready.session);
    let record = history::read(ready.folder.root());
    for fault in &record.faults {
        tracing::warn!("{fault}");
    }
    let now = Timestamp::now();
    let caution = match options.planning.caution {
        Some(asked) => asked.into(),
        None => history::caution(&record.runs, now),
    };
    // What will not fit is told before it starts, by estimate: the voice has not spoken yet.
    let wording = Wording::of(session.text.language);
    let plan = plan_by_estimate(&session, wording, speaker.name(), caution);
    load::tell(&plan.diagnostics, &ready.sources, options.planning.plain);
    let id = ready.file.file_stem().unwrap_or_default().to_string_lossy();
    let left = history::unfinished(&record.runs).remove(id.as_ref());
    let from = match (&left, options.go_on) {
        (_, false) => None,
        (Some(left), true) => Some(left.goes_on_from(&session)),
        (None, true) => {
            return Err(Failure::Usage(format!(
                "there is nothing to go on with: the last run of {id} came to its end, or there is none"
            )));
        }
    };
    let hash = history::hash(ready.sources.texts());
    let (timeline, voice) = (&plan.timeline, speaker.name());
    let began = Began::new(&session, &ready.file, hash, voice, caution, timeline, from)
        .with_clarity(speaker.clarity());
    let mut keeper =
        (!options.no_log).then(|| Keeper::new(ready.folder.root(), Arc::clone(&session), began));
    let plain = options.planning.plain || session.text.by_ear || !is_terminal();
    let (teller, inputs) = line();
    let mapping = config.mapping;
    let board = Board::default();
    let controls = Controls::open(&mapping, teller.clone(), board.clone(), &socket::folder());
    let keys = Keys::read_by(mapping.keys.clone(), controls.panel().clone());
    // Without a terminal no key does anything, and none is told.
    let mapping = match keys {
        Some(_) => mapping,
        None => mapping.without_keys(),
    };
    let mut screen = Screen::new(Arc::clone(&session), plain, keys.is_some(), &mapping);
    screen.line(&format!(
        "{}. Voice: {}.",
        session.text.title,
        speaker.name()
    ));
    match keys {
        Some(_) => screen.keys(),
        None => screen.line("Keys work when standard input is a terminal."),
    }
    if let Some(left) = left {
        let hint = match options.go_on {
            true => "",
            false => " `--go-on` goes on there.",
        };
        // The screen is English.
        let left = left.sentence(Wording::of(Language::English));
        screen.line(&format!("The last time, {left}{hint}"));
    }
    let kept = wishes::path();
    let today = now.to_zoned_datetime(TimeZone::system()).date().to_string();
    let outputs = config.out.told(options.device, options.ear.as_deref());
    let class = shell::Class {
        session: Arc::clone(&session),
        speaker: Arc::new(speaker),
        caution,
        from,
        wishes: kept.as_deref().map(wishes::load).unwrap_or_default(),
        out: out::Options {
            device: outputs.room.clone(),
            pipe: options.sink,
            buffer: options.buffer,
            ..out::Options::default()
        },
        outputs,
        wake: config.wake,
        tones: config.tones,
        asks: keys.is_some() && keeper.is_some(),
        keys: mapping.spoken(wording, false),
        key: mapping.goes_on_spoken(wording),
        sync_tone: options.sync_tone,
        beds: (!options.no_music)
            .then(|| Beds::new(ready.folder.root(), config.music, &id, Some(&today))),
    };
    if let Some(text) = wished(class.wishes) {
        screen.line(&text);
    }
    let interrupt = Interrupt::noted();
    let stop = teller.clone();
    let mut reporter = Reporter::new(session, board);
    let (_nothing, changes) = mpsc::channel();
    let ended = shell::run(class, &inputs, &changes, &mut |news| {
        if interrupt.asked() {
            stop.tell(Verb::Stop);
        }
        if let Some(keeper) = &mut keeper {
            let now = Timestamp::now();
            match &news {
                News::Step(step) => keeper.see(step, now),
                News::Heard(what, frame) => keeper.heard((*what).clone(), *frame, now),
                _ => {}
            }
            if let Some(trouble) = keeper.trouble() {
                screen.line(&format!("{trouble}."));
            }
        }
        if let (News::Wishes(wishes), Some(path)) = (&news, &kept)
            && let Err(error) = wishes::save(path, *wishes)
        {
            screen.line(&format!("What was wished is not kept: {error}."));
        }
        for notice in controls.notices() {
            screen.line(&notice);
        }
        reporter.hear(&news);
        screen.show(news);
    });
    drop(keys);
    screen.end();
    if let Some(keeper) = keeper {
        let asks = keeper.asks();
        match keeper.close() {
            Some(trouble) => complain(&format!("{trouble}.\n")),
            None if asks => complain(&ask(ready.folder.root())),
            None => {}
        }
    }
    ended?;
    if interrupt.asked() {
        return Err(Failure::Interrupted);
    }
    Ok(())
}

/// Returns a failure while another class runs: two at once are understood by nobody.
pub fn nobody_else_speaks() -> Done {
    let status = Client::connect(&socket::folder()).and_then(|mut other| other.status());
    let speaks = status.is_ok_and(|s| !matches!(s.state, Doing::Idle | Doing::Finished));
    match speaks {
        true => Err(Failure::Busy(
            "another class runs already: end it with `sidevoice tell stop`, or wait for its end"
                .to_owned(),
        )),
        false => Ok(()),
    }
}

/// Says what was wished before, if anything.
fn wished(wishes: Wishes) -> Option<String> {
    let mut all = Vec::new();
    if wishes.volume_db != 0.0 {
        all.push(format!("volume {:+} dB", wishes.volume_db));
    }
    if wishes.speed != 1000 {
        all.push(format!(
            "speech {:.1} times as fast",
            f64::from(wishes.speed) / 1000.0
        ));
    }
    match wishes.talk {
        0 => {}
        1.. => all.push("more words".to_owned()),
        _ => all.push("fewer words".to_owned()),
    }
    (!all.is_empty()).then(|| format!("As wished the last time: {}.", all.join(", ")))
}

/// Asks for the effort felt after the class.
fn ask(folder: &Path) -> String {
    let folder = match folder.as_os_str().is_empty() {
        true => String::new(),
        false => format!(" {}", folder.display()),
    };
    format!(
        "How hard was the whole of it, 0 to 10? Now or later: sidevoice history rate N{folder} \
         (N a number, or skip)\n"
    )
}

/// What is seen: one line with the clock, or plain lines.
struct Screen {
    session: Arc<Session>,
    plain: bool,
    raw: bool,
    state: State,
    /// The line that says what the keys do.
    keys: String,
    /// What lets a class go on, as it is told while it waits.
    goes_on: String,
    shown: String,
    segment: Option<usize>,
    quarter: i64,
}

impl Screen {
    fn new(session: Arc<Session>, plain: bool, raw: bool, mapping: &Mapping) -> Self {
        let key = mapping.key_of(&Verb::PauseOrResume);
        let goes_on = match key {
            Some(key) => format!("{key} goes on"),
            None => "`sidevoice tell pause-or-resume` goes on".to_owned(),
        };
        Self {
            session,
            plain,
            raw,
            state: State::Building,
            keys: mapping.help(),
            goes_on,
            shown: String::new(),
            segment: None,
            quarter: 0,
        }
    }

    /// Prints what the keys do.
    fn keys(&mut self) {
        self.line(&self.keys.clone());
    }

    /// Prints a line that stays.
    fn line(&mut self, text: &str) {
        if !self.plain && !self.shown.is_empty() {
            complain("\r\x1b[K");
            self.shown.clear();
        }
        // In raw mode a line feed alone does not go back to the margin.
        complain(&format!("{text}{}", if self.raw { "\r\n" } else { "\n" }));
    }

    fn show(&mut self, news: News) {
        match news {
            News::Notice(text) => self.line(&text),
            News::Said(Message::Keys) => self.keys(),
            News::Changed(change) => {
                self.session = Arc::clone(&change.session);
                self.line("The class goes on as its files are now.");
            }
            News::Said(_) | News::Step(_) | News::Heard(..) | News::Wishes(_) => {}
            News::State(state) => {
                self.state = state;
                match state {
                    State::Paused => {
                        let on = capitalised(&self.goes_on);
                        self.line(&format!("Paused. {on}."));
                    }
                    State::Building => self.line("Waiting for the voice."),
                    State::Finished => self.line("The class has ended."),
                    State::Running | State::Announcing => {}
                }
            }
            News::Clock { at, timeline } if self.plain => self.lines(at, timeline),
            News::Clock { at, timeline } => self.redraw(at, timeline),
        }
    }

    /// A line for each segment, and for each quarter of the session.
    fn lines(&mut self, at: At, timeline: &Timeline) {
        let now = timeline.segments.iter().position(|s| at < s.end);
        if now.is_some() && now != self.segment {
            self.segment = now;
            let what = self.what(timeline, now.unwrap_or(0));
            let open = timeline.segments[now.unwrap_or(0)].open;
            let key = match open {
                true => format!(" ({})", self.goes_on),
                false => String::new(),
            };
            self.line(&format!("{at}: {what}{key}"));
        }
        let quarter = at.ms() * 4 / timeline.end().ms().max(1);
        if quarter > self.quarter && quarter < 4 {
            self.quarter = quarter;
            self.line(&format!("{} % of the session is done.", quarter * 25));
        }
    }

    fn redraw(&mut self, at: At, timeline: &Timeline) {
        let Some(now) = timeline.segments.iter().position(|s| at < s.end) else {
            return;
        };
        let segment = &timeline.segments[now];
        let left = (segment.end - at + Millis::from_ms(999)).ms() / 1000;
        let next = match segment.kind {
            SegmentKind::Work => String::new(),
            _ if now + 1 < timeline.segments.len() => {
                format!("   NEXT: {}", self.what(timeline, now + 1))
            }
            _ => String::new(),
        };
        let clock = At::from_ms(at.ms() / 1000 * 1000);
        let text = if segment.open {
            format!(
                "{clock}  {}  {}{next}",
                self.goes_on,
                self.what(timeline, now)
            )
        } else {
            format!("{clock}  {left:>3} s  {}{next}", self.what(timeline, now))
        };
        if text != self.shown {
            let width = match terminal::size() {
                Ok((columns @ 1.., _)) => columns as usize,
                // A terminal that does not say how wide it is.
                _ => 80,
            };
            let fits: String = text.chars().take(width.saturating_sub(1)).collect();
            complain(&format!("\r\x1b[K{fits}"));
            self.shown = text;
        }
    }

    fn what(&self, timeline: &Timeline, segment: usize) -> String {
        let segment = &timeline.segments[segment];
        match (segment.kind, segment.work) {
            (SegmentKind::Work, Some(work)) => {
                let work = &timeline.works[work];
                if work.stations {
                    return "ALL STATIONS".to_owned();
                }
                let movement = self.session.movement(work.movement_use(&self.session));
                let side = work.side.map_or(String::new(), |s| format!(", {}", s.id()));
                format!("{}{side}", movement.name.to_uppercase())
            }
            (kind, _) => kind.word().to_owned(),
        }
    }

    fn end(&mut self) {
        if !self.plain && !self.shown.is_empty() {
            complain("\n");
        }
    }
}
