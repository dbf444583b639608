//! Random commands to a mixer with a bed, and what must always hold of the bed.
//!
//! Its right side is its left one turned over: half the difference of the channels is the bed, half
//! their sum all else.

use proptest::prelude::*;
use rtrb::Producer;
use rtrb::RingBuffer;
use sidevoice::base::units::Db;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Millis;
use sidevoice::base::units::SampleRate;
use sidevoice::sound::mix::BED_BLOCK;
use sidevoice::sound::mix::BedAim;
use sidevoice::sound::mix::BedBlock;
use sidevoice::sound::mix::BedPlays;
use sidevoice::sound::mix::Clear;
use sidevoice::sound::mix::Command;
use sidevoice::sound::mix::Desk;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::out::Pump;

use super::clip;

const MS: usize = 48;

/// The bed's loudness asks for a dip of 12 dB at level 0.
const LOUDNESS: f32 = -18.0;

#[derive(Debug, Clone)]
enum Act {
    Pump(usize),
    Tell(Command),
    /// Feeds a clip so many ms after the position, of such a length in ms.
    Feed(u64, usize),
    Over(u64, usize),
    LoseDevice,
    /// Whether blocks are made from now on.
    Supply(bool),
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let plays = prop_oneof![
        Just(BedPlays::Never),
        Just(BedPlays::WithTheClock),
        Just(BedPlays::Always),
    ];
    let act = prop_oneof![
        8 => (0..2000_usize).prop_map(Act::Pump),
        6 => (0..3000_u64, 0..1500_usize).prop_map(|(after, length)| Act::Feed(after, length)),
        1 => (0..300_u64, 0..800_usize).prop_map(|(silence, length)| Act::Over(silence, length)),
        4 => Just(Act::Tell(Command::Play)),
        1 => Just(Act::Tell(Command::PlayWhenSaid)),
        2 => Just(Act::Tell(Command::Hold)),
        1 => Just(Act::Tell(Command::Hush)),
        1 => Just(Act::Tell(Command::Clear(Clear::All))),
        1 => (0..900_000_u64).prop_map(|to| Act::Tell(Command::Jump(FrameAt::new(to)))),
        3 => (plays, -30.0..0.0_f32, 60..2000_i64).prop_map(|(plays, level, fade)| {
            let (level, fade) = (Db::new(level), Millis::from_ms(fade));
            Act::Tell(Command::Bed(BedAim { level, fade, plays }))
        }),
        1 => Just(Act::LoseDevice),
        1 => any::<bool>().prop_map(Act::Supply),
    ];
    proptest::collection::vec(act, 1..40)
}

struct Watch {
    desk: Desk,
    pump: Pump,
    ring: Producer<BedBlock>,
    supply: bool,
    id: u64,
    gain: f32,
    /// Frames for which something has been heard without a break.
    sounds: usize,
}

impl Watch {
    fn new() -> Self {
        let (ring, blocks) = RingBuffer::new(100);
        let (desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 200);
        Watch {
            desk,
            pump: Pump::new(mixer.with_bed(blocks)),
            ring,
            supply: true,
            id: 0,
            gain: 0.0,
            sounds: 0,
        }
    }

    fn act(&mut self, act: &Act) {
        match *act {
            Act::Pump(ms) => (0..ms / 10).for_each(|_| self.pump()),
            Act::Tell(command) => self.desk.tell(command).unwrap(),
            Act::Feed(after, length) => {
                self.id += 1;
                let at = self.desk.status().position.index() + after * MS as u64;
                let clip = clip(self.id, at, length * MS, 0.5);
                self.desk.feed(clip).unwrap();
            }
            Act::Over(silence, length) => {
                self.id += 1;
                let clip = clip(self.id, silence * MS as u64, length * MS, 0.5);
                self.desk.speak_over(clip).unwrap();
            }
            Act::LoseDevice => {
                self.pump.lose_device();
                // What was lost is not heard to end.
                self.gain = 0.0;
                self.sounds = 0;
            }
            Act::Supply(supply) => self.supply = supply,
        }
        while self.desk.finished().is_some() {}
    }

    /// Renders 10 ms and looks at each frame.
    fn pump(&mut self) {
        while self.supply && self.ring.slots() > 0 {
            let frames = [[0.25, -0.25]; BED_BLOCK];
            let loudness = LOUDNESS;
            let _ = self.ring.push(BedBlock { frames, loudness });
        }
        let out = self.pump.pump(10 * MS);
        for frame in out.as_chunks::<2>().0 {
            let gain = (frame[0] - frame[1]) / 0.5;
            let heard = (frame[0] + frame[1]) / 2.0;
            let step = (gain - self.gain).abs();
            assert!(step < 0.001, "a click: {} to {gain}", self.gain);
            self.gain = gain;
            self.sounds = match heard.abs() > 0.01 {
                true => self.sounds + 1,
                false => 0,
            };
            // 60 ms after the worst of beginnings; a bed that grows by less than 0.25 dB is not followed.
            assert!(
                self.sounds < 62 * MS || gain < Db::new(-11.74).gain(),
                "{gain} while something has been heard for {} ms",
                self.sounds / MS
            );
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

    #[test]
    fn whatever_is_told_the_bed_never_clicks_and_is_down_while_something_is_heard(acts in acts()) {
        let mut watch = Watch::new();
        for act in &acts {
            watch.act(act);
        }
        watch.desk.tell(Command::Stop).unwrap();
        (0..30).for_each(|_| watch.pump());
        prop_assert!(watch.desk.status().settled);
        prop_assert_eq!(watch.pump.pump(100), vec![0.0; 200]);
    }
}
