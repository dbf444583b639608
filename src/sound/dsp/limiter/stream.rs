//! A look-ahead limiter for the true peak of sound that flows: never allocates once it is made.
//!
//! What goes in comes out 5 ms later; below the ceiling bit for bit. The gain that each frame needs is
//! the same for all channels, so that nothing moves sideways. Its minimum over the look-ahead, let go
//! slowly, is smoothed by two running means whose lengths add up to the look-ahead: a mean of minima
//! that all include the peak's own need is never above that need, and has no corner that could click.
//! Gains are whole numbers, so that running sums stay exact however long it runs.

use super::PHASES;
use super::SIDE;
use super::filter;
use super::gains::Mean;
use super::gains::Needs;
use super::gains::ONE;
use crate::base::units::Db;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// The look-ahead: long enough for a gain that is not heard to move, too short for an echo.
const AHEAD: Millis = Millis::from_ms(5);

/// How many samples a value between two of them is worked out from: as for a clip, so that one that
/// was limited passes.
const TAPS: usize = 2 * SIDE;

/// How many samples later than the sample itself its peak is known.
const LATE: usize = SIDE;

/// What has to be limited ends so far below the ceiling: the gain's slope and the filters of other
/// meters put up to this on it.
const MARGIN: Db = Db::new(0.3);

/// Frames worked on at a time.
const CHUNK: usize = 64;

/// A limiter for interleaved frames.
#[derive(Debug)]
pub struct Stream {
    channels: usize,
    filter: [[f32; TAPS]; PHASES - 1],
    ceiling: f32,
    target: f32,
    /// Where no sample is above this nothing between them is above the ceiling.
    near: f32,
    /// What comes out next, interleaved, as a ring.
    delay: Vec<f32>,
    place: usize,
    /// Each channel's last samples, and behind them those of the chunk, where that is loud.
    past: Vec<[f32; TAPS - 1 + CHUNK]>,
    /// The peak of each frame of the chunk, and the one that reaches into the next.
    peaks: [f32; CHUNK],
    reaches: f32,
    /// Frames since the last loud one.
    quiet: usize,
    needs: Needs,
    first: Mean,
    second: Mean,
    /// Whether all gains are unity, also those that are being averaged.
    rests: bool,
}

impl Stream {
    /// Makes a limiter that is at rest.
    pub fn new(rate: SampleRate, channels: u16, ceiling: Db) -> Self {
        let channels = usize::from(channels.max(1));
        let frames = AHEAD.frames(rate).count() as usize;
        let delay = frames.max(CHUNK);
        let reach = delay - LATE;
        let first = reach / 2 + 1;
        let second = reach + 2 - first;
        let filter = [filter(1), filter(2), filter(3)];
        let gain = |taps: &[f32; TAPS]| taps.iter().map(|tap| tap.abs()).sum::<f32>();
        let most = filter.iter().map(gain).fold(1.0, f32::max);
        Stream {
            channels,
            filter,
            ceiling: ceiling.gain(),
            target: Db::new(ceiling.db() - MARGIN.db()).gain(),
            near: ceiling.gain() / most,
            delay: vec![0.0; delay * channels],
            place: 0,
            past: vec![[0.0; TAPS - 1 + CHUNK]; channels],
            peaks: [0.0; CHUNK],
            reaches: 0.0,
            quiet: TAPS,
            needs: Needs::new(reach),
            first: Mean::new(first, u64::from(ONE)),
            second: Mean::new(second, first as u64 * u64::from(ONE)),
            rests: true,
        }
    }

    /// Returns how many frames later a frame comes out.
    pub fn latency(&self) -> Frames {
        Frames::new((self.delay.len() / self.channels) as u64)
    }

    /// Takes in the next frames, interleaved, and puts those in their place that come out. What is no
    /// number becomes silence.
    pub fn process(&mut self, frames: &mut [f32]) {
        let whole = frames.len() / self.channels * self.channels;
        for chunk in frames[..whole].chunks_mut(CHUNK * self.channels) {
            self.chunk(chunk);
        }
    }

    /// Forgets all that is on its way.
    pub fn clear(&mut self) {
        self.delay.fill(0.0);
        self.reaches = 0.0;
        self.quiet = TAPS;
        self.needs.clear();
        let whole = self.first.fill(u64::from(ONE));
        self.second.fill(whole);
        self.rests = true;
    }

    fn chunk(&mut self, chunk: &mut [f32]) {
        let count = chunk.len() / self.channels;
        let loud = self.is_loud(chunk);
        if loud {
            self.gather(chunk);
        }
        self.swap(chunk);
        if loud || !self.rests || self.reaches > self.ceiling {
            self.find_peaks(count, loud);
            self.turn_down(chunk);
        } else {
            // Nearly always: so nearly nothing is done then.
            self.needs.rest(count as u64);
            self.reaches = 0.0;
        }
    }

    /// Tells whether there may be a peak above the ceiling here; makes silence of what is no number.
    fn is_loud(&mut self, chunk: &mut [f32]) -> bool {
        let mut most = greatest(chunk);
        if !most.is_finite() {
            let odd = chunk.iter_mut().filter(|sample| !sample.is_finite());
            odd.for_each(|sample| *sample = 0.0);
            most = greatest(chunk);
        }
        if most > self.near {
            self.quiet = 0;
            return true;
        }
        let loud = self.quiet < TAPS;
        self.quiet = self.quiet.saturating_add(chunk.len() / self.channels);
        loud
    }

    /// Lays out what comes in, and what came before it, channel by channel.
    fn gather(&mut self, chunk: &[f32]) {
        let before = (TAPS - 1) * self.channels;
        let length = self.delay.len();
        let from = self.place + length - before;
        for (channel, past) in self.past.iter_mut().enumerate() {
            let (old, new) = past.split_at_mut(TAPS - 1);
            for (frame, kept) in old.iter_mut().enumerate() {
                *kept = self.delay[(from + frame * self.channels + channel) % length];
            }
            let samples = chunk.iter().skip(channel).step_by(self.channels);
            new.iter_mut()
                .zip(samples)
                .for_each(|(kept, it)| *kept = *it);
        }
    }

    /// Puts what comes in on its way and what comes out in its place.
    fn swap(&mut self, chunk: &mut [f32]) {
        let until = (self.delay.len() - self.place).min(chunk.len());
        let (head, tail) = chunk.split_at_mut(until);
        head.swap_with_slice(&mut self.delay[self.place..self.place + until]);
        tail.swap_with_slice(&mut self.delay[..tail.len()]);
        self.place = (self.place + chunk.len()) % self.delay.len();
    }

    /// Finds the peaks around the frames that lie [`LATE`] before those that came in.
    fn find_peaks(&mut self, count: usize, loud: bool) {
        self.peaks[..count].fill(0.0);
        if !loud {
            // Between samples as small as these there is nothing large either.
            self.peaks[0] = self.reaches;
            self.reaches = 0.0;
            return;
        }
        let mut between = [0.0_f32; CHUNK];
        for (channel, past) in self.past.iter().enumerate() {
            // A voice alone is the same in all channels.
            if channel > 0 && past[..TAPS - 1 + count] == self.past[0][..TAPS - 1 + count] {
                continue;
            }
            for (index, around) in past.windows(TAPS).take(count).enumerate() {
                let here = around[TAPS - 1 - LATE].abs();
                self.peaks[index] = self.peaks[index].max(here);
                for taps in &self.filter {
                    between[index] = between[index].max(value(taps, around).abs());
                }
            }
        }
        // What lies between two frames is the business of both.
        for (peak, between) in self.peaks[..count].iter_mut().zip(between) {
            *peak = peak.max(between).max(self.reaches);
            self.reaches = between;
        }
    }

    /// Turns down what comes out, as its peaks and those around them ask for.
    fn turn_down(&mut self, chunk: &mut [f32]) {
        let whole = self.second.of_all(self.first.of_all(u64::from(ONE)));
        for (frame, peak) in chunk.chunks_exact_mut(self.channels).zip(self.peaks) {
            let need = match peak > self.ceiling {
                true => (f64::from(self.target / peak) * f64::from(ONE)) as u32,
                false => ONE,
            };
            let held = self.needs.pass(need);
            let sum = self.second.pass(self.first.pass(u64::from(held)));
            self.rests = sum == whole;
            if self.rests {
                continue;
            }
            let gain = (sum as f64 / whole as f64) as f32;
            frame.iter_mut().for_each(|sample| *sample *= gain);
        }
    }
}

/// The greatest absolute value; no number where there is one that is none.
///
/// By its bits, which grow with the value: so it is found for many samples at once.
fn greatest(samples: &[f32]) -> f32 {
    let bits = samples.iter().map(|it| it.to_bits() & (u32::MAX >> 1));
    f32::from_bits(bits.fold(0, u32::max))
}

/// What lies between two samples; summed up in lanes, which a processor does at once.
fn value(taps: &[f32; TAPS], around: &[f32]) -> f32 {
    const LANES: usize = 8;
    let mut sums = [0.0_f32; LANES];
    let taps = taps.as_chunks::<LANES>().0.iter();
    for (taps, around) in taps.zip(around.as_chunks::<LANES>().0) {
        for lane in 0..LANES {
            sums[lane] += taps[lane] * around[lane];
        }
    }
    sums.iter().sum()
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;
    use crate::sound::dsp::CEILING;
    use crate::sound::dsp::meter;

    const RATE: SampleRate = SampleRate::OUTPUT;
    const LATENCY: usize = 240;

    /// Lets a mono signal flow through, in buffers of this many frames; the delay is taken off.
    fn limited(signal: &[f32], buffer: usize) -> Vec<f32> {
        let mut stream = Stream::new(RATE, 1, CEILING);
        assert_eq!(stream.latency(), Frames::new(LATENCY as u64));
        let mut out = signal.to_vec();
        out.extend([0.0; LATENCY]);
        for chunk in out.chunks_mut(buffer) {
            stream.process(chunk);
        }
        assert!(out[..LATENCY].iter().all(|sample| *sample == 0.0));
        out.split_off(LATENCY)
    }

    /// A sine of 1 s with fades of 10 ms, as EBU Tech 3341 has it.
    fn sine(hz: f64, degrees: f64, amplitude: f64) -> Vec<f32> {
        let fade = |n: usize| (n as f64 / 480.0).min(1.0);
        (0..48_000)
            .map(|n| {
                let turn = 2.0 * PI * hz * n as f64 / 48_000.0 + degrees.to_radians();
                (amplitude * turn.sin() * fade(n) * fade(47_999 - n)) as f32
            })
            .collect()
    }

    /// Noise, seeded; full scale times `amplitude`.
    fn noise(seed: u32, length: usize, amplitude: f32) -> Vec<f32> {
        let mut state = seed;
        (0..length)
            .map(|_| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                amplitude * (state as f32 / u32::MAX as f32 * 2.0 - 1.0)
            })
            .collect()
    }

    /// EBU Tech 3341 v4, table 1, cases 15 to 19: tolerance +0.2 / -0.4 dB. What reads -6 dBTP has to
    /// come out as it is; what reads +3 has to read -1, and not more.
    #[test]
    fn true_peaks_of_ebu_tech_3341_are_left_or_brought_to_the_ceiling() {
        let fs = 48_000.0;
        for (case, hz, degrees) in [
            (15, fs / 4.0, 0.0),
            (16, fs / 4.0, 45.0),
            (17, fs / 6.0, 60.0),
            (18, fs / 8.0, 67.5),
        ] {
            let signal = sine(hz, degrees, 0.5);
            assert!(limited(&signal, 480) == signal, "case {case}");
            // The same 9 dB louder is the same above the ceiling.
            let loud = limited(&sine(hz, degrees, 1.41), 480);
            let peak = meter::true_peak(&loud, RATE).db();
            assert!((-1.4..=-1.0).contains(&peak), "case {case}: {peak} dBTP");
        }
        let case_19 = limited(&sine(fs / 4.0, 45.0, 1.41), 480);
        let peak = meter::true_peak(&case_19, RATE).db();
        assert!((-1.4..=-1.0).contains(&peak), "case 19: {peak} dBTP");
    }

    #[test]
    fn whatever_comes_in_the_true_peak_is_at_most_the_ceiling() {
        let mut bursts = noise(3, 48_000, 0.3);
        for from in [5000, 5400, 20_000, 20_300, 47_900] {
            bursts[from..from + 90].iter_mut().for_each(|it| *it *= 9.0);
        }
        let mut clicks = vec![0.0; 9600];
        clicks[4000] = 30.0;
        clicks[4100] = -2.0;
        let square: Vec<f32> = (0..48_000)
            .map(|n| if n / 37 % 2 == 0 { 1.6 } else { -1.6 })
            .collect();
        for (name, signal) in [
            ("noise", noise(1, 48_000, 2.0)),
            ("bursts", bursts),
            ("clicks", clicks),
            ("a square", square),
            ("high", sine(17_000.0, 10.0, 3.0)),
            ("low", sine(41.0, 0.0, 1.2)),
        ] {
            let peak = meter::true_peak(&limited(&signal, 480), RATE).db();
            assert!((-1.6..=-1.0).contains(&peak), "{name}: {peak} dBTP");
        }
    }

    #[test]
    fn what_is_below_the_ceiling_is_not_touched_and_is_not_again_soon_after() {
        let mut signal = noise(7, 96_000, 0.45);
        assert!(limited(&signal, 480) == signal);
        signal[10_000] = 2.0;
        let out = limited(&signal, 480);
        assert!(out[..10_000 - LATENCY] == signal[..10_000 - LATENCY]);
        assert!(out[90_000..] == signal[90_000..]);
        // Half of what was taken is back within a quarter of a second.
        let back = out[22_000] / signal[22_000];
        assert!(back > 0.9, "{back}");
    }

    #[test]
    fn buffers_of_any_size_give_the_same() {
        let mut signal = noise(5, 30_000, 0.3);
        signal[9000..9300].iter_mut().for_each(|it| *it *= 5.0);
        let wanted = limited(&signal, 480);
        for buffer in [1, 7, 64, 65, 1000, 30_000] {
            assert!(limited(&signal, buffer) == wanted, "{buffer}");
        }
    }

    #[test]
    fn the_gain_moves_slowly_enough_not_to_click() {
        // A constant makes the gain itself visible.
        let mut signal = vec![0.3; 20_000];
        signal[10_000..10_010].fill(1.8);
        let out = limited(&signal, 480);
        let gains: Vec<f32> = out.iter().zip(&signal).map(|(a, b)| a / b).collect();
        let steepest = gains
            .windows(2)
            .map(|pair| (pair[1] - pair[0]).abs())
            .fold(0.0, f32::max);
        assert!(steepest < 0.006, "{steepest} a sample");
    }

    #[test]
    fn all_channels_are_turned_down_together() {
        let mut stream = Stream::new(RATE, 2, CEILING);
        let (left, right) = (noise(1, 9600, 1.9), noise(2, 9600, 0.2));
        let mut out: Vec<f32> = left
            .iter()
            .zip(&right)
            .flat_map(|(l, r)| [*l, *r])
            .collect();
        stream.process(&mut out);
        for (frame, before) in out[2 * LATENCY..].as_chunks::<2>().0.iter().zip(0..) {
            let gains = [frame[0] / left[before], frame[1] / right[before]];
            assert!((gains[0] - gains[1]).abs() < 1e-5, "{gains:?} at {before}");
        }
    }

    #[test]
    fn odd_input_does_no_harm_and_is_forgotten() {
        let mut stream = Stream::new(RATE, 2, CEILING);
        stream.process(&mut []);
        let mut odd = [f32::NAN, f32::INFINITY, f32::MAX, f32::MIN, -0.0, 1e-40];
        stream.process(&mut odd);
        let mut out = vec![0.0; 2 * 48_000];
        stream.process(&mut out);
        assert!(out.iter().all(|sample| sample.abs() <= CEILING.gain()));
        stream.process(&mut [1.0; 200]);
        stream.clear();
        let mut after = [0.25; 2000];
        stream.process(&mut after);
        assert_eq!(after[..2 * LATENCY], [0.0; 2 * LATENCY]);
        assert_eq!(after[2 * LATENCY..], [0.25; 2000 - 2 * LATENCY]);
        // At a rate for which five milliseconds are next to nothing.
        let mut slow = Stream::new(SampleRate::from_hz(1), 0, CEILING);
        slow.process(&mut [0.5; 100]);
    }
}
