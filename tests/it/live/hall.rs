//! A class played by hand: the real core and the real mixer, with clips of one loudness in place of a
//! voice, so that two at once are twice as loud. A second of it takes no time.

use super::tape::Tape;
use crate::common::starter;
use crate::common::tabled_plan;
use rtrb::Producer;
use rtrb::RingBuffer;
use sidevoice::base::units::At;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Millis;
use sidevoice::base::units::SampleRate;
use sidevoice::base::wording::Wording;
use sidevoice::live::control::Action;
use sidevoice::live::control::Key;
use sidevoice::live::control::Mapping;
use sidevoice::live::control::Verb;
use sidevoice::live::core::Core;
use sidevoice::live::core::Effect;
use sidevoice::live::core::Event;
use sidevoice::live::core::State;
use sidevoice::live::core::Wishes;
use sidevoice::live::core::Words;
use sidevoice::live::history::Happening;
use sidevoice::live::history::Told;
use sidevoice::planning::plan::Sound;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::plan::counts;
use sidevoice::planning::session::Session;
use sidevoice::planning::timeline::Timeline;
use sidevoice::sound::mix::BedAim;
use sidevoice::sound::mix::BedBlock;
use sidevoice::sound::mix::CAPACITY;
use sidevoice::sound::mix::Clear;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Command;
use sidevoice::sound::mix::Desk;
use sidevoice::sound::mix::Mixer;
use sidevoice::sound::mix::Outcome;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::music::Bed;
use sidevoice::sound::music::Order;
use sidevoice::sound::music::Shelf;
use std::path::Path;
use std::sync::Arc;

/// A turn of the shell: 20 ms.
const TURN: usize = 960;
/// How loud each clip is.
pub const LOUD: f32 = 0.1;
/// What fades out may still be heard under what follows: 20 ms, and the turn in which it was told.
const FADE: usize = 2 * TURN;

pub struct Hall {
    pub core: Core<'static>,
    wording: &'static Wording,
    desk: Desk,
    mixer: Mixer,
    pub sounds: Vec<(u64, Sound)>,
    pub timeline: Timeline,
    mapping: Mapping,
    /// What was done, in words.
    pub log: Vec<String>,
    /// Frames rendered.
    heard: u64,
    said: u64,
    count_tone: Option<u64>,
    /// How many frames two were heard at once, the longest.
    doubled: usize,
    pub most_doubled: usize,
    pub over: bool,
    /// Positions of the session, to see whether it runs backwards.
    last: At,
    pub went_back: Vec<(At, At)>,
    jumps: bool,
    /// What the room heard, where that is kept.
    tape: Option<Tape>,
    bed: Option<Laid>,
}

/// A bed below the class.
struct Laid {
    bed: Bed,
    ring: Producer<BedBlock>,
    /// Whether nothing is made for it.
    starves: bool,
}

/// Blocks of the bed that lie ready.
const READY: usize = 300;

impl Hall {
    /// Plans the session and begins it.
    pub fn new(asks: bool) -> Self {
        Self::from(At::START, asks)
    }

    /// The same, just before the first sound from a place in the session on.
    pub fn from(place: At, asks: bool) -> Self {
        Self::of("boathouse-five", place, asks)
    }

    /// The same for any session of the starter folder.
    pub fn of(id: &str, place: At, asks: bool) -> Self {
        Self::with(id, place, asks, None)
    }

    /// Begins the class with a tape, and its record in a folder.
    pub fn taped(folder: &Path) -> Self {
        Self::with("boathouse-five", At::START, false, Some(folder))
    }

    fn with(id: &str, place: At, asks: bool, record: Option<&Path>) -> Self {
        let session: &'static Session = Box::leak(Box::new(starter(id)));
        let wording = Wording::of(session.text.language);
        let plan = tabled_plan(session);
        let sounds: Vec<_> = (0..).zip(plan.sounds).collect();
        let later = |(_, sound): &&(u64, Sound)| sound.onset >= place;
        let planned = sounds.iter().filter(later).cloned().collect();
        let (desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 1, CAPACITY);
        let core = Core::new(Words::new(session, wording), Wishes::default());
        let mut hall = Self {
            core: if asks { core.asking() } else { core },
            wording,
            desk,
            mixer,
            sounds,
            timeline: plan.timeline.clone(),
            mapping: Mapping::default(),
            log: Vec::new(),
            heard: 0,
            said: 1 << 60,
            count_tone: None,
            doubled: 0,
            most_doubled: 0,
            over: false,
            last: At::START,
            went_back: Vec::new(),
            jumps: false,
            tape: record.map(|folder| Tape::new(folder, session, &plan.timeline)),
            bed: None,
        };
        hall.tell(Event::Planned {
            sounds: planned,
            timeline: plan.timeline,
            begins: None,
        });
        hall.tell(Event::AllPlanned);
        hall
    }

    /// Returns the time since the beginning, as it passes for a listener.
    pub fn now(&self) -> Millis {
        Millis::from_ms((self.heard * 1000 / u64::from(SampleRate::OUTPUT.hz())) as i64)
    }

    /// Returns the place in the session.
    pub fn at(&self) -> At {
        self.mixer.position().at(SampleRate::OUTPUT)
    }

    /// Lets time pass.
    pub fn wait(&mut self, length: Millis) {
        let until = self.now() + length;
        while self.now() < until && !self.over {
            self.turn();
        }
    }

    /// Lets the session run to a place in it.
    pub fn run_to(&mut self, at: At) {
        while self.at() < at && !self.over {
            self.turn();
        }
    }

    /// Tells what a script says: `key:space`, `tell:rate 7`.
    pub fn input(&mut self, text: &str) {
        let verb = match text.split_once(':') {
            Some(("key", key)) => match &self.mapping.keys[&Key::parse(key).unwrap()] {
                Action::Tell(verb) => verb.clone(),
                other => panic!("{other:?} is no verb"),
            },
            Some(("tell", verb)) => Verb::parse(verb).unwrap(),
            _ => panic!("{text}?"),
        };
        let before = self.log.len();
        self.tell(Event::Verb(verb));
        let done = self.log.split_off(before).join(", ");
        let done = if done.is_empty() { "nothing" } else { &done };
        self.log.push(format!("{text} -> {done}"));
    }

    /// Lays music below the class.
    pub fn lay(&mut self, folder: &Path) {
        let (ring, blocks) = RingBuffer::new(READY);
        self.mixer.lay(blocks);
        self.bed = Some(Laid {
            bed: Bed::open(shelf(folder), None),
            ring,
            starves: false,
        });
    }

    /// Changes to music from another folder.
    pub fn change_to(&mut self, folder: &Path) {
        let laid = self.bed.as_mut().unwrap();
        laid.bed.switch(shelf(folder));
        while laid.bed.prepare() {}
    }

    /// Makes no music for a while, or again.
    pub fn starve(&mut self, starves: bool) {
        self.bed.as_mut().unwrap().starves = starves;
    }

    /// Tells the bed how loud it is to be, and when to play.
    pub fn aim(&mut self, aim: BedAim) {
        self.command("", Command::Bed(aim));
    }

    fn make_music(&mut self) {
        let Some(laid) = self.bed.as_mut().filter(|laid| !laid.starves) else {
            return;
        };
        while !laid.ring.is_full() {
            laid.ring.push(laid.bed.pull()).unwrap();
        }
        for begun in laid.bed.begun() {
            let what = Happening::Music(begun);
            self.tape.iter_mut().for_each(|it| it.hears(what.clone()));
        }
    }

    fn turn(&mut self) {
        self.make_music();
        let mut frames = [0.0; TURN];
        self.mixer.fill(&mut frames);
        self.heard += TURN as u64;
        if let Some(tape) = &mut self.tape {
            tape.room.extend(frames);
            while let Some(noted) = self.desk.noted() {
                tape.hears(Happening::moved(noted.what, noted.frame));
            }
        }
        for sample in frames {
            self.doubled = if sample > 1.5 * LOUD {
                self.doubled + 1
            } else {
                0
            };
            self.most_doubled = self.most_doubled.max(self.doubled);
        }
        let mut events = Vec::new();
        while let Some(done) = self.desk.finished() {
            if let Some(tape) = &mut self.tape {
                tape.is_done(&done);
            }
            match done.outcome {
                Outcome::Played if done.over => events.push(Event::SaidOver),
                Outcome::Cut(_) if !done.over => events.push(Event::Cut { id: done.clip.id }),
                _ => {}
            }
        }
        let status = self.desk.status();
        let at = status.position.at(SampleRate::OUTPUT);
        if at < self.last && !std::mem::take(&mut self.jumps) {
            self.went_back.push((self.last, at));
        }
        self.last = at;
        let clock = Event::Clock {
            at,
            settled: status.settled,
            heard: status.device.millis(SampleRate::OUTPUT),
        };
        events.insert(0, clock);
        for event in events {
            self.tell(event);
        }
    }

    /// Tells the core something and carries out what it decides.
    pub fn tell(&mut self, event: Event) {
        if event == Event::DeviceLost {
            self.mixer.device_lost();
        }
        let told = Told::from(&event);
        let effects = self.core.step(event);
        if let Some(tape) = &mut self.tape {
            tape.see(told, &effects, &self.timeline);
        }
        for effect in effects {
            self.carry_out(effect);
        }
    }

    /// What the room heard.
    pub fn tape(&mut self) -> &mut Tape {
        self.tape.as_mut().unwrap()
    }

    /// Loses the loudspeaker for so long.
    pub fn lose(&mut self, away: Millis) {
        self.tell(Event::DeviceLost);
        let tape = self.tape();
        tape.lost.push((tape.room.len(), away.ms()));
        self.tell(Event::DeviceBack { away });
    }

    /// Ends as the shell does: what sounds fades out.
    pub fn fade_out(&mut self) {
        assert!(self.over);
        self.command("", Command::Stop);
        // Longer than the music fades.
        for _ in 0..15 {
            self.turn();
        }
    }

    fn carry_out(&mut self, effect: Effect) {
        match effect {
            Effect::Play => self.command("play", Command::Play),
            Effect::Hold => self.command("hold", Command::Hold),
            Effect::Hush => {
                self.command("", Command::Hush);
                self.take_tone_back();
            }
            Effect::Jump(to) => {
                self.jumps = true;
                self.command(
                    &format!("go to {to}"),
                    Command::Jump(SampleRate::OUTPUT.frame_at(to)),
                );
            }
            Effect::Feed { id, onset } => self.feed(id, onset),
            Effect::Withdraw(id) => self.command("", Command::Clear(Clear::Id(id))),
            Effect::Say(message) => {
                let text = match message.wording() {
                    Some(id) => self.wording.say(id, &[]),
                    None => self.mapping.spoken(self.wording, false),
                };
                self.say(&text);
            }
            Effect::SayText(text) => self.say(&text),
            Effect::SayAgain(id) => {
                let text = self.sounds[id as usize].1.text.clone();
                self.say(&text);
            }
            Effect::CountIn { tone } => {
                self.log.push(format!(
                    "count in{}",
                    if tone { " with a tone" } else { "" }
                ));
                self.said += 1;
                let counts = counts(self.wording);
                let count = match &mut self.tape {
                    Some(tape) => tape.count_in(self.said, &counts),
                    None => samples(3000),
                };
                self.speak_over(count);
                self.take_tone_back();
                if tone {
                    self.said += 1;
                    self.count_tone = Some(self.said);
                    let (id, at) = (self.said, self.mixer.position());
                    let clip = match &mut self.tape {
                        Some(tape) => tape.start_tone(id, at),
                        None => Clip {
                            id,
                            at,
                            samples: samples(146),
                        },
                    };
                    self.desk.feed(clip).unwrap();
                }
                self.command("", Command::PlayWhenSaid);
            }
            Effect::Show(state) => self.log.push(format!("{state:?}")),
            Effect::End => {
                self.log.push("end".to_owned());
                self.over = true;
            }
            Effect::Volume(volume) => {
                let told = format!("volume {:+} dB", volume.db());
                match self.tape {
                    Some(_) => self.command(&told, Command::Volume(volume)),
                    None => self.log.push(told),
                }
            }
            Effect::Speed(speed) => self.log.push(format!("speed {speed}")),
            Effect::Talk(talk) => self.log.push(format!("talk {talk:+}")),
            Effect::Rate(felt) => self.log.push(format!("rated {felt:?}")),
            Effect::PlanFrom(work) => self.log.push(format!("plan from work {work}")),
            Effect::Respeak(lines) => self.log.push(format!("{} lines again", lines.len())),
            other => self.log.push(format!("{other:?}")),
        }
    }

    fn take_tone_back(&mut self) {
        if let Some(id) = self.count_tone.take() {
            self.command("", Command::Clear(Clear::Id(id)));
        }
    }

    fn command(&mut self, words: &str, command: Command) {
        if !words.is_empty() {
            self.log.push(words.to_owned());
        }
        self.desk.tell(command).unwrap();
    }

    fn feed(&mut self, id: u64, onset: At) {
        let sound = &self.sounds[id as usize].1;
        let segment = &self.timeline.segments[sound.segment];
        assert!(onset <= segment.end, "{} after its segment", sound.text);
        let mark = !matches!(sound.kind, SoundKind::Line { .. });
        assert!(
            !mark || onset == sound.onset,
            "{} moved to {onset}",
            sound.text
        );
        let lasts = (sound.end - sound.onset).ms();
        let at = SampleRate::OUTPUT.frame_at(onset);
        let clip = match &mut self.tape {
            Some(tape) => tape.clip(id, at, sound),
            None => Clip {
                id,
                at,
                samples: samples(lasts),
            },
        };
        self.desk.feed(clip).unwrap();
    }

    fn say(&mut self, text: &str) {
        self.log.push(format!("\"{text}\""));
        let ms = text.split([' ', '-']).count() as i64 * 385;
        self.said += 1;
        let said = match &mut self.tape {
            Some(tape) => tape.say(self.said, text, ms),
            None => samples(ms),
        };
        self.speak_over(said);
    }

    fn speak_over(&mut self, samples: Arc<[f32]>) {
        let clip = Clip {
            id: self.said,
            at: FrameAt::START,
            samples,
        };
        self.desk.speak_over(clip).unwrap();
    }

    /// Checks what holds whatever was told.
    pub fn check(&self, what: &str) {
        assert!(
            self.most_doubled <= FADE,
            "{what}: two at once for {} ms\n{:#?}",
            self.most_doubled / 48,
            self.log
        );
        assert!(
            self.went_back.is_empty(),
            "{what}: {:?}\n{:#?}",
            self.went_back,
            self.log
        );
        if self.core.state() == State::Running {
            assert!(self.at() <= self.timeline.end() + Millis::from_secs(1));
        }
    }
}

fn shelf(folder: &Path) -> Shelf {
    Shelf {
        folder: folder.to_owned(),
        order: Order::Named,
    }
}

fn samples(ms: i64) -> Arc<[f32]> {
    vec![LOUD; ms as usize * 48].into()
}
