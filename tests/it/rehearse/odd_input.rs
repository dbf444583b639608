//! What comes in is not always speech in a quiet room: rates, chunks, silence, music, our own prompts.

use sidevoice::base::units::At;
use sidevoice::base::units::Frames;
use sidevoice::base::units::Millis;
use sidevoice::base::units::SampleRate;
use sidevoice::rehearse::ear::Ear;
use sidevoice::rehearse::ear::Health;
use sidevoice::rehearse::ear::Span;
use sidevoice::rehearse::ear::UnfitRate;
use sidevoice::sound::dsp::flow::Flow;

use super::coach::NEAR;
use super::coach::RATE;
use super::coach::Scene;
use super::coach::heard;
use super::coach::pink;
use super::coach::takes;
use crate::speech::lines::LINES;

/// How finely a mask cuts, in ms.
const FRAME: i64 = 8;

fn at(ms: i64) -> At {
    At::from_ms(ms)
}

/// A few lines of the compact voice in a room that hisses a little.
fn room() -> Scene {
    let mut scene = Scene::of(&takes("compact", &LINES[..6]));
    let noise = pink(scene.samples.len());
    for (sample, noise) in scene.samples.iter_mut().zip(noise) {
        *sample += noise * 0.005;
    }
    scene
}

fn at_rate(samples: &[f32], hz: u32) -> Vec<f32> {
    let mut made = Vec::new();
    let mut flow = Flow::new(RATE, SampleRate::from_hz(hz)).unwrap();
    flow.push(samples, &mut |it| made.extend_from_slice(it));
    flow.finish(&mut |it| made.extend_from_slice(it));
    made
}

/// How the input is at the end of samples.
fn health(ear: &mut Ear, samples: &[f32], rate: SampleRate) -> Health {
    ear.push(samples);
    ear.health(Frames::new(samples.len() as u64).millis(rate).after_start())
}

trait AfterStart {
    fn after_start(self) -> At;
}

impl AfterStart for Millis {
    fn after_start(self) -> At {
        At::START + self
    }
}

#[test]
fn a_coach_is_heard_at_any_rate_of_a_microphone() {
    let scene = room();
    for hz in [8_000, 11_025, 16_000, 22_050, 44_100, 96_000, 192_000] {
        let samples = at_rate(&scene.samples, hz);
        let score = scene.score(&heard(&samples, SampleRate::from_hz(hz), 960));
        assert_eq!(score.missed, 0, "{hz} Hz");
        // Half the sound of consonants lies above what 8 kHz can carry.
        let most = if hz < 16_000 { 2 * NEAR } else { NEAR };
        for (off, line) in score.starts.iter().chain(&score.ends) {
            assert!(off.abs() <= most, "{hz} Hz: {off} ms at {:?}", LINES[*line]);
        }
    }
    for hz in [7_999, 192_001, 1] {
        let refused = Ear::new(SampleRate::from_hz(hz)).err();
        assert_eq!(refused, Some(UnfitRate(hz)));
    }
}

#[test]
fn chunks_of_any_size_give_the_same_spans() {
    let scene = room();
    for hz in [16_000, 44_100, 48_000] {
        let samples = at_rate(&scene.samples, hz);
        let rate = SampleRate::from_hz(hz);
        let whole = heard(&samples, rate, samples.len());
        assert!(whole.len() >= scene.truth.len(), "{whole:?}");
        for chunk in [1, 480, 48_000] {
            assert_eq!(heard(&samples, rate, chunk), whole, "{chunk} at {hz} Hz");
        }
    }
}

#[test]
fn a_span_is_told_soon_after_it_is_over_and_the_last_one_at_the_end() {
    let scene = room();
    let mut ear = Ear::new(RATE).unwrap();
    let mut told = 0;
    for (n, chunk) in scene.samples.chunks(480).enumerate() {
        let now = at((n as i64 + 1) * 10);
        for span in ear.push(chunk) {
            told += 1;
            let waited = now - span.to;
            assert!(waited <= Millis::from_ms(500), "{waited} after {span:?}");
        }
    }
    assert!(told >= scene.truth.len());
    let last = scene.truth[5];
    let cut = &scene.samples[..(last.to.ms() as usize - 100) * 48];
    let found = heard(cut, RATE, 480);
    let end = found.last().unwrap().to;
    assert!((end - last.to + Millis::from_ms(100)).ms().abs() <= NEAR);
}

#[test]
fn masks_cut_what_is_heard_and_an_echo_of_a_prompt_is_no_speech() {
    let scene = room();
    // All of the second line is ours, with 200 ms of it left as an echo; the third is ours up to its middle.
    let (second, third) = (scene.truth[1], scene.truth[2]);
    let middle = third.from + Millis::from_ms(third.length().ms() / 2);
    let mut ear = Ear::new(RATE).unwrap();
    ear.mask(third.from - Millis::from_ms(300), middle);
    ear.mask(second.from, second.to - Millis::from_ms(200));
    let mut found = ear.push(&scene.samples);
    found.extend(ear.finish());
    let within = |line: Span| {
        let inside = |it: &&Span| it.from < line.to && it.to > line.from;
        found.iter().filter(inside).copied().collect::<Vec<_>>()
    };
    assert_eq!(within(second), [], "{found:?}");
    let rest = within(third);
    let late = (rest[0].from - middle).ms();
    assert!((0..=FRAME).contains(&late), "{found:?}");
    assert!((rest[0].to - third.to).ms().abs() <= 2 * NEAR, "{found:?}");
    for other in [0, 3, 4, 5] {
        assert!(!within(scene.truth[other]).is_empty(), "{found:?}");
    }
    // A mask that begins within speech ends it.
    let mut ear = Ear::new(RATE).unwrap();
    ear.mask(middle, third.to);
    let mut found = ear.push(&scene.samples);
    found.extend(ear.finish());
    let ended = |it: &Span| (0..=FRAME).contains(&(middle - it.to).ms());
    assert!(found.iter().any(ended), "{found:?}");
}

#[test]
fn lost_frames_let_time_pass() {
    let scene = room();
    let mut ear = Ear::new(RATE).unwrap();
    // What is lost lies between the third line and the fourth.
    let from = RATE
        .frame_at(scene.truth[2].to + Millis::from_ms(400))
        .index() as usize;
    let mut found = ear.push(&scene.samples[..from]);
    found.extend(ear.lost(Frames::new(24_000)));
    found.extend(ear.push(&scene.samples[from + 24_000..]));
    found.extend(ear.finish());
    let score = scene.score(&found);
    assert_eq!(score.missed, 0);
    let off = |it: &(i64, usize)| it.0.abs() <= NEAR;
    assert!(score.starts.iter().all(off), "{:?}", score.starts);
}

#[test]
fn a_quarter_of_an_hour_of_silence_finds_nothing_and_takes_no_memory() {
    let mut ear = Ear::new(RATE).unwrap();
    let noise: Vec<f32> = pink(48_000 * 10).iter().map(|it| it * 0.01).collect();
    assert_eq!(ear.push(&noise), []);
    let mut found = 0;
    assert_no_alloc::assert_no_alloc(|| {
        for _ in 1..90 {
            for chunk in noise.chunks(960) {
                found += ear.push(chunk).len();
            }
        }
    });
    assert_eq!(found, 0);
    assert_eq!(ear.health(at(900_000)), Health::Good);
    assert_eq!(ear.finish(), []);
}

#[test]
fn a_muted_microphone_and_one_that_stopped_are_told() {
    let mut ear = Ear::new(RATE).unwrap();
    assert_eq!(ear.health(at(100)), Health::Measuring);
    let since = Millis::from_secs(3);
    let zeros = vec![0.0; 144_000];
    assert_eq!(health(&mut ear, &zeros, RATE), Health::Muted { since });
    assert_eq!(ear.finish(), []);

    let scene = room();
    let mut ear = Ear::new(RATE).unwrap();
    assert_eq!(health(&mut ear, &scene.samples, RATE), Health::Good);
    let over = Frames::new(scene.samples.len() as u64).millis(RATE);
    let since = Millis::from_secs(4);
    let now = over.after_start() + since;
    assert_eq!(ear.health(now), Health::Stopped { since });
    let told = ear.health(now).to_string();
    assert!(told.contains("4 s"), "{told}");
}

#[test]
fn a_microphone_that_is_cut_off_or_too_soft_is_told() {
    let scene = room();
    let scaled = |gain: f32| {
        let cut = |it: &f32| (it * gain).clamp(-1.0, 1.0);
        scene.samples.iter().map(cut).collect::<Vec<_>>()
    };
    let told = |gain: f32| health(&mut Ear::new(RATE).unwrap(), &scaled(gain), RATE);
    assert_eq!(told(1.0), Health::Good);
    match told(30.0) {
        Health::Clipped { share } => assert!((0.1..0.9).contains(&share), "{share}"),
        other => panic!("{other:?}"),
    }
    match told(0.002) {
        Health::Quiet { level } => assert!((-80.0..-65.0).contains(&level.db()), "{level:?}"),
        other => panic!("{other:?}"),
    }
}

/// Chords of four tones with overtones, a beat four times a second: no recording, but as dense and as tonal.
fn music(count: usize, gain: f32) -> Vec<f32> {
    let noise = pink(count);
    let sample = |n: usize| {
        let t = n as f32 / 48_000.0;
        let root = [220.0, 174.6, 261.6, 196.0][(t / 2.0) as usize % 4];
        let beat = (t * 4.0).fract() / 4.0;
        let tones = [1.0, 1.25, 1.5, 2.0].into_iter().flat_map(|tone| {
            (1..6).map(move |over| {
                let over = over as f32;
                (std::f32::consts::TAU * root * tone * over * t).sin() / over
            })
        });
        let chord = tones.sum::<f32>() * 0.1 * (-beat * 4.0).exp();
        gain * (chord + noise[n] * 2.0 * (-beat * 40.0).exp())
    };
    (0..count).map(sample).collect()
}

#[test]
fn music_that_speech_cannot_be_told_from_is_no_verdict() {
    for quiet_s in [0, 10] {
        let mut samples: Vec<f32> = pink(48_000 * 40).iter().map(|it| it * 0.005).collect();
        let from = 48_000 * quiet_s;
        let played = music(samples.len() - from, 0.3);
        for (sample, music) in samples[from..].iter_mut().zip(played) {
            *sample += music;
        }
        let mut ear = Ear::new(RATE).unwrap();
        let told = health(&mut ear, &samples, RATE);
        assert!(matches!(told, Health::TooLoud { .. }), "{told:?}");
        assert!(told.to_string().contains("too loud to tell when you speak"));
    }
}

#[test]
fn speech_drowned_in_noise_is_no_verdict_and_noise_alone_is_no_speech() {
    let scene = Scene::of(&takes("compact", &LINES[..12]));
    let (drowned, _) = scene.in_noise(0.0);
    let mut ear = Ear::new(RATE).unwrap();
    let told = health(&mut ear, &drowned.samples, RATE);
    let found = drowned.heard();
    // Either nothing is found, or it is said that it cannot be relied on.
    let honest = found.is_empty() || matches!(told, Health::TooLoud { .. });
    assert!(honest, "{told:?} with {found:?}");
    // A fan is switched on half way: 20 dB more.
    let mut fan: Vec<f32> = pink(48_000 * 60).iter().map(|it| it * 0.02).collect();
    for sample in &mut fan[48_000 * 30..] {
        *sample *= 10.0;
    }
    assert_eq!(heard(&fan, RATE, 4800), []);
}

#[test]
fn what_is_no_number_and_what_is_beyond_full_scale_do_no_harm() {
    let mut scene = room();
    for (n, bad) in [f32::NAN, f32::INFINITY, -f32::INFINITY, 1e30]
        .into_iter()
        .enumerate()
    {
        scene.samples[1000 + n] = bad;
    }
    let score = scene.score(&scene.heard());
    assert_eq!(score.missed, 0);
    assert_eq!(heard(&[], RATE, 1), []);
    assert_eq!(heard(&[0.5], RATE, 1), []);
    // A line that begins at once is found, although the room could not be measured.
    let line = &takes("compact", &LINES[..1])[0];
    let found = heard(&line.samples, RATE, 480);
    assert!(!found.is_empty());
}
