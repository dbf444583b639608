//! Gathers the texts that are spoken, with what each is for and where it was written.

use super::Role;
use super::Text;
use super::words::words;
use crate::base::diagnostic::Place;
use crate::planning::session::Cue;
use crate::planning::session::Movement;
use crate::planning::session::Said;
use crate::planning::session::SessionText;
use crate::planning::session::Side;
use crate::planning::session::SideWords;
use crate::planning::session::Template;
use crate::planning::session::Use;

pub(super) fn of_movement(movement: &Movement) -> Vec<Text> {
    let names = side_words();
    let mut texts = vec![text(Role::Name, movement.name_place, &movement.name)];
    texts.extend(said(Role::Start, &movement.start, &names));
    for step in &movement.how {
        texts.extend(said(Role::How, step, &names));
    }
    let hands = [
        (false, &movement.hold),
        (false, &movement.take),
        (true, &movement.take_brief),
    ];
    for (brief, template) in hands {
        if let Some(template) = template {
            let place = template.place().unwrap_or(movement.place);
            let words = template.words(Some(Side::Right), &names);
            texts.push(Text {
                brief,
                ..text(Role::Hands, place, &words)
            });
        }
    }
    texts.extend(movement.cues.iter().flat_map(|cue| of_cue(cue, &names)));
    texts
}

pub(super) fn of_use(of: &Use) -> Vec<Text> {
    let names = side_words();
    let note = of
        .note
        .as_ref()
        .map(|note| text(Role::Frame, of.note_place.unwrap_or(of.place), note));
    let cues = of.cues.iter().flat_map(|cue| of_cue(cue, &names));
    note.into_iter().chain(cues).collect()
}

pub(super) fn of_session(session: &SessionText) -> Vec<Text> {
    let places = &session.text_places;
    let mut texts = vec![text(Role::Name, places.title, &session.title)];
    let mut add = |role, place: Option<Place>, words: &Option<String>| {
        if let (Some(place), Some(words)) = (place, words) {
            texts.push(text(role, place, words));
        }
    };
    add(Role::Frame, places.opening, &session.opening);
    add(Role::Frame, places.closing, &session.closing);
    add(Role::Caution, places.caution, &session.caution);
    for ready in &session.ready {
        add(Role::Ready, ready.say_at, &ready.say);
        add(Role::Ready, ready.place_at, &ready.place);
        add(Role::Name, Some(ready.item_at), &Some(ready.item.clone()));
    }
    for block in &session.blocks {
        add(Role::Name, block.title_place, &block.title);
    }
    texts
}

fn of_cue(cue: &Cue, names: &SideWords) -> Vec<Text> {
    said(Role::Cue(cue.kind, cue.when), &cue.said, names)
}

fn said(role: Role, said: &Said, names: &SideWords) -> Vec<Text> {
    let of = |(brief, side, template): (bool, Side, &Template)| Text {
        brief,
        ..text(
            role,
            template.place().unwrap_or(said.place),
            &template.words(Some(side), names),
        )
    };
    said.wordings().into_iter().map(of).collect()
}

fn text(role: Role, place: Place, said: &str) -> Text {
    Text {
        role,
        brief: false,
        place,
        words: words(said),
    }
}

fn side_words() -> SideWords {
    SideWords {
        right: "right".to_owned(),
        left: "left".to_owned(),
    }
}
