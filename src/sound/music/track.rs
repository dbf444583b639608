//! A file on its way to stereo frames: opened, decoded a little at a time, mixed to two channels.

use std::fs::File;
use std::io::BufReader;
use std::io::Read;
use std::io::Seek;
use std::io::SeekFrom;
use std::path::Path;

use rodio::Decoder;
use rodio::Source;

use super::guard::guarded;
use super::headers::Mended;
use super::headers::ogg_is_cut;
use super::headers::wav_rate;
use super::kind::HEAD;
use super::kind::Kind;
use super::kind::kind;
use super::kind::tag;
use super::list::why;
use super::stereo::MOST;
use super::stereo::Stereo;
use crate::base::units::SampleRate;

/// What is beyond, or no number, is no sound; files of floating point can hold anything.
const LOUDEST: f32 = 16.0;
/// Rates outside are a damaged header, not music.
const RATES: std::ops::RangeInclusive<u32> = 4_000..=384_000;
/// Tags one behind the other, at the beginning of a file.
const MOST_TAGS: usize = 8;

/// An open track.
pub(super) struct Track {
    decoder: Decoder<BufReader<Mended>>,
    stereo: Stereo,
    channels: usize,
    pub(super) rate: SampleRate,
    /// How many frames the file says that it has.
    pub(super) said: Option<u64>,
    /// Whether the file itself shows that it ends before it should.
    pub(super) cut: bool,
    ended: bool,
}

impl Track {
    /// Opens a file; otherwise says why it is not played.
    pub(super) fn open(path: &Path) -> Result<Self, String> {
        // Looked at before it is opened: a pipe that nobody writes to would hold the thread.
        let meta = std::fs::metadata(path).map_err(|e| lost(&e))?;
        if !meta.is_file() {
            return Err("it is not a file".to_owned());
        }
        let mut file = File::open(path).map_err(|e| lost(&e))?;
        let (head, from) = head(&mut file).map_err(|e| lost(&e))?;
        if from > meta.len() {
            return Err("its tag is damaged: it would be longer than the file".to_owned());
        }
        let kind = kind(&head)?;
        // A decoder reckons with it before anybody can look at it.
        if kind == Kind::Wav && wav_rate(&head) == Some(0) {
            return Err("its rate of 0 Hz is none of music".to_owned());
        }
        let cut = kind == Kind::Ogg && ogg_is_cut(&mut file, meta.len()).map_err(|e| lost(&e))?;
        file.rewind().map_err(|e| lost(&e))?;
        let file = match kind {
            Kind::Wav => Mended::wav(file, &head, from, meta.len()),
            Kind::Flac | Kind::Mp3 | Kind::Ogg => Mended::as_it_is(file),
        };
        let open = || {
            Decoder::builder()
                .with_data(BufReader::new(file))
                .with_byte_len(meta.len())
                .with_seekable(true)
                .with_hint(kind.ending())
                .with_gapless(true)
                .build()
        };
        let decoder = guarded(open)
            .ok_or("its beginning is damaged")?
            .map_err(|_| {
                format!(
                    "its {} is damaged, or of a kind that is not read",
                    kind.ending()
                )
            })?;
        let channels = usize::from(decoder.channels().get());
        let hz = decoder.sample_rate().get();
        let stereo = Stereo::of(channels)
            .ok_or_else(|| format!("it has {channels} channels, and at most {MOST} are read"))?;
        if !RATES.contains(&hz) {
            return Err(format!("its rate of {hz} Hz is none of music"));
        }
        let said = decoder.total_duration();
        Ok(Self {
            stereo,
            channels,
            rate: SampleRate::from_hz(hz),
            said: said.map(|said| (said.as_secs_f64() * f64::from(hz)) as u64),
            cut,
            ended: false,
            decoder,
        })
    }

    /// Decodes up to so many frames more into `left` and `right`, at the track's own rate; returns whether there
    /// may be more.
    pub(super) fn read(
        &mut self,
        frames: usize,
        left: &mut Vec<f32>,
        right: &mut Vec<f32>,
    ) -> bool {
        if self.ended {
            return false;
        }
        // A file can be such that its decoder panics: then it ends there.
        let more = guarded(|| {
            (0..frames).all(|_| {
                self.frame()
                    .map(|[l, r]| (left.push(l), right.push(r)))
                    .is_some()
            })
        });
        left.truncate(right.len());
        self.ended = more != Some(true);
        !self.ended
    }

    /// Decodes one frame; `None` at the end, and where another stream begins that is not like the first.
    fn frame(&mut self) -> Option<[f32; 2]> {
        let mut frame = [0.0; MOST];
        for (at, sample) in frame[..self.channels].iter_mut().enumerate() {
            let decoded = self.decoder.next()?;
            *sample = if decoded.abs() <= LOUDEST {
                decoded
            } else {
                0.0
            };
            if at == 0
                && (usize::from(self.decoder.channels().get()) != self.channels
                    || self.decoder.sample_rate().get() != self.rate.hz())
            {
                return None;
            }
        }
        Some(self.stereo.mix(&frame[..self.channels]))
    }
}

/// Reads what the sound of a file begins with, behind its tags, and tells where that is.
fn head(file: &mut File) -> std::io::Result<(Vec<u8>, u64)> {
    let mut from = 0;
    let mut head = Vec::new();
    for _ in 0..MOST_TAGS {
        file.seek(SeekFrom::Start(from))?;
        head.clear();
        file.take(HEAD as u64).read_to_end(&mut head)?;
        match tag(&head) {
            Some(length) => from += length,
            None => break,
        }
    }
    Ok((head, from))
}

/// Says that a file cannot be read, and why.
fn lost(error: &std::io::Error) -> String {
    format!("it cannot be read: {}", why(error))
}
