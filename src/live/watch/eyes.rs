//! Looks at the disk: lists and stamps the files, and hears from the system who writes to them.

use super::Name;
use super::Part;
use super::Seen;
use super::Stamp;
use super::bell;
use super::bell::Bell;
use super::cores::on_all_cores;
use notify::Config;
use notify::Event;
use notify::EventKind;
use notify::RecommendedWatcher;
use notify::RecursiveMode;
use notify::Watcher;
use notify::event::AccessKind;
use notify::event::AccessMode;
use notify::event::ModifyKind;
use notify::event::RenameMode;
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::time::SystemTime;

/// Whether the system tells when a writer closes a file.
const TELLS_OF_CLOSING: bool = cfg!(target_os = "linux");

/// From so many files on they are stamped on all cores.
const MANY: usize = 1024;

/// What the system told, as far as it matters here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Signal {
    /// Of a file; `look` where it is a reason to look at the folder.
    File { seen: Option<Seen>, look: bool },
    /// One of the watched folders came, went or moved: its watch may be dead.
    Folder,
    /// The bell of this number: all that happened before it was rung has been told.
    Bell(u64),
}

/// The files of a folder at one look.
#[derive(Debug, Default)]
pub struct Sight {
    pub files: BTreeMap<Name, Stamp>,
    /// Whether the folder or a part of it is not there.
    pub missing: bool,
    /// A part that is there and cannot be listed: nothing is known of its files.
    pub blind: Option<String>,
}

/// Lists a folder and hears of its changes.
pub struct Eyes {
    root: PathBuf,
    /// `None` where the folder is only looked at from time to time.
    watcher: Option<RecommendedWatcher>,
    /// `None` where there is no place for one.
    bell: Option<Bell>,
    /// Whether the system was asked to tell of changes.
    listening: bool,
}

impl Eyes {
    /// Opens the eyes; without somebody to tell, or where the system cannot tell of changes, only
    /// looking finds them. Returns also what a listener should know.
    pub fn open(
        root: PathBuf,
        tell: Option<impl FnMut(Signal) + Send + 'static>,
    ) -> (Self, Option<String>) {
        let bell = tell.as_ref().and_then(|_| Bell::hang().ok());
        let watcher = tell.map(|mut tell| {
            let (root, bell) = (root.clone(), bell.as_ref().map(|b| b.folder().to_owned()));
            let handler = move |told| {
                let told = signals(&root, bell.as_deref(), told);
                told.into_iter().for_each(&mut tell);
            };
            RecommendedWatcher::new(handler, Config::default())
        });
        let (watcher, notice) = match watcher {
            None => (None, None),
            Some(Ok(watcher)) => (Some(watcher), None),
            Some(Err(error)) => (None, Some(no_events(&error))),
        };
        let eyes = Self {
            root,
            watcher,
            bell,
            listening: false,
        };
        (eyes, notice)
    }

    /// Returns whether the system tells of changes.
    pub fn hear(&self) -> bool {
        self.listening && self.watcher.is_some()
    }

    /// Asks the system anew to tell of changes: a folder made again has another watch. Returns what
    /// a listener should know, if it will not tell any more.
    pub fn listen(&mut self) -> Option<String> {
        let watcher = self.watcher.as_mut()?;
        self.listening = true;
        let parts = Part::ALL.map(|part| self.root.join(part.folder()));
        let bell = self.bell.as_ref().map(Bell::is_hung);
        for folder in std::iter::once(&*self.root)
            .chain(parts.iter().map(|part| &**part))
            .chain(bell)
        {
            // There was none, or the one of a folder that is gone.
            let _ = watcher.unwatch(folder);
            if !folder.is_dir() {
                continue;
            }
            match watcher.watch(folder, RecursiveMode::NonRecursive) {
                Ok(()) => {}
                Err(_) if !folder.is_dir() => {}
                Err(error) => {
                    self.watcher = None;
                    return Some(no_events(&error));
                }
            }
        }
        None
    }

    /// Has the system tell of the bell of the number returned, after all that it has to tell by now.
    /// `None` where it cannot be rung.
    pub fn ring(&mut self) -> Option<u64> {
        self.bell.as_mut()?.ring().ok()
    }

    /// Lists the files with their stamps.
    pub fn look(&self) -> Sight {
        let mut sight = Sight::default();
        for part in Part::ALL {
            let folder = self.root.join(part.folder());
            match self.list(part, &folder, &mut sight.files) {
                Ok(()) => {}
                Err(error) if gone(&error) => sight.missing |= !part.may_be_missing(),
                Err(error) => {
                    let why = format!("{} cannot be listed: {error}", folder.display());
                    sight.blind = Some(why);
                }
            }
        }
        sight
    }

    fn list(&self, part: Part, folder: &Path, files: &mut BTreeMap<Name, Stamp>) -> io::Result<()> {
        let mut found = Vec::new();
        for entry in fs::read_dir(folder)? {
            let path = entry?.path();
            found.extend(Name::of(part, &path).map(|name| (name, path)));
        }
        let stamps = on_all_cores(&found, MANY, |(_, path)| stamp(path));
        let names = found.into_iter().map(|(name, _)| name);
        files.extend(names.zip(stamps).filter_map(|(n, s)| Some((n, s?))));
        Ok(())
    }

    /// Returns how a file looks now.
    pub fn stamp(&self, name: &Name) -> Option<Stamp> {
        stamp(&name.path(&self.root))
    }
}

fn gone(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        io::ErrorKind::NotFound | io::ErrorKind::NotADirectory
    )
}

fn no_events(error: &notify::Error) -> String {
    format!("the system does not tell of changes ({error}); the folder is looked at every second")
}

/// Stamps what a path leads to; a link that leads nowhere has a stamp too, so that it is told.
fn stamp(path: &Path) -> Option<Stamp> {
    let found = match fs::metadata(path) {
        Ok(found) => found,
        Err(_) => {
            return fs::symlink_metadata(path)
                .is_ok()
                .then_some(Stamp::default());
        }
    };
    let since_1970 = |time: SystemTime| {
        let after = time.duration_since(SystemTime::UNIX_EPOCH);
        after.unwrap_or_default()
    };
    let modified = found.modified().map(since_1970).unwrap_or_default();
    #[cfg(unix)]
    let (number, changed) = {
        use std::os::unix::fs::MetadataExt;
        (
            found.ino(),
            found.ctime().wrapping_mul(1_000_000_000) + found.ctime_nsec(),
        )
    };
    #[cfg(not(unix))]
    let (number, changed) = (0, 0);
    Some(Stamp {
        modified: i64::try_from(modified.as_millis()).unwrap_or(i64::MAX),
        rest: (modified.subsec_nanos(), found.len(), number, changed),
    })
}

/// Reads what the system tells of a folder, and of the bell that hangs in another.
fn signals(root: &Path, bell: Option<&Path>, told: notify::Result<Event>) -> Vec<Signal> {
    let lost = Signal::File {
        seen: Some(Seen::Lost),
        look: true,
    };
    let event = match told {
        Ok(event) if !event.need_rescan() => event,
        Ok(_) | Err(_) => return vec![lost],
    };
    let of = |path: &PathBuf| match path.parent() {
        Some(folder) if Some(folder) == bell => {
            let rung = matches!(event.kind, EventKind::Create(_));
            rung.then(|| bell::number(path)).flatten().map(Signal::Bell)
        }
        _ => signal(root, event.kind, path),
    };
    event.paths.iter().filter_map(of).collect()
}

fn signal(root: &Path, kind: EventKind, path: &Path) -> Option<Signal> {
    let is_part = |part: Part| path == root.join(part.folder());
    if path == root || Part::ALL.into_iter().any(is_part) {
        let matters = matches!(
            kind,
            EventKind::Create(_) | EventKind::Remove(_) | EventKind::Modify(ModifyKind::Name(_))
        );
        return matters.then_some(Signal::Folder);
    }
    let folder = path.parent()?;
    let part = Part::ALL
        .into_iter()
        .find(|part| folder == root.join(part.folder()))?;
    let name = Name::of(part, path)?;
    if !TELLS_OF_CLOSING {
        let look = !matches!(kind, EventKind::Access(_));
        return Some(Signal::File { seen: None, look });
    }
    let (seen, look) = match kind {
        EventKind::Access(AccessKind::Close(AccessMode::Write)) => (Some(Seen::Closed(name)), true),
        EventKind::Modify(ModifyKind::Name(RenameMode::From)) | EventKind::Remove(_) => {
            (None, true)
        }
        // Of the two names that this tells of, one is not there any more and is not asked for.
        EventKind::Modify(ModifyKind::Name(_)) => (Some(Seen::Closed(name)), true),
        EventKind::Modify(ModifyKind::Data(_) | ModifyKind::Any) => {
            (Some(Seen::Writing(name)), false)
        }
        EventKind::Create(_) if is_link(path) => (Some(Seen::Closed(name)), true),
        EventKind::Create(_) => (Some(Seen::Writing(name)), false),
        _ => return None,
    };
    Some(Signal::File { seen, look })
}

/// Returns whether a file just made is a link to one that was there: nobody will close it.
fn is_link(path: &Path) -> bool {
    let Ok(found) = fs::symlink_metadata(path) else {
        return false;
    };
    #[cfg(unix)]
    let hard = std::os::unix::fs::MetadataExt::nlink(&found) > 1;
    #[cfg(not(unix))]
    let hard = false;
    found.is_symlink() || hard
}
