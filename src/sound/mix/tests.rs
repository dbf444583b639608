//! The mixer at 1000 Hz, pumped by hand: one frame is a millisecond, and a fade 20 of them.

mod bed;

use super::*;
use crate::base::units::SampleRate;

struct Room {
    desk: Desk,
    mixer: Mixer,
}

impl Room {
    fn new() -> Self {
        let (desk, mixer) = desk_and_mixer(SampleRate::from_hz(1000), 1, 16);
        Room { desk, mixer }
    }

    /// A clip of this value.
    fn feed(&mut self, id: u64, at: u64, length: usize, value: f32) {
        self.desk.feed(clip(id, at, length, value)).unwrap();
    }

    fn tell(&mut self, command: Command) {
        self.desk.tell(command).unwrap();
    }

    fn pump(&mut self, frames: usize) -> Vec<f32> {
        let mut out = vec![f32::NAN; frames];
        self.mixer.fill(&mut out);
        out
    }

    fn finished(&mut self) -> Vec<(u64, Outcome)> {
        std::iter::from_fn(|| self.desk.finished())
            .map(|it| (it.clip.id, it.outcome))
            .collect()
    }

    fn at(&self) -> u64 {
        self.desk.status().position.index()
    }
}

fn clip(id: u64, at: u64, length: usize, value: f32) -> Clip {
    Clip {
        id,
        at: FrameAt::new(at),
        samples: vec![value; length].into(),
    }
}

#[test]
fn a_clip_sounds_at_its_place_and_nowhere_else() {
    let mut room = Room::new();
    room.tell(Command::Play);
    room.feed(1, 3, 2, 0.5);
    assert_eq!(room.pump(4), [0.0, 0.0, 0.0, 0.5]);
    assert_eq!(room.desk.status().sounding, Some(1));
    assert_eq!(room.pump(3), [0.5, 0.0, 0.0]);
    assert_eq!(room.finished(), [(1, Outcome::Played)]);
}

#[test]
fn nothing_sounds_and_no_time_passes_before_the_start() {
    let mut room = Room::new();
    room.feed(1, 0, 2, 0.5);
    assert_eq!(room.pump(50), [0.0; 50]);
    let status = room.desk.status();
    assert_eq!(
        (status.position, status.device),
        (FrameAt::START, Frames::new(50))
    );
    room.tell(Command::Play);
    assert_eq!(room.pump(3), [0.5, 0.5, 0.0]);
}

#[test]
fn a_hold_fades_to_silence_and_stops_the_clock_there() {
    let mut room = Room::new();
    room.tell(Command::Play);
    room.feed(1, 0, 100, 0.5);
    room.feed(2, 25, 5, 0.5);
    room.pump(10);
    room.tell(Command::Hold);
    assert!(!room.desk.status().settled);
    let out = room.pump(40);
    assert!(out[..20].is_sorted_by(|a, b| a > b) && out[0] < 0.5);
    assert_eq!(out[19..], [0.0; 21]);
    let status = room.desk.status();
    assert_eq!(
        (room.at(), status.state, status.settled),
        (30, State::Held, true)
    );
    let cut = |frames| Outcome::Cut(Frames::new(frames));
    assert_eq!(room.finished(), [(1, cut(30)), (2, cut(0))]);
    // Fed again at the place of the hold it sounds from its first sample.
    room.feed(1, 30, 2, 0.5);
    room.tell(Command::Play);
    assert_eq!(room.pump(3), [0.5, 0.5, 0.0]);
}

#[test]
fn a_hold_taken_back_within_its_fade_goes_on() {
    let mut room = Room::new();
    room.tell(Command::Play);
    room.feed(1, 0, 60, 1.0);
    // Due while it fades: not begun then, and not in its middle afterwards.
    room.feed(2, 15, 20, 1.0);
    room.pump(10);
    room.tell(Command::Hold);
    assert_eq!(room.pump(10).last(), Some(&0.5));
    room.tell(Command::Play);
    let out = room.pump(50);
    assert_eq!((out[0], out[9], out[39], out[40]), (0.55, 1.0, 1.0, 0.0));
    assert_eq!(room.finished(), [(2, Outcome::Late), (1, Outcome::Played)]);
}

#[test]
fn a_jump_drops_what_waits_and_keeps_what_is_fed_after_it() {
    let mut room = Room::new();
    room.tell(Command::Play);
    room.feed(1, 0, 100, 0.5);
    room.feed(2, 200, 5, 0.5);
    room.pump(50);
    room.tell(Command::Jump(FrameAt::new(10)));
    room.feed(3, 10, 2, 0.25);
    room.feed(4, 9, 2, 0.25);
    let out = room.pump(23);
    assert_eq!(out[19..], [0.0, 0.25, 0.25, 0.0]);
    assert_eq!(room.at(), 13);
    let cut = Outcome::Cut(Frames::new(70));
    assert_eq!(
        room.finished(),
        [
            (2, Outcome::Dropped),
            (4, Outcome::Late),
            (1, cut),
            (3, Outcome::Played)
        ]
    );
}

#[test]
fn a_jump_while_held_stays_held() {
    let mut room = Room::new();
    room.tell(Command::Jump(FrameAt::new(500)));
    room.pump(10);
    assert_eq!((room.at(), room.desk.status().state), (500, State::Held));
}

#[test]
fn a_clip_after_its_time_is_dropped_and_counted() {
    let mut room = Room::new();
    room.tell(Command::Play);
    room.pump(10);
    room.feed(1, 9, 5, 0.5);
    assert_eq!(room.pump(10), [0.0; 10]);
    assert_eq!(room.finished(), [(1, Outcome::Late)]);
    assert_eq!(room.desk.status().late, 1);
}

#[test]
fn what_is_spoken_over_is_heard_in_a_hold_one_after_another() {
    let mut room = Room::new();
    room.desk.speak_over(clip(1, 1, 2, 0.5)).unwrap();
    room.desk.speak_over(clip(2, 2, 1, 0.25)).unwrap();
    assert_eq!(room.pump(7), [0.0, 0.5, 0.5, 0.0, 0.0, 0.25, 0.0]);
    assert_eq!(room.at(), 0);
    assert_eq!(
        room.finished(),
        [(1, Outcome::Played), (2, Outcome::Played)]
    );
}

#[test]
fn a_hold_silences_what_is_spoken_over_and_what_comes_after_it_is_heard() {
    let mut room = Room::new();
    room.desk.speak_over(clip(1, 0, 100, 0.5)).unwrap();
    room.desk.speak_over(clip(2, 0, 100, 0.5)).unwrap();
    room.pump(10);
    room.tell(Command::Hold);
    room.desk.speak_over(clip(3, 0, 1, 0.25)).unwrap();
    let out = room.pump(23);
    assert_eq!(out[19..], [0.0, 0.25, 0.0, 0.0]);
}

#[test]
fn a_clear_drops_what_it_names_and_nothing_that_sounds() {
    let mut room = Room::new();
    room.tell(Command::Play);
    for id in 0..4 {
        room.feed(id, id * 10, 2, 0.5);
    }
    room.pump(1);
    room.tell(Command::Clear(Clear::From(FrameAt::new(20))));
    assert_eq!(room.pump(1), [0.5]);
    room.tell(Command::Clear(Clear::Ids(0)));
    assert_eq!(room.pump(40), [0.0; 40]);
    let ids: Vec<_> = room.finished().into_iter().map(|it| it.0).collect();
    assert_eq!(ids, [3, 2, 0, 1]);
}

#[test]
fn a_stop_gives_everything_back_for_good() {
    let mut room = Room::new();
    room.tell(Command::Play);
    room.feed(1, 0, 100, 0.5);
    room.feed(2, 50, 100, 0.5);
    room.pump(10);
    room.tell(Command::Stop);
    room.pump(30);
    room.feed(3, 500, 1, 0.5);
    room.tell(Command::Play);
    room.tell(Command::Jump(FrameAt::START));
    assert_eq!(room.pump(600), [0.0; 600]);
    assert_eq!(room.finished().len(), 3);
    let status = room.desk.status();
    assert_eq!((status.state, status.waiting), (State::Stopped, 0));
}

#[test]
fn the_volume_moves_in_small_steps_and_no_more_than_so_far() {
    let mut room = Room::new();
    room.tell(Command::Play);
    room.feed(1, 0, 1000, 0.8);
    room.tell(Command::Volume(Db::new(60.0)));
    let out = room.pump(100);
    assert!(out.windows(2).all(|it| (it[1] - it[0]).abs() < 0.03));
    assert_eq!(out[99], 0.8 * Desk::LOUDEST.gain());
    room.tell(Command::Volume(Db::new(0.0)));
    room.tell(Command::Volume(Db::new(f32::NAN)));
    assert_eq!(room.pump(60)[59], 0.8);
    room.tell(Command::Volume(Db::new(f32::NEG_INFINITY)));
    assert_eq!(room.pump(60)[59], 0.0);
    room.feed(2, 230, 5, f32::NAN);
    assert!(room.pump(60).iter().all(|it| *it == 0.0));
}

#[test]
fn a_lost_device_is_a_hold_at_once() {
    let mut room = Room::new();
    room.tell(Command::Play);
    room.feed(1, 0, 100, 0.5);
    room.feed(2, 40, 1, 0.5);
    room.pump(10);
    room.mixer.device_lost();
    assert_eq!(room.finished(), [(1, Outcome::Cut(Frames::new(10)))]);
    assert_eq!(room.pump(50), [0.0; 50]);
    assert_eq!((room.at(), room.desk.status().state), (10, State::Held));
    room.tell(Command::Play);
    assert_eq!(room.pump(31)[30], 0.5);
}

#[test]
fn a_full_desk_hands_the_clip_back_and_still_takes_commands() {
    let mut room = Room::new();
    for id in 0..16 {
        room.feed(id, 10 + id, 1, 0.5);
    }
    assert_eq!(room.desk.feed(clip(99, 0, 1, 0.5)).unwrap_err().0.id, 99);
    room.tell(Command::Clear(Clear::All));
    room.pump(1);
    assert_eq!((room.desk.room(), room.finished().len()), (0, 16));
    assert_eq!(room.desk.room(), 16);
}

#[test]
fn empty_clips_and_odd_buffers_do_no_harm() {
    let (mut desk, mut mixer) = desk_and_mixer(SampleRate::from_hz(1), 3, 0);
    desk.tell(Command::Play).unwrap();
    desk.feed(clip(1, 0, 0, 0.0)).unwrap();
    let mut out = [f32::NAN; 10];
    mixer.fill(&mut out);
    assert_eq!(out, [0.0; 10]);
    assert_eq!(desk.finished().unwrap().outcome, Outcome::Played);
    desk.speak_over(clip(2, 0, 0, 0.0)).unwrap();
    mixer.fill(&mut out);
    assert_eq!(desk.finished().unwrap().outcome, Outcome::Played);
    desk.feed(clip(u64::MAX, u64::MAX, 3, 0.5)).unwrap();
    desk.tell(Command::Jump(FrameAt::new(u64::MAX))).unwrap();
    mixer.fill(&mut out);
    mixer.fill(&mut out);
}

#[test]
fn silence_spoken_over_the_session_wakes_a_loudspeaker_before_the_clock_starts() {
    let mut room = Room::new();
    room.feed(1, 0, 2, 0.5);
    // No samples, 30 frames of silence before them.
    room.desk.speak_over(clip(2, 30, 0, 0.0)).unwrap();
    room.tell(Command::PlayWhenSaid);
    let mut heard = [0.0; 40];
    heard[30..32].fill(0.5);
    assert_eq!(room.pump(40), heard);
    assert_eq!(room.at(), 10);
}

#[test]
fn a_count_that_was_to_start_the_clock_is_lost_with_its_device() {
    let mut room = Room::new();
    room.feed(1, 0, 2, 0.5);
    room.desk.speak_over(clip(2, 0, 20, 0.1)).unwrap();
    room.tell(Command::PlayWhenSaid);
    room.pump(10);
    room.mixer.device_lost();
    // What is said after its return starts nothing.
    room.desk.speak_over(clip(3, 0, 5, 0.1)).unwrap();
    room.pump(50);
    assert_eq!(room.at(), 0);
}

#[test]
fn one_clip_is_taken_back_by_its_id() {
    let mut room = Room::new();
    room.feed(1, 10, 2, 0.5);
    room.feed(2, 20, 2, 0.5);
    room.tell(Command::Clear(Clear::Id(1)));
    room.tell(Command::Play);
    assert!(room.pump(20).iter().all(|sample| *sample == 0.0));
    assert_eq!(room.pump(2), [0.5, 0.5]);
}
