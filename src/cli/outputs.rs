//! What a class can be written as, told by the ending of a file's name, and the writing of it: a class that is made
//! once is written as often as one likes.

use super::Done;
use super::Failure;
use super::sheet;
use super::written;
use super::written::Text;
use crate::base::chapters::Contents;
use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::base::wording::Wording;
use crate::compile::Beds;
use crate::compile::Class;
use crate::compile::Notices;
use crate::compile::Stream;
use crate::planning::plan::SoundKind;
use crate::planning::session::Session;
use crate::publish::chapters;
use crate::publish::excerpt::Excerpt;
use crate::publish::sheet::Paper;
use crate::sound::out::Bits;
use crate::sound::out::Format;
use crate::sound::out::Offline;
use crate::sound::out::OfflineBed;
use crate::sound::out::Progress;
use crate::sound::out::SoundFile;
use crate::sound::out::write_sound;
use crate::sound::speech::Speaker;
use std::ops::ControlFlow;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

/// What a file holds of a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Output {
    Sound(Format),
    Text(Text),
    Sheet(sheet::Kind),
}

/// The endings, with what each means; one that ends in another stands before it.
pub const ENDINGS: [(&str, Output); 11] = [
    (".wav", Output::Sound(Format::Wav)),
    (".flac", Output::Sound(Format::Flac)),
    (".mp3", Output::Sound(Format::Mp3)),
    (".opus", Output::Sound(Format::Opus)),
    (".chapters.vtt", Output::Text(Text::Chapters)),
    (".vtt", Output::Text(Text::WebVtt)),
    (".srt", Output::Text(Text::SubRip)),
    (".ffmeta", Output::Text(Text::FfMetadata)),
    (".csv", Output::Text(Text::Markers)),
    (".html", Output::Sheet(sheet::Kind::Html)),
    (".pdf", Output::Sheet(sheet::Kind::Pdf)),
];

/// A class that is made, with what else its outputs need.
#[derive(Clone, Copy)]
pub struct Made<'a> {
    pub class: &'a Class,
    /// The one that it was made with.
    pub speaker: &'a Arc<Speaker>,
    pub session: &'a Session,
    /// The music below it; `None` for none, whatever the session says.
    pub beds: Option<&'a Beds>,
    /// What is written of it.
    pub excerpt: Excerpt,
}

/// How files are written.
#[derive(Debug, Clone, Copy, Default)]
pub struct How {
    pub bits: Bits,
    /// Of a .pdf.
    pub paper: Paper,
    /// Whether a file that is there is replaced.
    pub overwrite: bool,
}

/// What of the sound is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Layer {
    /// All of it, as it is heard.
    #[default]
    Mix,
    Speech,
    Tones,
    /// The music, with the dips that the others ask for.
    Bed,
}

/// Whoever is told how a file comes along.
pub struct Listener<'a> {
    /// Told after each block of sound; may break off.
    pub progress: &'a mut dyn FnMut(Progress) -> ControlFlow<()>,
    /// Told what there is to say of the music.
    pub notice: &'a mut dyn FnMut(&str),
}

impl Output {
    /// Returns what a file of this name is to hold.
    ///
    /// # Errors
    ///
    /// With all endings, where it has none of them; where this build of the program cannot write it.
    pub fn of(path: &Path) -> Result<Self, Failure> {
        let name = path.file_name().unwrap_or_default();
        let name = name.to_string_lossy().to_lowercase();
        // An ending alone is no name.
        let named = ENDINGS.iter().all(|(end, _)| name != *end);
        let mut found = ENDINGS.iter().filter(|_| named);
        let Some((_, output)) = found.find(|(end, _)| name.ends_with(end)) else {
            return Err(Failure::File(format!(
                "expected a file name that ends in {}, found \"{}\"",
                endings(),
                path.display()
            )));
        };
        match output {
            Output::Sound(format) if !format.is_built() => Err(Failure::File(format!(
                "{} cannot be written by this build of the program: take another ending, or build it with the feature mp3",
                path.display()
            ))),
            output => Ok(*output),
        }
    }
}

/// Lists all endings.
fn endings() -> String {
    let all = ENDINGS.map(|(ending, _)| ending);
    let [first @ .., last] = &all;
    format!("{} or {last}", first.join(", "))
}

impl Layer {
    /// The layers of which the mix is the sum, with the word that stands for each in the names of files.
    pub const STEMS: [(Layer, &str); 3] = [
        (Layer::Speech, "speech"),
        (Layer::Tones, "tones"),
        (Layer::Bed, "bed"),
    ];
}

/// Returns the name of a file that holds one layer: `class.speech.wav` beside `class.wav`.
pub fn stem_of(path: &Path, word: &str) -> PathBuf {
    let ending = path.extension().unwrap_or_default().to_string_lossy();
    path.with_extension(format!("{word}.{ending}"))
}

impl Made<'_> {
    /// Says what its files hold.
    fn contents(&self) -> Contents {
        let wording = Wording::of(self.session.text.language);
        let whole = chapters::contents(&self.class.plan, self.session, wording);
        self.excerpt.contents(&whole)
    }

    /// Tells whether there is music below it.
    pub fn has_bed(&self) -> bool {
        self.lay().is_some()
    }

    fn lay(&self) -> Option<(OfflineBed, Notices)> {
        let timeline = &self.class.plan.timeline;
        self.beds?.offline(self.session, timeline)
    }

    /// Returns the clips that are mixed: those of its sounds, and those before it, for the music comes back after each.
    fn clips(&self, wanted: fn(&SoundKind) -> bool) -> Stream {
        self.class.stream(self.speaker, |sound| {
            wanted(&sound.kind) && (sound.end <= self.excerpt.from || self.excerpt.holds(sound))
        })
    }

    /// Prepares a layer to be rendered.
    fn layer(&self, layer: Layer) -> (Offline, Option<Notices>) {
        let frame = |at| SampleRate::OUTPUT.frame_at(at);
        let length = Frames::new(frame(self.excerpt.to).index());
        let alone = |wanted| Offline::of_stream(self.clips(wanted), length, None);
        let (offline, notices) = match layer {
            Layer::Speech => (alone(|kind| !is_tone(kind)), None),
            Layer::Tones => (alone(is_tone), None),
            Layer::Mix => {
                let (bed, notices) = self.lay().unzip();
                let all = self.clips(|_| true);
                (Offline::of_stream(all, length, bed), notices)
            }
            Layer::Bed => match self.lay() {
                None => (Offline::new(Vec::new(), length), None),
                Some((bed, notices)) => {
                    let all = self.clips(|_| true);
                    (Offline::bed_alone(all, length, bed), Some(notices))
                }
            },
        };
        (offline.since(frame(self.excerpt.from)), notices)
    }
}

fn is_tone(kind: &SoundKind) -> bool {
    matches!(kind, SoundKind::Tone(_))
}

/// Writes an output of a class, whole or not at all; of what is not sound there is no layer.
///
/// # Errors
///
/// A file that cannot be written, or that is there and is to be kept; an interruption by the listener.
pub fn write(
    output: Output,
    made: &Made,
    layer: Layer,
    path: &Path,
    how: How,
    listener: &mut Listener,
) -> Done {
    let format = match output {
        Output::Sound(format) => format,
        Output::Text(text) => {
            let text = text.of_class(
                made.class,
                made.session,
                &made.excerpt,
                made.beds,
                &made.contents(),
            );
            return written::whole(path, how.overwrite, text.as_bytes());
        }
        Output::Sheet(kind) => {
            let bytes = kind.of_plan(&made.class.plan, made.session, how.paper)?;
            return written::whole(path, how.overwrite, &bytes);
        }
    };
    let sound = SoundFile {
        format,
        bits: how.bits,
        contents: made.contents(),
        overwrite: how.overwrite,
    };
    let (offline, notices) = made.layer(layer);
    write_sound(path, &sound, offline, &mut |at| {
        for notice in notices.iter().flat_map(Notices::take) {
            (listener.notice)(&notice);
        }
        (listener.progress)(at)
    })?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ending_says_what_a_file_holds() {
        let of = |name: &str| Output::of(Path::new(name)).ok();
        assert_eq!(of("a/class.WAV"), Some(Output::Sound(Format::Wav)));
        assert_eq!(of("class.chapters.vtt"), Some(Output::Text(Text::Chapters)));
        assert_eq!(of("class.de.vtt"), Some(Output::Text(Text::WebVtt)));
        for name in [
            "class",
            "class.ogg",
            ".wav",
            "wav",
            "",
            "..",
            ".chapters.vtt/",
        ] {
            let Err(Failure::File(told)) = Output::of(Path::new(name)) else {
                panic!("{name} has an ending");
            };
            assert!(ENDINGS.iter().all(|(end, _)| told.contains(end)), "{told}");
        }
    }

    #[test]
    fn no_ending_hides_another() {
        for (at, (ending, output)) in ENDINGS.iter().enumerate() {
            assert!(
                ENDINGS[..at]
                    .iter()
                    .all(|(before, _)| !ending.ends_with(before))
            );
            let found = Output::of(Path::new(&format!("class{ending}")));
            assert!(found.is_err() || found.is_ok_and(|found| found == *output));
        }
    }

    #[test]
    fn a_stem_is_named_after_its_class() {
        let stem = |path: &str| stem_of(Path::new(path), "bed");
        assert_eq!(stem("out/five.de.wav"), Path::new("out/five.de.bed.wav"));
    }
}
