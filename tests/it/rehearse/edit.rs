//! What a report proposes, made in the file of a session: whole, or not at all.
#![expect(clippy::disallowed_methods, reason = "writes and reads session files")]

use sidevoice::base::diagnostic::any_error;
use sidevoice::base::units::Millis;
use sidevoice::folder::Folder;
use sidevoice::live::rehearsal::edit;
use sidevoice::planning::session::Talk;
use sidevoice::rehearse::report::Edit;
use sidevoice::rehearse::report::Length;
use std::fs;
use std::path::Path;

/// A copy of the starter folder.
fn boathouse() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for part in ["sessions", "movements"] {
        fs::create_dir(folder.path().join(part)).unwrap();
        let from = crate::common::root().join("src/starter").join(part);
        for entry in fs::read_dir(from).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                let name = path.file_name().unwrap();
                fs::copy(&path, folder.path().join(part).join(name)).unwrap();
            }
        }
    }
    folder
}

fn edits() -> [Edit; 4] {
    [
        Edit::Length {
            what: Length::RestAfter { block: 0, of: 0 },
            to: Millis::from_secs(14),
        },
        Edit::Length {
            what: Length::LeadIn,
            to: Millis::from_secs(75),
        },
        Edit::Talk { to: Talk::Quiet },
        Edit::TalkAt {
            block: 0,
            of: 1,
            to: Talk::Full,
        },
    ]
}

#[test]
fn an_edited_session_is_sound_and_keeps_its_comments() {
    let folder = boathouse();
    let file = folder.path().join("sessions/boathouse-five.toml");
    let was = fs::read_to_string(&file).unwrap();
    edit(&file, &was, &edits()).unwrap();
    let now = fs::read_to_string(&file).unwrap();
    for comment in was
        .lines()
        .filter(|line| line.trim_start().starts_with('#'))
    {
        assert!(now.contains(comment), "{comment}");
    }
    let loaded = Folder::at(folder.path()).load(&file);
    assert!(!any_error(&loaded.diagnostics), "{:#?}", loaded.diagnostics);
    let session = loaded.session.unwrap();
    let rest = session.text.blocks[0].uses[0].rest.as_ref().unwrap();
    assert_eq!(rest.value, Millis::from_secs(14));
    assert_eq!(session.text.lead_in, Some(Millis::from_secs(75)));
    assert_eq!(session.text.talk, Talk::Quiet);
    assert_eq!(session.text.blocks[0].uses[1].talk, Some(Talk::Full));
}

#[test]
fn a_file_that_was_changed_meanwhile_is_left_as_it_is() {
    let folder = boathouse();
    let file = folder.path().join("sessions/boathouse-five.toml");
    let was = fs::read_to_string(&file).unwrap();
    let changed = format!("{was}\n# The coach's own last word.\n");
    fs::write(&file, &changed).unwrap();
    let refused = edit(&file, &was, &edits()).unwrap_err();
    assert!(refused.contains("nothing was changed in it"), "{refused}");
    assert_eq!(fs::read_to_string(&file).unwrap(), changed);
    let gone = edit(Path::new("/nowhere/at-all.toml"), &was, &edits()).unwrap_err();
    assert!(gone.contains("Nothing was changed"), "{gone}");
    let left = fs::read_dir(folder.path().join("sessions")).unwrap();
    let hidden = left.filter(|e| {
        e.as_ref()
            .unwrap()
            .file_name()
            .to_string_lossy()
            .starts_with('.')
    });
    assert_eq!(hidden.count(), 0, "no half-written file is left");
}
