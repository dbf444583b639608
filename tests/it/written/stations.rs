//! Stations, on paper and in lists: the same things to have ready as are said, each station's note, works told apart.

use crate::common::boathouse_session;
use crate::common::tabled_plan;
use sidevoice::base::wording::Wording;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::session::Session;
use sidevoice::publish::chapters;
use sidevoice::publish::sheet;

fn stations() -> (Session, Plan) {
    let session = boathouse_session(
        "title = \"Four stations\"\n[[block]]\nrounds = 1\nwork = \"40s\"\nrest = \"20s\"\nstations = true\n\
         movements = [\"bench-squat\", \"one-arm-row\", { use = \"press-up\", note = \"Slowly.\" }, \"hip-hinge\"]\n",
    );
    let plan = tabled_plan(&session);
    (session, plan)
}

#[test]
fn voice_and_paper_say_the_same_things_to_have_ready() {
    let (session, plan) = stations();
    let said = plan.sounds.iter().map(|sound| sound.text.as_str());
    let said: Vec<_> = said.filter(|text| text.starts_with("You need")).collect();
    assert_eq!(said, ["You need three benches and two dumbbells."]);
    let content = sheet::content(&plan, &session, Wording::of(session.text.language));
    // On paper with their load, which is said only where there are several.
    assert_eq!(content.ready, ["Three benches", "Two 6 kg dumbbells"]);
}

#[test]
fn the_note_of_a_station_is_said_and_stands_at_it() {
    let (session, plan) = stations();
    let said: Vec<_> = plan
        .sounds
        .iter()
        .map(|sound| sound.text.as_str())
        .collect();
    let station = said
        .iter()
        .position(|text| text.starts_with("Station three"));
    let note = said.iter().position(|text| *text == "Slowly.");
    let next = said
        .iter()
        .position(|text| text.starts_with("Station four"));
    assert!(station < note && note < next && note.is_some(), "{said:#?}");
    let content = sheet::content(&plan, &session, Wording::of(session.text.language));
    let noted = content
        .exercises
        .iter()
        .map(|one| one.how.contains(&"Slowly.".to_owned()));
    assert_eq!(noted.collect::<Vec<_>>(), [false, false, true, false]);
}

#[test]
fn works_on_stations_are_told_apart() {
    let (session, plan) = stations();
    let contents = chapters::contents(&plan, &session, Wording::of(session.text.language));
    let titles: Vec<_> = contents.chapters.iter().map(|c| c.title.as_str()).collect();
    assert_eq!(
        titles,
        [
            "Opening",
            "All stations, 1 of 4",
            "All stations, 2 of 4",
            "All stations, 3 of 4",
            "All stations, 4 of 4",
            "Finish"
        ]
    );
}
