//! `watch`: stays in the background of a session folder, tells what changes, gets it ready.

mod unit;

use super::Done;
use super::Failure;
use super::complain;
use super::keys::Keys;
use super::load;
use super::print;
use crate::live::control::Panel;
use crate::live::control::socket;
use crate::live::service;
use crate::live::service::Ended;
use crate::live::service::Single;
use crate::sound::out;
use clap::Args;
use std::cell::RefCell;
use std::path::PathBuf;

#[derive(Args)]
pub struct Options {
    /// The session folder.
    #[arg(required_unless_present = "uninstall")]
    folder: Option<PathBuf>,
    /// Look at the folder every second: for memory sticks and network folders.
    #[arg(long)]
    poll: bool,
    /// Print the news and do not speak it.
    #[arg(long)]
    silent: bool,
    /// The voice that speaks [default: the best one here; a session may name another].
    #[arg(long)]
    voice: Option<String>,
    /// Play no music in the classes that run, whatever the files say.
    #[arg(long)]
    no_music: bool,
    /// The loudspeaker to use, by its id [default: the system's].
    #[arg(long, value_parser = super::id())]
    device: Option<String>,
    /// Send raw samples down a named pipe that a program reads instead of to a loudspeaker (48 kHz, 16 bit
    /// little endian, two channels). Without a reader it is waited for.
    #[arg(long, value_name = "pipe:PATH", value_parser = super::named_pipe, conflicts_with = "device")]
    sink: Option<out::Pipe>,
    /// Where the coach's own ear is: a device by its id, or left or right for a channel of the loudspeaker
    /// [default: as the configuration says].
    #[arg(long, value_name = "DEVICE", value_parser = super::id())]
    ear: Option<String>,
    /// Write a unit by which systemd watches the folder from login on, with these options.
    #[arg(long, conflicts_with = "uninstall")]
    install: bool,
    /// Remove that unit.
    #[arg(long)]
    uninstall: bool,
}

pub fn run(options: Options) -> Done {
    if options.uninstall {
        return unit::uninstall();
    }
    let folder = options.folder.clone().unwrap_or_default();
    let root = whole(&folder)?;
    if let Some(name) = &options.voice {
        load::known_voice(name, &load::shelf(&load::speech(Some(&root)), false))?;
    }
    if options.install {
        return unit::install(&root, &options);
    }
    give_memory_back();
    let single = Single::take(&root)?;
    let mut printing = true;
    let keys: RefCell<Option<Keys>> = RefCell::default();
    let mut line = |text: &str| {
        // In raw mode a line feed alone does not go back to the margin.
        let end = if keys.borrow().is_some() {
            "\r\n"
        } else {
            "\n"
        };
        // Where nobody reads any more, the work goes on.
        if printing && let Err(failure) = print(&format!("{text}{end}")) {
            printing = false;
            complain(&format!(
                "sidevoice: {}.\n",
                failure.message().unwrap_or_default()
            ));
        }
    };
    let config = load::config_beside(&root, false);
    let mapped = config.mapping.keys.clone();
    let outputs = config.out.told(options.device, options.ear.as_deref());
    let options = service::Options {
        root,
        poll: options.poll,
        silent: options.silent,
        voice: options.voice,
        out: out::Options {
            device: outputs.room.clone(),
            pipe: options.sink,
            ..out::Options::default()
        },
        outputs,
        wake: config.wake,
        music: (!options.no_music).then_some(config.music),
        tones: config.tones,
        clarity: config.clarity.unwrap_or_default(),
        mapping: config.mapping,
        language: config.language,
        socket: socket::folder(),
    };
    let mut read_keys = |panel: &Panel| {
        *keys.borrow_mut() = Keys::read_by(mapped.clone(), panel.clone());
        keys.borrow().is_some()
    };
    let ended = service::run(options, &mut read_keys, &mut line);
    drop(keys.take());
    let ended =
        ended.map_err(|error| Failure::File(format!("the folder cannot be watched: {error}")))?;
    drop(single);
    match ended {
        Ended::Asked => Ok(()),
        Ended::Interrupted => Err(Failure::Interrupted),
    }
}

/// The variable by which the C library of Linux is told from how many free bytes on it gives memory
/// back.
#[cfg(target_os = "linux")]
const TRIM: &str = "MALLOC_TRIM_THRESHOLD_";

/// Starts this program again, as the same process, with memory given back as soon as it is free:
/// what was planned and spoken is let go, and idling then takes 14 MB instead of 22. The library
/// reads its settings only at the start of a program.
#[cfg(target_os = "linux")]
fn give_memory_back() {
    use std::os::unix::process::CommandExt;
    if std::env::var_os(TRIM).is_some() {
        return;
    }
    if let Ok(program) = std::env::current_exe() {
        let mut again = std::process::Command::new(program);
        again.args(std::env::args_os().skip(1)).env(TRIM, "65536");
        // It comes back only where that failed, and then goes on as it is.
        let error = again.exec();
        tracing::debug!(%error, "memory is not given back at once");
    }
}

#[cfg(not(target_os = "linux"))]
fn give_memory_back() {}

/// Returns the whole path of a session folder that is there now: later it may come and go.
fn whole(folder: &std::path::Path) -> Result<PathBuf, Failure> {
    let is_one = folder.join("sessions").is_dir();
    let whole = std::path::absolute(folder).ok().filter(|_| is_one);
    whole.ok_or_else(|| {
        complain(&format!(
            "sidevoice: expected a session folder with `sessions` in it, found none at {}. \
             Make one with `sidevoice new FOLDER`.\n",
            folder.display()
        ));
        Failure::Faults
    })
}
