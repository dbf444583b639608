//! Music that nobody wrote: a beat, chords and hiss, made by ffmpeg, in the blocks of a bed.

use std::process::Command;

use ebur128::EbuR128;
use ebur128::Mode;
use sidevoice::sound::mix::BED_BLOCK;
use sidevoice::sound::mix::BedBlock;

/// Frames a momentary window: 400 ms.
const WINDOW: usize = 19_200;

/// A beat twice a second, a chord on each side, hiss; eight seconds of verse, then eight of a chorus that
/// is some 12 dB louder.
pub fn music(seconds: u32) -> Vec<[f32; 2]> {
    let part = |chord: &str| {
        format!(
            "if(lt(mod(t,16),8),0.25,1)*(0.5*sin(2*PI*62*t)*exp(-12*mod(t,0.5))\
             +0.25*(random(0)-0.5)*exp(-30*mod(t+0.25,0.5))+0.15*({chord})+0.02*(random(1)-0.5))"
        )
    };
    let left = part("sin(2*PI*220*t)+sin(2*PI*1108*t)+sin(2*PI*1760*t)");
    let right = part("sin(2*PI*277*t)+sin(2*PI*880*t)+sin(2*PI*1318*t)");
    let source = format!("aevalsrc='{left}|{right}':s=48000:d={seconds}");
    let output = Command::new("ffmpeg")
        .args(["-v", "error", "-f", "lavfi", "-i", &source])
        .args(["-f", "f32le", "-"])
        .output()
        .expect("ffmpeg is needed: install the package `ffmpeg`");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    let samples = output.stdout.as_chunks::<4>().0;
    let samples: Vec<f32> = samples.iter().map(|it| f32::from_le_bytes(*it)).collect();
    samples.as_chunks::<2>().0.to_vec()
}

/// Levels music to -23 LUFS (EBU R128) and cuts it into blocks, each with the loudness around it.
pub fn blocks(music: &[[f32; 2]]) -> Vec<BedBlock> {
    let mut meter = EbuR128::new(2, 48_000, Mode::I | Mode::M).unwrap();
    let mut momentary = Vec::new();
    for block in music.chunks(BED_BLOCK) {
        meter.add_frames_f32(block.as_flattened()).unwrap();
        momentary.push(meter.loudness_momentary().unwrap() as f32);
    }
    let gain_db = -23.0 - meter.loudness_global().unwrap() as f32;
    let gain = 10f32.powf(gain_db / 20.0);
    let windows = WINDOW / BED_BLOCK;
    music
        .as_chunks::<BED_BLOCK>()
        .0
        .iter()
        .enumerate()
        .map(|(index, block)| {
            // Windows that begin up to 0.4 s before this block, up to those that end 3 s after it.
            let around = &momentary[index..momentary.len().min(index + windows + 300)];
            let loudest = around.iter().copied().fold(f32::NEG_INFINITY, f32::max);
            BedBlock {
                frames: block.map(|frame| frame.map(|sample| gain * sample)),
                loudness: loudest + gain_db,
            }
        })
        .collect()
}
