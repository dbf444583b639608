//! The ear beside PyPI's webrtcvad-wheels 2.0.14, the detector of the WebRTC project, on the same sound.

use std::io::Write;
use std::process::Command;
use std::process::Stdio;

use sidevoice::base::units::At;
use sidevoice::rehearse::ear::Span;

use super::coach::Scene;
use super::coach::takes;
use crate::common::python;
use crate::common::root;
use crate::speech::lines::LINES;

/// Hears a scene with the reference in each of its four modes, with the pauses and knocks that ours has.
#[expect(clippy::disallowed_methods, reason = "asks an outside reference")]
fn by_reference(scene: &Scene) -> Vec<Vec<Span>> {
    let mut script = Command::new(python())
        .arg(root().join("tests/reference/voice.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = script.stdin.take().unwrap();
    let whole = |it: &f32| ((it * 32_767.0) as i16).to_le_bytes();
    let bytes: Vec<u8> = scene.samples.iter().flat_map(whole).collect();
    let writer = std::thread::spawn(move || to.write_all(&bytes));
    let said = script.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    assert!(said.status.success(), "voice.py failed");
    let mut modes = vec![Vec::new(); 4];
    for line in String::from_utf8(said.stdout).unwrap().lines() {
        let numbers: Vec<i64> = line.split(' ').map(|it| it.parse().unwrap()).collect();
        modes[numbers[0] as usize].push(Span {
            from: At::from_ms(numbers[1]),
            to: At::from_ms(numbers[2]),
        });
    }
    modes
}

#[test]
fn edges_are_nearer_to_the_truth_than_those_of_webrtcvad_and_less_is_called_speech() {
    for voice in ["compact", "espeak-en"] {
        let quiet = Scene::of(&takes(voice, &LINES[..40]));
        let (noisy, _) = quiet.in_noise(10.0);
        for (scene, name) in [(quiet, "quiet"), (noisy, "noise")] {
            let ours = scene.score(&scene.heard());
            for (mode, found) in by_reference(&scene).iter().enumerate() {
                let theirs = scene.score(found);
                let told = format!(
                    "{voice} in {name}, mode {mode}: {:.0} ms and {:.3} of silence, beside {:.0} ms and {:.3}",
                    ours.distance(),
                    ours.false_share,
                    theirs.distance(),
                    theirs.false_share
                );
                assert!(!found.is_empty(), "{told}");
                assert!(ours.missed <= theirs.missed, "{told}");
                assert!(ours.distance() <= theirs.distance(), "{told}");
                assert!(ours.false_share <= theirs.false_share, "{told}");
            }
        }
    }
}
