//! The program itself in a world that is not as it should be: nothing there, nothing writable, no
//! room, nobody listening. What it says, how it ends, what it leaves behind.
#![expect(
    clippy::disallowed_methods,
    reason = "makes the world that the program meets"
)]

mod broken;
mod contracts;
mod handed_on;
mod history;
mod output;
mod texts;
mod watch;

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::process::Stdio;

/// A home of its own, with a session folder in it, for one test.
pub struct World {
    home: tempfile::TempDir,
}

/// What the program did.
#[derive(Debug)]
pub struct Ended {
    code: Option<i32>,
    pub out: String,
    pub err: String,
}

/// One work of a few seconds: enough to be spoken, soon written.
const SESSION: &str = "title = \"Short outing\"\nopening = \"Off we go.\"\nfinish = \"10s\"\n\
                       lead_in = \"1m\"\n[[block]]\nwork = \"15s\"\nmovements = [\"march\"]\n";

impl World {
    /// Makes a folder `boathouse` with one short session, `short`.
    pub fn new() -> Self {
        let world = Self {
            home: tempfile::tempdir().unwrap(),
        };
        let library = crate::common::root().join("tests/corpus/library/movements");
        for part in ["boathouse/sessions", "boathouse/movements"] {
            fs::create_dir_all(world.at(part)).unwrap();
        }
        fs::copy(
            library.join("march.toml"),
            world.at("boathouse/movements/march.toml"),
        )
        .unwrap();
        world.write("boathouse/sessions/short.toml", SESSION);
        world
    }

    pub fn at(&self, path: &str) -> PathBuf {
        self.home.path().join(path)
    }

    pub fn write(&self, path: &str, text: &str) {
        fs::write(self.at(path), text).unwrap();
    }

    /// The program with these arguments, about to run in `boathouse`.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_sidevoice"));
        command
            .args(arguments)
            .current_dir(self.at("boathouse"))
            .env("HOME", self.home.path())
            .env("XDG_DATA_HOME", self.at("data"))
            .env("XDG_CACHE_HOME", self.at("cache"))
            .env_remove("SIDEVOICE_LOG")
            .stdin(Stdio::null());
        command
    }

    /// Runs the program; it must not have panicked.
    pub fn run(&self, arguments: &[&str]) -> Ended {
        ended(&mut self.command(arguments))
    }
}

fn ended(command: &mut Command) -> Ended {
    let output = command.output().unwrap();
    let ended = Ended {
        code: output.status.code(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    };
    assert!(!ended.err.contains("panicked"), "{command:?}: {ended:?}");
    ended
}

impl Ended {
    /// Checks the exit code and words of what was said to standard error.
    pub fn check(&self, code: i32, words: &[&str]) -> &Self {
        assert_eq!(self.code, Some(code), "{self:#?}");
        for words in words {
            assert!(self.err.contains(words), "no \"{words}\" in {self:#?}");
        }
        self
    }
}

/// The names in a folder, hidden ones included, in order.
pub fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<_> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

pub fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{error}: {text}"))
}

/// The keys of a JSON object, in order.
fn keys(value: &Value) -> Vec<&str> {
    let mut keys: Vec<_> = value
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect();
    keys.sort_unstable();
    keys
}
