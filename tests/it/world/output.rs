//! Where nothing can be written, or nobody reads.

use super::World;
use super::ended;
use super::names;
use std::fs;
use std::io::BufRead;
use std::io::BufReader;
use std::path::Path;
use std::process::Command;
use std::process::Stdio;

const RENDER: [&str; 5] = ["render", "short", "--voice", "compact", "-o"];

fn render(world: &World, to: &Path, more: &[&str]) -> super::Ended {
    let to = [to.to_str().unwrap()];
    world.run(&[&RENDER[..], &to, more].concat())
}

#[test]
fn places_where_no_file_can_stand_are_named_and_nothing_is_left_there() {
    let world = World::new();
    let before = names(&world.at("boathouse"));
    render(&world, Path::new("none/class.wav"), &[]).check(3, &["no folder none"]);
    render(&world, Path::new("sessions/short.toml/class.wav"), &[]).check(3, &["short.toml"]);
    render(&world, Path::new("/proc/class.wav"), &[]).check(3, &["/proc"]);
    render(&world, Path::new("class.ogg"), &[]).check(3, &["ends in .wav", "class.ogg"]);
    render(&world, Path::new(".wav"), &[]).check(3, &["ends in .wav"]);
    render(&world, Path::new(""), &[]).check(64, &["--output"]);
    fs::create_dir(world.at("folder.wav")).unwrap();
    render(&world, &world.at("folder.wav"), &["--overwrite"]).check(3, &["is not a file"]);
    assert_eq!(names(&world.at("boathouse")), before);
    assert!(names(&world.at("folder.wav")).is_empty());
}

#[test]
fn a_class_is_written_whole_and_what_is_there_is_kept_unless_it_may_go() {
    let world = World::new();
    let path = world.at("class.wav");
    fs::write(&path, "mine").unwrap();
    let kept = render(&world, &path, &[]);
    kept.check(3, &["class.wav is there already", "--overwrite"]);
    assert_eq!(fs::read(&path).unwrap(), b"mine");
    // A session at fault does not cost the file that is there.
    world.write("boathouse/sessions/short.toml", "title = 1\n");
    render(&world, &path, &["--overwrite"]).check(2, &["type-wrong"]);
    assert_eq!(fs::read(&path).unwrap(), b"mine");
    world.write("boathouse/sessions/short.toml", super::SESSION);
    let written = render(&world, &path, &["--overwrite"]);
    written.check(0, &[]);
    assert!(written.out.contains("1:25 long"), "{written:?}");
    assert_eq!(
        hound::WavReader::open(&path).unwrap().duration(),
        85 * 48_000
    );
    assert_eq!(
        names(world.home.path()),
        ["boathouse", "cache", "class.wav"]
    );
}

/// A small file system, ended with the test.
pub struct Small(tempfile::TempDir);

impl Small {
    pub fn folder(&self) -> &Path {
        self.0.path()
    }

    pub fn new() -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let mut mount = Command::new("mount");
        mount
            .args(["-t", "tmpfs", "-o", "size=256k", "none"])
            .arg(folder.path());
        let mounted = mount.stderr(Stdio::null()).status();
        mounted
            .is_ok_and(|it| it.success())
            .then_some(Small(folder))
    }
}

impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).status();
    }
}

#[test]
fn a_full_disk_is_named_and_nothing_is_left_on_it() {
    let world = World::new();
    let Some(small) = Small::new() else {
        eprintln!("not tested: nothing may be mounted here");
        return;
    };
    let full = render(&world, &small.0.path().join("class.wav"), &[]);
    full.check(3, &["the disk that holds", "class.wav is full"]);
    assert!(names(small.0.path()).is_empty());
    // A starter folder that does not fit ends in whole files: the rest is written where there is
    // room again.
    let folder = small.0.path().join("new");
    let cut = world.run(&["new", folder.to_str().unwrap()]);
    cut.check(3, &["No space left on device"]);
    for part in ["sessions", "movements"] {
        for name in names(&folder.join(part)) {
            let text = fs::read(folder.join(part).join(&name)).unwrap();
            let whole = crate::common::root()
                .join("src/starter")
                .join(part)
                .join(&name);
            assert!(text == fs::read(whole).unwrap(), "{name} is cut");
        }
    }
    // Lines that cannot be kept for want of room are spoken all the same.
    let mut plan = world.command(&["plan", "short", "--voice", "compact"]);
    let plan = ended(plan.env("XDG_CACHE_HOME", small.0.path()));
    plan.check(0, &["cannot be kept"]);
    assert_eq!(plan.err.matches("cannot be kept").count(), 1, "{plan:?}");
    let left = names(&small.0.path().join("sidevoice/voices"));
    assert!(left.iter().all(|name| !name.ends_with(".part")), "{left:?}");
}

#[test]
fn a_cache_that_cannot_be_written_is_told_of_once_and_all_is_spoken() {
    let world = World::new();
    world.write("cache", "a file");
    let path = world.at("class.wav");
    let done = render(&world, &path, &[]);
    done.check(0, &["cannot be kept in"]);
    assert_eq!(done.err.matches("cannot be kept").count(), 1, "{done:?}");
    let with = fs::read(&path).unwrap();
    // The same to the sample as with a cache, cold or warm.
    fs::remove_file(world.at("cache")).unwrap();
    for state in ["cold", "warm"] {
        render(&world, &path, &["--overwrite"]).check(0, &[]);
        assert!(
            fs::read(&path).unwrap() == with,
            "a {state} cache changes the class"
        );
    }
}

#[test]
fn what_cannot_be_printed_is_a_failure() {
    let world = World::new();
    for arguments in [
        &["plan", "short", "--voice", "compact"][..],
        &["check", "short"],
    ] {
        let full = fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .unwrap();
        let mut command = world.command(arguments);
        let output = command.stdout(full).output().unwrap();
        assert_eq!(output.status.code(), Some(3), "{output:?}");
    }
}

#[test]
fn nobody_who_reads_is_no_failure() {
    let world = World::new();
    world.write("boathouse/sessions/bad.toml", "title = 1\n");
    for (arguments, code) in [
        (&["plan", "short", "--voice", "compact"][..], 0),
        (&["plan", "short", "--voice", "hibari"], 0),
        (&["check", "--json"], 2),
        (&["check", "bad"], 2),
        (&["plan", "none"], 2),
        (&["voices"], 0),
        (&["--help"], 0),
        (&["plan", "--help"], 0),
        (&["nonsense"], 64),
        (&["new", "fresh"], 0),
        (
            &["render", "short", "--voice", "compact", "-o", "class.wav"],
            0,
        ),
        (
            &[
                "render",
                "short",
                "--voice",
                "compact",
                "-o",
                "none/class.wav",
            ],
            3,
        ),
        (&["voices", "try", "zebra"], 5),
    ] {
        // The readers are gone before the program begins.
        let (out, err) = (std::io::pipe().unwrap().1, std::io::pipe().unwrap().1);
        let status = world
            .command(arguments)
            .stdout(out)
            .stderr(err)
            .status()
            .unwrap();
        assert_eq!(status.code(), Some(code), "{arguments:?}");
    }
    assert!(fs::metadata(world.at("boathouse/class.wav")).unwrap().len() > 1_000_000);
}

#[test]
fn a_render_that_is_interrupted_leaves_nothing_behind() {
    let world = World::new();
    world.write(
        "boathouse/sessions/short.toml",
        "title = \"Long outing\"\n[[block]]\nrounds = 150\nwork = \"15s\"\nmovements = [\"march\"]\n",
    );
    let path = world.at("class.wav");
    let to = path.to_str().unwrap();
    let mut program = world
        .command(&[&RENDER[..], &[to]].concat())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A quarter is spoken and an hour of sound is still to be written.
    let mut said = BufReader::new(program.stderr.take().unwrap());
    let mut line = String::new();
    while !line.contains("speaking") {
        line.clear();
        assert_ne!(said.read_line(&mut line).unwrap(), 0, "it ended first");
    }
    let id = program.id().to_string();
    let sent = Command::new("kill").args(["-s", "INT", &id]).status();
    assert!(sent.unwrap().success());
    assert_eq!(program.wait().unwrap().code(), Some(130));
    assert_eq!(names(world.home.path()), ["boathouse", "cache"]);
}
