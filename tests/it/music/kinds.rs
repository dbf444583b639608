//! Every kind of file that is read, at every rate and width, comes out as it went in.

use super::Folder;
use super::SECOND;
use super::amplitude;
use super::frames;
use super::pull;
use super::sine;

/// The amplitude at which a stereo sine of 1 kHz reads -23 LUFS: that of -23 dBFS (EBU Tech 3341).
const AT_LEVEL: f32 = 0.070_795;

#[test]
fn every_kind_and_rate_and_width_is_heard_at_the_level_of_all() {
    let kinds: &[(&str, u32, &[&str])] = &[
        ("a.wav", 48_000, &["-c:a", "pcm_s16le"]),
        ("8-bit.wav", 44_100, &["-c:a", "pcm_u8"]),
        ("24-bit.wav", 96_000, &["-c:a", "pcm_s24le"]),
        ("32-bit.wav", 44_100, &["-c:a", "pcm_s32le"]),
        ("float.wav", 22_050, &["-c:a", "pcm_f32le"]),
        ("192.wav", 192_000, &["-c:a", "pcm_s24le"]),
        ("one.wav", 8_000, &["-ac", "1"]),
        ("a.flac", 44_100, &[]),
        ("192.flac", 192_000, &["-sample_fmt", "s32"]),
        ("a.mp3", 44_100, &["-b:a", "192k"]),
        ("slow.mp3", 16_000, &["-b:a", "24k", "-ac", "1"]),
        ("vbr.mp3", 48_000, &["-q:a", "2"]),
        (
            "tagged.mp3",
            44_100,
            &["-metadata", "title=Outing", "-id3v2_version", "4"],
        ),
        ("a.ogg", 44_100, &["-c:a", "libvorbis"]),
        ("flac.oga", 48_000, &["-c:a", "flac", "-strict", "-2"]),
        // Endings that say something else.
        ("mp3-in.wav", 44_100, &["-f", "mp3"]),
        ("wav-in.mp3", 44_100, &["-f", "wav"]),
        ("flac-in.xyz", 44_100, &["-f", "flac"]),
        ("ogg-in", 44_100, &["-c:a", "libvorbis", "-f", "ogg"]),
    ];
    for (name, rate, args) in kinds {
        let folder = Folder::new();
        folder.make(name, &sine(1000, 0.25, 6.0, *rate), args);
        let mut bed = folder.bed();
        let heard = frames(&pull(&mut bed, 3 * SECOND));
        assert_eq!(bed.notices(), [""; 0], "{name}");
        let middle = &heard[48_000..96_000];
        let level = amplitude(middle, 1000);
        assert!((level / AT_LEVEL - 1.0).abs() < 0.02, "{name}: {level}");
        // Nothing but the sine: its power is all there is, but for what a lossy coder adds.
        let power = middle.iter().map(|[l, _]| l * l).sum::<f32>() / middle.len() as f32;
        let rest = 1.0 - level * level / 2.0 / power;
        assert!(rest.abs() < 0.01, "{name}: {rest}");
        assert!(middle.iter().all(|[l, r]| (l - r).abs() < 1e-3), "{name}");
    }
}

#[test]
fn of_five_channels_and_a_low_one_each_goes_where_it_is_meant_to_be() {
    // Left, right, centre, low, left and right surround, in the order of WAV.
    let tones = [400, 500, 600, 700, 800, 900];
    let waves = tones.map(|hz| format!("0.1*sin(2*PI*{hz}*t)")).join("|");
    let source = format!("aevalsrc='{waves}':s=48000:d=6:c=5.1");
    for (name, args) in [
        ("a.wav", &[][..]),
        ("a.flac", &[]),
        ("a.ogg", &["-c:a", "libvorbis", "-q:a", "8"]),
    ] {
        let folder = Folder::new();
        folder.make(name, &source, args);
        let mut bed = folder.bed();
        let heard = frames(&pull(&mut bed, 3 * SECOND));
        assert_eq!(bed.notices(), [""; 0], "{name}");
        let middle = &heard[48_000..96_000];
        let turned: Vec<_> = middle.iter().map(|[l, r]| [*r, *l]).collect();
        let full = amplitude(middle, 400);
        let part = |frames: &[[f32; 2]], hz| amplitude(frames, hz) / full;
        // ITU-R BS.775-4, table 2: centre and surround at -3 dB; the low channel is left out.
        let wanted = [1.0, 0.0, 0.707, 0.0, 0.707, 0.0];
        for (hz, wanted) in tones.into_iter().zip(wanted) {
            let found = part(middle, hz);
            assert!(
                (found - wanted).abs() < 0.03,
                "{name}, left, {hz} Hz: {found}"
            );
        }
        let wanted = [0.0, 1.0, 0.707, 0.0, 0.0, 0.707];
        for (hz, wanted) in tones.into_iter().zip(wanted) {
            let found = part(&turned, hz);
            assert!(
                (found - wanted).abs() < 0.03,
                "{name}, right, {hz} Hz: {found}"
            );
        }
    }
}
