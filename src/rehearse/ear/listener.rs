//! Frame by frame: judges what is heard by the room, and asks where speech is.

use super::Health;
use super::Span;
use super::floor::CAP;
use super::floor::Floor;
use super::floor::NO_VOICE;
use super::floor::SOUNDS;
use super::frames::Frame;
use super::frames::Frames;
use super::frames::HOP;
use super::frames::frames;
use super::frames::instant;
use super::health::Gauge;
use super::masks::Masks;
use super::spans::ECHO;
use super::spans::Judged;
use super::spans::Spans;
use crate::base::units::At;
use crate::base::units::Millis;

/// How long the room is measured at first: what a coach waits for before she speaks anyway.
const FIRST: Millis = Millis::from_secs(2);

/// How many frames one is judged with, itself in the middle: 40 ms, the length of a short sound of speech. Noise
/// then stands out a third as often.
const TOGETHER: usize = 5;

/// What listens to frames of 16 kHz.
pub(super) struct Listener {
    pub gauge: Gauge,
    pub masks: Masks,
    frames: Frames,
    /// The first frames, until the room is measured.
    first: Vec<Frame>,
    floor: Option<Floor>,
    /// The number of the next frame to judge.
    next: u64,
    together: [Judged; TOGETHER],
    spans: Spans,
}

impl Listener {
    pub fn new(gauge: Gauge) -> Self {
        Listener {
            gauge,
            masks: Masks::default(),
            frames: Frames::new(),
            first: Vec::with_capacity(frames(FIRST)),
            floor: None,
            next: 0,
            together: [Judged::default(); TOGETHER],
            spans: Spans::new(),
        }
    }

    /// Takes in the next 8 ms.
    pub fn hear(&mut self, samples: &[f32; HOP], found: &mut Vec<Span>) {
        let frame = self.frames.next(samples);
        if self.floor.is_some() {
            found.extend(self.judge(&frame));
            return;
        }
        self.first.push(frame);
        if self.first.len() == frames(FIRST) {
            self.measure(found);
        }
    }

    /// Ends what is open, also where the room could not be measured for as long as it should be.
    pub fn finish(&mut self, found: &mut Vec<Span>) {
        if self.floor.is_none() {
            self.measure(found);
        }
        // Those that waited for the ones after them.
        let silence = Judged::default();
        for _ in 0..TOGETHER / 2 {
            found.extend(self.advance(silence));
        }
        found.extend(self.spans.close().and_then(|over| self.tell(over)));
    }

    pub fn speaking(&self) -> bool {
        self.spans.open().is_some()
    }

    pub fn health(&self, now: At) -> Health {
        let noise = self.floor.as_ref().map(Floor::power);
        self.gauge.health(now, noise, self.spans.open())
    }

    fn measure(&mut self, found: &mut Vec<Span>) {
        let first = std::mem::take(&mut self.first);
        self.floor = Some(Floor::measured(&mut first.clone()));
        for frame in &first {
            found.extend(self.judge(frame));
        }
    }

    fn judge(&mut self, frame: &Frame) -> Option<Span> {
        let at = instant(self.next);
        self.next += 1;
        let masked = self.masks.over(at);
        let echo = self.masks.end().is_some_and(|end| at < end + ECHO);
        let floor = self.floor.as_mut()?;
        let judged = Judged {
            power: frame.power(),
            excess: if masked { 0.0 } else { floor.excess(frame) },
            voice: frame.voice,
            masked,
        };
        let free = self.spans.open().is_none() && frame.voice < NO_VOICE && !echo;
        if free {
            self.gauge.free(judged.excess >= SOUNDS);
            // A stream of nothing tells nothing of the room.
            if judged.power > 0.0 {
                floor.follow(frame);
            }
        }
        self.advance(judged)
    }

    /// Judges the frame in the middle with those around it.
    fn advance(&mut self, newest: Judged) -> Option<Span> {
        self.together.rotate_left(1);
        self.together[TOGETHER - 1] = newest;
        let mut middle = self.together[TOGETHER / 2];
        let sum: f32 = self.together.iter().map(|it| it.excess.min(CAP)).sum();
        middle.excess = sum / TOGETHER as f32;
        // The first ones are only there to be looked ahead from.
        if self.next <= (TOGETHER / 2) as u64 {
            return None;
        }
        let over = self.spans.next(middle)?;
        self.tell(over)
    }

    fn tell(&mut self, (span, power): (Span, f32)) -> Option<Span> {
        let span = self.masks.cut(span)?;
        self.gauge.speech(span.length(), power);
        Some(span)
    }
}
