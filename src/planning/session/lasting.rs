//! How long the works of a block last and the rests after them: what `work`, `reps`, `until` and
//! `every` come to for a movement, and where they come to nothing.

use super::Block;
use super::Lasts;
use super::Library;
use super::Movement;
use super::SessionText;
use super::SideChoice;
use super::Sides;
use super::Use;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::units::Millis;

/// What a work that goes on until a key counts for where its end is not known.
pub const NOMINAL_OPEN: Millis = Millis::from_secs(60);
/// The shortest repetition whose number can be spoken before the next one begins.
const LEAST_REPETITION: Millis = Millis::from_secs(2);
/// The shortest work with a change in the middle: each half holds its count.
const LEAST_IN_HALVES: Millis = Millis::from_secs(10);
/// The least rest where one is needed.
const LEAST_REST: Millis = Millis::from_secs(1);
/// After a work that ended by a key, time for a name and the count.
const USUAL_REST: Millis = Millis::from_secs(10);

/// Repetitions at a tempo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Repetitions {
    pub count: usize,
    pub each: Millis,
}

/// How long a work lasts, and what makes it so long.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WorkTime {
    pub length: Millis,
    pub repetitions: Option<Repetitions>,
    /// Whether it goes on until a key; then the length is [`NOMINAL_OPEN`].
    pub open: bool,
}

impl Use {
    /// Returns how long its works last in a round of its block, counted from 0.
    pub fn work_time(&self, block: &Block, movement: &Movement, round: usize) -> WorkTime {
        match self.lasts(block) {
            Lasts::For(times) => WorkTime {
                length: times.in_round(round),
                repetitions: None,
                open: false,
            },
            Lasts::Reps(reps) => {
                let each = movement.tempo.map_or(LEAST_REPETITION, |t| t.length());
                let count = reps.value;
                WorkTime {
                    length: Millis::from_ms(each.ms() * count as i64),
                    repetitions: Some(Repetitions { count, each }),
                    open: false,
                }
            }
            Lasts::UntilKey(_) => WorkTime {
                length: NOMINAL_OPEN,
                repetitions: None,
                open: true,
            },
        }
    }

    /// Returns the rest after one of its works, within a round.
    pub fn rest_time(&self, block: &Block, work: Millis, round: usize) -> Millis {
        match (&block.every, &self.rest) {
            (Some(every), _) => every.value - work,
            (None, Some(own)) => own.value,
            (None, None) => block.rest.in_round(round),
        }
    }

    fn lasts<'a>(&'a self, block: &'a Block) -> &'a Lasts {
        self.work.as_ref().unwrap_or(&block.work)
    }

    fn in_halves(&self) -> bool {
        let side = self.side.as_ref();
        side.is_some_and(|side| side.value == SideChoice::Halves)
    }
}

/// Returns the works that cannot be laid out as written, each with the least that would help.
pub(super) fn faults(text: &SessionText, library: &Library) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    for (index, block) in text.blocks.iter().enumerate() {
        let last_block = index + 1 == text.blocks.len();
        if block.stations {
            faults.extend(of_stations(block));
        }
        for (at, used) in block.uses.iter().enumerate() {
            let ends_round = at + 1 == block.uses.len();
            faults.extend(without_rest(block, used, ends_round, last_block));
            let Some(Some(movement)) = library.get(&used.movement.value) else {
                continue;
            };
            let of_tempo = without_tempo(block, used, movement);
            if of_tempo.is_none() {
                faults.extend(every_leaves_none(block, used, movement));
                faults.extend(no_halves(block, used, movement));
            }
            faults.extend(of_tempo);
            faults.extend(no_middle(block, used, movement));
        }
    }
    faults
}

fn without_tempo(block: &Block, used: &Use, movement: &Movement) -> Option<Diagnostic> {
    let Lasts::Reps(reps) = used.lasts(block) else {
        return None;
    };
    let file = format!("movements/{}.toml", movement.id);
    let Some(tempo) = movement.tempo else {
        let message = format!(
            "expected a tempo for the repetitions of {}, found none",
            movement.name
        );
        let fault = Diagnostic::error(Code::TempoMissing, used_place(used, reps.place), message);
        return Some(fault.help(format!(
            "add `tempo = \"2-0-1-0\"` in {file}, or give its work a time"
        )));
    };
    (tempo.length() < LEAST_REPETITION).then(|| {
        let message = format!(
            "expected a repetition of at least {LEAST_REPETITION}, so that its number can be spoken, found {} of {}",
            tempo.length(),
            movement.name
        );
        let fault = Diagnostic::error(Code::TempoTooQuick, used_place(used, reps.place), message);
        fault.help(format!("make the tempo \"1-0-1-0\" or slower in {file}"))
    })
}

/// Where one use is at fault for what its whole block says, the use is shown.
fn used_place(used: &Use, written: Place) -> Place {
    match used.work {
        Some(_) => written,
        None => used.place,
    }
}

fn every_leaves_none(block: &Block, used: &Use, movement: &Movement) -> Option<Diagnostic> {
    let every = block.every.as_ref()?;
    if let Lasts::UntilKey(place) = used.lasts(block) {
        let message = "expected `every` or `until`, found both";
        let fault = Diagnostic::error(Code::LengthTwice, *place, message);
        return Some(fault.help("take `every` out and give a `rest`: nobody knows when it ends"));
    }
    if let Some(rest) = &used.rest {
        let message = "expected `every` or `rest`, found both";
        let fault = Diagnostic::error(Code::RestTwice, rest.place, message);
        return Some(fault.help("take `rest` out: with `every`, the rest is what the work leaves"));
    }
    let times = (0..block.rounds).map(|round| used.work_time(block, movement, round));
    let longest = times.max_by_key(|t| t.length)?;
    let most = every.value - LEAST_REST;
    (longest.length > most).then(|| {
        let message = format!(
            "expected a rest after {}: the work takes {}, and the next begins every {}",
            movement.name, longest.length, every.value
        );
        let fault = Diagnostic::error(Code::EveryWithoutRest, every.place, message);
        let longer = (longest.length + LEAST_REST).ceil_secs();
        fault.help(match longest.repetitions {
            Some(reps) if most.ms() / reps.each.ms() > 0 => format!(
                "make `every` at least {longer}, or do at most {} repetitions",
                most.ms() / reps.each.ms()
            ),
            _ => format!("make `every` at least {longer}, or the work at most {most}"),
        })
    })
}

fn without_rest(
    block: &Block,
    used: &Use,
    ends_round: bool,
    last_block: bool,
) -> Option<Diagnostic> {
    let Lasts::UntilKey(place) = used.lasts(block) else {
        return None;
    };
    let rest_in = |round: usize| match &used.rest {
        Some(own) => own.value,
        None if ends_round => block.between_rounds.in_round(round),
        None => block.rest.in_round(round),
    };
    let ends_session =
        |round: usize| ends_round && round + 1 == block.rounds && !block.last_rest && last_block;
    let cut = |round: usize| ends_round && round + 1 == block.rounds && !block.last_rest;
    let lacks = (0..block.rounds)
        .filter(|round| !ends_session(*round))
        .any(|round| cut(round) || rest_in(round) < LEAST_REST);
    (lacks && block.every.is_none()).then(|| {
        let message = "expected a rest after a work that goes on until a key, found none";
        let fault = Diagnostic::error(Code::OpenWithoutRest, *place, message);
        let help = if ends_round && !block.last_rest && !last_block {
            format!("set `last_rest = true` and a rest of at least {USUAL_REST}: what comes next is said in it")
        } else {
            format!("give it `rest = \"{USUAL_REST}\"`: what comes next is said in it")
        };
        fault.help(help)
    })
}

fn no_halves(block: &Block, used: &Use, movement: &Movement) -> Option<Diagnostic> {
    let side = used.side.as_ref().filter(|_| used.in_halves())?;
    if movement.sides != Sides::Each {
        return None;
    }
    let fault = |message: String, help: String| {
        Some(Diagnostic::error(Code::HalvesInvalid, side.place, message).help(help))
    };
    let times = (0..block.rounds).map(|round| used.work_time(block, movement, round));
    let shortest = times.min_by_key(|t| t.length)?;
    if shortest.open {
        return fault(
            "expected a work whose middle is known, found one until a key".to_owned(),
            "use \"each\": one work a side".to_owned(),
        );
    }
    if let Some(reps) = shortest.repetitions
        && reps.count % 2 == 1
    {
        return fault(
            format!(
                "expected an even number of repetitions for two halves, found {}",
                reps.count
            ),
            format!("make it {} or {}", reps.count - 1, reps.count + 1),
        );
    }
    if shortest.length < LEAST_IN_HALVES {
        return fault(
            format!(
                "expected a work of at least {LEAST_IN_HALVES} for two halves, found {}",
                shortest.length
            ),
            format!("make it {LEAST_IN_HALVES}, or use \"each\": one work a side"),
        );
    }
    None
}

/// On a station a one-sided movement changes sides in the middle of the work.
fn no_middle(block: &Block, used: &Use, movement: &Movement) -> Option<Diagnostic> {
    if !block.stations || movement.sides != Sides::Each {
        return None;
    }
    let times = (0..block.rounds).map(|round| used.work_time(block, movement, round));
    let time = times.min_by_key(|t| t.length)?;
    let fault = |message: String, help: String| {
        Some(Diagnostic::error(Code::StationsInvalid, used.place, message).help(help))
    };
    if time.open {
        return fault(
            format!(
                "expected a work whose middle is known, for the change of sides of {}, found one until a key",
                movement.name
            ),
            "give `work` a time, or take a movement without sides".to_owned(),
        );
    }
    if time.length < LEAST_IN_HALVES {
        return fault(
            format!(
                "expected a work of at least {LEAST_IN_HALVES}, for the change of sides of {}, found {}",
                movement.name, time.length
            ),
            format!("make it {LEAST_IN_HALVES}, or take a movement without sides"),
        );
    }
    None
}

fn of_stations(block: &Block) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut tell = |place: Place, message: &str, help: &str| {
        faults.push(Diagnostic::error(Code::StationsInvalid, place, message).help(help));
    };
    if block.uses.len() < 2 {
        tell(
            block.place,
            "expected at least two movements on stations, found one",
            "take `stations` out, or add a station",
        );
    }
    if let Lasts::Reps(reps) = &block.work {
        tell(
            reps.place,
            "expected a time for works on stations, found repetitions",
            "give `work` a time: all stations change together",
        );
    }
    for used in &block.uses {
        if let Some(side) = &used.side
            && matches!(side.value, SideChoice::Only(_))
        {
            tell(
                side.place,
                "expected no side alone on a station: sides change in the middle of the work",
                "take `side` out",
            );
        }
        if used.talk.is_some() {
            tell(
                used.place,
                "expected no `talk` of its own for a station: each work speaks to several of them",
                "take `talk` out of the use; that of the session holds",
            );
        }
        if used.work.is_some() || used.rest.is_some() {
            tell(
                used.place,
                "expected no times of its own for a station: all change together",
                "take `work`, `reps`, `until` and `rest` out of this movement",
            );
        }
    }
    faults
}
