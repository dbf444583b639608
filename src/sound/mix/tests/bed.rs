//! The bed below the clips, at 48 kHz. Its right side is its left one turned over, so that half the
//! difference of the two channels is the bed alone and half their sum is all else.

use rtrb::Producer;
use rtrb::RingBuffer;

use super::super::*;
use super::clip;
use crate::base::tones::Tones;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

const MS: usize = 48;
const SECOND: u64 = 48_000;

/// As many blocks as a bed for a loudspeaker has: 3 s.
const BLOCKS: usize = 300;

/// The left side of the bed: constant, so that the gain itself is seen.
const LEFT: f32 = 0.25;

struct Hall {
    desk: Desk,
    mixer: Mixer,
    bed: Option<Producer<BedBlock>>,
    loudness: f32,
    /// All that came out: the bed's gain, and what else was heard.
    gains: Vec<f32>,
    heard: Vec<f32>,
}

impl Hall {
    fn new(loudness: f32) -> Self {
        let (bed, blocks) = RingBuffer::new(BLOCKS);
        let (desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 64);
        Hall {
            desk,
            mixer: mixer.with_bed(blocks),
            bed: Some(bed),
            loudness,
            gains: Vec::new(),
            heard: Vec::new(),
        }
    }

    /// Starts to play at once, the bed as it is.
    fn playing(loudness: f32, plays: BedPlays) -> Self {
        let mut hall = Hall::new(loudness);
        hall.tell(bed(0.0, 1, plays));
        hall.tell(Command::Play);
        hall.pump(1000);
        hall
    }

    fn tell(&mut self, command: Command) {
        self.desk.tell(command).unwrap();
    }

    fn feed(&mut self, id: u64, at_ms: usize, length_ms: usize) {
        let clip = clip(id, (at_ms * MS) as u64, length_ms * MS, 0.5);
        self.desk.feed(clip).unwrap();
    }

    /// Renders so many ms in buffers of 10 ms; the ring is kept full.
    fn pump(&mut self, ms: usize) {
        for _ in 0..ms / 10 {
            self.fill_ring();
            let mut out = [f32::NAN; 960];
            self.mixer.fill(&mut out);
            for frame in out.as_chunks::<2>().0 {
                self.gains.push((frame[0] - frame[1]) / (2.0 * LEFT));
                self.heard.push((frame[0] + frame[1]) / 2.0);
            }
        }
    }

    fn fill_ring(&mut self) {
        let loudness = self.loudness;
        while let Some(bed) = &mut self.bed
            && bed.slots() > 0
        {
            bed.push(block(loudness)).unwrap();
        }
    }

    /// Returns the bed's level in dB at this ms.
    fn level(&self, ms: usize) -> f32 {
        Db::from_gain(self.gains[ms * MS]).db()
    }

    /// Returns the place, in ms, from which on the bed is this far down.
    fn down(&self, from_ms: usize, db: f32) -> usize {
        let lower = |gain: &f32| *gain < Db::new(-db).gain();
        let from = from_ms * MS;
        (from + self.gains[from..].iter().position(lower).unwrap()) / MS
    }

    /// Checks that no step of the gain can be heard: no way is steeper than 20 dB in 60 ms along half a
    /// cosine, 0.011 dB a frame.
    fn check_no_click(&self) {
        for (at, pair) in self.gains.windows(2).enumerate() {
            let step = (pair[1] - pair[0]).abs();
            assert!(step < 0.001, "{step} at {} ms", at / MS);
        }
    }
}

fn block(loudness: f32) -> BedBlock {
    BedBlock {
        frames: [[LEFT, -LEFT]; BED_BLOCK],
        loudness,
    }
}

fn bed(level: f32, fade_ms: i64, plays: BedPlays) -> Command {
    Command::Bed(BedAim {
        level: Db::new(level),
        fade: Millis::from_ms(fade_ms),
        plays,
    })
}

#[test]
fn a_bed_waits_until_it_is_told_and_then_moves_to_its_level_without_a_step() {
    let mut hall = Hall::new(-23.0);
    hall.tell(Command::Play);
    hall.pump(500);
    assert!(hall.gains.iter().all(|gain| *gain == 0.0));
    hall.tell(bed(-7.0, 1000, BedPlays::WithTheClock));
    hall.pump(1500);
    assert!((hall.level(1990) + 7.0).abs() < 0.01);
    hall.tell(bed(-13.0, 300, BedPlays::WithTheClock));
    hall.pump(500);
    assert!((hall.level(2490) + 13.0).abs() < 0.01);
    hall.tell(bed(f32::NAN, 300, BedPlays::WithTheClock));
    hall.pump(500);
    assert_eq!(hall.gains.last(), Some(&0.0));
    hall.check_no_click();
}

#[test]
fn it_dips_before_what_is_planned_and_the_clips_come_out_as_they_went_in() {
    let mut hall = Hall::playing(-18.0, BedPlays::WithTheClock);
    // Audible from its 30th ms on: that is the onset.
    let mut samples = vec![0.001; 30 * MS];
    samples.extend(vec![0.5; 1000 * MS]);
    let line = Clip {
        id: 1,
        at: FrameAt::new(3 * SECOND),
        samples: samples.into(),
    };
    hall.desk.feed(line).unwrap();
    // 0.9 s later, and 2 s after that.
    hall.feed(2, 4930, 500);
    hall.feed(3, 7430, 100);
    hall.pump(8000);
    for (onset, from) in [(3030, 1500), (7430, 6500)] {
        for db in [0.01, 1.0, 3.0] {
            let ahead = onset - hall.down(from, db);
            assert!(
                (200..=300).contains(&ahead),
                "{db} dB {ahead} ms ahead of {onset}"
            );
        }
    }
    for ms in (3000..5430).chain(7400..7530) {
        assert!(
            (hall.level(ms) + 12.0).abs() < 0.02,
            "{} at {ms}",
            hall.level(ms)
        );
    }
    assert!(hall.level(6400).abs() < 0.01);
    hall.check_no_click();
    // Heard to the sample, and nothing else is.
    assert_eq!(
        hall.heard.iter().filter(|it| **it == 0.5).count(),
        1600 * MS
    );
    assert!((hall.heard[3030 * MS - 1] - 0.001).abs() < 1e-6);
    assert_eq!(hall.heard[4930 * MS..5430 * MS], vec![0.5; 500 * MS]);
}

#[test]
fn what_is_spoken_over_the_session_finds_it_down_soon() {
    let mut hall = Hall::playing(-18.0, BedPlays::Always);
    hall.pump(1000);
    hall.desk.speak_over(clip(1, 0, 1000 * MS, 0.5)).unwrap();
    // The next answer is known of while the first is spoken: nothing pumps between.
    hall.desk
        .speak_over(clip(2, SECOND, 500 * MS, 0.5))
        .unwrap();
    hall.pump(4000);
    assert!((2050..=2060).contains(&hall.down(1500, 11.9)));
    for ms in 2060..4500 {
        assert!(
            (hall.level(ms) + 12.0).abs() < 0.02,
            "{} at {ms}",
            hall.level(ms)
        );
    }
    assert!(hall.level(5200).abs() < 0.01);
    hall.check_no_click();
}

#[test]
fn in_a_hold_it_fades_and_waits_and_goes_on_where_it_was() {
    let mut hall = Hall::playing(-23.0, BedPlays::WithTheClock);
    hall.tell(Command::Hold);
    hall.pump(10);
    assert!(
        hall.desk.status().settled,
        "the clock does not wait for the bed"
    );
    hall.pump(590);
    assert!(hall.gains[1200 * MS] > 0.1 && hall.gains[1401 * MS..].iter().all(|it| *it == 0.0));
    let taken = BLOCKS - hall.mixer.bed_ready();
    hall.pump(5000);
    assert_eq!(
        BLOCKS - hall.mixer.bed_ready(),
        taken,
        "it goes on though it waits"
    );
    hall.tell(Command::Play);
    hall.pump(600);
    assert!((hall.level(7150)).abs() < 0.01);
    hall.check_no_click();
}

#[test]
fn in_a_hold_it_plays_on_where_that_is_wished_for() {
    let mut hall = Hall::playing(-23.0, BedPlays::Always);
    hall.feed(1, 1100, 5000);
    hall.pump(1000);
    hall.tell(Command::Hold);
    hall.pump(1000);
    assert!((hall.level(1900) + 7.0).abs() < 0.02);
    assert!(
        hall.level(2990).abs() < 0.01,
        "what was cut no longer counts"
    );
    hall.check_no_click();
}

#[test]
fn a_count_that_starts_the_clock_and_the_tone_after_it_share_one_dip() {
    let mut hall = Hall::new(-18.0);
    hall.tell(bed(0.0, 1, BedPlays::Always));
    hall.pump(1000);
    hall.feed(1, 500, 150);
    hall.desk
        .speak_over(clip(2, SECOND, 300 * MS, 0.5))
        .unwrap();
    hall.tell(Command::PlayWhenSaid);
    hall.pump(3000);
    // The count from 2000 to 2300, then the clock runs, the tone from 2800 on.
    assert_eq!(hall.heard.iter().filter(|it| **it == 0.5).count(), 450 * MS);
    assert_eq!(
        (hall.heard[2300 * MS - 1], hall.heard[2800 * MS]),
        (0.5, 0.5)
    );
    assert!(hall.gains[1990 * MS..2950 * MS].iter().all(|it| *it < 0.26));
    assert!((1700..=1800).contains(&hall.down(1100, 0.5)));
    hall.check_no_click();
}

#[test]
fn a_jump_plays_on_and_dips_for_what_comes_at_the_new_place() {
    let mut hall = Hall::playing(-18.0, BedPlays::WithTheClock);
    hall.feed(1, 5000, 500);
    hall.pump(1000);
    hall.tell(Command::Jump(FrameAt::new(60 * SECOND)));
    hall.feed(2, 61_000, 500);
    hall.pump(2000);
    assert!((2700..=2800).contains(&hall.down(1000, 0.5)));
    assert!(hall.gains[1100 * MS..2690 * MS].iter().all(|it| *it > 0.99));
    hall.check_no_click();
}

#[test]
fn a_stop_is_done_when_the_bed_has_faded() {
    let mut hall = Hall::playing(-23.0, BedPlays::Always);
    hall.tell(Command::Stop);
    hall.pump(100);
    let status = hall.desk.status();
    assert_eq!((status.state, status.settled), (State::Stopped, false));
    hall.pump(200);
    assert!(hall.desk.status().settled);
    assert_eq!(hall.gains.last(), Some(&0.0));
    hall.check_no_click();
}

#[test]
fn a_lost_device_takes_nothing_of_it_and_it_comes_back_by_a_fade() {
    for plays in [BedPlays::Always, BedPlays::WithTheClock] {
        let mut hall = Hall::playing(-23.0, plays);
        hall.feed(1, 1000, 400);
        hall.pump(100);
        hall.mixer.device_lost();
        let ready = hall.mixer.bed_ready();
        hall.mixer.fill(&mut []);
        assert_eq!(hall.mixer.bed_ready(), ready);
        hall.tell(Command::Play);
        hall.gains.clear();
        hall.pump(600);
        let rises = hall.gains.windows(2).all(|pair| pair[1] > pair[0] - 1e-5);
        assert!(hall.gains[0] < 0.01 && rises);
        assert!(hall.level(590).abs() < 0.01);
        hall.check_no_click();
    }
}

#[test]
fn a_bed_that_runs_low_fades_before_it_is_used_up_and_speech_does_not_wait() {
    let mut hall = Hall::playing(-23.0, BedPlays::WithTheClock);
    hall.feed(1, 1500, 500);
    let maker = hall.bed.take();
    hall.pump(4000);
    assert_eq!(hall.heard.iter().filter(|it| **it == 0.5).count(), 500 * MS);
    assert_eq!(hall.gains.last(), Some(&0.0));
    assert_eq!(hall.desk.status().bed_gaps, 1);
    // A few blocks are not enough to come back.
    hall.bed = maker;
    for _ in 0..15 {
        hall.bed.as_mut().unwrap().push(block(-23.0)).unwrap();
    }
    let maker = hall.bed.take();
    hall.pump(100);
    assert_eq!(hall.gains.last(), Some(&0.0));
    hall.bed = maker;
    hall.pump(600);
    assert!((hall.level(5690)).abs() < 0.01);
    hall.check_no_click();
}

#[test]
fn the_end_of_all_music_is_a_fade_and_no_gap() {
    let mut hall = Hall::playing(-23.0, BedPlays::WithTheClock);
    hall.bed = None;
    hall.pump(4000);
    assert_eq!(hall.gains.last(), Some(&0.0));
    assert_eq!(hall.desk.status().bed_gaps, 0);
    hall.check_no_click();
}

#[test]
fn the_volume_is_that_of_the_bed_too_and_one_channel_hears_both_sides() {
    let mut hall = Hall::playing(-23.0, BedPlays::WithTheClock);
    hall.tell(Command::Volume(Db::new(-6.0)));
    hall.pump(200);
    assert!((hall.level(1190) + 6.0).abs() < 0.01);
    hall.check_no_click();
    for (channels, wanted) in [
        (1, vec![0.4]),
        (2, vec![0.6, 0.2]),
        (3, vec![0.6, 0.2, 0.6]),
    ] {
        let (mut ring, blocks) = RingBuffer::new(BLOCKS);
        while ring.slots() > 0 {
            let frames = [[0.6, 0.2]; BED_BLOCK];
            ring.push(BedBlock {
                frames,
                loudness: -23.0,
            })
            .unwrap();
        }
        let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, channels, 1);
        let mut mixer = mixer.with_bed(blocks);
        desk.tell(bed(0.0, 1, BedPlays::Always)).unwrap();
        let mut out = vec![0.0; SECOND as usize * usize::from(channels)];
        mixer.fill(&mut out);
        let last = &out[out.len() - usize::from(channels)..];
        assert!(
            last.iter().zip(&wanted).all(|(a, b)| (a - b).abs() < 1e-6),
            "{last:?}"
        );
    }
}

#[test]
fn what_comes_of_a_bed_does_not_depend_on_the_buffer() {
    let rendered = |frames: usize| {
        let mut hall = Hall::new(-15.0);
        hall.fill_ring();
        hall.feed(1, 500, 300);
        hall.tell(bed(-3.0, 100, BedPlays::WithTheClock));
        hall.tell(Command::Play);
        let mut out = vec![0.0; 2 * SECOND as usize];
        out.chunks_mut(2 * frames)
            .for_each(|it| hall.mixer.fill(it));
        out
    };
    let wanted = rendered(480);
    for frames in [1, 37, 960, 48_000] {
        assert!(rendered(frames) == wanted, "{frames}");
    }
}

/// The power of a signal from 500 to 2000 Hz by a plain Fourier sum, 10 Hz apart.
fn band_power(signal: &[f32]) -> f64 {
    let of = |hz: f64| {
        let step = std::f64::consts::TAU * hz / 48_000.0;
        let (mut re, mut im) = (0.0, 0.0);
        for (index, sample) in signal.iter().enumerate() {
            re += f64::from(*sample) * (step * index as f64).cos();
            im += f64::from(*sample) * (step * index as f64).sin();
        }
        re * re + im * im
    };
    (50..=200).map(|it| of(f64::from(it) * 10.0)).sum()
}

/// The loudest that a bed can be in a tone's band: all its power there, as a sum of many partials.
#[test]
fn a_tone_stands_6_db_clear_of_the_bed_in_its_band() {
    let partials: Vec<f32> = (0..30).map(|it| 500.0 + 50.7 * it as f32).collect();
    let wave = |n: usize| -> f32 {
        let turn = |hz: &f32| (std::f32::consts::TAU * hz * n as f32 / 48_000.0 + hz).sin();
        partials.iter().map(turn).sum::<f32>() * 0.06
    };
    let wave: Vec<f32> = (0..8 * SECOND as usize).map(wave).collect();
    let mut meter = ebur128::EbuR128::new(2, 48_000, ebur128::Mode::M).unwrap();
    let mut loudness = f32::NEG_INFINITY;
    for block in wave.chunks(480) {
        let both: Vec<f32> = block.iter().flat_map(|it| [*it, -it]).collect();
        meter.add_frames_f32(&both).unwrap();
        loudness = loudness.max(meter.loudness_momentary().unwrap() as f32);
    }
    assert!(loudness > -15.0, "louder than speech: {loudness} LUFS");
    let kinds = [Tones::Clear, Tones::Soft];
    let tones = kinds
        .into_iter()
        .flat_map(|kind| Tone::ALL.map(|tone| (kind, tone)));
    for ((kind, tone), at) in tones.zip([3, 4, 5, 3, 4, 5]) {
        let (mut ring, blocks) = RingBuffer::new(800);
        for block in wave.as_chunks::<BED_BLOCK>().0 {
            let frames = block.map(|it| [it, -it]);
            ring.push(BedBlock { frames, loudness }).unwrap();
        }
        let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 8);
        let mut mixer = mixer.with_bed(blocks);
        desk.tell(bed(0.0, 1, BedPlays::Always)).unwrap();
        desk.tell(Command::Play).unwrap();
        desk.feed(tone.clip(kind, 1, FrameAt::new(at * SECOND)))
            .unwrap();
        let mut out = vec![0.0; 7 * 2 * SECOND as usize];
        mixer.fill(&mut out);
        let from = (at * SECOND) as usize;
        let during = &out.as_chunks::<2>().0[from..from + 100 * MS];
        let bed: Vec<f32> = during.iter().map(|it| (it[0] - it[1]) / 2.0).collect();
        let tone_alone: Vec<f32> = during.iter().map(|it| (it[0] + it[1]) / 2.0).collect();
        let clear = 10.0 * (band_power(&tone_alone) / band_power(&bed)).log10();
        assert!(clear >= 6.0, "{kind:?} {tone:?}: {clear} dB");
    }
}
