//! The unit by which systemd starts the watching at login and keeps it up.
#![expect(
    clippy::disallowed_methods,
    reason = "writes the unit: a file of the user's"
)]

use super::Options;
use crate::cli::Done;
use crate::cli::Failure;
use crate::cli::print;
use crate::sound::out::Pipe;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;

const NAME: &str = "sidevoice.service";

/// Writes the unit, and says what was written and how it is enabled.
pub fn install(root: &Path, options: &Options) -> Done {
    let path = path()?;
    let program = std::env::current_exe()
        .map_err(|error| Failure::File(format!("the program does not find itself: {error}")))?;
    let mut command = vec![text(&program)?, "watch".to_owned()];
    let flags = [
        (options.poll, "--poll"),
        (options.silent, "--silent"),
        (options.no_music, "--no-music"),
    ];
    let flags = flags.iter().filter(|(given, _)| *given);
    command.extend(flags.map(|(_, flag)| (*flag).to_owned()));
    for (value, flag) in [
        (&options.voice, "--voice"),
        (&options.device, "--device"),
        (&options.ear, "--ear"),
    ] {
        if let Some(value) = value {
            command.extend([flag.to_owned(), value.clone()]);
        }
    }
    if let Some(sink) = &options.sink {
        // The service manager starts it in another folder.
        let sink = match sink {
            Pipe::Named(path) => Pipe::Named(std::path::absolute(path).unwrap_or(path.clone())),
            Pipe::StandardOutput => sink.clone(),
        };
        command.extend(["--sink".to_owned(), sink.to_string()]);
    }
    // What begins with a dash is no flag.
    command.extend(["--".to_owned(), text(root)?]);
    let unit = unit(&command);
    let failed =
        |error: io::Error| Failure::File(format!("{} cannot be written: {error}", path.display()));
    fs::create_dir_all(path.parent().unwrap_or(Path::new("."))).map_err(failed)?;
    fs::write(&path, &unit).map_err(failed)?;
    print(&format!(
        "Written to {}:\n\n{unit}\nStart it now and at each login with:\n    \
         systemctl --user daemon-reload && systemctl --user enable --now {NAME}\n\
         Its news: journalctl --user --unit {NAME} --follow\n",
        path.display()
    ))
}

/// Removes the unit, and says how what runs is ended.
pub fn uninstall() -> Done {
    let path = path()?;
    match fs::remove_file(&path) {
        Ok(()) => print(&format!(
            "Removed {}.\nWhat runs now and at login ends with:\n    \
             systemctl --user disable --now {NAME}; systemctl --user daemon-reload\n",
            path.display()
        )),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            print(&format!("There is no {}.\n", path.display()))
        }
        Err(error) => Err(Failure::File(format!(
            "{} cannot be removed: {error}",
            path.display()
        ))),
    }
}

fn path() -> Result<PathBuf, Failure> {
    let base = directories::BaseDirs::new()
        .ok_or_else(|| Failure::File("there is no home folder to write the unit to".to_owned()))?;
    Ok(base.config_dir().join("systemd/user").join(NAME))
}

fn text(path: &Path) -> Result<String, Failure> {
    let text = path.to_str().filter(|text| !text.contains(['\n', '\r']));
    text.map(str::to_owned).ok_or_else(|| {
        Failure::File(format!(
            "a unit cannot hold the name {}: it is no plain text",
            path.display()
        ))
    })
}

fn unit(command: &[String]) -> String {
    let command: Vec<_> = command.iter().map(|word| quoted(word)).collect();
    // No such voice, another one that watches, wrong usage: a second try ends the same. A folder
    // that is not there yet is tried again.
    format!(
        "[Unit]\n\
         Description=sidevoice watches a session folder\n\
         \n\
         [Service]\n\
         Type=notify\n\
         ExecStart={}\n\
         ExecReload=/bin/kill -HUP $MAINPID\n\
         Restart=on-failure\n\
         RestartSec=10\n\
         RestartPreventExitStatus=5 7 64\n\
         \n\
         [Install]\n\
         WantedBy=default.target\n",
        command.join(" ")
    )
}

/// Quotes a word for a command line of systemd (systemd.service(5), "Command lines"): `%` and `$`
/// stand for other things unless doubled.
fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    let mut quoted = String::from("\"");
    for c in word.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            '%' | '$' => quoted.extend([c, c]),
            '\t' => quoted.push_str("\\t"),
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_mean_something_to_systemd_are_quoted() {
        assert_eq!(quoted("/usr/bin/sidevoice"), "/usr/bin/sidevoice");
        assert_eq!(quoted("/home/my boat"), "\"/home/my boat\"");
        assert_eq!(quoted("100% \"$HOME\"\\"), "\"100%% \\\"$$HOME\\\"\\\\\"");
        assert_eq!(quoted(""), "\"\"");
    }
}
