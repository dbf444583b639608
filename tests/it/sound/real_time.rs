//! The mixer allocates and frees nothing while it renders.
//!
//! The allocator of this test binary ends the process where it is called inside the guarded part.

use assert_no_alloc::assert_no_alloc;
use rtrb::RingBuffer;
use sidevoice::base::tones::Tones;
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
use sidevoice::sound::mix::Master;
use sidevoice::sound::mix::Outcome;
use sidevoice::sound::mix::Tone;
use sidevoice::sound::mix::desk_and_mixer;

use super::clip;

#[test]
fn nothing_is_allocated_or_freed_in_the_callback() {
    const CAPACITY: usize = 32;
    let (mut desk, mut mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, CAPACITY);
    let mut out = vec![0.0; 960 * 2];
    let mut outcomes = Vec::new();
    let mut id = 0;
    for round in 0..400_u64 {
        // As much as goes in: of every kind, much of it late, all but a few gone at once.
        let at = desk.status().position.index() + round % 7 * 500;
        while desk.room() > CAPACITY / 4 {
            id += 1;
            let at = at.saturating_sub(500) + id % 5 * 300;
            desk.feed(clip(id, at, 1 + (id % 900) as usize, 0.01))
                .unwrap();
        }
        desk.feed(Tone::Start.clip(Tones::Clear, id, FrameAt::new(at + 600)))
            .unwrap();
        for _ in 0..3 {
            desk.speak_over(clip(id, round % 3, 1500, 0.01)).unwrap();
        }
        let command = match round % 9 {
            0 | 2 | 4 => Command::Play,
            1 => Command::Hold,
            3 => Command::Jump(FrameAt::new(round * 100)),
            5 => Command::Clear(Clear::Ids(id - 2)),
            6 => Command::Clear(Clear::From(FrameAt::new(at))),
            7 => Command::Hush,
            _ => Command::Volume(Db::new(-(round as f32) / 10.0)),
        };
        desk.tell(command).unwrap();
        if round == 390 {
            desk.tell(Command::Stop).unwrap();
        }
        assert_no_alloc(|| {
            mixer.fill(&mut out);
            mixer.fill(&mut out[..101]);
        });
        outcomes.extend(std::iter::from_fn(|| desk.finished()).map(|it| it.outcome));
    }
    // All ways out were taken.
    for wanted in [Outcome::Played, Outcome::Late, Outcome::Dropped] {
        assert!(outcomes.contains(&wanted), "{wanted:?}");
    }
    assert!(outcomes.iter().any(|it| matches!(it, Outcome::Cut(_))));
}

#[test]
fn nothing_is_allocated_or_freed_with_a_bed_and_a_limiter() {
    let (mut ring, blocks) = RingBuffer::new(100);
    let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 32);
    let mut master = Master::new(mixer.with_bed(blocks));
    let mut out = vec![0.0; 960 * 2];
    let (mut quiet, mut limited) = (0, 0);
    for round in 0..600_u64 {
        // Runs dry in between, and is far too loud for full scale.
        while round % 200 < 150 && ring.slots() > 0 {
            let frames = [[1.5, -0.9]; BED_BLOCK];
            let loudness = -5.0 - (round % 30) as f32;
            ring.push(BedBlock { frames, loudness }).unwrap();
        }
        let at = desk.status().position.index() + 20_000;
        if desk.room() > 0 && round % 5 == 0 {
            desk.feed(clip(round, at, 9000, 0.9)).unwrap();
        }
        let plays = match round % 90 {
            80.. => BedPlays::Never,
            40..80 => BedPlays::WithTheClock,
            _ => BedPlays::Always,
        };
        let command = match round % 40 {
            7 | 33 => Command::Bed(BedAim {
                level: Db::new(-(round as f32 % 20.0)),
                fade: Millis::from_ms(200),
                plays,
            }),
            20 => Command::Hold,
            30 => Command::Volume(Db::new(round as f32 / 100.0)),
            _ => Command::Play,
        };
        desk.tell(command).unwrap();
        assert_no_alloc(|| {
            master.fill(&mut out);
            if round == 500 {
                master.device_lost();
            }
        });
        while desk.finished().is_some() {}
        quiet += usize::from(out.iter().all(|it| *it == 0.0));
        limited += usize::from(out.iter().any(|it| it.abs() > 0.8));
        assert!(out.iter().all(|it| it.abs() <= 0.8913));
    }
    assert!(quiet > 5 && limited > 100, "{quiet} {limited}");
    assert!(desk.status().bed_gaps > 0);
}
