//! Controls by their real parts: the socket, media keys on a bus, hotkeys on a display, a pipe in
//! place of an input device. Everything that is started is ended by its process id.

mod background;
pub mod class;
mod parts;
mod socket;

use sidevoice::live::control::Board;
use sidevoice::live::control::Controls;
use sidevoice::live::control::Inputs;
use sidevoice::live::control::Mapping;
use sidevoice::live::control::Told;
use sidevoice::live::control::line;
use std::path::Path;
use std::path::PathBuf;
use std::time::Duration;

/// How long a verb may take to come through, on a machine that is shared.
const COMES_WITHIN: Duration = Duration::from_secs(20);

/// Controls that are open, and what they tell.
struct Open {
    runtime: tempfile::TempDir,
    board: Board,
    inputs: Inputs,
    controls: Controls,
}

impl Open {
    /// Opens the controls of a mapping, with a runtime folder of their own.
    fn new(mapping: &Mapping) -> Self {
        let runtime = tempfile::tempdir().unwrap();
        let (teller, inputs) = line();
        let board = Board::default();
        let folder = runtime.path().join("sidevoice");
        let controls = Controls::open(mapping, teller, board.clone(), &folder);
        Self {
            runtime,
            board,
            inputs,
            controls,
        }
    }

    fn folder(&self) -> PathBuf {
        self.runtime.path().join("sidevoice")
    }

    fn socket(&self) -> PathBuf {
        self.folder().join("control.sock")
    }

    /// Waits for what is told next.
    fn told(&self) -> Told {
        self.inputs.next(COMES_WITHIN).expect("nothing was told")
    }
}

/// The program, with this runtime folder and a home without a configuration.
fn program(runtime: &Path, arguments: &[&str]) -> std::process::Command {
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_sidevoice"));
    command
        .args(arguments)
        .env("XDG_RUNTIME_DIR", runtime)
        .env("HOME", runtime)
        .env_remove("XDG_CONFIG_HOME")
        .env_remove("SIDEVOICE_LOG")
        .stdin(std::process::Stdio::null());
    command
}
