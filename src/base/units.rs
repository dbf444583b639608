//! Time, frames and levels as types, and the one rounding from time to frames.
//!
//! The plan is kept in whole milliseconds. An instant is turned into a frame once, by
//! [`SampleRate::frame_at`]; rounded durations are never added up.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

/// A length of time in whole milliseconds; may be negative where it is a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Millis(i64);

/// An instant of the session in whole milliseconds from its start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct At(i64);

/// A number of frames (one sample of every channel).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Frames(u64);

/// A position in the stream of frames, from the start of the session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct FrameAt(u64);

/// Frames a second.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SampleRate(u32);

/// A ratio of amplitudes in decibels; 0 dB is unity, for peaks full scale (dBFS or dBTP).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Db(f32);

/// A loudness in LUFS (ITU-R BS.1770-5).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Lufs(f32);

impl Millis {
    pub const ZERO: Millis = Millis(0);

    /// Makes a length from milliseconds.
    pub const fn from_ms(ms: i64) -> Self {
        Millis(ms)
    }

    /// Makes a length from whole seconds.
    pub const fn from_secs(secs: i64) -> Self {
        Millis(secs * 1000)
    }

    /// Returns the length in milliseconds.
    pub const fn ms(self) -> i64 {
        self.0
    }

    /// Returns the length in seconds.
    pub fn secs(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// Rounds up to whole seconds.
    pub const fn ceil_secs(self) -> Self {
        Millis((self.0 + 999).div_euclid(1000) * 1000)
    }

    /// Returns the frames nearest to this length; halves go up.
    ///
    /// For buffers and fades. Positions come from [`SampleRate::frame_at`].
    pub const fn frames(self, rate: SampleRate) -> Frames {
        Frames(rounded(self.0, rate))
    }
}

impl At {
    /// The start of the session.
    pub const START: At = At(0);

    /// Makes an instant from milliseconds.
    pub const fn from_ms(ms: i64) -> Self {
        At(ms)
    }

    /// Returns the milliseconds since the start of the session.
    pub const fn ms(self) -> i64 {
        self.0
    }

    /// Returns the time since the start of the session.
    pub const fn since_start(self) -> Millis {
        Millis(self.0)
    }
}

impl Frames {
    pub const ZERO: Frames = Frames(0);

    /// Makes a number of frames.
    pub const fn new(count: u64) -> Self {
        Frames(count)
    }

    /// Returns the count.
    pub const fn count(self) -> u64 {
        self.0
    }

    /// Returns the length in milliseconds, rounded to the nearest; halves go up.
    pub const fn millis(self, rate: SampleRate) -> Millis {
        let rate = rate.0 as u128;
        Millis(((self.0 as u128 * 2000 + rate) / (2 * rate)) as i64)
    }
}

impl FrameAt {
    pub const START: FrameAt = FrameAt(0);

    /// Makes a position from its index.
    pub const fn new(index: u64) -> Self {
        FrameAt(index)
    }

    /// Returns the index of the frame.
    pub const fn index(self) -> u64 {
        self.0
    }

    /// Returns the instant nearest to this frame; halves go up.
    pub const fn at(self, rate: SampleRate) -> At {
        At(Frames(self.0).millis(rate).0)
    }

    /// Returns how many frames lie between `earlier` and this position, zero if it is later.
    pub const fn since(self, earlier: FrameAt) -> Frames {
        Frames(self.0.saturating_sub(earlier.0))
    }
}

impl SampleRate {
    /// The rate of everything that is heard.
    pub const OUTPUT: SampleRate = SampleRate(48_000);

    /// Makes a rate.
    ///
    /// # Panics
    ///
    /// If `hz` is zero.
    pub const fn from_hz(hz: u32) -> Self {
        assert!(hz > 0, "a sample rate of zero");
        SampleRate(hz)
    }

    /// Returns the rate in Hz.
    pub const fn hz(self) -> u32 {
        self.0
    }

    /// Returns the frame of an instant: the nearest one, halves up. Instants before the start
    /// of the session are its first frame.
    pub const fn frame_at(self, at: At) -> FrameAt {
        FrameAt(rounded(at.0, self))
    }
}

/// The one rounding: milliseconds to frames, to the nearest, halves up, never below zero.
const fn rounded(ms: i64, rate: SampleRate) -> u64 {
    if ms <= 0 {
        return 0;
    }
    ((ms as u128 * rate.0 as u128 * 2 + 1000) / 2000) as u64
}

impl Db {
    /// Makes a ratio from decibels.
    pub const fn new(db: f32) -> Self {
        Db(db)
    }

    /// Returns the decibels.
    pub const fn db(self) -> f32 {
        self.0
    }

    /// Returns the factor for amplitudes.
    pub fn gain(self) -> f32 {
        10f32.powf(self.0 / 20.0)
    }

    /// Makes the ratio that an amplitude factor stands for; silence is minus infinity.
    pub fn from_gain(gain: f32) -> Self {
        Db(20.0 * gain.abs().log10())
    }
}

impl Lufs {
    /// The level of speech (AES TD1008 for speech on distributed programmes).
    pub const SPEECH: Lufs = Lufs(-18.0);

    /// Makes a loudness.
    pub const fn new(lufs: f32) -> Self {
        Lufs(lufs)
    }

    /// Returns the loudness in LUFS.
    pub const fn lufs(self) -> f32 {
        self.0
    }

    /// Returns the gain in decibels that brings this loudness to `target`.
    pub fn gain_to(self, target: Lufs) -> Db {
        Db(target.0 - self.0)
    }
}

impl Add for Millis {
    type Output = Millis;
    fn add(self, other: Millis) -> Millis {
        Millis(self.0 + other.0)
    }
}

impl Sub for Millis {
    type Output = Millis;
    fn sub(self, other: Millis) -> Millis {
        Millis(self.0 - other.0)
    }
}

impl Neg for Millis {
    type Output = Millis;
    fn neg(self) -> Millis {
        Millis(-self.0)
    }
}

impl Mul<i64> for Millis {
    type Output = Millis;
    fn mul(self, times: i64) -> Millis {
        Millis(self.0 * times)
    }
}

impl AddAssign for Millis {
    fn add_assign(&mut self, other: Millis) {
        self.0 += other.0;
    }
}

impl SubAssign for Millis {
    fn sub_assign(&mut self, other: Millis) {
        self.0 -= other.0;
    }
}

impl Sum for Millis {
    fn sum<I: Iterator<Item = Millis>>(lengths: I) -> Millis {
        lengths.fold(Millis::ZERO, Add::add)
    }
}

impl Add<Millis> for At {
    type Output = At;
    fn add(self, length: Millis) -> At {
        At(self.0 + length.0)
    }
}

impl Sub<Millis> for At {
    type Output = At;
    fn sub(self, length: Millis) -> At {
        At(self.0 - length.0)
    }
}

impl Sub for At {
    type Output = Millis;
    fn sub(self, earlier: At) -> Millis {
        Millis(self.0 - earlier.0)
    }
}

impl AddAssign<Millis> for At {
    fn add_assign(&mut self, length: Millis) {
        self.0 += length.0;
    }
}

impl Add for Frames {
    type Output = Frames;
    fn add(self, other: Frames) -> Frames {
        Frames(self.0 + other.0)
    }
}

impl Add<Frames> for FrameAt {
    type Output = FrameAt;
    fn add(self, frames: Frames) -> FrameAt {
        FrameAt(self.0 + frames.0)
    }
}

/// Shows minutes, seconds and tenths as a clock does: `1:07.4`; whole seconds as `1:07`.
impl fmt::Display for At {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = (self.0.max(0) + 50) / 100;
        let (minutes, seconds, tenth) = (tenths / 600, tenths / 10 % 60, tenths % 10);
        match tenth {
            0 => write!(f, "{minutes}:{seconds:02}"),
            _ => write!(f, "{minutes}:{seconds:02}.{tenth}"),
        }
    }
}

/// Shows a length as the files write it: `20s`, `1m30s`, `250ms`.
impl fmt::Display for Millis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ms = self.0.unsigned_abs();
        if self.0 < 0 {
            write!(f, "-")?;
        }
        let (minutes, seconds, rest) = (ms / 60_000, ms / 1000 % 60, ms % 1000);
        if minutes > 0 {
            write!(f, "{minutes}m")?;
        }
        if seconds > 0 || (minutes == 0 && rest == 0) {
            write!(f, "{seconds}s")?;
        }
        if rest > 0 {
            write!(f, "{rest}ms")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_instant_becomes_the_nearest_frame_and_halves_go_up() {
        let rate = SampleRate::from_hz(44_100);
        assert_eq!(rate.frame_at(At::from_ms(1)).index(), 44);
        assert_eq!(rate.frame_at(At::from_ms(5)).index(), 221); // 220.5
        assert_eq!(SampleRate::OUTPUT.frame_at(At::from_ms(-3)).index(), 0);
        assert_eq!(
            SampleRate::OUTPUT.frame_at(At::from_ms(70_000)).index(),
            3_360_000
        );
    }

    #[test]
    fn frames_of_an_instant_lead_back_to_it() {
        for ms in [0, 1, 7, 999, 86_400_000] {
            let rate = SampleRate::from_hz(44_100);
            assert_eq!(rate.frame_at(At::from_ms(ms)).at(rate).ms(), ms);
        }
    }

    #[test]
    fn times_are_shown_as_a_clock_and_lengths_as_the_files_write_them() {
        assert_eq!(At::from_ms(67_400).to_string(), "1:07.4");
        assert_eq!(At::from_ms(70_000).to_string(), "1:10");
        assert_eq!(Millis::from_ms(90_000).to_string(), "1m30s");
        assert_eq!(Millis::ZERO.to_string(), "0s");
        assert_eq!(Millis::from_ms(1250).to_string(), "1s250ms");
        assert_eq!(Millis::from_ms(1).ceil_secs(), Millis::from_secs(1));
    }
}
