//! The microphone beside the clock of the rehearsal: spans of its stream -> spans of the passage that ran then.

use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::rehearse::ear::Ear;
use crate::rehearse::ear::Health;
use crate::rehearse::ear::Span;
use crate::rehearse::report::Spoke;
use crate::sound::microphone::Microphone;
use hound::SampleFormat;
use hound::WavSpec;
use hound::WavWriter;
use std::collections::VecDeque;
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;
use std::time::Duration;
use std::time::Instant;

/// What was rendered is heard so many buffers later: 40 ms with one of 960 frames (measured on a null sink).
const BUFFERS: u32 = 2;
/// A room answers a prompt for so long: common practice for a hall with hard walls is more, for a boathouse less.
const ECHO: Millis = Millis::from_ms(250);
const EARLY: Millis = Millis::from_ms(50);
/// Clock points are kept for so long: a line is at most so long ago when its end is told.
const KEPT: Duration = Duration::from_secs(120);

/// An open microphone, and the ear that listens to it.
pub struct Listening {
    microphone: Microphone,
    ear: Option<Ear>,
    /// Whether our own sounds are heard by it: not where only an earpiece plays them.
    masks: bool,
    /// What was rendered is heard so much later.
    out: Duration,
    points: VecDeque<Point>,
    samples: Vec<f32>,
    /// Where all that is heard is written, if that was asked for.
    keeps: Option<WavWriter<BufWriter<File>>>,
}

/// Where the clock stood at an instant.
#[derive(Clone, Copy)]
struct Point {
    now: Instant,
    at: At,
    /// The turn that ran; none while the clock was held.
    turn: Option<u32>,
}

/// What came of a look.
#[derive(Default)]
pub struct Look {
    /// Speech with the turn in which it was heard.
    pub spoke: Vec<(u32, Spoke)>,
    /// Why nothing is heard any more.
    pub gone: Option<String>,
}

impl Listening {
    /// Begins to listen: whether our own sounds are heard too, and how many frames a buffer of the loudspeaker
    /// has.
    ///
    /// # Errors
    ///
    /// Says why the microphone cannot be listened to.
    pub fn new(
        microphone: Microphone,
        (masks, buffer): (bool, u32),
        keep: Option<&Path>,
    ) -> Result<Listening, String> {
        let ear = Ear::new(microphone.rate()).map_err(|error| error.to_string())?;
        let spec = WavSpec {
            channels: 1,
            sample_rate: microphone.rate().hz(),
            bits_per_sample: 32,
            sample_format: SampleFormat::Float,
        };
        let file = keep.map(|path| WavWriter::create(path, spec)).transpose();
        Ok(Listening {
            keeps: file.map_err(|error| format!("what is heard cannot be kept: {error}"))?,
            microphone,
            ear: Some(ear),
            masks,
            out: Duration::from_secs(1) * BUFFERS * buffer / SampleRate::OUTPUT.hz(),
            points: VecDeque::new(),
            samples: Vec::new(),
        })
    }

    /// Says that a sound of ours is about to be heard, from an instant of the clock to another.
    pub fn mask(&mut self, (from, to): (At, At), (now, at): (Instant, At)) {
        let (Some(began), true) = (self.microphone.began(), self.masks) else {
            return;
        };
        let zero = began.at.checked_sub(began.latency).unwrap_or(began.at);
        let here =
            Millis::from_ms((now + self.out).saturating_duration_since(zero).as_millis() as i64);
        let stream = |then: At| At::START + here + (then - at);
        if let Some(ear) = &mut self.ear {
            ear.mask(stream(from) - EARLY, stream(to) + ECHO);
        }
    }

    /// Takes in what was captured since the last look, while the clock stands at an instant of a turn.
    pub fn look(&mut self, now: Instant, at: At, turn: Option<u32>) -> Look {
        self.points.push_back(Point { now, at, turn });
        while self.points.front().is_some_and(|p| now - p.now > KEPT) {
            self.points.pop_front();
        }
        self.samples.clear();
        let poll = self.microphone.poll(&mut self.samples);
        if let Some(file) = &mut self.keeps {
            // A disk that is full ends the file, not the rehearsal.
            // What was lost is silence, so that all after it keeps its place.
            let lost = (0..poll.lost.count()).map(|_| 0.0);
            let mut all = self.samples.iter().copied().chain(lost);
            let written = all.try_for_each(|s| file.write_sample(s));
            if let Err(error) = written {
                tracing::warn!(%error, "what is heard is not kept any more");
                self.keeps = None;
            }
        }
        let Some(ear) = &mut self.ear else {
            return Look::default();
        };
        let mut spans = ear.push(&self.samples);
        spans.extend(ear.lost(poll.lost));
        if poll.gone.is_some()
            && let Some(ear) = self.ear.take()
        {
            spans.extend(ear.finish());
        }
        Look {
            spoke: spans.iter().filter_map(|span| self.placed(*span)).collect(),
            gone: poll.gone,
        }
    }

    /// Returns whether our own sounds are heard by it.
    pub fn masks(&self) -> bool {
        self.masks
    }

    /// Says how the input is.
    pub fn health(&self) -> Option<Health> {
        let began = self.microphone.began()?;
        let now = Instant::now().saturating_duration_since(began.at);
        let now = At::from_ms(now.as_millis() as i64);
        self.ear.as_ref().map(|ear| ear.health(now))
    }

    /// Ends the listening; what is still being said ends with it.
    pub fn finish(mut self) -> Vec<(u32, Spoke)> {
        if let Some(Err(error)) = self.keeps.take().map(WavWriter::finalize) {
            tracing::warn!(%error, "the end of what was heard is not kept");
        }
        let spans = self.ear.take().map(Ear::finish).unwrap_or_default();
        spans.iter().filter_map(|span| self.placed(*span)).collect()
    }

    /// Where a span lies in the turn that ran when it began.
    fn placed(&self, span: Span) -> Option<(u32, Spoke)> {
        let began = self.microphone.began()?;
        let zero = began.at.checked_sub(began.latency)?;
        // The coach speaks to what she hears, which was rendered a little before.
        let spoken = zero + Duration::from_millis(span.from.ms().try_into().ok()?);
        let rendered = spoken.checked_sub(self.out)?;
        let point = self.points.iter().rev().find(|p| p.now <= rendered)?;
        let since = (rendered - point.now).as_millis() as i64;
        let from = point.at + Millis::from_ms(since);
        let to = from + span.length();
        Some((point.turn?, Spoke { from, to }))
    }
}
