//! Captions: all that is heard, once and in order, readable, never over a count; as others read them.

use super::read_by;
use super::squeezed;
use super::starters;
use super::titled;
use super::titles;
use crate::common::Voice;
use crate::common::boathouse_session;
use crate::common::starter;
use crate::common::tabled_plan;
use crate::random::LIBRARY;
use crate::random::fixed;
use crate::random::sessions;
use proptest::prelude::*;
use sidevoice::base::chapters::Chapter;
use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Wording;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::Sound;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Session;
use sidevoice::publish::captions;
use sidevoice::publish::captions::Caption;
use sidevoice::publish::chapters;
use sidevoice::publish::json::Words;

/// A voice that tells when each word is heard: all as long as one another.
fn even(sound: &Sound) -> Words {
    let words: Vec<&str> = sound.text.split_whitespace().collect();
    let length = (sound.end - sound.onset).ms() / words.len().max(1) as i64;
    let times = words.iter().zip(0..).map(|(word, at)| {
        let onset = sound.onset.ms() + length * at;
        let bare = word.trim_matches(|c: char| !c.is_alphanumeric());
        (bare.to_lowercase(), onset, onset + length)
    });
    times.collect()
}

/// A voice that tells nothing.
fn untold(_: &Sound) -> Words {
    Vec::new()
}

fn of(plan: &Plan, session: &Session, words: fn(&Sound) -> Words) -> Vec<Caption> {
    captions::captions(plan, Wording::of(session.text.language), words)
}

fn text(caption: &Caption) -> String {
    let rows = caption.rows.iter().map(|row| Caption::row(row));
    rows.collect::<Vec<_>>().join("\n")
}

fn spoken(plan: &Plan) -> impl Iterator<Item = &Sound> {
    let sounds = plan.sounds.iter();
    sounds.filter(|sound| !matches!(sound.kind, SoundKind::Tone(_)))
}

/// The rules of captions, each in its own words.
fn keep_their_rules(captions: &[Caption], plan: &Plan, of: &str) {
    let in_brackets = |c: &&Caption| !text(c).starts_with('[');
    let shown: String = captions.iter().filter(in_brackets).map(text).collect();
    let said: String = spoken(plan).map(|sound| sound.text.as_str()).collect();
    assert_eq!(squeezed(&shown), squeezed(&said), "{of}");
    let tones = plan
        .sounds
        .iter()
        .filter(|s| matches!(s.kind, SoundKind::Tone(_)));
    assert_eq!(
        captions.iter().filter(|c| text(c).starts_with('[')).count(),
        tones.count(),
        "{of}"
    );
    for caption in captions {
        assert!(caption.start < caption.end, "{of}: {caption:?}");
        assert!((1..=2).contains(&caption.rows.len()), "{of}: {caption:?}");
        for row in &caption.rows {
            let length = Caption::row(row).chars().count();
            assert!((1..=37).contains(&length), "{of}: {caption:?}");
        }
    }
    for pair in captions.windows(2) {
        let (this, next) = (&pair[0], &pair[1]);
        assert!(this.end <= next.start, "{of}: {this:?} over {next:?}");
        let on_screen = (this.end - this.start).ms();
        assert!(
            on_screen >= 1000 || this.end == next.start,
            "{of}: {this:?} is gone before {next:?}"
        );
    }
    // While a count is heard nothing but the count is on screen, from its onset on.
    for count in plan.sounds.iter().filter(|s| s.kind == SoundKind::Count) {
        let at_once = captions
            .iter()
            .filter(|c| c.start < count.end && c.end > count.onset);
        let at_once: Vec<_> = at_once.collect();
        assert_eq!(at_once[0].start, count.onset, "{of}: {count:?}");
        let shown: String = at_once.iter().map(|c| text(c)).collect();
        assert_eq!(squeezed(&shown), squeezed(&count.text), "{of}: {count:?}");
    }
    // No word is shown before its line is heard.
    let onsets: Vec<_> = spoken(plan).map(|sound| sound.onset).collect();
    for onset in onsets {
        assert!(
            captions.iter().any(|c| c.start == onset),
            "{of}: nothing begins at {onset}"
        );
    }
}

#[test]
fn all_words_of_the_starter_folder_are_shown_once_and_in_order() {
    for (id, session, plan) in starters() {
        for words in [even, untold] {
            keep_their_rules(&of(&plan, &session, words), &plan, &id);
        }
    }
}

#[test]
fn all_words_of_sessions_made_at_random_are_shown_once_and_in_order() {
    let texts = sessions::whole_session(&LIBRARY);
    let cases = (texts, prop::option::of(0..1000u64), any::<bool>());
    let ran = fixed(60).run(&cases, |(text, seed, told)| {
        let session = sessions::session(&text, &LIBRARY);
        let voice = seed.map_or(Voice::Even, Voice::Uneven);
        let plan = sessions::plan(&session, CautionLength::Full, voice);
        let words = if told { even } else { untold };
        keep_their_rules(&of(&plan, &session, words), &plan, &text);
        Ok(())
    });
    ran.unwrap();
}

type Read = Vec<(i64, i64, String, String)>;

/// Compares what another reader finds in a file with what was to be written.
fn as_read(captions: &[Caption], of: &str) {
    for (name, content) in [
        ("class.vtt", captions::webvtt(captions)),
        ("class.srt", captions::subrip(captions)),
    ] {
        let read: Read = serde_json::from_str(&read_by("captions.py", name, &content)).unwrap();
        assert_eq!(read.len(), captions.len(), "{of}: {name}");
        for ((start, end, shown, _), caption) in read.iter().zip(captions) {
            assert_eq!(
                (*start, *end),
                (caption.start.ms(), caption.end.ms()),
                "{of}: {name}"
            );
            let mut wanted = text(caption);
            match name {
                "class.srt" => wanted = wanted.replace('<', "\u{2039}").replace('>', "\u{203a}"),
                // Its reader leaves these for others to read (W3C WebVTT, cue text).
                _ => {
                    wanted = wanted
                        .replace('&', "&amp;")
                        .replace('<', "&lt;")
                        .replace('>', "&gt;")
                }
            }
            assert_eq!(*shown, wanted, "{of}: {name}");
        }
    }
}

#[test]
fn others_read_the_captions_as_they_were_meant() {
    for id in ["boathouse-five", "boathouse-five-de", "first-by-ear-es"] {
        let session = starter(id);
        let plan = tabled_plan(&session);
        as_read(&of(&plan, &session, even), id);
    }
}

#[test]
fn a_title_is_a_caption_and_a_chapter_whatever_is_in_it() {
    for title in titles() {
        let (session, plan) = titled(&title);
        let made = of(&plan, &session, even);
        keep_their_rules(&made, &plan, &title);
        as_read(&made, &title);
        let wording = Wording::of(session.text.language);
        let track = chapters::webvtt(&chapters::contents(&plan, &session, wording));
        let read: Read = serde_json::from_str(&read_by("captions.py", "c.vtt", &track)).unwrap();
        let folded = title.split_whitespace().collect::<Vec<_>>().join(" ");
        let wanted = folded
            .replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('>', "&gt;");
        assert_eq!(read.iter().filter(|c| c.2 == wanted).count(), 1, "{track}");
    }
}

#[test]
fn words_have_their_times_in_webvtt_where_the_voice_tells_them() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let line = plan
        .sounds
        .iter()
        .find(|s| s.text == "Hips back, shoulders square to the floor.");
    let line = line.unwrap();
    let read = |words| -> Read {
        let made = captions::webvtt(&of(&plan, &session, words));
        serde_json::from_str(&read_by("captions.py", "class.vtt", made)).unwrap()
    };
    let told = read(even);
    let caption = told.iter().find(|c| c.0 == line.onset.ms()).unwrap();
    // Seven words; the first is shown with the caption.
    assert_eq!(caption.3.matches('<').count(), 6, "{caption:?}");
    let second = even(line)[1].1;
    let (seconds, ms) = (second / 1000, second % 1000);
    let time = format!(
        "Hips <00:{:02}:{:02}.{ms:03}>back,",
        seconds / 60,
        seconds % 60
    );
    assert!(caption.3.contains(&time), "{time} in {caption:?}");
    assert!(read(untold).iter().all(|c| !c.3.contains('<')));
}

#[test]
fn a_count_and_a_tone_are_captions_of_their_own() {
    let session = starter("boathouse-five-de");
    let plan = tabled_plan(&session);
    let made = of(&plan, &session, even);
    let texts: Vec<String> = made.iter().map(text).collect();
    let at = texts.iter().position(|t| t == "[Startton]").unwrap();
    assert_eq!(texts[at - 3..at], ["drei", "zwei", "eins"]);
    let length = |c: &Caption| (c.end - c.start).ms();
    assert_eq!(
        made[at - 3..at].iter().map(length).collect::<Vec<_>>(),
        [1000; 3]
    );
}

/// The titles of chapters, with their depth and how many seconds they last.
fn outline(chapters: &[Chapter], depth: usize) -> Vec<String> {
    let each = chapters.iter().flat_map(|chapter| {
        let length = (chapter.end - chapter.start).secs();
        let own = format!("{}{} {length}", "  ".repeat(depth), chapter.title);
        std::iter::once(own).chain(outline(&chapter.parts, depth + 1))
    });
    each.collect()
}

fn lie_within(chapters: &[Chapter], from: i64, to: i64) {
    let mut at = from;
    for chapter in chapters {
        assert_eq!(chapter.start.ms(), at, "{chapter:?}");
        assert!(chapter.end > chapter.start, "{chapter:?}");
        at = chapter.end.ms();
        if let (Some(first), Some(last)) = (chapter.parts.first(), chapter.parts.last()) {
            lie_within(&chapter.parts, first.start.ms(), last.end.ms());
            assert_eq!(
                (first.start, last.end),
                (chapter.start, chapter.end),
                "{chapter:?}"
            );
        }
    }
    assert_eq!(at, to);
}

#[test]
fn music_is_named_where_it_begins_and_takes_nothing_from_what_is_said() {
    for (id, session, plan) in starters() {
        let wording = Wording::of(session.text.language);
        let name = format!("[{}]", wording.say("caption-music", &[]));
        let before = of(&plan, &session, even);
        // At the beginning, in the middle of the first line, and where the first work begins.
        let work = plan.timeline.segments[1].start;
        for begins in [At::START, before[0].start + Millis::from_ms(300), work] {
            let mut all = before.clone();
            captions::tell_music(&mut all, &[begins], wording);
            let named = all.iter().position(|c| text(c).starts_with(&name));
            let named = &all[named.unwrap_or_else(|| panic!("{id}: {begins}"))];
            // After what is said just then, in a row above what is said, or by itself for a second and more.
            assert!(
                named.end > begins && named.start <= begins + Millis::from_secs(31),
                "{id}"
            );
            let alone = named.rows.len() == 1;
            assert!(
                !alone || named.end - named.start >= Millis::from_secs(1),
                "{id}: {named:?}"
            );
            assert!(
                named.rows.len() <= 2 && (alone || !text(named).contains("]\n[")),
                "{id}"
            );
            for pair in all.windows(2) {
                assert!(pair[0].end <= pair[1].start, "{id}: {pair:?}");
            }
            // A caption of two rows may be divided for it.
            let without = all.iter().map(|c| text(c).replace(&name, ""));
            let words = |texts: Vec<String>| squeezed(&texts.concat());
            let before = before.iter().map(text).collect();
            assert_eq!(words(without.collect()), words(before), "{id}");
        }
        let mut all = before.clone();
        captions::tell_music(&mut all, &[], wording);
        assert_eq!(all, before);
    }
}

#[test]
fn captions_end_where_they_are_cut() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let all = of(&plan, &session, even);
    for end in [
        all[3].start,
        all[3].start + Millis::from_ms(200),
        all[3].end,
        At::START,
    ] {
        let mut cut = all.clone();
        captions::end_at(&mut cut, end);
        assert!(cut.iter().all(|c| c.start < c.end && c.end <= end), "{end}");
        assert_eq!(cut.len(), all.iter().filter(|c| c.start < end).count());
    }
}

#[test]
fn chapters_lie_within_one_another_and_leave_nothing_out() {
    for (_, session, plan) in starters() {
        let made = chapters::of_plan(&plan, &session, Wording::of(session.text.language));
        lie_within(&made, 0, plan.timeline.end().ms());
        let works = plan.timeline.works.len();
        let leaves = outline(&made, 0).len();
        assert!(leaves >= works + 2);
    }
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let made = chapters::of_plan(&plan, &session, &Wording::english());
    let outline = outline(&made, 0);
    // The first work comes right after the opening; each later one with the rest in which it is named.
    assert_eq!(
        outline[1..6],
        [
            "Round 1 of 2 170",
            "  Bench squat 20",
            "  Press-up 30",
            "  One-arm row, right 30",
            "  One-arm row, left 30"
        ]
    );
}

#[test]
fn a_session_in_which_nothing_can_be_said_has_its_counts_and_tones() {
    let session = boathouse_session(
        "title = \"Short\"\nlead_in = \"10s\"\nfinish = \"5s\"\n[[block]]\nwork = \"1s\"\nmovements = [\"march\"]\n",
    );
    let mut plan = tabled_plan(&session);
    plan.sounds
        .retain(|sound| !matches!(sound.kind, SoundKind::Line { .. }));
    let made = of(&plan, &session, even);
    keep_their_rules(&made, &plan, "no lines");
    as_read(&made, "no lines");
    // Nothing at all is a file without captions, and no fault.
    plan.sounds.clear();
    assert_eq!(captions::webvtt(&of(&plan, &session, even)), "WEBVTT\n");
    assert_eq!(captions::subrip(&of(&plan, &session, even)), "");
}
