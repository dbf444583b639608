//! The same session and voice give the same bytes, whatever the cache holds and whoever else works.

use super::program::Ground;
use super::program::VOICES;
use super::program::done;
use super::program::hash;
use super::program::heard;
use super::program::text;

const SESSION: &str = "boathouse-five";

#[test]
fn a_cold_cache_and_a_warm_one_give_the_same_plan_and_the_same_file() {
    for voice in VOICES {
        // There the plan was made from a cold cache and the file from a warm one; here the other
        // way round.
        let first = heard(SESSION, voice);
        let ground = Ground::new();
        let file = ground.render("cache", SESSION, voice);
        assert!(hash(&file) == first.hash, "{voice}: the file differs");
        let plan = ground.plan("cache", SESSION, voice);
        assert!(plan == first.json, "{voice}: the plan differs");
    }
}

#[test]
fn two_at_work_in_one_cache_write_the_same_file_as_one_alone() {
    for voice in VOICES {
        let first = heard(SESSION, voice);
        let ground = Ground::new();
        let files = ["one.wav", "two.wav"].map(|name| ground.path(name));
        let at_work: Vec<_> = files
            .iter()
            .map(|file| ground.start("cache", "render", SESSION, voice, &["-o", text(file)]))
            .collect();
        for child in at_work {
            done(child);
        }
        for file in files {
            assert!(hash(&file) == first.hash, "{voice}: the file differs");
        }
    }
}
