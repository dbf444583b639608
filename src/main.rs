//! Parses the command line, calls `cli`, exits with its code.

use std::process::ExitCode;

fn main() -> ExitCode {
    sidevoice::cli::main(std::env::args_os())
}
