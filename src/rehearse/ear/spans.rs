//! Judged frames -> spans of speech: when somebody speaks, and where exactly that begins and ends.
//!
//! The network says that there is a voice, some frames late; how far a frame stands out from the room says
//! where its sound begins and ends.

use std::collections::VecDeque;

use super::Span;
use super::floor::SOUNDS;
use super::frames::frames;
use super::frames::instant;
use crate::base::units::Millis;

/// From here on the network is taken to hear a voice (its documentation).
const VOICE: f32 = 0.5;

/// Down to here somebody who speaks is taken to go on: in noise the network wavers within words.
const STILL: f32 = 0.35;

/// What lies so far below the speech (30 dB) is its echo or a breath: the softest sounds of speech lie some
/// 25 to 30 dB below its level (common practice).
const SOFT: f32 = 0.001;

/// Silence of this length ends a span: pauses between phrases are longer, those within words shorter (ITU-T
/// P.56 takes 200 ms as part of the speech).
const HANG: Millis = Millis::from_ms(300);

/// How far an edge may lie from where the network is sure: it takes some frames, and for soft consonants more.
const REACH: Millis = Millis::from_ms(320);

/// The longest silence before the last or after the first sound of a word: a stop consonant and its release
/// (80 to 150 ms are common).
const STOP: Millis = Millis::from_ms(180);

/// What the network hears for less is a knock.
const SHORTEST: Millis = Millis::from_ms(80);

/// What begins where a mask ends and is over within this is the echo of what was masked: furnished rooms ring
/// for 0.3 to 0.5 s (common practice), and most of that is lost in the room's noise.
pub(super) const ECHO: Millis = Millis::from_ms(300);

/// How many frames are kept: in them an end is looked for once its silence was long enough, and a
/// beginning once the level of the speech is known.
const KEPT: usize = frames(REACH) + frames(HANG) + 8;

/// A frame as it was judged.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Judged {
    /// The mean square of all bands.
    pub power: f32,
    /// How far it and its neighbours stand out; see [`super::floor::Floor::excess`].
    pub excess: f32,
    pub voice: f32,
    /// Whether something else sounded that must not be taken for a voice.
    pub masked: bool,
}

/// Finds spans in frames as they come. Its state does not grow.
pub(super) struct Spans {
    /// The number of the next frame.
    next: u64,
    /// The last frames, up to the next.
    last: VecDeque<Judged>,
    open: Option<Open>,
    /// The first frame that may belong to the next span: after the last one, after a mask.
    wall: u64,
    /// The first frame after the last mask.
    unmasked: u64,
}

/// Speech that is not over.
struct Open {
    from: u64,
    /// Whether `from` was looked for with the level of the speech.
    settled: bool,
    /// The first and the last frame with a voice, how many there are, and the sum of their powers.
    first: u64,
    until: u64,
    voiced: u32,
    power: f64,
}

impl Spans {
    pub fn new() -> Self {
        Spans {
            next: 0,
            last: VecDeque::with_capacity(KEPT),
            open: None,
            wall: 0,
            unmasked: 0,
        }
    }

    /// Returns for how long somebody speaks by now; none if nobody does.
    pub fn open(&self) -> Option<Millis> {
        let open = self.open.as_ref()?;
        Some(instant(self.next) - instant(open.first))
    }

    /// Takes in the next frame and returns the span that is over with it, and the mean square of its voice.
    pub fn next(&mut self, frame: Judged) -> Option<(Span, f32)> {
        // What belongs to a span is not looked for in a mask.
        let before = match frame.masked {
            true => self.close(),
            false => None,
        };
        if self.last.len() == KEPT {
            self.last.pop_front();
        }
        self.last.push_back(frame);
        let now = self.next;
        self.next += 1;
        if frame.masked {
            self.wall = self.next;
            self.unmasked = self.next;
            return before;
        }
        self.hear(now, frame);
        let open = self.open.as_mut()?;
        let waited = |since: u64| now - since >= frames(HANG) as u64;
        let (first, until, settled) = (open.first, open.until, open.settled);
        if waited(first) && !settled {
            self.settle();
        }
        if waited(until) && waited(self.end()?) {
            return self.close();
        }
        None
    }

    /// Ends the span that is open.
    pub fn close(&mut self) -> Option<(Span, f32)> {
        self.settle();
        let end = self.end()? + 1;
        let open = self.open.take()?;
        self.wall = end;
        let span = Span {
            from: instant(open.from),
            to: instant(end),
        };
        let echo = self.unmasked > 0 && open.from <= self.unmasked && span.length() < ECHO;
        let knock = (open.voiced as usize) < frames(SHORTEST);
        (!echo && !knock).then_some((span, open.level()))
    }

    /// Takes note of a voice.
    fn hear(&mut self, now: u64, frame: Judged) {
        let sure = if self.open.is_some() { STILL } else { VOICE };
        if frame.voice < sure || frame.excess < SOUNDS {
            return;
        }
        let open = self.open.get_or_insert(Open {
            from: now,
            settled: false,
            first: now,
            until: now,
            voiced: 0,
            power: 0.0,
        });
        open.until = now;
        open.voiced += 1;
        open.power += f64::from(frame.power);
    }

    /// Looks for the beginning, if that was not done yet.
    fn settle(&mut self) {
        let Some(open) = self.open.as_ref().filter(|it| !it.settled) else {
            return;
        };
        let from = self.edge(open.first, -1, open.level() * SOFT);
        if let Some(open) = &mut self.open {
            open.from = from;
            open.settled = true;
        }
    }

    /// Returns the last frame of what is open.
    fn end(&self) -> Option<u64> {
        let open = self.open.as_ref()?;
        Some(self.edge(open.until, 1, open.level() * SOFT))
    }

    /// Follows what sounds from a frame on, forwards (1) or backwards (-1), over the silence of stop
    /// consonants. Where the frame itself is silent it begins at the nearest that is not, on the other side.
    fn edge(&self, start: u64, way: i64, soft: f32) -> u64 {
        let sounds = |number: u64| {
            self.at(number)
                .is_some_and(|it| it.excess >= SOUNDS && it.power > soft)
        };
        let reach = frames(REACH) as i64;
        let step = |by: i64| start.saturating_add_signed(by * way);
        let inner = (0..reach).map(|by| step(-by)).find(|it| sounds(*it));
        let mut found = inner.unwrap_or(start);
        for at in (1..reach).map(step) {
            if at < self.wall || at.abs_diff(found) > frames(STOP) as u64 {
                break;
            }
            if sounds(at) {
                found = at;
            }
        }
        found
    }

    fn at(&self, number: u64) -> Option<&Judged> {
        let first = self.next - self.last.len() as u64;
        self.last.get(number.checked_sub(first)? as usize)
    }
}

impl Open {
    /// Returns the mean square of what has a voice.
    fn level(&self) -> f32 {
        (self.power / f64::from(self.voiced.max(1))) as f32
    }
}
