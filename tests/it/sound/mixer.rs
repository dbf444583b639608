//! Random commands to a mixer pumped by hand, with what must always hold checked after each.
//!
//! At 1000 Hz, so that one frame is a millisecond and a fade 20 of them.

use proptest::prelude::*;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::SampleRate;
use sidevoice::sound::mix::Clear;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Command;
use sidevoice::sound::mix::Desk;
use sidevoice::sound::mix::Finished;
use sidevoice::sound::mix::Outcome;
use sidevoice::sound::mix::State;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::out::Pump;

use super::clip;

const FADE: u64 = 20;

#[derive(Debug, Clone)]
enum Act {
    Pump(usize),
    Tell(Command),
    /// Feeds a clip so far after the position or after the clip before it, of such a length.
    Feed(u64, usize),
    Over(u64, usize),
    LoseDevice,
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let act = prop_oneof![
        8 => (0..70_usize).prop_map(Act::Pump),
        6 => (0..40_u64, 0..40_usize).prop_map(|(after, length)| Act::Feed(after, length)),
        1 => (0..10_u64, 0..40_usize).prop_map(|(silence, length)| Act::Over(silence, length)),
        3 => Just(Act::Tell(Command::Play)),
        2 => Just(Act::Tell(Command::Hold)),
        1 => (0..300_u64).prop_map(|to| Act::Tell(Command::Jump(FrameAt::new(to)))),
        1 => (0..300_u64).prop_map(|at| Act::Tell(Command::Clear(Clear::From(FrameAt::new(at))))),
        1 => (0..20_u64).prop_map(|id| Act::Tell(Command::Clear(Clear::Ids(id)))),
        1 => Just(Act::Tell(Command::Hush)),
        1 => Just(Act::LoseDevice),
    ];
    proptest::collection::vec(act, 1..60)
}

/// A listener with a notebook.
struct Watch {
    desk: Desk,
    pump: Pump,
    /// The end of the clip fed last: the next one begins after it, so none overlap.
    end: u64,
    fed: u64,
    back: Vec<Finished>,
    /// All that was heard.
    heard: Vec<f32>,
    /// Whether a clip may have faded and come back.
    wavered: bool,
    /// Jumps told and perhaps not yet done.
    jumps: bool,
    over: bool,
}

impl Watch {
    fn new() -> Self {
        let (desk, mixer) = desk_and_mixer(SampleRate::from_hz(1000), 1, 1000);
        Watch {
            desk,
            pump: Pump::new(mixer),
            end: 0,
            fed: 0,
            back: Vec::new(),
            heard: Vec::new(),
            wavered: false,
            jumps: false,
            over: false,
        }
    }

    fn at(&self) -> u64 {
        self.desk.status().position.index()
    }

    fn act(&mut self, act: &Act) {
        match *act {
            Act::Pump(frames) => self.pump(frames),
            Act::Tell(command) => {
                self.wavered |= !self.desk.status().settled && command == Command::Play;
                if let Command::Jump(to) = command {
                    self.jumps = true;
                    // What was fed before is dropped by it.
                    self.end = to.index();
                }
                self.desk.tell(command).unwrap();
            }
            Act::Feed(after, length) => {
                let at = self.end + after;
                self.end = at + length as u64;
                self.fed += 1;
                self.desk
                    .feed(clip(self.fed, at, length, value(self.fed)))
                    .unwrap();
            }
            Act::Over(silence, length) => {
                self.fed += 1;
                self.over = true;
                self.desk
                    .speak_over(clip(self.fed, silence, length, value(self.fed)))
                    .unwrap();
            }
            Act::LoseDevice => self.pump.lose_device(),
        }
    }

    fn pump(&mut self, frames: usize) {
        let before = self.desk.status();
        // Heeds what was told, so that what follows is seen by itself.
        self.pump.pump(0);
        let begun = self.desk.status();
        let out = self.pump.pump(frames);
        let after = self.desk.status();
        let passed = after.position.index() as i64 - begun.position.index() as i64;

        assert_eq!(after.device.count() - begun.device.count(), frames as u64);
        if !self.jumps {
            assert!(after.position >= before.position, "the clock ran backwards");
            assert!((0..=frames as i64).contains(&passed));
        }
        self.jumps &= !after.settled;
        if begun.state == State::Held && begun.settled {
            assert_eq!(passed, 0, "time passed in a hold");
            assert!(
                self.over || out.iter().all(|it| *it == 0.0),
                "a sound in a hold"
            );
        }
        if begun.state == State::Playing && after.state == State::Playing {
            assert_eq!(passed, frames as i64);
        }
        if begun.state == State::Fading && frames as u64 >= FADE {
            assert!(after.settled, "a fade took longer than it may");
        }
        // Each clip has a value of its own below a half, so two at once would be a sum that is none.
        if !self.over {
            assert!(out.iter().all(|it| *it <= 0.5), "two clips at once");
        }
        self.heard.extend(out);
        self.back
            .extend(std::iter::from_fn(|| self.desk.finished()));
    }
}

/// Checks that a clip was heard whole where it is said to be, and never more than it is said to be.
fn check_heard(watch: &Watch, finished: &Finished) {
    let value = value(finished.clip.id);
    let heard = watch.heard.iter().filter(|it| **it == value).count();
    let length = finished.clip.samples.len();
    match finished.outcome {
        // Its end may have fallen into a fade.
        Outcome::Played => {
            assert!(heard <= length);
            assert!(watch.wavered || heard + FADE as usize >= length);
        }
        // At least the last of a fade is not at its full value.
        Outcome::Cut(frames) => assert!(heard <= length && heard as u64 <= frames.count()),
        Outcome::Late | Outcome::Dropped => assert_eq!(heard, 0),
    }
}

/// The value of a clip: more than a quarter, at most a half.
fn value(id: u64) -> f32 {
    0.5 - (id % 100) as f32 / 500.0
}

fn ids(back: &[Finished]) -> Vec<u64> {
    let mut ids: Vec<u64> = back.iter().map(|it| it.clip.id).collect();
    ids.sort_unstable();
    ids
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1000) })]

    #[test]
    fn whatever_is_told_the_clock_and_the_clips_keep_their_rules(acts in acts()) {
        let mut watch = Watch::new();
        for act in &acts {
            watch.act(act);
        }
        watch.desk.tell(Command::Stop).unwrap();
        watch.pump(100);
        let status = watch.desk.status();
        prop_assert_eq!((status.state, status.waiting), (State::Stopped, 0));
        prop_assert_eq!(watch.pump.pump(10), vec![0.0; 10]);
        // Each clip comes back exactly once.
        prop_assert_eq!(ids(&watch.back), (1..=watch.fed).collect::<Vec<_>>());
        if !watch.over {
            watch.back.iter().for_each(|it| check_heard(&watch, it));
        }
    }

    #[test]
    fn clips_come_out_as_they_went_in_in_buffers_of_any_size(
        clips in proptest::collection::vec(
            (0..700_u64, proptest::collection::vec(-1.0..1.0_f32, 0..900)), 1..12),
        buffers in proptest::collection::vec(0..1500_usize, 1..30),
    ) {
        let (mut desk, mixer) = desk_and_mixer(SampleRate::from_hz(1000), 2, 100);
        let mut pump = Pump::new(mixer);
        let mut wanted = Vec::new();
        for (id, (after, samples)) in clips.into_iter().enumerate() {
            wanted.resize(wanted.len() + after as usize, 0.0);
            let at = FrameAt::new(wanted.len() as u64);
            wanted.extend_from_slice(&samples);
            desk.feed(Clip { id: id as u64, at, samples: samples.into() }).unwrap();
        }
        desk.tell(Command::Play).unwrap();
        for frames in buffers {
            let at = desk.status().position.index() as usize;
            let out = pump.pump(frames);
            for (index, frame) in out.chunks(2).enumerate() {
                let sample = wanted.get(at + index).copied().unwrap_or(0.0);
                prop_assert_eq!(frame, &[sample; 2][..]);
            }
        }
        while let Some(finished) = desk.finished() {
            prop_assert_eq!(finished.outcome, Outcome::Played);
        }
    }

    #[test]
    fn overlapping_clips_are_added_up(first in 0..50_u64, second in 0..50_u64) {
        let mut watch = Watch::new();
        watch.desk.feed(clip(1, first, 30, 0.25)).unwrap();
        watch.desk.feed(clip(2, second, 30, 0.5)).unwrap();
        watch.desk.tell(Command::Play).unwrap();
        for (at, sample) in watch.pump.pump(100).into_iter().enumerate() {
            let sounds = |from: u64| (from..from + 30).contains(&(at as u64));
            let wanted = 0.25 * f32::from(sounds(first)) + 0.5 * f32::from(sounds(second));
            prop_assert_eq!(sample, wanted);
        }
        prop_assert_eq!(watch.at(), 100);
    }
}
