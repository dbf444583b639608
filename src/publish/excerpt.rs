//! A part of a class, from one place to another: what of a plan is heard in it, in a time that begins at zero.
//!
//! What would be cut in the middle is left out whole.

use crate::base::chapters;
use crate::base::chapters::Contents;
use crate::base::units::At;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::plan::Tone;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::planning::timeline::Work;

/// A part of a class, in the time of the whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Excerpt {
    pub from: At,
    pub to: At,
    /// Where its last work ends, before the end tone with which a block or a round ends.
    closes: At,
}

/// A place in a class as it is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    Time(At),
    /// Counted from 1, as people do; a round of it, if one is named.
    Block(usize, Option<usize>),
}

/// What is wrong with a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// What was expected, what was found.
    pub told: String,
    /// Whether it lies beyond the end: a class may yet get longer while it is planned.
    pub beyond: bool,
}

impl Fault {
    fn new(told: String) -> Self {
        let beyond = false;
        Self { told, beyond }
    }
}

impl Excerpt {
    /// Takes the whole of a plan.
    pub fn whole(plan: &Plan) -> Self {
        Self::of_time(At::START, plan.timeline.end())
    }

    fn of_time(from: At, to: At) -> Self {
        Self {
            from,
            to,
            closes: to,
        }
    }

    /// Takes what lies between two places: times of the class (`2:00`), blocks (`block 2`), rounds (`block 1 round 2`).
    /// A block or a round begins with the rest or the lead-in before its first work, and ends with the end tone of its
    /// last one.
    ///
    /// Before there is a plan, `sounds` may be missing.
    ///
    /// # Errors
    ///
    /// All that is wrong.
    pub fn between(
        timeline: &Timeline,
        sounds: &[Sound],
        from: Option<&str>,
        to: Option<&str>,
    ) -> Result<Self, Vec<Fault>> {
        let find = |option: &str, text: Option<&str>| {
            let Some(text) = text else {
                return Ok(Self::of_time(At::START, timeline.end()));
            };
            let found = Place::parse(text).and_then(|place| place.find(timeline, sounds));
            found.map_err(|fault| Fault {
                told: format!("{option} \"{text}\": {}", fault.told),
                ..fault
            })
        };
        match (find("--from", from), find("--to", to)) {
            (Ok(first), Ok(last)) if first.from < last.to => Ok(Self {
                from: first.from,
                ..last
            }),
            (Ok(first), Ok(last)) => Err(vec![Fault::new(format!(
                "expected --to to lie after --from, found that it ends at {} and begins at {}",
                last.to, first.from
            ))]),
            (first, last) => Err([first.err(), last.err()].into_iter().flatten().collect()),
        }
    }

    /// Tells whether a sound is heard in it, from its first audible instant to its last. An end tone belongs to the
    /// work that it ends.
    pub fn holds(&self, sound: &Sound) -> bool {
        let after = match sound.kind {
            SoundKind::Tone(Tone::End) => sound.onset > self.from,
            _ => sound.onset >= self.from,
        };
        after && sound.end <= self.to
    }

    /// Returns the sounds of a plan that are heard in it, in its own time.
    pub fn sounds(&self, plan: &Plan) -> Vec<Sound> {
        let held = plan.sounds.iter().filter(|sound| self.holds(sound));
        let moved = held.map(|sound| Sound {
            onset: self.moved(sound.onset),
            end: self.moved(sound.end),
            ..sound.clone()
        });
        moved.collect()
    }

    /// Returns what it holds of the contents of the whole, in its own time. The end tone belongs to the last chapter.
    pub fn contents(&self, whole: &Contents) -> Contents {
        let mut chapters = chapters::cut(&whole.chapters, self.from, self.closes);
        let (closes, to) = (self.moved(self.closes), self.moved(self.to));
        let mut last = chapters.last_mut();
        while let Some(chapter) = last.filter(|chapter| chapter.end == closes) {
            chapter.end = to;
            last = chapter.parts.last_mut();
        }
        Contents {
            title: whole.title.clone(),
            chapters,
        }
    }

    fn moved(&self, at: At) -> At {
        At::START + (at - self.from)
    }
}

impl Place {
    /// Reads a place.
    fn parse(text: &str) -> Result<Self, Fault> {
        let words: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let place = match words[..] {
            [time] => clock(time).map(Place::Time),
            ["block", block] => block.parse().ok().map(|block| Place::Block(block, None)),
            ["block", block, "round", round] => match (block.parse(), round.parse()) {
                (Ok(block), Ok(round)) => Some(Place::Block(block, Some(round))),
                _ => None,
            },
            _ => None,
        };
        place.ok_or_else(|| {
            let expected = "expected a time of the class such as 2:00 or 1:02:03.5, \"block 2\" or \
                            \"block 1 round 2\"";
            Fault::new(expected.to_owned())
        })
    }

    /// Finds it in a plan: from where it begins to where it ends.
    fn find(self, timeline: &Timeline, sounds: &[Sound]) -> Result<Excerpt, Fault> {
        let end = timeline.end();
        let (block, round) = match self {
            Place::Time(at) if at <= end => return Ok(Excerpt::of_time(at, at)),
            Place::Time(at) => {
                let told = format!("expected at most {end}, the end, found {at}");
                return Err(Fault { told, beyond: true });
            }
            Place::Block(block, round) => (block, round),
        };
        let works = || works(timeline);
        let blocks = works().map(|(_, work)| work.block + 1).max().unwrap_or(0);
        if !(1..=blocks).contains(&block) {
            return Err(Fault::new(expected("block", blocks, block)));
        }
        let in_block = || works().filter(move |(_, work)| work.block + 1 == block);
        let rounds = in_block().map(|(_, work)| work.round + 1).max();
        let rounds = rounds.unwrap_or(0);
        if let Some(round) = round.filter(|round| !(1..=rounds).contains(round)) {
            let told = expected("round", rounds, round);
            return Err(Fault::new(format!("{told} of block {block}")));
        }
        let meant = |work: &Work| round.is_none_or(|round| work.round + 1 == round);
        let mut of_it = in_block().filter(|(_, work)| meant(work));
        // A block has a work, and a round too: what is not there was told above.
        let first = of_it.next();
        let last = of_it.last().or(first);
        let (Some((first, _)), Some((last, _))) = (first, last) else {
            let told = format!("expected a work in block {block}, found none");
            return Err(Fault::new(told));
        };
        // With the rest, or the lead-in, before it: there it is named and counted in.
        let before = works().map(|(segment, _)| segment.end);
        let from = before.filter(|ended| *ended <= first.start).last();
        let tone = sounds
            .iter()
            .find(|sound| sound.kind == SoundKind::Tone(Tone::End) && sound.onset == last.end);
        Ok(Excerpt {
            from: from.unwrap_or(At::START),
            to: tone.map_or(last.end, |tone| tone.end.min(end)),
            closes: last.end,
        })
    }
}

/// Returns the works of a plan with their segments, in order.
fn works(timeline: &Timeline) -> impl Iterator<Item = (&Segment, &Work)> {
    let segments = timeline.segments.iter();
    let works = segments.filter(|segment| segment.kind == SegmentKind::Work);
    works.filter_map(|segment| Some((segment, timeline.works.get(segment.work?)?)))
}

fn expected(what: &str, most: usize, found: usize) -> String {
    match most {
        1 => format!("expected {what} 1, the only one, found {what} {found}"),
        _ => format!("expected {what} 1 to {most}, found {what} {found}"),
    }
}

/// Reads a time of the class: minutes and seconds, or hours too; seconds may have up to three decimals.
fn clock(text: &str) -> Option<At> {
    let whole = |part: &str| -> Option<i64> {
        let digits = !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
        digits.then(|| part.parse().ok()).flatten()
    };
    let (clock, decimals) = text.split_once('.').unwrap_or((text, "0"));
    let two_digits = clock.split(':').skip(1).all(|part| part.len() == 2);
    let parts: Option<Vec<i64>> = clock.split(':').map(whole).collect();
    let (minutes, seconds) = match parts?[..] {
        [minutes, seconds] => (minutes, seconds),
        [hours, minutes, seconds] if minutes < 60 => (hours.checked_mul(60)? + minutes, seconds),
        _ => return None,
    };
    let ms = match decimals.len() {
        1..=3 => whole(&format!("{decimals:0<3}"))?,
        _ => return None,
    };
    if seconds >= 60 || !two_digits {
        return None;
    }
    let seconds = minutes.checked_mul(60)?.checked_add(seconds)?;
    Some(At::from_ms(seconds.checked_mul(1000)?.checked_add(ms)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_as_a_clock_shows_them() {
        let ms = |text| clock(text).map(At::ms);
        assert_eq!(ms("2:00"), Some(120_000));
        assert_eq!(ms("84:05.5"), Some(84 * 60_000 + 5500));
        assert_eq!(ms("1:02:03.045"), Some(3_723_045));
        for odd in [
            "",
            "2",
            "2:60",
            "1:60:00",
            "-1:00",
            "2:00.",
            "2:00.1234",
            "1:2:3:4",
            "+1:00",
            "1:5",
        ] {
            assert_eq!(ms(odd), None, "{odd}");
        }
        assert_eq!(ms("9223372036854775807:00"), None);
        assert_eq!(ms("9223372036854775807:00:00"), None);
    }

    #[test]
    fn places_are_read_by_their_words() {
        assert_eq!(Place::parse(" Block 2 "), Ok(Place::Block(2, None)));
        assert_eq!(
            Place::parse("block 1 round 3"),
            Ok(Place::Block(1, Some(3)))
        );
        for odd in [
            "block",
            "block two",
            "round 1",
            "block 1 2",
            "block 1 round",
        ] {
            assert!(Place::parse(odd).is_err(), "{odd}");
        }
    }
}
