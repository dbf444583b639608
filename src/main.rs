//! Parses the command line, calls `cli`, exits with its code.

use std::process::ExitCode;

use sidevoice::sound::speech::serve;

fn main() -> ExitCode {
    let mut arguments = std::env::args_os().skip(1);
    // The neural engine is this program again; not a command, so not on the command line's help.
    if arguments
        .next()
        .is_some_and(|first| first == serve::ARGUMENT)
    {
        return serve::serve(arguments);
    }
    ExitCode::SUCCESS
}
