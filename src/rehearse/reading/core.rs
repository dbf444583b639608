//! The reading itself.

use super::COUNT;
use super::ENOUGH;
use super::Effect;
use super::Event;
use super::Lengths;
use super::Why;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::base::wording::Language;
use crate::rehearse::ear::Health;
use crate::rehearse::ear::Span;
use crate::rehearse::pace::Pace;
use crate::rehearse::pace::Person;
use crate::rehearse::pace::lines::TEN;

/// What is further apart is not one line: above what a coach takes for a breath inside a line (common practice:
/// 200 to 600 ms).
const APART: Millis = Millis::from_ms(700);
/// Silence of this length ends a line: [`APART`], and as long as the ear takes to notice a voice.
const OVER: Millis = Millis::from_ms(900);
/// Silence ends a line later while less was said than [`MOST_OF_IT`]: a breath between its sentences.
const UNFINISHED: Millis = Millis::from_ms(1700);
/// Of a line at a usual pace: what reads faster than that is as good as over.
const MOST_OF_IT: f64 = 0.75;
/// Nobody reads so much faster or slower than usual: what is shorter was a cough, what is longer held more than
/// the line.
const FACTOR: i64 = 3;
/// Nobody has read a line so soon after it was shown: seeing it alone takes 200 ms (common practice).
const SEEN: Millis = Millis::from_ms(150);
/// Nobody waits so long before a line that is to be read.
const SILENCE: Millis = Millis::from_secs(15);
/// How often a line is asked for again.
const TIMES: u8 = 3;
/// So long an input may be bad: one door that slams is made up for by what is read next.
const BEARABLE: Millis = Millis::from_secs(3);
/// How long whoever reads moves, and what of it is told to be left.
const MINUTE: Millis = Millis::from_secs(60);
const TOLD: [Millis; 2] = [Millis::from_secs(30), Millis::from_secs(10)];

/// A reading of ten lines.
#[derive(Debug)]
pub struct Reading {
    /// How long the reader moves before the second reading.
    moving: Millis,
    /// Whether it is read again out of breath: `None` where that is asked.
    again: Option<bool>,
    state: State,
    rested: Lengths,
    moved: Option<Lengths>,
    /// The instant of the stream.
    now: At,
    speaking: bool,
    /// Since when the input is bad.
    bad: Option<At>,
}

#[derive(Debug)]
enum State {
    /// The room is measured.
    Measuring,
    Line(Line),
    Asked,
    /// How often was told what is left.
    Moving(usize),
    Over,
}

/// A line that is being read.
#[derive(Debug)]
struct Line {
    number: usize,
    shown: At,
    said: Option<Span>,
    /// How often each line was asked for again.
    asked: [u8; COUNT],
    /// Whether the one before it has just been read.
    follows: bool,
}

impl Reading {
    /// Begins; `again` says whether it is read again out of breath, `None` asks at the end.
    pub fn new(again: Option<bool>) -> Reading {
        Reading {
            moving: MINUTE,
            again,
            state: State::Measuring,
            rested: [None; COUNT],
            moved: None,
            now: At::START,
            speaking: false,
            bad: None,
        }
    }

    /// Has the reader move for another time than a minute before the second reading.
    #[must_use]
    pub fn moving_for(self, moving: Millis) -> Reading {
        Reading { moving, ..self }
    }

    /// Takes in what happens and returns what is to be done.
    pub fn step(&mut self, event: Event) -> Vec<Effect> {
        match event {
            Event::Spoke(span) => self.spoke(span),
            Event::Clock {
                at,
                speaking,
                health,
            } => {
                self.now = at;
                self.speaking = speaking;
                self.clock(health)
            }
            Event::Again => self.again(),
            Event::Answer(yes) => match (&self.state, yes) {
                (State::Asked, true) => self.begin_to_move(),
                (State::Asked, false) => self.end(Effect::Done),
                _ => Vec::new(),
            },
            Event::Moving(since) => self.moving(since),
        }
    }

    /// Returns what was learnt, once it is done; a second reading with too few lines counts for nothing.
    pub fn person(&self) -> Person {
        let moved = self.moved.filter(|moved| good(moved) >= ENOUGH);
        Person::from_lines(&self.rested, moved.as_ref())
    }

    fn clock(&mut self, health: Health) -> Vec<Effect> {
        if matches!(self.state, State::Asked | State::Moving(_) | State::Over) {
            return Vec::new();
        }
        if self.is_unfit(health) {
            return self.end(Effect::Unfit(health));
        }
        let now = self.now;
        let speaking = self.speaking;
        let line = match &mut self.state {
            State::Measuring if health == Health::Measuring => return Vec::new(),
            State::Measuring => return self.show(0, [0; COUNT], false),
            State::Line(line) => line,
            _ => return Vec::new(),
        };
        let Some(said) = line.said else {
            return match now - line.shown >= SILENCE && !speaking {
                true => self.ask_again(Why::Silence(health)),
                false => Vec::new(),
            };
        };
        let length = said.length();
        let expected = expected(line.number);
        if speaking || now - said.to < patience(length, expected) {
            return Vec::new();
        }
        if length * FACTOR < expected {
            self.ask_again(Why::TooShort(length))
        } else if length > expected * FACTOR {
            self.ask_again(Why::TooLong(length))
        } else if health != Health::Good {
            self.ask_again(Why::Unfit(health))
        } else {
            let (number, asked) = (line.number, line.asked);
            self.lengths()[number] = Some(length);
            self.next(number, asked, true)
        }
    }

    fn spoke(&mut self, span: Span) -> Vec<Effect> {
        let State::Line(line) = &mut self.state else {
            return Vec::new();
        };
        if span.from >= line.shown + SEEN {
            let from = match line.said {
                // A cough, and the line after it.
                Some(said)
                    if said.length() * FACTOR < expected(line.number)
                        && span.from - said.to >= APART =>
                {
                    span.from
                }
                Some(said) => said.from,
                None => span.from,
            };
            line.said = Some(Span { from, to: span.to });
            return Vec::new();
        }
        // It belongs to the line before, which was measured too short.
        let before = match line.follows {
            true => line.number.checked_sub(1),
            false => None,
        };
        match before {
            Some(before) => {
                line.number = before;
                self.ask_again(Why::WentOn)
            }
            None => Vec::new(),
        }
    }

    fn again(&mut self) -> Vec<Effect> {
        let speaking = self.speaking;
        let line = match &mut self.state {
            State::Moving(_) => return self.listen(),
            State::Line(line) => line,
            _ => return Vec::new(),
        };
        // Nothing was said of this one: it is the one before that went wrong.
        if line.said.is_none() && !speaking && line.number > 0 {
            line.number -= 1;
        }
        let (number, asked) = (line.number, line.asked);
        self.lengths()[number] = None;
        let mut effects = self.show(number, asked, false);
        effects[0] = Effect::ShowAgain(number, Why::Asked);
        effects
    }

    fn moving(&mut self, since: Millis) -> Vec<Effect> {
        let moving = self.moving;
        let State::Moving(told) = &mut self.state else {
            return Vec::new();
        };
        if since >= moving {
            return self.listen();
        }
        match TOLD.get(*told) {
            Some(left) if *left >= moving => {
                *told += 1;
                Vec::new()
            }
            Some(left) if moving - since <= *left => {
                *told += 1;
                vec![Effect::Left(*left)]
            }
            _ => Vec::new(),
        }
    }

    /// Returns whether the input cannot be read by: at once where nothing comes, else when it lasts.
    fn is_unfit(&mut self, health: Health) -> bool {
        match health {
            Health::Stopped { .. } | Health::Muted { .. } => true,
            Health::Clipped { .. } | Health::TooLoud { .. } => {
                let since = *self.bad.get_or_insert(self.now);
                self.now - since >= BEARABLE
            }
            Health::Good | Health::Measuring | Health::Quiet { .. } => {
                self.bad = None;
                false
            }
        }
    }

    fn ask_again(&mut self, why: Why) -> Vec<Effect> {
        let State::Line(line) = &mut self.state else {
            return Vec::new();
        };
        let number = line.number;
        line.asked[number] = line.asked[number].saturating_add(1);
        let asked = line.asked;
        self.lengths()[number] = None;
        if asked[number] > TIMES {
            let mut effects = vec![Effect::LeaveOut(number)];
            effects.extend(self.next(number, asked, false));
            return effects;
        }
        let mut effects = self.show(number, asked, false);
        effects[0] = Effect::ShowAgain(number, why);
        effects
    }

    /// Goes on after a line.
    fn next(&mut self, number: usize, asked: [u8; COUNT], follows: bool) -> Vec<Effect> {
        let left = COUNT - number - 1;
        let is_enough = good(self.lengths()) + left >= ENOUGH;
        if left > 0 && is_enough {
            return self.show(number + 1, asked, follows);
        }
        match (self.moved.is_some(), is_enough, self.again) {
            (true, _, _) | (false, true, Some(false)) => self.end(Effect::Done),
            (false, false, _) => self.end(Effect::TooFew),
            (false, true, Some(true)) => self.begin_to_move(),
            (false, true, None) => {
                self.state = State::Asked;
                vec![Effect::Ask]
            }
        }
    }

    fn show(&mut self, number: usize, asked: [u8; COUNT], follows: bool) -> Vec<Effect> {
        self.state = State::Line(Line {
            number,
            shown: self.now,
            said: None,
            asked,
            follows,
        });
        vec![Effect::Show(number)]
    }

    fn begin_to_move(&mut self) -> Vec<Effect> {
        self.state = State::Moving(0);
        vec![Effect::Move]
    }

    fn listen(&mut self) -> Vec<Effect> {
        self.moved = Some([None; COUNT]);
        self.bad = None;
        let mut effects = vec![Effect::Listen];
        effects.extend(self.show(0, [0; COUNT], false));
        effects
    }

    fn end(&mut self, effect: Effect) -> Vec<Effect> {
        self.state = State::Over;
        vec![effect]
    }

    /// Returns the lengths of the reading that goes on.
    pub(super) fn lengths(&mut self) -> &mut Lengths {
        self.moved.as_mut().unwrap_or(&mut self.rested)
    }
}

fn good(lengths: &Lengths) -> usize {
    lengths.iter().flatten().count()
}

/// Returns how long a line takes at a usual pace.
pub(super) fn expected(number: usize) -> Millis {
    Pace::USUAL.length(TEN[number], Language::English, Rate::NORMAL)
}

/// Returns how long a silence after so much of a line leaves it open.
fn patience(length: Millis, expected: Millis) -> Millis {
    let part = length.ms() as f64 / expected.ms() as f64;
    let cough = length * FACTOR < expected;
    match part < MOST_OF_IT && !cough {
        true => UNFINISHED,
        false => OVER,
    }
}
