//! Which pass comes next, and what the keys do: pure, as `step(Event) -> Vec<Effect>`.

use super::Help;
use super::Pass;
use super::Score;
use crate::base::units::At;
use crate::base::units::Millis;

/// What follows a passage is fed so long before it begins: a prompt may stand that early.
const AHEAD: Millis = Millis::from_secs(6);
/// After a passage that comes again, so long for its last tone.
const TAIL: Millis = Millis::from_ms(600);
/// Within this of its start, `back` goes to the passage before.
const AT_THE_START: Millis = Millis::from_secs(3);

/// What happens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// The clock of the rehearsal, once all commands are carried out.
    Clock(At),
    Told(Wish),
}

/// What a coach wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wish {
    Pause,
    /// From the start of the passage.
    GoOn,
    PauseOrGoOn,
    Next,
    /// To the start of the passage, and from there to the one before.
    Back,
    /// This passage again and again, or no more.
    Loop,
    /// This passage as it will be.
    Hear,
    MoreHelp,
    LessHelp,
    Where,
    Louder,
    Quieter,
    Keys,
    End,
}

/// What is to be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Effect {
    /// Drops what waits, moves the clock to the run-up of a pass, and plays it.
    Begin(Pass),
    /// Drops what waits, and feeds what a pass sounds after an instant.
    Instead(Pass, At),
    /// Feeds a pass that follows without a break.
    Follow(Pass),
    /// A pass has begun: what is spoken from here on belongs to it.
    Began(Pass),
    /// The pass that runs has another step of help from here on.
    Changed(Pass),
    Hold,
    Louder,
    Quieter,
    /// What is seen, and heard where nothing is seen.
    Help(Help),
    Loop(bool),
    Where(usize),
    Keys,
    End,
}

/// A rehearsal that runs.
#[derive(Debug)]
pub struct Practice {
    ends: Vec<(At, At)>,
    pass: Pass,
    help: Help,
    looped: bool,
    held: bool,
    /// Whether the next passage was fed already.
    fed: bool,
    at: At,
    over: bool,
}

impl Practice {
    /// Makes a rehearsal from a passage on; the effects begin it.
    pub fn new(score: &Score, from: usize, help: Help) -> (Practice, Vec<Effect>) {
        let ends = score.passages.iter().map(|p| (p.start, p.end)).collect();
        let mut practice = Practice {
            ends,
            pass: Pass::first(from, help),
            help,
            looped: false,
            held: false,
            fed: false,
            at: At::START,
            over: false,
        };
        let effects = practice.begin(Pass::first(from, help));
        (practice, effects)
    }

    /// Returns the pass that runs.
    pub fn pass(&self) -> Pass {
        self.pass
    }

    /// Takes an event in.
    pub fn step(&mut self, event: Event) -> Vec<Effect> {
        if self.over {
            return Vec::new();
        }
        match event {
            Event::Clock(at) => self.clock(at),
            Event::Told(wish) => self.told(wish),
        }
    }

    fn clock(&mut self, at: At) -> Vec<Effect> {
        self.at = at;
        if self.held {
            return Vec::new();
        }
        let (_, end) = self.ends[self.pass.passage];
        match self.next() {
            Next::Again(pass) if at >= end + TAIL => self.begin(pass),
            Next::End if at >= end + TAIL => self.end(),
            Next::Follows(pass) if at >= end => {
                let fed = std::mem::take(&mut self.fed);
                self.pass = pass;
                match fed {
                    true => vec![Effect::Began(pass)],
                    false => vec![Effect::Follow(pass), Effect::Began(pass)],
                }
            }
            Next::Follows(pass) if at >= end - AHEAD && !self.fed => {
                self.fed = true;
                vec![Effect::Follow(pass)]
            }
            _ => Vec::new(),
        }
    }

    /// What comes after the pass that runs.
    fn next(&self) -> Next {
        let Pass { passage, shown, .. } = self.pass;
        let own = Pass {
            shown: false,
            ..self.pass
        };
        let last = passage + 1 == self.ends.len();
        match (shown || self.looped, last, self.help) {
            (true, _, _) => Next::Again(Pass {
                help: self.help,
                ..own
            }),
            (false, true, _) => Next::End,
            (false, false, Help::Whole) => Next::Again(Pass::first(passage + 1, self.help)),
            (false, false, _) => Next::Follows(Pass::first(passage + 1, self.help)),
        }
    }

    fn begin(&mut self, pass: Pass) -> Vec<Effect> {
        self.pass = pass;
        self.fed = false;
        self.held = false;
        vec![Effect::Begin(pass), Effect::Began(pass)]
    }

    fn end(&mut self) -> Vec<Effect> {
        self.over = true;
        vec![Effect::End]
    }

    fn told(&mut self, wish: Wish) -> Vec<Effect> {
        let here = self.pass.passage;
        let (start, _) = self.ends[here];
        match wish {
            Wish::GoOn | Wish::PauseOrGoOn if self.held => self.begin(self.pass),
            Wish::GoOn => Vec::new(),
            Wish::Pause if self.held => Vec::new(),
            Wish::Pause | Wish::PauseOrGoOn => {
                self.held = true;
                vec![Effect::Hold]
            }
            Wish::Next if here + 1 == self.ends.len() => self.end(),
            Wish::Next => self.begin(Pass::first(here + 1, self.help)),
            Wish::Back => {
                let near = self.at < start + AT_THE_START;
                let to = if near { here.saturating_sub(1) } else { here };
                self.begin(Pass::first(to, self.help))
            }
            Wish::Hear => self.begin(Pass {
                shown: true,
                ..self.pass
            }),
            Wish::Loop => {
                self.looped = !self.looped;
                let mut effects = vec![Effect::Loop(self.looped)];
                // What was fed of the next passage is not to be heard.
                if self.looped && std::mem::take(&mut self.fed) {
                    effects.push(Effect::Instead(self.pass, self.at));
                }
                effects
            }
            Wish::MoreHelp => self.help(self.help.more()),
            Wish::LessHelp => self.help(self.help.less()),
            Wish::Where => vec![Effect::Where(here)],
            Wish::Louder => vec![Effect::Louder],
            Wish::Quieter => vec![Effect::Quieter],
            Wish::Keys => vec![Effect::Keys],
            Wish::End => self.end(),
        }
    }

    /// Another step of help from here on; a passage is heard whole from the next one on.
    fn help(&mut self, help: Help) -> Vec<Effect> {
        self.help = help;
        let mut effects = vec![Effect::Help(help)];
        if help != Help::Whole {
            self.pass = Pass {
                help,
                shown: false,
                ..self.pass
            };
            effects.push(Effect::Changed(self.pass));
        }
        if help != Help::Whole && !self.held {
            self.fed = false;
            effects.push(Effect::Instead(self.pass, self.at));
        }
        effects
    }
}

enum Next {
    /// After the tail, from its run-up.
    Again(Pass),
    /// Without a break.
    Follows(Pass),
    End,
}
