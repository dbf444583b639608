//! `speaker new`: somebody reads ten lines into the microphone, and how fast is kept.
#![expect(
    clippy::disallowed_methods,
    reason = "the shell reads clocks and waits"
)]

use super::Done;
use super::Failure;
use super::complain;
use super::interrupt::Interrupt;
use super::print;
use super::speaker::SpeakerJson;
use super::speaker::folder;
use crate::base::units::At;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::publish::json::pretty;
use crate::rehearse::ear::Ear;
use crate::rehearse::pace::Person;
use crate::rehearse::pace::lines::TEN;
use crate::rehearse::reading::COUNT;
use crate::rehearse::reading::ENOUGH;
use crate::rehearse::reading::Effect;
use crate::rehearse::reading::Event;
use crate::rehearse::reading::Reading;
use crate::sound::microphone;
use crate::sound::microphone::Microphone;
use crate::sound::microphone::MicrophoneError;
use crate::speakers::Speakers;
use clap::Args;
use crossterm::event;
use crossterm::event::KeyCode;
use crossterm::event::KeyModifiers;
use crossterm::terminal;
use std::io;
use std::io::IsTerminal;
use std::path::Path;
use std::thread;
use std::time::Duration;
use std::time::Instant;

/// How often is listened, and looked for keys. Nothing is timed by it: lengths come from the samples.
const TICK: Duration = Duration::from_millis(20);

/// The usual caution of whoever asks people to move, in our own words.
const CAUTION: &str = "Move only as you are used to, and stop at once for pain or faintness. The rules of \
                       your place, and whoever is licensed to advise you, come first.";

#[derive(Args)]
pub struct Options {
    /// The speaker's name: letters, digits, - and _. `me` is the one that rehearsals learn from.
    name: String,
    /// The microphone to listen to, by its id [default: the system's].
    #[arg(long, value_name = "DEVICE")]
    microphone: Option<String>,
    /// Read the lines a second time after a minute of moving: people speak slower out of breath,
    /// and plans then reckon with that. In a terminal it is asked for at the end.
    #[arg(long)]
    out_of_breath: bool,
    /// How long to move before that, in seconds.
    #[arg(long, value_name = "SECONDS", default_value_t = 60, value_parser = clap::value_parser!(u16).range(10..=600))]
    moving: u16,
    /// Keep the recording as NAME.wav beside the speaker's file; without it none is kept.
    #[arg(long)]
    keep: bool,
    /// Replace a speaker of that name, and a recording from then.
    #[arg(long)]
    overwrite: bool,
}

pub fn run(options: &Options, json: bool) -> Done {
    let speakers = folder()?;
    may_be_kept(&speakers, options)?;
    let interrupt = Interrupt::noted();
    let microphone = Microphone::open(microphone::Options {
        device: options.microphone.clone(),
        ..microphone::Options::default()
    });
    let microphone = microphone.map_err(|error| no_microphone(&error))?;
    let ear = Ear::new(microphone.rate());
    let ear = ear.map_err(|error| Failure::Device(error.to_string()))?;
    let mut screen = Screen::open();
    introduce(&screen, &speakers, options, microphone.device());
    let again = match (options.out_of_breath, screen.keys) {
        (true, _) => Some(true),
        (false, true) => None,
        (false, false) => Some(false),
    };
    let mut booth = Booth {
        microphone,
        ear,
        reading: Reading::new(again).moving_for(Millis::from_secs(options.moving.into())),
        samples: Vec::new(),
        heard: Frames::ZERO,
        last: None,
        idle: None,
        kept: options.keep.then(Vec::new),
    };
    let read = booth.read(&mut screen, &interrupt);
    drop(screen);
    if matches!(read, Err(Failure::Interrupted)) {
        complain("Nothing is kept.\n");
    }
    let moved = read?;
    keep(&speakers, &options.name, &booth)?;
    // As it was kept, in whole milliseconds: `speaker` says the same of it.
    let kept = speakers.load(&options.name).person;
    let person = kept.unwrap_or_else(|| booth.reading.person());
    if json {
        return print(&pretty(&SpeakerJson::of(options.name.clone(), &person)));
    }
    tell(&speakers, options, &person, moved)
}

fn may_be_kept(speakers: &Speakers, options: &Options) -> Done {
    let name = &options.name;
    let Some(file) = speakers.file(name) else {
        return Err(Failure::Usage(format!(
            "expected a name of letters, digits, - and _, found \"{name}\": choose another"
        )));
    };
    if !options.overwrite && file.exists() {
        return Err(Failure::File(format!(
            "there is a speaker called \"{name}\" already. Add --overwrite to hear {name} anew, or \
             choose another name"
        )));
    }
    Ok(())
}

fn no_microphone(error: &MicrophoneError) -> Failure {
    Failure::Device(format!(
        "{error}. Until a speaker is heard, `--speaker me` reckons with a usual pace"
    ))
}

/// Says what is going to happen, and what becomes of it.
fn introduce(screen: &Screen, speakers: &Speakers, options: &Options, device: &str) {
    let kept = match speakers.recording(&options.name) {
        Some(path) if options.keep => {
            format!("The recording is kept in {}", path.display())
        }
        _ => "What is recorded is not kept".to_owned(),
    };
    screen.line(&format!(
        "Listening to {device}. {kept}; no sound leaves this machine."
    ));
    screen.line(
        "Read each line aloud as you would say it in a class, in one go; the next one comes by itself.",
    );
    if screen.keys {
        screen.line("Keys: space or enter reads again; Ctrl-C ends, and nothing is kept.");
    }
    screen.line("Two seconds of silence first: the room is being measured.");
}

/// A microphone with a reader before it.
struct Booth {
    microphone: Microphone,
    ear: Ear,
    reading: Reading,
    samples: Vec<f32>,
    /// What the ear was told of: the clock of the reading.
    heard: Frames,
    /// When the last sample came.
    last: Option<Instant>,
    /// Since when nobody listens: a question waits for its answer, or the reader moves.
    idle: Option<Instant>,
    /// All that was heard, where it is to be kept: in memory, so that nothing is left of what breaks off.
    kept: Option<Vec<i16>>,
}

impl Booth {
    /// Has the lines read; returns whether they were read out of breath too.
    fn read(&mut self, screen: &mut Screen, interrupt: &Interrupt) -> Result<bool, Failure> {
        let mut moved = false;
        loop {
            let key = screen.key();
            if interrupt.asked() || key == Some(Press::End) {
                return Err(Failure::Interrupted);
            }
            let mut events = Vec::from_iter(key.and_then(Press::event));
            events.extend(self.listen()?);
            for event in events {
                for effect in self.reading.step(event) {
                    match effect {
                        Effect::Done => return Ok(moved),
                        Effect::TooFew => return Err(too_few()),
                        Effect::Unfit(health) => return Err(unheard(&health.to_string())),
                        Effect::Ask | Effect::Move => self.idle = Some(Instant::now()),
                        Effect::Listen => {
                            moved = true;
                            self.idle = None;
                            self.last = Some(Instant::now());
                        }
                        _ => {}
                    }
                    screen.show(effect);
                }
            }
        }
    }

    fn listen(&mut self) -> Result<Vec<Event>, Failure> {
        self.samples.clear();
        let poll = self.microphone.poll(&mut self.samples);
        if let Some(reason) = poll.gone {
            return Err(unheard(&reason));
        }
        if let Some(since) = self.idle {
            return Ok(vec![Event::Moving(millis(since.elapsed()))]);
        }
        if !self.samples.is_empty() {
            self.last = Some(Instant::now());
        }
        let mut spans = self.ear.push(&self.samples);
        spans.extend(self.ear.lost(poll.lost));
        if let Some(kept) = &mut self.kept {
            kept.extend(self.samples.iter().copied().map(sixteen_bits));
            kept.resize(kept.len() + poll.lost.count() as usize, 0);
        }
        self.heard = self.heard + Frames::new(self.samples.len() as u64) + poll.lost;
        let at = At::START + self.heard.millis(self.microphone.rate());
        let since = self.last.map_or(Duration::ZERO, |last| last.elapsed());
        let mut events: Vec<_> = spans.into_iter().map(Event::Spoke).collect();
        events.push(Event::Clock {
            at,
            speaking: self.ear.speaking(),
            health: self.ear.health(at + millis(since)),
        });
        Ok(events)
    }
}

fn sixteen_bits(sample: f32) -> i16 {
    (sample * 32_767.0).round() as i16
}

fn millis(time: Duration) -> Millis {
    Millis::from_ms(i64::try_from(time.as_millis()).unwrap_or(i64::MAX))
}

fn unheard(why: &str) -> Failure {
    let stop = if why.ends_with('?') { "" } else { "." };
    Failure::Device(format!("{why}{stop} Nothing is kept"))
}

fn too_few() -> Failure {
    Failure::Voice(format!(
        "expected at least {ENOUGH} lines that were read well, found too many that were not: read in \
         a quieter place, near the microphone, nothing but the line. Nothing is kept"
    ))
}

/// Keeps the person, and the recording if it is wanted; one from before goes with the person that it was of.
fn keep(speakers: &Speakers, name: &str, booth: &Booth) -> Done {
    let rate = booth.microphone.rate();
    if let Some(kept) = &booth.kept {
        let recorded = speakers.keep_recording(name, rate, kept);
        recorded.map_err(|error| unwritten(speakers.recording(name).as_deref(), &error))?;
    }
    let saved = speakers.save(name, &booth.reading.person());
    let failed = |error| unwritten(speakers.file(name).as_deref(), &error);
    if saved.is_err() || booth.kept.is_none() {
        let dropped = speakers.drop_recording(name);
        saved.and(dropped.map(|_| ())).map_err(failed)?;
    }
    Ok(())
}

fn unwritten(path: Option<&Path>, error: &io::Error) -> Failure {
    let path = path.unwrap_or(Path::new("the file"));
    Failure::File(format!("{} cannot be written: {error}", path.display()))
}

fn tell(speakers: &Speakers, options: &Options, person: &Person, moved: bool) -> Done {
    let name = &options.name;
    let spread = 100.0 * person.pace.spread;
    let mut text = format!(
        "{name}: {} words a minute, from {} of {COUNT} lines. Two of three lines are within {spread:.0} % of \
         what this tells.\n",
        person.words_a_minute(),
        person.lines,
    );
    if let Some(pace) = person.breathless {
        let breathless = Person {
            pace,
            ..Person::usual()
        };
        text += &format!(
            "Out of breath: {} words a minute, within {:.0} %.\n",
            breathless.words_a_minute(),
            100.0 * pace.spread
        );
    } else if moved {
        text += "Out of breath too few lines were read well: only the pace at rest is kept.\n";
    }
    let files = [
        speakers.file(name),
        speakers.recording(name).filter(|_| options.keep),
    ];
    let files = files.into_iter().flatten();
    let files: Vec<_> = files.map(|file| file.display().to_string()).collect();
    text += &format!(
        "Kept in {}. `sidevoice plan SESSION --speaker {name}` plans for it.\n",
        files.join(" and ")
    );
    print(&text)
}

/// The terminal, with its keys if there are any.
struct Screen {
    keys: bool,
    raw: bool,
}

/// A key that means something here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Press {
    Again,
    Yes,
    No,
    End,
}

impl Press {
    fn event(self) -> Option<Event> {
        match self {
            Press::Again => Some(Event::Again),
            Press::Yes => Some(Event::Answer(true)),
            Press::No => Some(Event::Answer(false)),
            Press::End => None,
        }
    }
}

impl Screen {
    fn open() -> Screen {
        let raw = io::stdin().is_terminal() && terminal::enable_raw_mode().is_ok();
        Screen { keys: raw, raw }
    }

    fn line(&self, text: &str) {
        complain(&format!("{text}{}", if self.raw { "\r\n" } else { "\n" }));
    }

    /// Waits for a key, for a tick at most.
    fn key(&mut self) -> Option<Press> {
        if !self.keys {
            thread::sleep(TICK);
            return None;
        }
        let read = match event::poll(TICK) {
            Ok(false) => return None,
            Ok(true) => event::read(),
            Err(error) => Err(error),
        };
        match read {
            Ok(read) => press(&read),
            // The terminal is gone; the reading goes on.
            Err(_) => {
                self.keys = false;
                None
            }
        }
    }

    fn show(&self, effect: Effect) {
        let line = |number: usize| format!("{} of {COUNT}: {}", number + 1, TEN[number]);
        match effect {
            Effect::Show(number) => self.line(&line(number)),
            Effect::ShowAgain(number, why) => {
                self.line(&format!("({why})"));
                self.line(&line(number));
            }
            Effect::LeaveOut(number) => self.line(&format!("(line {} is left out)", number + 1)),
            Effect::Ask => self.line(
                "Read them once more out of breath, after a minute of moving? People speak slower then. \
                 Keys: y or n.",
            ),
            Effect::Move => {
                self.line("Now move, so that you come out of breath as in a class; the lines come by themselves.");
                self.line(CAUTION);
                if self.keys {
                    self.line("Space or enter begins the reading before its time.");
                }
            }
            Effect::Left(left) => self.line(&format!("{:.0} seconds left.", left.secs())),
            Effect::Listen => self.line("Read at once, as you are:"),
            Effect::Done | Effect::TooFew | Effect::Unfit(_) => {}
        }
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        if self.raw {
            // A terminal that is gone needs no restoring.
            let _ = terminal::disable_raw_mode();
        }
    }
}

fn press(read: &event::Event) -> Option<Press> {
    let key = read.as_key_press_event()?;
    let control = key.modifiers.contains(KeyModifiers::CONTROL);
    match key.code {
        // In raw mode the terminal sends no signal for it.
        KeyCode::Char('c') if control => Some(Press::End),
        KeyCode::Char(' ') | KeyCode::Enter => Some(Press::Again),
        KeyCode::Char('y' | 'Y') => Some(Press::Yes),
        KeyCode::Char('n' | 'N') => Some(Press::No),
        _ => None,
    }
}
