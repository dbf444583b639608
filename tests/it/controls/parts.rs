//! Input devices, for which a pipe stands in: what is pressed is told, and a device may come and go.
#![expect(clippy::disallowed_methods, reason = "plays the part of a device")]

use super::Open;
use super::program;
use sidevoice::live::control::Action;
use sidevoice::live::control::Device;
use sidevoice::live::control::DeviceAt;
use sidevoice::live::control::Doing;
use sidevoice::live::control::Mapping;
use sidevoice::live::control::Source;
use sidevoice::live::control::Status;
use sidevoice::live::control::Verb;
use std::collections::BTreeMap;
use std::fs;
use std::fs::File;
use std::io::BufRead;
use std::io::BufReader;
use std::io::Write;
use std::path::Path;
use std::process::Stdio;
use std::time::Duration;

/// Makes a pipe.
fn pipe(path: &Path) {
    let made = std::process::Command::new("mkfifo").arg(path).status();
    assert!(made.unwrap().success());
}

/// A press as the kernel sends it (linux/input.h): a scan code, the key, the end of the report; then
/// the key held down, and let go.
fn press(to: &mut impl Write, code: u16) {
    let mut events = Vec::new();
    for (kind, code, value) in [
        (4u16, 4u16, 30i32),
        (1, code, 1),
        (0, 0, 0),
        (1, code, 2),
        (1, code, 2),
        (1, code, 0),
        (0, 0, 0),
    ] {
        events.extend([0; 2 * size_of::<usize>()]);
        events.extend(kind.to_ne_bytes());
        events.extend(code.to_ne_bytes());
        events.extend(value.to_ne_bytes());
    }
    // All at once: who hears the press may be done, and gone, before the end of it.
    to.write_all(&events).unwrap();
}

fn with_device(device: Device) -> Open {
    Open::new(&Mapping {
        devices: vec![device],
        media: BTreeMap::new(),
        ..Mapping::default()
    })
}

#[test]
fn each_button_of_a_device_is_told_once_and_the_device_may_come_and_go() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pedal");
    let open = with_device(Device {
        at: DeviceAt::Path(path.clone()),
        buttons: [
            (104, Action::Tell(Verb::Back)),
            (109, Action::Tell(Verb::Skip)),
        ]
        .into(),
        one_button: false,
    });
    let notice = |words: &str| {
        crate::sound::pulse::wait_for(words, || {
            open.controls
                .notices()
                .any(|n| n.contains(words))
                .then_some(())
        });
    };
    notice("is not there: it is used as soon as it is plugged in");
    pipe(&path);
    notice("is there");
    for _ in 0..2 {
        // Each time the writer leaves, as a device that is unplugged, and comes back.
        let mut presses = Vec::new();
        for code in [109, 30, 104] {
            press(&mut presses, code);
        }
        // The reader may just be letting go of the end that the last writer left.
        let writer = crate::sound::pulse::wait_for("a reader", || {
            let mut to = File::options().write(true).open(&path).ok()?;
            to.write_all(&presses).ok().map(|()| to)
        });
        for verb in [Verb::Skip, Verb::Back] {
            let told = open.told();
            assert_eq!((told.verb, told.from), (verb, Source::Device));
        }
        drop(writer);
    }
    assert!(open.inputs.next(Duration::from_millis(100)).is_none());
}

#[test]
fn one_button_pauses_and_says_where_and_two_presses_skip() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("clicker");
    pipe(&path);
    let open = with_device(Device {
        at: DeviceAt::Path(path.clone()),
        buttons: BTreeMap::new(),
        one_button: true,
    });
    let show = |state| {
        open.board.show(Status {
            state,
            ..Status::default()
        });
    };
    show(Doing::Running);
    let mut to = File::options().write(true).open(&path).unwrap();
    press(&mut to, 30);
    assert_eq!(open.told().verb, Verb::Pause);
    show(Doing::Paused);
    assert_eq!(open.told().verb, Verb::Where);
    press(&mut to, 31);
    assert_eq!(open.told().verb, Verb::Resume);
    assert!(open.inputs.next(Duration::from_millis(100)).is_none());
}

#[test]
fn buttons_are_learned_from_presses_and_written_with_all_else_kept() {
    let home = tempfile::tempdir().unwrap();
    let path = home.path().join("pedal");
    pipe(&path);
    let config = home.path().join(".config/sidevoice/config.toml");
    fs::create_dir_all(config.parent().unwrap()).unwrap();
    fs::write(&config, "# Mine.\n[keys]\ns = \"none\"  # too near\n").unwrap();
    let device = path.to_str().unwrap();
    let mut child = program(
        home.path(),
        &[
            "buttons", "learn", "--silent", "--wait", "20", "--device", device,
        ],
    )
    .stdout(Stdio::piped())
    .stderr(Stdio::piped())
    .spawn()
    .unwrap();
    let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
    let mut wait_for = |words: &str| {
        let said = lines
            .by_ref()
            .map_while(Result::ok)
            .any(|line| line.contains(words));
        assert!(said, "it never said {words}");
    };
    let mut to = File::options().write(true).open(&path).unwrap();
    for (words, code) in [("pause and go on", 28), ("skip", 109), ("back", 28)] {
        wait_for(&format!("Press the button for: {words}"));
        press(&mut to, code);
    }
    assert!(child.wait().unwrap().success());
    assert_eq!(
        fs::read_to_string(&config).unwrap(),
        format!(
            "# Mine.\n[keys]\ns = \"none\"  # too near\n\n[[device]]\npath = \"{device}\"\n\
             buttons = {{ 28 = \"pause-or-resume\", 109 = \"skip\" }}\n"
        )
    );
}

#[test]
fn a_device_that_is_not_there_or_not_named_is_told_of() {
    let home = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str]| {
        let output = program(home.path(), arguments).output().unwrap();
        (
            output.status.code(),
            String::from_utf8(output.stderr).unwrap(),
        )
    };
    let (code, said) = run(&["buttons", "learn", "--silent"]);
    assert_eq!(code, Some(64));
    assert!(said.contains("--device PATH"), "{said}");
    let gone = home.path().join("gone");
    let (code, said) = run(&[
        "buttons",
        "learn",
        "--silent",
        "--device",
        gone.to_str().unwrap(),
    ]);
    assert_eq!(code, Some(4));
    assert!(said.contains("is not there"), "{said}");
    assert!(!home.path().join(".config").exists());
}
