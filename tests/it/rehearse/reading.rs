//! `speaker new` from outside: a synthetic voice reads what the program prints into a sink whose monitor is the
//! microphone, in real time; its lengths are known to the sample.
#![expect(
    clippy::disallowed_methods,
    reason = "is a reader before a program: talks to it in real time"
)]

use std::fs;
use std::io::BufRead;
use std::io::BufReader;
use std::io::Read;
use std::io::Write;
use std::path::PathBuf;
use std::process::Child;
use std::process::ExitStatus;
use std::process::Stdio;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::thread;
use std::time::Duration;

use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Rate;
use sidevoice::base::wording::Language;
use sidevoice::rehearse::pace::Pace;
use sidevoice::rehearse::pace::Person;
use sidevoice::rehearse::pace::lines::TEN;
use sidevoice::sound::speech::Take;
use sidevoice::sound::speech::Utterance;
use sidevoice::speakers::Speakers;

use super::coach::pink;
use super::microphone::play;
use crate::sound::pulse::Server;
use crate::sound::pulse::wait_for;
use crate::speech::all;
use crate::speech::named;

/// How long the program may take to say the next thing: a minute of moving is the longest that it waits.
const PATIENCE: Duration = Duration::from_secs(75);
/// Somebody who reads needs so long to begin, in samples: 300 ms (common practice).
const REACTION: usize = 14_400;

/// The program as the reader sees it, and the room that it hears.
struct Booth {
    server: Server,
    noise: Option<Child>,
    program: Child,
    told: Receiver<String>,
    all: Vec<String>,
}

impl Booth {
    /// Starts it in a room that hisses, or in front of a microphone that gives nothing but zeros.
    fn start(hisses: bool, arguments: &[&str]) -> Booth {
        let server = Server::start();
        let noise = hisses.then(|| hiss(&server));
        Booth::with(server, noise, arguments)
    }

    fn with(server: Server, noise: Option<Child>, arguments: &[&str]) -> Booth {
        let mut program = server
            .command(env!("CARGO_BIN_EXE_sidevoice"))
            .args(["speaker", "new"])
            .args(arguments)
            .env("XDG_DATA_HOME", server.folder().join("data"))
            .env_remove("SIDEVOICE_LOG")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(program.stderr.take().unwrap()).lines();
        let (tell, told) = mpsc::channel();
        thread::spawn(move || {
            for line in lines.map_while(Result::ok) {
                if tell.send(line).is_err() {
                    break;
                }
            }
        });
        Booth {
            server,
            noise,
            program,
            told,
            all: Vec::new(),
        }
    }

    /// Returns the next line that the program says; `None` at its end.
    fn next(&mut self) -> Option<String> {
        match self.told.recv_timeout(PATIENCE) {
            Ok(line) => {
                assert!(!line.contains("panicked"), "{line}");
                self.all.push(line.clone());
                Some(line)
            }
            Err(mpsc::RecvTimeoutError::Disconnected) => None,
            Err(error) => panic!("{error} after {:#?}", self.all),
        }
    }

    /// Waits for a line that begins so.
    fn wait_for(&mut self, begin: &str) {
        while !self.next().expect(begin).starts_with(begin) {}
    }

    /// Waits for the end; returns the exit code and what was printed.
    fn end(&mut self) -> (Option<i32>, String) {
        while self.next().is_some() {}
        let status: ExitStatus = wait_for("the end", || self.program.try_wait().unwrap());
        let mut out = String::new();
        let mut pipe = self.program.stdout.take().unwrap();
        pipe.read_to_string(&mut out).unwrap();
        (status.code(), out)
    }

    fn speakers(&self) -> PathBuf {
        self.server.folder().join("data/sidevoice/speakers")
    }

    /// Fails unless the program said all this, and left nothing behind.
    fn check_nothing_kept(&self, words: &[&str]) {
        let said = self.all.join("\n");
        for words in words {
            assert!(said.contains(words), "no \"{words}\" in {said}");
        }
        assert!(!self.speakers().exists(), "{said}");
    }
}

impl Drop for Booth {
    fn drop(&mut self) {
        for child in [&mut self.program].into_iter().chain(&mut self.noise) {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}

/// Begins to hiss: pink noise without end, some 46 dB below full scale.
fn hiss(server: &Server) -> Child {
    let mut player = server
        .command("pacat")
        .args(["--playback", "--raw", "--format=float32le", "--rate=48000"])
        .args(["--channels=1", "--latency-msec=200"])
        .stdin(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut pipe = player.stdin.take().unwrap();
    let noise = pink(48_000 * 5);
    let bytes = noise.iter().flat_map(|it| (it * 0.005).to_le_bytes());
    let bytes: Vec<u8> = bytes.collect();
    thread::spawn(move || while pipe.write_all(&bytes).is_ok() {});
    player
}

/// The ten lines as the compact voice says them, at so many thousandths of its speed.
fn read(per_mille: u16) -> Vec<Take> {
    let folder = tempfile::tempdir().unwrap();
    let lines = TEN.map(|text| Utterance {
        text: text.to_owned(),
        rate: Rate::from_per_mille(per_mille),
    });
    all(named("compact", folder.path()).takes(&lines))
}

/// The median error with which a pace tells the lengths of the takes, as a part of them.
fn error(pace: &Pace, takes: &[Take]) -> f64 {
    let error = |(text, take): (&&str, &Take)| {
        let told = pace.length(text, Language::English, Rate::NORMAL);
        let off: Millis = told - take.length();
        off.ms().unsigned_abs() as f64 / take.length().ms() as f64
    };
    let mut errors: Vec<f64> = TEN.iter().zip(takes).map(error).collect();
    errors.sort_unstable_by(f64::total_cmp);
    (errors[4] + errors[5]) / 2.0
}

#[test]
fn who_reads_ten_lines_at_rest_and_out_of_breath_is_known_by_both_paces() {
    let readings = [read(1100), read(850)];
    let mut booth = Booth::start(
        true,
        &["anna", "--out-of-breath", "--moving", "12", "--keep"],
    );
    let mut reading = 0;
    while let Some(told) = booth.next() {
        reading += usize::from(told.starts_with("Now move"));
        let Some((number, _)) = told.split_once(" of 10: ") else {
            continue;
        };
        let number: usize = number.parse().unwrap();
        let mut samples = vec![0.0; REACTION];
        samples.extend_from_slice(&readings[reading][number - 1].samples);
        assert!(play(&booth.server, &samples).wait().unwrap().success());
    }
    let (code, out) = booth.end();
    let said = booth.all.join("\n");
    assert_eq!(code, Some(0), "{said}");
    for words in [
        "no sound leaves",
        "Two seconds of silence",
        "stop at once",
        "10 seconds left",
    ] {
        assert!(said.contains(words), "no \"{words}\" in {said}");
    }
    let speakers = Speakers::at(booth.speakers());
    let person: Person = speakers.load("anna").person.expect("anna");
    let paces = [Some(person.pace), person.breathless];
    let errors: Vec<f64> = paces
        .iter()
        .zip(&readings)
        .map(|(pace, takes)| error(pace.as_ref().expect("both"), takes))
        .collect();
    println!("median errors {errors:.3?}\n{out}{said}");
    assert!(errors.iter().all(|error| *error <= 0.10), "{errors:?}");
    assert!(person.lines >= 7, "{person:?}");
    let words = format!("anna: {} words a minute", person.words_a_minute());
    assert!(
        out.starts_with(&words) && out.contains("Out of breath: "),
        "{out}"
    );
    // The recording is where it was said to be, and as long as both readings at least.
    let file = speakers.recording("anna").unwrap();
    let file_text = file.display().to_string();
    assert!(
        said.contains(&file_text) && out.contains(&file_text),
        "{said}{out}"
    );
    let wav = hound::WavReader::open(file).unwrap();
    let lengths = readings.iter().flatten().map(Take::length);
    let seconds = f64::from(wav.duration()) / f64::from(wav.spec().sample_rate);
    let spoken = lengths.sum::<Millis>().secs();
    assert!(
        (spoken..spoken * 3.0).contains(&seconds),
        "{seconds} s, {spoken} s spoken"
    );
    // Whoever is there is not replaced by accident; it is said before a microphone is opened.
    let server = std::mem::replace(&mut booth.server, Server::start());
    let kept = fs::read(speakers.file("anna").unwrap()).unwrap();
    let mut again = Booth::with(server, None, &["anna"]);
    let (code, _) = again.end();
    assert_eq!(code, Some(3));
    let told = again.all.join("\n");
    assert!(told.contains("\"anna\" already. Add --overwrite"), "{told}");
    assert_eq!(fs::read(speakers.file("anna").unwrap()).unwrap(), kept);
}

#[test]
fn a_muted_microphone_is_told_and_nothing_is_kept() {
    let mut booth = Booth::start(false, &["anna", "--keep"]);
    assert_eq!(booth.end(), (Some(4), String::new()));
    booth.check_nothing_kept(&["has sent pure silence", "is it muted?", "Nothing is kept"]);
}

#[test]
fn who_interrupts_the_reading_or_unplugs_the_microphone_keeps_nothing() {
    let mut booth = Booth::start(true, &["anna", "--keep"]);
    booth.wait_for("1 of 10: ");
    let id = booth.program.id().to_string();
    let mut kill = booth.server.command("kill");
    assert!(kill.args(["-s", "INT", &id]).status().unwrap().success());
    assert_eq!(booth.end(), (Some(130), String::new()));
    booth.check_nothing_kept(&["Nothing is kept"]);
    let mut booth = Booth::start(true, &["anna", "--keep"]);
    booth.wait_for("1 of 10: ");
    booth.server.remove_sink();
    assert_eq!(booth.end(), (Some(4), String::new()));
    booth.check_nothing_kept(&["the microphone", "Nothing is kept"]);
}

#[test]
fn without_a_microphone_or_with_a_wrong_name_nobody_is_heard() {
    let mut booth = Booth::start(false, &["anna", "--microphone", "attic"]);
    assert_eq!(booth.end(), (Some(4), String::new()));
    booth.check_nothing_kept(&["called attic", "cap.monitor", "--speaker me"]);
    let mut server = Server::start();
    server.kill();
    let mut booth = Booth::with(server, None, &["anna"]);
    assert_eq!(booth.end(), (Some(4), String::new()));
    booth.check_nothing_kept(&["expected a ", "--speaker me"]);
    let mut booth = Booth::start(false, &["../anna"]);
    assert_eq!(booth.end(), (Some(64), String::new()));
    booth.check_nothing_kept(&["expected a name of letters", "\"../anna\""]);
}
