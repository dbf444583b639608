//! What could be said in each stretch: segments, cues and wording -> lines with their wordings
//! and worth. What is said of them, and when, is chosen by `plan`.
//!
//! This room knows no length of any word and no time of day.

mod brief;
mod coming;
mod equipment;
mod facts;
mod finish;
mod id;
mod names;
mod opening;
mod rest;
mod stations;
pub mod weights;
mod work;

pub use brief::Brief;
pub use brief::Needed;
pub use equipment::brought;
pub use rest::LONG_REST_MS;
pub use weights::Limit;
pub use weights::work_limit;
pub use work::work_window_factor;

use crate::base::wording::Wording;
use crate::planning::session::Limb;
use crate::planning::session::Movement;
use crate::planning::session::Posture;
use crate::planning::session::Session;
use crate::planning::session::Side;
use crate::planning::session::SideWords;
use crate::planning::session::Sides;
use crate::planning::session::Talk;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::planning::timeline::Work;
use equipment::Hands;
use std::collections::HashMap;
use std::collections::HashSet;
use std::sync::Arc;

/// What a line is about; the `cue` of the contracts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Topic {
    Opening,
    Caution,
    Equipment,
    Name,
    Side,
    Start,
    How,
    Safety,
    Form,
    Breathing,
    Easier,
    Harder,
    Progress,
    Recovery,
    Effort,
    Closing,
}

impl Topic {
    /// Returns the word for it in the contracts.
    pub const fn word(self) -> &'static str {
        match self {
            Topic::Opening => "opening",
            Topic::Caution => "caution",
            Topic::Equipment => "equipment",
            Topic::Name => "name",
            Topic::Side => "side",
            Topic::Start => "start",
            Topic::How => "how",
            Topic::Safety => "safety",
            Topic::Form => "form",
            Topic::Breathing => "breathing",
            Topic::Easier => "easier",
            Topic::Harder => "harder",
            Topic::Progress => "progress",
            Topic::Recovery => "recovery",
            Topic::Effort => "effort",
            Topic::Closing => "closing",
        }
    }
}

/// A wording of a line, by length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Length {
    Full,
    Brief,
}

impl Length {
    /// Returns the word for it in the contracts.
    pub const fn word(self) -> &'static str {
        match self {
            Length::Full => "full",
            Length::Brief => "brief",
        }
    }
}

/// Where in a stretch a line may stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Slot {
    /// The end of the work before, where the rest cannot hold what must be said.
    Tail,
    /// The first window of a rest that has several; in any other rest the same as `Late`.
    Early,
    /// The window before the count of a rest; the only one in a short rest, lead-in or finish.
    Late,
    /// A window of the work; the first is `Opening`, where safety belongs.
    Work,
}

/// One wording of a line and its worth where it is new and where it was heard before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    pub length: Length,
    pub text: String,
    /// Worth while nothing of this group was said, per mille of the line's weight.
    pub new: i64,
    /// Worth once it was, per mille.
    pub again: i64,
    /// Whether this wording is for the tail alone ("Next, ...") or for everywhere but the tail.
    pub tail: bool,
}

/// Something that could be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The same in every stretch where its words are the same, for the same side.
    pub id: String,
    /// What counts as heard before when a wording is preferred: the cue, whichever the side.
    pub group: String,
    pub topic: Topic,
    pub must: bool,
    /// Place in the order of doing, inside a window.
    pub order: u16,
    /// Worth of the line before wording, window and rate.
    pub weight: i64,
    /// Per mille of the worth that is left after it was said 0, 1, 2 ... times; the last holds
    /// for all further times.
    pub fade: &'static [i64],
    pub offers: Vec<Offer>,
    /// Whether the offers take turns: one alone each time, none again until all were said.
    pub in_turn: bool,
    /// Whether it is said again in the late part of a long rest: never in a rest of one part.
    pub only_divided: bool,
    /// Where it may stand, with the per mille of its worth there.
    pub slots: Vec<(Slot, i64)>,
}

/// Which of the cautions the opening says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CautionLength {
    /// All of it: a listener's first session, or the first after 30 days.
    #[default]
    Full,
    /// One sentence.
    Brief,
}

/// Where a session begins by a key: the opening, the wait, then this stretch.
const AFTER_KEY: usize = 2;

/// Writes the lines of a session, stretch by stretch.
pub struct Scribe<'a> {
    pub session: &'a Session,
    pub wording: &'a Wording,
    pub caution: CautionLength,
    /// So many steps more, or less, is said than the files have it, by a listener's wish.
    pub more_talk: i8,
    /// The words for the sides by what they name: nothing, an arm, a leg.
    sides: [SideWords; 3],
    /// What surrounds each work, by its index.
    scenes: Vec<Surroundings>,
    /// Items that the session uses with several loads.
    several_loads: HashSet<String>,
}

/// What is known of a work before any of it is spoken.
struct Surroundings {
    movement: Arc<Movement>,
    met_on_side: usize,
    met: usize,
    second_side: bool,
}

/// A work with what surrounds it, as the rooms here look at it.
struct Scene<'a> {
    work: &'a Work,
    movement: &'a Movement,
    /// How often the movement was done before on this side, and on any.
    met_on_side: usize,
    met: usize,
    /// Whether another side of the same use was worked just before.
    second_side: bool,
}

impl<'a> Scribe<'a> {
    /// Makes the writer for a session laid out in time.
    pub fn new(
        session: &'a Session,
        works: &[Work],
        wording: &'a Wording,
        caution: CautionLength,
    ) -> Self {
        let sides =
            [None, Some(Limb::Arm), Some(Limb::Leg)].map(|limb| SideWords::of_limb(wording, limb));
        Self {
            session,
            wording,
            caution,
            more_talk: 0,
            sides,
            scenes: surroundings(session, works),
            several_loads: equipment::several_loads(session),
        }
    }

    /// Returns how much is said in a work and before it: what its use asks for, or its session.
    pub fn talk(&self, work: Option<&Work>) -> Talk {
        let used = work
            .filter(|work| !work.stations)
            .and_then(|work| work.movement_use(self.session).talk);
        used.unwrap_or(self.session.text.talk).more(self.more_talk)
    }

    /// Returns how often the movement of a work was done before, on any side.
    pub fn met(&self, work: usize) -> usize {
        self.scenes[work].met
    }

    /// Returns how often the movement of a work was done before on the same side.
    pub fn met_on_side(&self, work: usize) -> usize {
        self.scenes[work].met_on_side
    }

    /// Writes all lines that could be said in a stretch.
    pub fn lines(&self, timeline: &Timeline, stretch: usize) -> Vec<Line> {
        let Some(at) = timeline.stretches.get(stretch) else {
            return Vec::new();
        };
        let rest = at.rest.map(|r| &timeline.segments[r]);
        let work = at.work.and_then(|w| timeline.segments[w].work);
        let before = work.unwrap_or(timeline.works.len()).checked_sub(1);
        let mut lines = Vec::new();
        match rest.map(|r| r.kind) {
            Some(SegmentKind::LeadIn) if stretch == 0 => lines.extend(self.opening(timeline)),
            Some(SegmentKind::Finish) => lines.extend(self.finish(timeline)),
            _ => {}
        }
        let waits = self.session.text.begin_by_key;
        if waits && stretch == 0 && !timeline.works.is_empty() {
            // All is said before the key; after it the name is enough.
            let scene = self.scene(timeline, 0);
            lines.extend(self.before_work(timeline, &scene, None, rest));
        } else if let Some(work) = work.filter(|_| waits && stretch == AFTER_KEY) {
            let scene = self.scene(timeline, work);
            lines.push(match scene.work.stations {
                true => self.to_stations("stations-ready", Slot::Late),
                false => self.name_again(&scene),
            });
            lines.extend(self.in_work(timeline, &scene, work));
        } else if let Some(work) = work {
            let scene = self.scene(timeline, work);
            lines.extend(self.before_work(timeline, &scene, before, rest));
            lines.extend(self.in_work(timeline, &scene, work));
        } else if rest.is_some_and(|r| r.kind == SegmentKind::Rest) {
            lines.extend(self.recovery(stretch, Some(Posture::Standing), false));
        }
        let talk = self.talk(work.map(|work| &timeline.works[work]));
        for line in lines.iter_mut().filter(|line| !line.must) {
            line.weight = line.weight * weights::of_talk(line.topic, talk) / 1000;
        }
        merge_same_words(lines)
    }

    fn scene<'t>(&'t self, timeline: &'t Timeline, index: usize) -> Scene<'t> {
        let around = &self.scenes[index];
        Scene {
            work: &timeline.works[index],
            movement: &around.movement,
            met_on_side: around.met_on_side,
            met: around.met,
            second_side: around.second_side,
        }
    }

    /// Returns the words for the sides of a movement.
    fn sides(&self, movement: &Movement) -> &SideWords {
        match movement.limb {
            Some(Limb::Arm) => &self.sides[1],
            Some(Limb::Leg) => &self.sides[2],
            Some(Limb::Side) | None => &self.sides[0],
        }
    }

    fn movement(&self, work: &Work) -> &'a Movement {
        self.session.movement(work.movement_use(self.session))
    }

    fn hands(&self, work: Option<&Work>) -> Hands {
        work.map_or(Hands::default(), |work| {
            let movement = self.movement(work);
            Hands::in_work(movement, work, self.session, self.sides(movement))
        })
    }
}

fn surroundings(session: &Session, works: &[Work]) -> Vec<Surroundings> {
    let mut met = HashMap::new();
    let mut met_on_side = HashMap::new();
    let mut scenes: Vec<Surroundings> = Vec::with_capacity(works.len());
    for (index, work) in works.iter().enumerate() {
        let movement = session.movement(work.movement_use(session));
        let times: &mut usize = met.entry(&movement.id).or_default();
        let times_on_side: &mut usize = met_on_side.entry((&movement.id, work.side)).or_default();
        let second_side = scenes.last().is_some_and(|last| {
            let side_before = works[index - 1].side;
            last.movement.id == movement.id && side_before.is_some() && side_before != work.side
        });
        scenes.push(Surroundings {
            movement: movement.clone(),
            met_on_side: *times_on_side,
            met: *times,
            second_side,
        });
        *times += 1;
        *times_on_side += 1;
    }
    scenes
}

/// Returns the side that the texts of a movement speak of where it is not known which one works.
fn first_side_of(movement: &Movement) -> Option<Side> {
    (movement.sides == Sides::Each).then_some(Side::Right)
}

fn capitalise(text: String) -> String {
    crate::planning::session::capitalised(&text)
}

/// The same words twice in a stretch are one line: the first one, unless a later one is a must.
/// A name that is repeated in a window of its own is not touched.
fn merge_same_words(lines: Vec<Line>) -> Vec<Line> {
    let mut kept: Vec<Line> = Vec::with_capacity(lines.len());
    for line in lines {
        let twin = kept.iter().position(|k| {
            line.topic != Topic::Name
                && k.offers.first().map(|o| &o.text) == line.offers.first().map(|o| &o.text)
        });
        match twin {
            Some(at) if line.must && !kept[at].must => kept[at] = line,
            Some(_) => {}
            None => kept.push(line),
        }
    }
    kept
}

impl Line {
    /// Makes an optional line of one full wording.
    fn new(id: impl Into<String>, topic: Topic, order: u16, text: String) -> Self {
        let id = id.into();
        Self {
            group: id.clone(),
            id,
            topic,
            must: false,
            order,
            weight: 0,
            fade: weights::CONSTANT,
            offers: vec![Offer {
                length: Length::Full,
                text,
                new: weights::PREFERRED,
                again: weights::PREFERRED,
                tail: false,
            }],
            in_turn: false,
            only_divided: false,
            slots: vec![(Slot::Late, 1000)],
        }
    }

    /// Adds a brief wording, preferred once the group was heard.
    fn brief(mut self, text: Option<String>) -> Self {
        let Some(text) = text.filter(|t| *t != self.offers[0].text) else {
            return self;
        };
        self.offers[0].again = weights::FULL_AGAIN;
        self.offers.push(Offer {
            length: Length::Brief,
            text,
            new: if self.must {
                weights::BRIEF_NEW_MUST
            } else {
                weights::BRIEF_NEW
            },
            again: weights::PREFERRED,
            tail: false,
        });
        self
    }

    fn must(mut self) -> Self {
        self.must = true;
        self
    }

    fn weigh(mut self, weight: i64, fade: &'static [i64]) -> Self {
        self.weight = weight;
        self.fade = fade;
        self
    }

    fn slots(mut self, slots: &[(Slot, i64)]) -> Self {
        self.slots = slots.to_vec();
        self
    }

    fn group(mut self, group: impl Into<String>) -> Self {
        self.group = group.into();
        self
    }
}
