//! Two devices by hand: one clock runs fast, and the ear keeps the room's pace; nothing is allocated.

use assert_no_alloc::assert_no_alloc;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Millis;
use sidevoice::base::units::SampleRate;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Command;
use sidevoice::sound::mix::Desk;
use sidevoice::sound::mix::Mixer;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::out::Channel;
use sidevoice::sound::out::Following;
use sidevoice::sound::out::Leading;
use sidevoice::sound::out::Sides;
use sidevoice::sound::out::Source;
use std::time::Duration;

const BUFFER: usize = 960;
const RATE: f64 = 48_000.0;

/// Both desks and mixers of a class; the ear is at most so far ahead.
fn pair(ahead: i64) -> [(Desk, Mixer); 2] {
    let hz = SampleRate::OUTPUT;
    let room = desk_and_mixer(hz, 1, 64);
    let (desk, mixer) = desk_and_mixer(hz, 1, 64);
    let mixer = mixer.ahead_of(&room.0, Millis::from_ms(ahead));
    [room, (desk, mixer)]
}

/// A short sound, every second and a half: of a kind that keeps its onset through a filter.
fn tick(id: u64) -> Clip {
    Clip {
        id,
        at: FrameAt::new(id * 72_000),
        samples: (0..2400)
            .map(|n| 0.5 * (n as f32 * 0.1).sin())
            .collect::<Vec<_>>()
            .into(),
    }
}

/// A device: its frames so far, when it asks for more, and the seconds at which sounds began.
struct Device {
    source: Box<dyn Source>,
    /// Frames a second.
    rate: f64,
    frames: u64,
    quiet: usize,
    onsets: Vec<f64>,
    /// The largest step between two frames.
    step: f32,
    last: f32,
}

impl Device {
    fn new(source: Box<dyn Source>, rate: f64) -> Self {
        Device {
            source,
            rate,
            frames: 0,
            quiet: 0,
            onsets: Vec::new(),
            step: 0.0,
            last: 0.0,
        }
    }

    fn due(&self) -> f64 {
        self.frames as f64 / self.rate
    }

    fn pump(&mut self, late: f64) {
        let channels = usize::from(self.source.channels());
        let mut out = vec![f32::NAN; BUFFER * channels];
        let now = Duration::from_secs_f64(1.0 + self.due() + late);
        self.source.fill(now, &mut out);
        for frame in out.chunks(channels) {
            let sample = frame[0];
            self.step = self.step.max((sample - self.last).abs());
            self.last = sample;
            match sample.abs() > 0.02 {
                true => {
                    if self.quiet > 4800 {
                        self.onsets.push(self.frames as f64 / self.rate);
                    }
                    self.quiet = 0;
                }
                false => self.quiet += 1,
            }
            self.frames += 1;
        }
    }
}

#[test]
fn an_ear_that_is_200_ppm_fast_stays_within_5_ms_over_ten_minutes() {
    for ppm in [200.0, -200.0] {
        let [(mut room, room_mixer), (mut ear, ear_mixer)] = pair(0);
        let leading = Leading::new(room_mixer);
        let following = Following::new(ear_mixer.into(), leading.clock(), 1).unwrap();
        for desk in [&mut room, &mut ear] {
            desk.tell(Command::Play).unwrap();
        }
        let mut devices = [
            Device::new(Box::new(leading), RATE),
            Device::new(Box::new(following), RATE * (1.0 + ppm / 1e6)),
        ];
        let mut fed = 1;
        while devices[0].due() < 600.0 {
            while fed * 72_000 < devices[0].frames + 10 * 48_000 {
                for desk in [&mut room, &mut ear] {
                    while desk.finished().is_some() {}
                    desk.feed(tick(fed)).unwrap();
                }
                fed += 1;
            }
            // Whose turn it is; callbacks come up to 8 ms late, by a hash of the frame.
            let next = usize::from(devices[1].due() < devices[0].due());
            let late = (devices[next].frames / 960 * 2_654_435_761 % 8_000) as f64 / 1e6;
            devices[next].pump(late);
        }
        let [room, ear] = &devices;
        assert!(room.onsets.len() > 390);
        let apart: Vec<f64> = room
            .onsets
            .iter()
            .zip(&ear.onsets)
            .map(|(room, ear)| (ear - room) * 1000.0)
            .collect();
        let (least, most) = apart
            .iter()
            .fold((f64::MAX, f64::MIN), |(least, most), it| {
                (least.min(*it), most.max(*it))
            });
        eprintln!("{ppm} ppm: {least:.2} to {most:.2} ms apart");
        // Where they begin is a matter of a buffer and the limiter's 5 ms; they stay there.
        assert!(least > -26.0 && most < 26.0, "{least} to {most} ms");
        assert!(most - least < 5.0, "{least} to {most} ms");
        // No click: no step is larger than in the room.
        assert!(
            ear.step < room.step * 1.05 + 0.01,
            "{} {}",
            ear.step,
            room.step
        );
        // The last one may lie at the very end.
        assert!(ear.onsets.len().abs_diff(room.onsets.len()) <= 1);
    }
}

#[test]
fn without_a_change_of_pace_ten_minutes_would_drift_apart_by_120_ms() {
    // 200 ppm of 600 s: the test above cannot pass by chance.
    let [(mut room, room_mixer), (mut ear, ear_mixer)] = pair(0);
    for desk in [&mut room, &mut ear] {
        desk.tell(Command::Play).unwrap();
    }
    let mut devices = [
        Device::new(room_mixer.into(), RATE),
        Device::new(ear_mixer.into(), RATE * 1.0002),
    ];
    while devices[0].due() < 600.0 {
        let next = usize::from(devices[1].due() < devices[0].due());
        devices[next].pump(0.0);
    }
    let places = [&room, &ear].map(|desk| desk.status().position.index() as i64);
    let apart = (places[1] - places[0]) / 48;
    assert!((95..145).contains(&apart), "{apart} ms");
}

#[test]
fn a_callback_for_two_neither_allocates_nor_frees() {
    let [(mut room, room_mixer), (mut ear, ear_mixer)] = pair(1500);
    let mut sides = Sides::new(room_mixer.into(), ear_mixer.into(), Channel::Right);
    let [(mut far, far_mixer), (mut own, own_mixer)] = pair(1500);
    let mut leading = Leading::new(far_mixer);
    let mut following = Following::new(own_mixer.into(), leading.clock(), 2).unwrap();
    let mut out = vec![0.0; BUFFER * 2];
    let mut heard = 0.0_f32;
    for round in 0..600_u64 {
        for desk in [&mut room, &mut ear, &mut far, &mut own] {
            while desk.finished().is_some() {}
            if round % 9 == 0 {
                let at = desk.status().position.index() + round % 4 * 30_000;
                desk.feed(Clip {
                    at: FrameAt::new(at),
                    ..tick(round)
                })
                .unwrap();
            }
            desk.tell(match round % 50 {
                0 => Command::Play,
                30 => Command::Hold,
                31 => Command::Place(FrameAt::new(round * 900)),
                40 => Command::Jump(FrameAt::new(round * 900)),
                _ => Command::Play,
            })
            .unwrap();
        }
        let now = Duration::from_millis(20 * round);
        assert_no_alloc(|| {
            sides.fill(now, &mut out);
            sides.fill(now, &mut out[..101]);
            leading.fill(now, &mut out[..BUFFER]);
            following.fill(now, &mut out);
            following.fill(now, &mut []);
        });
        heard = out.iter().fold(heard, |most, it| most.max(it.abs()));
    }
    assert!(heard > 0.3, "{heard}");
}
