//! A room and an ear at 1000 Hz, pumped by hand in blocks of 20: one frame is a millisecond.

use super::*;
use crate::base::units::SampleRate;

const BLOCK: usize = 20;
const AHEAD: u64 = 1500;

struct Pair {
    room: (Desk, Mixer),
    ear: (Desk, Mixer),
    /// What was heard so far.
    heard: [Vec<f32>; 2],
}

impl Pair {
    fn new() -> Self {
        let rate = SampleRate::from_hz(1000);
        let room = desk_and_mixer(rate, 1, 64);
        let (desk, mixer) = desk_and_mixer(rate, 1, 64);
        let mixer = mixer.ahead_of(&room.0, Millis::from_ms(AHEAD as i64));
        let mut pair = Pair {
            room,
            ear: (desk, mixer),
            heard: [Vec::new(), Vec::new()],
        };
        pair.tell(Command::Play);
        pair
    }

    /// Feeds both; the value is the id over 1000.
    fn feed(&mut self, id: u64, at: u64, length: usize) {
        for desk in [&mut self.room.0, &mut self.ear.0] {
            desk.feed(clip(id, at, length)).unwrap();
        }
    }

    fn tell(&mut self, command: Command) {
        self.ear.0.tell(command).unwrap();
        self.room.0.tell(command).unwrap();
    }

    fn pump(&mut self, frames: usize) {
        for _ in 0..frames.div_ceil(BLOCK) {
            let mut out = [f32::NAN; BLOCK];
            self.ear.1.fill(&mut out);
            self.heard[1].extend(out);
            self.room.1.fill(&mut out);
            self.heard[0].extend(out);
        }
    }

    /// Where each sound was heard, first and last frame, by the room and by the ear.
    fn places(&self) -> [Vec<(u64, usize, usize)>; 2] {
        [0, 1].map(|of| {
            let mut found: Vec<(u64, usize, usize)> = Vec::new();
            for (at, value) in self.heard[of].iter().enumerate() {
                let id = (value * 1000.0).round() as u64;
                match found.last_mut() {
                    Some(last) if id == last.0 && last.2 + 1 == at => last.2 = at,
                    _ if id > 0 => found.push((id, at, at)),
                    _ => {}
                }
            }
            found
        })
    }

    fn outcomes(&mut self) -> [Vec<(u64, Outcome)>; 2] {
        [&mut self.room.0, &mut self.ear.0].map(|desk| {
            std::iter::from_fn(|| desk.finished())
                .map(|it| (it.clip.id, it.outcome))
                .collect()
        })
    }
}

fn clip(id: u64, at: u64, length: usize) -> Clip {
    Clip {
        id,
        at: FrameAt::new(at),
        samples: vec![id as f32 / 1000.0; length].into(),
    }
}

#[test]
fn the_lead_grows_by_silence_alone_and_only_so_far() {
    let mut pair = Pair::new();
    for (id, at) in [(1, 0), (2, 2200), (3, 3500), (4, 9000)] {
        pair.feed(id, at, 1000);
    }
    pair.pump(11_000);
    let [room, ear] = pair.places();
    assert_eq!(
        room.iter().map(|it| it.1).collect::<Vec<_>>(),
        [0, 2200, 3500, 9000]
    );
    // The first gap, 1.2 s, leaves 150 ms, and so does the second, 300 ms; the third is long enough for
    // what is left.
    assert_eq!(
        ear.iter().map(|it| it.1).collect::<Vec<_>>(),
        [0, 1150, 2300, 7500]
    );
    assert!(ear.iter().all(|(_, from, to)| to - from == 999));
}

/// A line as it is cut for a plan: nothing that is heard in its first 50 frames and its last 200.
fn line(id: u64, onset: u64, heard: usize) -> Clip {
    let value = id as f32 / 1000.0;
    let samples = [vec![0.0; 50], vec![value; heard], vec![0.0; 200]].concat();
    Clip {
        id,
        at: FrameAt::new(onset - 50),
        samples: samples.into(),
    }
}

#[test]
fn of_the_gaps_of_a_plan_all_but_150_ms_is_gained() {
    let mut pair = Pair::new();
    // Six lines of two seconds, 400 ms apart, as those of an opening are.
    let onsets: Vec<u64> = (0..6).map(|nth| 500 + nth * 2400).collect();
    for (id, onset) in (100..).zip(&onsets) {
        for desk in [&mut pair.room.0, &mut pair.ear.0] {
            desk.feed(line(id, *onset, 2000)).unwrap();
        }
    }
    pair.pump(17_000);
    let [room, ear] = pair.places();
    let heard: Vec<u64> = room.iter().map(|it| it.1 as u64).collect();
    assert_eq!(heard, onsets);
    let leads: Vec<_> = room.iter().zip(&ear).map(|(r, e)| r.1 - e.1).collect();
    // What comes before the first is all silence, each gap gives 250 ms more, and the 50 ms to the farthest are
    // too little to skip.
    assert_eq!(leads, [450, 700, 950, 1200, 1450, 1450]);
    for pair in ear.windows(2) {
        assert!(pair[1].1 - pair[0].2 > 150, "{pair:?}");
    }
    assert!(ear.iter().all(|(_, from, to)| to - from == 1999));
}

#[test]
fn a_count_keeps_its_beat() {
    let mut pair = Pair::new();
    for nth in 0..4 {
        pair.feed(nth + 1, 5000 + nth * 1000, 300);
    }
    pair.pump(10_000);
    let ear: Vec<_> = pair.places()[1].iter().map(|it| it.1).collect();
    assert_eq!(ear, [3500, 4500, 5500, 6500]);
}

#[test]
fn a_pause_is_silence_for_both_and_takes_the_lead_back() {
    let mut pair = Pair::new();
    pair.feed(1, 2000, 4000);
    pair.feed(2, 7000, 500);
    pair.pump(3000);
    pair.tell(Command::Hold);
    pair.pump(100);
    for heard in &pair.heard {
        assert!(heard[3000] > 0.0 && heard[3020..].iter().all(|it| *it == 0.0));
    }
    // The place of the room, and what it has not heard yet.
    let place = pair.room.0.status().position;
    assert_eq!(place, FrameAt::new(3020));
    pair.ear.0.tell(Command::Place(place)).unwrap();
    pair.ear.0.feed(clip(2, 7000, 500)).unwrap();
    pair.tell(Command::Play);
    pair.pump(4600);
    let [room, ear] = pair.places();
    // Both stood for 80 ms.
    assert_eq!(room.last(), Some(&(2, 7080, 7579)));
    assert_eq!(ear.last(), Some(&(2, 5580, 6079)));
}

#[test]
fn what_is_fed_where_the_ear_has_been_is_heard_as_soon_as_it_is_quiet() {
    let mut pair = Pair::new();
    pair.feed(1, 3000, 1000);
    pair.feed(2, 8000, 100);
    pair.pump(2000);
    // The ear hears the first since 1500; the room has it before it.
    pair.feed(9, 2100, 500);
    pair.pump(7000);
    let [room, ear] = pair.places();
    assert_eq!(
        room,
        [(9, 2100, 2599), (1, 3000, 3999), (8 / 4, 8000, 8099)]
    );
    assert_eq!(ear[0], (1, 1500, 2499));
    assert_eq!(ear[1].0, 9);
    assert!((2649..2700).contains(&ear[1].1), "{ear:?}");
    assert_eq!(ear[2], (2, 6500, 6599));
}

#[test]
fn what_is_spoken_over_the_class_waits_for_the_line_that_the_ear_hears() {
    let mut pair = Pair::new();
    pair.feed(1, 3000, 1000);
    pair.feed(2, 4200, 100);
    pair.pump(2000);
    for desk in [&mut pair.ear.0, &mut pair.room.0] {
        desk.speak_over(clip(9, 0, 600)).unwrap();
    }
    pair.pump(4000);
    let [room, ear] = pair.places();
    assert_eq!(room[0], (9, 2000, 2599));
    assert_eq!(ear[0], (1, 1500, 2499));
    assert_eq!(ear[1], (9, 2500, 3099));
    // What follows waited, and is still ahead of the room.
    assert_eq!((ear[2].0, room[2]), (2, (2, 4200, 4299)));
    assert!(ear[2].1 > 3099 && ear[2].1 <= 4200, "{ear:?}");
}

#[test]
fn what_is_said_in_a_pause_is_heard_by_both_at_once() {
    let mut pair = Pair::new();
    pair.feed(1, 3000, 2000);
    pair.pump(2000);
    pair.tell(Command::Hold);
    for desk in [&mut pair.ear.0, &mut pair.room.0] {
        desk.speak_over(clip(500, 0, 600)).unwrap();
    }
    pair.pump(1000);
    // The room hears it at once, the ear too, over the last of its line.
    let loud = |heard: &[f32]| heard.iter().rposition(|it| *it > 0.4);
    assert_eq!(pair.heard[0][2000], 0.5);
    assert!(pair.heard[1][2000] > 0.5);
    assert_eq!(
        [loud(&pair.heard[0]), loud(&pair.heard[1])],
        [Some(2599); 2]
    );
}

#[test]
fn an_ear_that_begins_late_catches_up_in_the_first_silence() {
    let mut pair = Pair::new();
    pair.feed(1, 90, 900);
    // Its device asks for sound two buffers later.
    let mut out = [0.0; 2 * BLOCK];
    pair.room.1.fill(&mut out);
    pair.pump(1000);
    let [room, ear] = pair.places();
    assert_eq!(room, [(1, 90 - 40, 989 - 40)]);
    assert!(ear[0].1 <= room[0].1, "{ear:?} {room:?}");
    assert_eq!(ear[0].2 - ear[0].1, 899);
}

#[test]
fn an_ear_does_not_run_away_from_a_room_that_stands() {
    let mut pair = Pair::new();
    for id in 1..6 {
        pair.feed(id, 2000 * id, 1000);
    }
    pair.pump(1000);
    pair.room.1.device_lost();
    for _ in 0..400 {
        pair.ear.1.fill(&mut [0.0; BLOCK]);
    }
    let place = pair.ear.0.status().position.index();
    assert_eq!(place, 4000, "where the second one waits");
    assert_eq!(pair.ear.0.status().sounding, None);
}

#[test]
fn whatever_the_plan_nothing_is_cut_late_or_behind() {
    let mut seed = 7_u64;
    let mut any = |below: u64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (seed >> 33) % below
    };
    for _ in 0..50 {
        let mut pair = Pair::new();
        let (mut at, mut clips) = (any(3000), Vec::new());
        for id in 1..=20 {
            let length = 100 + any(2500);
            clips.push((id, at, length));
            at += length + 150 + any(4) * any(1500);
        }
        let mut fed = 0;
        for now in (0..at + 1000).step_by(BLOCK) {
            // As a class does: what comes within half a minute.
            while fed < clips.len() && clips[fed].1 < now + 30_000 {
                let (id, at, length) = clips[fed];
                pair.feed(id, at, length as usize);
                fed += 1;
            }
            pair.pump(BLOCK);
        }
        let outcomes = pair.outcomes();
        let played = |it: &(u64, Outcome)| it.1 == Outcome::Played;
        assert!(
            outcomes
                .iter()
                .all(|all| all.len() == 20 && all.iter().all(played))
        );
        let [room, ear] = pair.places();
        assert_eq!((room.len(), ear.len()), (20, 20));
        for (nth, (room, ear)) in room.iter().zip(&ear).enumerate() {
            let lead = room.1 as i64 - ear.1 as i64;
            assert!((0..=AHEAD as i64).contains(&lead), "{nth}: {lead}");
            assert_eq!(room.2 - room.1, ear.2 - ear.1);
        }
        for pair in ear.windows(2) {
            assert!(pair[1].1 - pair[0].2 > 150, "{pair:?}");
        }
    }
}
