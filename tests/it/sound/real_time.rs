//! The mixer allocates and frees nothing while it renders.
//!
//! The allocator of this test binary ends the process where it is called inside the guarded part.

use assert_no_alloc::assert_no_alloc;
use sidevoice::base::tones::Tones;
use sidevoice::base::units::Db;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::SampleRate;
use sidevoice::sound::mix::Clear;
use sidevoice::sound::mix::Command;
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
