//! What is in the hands, and what must change before the next work: what leaves the hands
//! first, then what is taken up and how it is held, then the posture.

use super::Length;
use super::Line;
use super::Offer;
use super::Scene;
use super::Scribe;
use super::Slot;
use super::Topic;
use super::id;
use super::weights;
use super::weights::order;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::planning::session::Equipment;
use crate::planning::session::Movement;
use crate::planning::session::Posture;
use crate::planning::session::Session;
use crate::planning::session::Side;
use crate::planning::session::SideWords;
use crate::planning::session::Template;
use crate::planning::session::Use;
use crate::planning::timeline::Half;
use crate::planning::timeline::Work;
use std::collections::HashMap;
use std::collections::HashSet;

/// What the hands hold during a work, and how.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Hands {
    items: Vec<Equipment>,
    hold: String,
}

impl Hands {
    pub(super) fn in_work(
        movement: &Movement,
        work: &Work,
        session: &Session,
        sides: &SideWords,
    ) -> Self {
        let own_load = &work.movement_use(session).load;
        let items = movement
            .held()
            .map(|item| Equipment {
                load: own_load
                    .as_ref()
                    .map(|load| load.value.clone())
                    .filter(|_| item.load.is_some() || movement.held().count() == 1)
                    .or_else(|| item.load.clone()),
                ..item.clone()
            })
            .collect();
        let hold = movement.hold.as_ref();
        Self {
            items,
            hold: hold.map_or(String::new(), |h| h.words(work.side, sides)),
        }
    }

    /// Returns whether the hands hold anything.
    pub(super) fn full(&self) -> bool {
        !self.items.is_empty()
    }

    fn holds(&self, item: &Equipment) -> Option<&Equipment> {
        self.items
            .iter()
            .find(|held| held.item == item.item && held.load == item.load)
    }
}

/// In rests up to this long things are taken up at once and stay in the hands; in longer ones
/// they are put down, and taken up again before the work (common practice: rest is rest).
pub(super) const HELD_THROUGH_UP_TO_MS: i64 = 45_000;

impl Scribe<'_> {
    /// Writes what changes in the hands and in the posture between two works.
    pub(super) fn changes(&self, before: Option<&Work>, scene: &Scene, rest_ms: i64) -> Vec<Line> {
        // On stations, what is in the hands stays there.
        let mut held = self.hands(before.filter(|work| !work.stations));
        let wanted = self.hands(Some(scene.work).filter(|work| !work.stations));
        let held_through = rest_ms <= HELD_THROUGH_UP_TO_MS;
        let mut lines = Vec::new();
        let clear_floor = scene.movement.demands.impact || scene.movement.posture == Posture::Floor;
        for item in &held.items {
            match wanted.holds(item).filter(|_| held_through) {
                None => {
                    let line = self.put_down(item, clear_floor);
                    lines.push(in_the_tail(line, self.wording));
                }
                Some(kept) if kept.count < item.count => {
                    lines.push(in_the_tail(self.put_one_down(item), self.wording));
                }
                Some(_) => {}
            }
        }
        if !held_through {
            held = Hands::default();
        }
        let taken: Vec<_> = wanted
            .items
            .iter()
            .filter(|item| held.holds(item).is_none_or(|h| h.count < item.count))
            .cloned()
            .collect();
        if !taken.is_empty() || (wanted.full() && held.hold != wanted.hold) {
            let line = in_the_tail(self.take(scene, &wanted, &taken), self.wording);
            // What stays in the hands through the rest is taken up at once; after a rest with free
            // hands, shortly before the work.
            lines.push(if held_through {
                line.slots(&[(Slot::Early, 1000), (Slot::Late, 900), (Slot::Tail, 200)])
            } else {
                line.slots(&[(Slot::Late, 1000), (Slot::Tail, 200)])
            });
        }
        if scene.work.stations {
            return lines;
        }
        let posture_before = before.map_or(Posture::Standing, |w| self.movement(w).posture);
        // A start position that is new is said in full, and says the posture itself.
        if posture_before != scene.movement.posture && scene.met > 0 {
            lines.push(self.posture(scene.movement.posture));
        }
        lines
    }

    fn spot(&self, item: &Equipment) -> Option<&str> {
        let ready = self.session.text.ready.iter();
        ready
            .filter(|r| r.item == item.item)
            .find_map(|r| r.place.as_deref())
    }

    fn put_down(&self, item: &Equipment, clear_floor: bool) -> Line {
        let items = self.wording.named(&item.noun, item.count);
        let the = self.wording.the(&item.noun, item.count);
        let args = [("the", Arg::Text(&the))];
        let full = match self.spot(item) {
            Some(place) => {
                let args = [args[0], ("place", Arg::Text(place))];
                self.wording.say("put-down-place", &args)
            }
            None if clear_floor => self.wording.say("put-down-way", &args),
            None => self.wording.say("put-down", &args),
        };
        let message = match clear_floor {
            true => "put-down-way-brief",
            false => "put-down-brief",
        };
        let args = [("items", Arg::Text(&items)), args[0]];
        let brief = self.wording.say(message, &args);
        let brief = super::capitalise(brief);
        let way = if clear_floor { " out of the way" } else { "" };
        put_down_line(format!("put-down/{items}{way}"), full, brief)
    }

    fn put_one_down(&self, item: &Equipment) -> Line {
        let one = self.wording.number_of(&item.noun, 1);
        let args = [("one", Arg::Text(&one))];
        let full = match self.spot(item) {
            Some(place) => {
                let args = [args[0], ("place", Arg::Text(place))];
                self.wording.say("put-down-one-place", &args)
            }
            None => self.wording.say("put-down-one", &args),
        };
        let brief = super::capitalise(self.wording.say("put-down-one-brief", &args));
        put_down_line(format!("put-down/one {}", item.item), full, brief)
    }

    /// Writes how the hands hold what they hold; `taken` is what they did not hold before.
    fn take(&self, scene: &Scene, wanted: &Hands, taken: &[Equipment]) -> Line {
        let side = scene.work.side;
        let moved = if taken.is_empty() {
            &wanted.items
        } else {
            taken
        };
        let phrases: Vec<_> = moved.iter().map(|item| self.the_item(item)).collect();
        let items = self.wording.list(&phrases);
        let args = [
            ("the", Arg::Text(&items)),
            ("hold", Arg::Text(&wanted.hold)),
        ];
        let spot = taken.first().and_then(|item| self.spot(item));
        let made = match spot {
            _ if taken.is_empty() => self.wording.say("change-hold", &args),
            Some(place) => {
                let args = [args[0], args[1], ("place", Arg::Text(place))];
                self.wording.say("take-place", &args)
            }
            None => self.wording.say("take", &args),
        };
        // Own words do not name the load: where it changes, the program's do.
        let load_matters = moved.iter().any(|i| self.several_loads.contains(&i.item));
        let own = |text: &Option<Template>| {
            let text = text.as_ref().filter(|_| !load_matters)?;
            Some(super::capitalise(
                text.words(side, self.sides(scene.movement)),
            ))
        };
        let full = own(&scene.movement.take).unwrap_or(made);
        let brief = own(&scene.movement.take_brief)
            .unwrap_or_else(|| super::capitalise(self.wording.say("take-brief", &args)));
        let what = if taken.is_empty() { "hold" } else { "take" };
        let id = id::of_movement(&scene.movement.id, what, side);
        let mut line = Line::new(id, Topic::Equipment, order::TAKE, full)
            .must()
            .brief(Some(brief))
            .weigh(weights::MUST, weights::CONSTANT);
        // Where only the side changes in mid-work, its name says what the hands do.
        if taken.is_empty() && scene.work.half == Some(Half::Second) {
            line.must = false;
            line.weight = weights::START;
        }
        line
    }

    /// Says how a station's things are held, where it has any: own words, else the program's.
    pub(super) fn taken_up(&self, movement: &Movement, side: Option<Side>) -> Option<String> {
        let hold = movement.hold.as_ref()?;
        let own = movement.take.as_ref();
        Some(match own {
            Some(own) => super::capitalise(own.words(side, self.sides(movement))),
            None => {
                let phrases: Vec<_> = movement.held().map(|item| self.the_item(item)).collect();
                let items = self.wording.list(&phrases);
                let hold = hold.words(side, self.sides(movement));
                let args = [("the", Arg::Text(&items)), ("hold", Arg::Text(&hold))];
                self.wording.say("take", &args)
            }
        })
    }

    /// Says an item with its article, and with its load where the session uses several.
    fn the_item(&self, item: &Equipment) -> String {
        let load = item.load.as_deref();
        let load = load.filter(|_| self.several_loads.contains(&item.item));
        self.wording.the_loaded(&item.noun, item.count, load)
    }

    fn posture(&self, to: Posture) -> Line {
        let message = match to {
            Posture::Floor => "posture-floor",
            Posture::Kneeling => "posture-kneeling",
            Posture::Standing => "posture-standing",
        };
        let full = self.wording.say(message, &[]);
        let brief = self.wording.say(&format!("{message}-brief"), &[]);
        Line::new(message, Topic::Start, order::POSTURE, full)
            .brief(Some(brief))
            .weigh(weights::POSTURE, weights::CONSTANT)
            .slots(&[(Slot::Late, 1000), (Slot::Early, 500)])
    }

    /// Says what the session needs, each thing once: `ready` first, then what movements bring.
    pub(super) fn needed(&self) -> Vec<String> {
        let ready = &self.session.text.ready;
        let mut said: Vec<String> = Vec::new();
        for item in ready {
            let plain = Equipment {
                item: item.item.clone(),
                noun: self.session.noun(&item.item),
                count: 1,
                load: None,
                fixed: true,
            };
            said.push(item.say.clone().unwrap_or_else(|| self.indefinite(&plain)));
        }
        said.extend(brought(self.session).into_iter().map(|item| {
            let load = item.load;
            let load = load.filter(|_| self.several_loads.contains(&item.item));
            self.indefinite(&Equipment { load, ..item })
        }));
        said
    }

    fn indefinite(&self, item: &Equipment) -> String {
        let load = item.load.as_deref();
        self.wording.some_loaded(&item.noun, item.count, load)
    }

    /// Names what is in the hands in a work, for a sentence; nothing where they are free.
    pub(super) fn in_hands(&self, work: &Work) -> Option<String> {
        let hands = self.hands(Some(work));
        let names = hands.items.iter();
        let names: Vec<_> = names
            .map(|item| self.wording.the(&item.noun, item.count))
            .collect();
        hands.full().then(|| self.wording.list(&names))
    }
}

/// Returns what the movements of a session bring besides what it has ready, each thing with its load: what is used one
/// after the other once, what stations use all at once together.
pub fn brought(session: &Session) -> Vec<Equipment> {
    let mut all: Vec<Equipment> = Vec::new();
    for block in &session.text.blocks {
        let mut here: Vec<Equipment> = Vec::new();
        for item in block.uses.iter().flat_map(|used| of_use(used, session)) {
            if session.text.ready.iter().any(|r| r.item == item.item) {
                continue;
            }
            match here.iter_mut().find(|known| is_same(known, &item)) {
                Some(known) if block.stations => {
                    known.count = known.count.saturating_add(item.count);
                }
                Some(known) => known.count = known.count.max(item.count),
                None => here.push(item),
            }
        }
        for item in here {
            match all.iter_mut().find(|known| is_same(known, &item)) {
                Some(known) => known.count = known.count.max(item.count),
                None => all.push(item),
            }
        }
    }
    all
}

/// The equipment of a use, with its load.
fn of_use(used: &Use, session: &Session) -> Vec<Equipment> {
    let loaded = |item: &Equipment| {
        let own = used.load.as_ref().filter(|_| !item.fixed);
        let load = own.map(|load| &load.value).or(item.load.as_ref());
        Equipment {
            load: load.cloned(),
            ..item.clone()
        }
    };
    let movement = session.movement(used);
    movement.equipment.iter().map(loaded).collect()
}

fn is_same(one: &Equipment, other: &Equipment) -> bool {
    one.item == other.item && one.load == other.load
}

/// Returns the items that a session uses with more than one load.
pub(super) fn several_loads(session: &Session) -> HashSet<String> {
    let mut loads: HashMap<&str, HashSet<&str>> = HashMap::new();
    for used in session.text.blocks.iter().flat_map(|b| &b.uses) {
        let own = used.load.as_ref().map(|l| &l.value);
        for item in session.movement(used).held() {
            let load = own.or(item.load.as_ref()).map_or("", String::as_str);
            loads.entry(&item.item).or_default().insert(load);
        }
    }
    let several = loads.into_iter().filter(|(_, l)| l.len() > 1);
    several.map(|(item, _)| item.to_owned()).collect()
}

/// Adds the wording for the end of a work: "Then ...", which nobody takes for an order for now.
fn in_the_tail(mut line: Line, wording: &Wording) -> Line {
    let shortest = line.offers.iter().min_by_key(|o| o.text.len());
    let text = wording.lowered(shortest.map_or("", |o| &o.text));
    line.offers.push(Offer {
        length: Length::Brief,
        text: wording.say("then", &[("text", Arg::Text(&text))]),
        new: weights::PREFERRED,
        again: weights::PREFERRED,
        tail: true,
    });
    line
}

fn put_down_line(id: String, full: String, brief: String) -> Line {
    Line::new(id, Topic::Equipment, order::PUT_DOWN, full)
        .must()
        .brief(Some(brief))
        .weigh(weights::MUST, weights::CONSTANT)
        .slots(&[(Slot::Early, 1000), (Slot::Late, 500), (Slot::Tail, 200)])
}
