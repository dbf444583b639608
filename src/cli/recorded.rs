//! `render --from-record`: writes what really sounded in a run.

use super::Done;
use super::Failure;
use super::complain;
use super::interrupt::Interrupt;
use super::is_terminal;
use super::load;
use super::outputs::Layer;
use super::outputs::Output;
use super::print;
use super::render::Options;
use super::render::Progress;
use super::written;
use crate::base::heard::Course;
use crate::base::heard::MusicFrom;
use crate::base::heard::Why;
use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::utterance::Clarity;
use crate::base::utterance::Utterance;
use crate::base::wording::Language;
use crate::base::wording::Wording;
use crate::compile::Again;
use crate::compile::Notices;
use crate::compile::again;
use crate::compile::bed_again;
use crate::compile::moves;
use crate::compile::utterances;
use crate::folder::Folder;
use crate::live::history;
use crate::live::history::CourseError;
use crate::live::history::Laid;
use crate::live::history::Run;
use crate::publish::recorded;
use crate::sound::mix::Clip;
use crate::sound::music;
use crate::sound::out::Offline;
use crate::sound::out::SoundFile;
use crate::sound::out::write_sound;
use crate::sound::speech::Settings;
use crate::sound::speech::Speaker;
use crate::sound::speech::Take;
use std::collections::HashMap;
use std::ops::ControlFlow;
use std::path::Path;
use std::path::PathBuf;

/// Texts that are spoken between two looks at the progress.
const AT_ONCE: usize = 8;
/// Runs that are named where one is not found, and texts where some cannot be spoken.
const NAMED: usize = 3;

/// Writes what sounded in a run to files: all of it, or layers of it.
pub fn run(
    options: &Options,
    wanted: &str,
    output: Output,
    mut files: Vec<(Layer, PathBuf)>,
) -> Done {
    let planning = &options.planning;
    let plain = planning.plain || !is_terminal();
    let run = find(wanted, &planning.session)?;
    let laid = run.course().map_err(|error| no_course(error, &run))?;
    let language = run.began.language.as_deref();
    let wording = Wording::of(language.and_then(Language::of).unwrap_or(Language::English));
    let speaker = speaker(options, &run)?;
    let interrupt = Interrupt::noted();
    let takes = speak(&laid.course, &speaker, plain, &interrupt)?;
    load::say(&speaker.notices());
    let made = again(&laid.course, &takes);
    tell(&laid, &made, &run, speaker.name());
    let with_music = !options.no_music && !laid.course.music.is_empty();
    let there = |it: &MusicFrom| !music::listing(&it.folder).is_empty();
    let any_there = with_music && laid.course.music.iter().any(there);
    let all = files.len();
    files.retain(|(layer, _)| *layer != Layer::Bed || with_music);
    if files.len() < all {
        complain(match options.no_music {
            true => "sidevoice: --no-music leaves the music out, so there is no stem of it.\n",
            false => "sidevoice: the record tells of no music, so there is no stem of it.\n",
        });
    }
    let contents = recorded::contents(&laid.course, wording);
    for (layer, path) in &files {
        match output {
            Output::Text(text) => {
                let begins = if any_there {
                    recorded::music_begins(&laid.course)
                } else {
                    Vec::new()
                };
                let missing = &laid.course.missing;
                let captions = || recorded::captions(&made.spoken, missing, &begins, wording);
                let text = text.of(captions, &contents);
                written::whole(path, options.overwrite, text.as_bytes())?;
            }
            Output::Sound(format) => {
                let sound = SoundFile {
                    format,
                    bits: options.bits(),
                    contents: contents.clone(),
                    overwrite: options.overwrite,
                };
                let length = laid.course.end.since(FrameAt::START);
                let with_bed = with_music && matches!(layer, Layer::Mix | Layer::Bed);
                let bed = with_bed.then(|| bed_again(&laid.course)).flatten();
                let (bed, notices) = bed.unzip();
                let clips = clips(&made, *layer);
                let offline = Offline::of_stream(clips.into_iter(), length, bed);
                let offline = offline.told(moves(&laid.course));
                let progress = Progress::new("writing", length.count(), plain);
                write_sound(path, &sound, offline, &mut |at| {
                    progress.at(at.done.count());
                    for notice in notices.iter().flat_map(Notices::take) {
                        complain(&format!("sidevoice: music: {notice}\n"));
                    }
                    match interrupt.asked() {
                        true => ControlFlow::Break(()),
                        false => ControlFlow::Continue(()),
                    }
                })?;
                progress.end();
            }
            // Refused with the options.
            Output::Sheet(_) => {}
        }
        print(&format!(
            "{}: {} long. It begins where the sync tone does, at {}{}.\n",
            path.display(),
            laid.course.end.at(SampleRate::OUTPUT),
            laid.starts,
            match laid.synced {
                true => ", when it was heard in the room",
                false => " by the clock of this machine",
            }
        ))?;
    }
    Ok(())
}

/// Returns the clips of a layer; the sync tone is one of the tones.
fn clips(made: &Again, layer: Layer) -> Vec<Clip> {
    let tone = |clip: &Clip| {
        let spoken = made.spoken.get(clip.id as usize);
        spoken.is_some_and(|spoken| spoken.what.is_tone())
    };
    let of_it = |clip: &&Clip| match layer {
        Layer::Mix => true,
        Layer::Speech => !tone(clip),
        Layer::Tones => tone(clip),
        Layer::Bed => false,
    };
    made.clips.iter().filter(of_it).cloned().collect()
}

/// Finds a run: a file, or the name of one in the `log` of a folder or of a session's folder, or the last.
fn find(wanted: &str, session: &str) -> Result<Run, Failure> {
    let path = Path::new(wanted);
    if path.is_file() {
        let (run, faults) = history::read_run(path);
        // Of what is no record at all each line would be a fault.
        for fault in faults.iter().filter(|_| run.is_some()) {
            complain(&format!("sidevoice: {fault}\n"));
        }
        let none = || {
            Failure::File(format!(
                "expected the record of a run, found none in {wanted}. Records are in the folder `log` of a session folder"
            ))
        };
        return run.ok_or_else(none);
    }
    let at = Path::new(session);
    let (root, id) = match at.is_dir() {
        true => (at.to_owned(), None),
        false => {
            let (folder, file) = Folder::of_session(session, Path::new(""));
            let id = file.file_stem().unwrap_or_default();
            (
                folder.root().to_owned(),
                Some(id.to_string_lossy().into_owned()),
            )
        }
    };
    let record = history::read(&root);
    for fault in &record.faults {
        tracing::warn!("{fault}");
    }
    let of_it = |run: &Run| id.as_ref().is_none_or(|id| run.began.session == *id);
    let mut runs: Vec<Run> = record.runs.into_iter().filter(of_it).collect();
    let name = wanted.strip_suffix(".jsonl").unwrap_or(wanted);
    let found = match name {
        "last" => runs.len().checked_sub(1),
        _ => runs.iter().position(|run| stem(run) == name),
    };
    let Some(found) = found else {
        let newest: Vec<String> = runs.iter().rev().take(NAMED).map(stem).collect();
        let known = match newest.is_empty() {
            true => "There is none: `sidevoice run SESSION` writes one".to_owned(),
            false => format!("The newest are: {}", newest.join(", ")),
        };
        return Err(Failure::File(format!(
            "expected `last`, the path of a record or the name of one in {}, found \"{wanted}\". {known}",
            history::log_of(&root).display()
        )));
    };
    Ok(runs.swap_remove(found))
}

fn stem(run: &Run) -> String {
    let stem = run.file.file_stem().unwrap_or_default();
    stem.to_string_lossy().into_owned()
}

fn no_course(error: CourseError, run: &Run) -> Failure {
    let help = match error {
        CourseError::TooOld => {
            ". Runs from now on tell it; `sidevoice render SESSION` writes the class as it is planned"
        }
        CourseError::GoesOn => ": it can be written when it has ended",
        CourseError::Silent | CourseError::TooLong => "",
    };
    Failure::File(format!(
        "the run {} cannot be written: {error}{help}",
        stem(run)
    ))
}

/// Opens the voice of the run, unless another one is asked for.
fn speaker(options: &Options, run: &Run) -> Result<Speaker, Failure> {
    let planning = &options.planning;
    let word = run.began.clarity.as_deref();
    let clarity = word.and_then(|word| Clarity::WORDS.iter().find(|(known, _)| *known == word));
    let settings = Settings {
        patience: load::PATIENCE_FOR_FILES,
        voice: Some(
            planning
                .voice
                .clone()
                .unwrap_or_else(|| run.began.voice.clone()),
        ),
        language: run.began.language.clone(),
        clarity: planning
            .clarity
            .or(clarity.map(|(_, it)| *it))
            .unwrap_or_default(),
        ..load::speech(Some(&run.root()))
    };
    let speaker = load::voice(settings, planning.plain)?;
    if speaker.system().is_some() {
        return Err(Failure::Voice(format!(
            "the voice {} spoke that run by itself and gives no sound that could be written to a file. \
             Another one can say it again, in its own time: --voice {}",
            speaker.name(),
            speaker.next_name()
        )));
    }
    Ok(speaker)
}

fn speak(
    course: &Course,
    speaker: &Speaker,
    plain: bool,
    interrupt: &Interrupt,
) -> Result<HashMap<Utterance, Take>, Failure> {
    let wanted = utterances(course);
    let progress = Progress::new("speaking", wanted.len() as u64, plain);
    let mut takes = HashMap::new();
    for (nth, some) in wanted.chunks(AT_ONCE).enumerate() {
        if interrupt.asked() {
            return Err(Failure::Interrupted);
        }
        for (utterance, take) in some.iter().zip(speaker.takes(some)) {
            if let Ok(take) = take {
                takes.insert(utterance.clone(), take);
            }
        }
        progress.at((nth * AT_ONCE + some.len()) as u64);
    }
    progress.end();
    Ok(takes)
}

/// Says what is not in the file, or not as it was.
fn tell(laid: &Laid, made: &Again, run: &Run, voice: &str) {
    let time = |frame: FrameAt| -> At { frame.at(SampleRate::OUTPUT) };
    for missing in &laid.course.missing {
        let (from, to) = (time(missing.from), time(missing.to));
        complain(&match missing.why {
            Why::Missed(lines) => format!(
                "sidevoice: between {from} and {to} the record lacks {lines} lines: what they told is not in the file.\n"
            ),
            Why::CutOff => format!(
                "sidevoice: the record breaks off at {to}: what sounded then and after it is not in the file.\n"
            ),
            Why::Unknown => format!(
                "sidevoice: at {to} the record holds a line that this version does not understand.\n"
            ),
        });
    }
    if laid.stood > Millis::ZERO {
        complain(&format!(
            "sidevoice: sound stood still for {} in all, with the machine or its sound server: silence lies there, so that \
             the file fits a film; where it stood is known to the line before and after.\n",
            laid.stood
        ));
    }
    let left_out: Vec<_> = made.spoken.iter().filter(|it| !it.sounds).collect();
    for spoken in left_out.iter().take(NAMED) {
        complain(&format!(
            "sidevoice: the voice cannot say it again, so it is left out at {}: \"{}\"\n",
            spoken.onset, spoken.text
        ));
    }
    if left_out.len() > NAMED {
        let more = left_out.len() - NAMED;
        complain(&format!("sidevoice: and {more} texts more.\n"));
    }
    if made.others > 0 {
        complain(&format!(
            "sidevoice: {} of {} texts are not as long as they were: {voice} speaks them otherwise than {} did. Each \
             begins when it did, and what would last into the next sound is faded before it.\n",
            made.others,
            made.others + made.same,
            run.began.voice
        ));
    }
}
