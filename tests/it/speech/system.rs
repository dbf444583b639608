//! The voice of the operating system, by a speech-dispatcher of the test's own on a private socket
//! that speaks into a null sink: started here and ended by its id.

#![expect(
    clippy::disallowed_methods,
    reason = "writes files and waits for processes"
)]

use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::path::PathBuf;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::time::Duration;
use std::time::Instant;

use sidevoice::sound::speech::Estimate;
use sidevoice::sound::speech::Rate;

use crate::sound::pipe::Running;
use crate::sound::pulse::LIMIT;
use crate::sound::pulse::Server;
use crate::sound::pulse::wait_for;
use crate::speech::class::folder;
use crate::speech::class::has_a_count;
use crate::speech::class::heard;

const PROGRAM: &str = env!("CARGO_BIN_EXE_sidevoice");

/// A sound server and a speech-dispatcher that speaks into it.
struct System {
    sound: Server,
    dispatcher: Child,
}

/// Makes a folder of espeak-ng's data without the hundred variants of each voice: with them a list of
/// voices has thirteen thousand and takes seconds.
fn without_variants(sound: &Server) -> PathBuf {
    let told = Command::new("espeak-ng").arg("--version").output();
    let told = String::from_utf8(told.expect("espeak-ng").stdout).unwrap();
    let (_, data) = told.trim().split_once("Data at: ").expect("where it is");
    let own = sound.folder().join("espeak-ng-data");
    fs::create_dir_all(own.join("voices")).unwrap();
    for entry in fs::read_dir(data).unwrap() {
        let name = entry.unwrap().file_name();
        if name != "voices" {
            symlink(Path::new(data).join(&name), own.join(&name)).unwrap();
        }
    }
    own
}

impl System {
    fn start() -> System {
        let sound = Server::start();
        let conf = sound.folder().join("conf");
        fs::create_dir_all(conf.join("modules")).unwrap();
        let lines = "LogLevel 0\nAudioOutputMethod \"pulse\"\nDefaultModule espeak-ng\n\
                     DefaultLanguage \"en\"\nAddModule \"espeak-ng\" \"sd_espeak-ng\" \"espeak-ng.conf\"\n";
        fs::write(conf.join("speechd.conf"), lines).unwrap();
        fs::write(conf.join("modules/espeak-ng.conf"), "").unwrap();
        let at = |name: &str| sound.folder().join(name);
        let dispatcher = sound
            .command("speech-dispatcher")
            .env("ESPEAK_DATA_PATH", without_variants(&sound))
            .args(["-s", "-c", "unix_socket", "-t", "0", "-S"])
            .arg(at("speech.sock"))
            .arg("-C")
            .arg(&conf)
            .arg("-L")
            .arg(at("speech-log"))
            .arg("-P")
            .arg(at("speech.pid"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("speech-dispatcher: run scripts/setup --test");
        let system = System { sound, dispatcher };
        wait_for("speech-dispatcher", || {
            at_path(&system, "speech.sock").exists().then_some(())
        });
        system
    }

    /// Makes a command of the program that reaches both.
    fn command(&self, folder: &Path, arguments: &[&str]) -> Command {
        let socket = at_path(self, "speech.sock");
        let mut command = self.sound.command(PROGRAM);
        command
            .args(arguments)
            .current_dir(folder)
            .env(
                "SPEECHD_ADDRESS",
                format!("unix_socket:{}", socket.display()),
            )
            .stdin(Stdio::null());
        command
    }

    fn kill(&mut self) {
        let _ = self.dispatcher.kill();
        let _ = self.dispatcher.wait();
    }
}

impl Drop for System {
    fn drop(&mut self) {
        self.kill();
    }
}

fn at_path(system: &System, name: &str) -> PathBuf {
    system.sound.folder().join(name)
}

#[test]
fn lines_fit_their_estimates_and_a_file_is_refused() {
    let system = System::start();
    let folder = folder("system");
    let estimate = Estimate::of_system("en");
    let mut shares = Vec::new();
    for line in [
        "Hips back, shoulders square to the floor.",
        "Take a six kilogram dumbbell in your right hand.",
        "Rest, ten seconds.",
        "Breathe out as you push.",
        "Stand in front of the bench, feet as wide as your hips.",
        "Put the weights down. Walk it off. Breathe.",
        "Left.",
        "If in doubt about your health, ask a doctor or a physiotherapist before you start.",
    ] {
        let recorder = system.sound.record();
        let tried = system
            .command(folder.path(), &["voices", "try", "system", line])
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&tried.stderr).into_owned();
        assert!(tried.status.success(), "{told}");
        assert_eq!(told, "", "no other voice speaks");
        let (first, last) = heard(&recorder.samples()).expect("it was heard");
        let length = (last - first) as f64 / 48.0;
        shares.push(estimate.length(line, Rate::NORMAL).ms() as f64 / length);
    }
    shares.sort_by(f64::total_cmp);
    let median = shares[shares.len() / 2];
    assert!(
        shares[0] >= 1.0,
        "each line is shorter than estimated: {shares:?}"
    );
    assert!(median <= 1.6, "and not by much: {shares:?}");

    // What looks like orders to a speech engine is text, and a line that is all marks says nothing.
    let recorder = system.sound.record();
    let odd = "<speak>Sit <break time=\"30s\"/>tall</speak> & [[h@l'oU]] \u{1f6a3} \u{1}breathe.";
    let tried = system.command(folder.path(), &["voices", "try", "system", odd]);
    assert!({ tried }.status().unwrap().success());
    let (first, last) = heard(&recorder.samples()).expect("it was heard");
    assert!(last - first < 6 * 48_000, "{} ms", (last - first) / 48);
    let silent = system.command(folder.path(), &["voices", "try", "system", "<br/> ... !"]);
    let silent = { silent }.output().unwrap();
    assert_eq!(silent.status.code(), Some(5), "{silent:?}");

    let refused = system.command(folder.path(), &["render", "short", "-o", "short.wav"]);
    let refused = { refused }.output().unwrap();
    let told = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert_eq!(refused.status.code(), Some(5), "{told}");
    assert!(
        told.contains("gives no sound that could be written to a file"),
        "{told}"
    );
    assert!(!folder.path().join("short.wav").exists());
}

#[test]
fn a_class_is_spoken_by_the_system_and_goes_on_when_that_is_killed() {
    let mut system = System::start();
    let folder = folder("system");
    let start = |system: &System| {
        let log = fs::File::create(folder.path().join("said")).unwrap();
        let arguments = "run short --no-log --buffer 2048 --caution brief";
        let arguments: Vec<&str> = arguments.split(' ').collect();
        let mut command = system.command(folder.path(), &arguments);
        Running(command.stdout(Stdio::null()).stderr(log).spawn().unwrap())
    };
    let said = || fs::read_to_string(folder.path().join("said")).unwrap();
    let tell = |system: &System, verb: &str| {
        let told = system.command(folder.path(), &["tell", verb]).output();
        assert!(told.unwrap().status.success(), "{}", said());
    };

    // What is stopped is silent at once.
    let recorder = system.sound.record();
    let mut class = start(&system);
    recorder.wait_for("the opening", heard);
    recorder.wait_more(24_000);
    assert!(said().contains("Voice: system."), "{}", said());
    let from = recorder.len();
    tell(&system, "stop");
    class.0.wait().unwrap();
    recorder.wait_more(24_000);
    let after = heard(&recorder.samples()[from..]).map_or(0, |(_, last)| last);
    assert!(
        after < 48_000,
        "heard for {} ms after the end was told",
        after / 48
    );
    drop(recorder);

    // What is killed in the middle of a line is told once, and another voice goes on.
    let recorder = system.sound.record();
    let mut class = start(&system);
    recorder.wait_for("the opening", heard);
    system.kill();
    let begun = Instant::now();
    while !said().contains("fell silent") {
        assert!(begun.elapsed() < LIMIT, "{}", said());
        std::thread::sleep(Duration::from_millis(50));
    }
    let from = recorder.len();
    recorder.wait_for("another voice", |samples| heard(&samples[from..]));
    let begun = Instant::now();
    while !said().contains("MARCH") {
        assert!(begun.elapsed() < LIMIT, "{}", said());
        std::thread::sleep(Duration::from_millis(50));
    }
    recorder.wait_more(3 * 48_000);
    tell(&system, "stop");
    class.0.wait().unwrap();
    let said = said();
    assert_eq!(said.matches("fell silent").count(), 1, "{said}");
    assert!(said.contains("Voice: system."), "{said}");
    assert!(!said.contains("after its time"), "no mark was late: {said}");
    assert!(has_a_count(&recorder.samples()), "{said}");
}
