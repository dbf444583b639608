//! `agenda`: writes when the sessions of a folder take place, or in which order their files are played.

use super::Done;
use super::Failure;
use super::load;
use super::many::Notes;
use super::outputs::Layer;
use super::print;
use super::written;
use crate::base::diagnostic::any_error;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::wording::Wording;
use crate::compile::plan_by_estimate;
use crate::folder::Folder;
use crate::planning::plan::Plan;
use crate::planning::plan::SoundKind;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::publish::agenda;
use crate::publish::agenda::Entry;
use crate::publish::playlist;
use crate::publish::playlist::Track;
use crate::sound::out::Target;
use clap::Args;
use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::path::PathBuf;

#[derive(Args)]
pub struct Options {
    /// The session folder.
    #[arg(default_value = ".")]
    folder: PathBuf,
    /// The file to write; its ending says what: .ics is a calendar, .m3u8 or .m3u a list of the rendered files that
    /// lie beside it [default: the calendar is printed].
    #[arg(short, long)]
    output: Option<PathBuf>,
    /// Replace the file if it is there.
    #[arg(long)]
    overwrite: bool,
    /// Say faults as sentences.
    #[arg(long)]
    plain: bool,
}

/// The endings of sound that a list takes, the best first where there are several of one session.
const SOUNDS: [&str; 5] = ["flac", "wav", "opus", "mp3", "ogg"];

pub fn run(options: &Options) -> Done {
    let output = options.output.as_deref();
    let ending = output.map(ending_of);
    let list = match ending.as_deref() {
        None | Some("ics") => false,
        Some("m3u8" | "m3u") => true,
        Some(_) => {
            return Err(Failure::File(format!(
                "expected a file name that ends in .ics, .m3u8 or .m3u, found {}",
                output.unwrap_or(Path::new("")).display()
            )));
        }
    };
    if let Some(path) = output {
        // Where it cannot be written, say so before the work is done.
        drop(Target::begin(path, options.overwrite)?);
    }
    let loaded = Folder::at(&options.folder).load_all();
    load::tell(&loaded.diagnostics, &loaded.sources, options.plain);
    let sessions = loaded.sessions.iter();
    let sound: BTreeMap<&str, &Session> = sessions
        .filter_map(|(id, session)| Some((id.as_str(), session.as_ref()?)))
        .collect();
    let text = match (list, output) {
        (true, Some(output)) => playlist::playlist(&tracks(&sound, output)?),
        _ => calendar(&sound, &options.folder)?,
    };
    match output {
        None => print(&text)?,
        Some(path) => {
            written::whole(path, options.overwrite, text.as_bytes())?;
            print(&format!("{}: written.\n", path.display()))?;
        }
    }
    // What is sound was written; what is not was told.
    match any_error(&loaded.diagnostics) {
        true => Err(Failure::Faults),
        false => Ok(()),
    }
}

fn ending_of(path: &Path) -> String {
    let ending = path.extension().unwrap_or_default();
    ending.to_string_lossy().to_lowercase()
}

fn calendar(sessions: &BTreeMap<&str, &Session>, folder: &Path) -> Result<String, Failure> {
    let whole = fs::canonicalize(folder).unwrap_or_else(|_| folder.to_owned());
    let name = whole.file_name().unwrap_or_default().to_string_lossy();
    let mut entries = Vec::new();
    for (id, session) in sessions {
        let Some(dates) = &session.text.dates else {
            continue;
        };
        let zone = TimeZone::get(&dates.zone.value).map_err(|_| {
            Failure::File(format!(
                "the session {id} takes place in the time zone {}, of which this machine knows nothing",
                dates.zone.value
            ))
        })?;
        let voice = session.text.voice.as_ref().map_or("", |voice| &voice.value);
        let wording = Wording::of(session.text.language);
        let plan = plan_by_estimate(session, wording, voice, CautionLength::Full);
        let file = folder.join("sessions").join(format!("{id}.toml"));
        entries.push(Entry {
            id,
            folder: &name,
            title: &session.text.title,
            about: about(&plan),
            length: plan.timeline.end().since_start(),
            dates,
            zone,
            changed: changed(&file),
        });
    }
    if entries.is_empty() {
        return Err(Failure::File(format!(
            "no session in {} says when it takes place. Write into one, for instance: \
             when = {{ first = \"2026-12-01 18:30\", zone = \"Europe/Lisbon\", repeats = \"weekly\" }}",
            folder.display()
        )));
    }
    Ok(agenda::agenda(&entries))
}

/// What the opening says of the session and of what it needs.
fn about(plan: &Plan) -> Vec<String> {
    let said = plan.sounds.iter().filter(|sound| match &sound.kind {
        SoundKind::Line { id, .. } => id == "opening/facts" || id == "opening/ready",
        _ => false,
    });
    said.map(|sound| sound.text.clone()).collect()
}

fn changed(file: &Path) -> Timestamp {
    let changed = fs::metadata(file).and_then(|found| found.modified());
    let changed = changed.ok().and_then(|at| Timestamp::try_from(at).ok());
    changed.unwrap_or(Timestamp::UNIX_EPOCH)
}

/// The rendered files beside a list: those of sessions with dates first, in the order of these; of one that was
/// rendered in several voices each.
fn tracks(sessions: &BTreeMap<&str, &Session>, list: &Path) -> Result<Vec<Track>, Failure> {
    let beside = match list.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let notes = Notes::beside(beside);
    let names = names_in(beside)?;
    let first = |session: &Session| session.text.dates.as_ref().map(|dates| dates.first);
    let mut all: Vec<_> = sessions.iter().collect();
    all.sort_by_key(|(id, session)| (first(session).unwrap_or(DateTime::MAX), **id));
    let mut tracks = Vec::new();
    for (id, session) in all {
        for (of, path) in best(&names, id) {
            let title = match of.strip_prefix(&format!("{id}.")) {
                Some(label) => format!("{} ({label})", session.text.title),
                None => session.text.title.clone(),
            };
            tracks.push(Track {
                length: notes
                    .length(of, &path)
                    .or_else(|| length(&beside.join(&path))),
                path,
                title,
            });
        }
    }
    match tracks.is_empty() {
        false => Ok(tracks),
        true => Err(Failure::File(format!(
            "no sound of these sessions is beside {}. `sidevoice render FOLDER -o OUT --formats mp3` writes it: \
             then name a list in OUT",
            list.display()
        ))),
    }
}

fn names_in(folder: &Path) -> Result<Vec<String>, Failure> {
    let entries = fs::read_dir(folder)
        .map_err(|error| Failure::File(format!("{}: {error}", folder.display())))?;
    let names = entries.flatten().map(|entry| entry.file_name());
    let mut names: Vec<_> = names.filter_map(|name| name.into_string().ok()).collect();
    names.sort();
    Ok(names)
}

/// Returns what was rendered of a session: its name and that of the best file; the session's own voice first.
fn best<'a>(names: &'a [String], id: &str) -> Vec<(&'a str, String)> {
    let mut found: BTreeMap<&str, usize> = BTreeMap::new();
    for name in names {
        let Some((of, ending)) = name.rsplit_once('.') else {
            continue;
        };
        // Stems and captions have a second ending too: a voice's name is one that a folder was rendered in.
        let label = of.strip_prefix(id).and_then(|rest| rest.strip_prefix('.'));
        let stem = label.is_some_and(|label| {
            Layer::STEMS.iter().any(|(_, word)| *word == label) || label.contains('.')
        });
        let rank = SOUNDS.iter().position(|known| *known == ending);
        if let Some(rank) = rank.filter(|_| (of == id || label.is_some()) && !stem) {
            let known = found.entry(of).or_insert(rank);
            *known = rank.min(*known);
        }
    }
    let found = found.into_iter();
    found
        .map(|(of, rank)| (of, format!("{of}.{}", SOUNDS[rank])))
        .collect()
}

/// Returns how long a file is, where that is cheaply known.
fn length(file: &Path) -> Option<Millis> {
    let reader = hound::WavReader::open(file).ok()?;
    let rate = SampleRate::from_hz(reader.spec().sample_rate.max(1));
    Some(Frames::new(u64::from(reader.duration())).millis(rate))
}
