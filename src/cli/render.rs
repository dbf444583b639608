//! `render`: writes a class to a file, or all those of a folder.

use super::Done;
use super::Failure;
use super::Planning;
use super::complain;
use super::interrupt::Interrupt;
use super::is_terminal;
use super::load;
use super::many;
use super::outputs;
use super::outputs::How;
use super::outputs::Layer;
use super::outputs::Listener;
use super::outputs::Made;
use super::outputs::Output;
use super::print;
use super::recorded;
use super::sheet::Kind;
use super::sheet::paper;
use crate::base::units::At;
use crate::base::units::SampleRate;
use crate::base::wording::Wording;
use crate::compile::Beds;
use crate::compile::Compiler;
use crate::compile::settings_in;
use crate::planning::plan::Sound;
use crate::planning::session::NOMINAL_OPEN;
use crate::planning::timeline::Timeline;
use crate::publish::excerpt::Excerpt;
use crate::publish::excerpt::Fault;
use crate::publish::sheet::Paper;
use crate::sound::out::Bits;
use crate::sound::out::Format;
use crate::sound::out::Target;
use clap::Args;
use clap::builder::ArgPredicate;
use indicatif::ProgressBar;
use indicatif::ProgressStyle;
use std::ops::ControlFlow;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

#[derive(Args)]
#[command(mut_arg("session", |session| session
    .help("The session: a path, or an id inside its folder; or a session folder, for all of its sessions")
    .required(false)
    .required_unless_present("from_record")
    .default_value_if("from_record", ArgPredicate::IsPresent, ".")))]
pub struct Options {
    #[command(flatten)]
    pub planning: Planning,
    /// The file to write, or for a folder the folder to write to. A file's ending says what: .wav, .flac, .mp3 and .opus are the sound with its chapters, .vtt and
    /// .srt captions, .chapters.vtt the chapters of a film or a recording, .ffmeta and .csv the same for film editors,
    /// .html and .pdf the sheet.
    #[arg(short, long)]
    output: PathBuf,
    /// Write what really sounded in a run, pauses and skips included: a file of the folder's `log`, by its path or its
    /// name, or `last` for the newest run of the session or folder. The sync tone comes first; music lies
    /// below it as it did then, from its files.
    #[arg(long, value_name = "RUN")]
    from_record: Option<String>,
    /// Replace the file if it is there.
    #[arg(long)]
    pub overwrite: bool,
    /// Write no music, whatever the files say.
    #[arg(long)]
    pub no_music: bool,
    /// Bits a sample, of .wav and .flac: 16 or 24 [default: 16].
    #[arg(long, value_parser = bits)]
    bits: Option<Bits>,
    /// The paper of a .pdf: a4 or letter [default: a4].
    #[arg(long, value_parser = paper)]
    paper: Option<Paper>,
    /// Write speech, tones and music apart, each as long as the class: X.speech.wav, X.tones.wav, X.bed.wav.
    #[arg(long)]
    stems: bool,
    /// Begin there: a time of the class (2:00), "block 2", "block 1 round 2"; with the rest before its first work.
    #[arg(long, value_name = "PLACE", allow_hyphen_values = true)]
    from: Option<String>,
    /// End there: a time of the class, or with the end of a block or a round.
    #[arg(long, value_name = "PLACE", allow_hyphen_values = true)]
    to: Option<String>,
    #[command(flatten)]
    many: many::Many,
}

fn bits(text: &str) -> Result<Bits, String> {
    match text {
        "16" => Ok(Bits::Sixteen),
        "24" => Ok(Bits::TwentyFour),
        other => Err(format!("expected 16 or 24, found {other}")),
    }
}

impl Options {
    /// Tells all that is wrong with the options before anything is done.
    fn check(&self, output: Output) -> Done {
        let mut faults = Vec::new();
        let found = self.output.display();
        if self.stems && !matches!(output, Output::Sound(_)) {
            faults.push(format!(
                "--stems takes sound apart: expected a file of sound, found {found}"
            ));
        }
        if self.from_record.is_some() && matches!(output, Output::Sheet(_)) {
            faults.push(format!(
                "--from-record writes what sounded: found {found}, a sheet, which shows what is planned"
            ));
        }
        let cut = self.from.is_some() || self.to.is_some();
        if cut && self.from_record.is_some() {
            faults.push(
                "--from and --to cut a class as it is planned: found --from-record, which is written whole".to_owned(),
            );
        }
        let in_bits = matches!(output, Output::Sound(Format::Wav | Format::Flac));
        if self.bits.is_some() && !in_bits {
            faults.push(format!(
                "--bits is for .wav and .flac: found {found}, which has none"
            ));
        }
        if self.paper.is_some() && !matches!(output, Output::Sheet(Kind::Pdf)) {
            faults.push(format!(
                "--paper is for .pdf: found {found}, which has none"
            ));
        }
        if cut && matches!(output, Output::Sheet(_)) {
            faults.push(format!(
                "--from and --to cut sound, captions, chapters and markers: found {found}, a sheet, which is whole"
            ));
        }
        all_told(faults)
    }

    /// Returns the bits that a sample is written in.
    pub fn bits(&self) -> Bits {
        self.bits.unwrap_or_default()
    }

    /// Finds the part that is asked for.
    fn excerpt(&self, timeline: &Timeline, sounds: &[Sound]) -> Result<Excerpt, Vec<Fault>> {
        Excerpt::between(timeline, sounds, self.from.as_deref(), self.to.as_deref())
    }

    /// Returns the files to write.
    fn files(&self) -> Vec<(Layer, PathBuf)> {
        match self.stems {
            false => vec![(Layer::Mix, self.output.clone())],
            true => {
                let stem = |(layer, word)| (layer, outputs::stem_of(&self.output, word));
                Layer::STEMS.map(stem).to_vec()
            }
        }
    }
}

/// Renders all sessions of a folder.
fn all(options: &Options) -> Done {
    let given = [
        (options.stems, "--stems"),
        (options.from.is_some(), "--from"),
        (options.to.is_some(), "--to"),
        (
            options.planning.voice.is_some(),
            "--voice (a folder takes --voices)",
        ),
    ];
    let given = given.into_iter().filter(|(given, _)| *given);
    all_told(
        given
            .map(|(_, name)| format!("{name} is for one session"))
            .collect(),
    )?;
    let manner = many::Manner {
        bits: options.bits(),
        paper: options.paper.unwrap_or_default(),
        clarity: options.planning.clarity,
        music: !options.no_music,
    };
    many::run(
        &options.planning,
        &options.many,
        manner,
        &options.output,
        options.overwrite,
    )
}

/// Fails with all faults at once.
fn all_told(faults: Vec<String>) -> Done {
    match faults.is_empty() {
        true => Ok(()),
        false => Err(Failure::Usage(faults.join(";\n           "))),
    }
}

pub fn run(options: Options) -> Done {
    if options.from_record.is_none() && Path::new(&options.planning.session).is_dir() {
        return all(&options);
    }
    if let Some(given) = options.many.given() {
        return Err(Failure::Usage(format!(
            "{given} is for a folder: expected one in place of the session, found \"{}\"",
            options.planning.session
        )));
    }
    let output = Output::of(&options.output)?;
    options.check(output)?;
    let mut files = options.files();
    for (_, path) in &files {
        // Where the file cannot be written, say so before the work is done.
        drop(Target::begin(path, options.overwrite)?);
    }
    if let Some(run) = &options.from_record {
        return recorded::run(&options, run, output, files);
    }
    let ready = load::session(&options.planning)?;
    let config = load::config_beside(ready.folder.root(), options.planning.plain);
    let speaker = Arc::new(load::speaker_for_files(&options.planning, &ready, &config)?);
    if speaker.system().is_some() {
        return Err(Failure::Voice(format!(
            "the voice {} speaks by itself and gives no sound that could be written to a file. \
             Take another one: --voice {}",
            speaker.name(),
            speaker.next_name()
        )));
    }
    let wording = Wording::of(ready.session.text.language);
    let caution = options.planning.caution();
    let plain = options.planning.plain || !is_terminal();
    let settings = settings_in(wording, speaker.name(), caution);
    let mut compiler = Compiler::new(&ready.session, wording, &speaker, settings)
        .with_tones(ready.session.text.tones.unwrap_or(config.tones))
        .light();
    // Before anything is spoken, what is known by then.
    if let Err(faults) = options.excerpt(compiler.timeline(), &[])
        && !faults.iter().all(|fault| fault.beyond)
    {
        return all_told(faults.into_iter().map(|fault| fault.told).collect());
    }
    let stretches = compiler.stretches();
    let progress = Progress::new("speaking", stretches as u64, plain);
    let interrupt = Interrupt::noted();
    let mut done = 0;
    while compiler.next_stretch().is_some() {
        if interrupt.asked() {
            return Err(Failure::Interrupted);
        }
        done += 1;
        progress.at(done);
    }
    let class = compiler.finish();
    progress.end();
    load::say(&speaker.notices());
    for unspoken in &class.unspoken {
        complain(&format!(
            "sidevoice: cannot be spoken, a fault tone stands in: {unspoken}\n"
        ));
    }
    load::tell(
        &class.plan.diagnostics,
        &ready.sources,
        options.planning.plain,
    );
    if class.plan.timeline.segments.iter().any(|s| s.open) {
        complain(&format!(
            "sidevoice: what goes on by a key lasts {NOMINAL_OPEN} in the file: a file hears no key.\n"
        ));
    }
    load::sound_plan(&class.plan.diagnostics)?;
    let excerpt = match options.excerpt(&class.plan.timeline, &class.plan.sounds) {
        Ok(excerpt) => excerpt,
        Err(faults) => return all_told(faults.into_iter().map(|fault| fault.told).collect()),
    };
    let id = ready.file.file_stem().unwrap_or_default().to_string_lossy();
    let root = ready.folder.root();
    // No day: the same files give the same bytes.
    let beds = (!options.no_music).then(|| Beds::new(root, config.music, &id, None));
    let made = Made {
        class: &class,
        speaker: &speaker,
        session: &ready.session,
        beds: beds.as_ref(),
        excerpt,
    };
    if options.stems && !made.has_bed() {
        files.retain(|(layer, _)| *layer != Layer::Bed);
        complain(match options.no_music {
            true => "sidevoice: --no-music leaves the music out, so there is no stem of it.\n",
            false => "sidevoice: there is no music below this class, so there is no stem of it.\n",
        });
    }
    for (layer, path) in &files {
        write(output, &made, *layer, path, &options, &interrupt)?;
    }
    Ok(())
}

fn write(
    output: Output,
    made: &Made,
    layer: Layer,
    path: &Path,
    options: &Options,
    interrupt: &Interrupt,
) -> Done {
    let how = How {
        bits: options.bits(),
        paper: options.paper.unwrap_or_default(),
        overwrite: options.overwrite,
    };
    let length = made.excerpt.to - made.excerpt.from;
    let plain = options.planning.plain || !is_terminal();
    let frames = length.frames(SampleRate::OUTPUT);
    let progress = Progress::new("writing", frames.count(), plain);
    let mut listener = Listener {
        progress: &mut |at| {
            progress.at(at.done.count());
            match interrupt.asked() {
                true => ControlFlow::Break(()),
                false => ControlFlow::Continue(()),
            }
        },
        notice: &mut |notice| complain(&format!("sidevoice: music: {notice}\n")),
    };
    outputs::write(output, made, layer, path, how, &mut listener)?;
    progress.end();
    let end = At::START + length;
    print(&format!("{}: {end} long.\n", path.display()))
}

/// A bar on a terminal; a line each quarter elsewhere.
pub struct Progress {
    bar: Option<ProgressBar>,
    what: &'static str,
    all: u64,
    quarter: std::cell::Cell<u64>,
}

impl Progress {
    pub fn new(what: &'static str, all: u64, plain: bool) -> Self {
        let bar = (!plain).then(|| {
            let bar = ProgressBar::new(all);
            // The template is a constant that indicatif reads.
            if let Ok(style) = ProgressStyle::with_template("{msg:>10} {wide_bar} {percent:>3} %") {
                bar.set_style(style);
            }
            bar.with_message(what)
        });
        Self {
            bar,
            what,
            all: all.max(1),
            quarter: std::cell::Cell::new(0),
        }
    }

    pub fn at(&self, done: u64) {
        if let Some(bar) = &self.bar {
            bar.set_position(done);
            return;
        }
        let quarter = done * 4 / self.all;
        if quarter > self.quarter.get() {
            self.quarter.set(quarter);
            complain(&format!("{}: {} %\n", self.what, quarter * 25));
        }
    }

    pub fn end(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
