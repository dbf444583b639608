//! `render`: writes a class to a file.

use super::Done;
use super::Failure;
use super::Planning;
use super::complain;
use super::interrupt::Interrupt;
use super::is_terminal;
use super::load;
use super::print;
use super::written;
use super::written::Text;
use crate::base::units::SampleRate;
use crate::base::wording::Wording;
use crate::compile::Beds;
use crate::compile::Class;
use crate::compile::Compiler;
use crate::compile::Notices;
use crate::compile::settings_in;
use crate::planning::session::NOMINAL_OPEN;
use crate::sound::out::Bits;
use crate::sound::out::Offline;
use crate::sound::out::OfflineBed;
use crate::sound::out::Target;
use crate::sound::out::Wav;
use crate::sound::out::write_wav;
use clap::Args;
use indicatif::ProgressBar;
use indicatif::ProgressStyle;
use std::ops::ControlFlow;
use std::path::PathBuf;

#[derive(Args)]
pub struct Options {
    #[command(flatten)]
    planning: Planning,
    /// The file to write; its ending says what: .wav is the sound, .vtt and .srt are captions, .chapters.vtt the
    /// chapters of a film or a recording.
    #[arg(short, long)]
    output: PathBuf,
    /// Replace the file if it is there.
    #[arg(long)]
    overwrite: bool,
    /// Write no music, whatever the files say.
    #[arg(long)]
    no_music: bool,
    /// Bits a sample.
    #[arg(long, default_value_t = 16, value_parser = bits)]
    bits: u16,
}

fn bits(text: &str) -> Result<u16, String> {
    match text {
        "16" => Ok(16),
        "24" => Ok(24),
        other => Err(format!("expected 16 or 24, found {other}")),
    }
}

pub fn run(options: Options) -> Done {
    let is_wav = options
        .output
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("wav"));
    let text = Text::of(&options.output);
    if !is_wav && text.is_none() {
        return Err(Failure::File(format!(
            "expected a file name that ends in .wav, .vtt, .srt or .chapters.vtt, found {}",
            options.output.display()
        )));
    }
    // Where the file cannot be written, say so before the work is done.
    drop(Target::begin(&options.output, options.overwrite)?);
    let ready = load::session(&options.planning)?;
    let config = load::config(options.planning.plain);
    let speaker = load::speaker(&options.planning, &ready, &config)?;
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
        .with_tones(ready.session.text.tones.unwrap_or(config.tones));
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
    if let Some(text) = text {
        let (path, overwrite) = (&options.output, options.overwrite);
        return written::write(text, &class, &ready.session, path, overwrite);
    }
    let id = ready.file.file_stem().unwrap_or_default().to_string_lossy();
    let root = ready.folder.root();
    // No day: the same files give the same bytes.
    let beds = (!options.no_music).then(|| Beds::new(root, config.music, &id, None));
    let laid = beds.and_then(|beds| beds.offline(&ready.session, &class.plan.timeline));
    write(class, laid, &options, plain, &interrupt)
}

fn write(
    class: Class,
    laid: Option<(OfflineBed, Notices)>,
    options: &Options,
    plain: bool,
    interrupt: &Interrupt,
) -> Done {
    let wav = Wav {
        bits: match options.bits {
            24 => Bits::TwentyFour,
            _ => Bits::Sixteen,
        },
        overwrite: options.overwrite,
    };
    let end = class.plan.timeline.end();
    let length = SampleRate::OUTPUT
        .frame_at(end)
        .since(crate::base::units::FrameAt::START);
    let progress = Progress::new("writing", length.count(), plain);
    let (bed, notices) = laid.unzip();
    let offline = match bed {
        Some(bed) => Offline::with_bed(class.clips, length, bed),
        None => Offline::new(class.clips, length),
    };
    write_wav(&options.output, wav, offline, &mut |at| {
        for notice in notices.iter().flat_map(Notices::take) {
            complain(&format!("sidevoice: music: {notice}\n"));
        }
        progress.at(at.done.count());
        if interrupt.asked() {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    })?;
    progress.end();
    print(&format!("{}: {end} long.\n", options.output.display()))
}

/// A bar on a terminal; a line each quarter elsewhere.
struct Progress {
    bar: Option<ProgressBar>,
    what: &'static str,
    all: u64,
    quarter: std::cell::Cell<u64>,
}

impl Progress {
    fn new(what: &'static str, all: u64, plain: bool) -> Self {
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

    fn at(&self, done: u64) {
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

    fn end(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
