//! The command that names the tones and plays them.

use std::process::Output;

use super::pulse::Server;
use crate::speech::class::onsets;

fn tones(server: &Server, arguments: &[&str]) -> Output {
    server
        .command(env!("CARGO_BIN_EXE_sidevoice"))
        .arg("tones")
        .args(arguments)
        .env("XDG_DATA_HOME", server.folder())
        .env("XDG_CONFIG_HOME", server.folder())
        .output()
        .unwrap()
}

#[test]
fn each_tone_is_named_in_print_and_aloud_and_played() {
    let server = Server::start();
    let recorder = server.record();
    let played = tones(&server, &["soft"]);
    assert!(played.status.success(), "{played:?}");
    let page = String::from_utf8(played.stdout).unwrap();
    for words in ["The soft tones:", "start", "two low pulses", "fault"] {
        assert!(page.contains(words), "no \"{words}\" in {page}");
    }
    // Three names, and after each its tone: the names may have gaps of their own.
    let heard = onsets(&recorder.samples());
    assert!(heard.len() >= 6, "{heard:?}");
    let silent = tones(&server, &["--silent"]);
    let page = String::from_utf8(silent.stdout).unwrap();
    assert!(page.starts_with("The clear tones:"), "{page}");
    let wrong = tones(&server, &["loud"]);
    assert_eq!(wrong.status.code(), Some(64));
    let said = String::from_utf8(wrong.stderr).unwrap();
    assert!(said.contains("expected one of soft, clear"), "{said}");
}
