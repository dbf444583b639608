//! What files say of music: in a session, in a block, in the configuration.

use std::fs;
use std::process::Command;

use super::Folder;
use crate::common::root;
use sidevoice::base::diagnostic::Code;
use sidevoice::base::diagnostic::Level;
use sidevoice::base::music::OnPause;
use sidevoice::base::music::TrackOrder;
use sidevoice::folder::Folder as SessionFolder;
use sidevoice::folder::LoneSession;
use sidevoice::live::config;

/// A session folder with the movements of the library, and this text among its sessions.
fn session_folder(session: &str) -> Folder {
    let folder = Folder::new();
    fs::create_dir(folder.at("sessions")).unwrap();
    fs::create_dir(folder.at("movements")).unwrap();
    for entry in fs::read_dir(root().join("tests/corpus/library/movements")).unwrap() {
        let entry = entry.unwrap();
        if entry.path().is_file() {
            fs::copy(entry.path(), folder.at("movements").join(entry.file_name())).unwrap();
        }
    }
    fs::write(folder.at("sessions/outing.toml"), session).unwrap();
    folder
}

const BLOCKS: &str = "[[block]]\nwork = \"20s\"\nmovements = [\"march\"]\n\
                      [[block]]\nmusic = { level = \"-20 LU\" }\nwork = \"20s\"\nmovements = [\"march\"]\n\
                      [[block]]\nmusic = false\nwork = \"20s\"\nmovements = [\"march\"]\n";

#[test]
fn a_block_is_heard_with_what_it_says_and_else_with_what_stands_around_it() {
    let folder = session_folder(&format!(
        "title = \"Outing\"\nmusic = {{ order = \"named\", rest = \"-15.5 LU\" }}\n{BLOCKS}"
    ));
    let loaded = SessionFolder::at(folder.path()).load(&folder.at("sessions/outing.toml"));
    assert_eq!(loaded.diagnostics, []);
    let text = loaded.session.unwrap().text;
    let outside = config::read_text(
        "config.toml",
        "music = { folder = \"~/Music\", level = \"-10 LU\", pause = \"play on\" }\n",
    );
    assert_eq!(outside.diagnostics, []);
    let outside = outside.config.music;
    let heard = |block| {
        let music = text.music(block, outside.as_ref())?;
        let (work, rest) = (music.work.db().db(), music.rest.db().db());
        assert_eq!(
            (music.order, music.pause),
            (TrackOrder::Named, OnPause::PlayOn)
        );
        Some((music.folder, work, rest))
    };
    let music = || "~/Music".to_owned();
    assert_eq!(heard(None), Some((music(), -10.0, -15.5)));
    assert_eq!(heard(Some(0)), Some((music(), -10.0, -15.5)));
    assert_eq!(heard(Some(1)), Some((music(), -20.0, -20.0)));
    assert_eq!(heard(Some(2)), None);
    // Without the configuration: the folder of this name.
    assert_eq!(text.music(None, None).unwrap().folder, "music");
    assert_eq!(text.music(None, None).unwrap().pause, OnPause::Wait);
}

#[test]
fn without_a_word_of_music_there_is_none_and_a_session_can_refuse_that_of_the_configuration() {
    let outside = config::read_text("config.toml", "music = true\n")
        .config
        .music;
    for (line, plain, with) in [
        ("", false, true),
        ("music = false\n", false, false),
        ("music = true\n", true, true),
    ] {
        let folder = session_folder(&format!(
            "title = \"Outing\"\n{line}[[block]]\nwork = \"20s\"\nmovements = [\"march\"]\n"
        ));
        let loaded = SessionFolder::at(folder.path()).load(&folder.at("sessions/outing.toml"));
        let text = loaded.session.unwrap().text;
        assert_eq!(text.music(Some(0), None).is_some(), plain, "{line}");
        assert_eq!(
            text.music(Some(0), outside.as_ref()).is_some(),
            with,
            "{line}"
        );
    }
}

#[test]
fn a_folder_is_told_from_inside_the_session_folder_and_from_the_configuration() {
    let folder = session_folder(
        "title = \"Outing\"\nmusic = { folder = \"musik\" }\n[[block]]\n\
         music = { folder = \"sessions/outing.toml\" }\nwork = \"20s\"\nmovements = [\"march\"]\n",
    );
    fs::create_dir(folder.at("music")).unwrap();
    fs::write(folder.at("music/river.mp3"), "?").unwrap();
    fs::create_dir_all(folder.at(".config/sidevoice")).unwrap();
    fs::write(
        folder.at(".config/sidevoice/config.toml"),
        "music = { folder = \"muzic\" }\n",
    )
    .unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_sidevoice"))
        .args(["check", "outing", "--plain"])
        .current_dir(folder.path())
        .env("HOME", folder.path())
        .env_remove("XDG_CONFIG_HOME")
        .output()
        .unwrap();
    let said = String::from_utf8(done.stderr).unwrap();
    assert!(done.status.success(), "{said}");
    for words in [
        "found none at \"musik\"",
        "found a file at \"sessions/outing.toml\"",
        "found none at \"muzic\"",
    ] {
        assert!(said.contains(words), "no {words} in {said}");
    }
    assert_eq!(said.matches("did you mean \"music\"?").count(), 2, "{said}");
}

#[test]
fn a_folder_of_music_that_is_not_there_is_told() {
    let folder = session_folder(
        "title = \"Outing\"\nmusic = { folder = \"musik\" }\n[[block]]\n\
         music = { folder = \"calm\" }\nwork = \"20s\"\nmovements = [\"march\"]\n",
    );
    fs::create_dir(folder.at("music")).unwrap();
    fs::create_dir(folder.at("calm")).unwrap();
    fs::write(folder.at("calm/cover.jpg"), "?").unwrap();
    let file = folder.at("sessions/outing.toml");
    let loaded = SessionFolder::at(folder.path()).load(&file);
    // The class goes on without.
    assert!(loaded.session.is_some());
    let lone = LoneSession::read(&file);
    for (told, sources) in [
        (&loaded.diagnostics, &loaded.sources),
        (&lone.diagnostics, &lone.sources),
    ] {
        let lines: Vec<_> = told
            .iter()
            .map(|d| {
                assert_eq!((d.code, d.level), (Code::MusicMissing, Level::Warning));
                let at = sources.position(d.place);
                format!("{}:{} {} {}", at.line, at.column, d.message, d.help)
            })
            .collect();
        assert_eq!(lines.len(), 2, "{lines:#?}");
        assert!(
            lines[0].starts_with("2:20 ") && lines[0].contains("did you mean \"music\"?"),
            "{lines:#?}"
        );
        assert!(
            lines[1].starts_with("4:20 ") && lines[1].contains("found none"),
            "{lines:#?}"
        );
    }
    fs::write(folder.at("calm/river.mp3"), "?").unwrap();
    fs::rename(folder.at("music"), folder.at("musik")).unwrap();
    fs::create_dir(folder.at("musik/album")).unwrap();
    let loaded = SessionFolder::at(folder.path()).load(&file);
    assert_eq!(loaded.diagnostics, []);
}
