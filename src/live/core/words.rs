//! What the running class says of the moment: where it is, how long a rest still is, a movement again.

use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::planning::session::CueKind;
use crate::planning::session::Movement;
use crate::planning::session::Session;
use crate::planning::session::SideWords;
use crate::planning::session::capitalised;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::planning::timeline::Work;

/// Speaks of a session in a language.
#[derive(Clone, Copy)]
pub struct Words<'a> {
    session: &'a Session,
    wording: &'a Wording,
}

impl std::fmt::Debug for Words<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Words").finish_non_exhaustive()
    }
}

impl<'a> Words<'a> {
    /// Makes what speaks of a session.
    pub fn new(session: &'a Session, wording: &'a Wording) -> Self {
        Self { session, wording }
    }

    fn sides(&self, movement: &Movement) -> SideWords {
        SideWords::of_limb(self.wording, movement.limb)
    }

    fn name(&self, work: &Work) -> String {
        let movement = self.session.movement(work.movement_use(self.session));
        let name = ("name", Arg::Text(&movement.name));
        let sides = self.sides(movement);
        capitalised(&match work.side {
            None => self.wording.say("name", &[name]),
            Some(side) => {
                let args = [name, ("side", Arg::Text(sides.of(side)))];
                self.wording.say("name-side", &args)
            }
        })
    }

    /// Returns the name of the work that starts at an instant, with its side.
    pub fn name_at(&self, timeline: &Timeline, start: At) -> Option<String> {
        let mut works = timeline.segments.iter();
        let segment = works.find(|s| s.kind == SegmentKind::Work && s.start == start)?;
        Some(self.name(timeline.works.get(segment.work?)?))
    }

    /// Says that the session goes on at an instant, with which round and movement.
    pub fn goes_on(&self, timeline: &Timeline, at: At) -> Option<String> {
        let mut works = timeline.segments.iter();
        let segment = works.find(|s| s.kind == SegmentKind::Work && s.end > at)?;
        let work = timeline.works.get(segment.work?)?;
        let args = [
            ("title", Arg::Text(&self.session.text.title)),
            ("name", Arg::Text(&self.name(work))),
        ];
        let said = self.wording.say("said-goes-on", &args);
        Some(capitalised(&said) + " " + self.round(work).trim_end())
    }

    /// Says the round of a work, with a space after it; nothing where there is one round.
    fn round(&self, work: &Work) -> String {
        let rounds = work.block(self.session).rounds;
        if rounds < 2 {
            return String::new();
        }
        let round = self.wording.number(work.round as i64 + 1);
        let rounds = self.wording.number(rounds as i64);
        let args = [("round", Arg::Text(&round)), ("rounds", Arg::Text(&rounds))];
        self.wording.say("said-round", &args) + " "
    }

    /// Says that it is a rest, and how long it still is.
    pub fn rest(&self, left: Millis) -> String {
        let left = self.wording.length(left.max(Millis::from_secs(1)));
        self.wording.say("said-rest", &[("left", Arg::Text(&left))])
    }

    /// Says where the class is, in one breath: round, movement, side, what is left. `None` outside works
    /// and rests.
    pub fn place(&self, timeline: &Timeline, at: At) -> Option<String> {
        let segments = &timeline.segments;
        let here = segments.iter().find(|s| (s.start..s.end).contains(&at))?;
        let left = (here.end - at).max(Millis::from_secs(1));
        let left = self.wording.length(left);
        let capital = capitalised(&left);
        let next = segments
            .iter()
            .find(|s| s.kind == SegmentKind::Work && s.start >= here.end);
        let of = match here.kind {
            SegmentKind::Work => here,
            _ => next?,
        };
        let work = &timeline.works[of.work?];
        let round = self.round(work);
        let name = self.name(work);
        let args = [
            ("name", Arg::Text(&name)),
            ("left", Arg::Text(&left)),
            ("Left", Arg::Text(&capital)),
        ];
        let message = match here.kind {
            SegmentKind::Work if here.open => "said-place-open",
            SegmentKind::LeadIn if !here.open => "said-place-start",
            SegmentKind::Work => "said-place-work",
            _ => "said-place-rest",
        };
        Some(round + &self.wording.say(message, &args))
    }

    /// Returns what a movement is, sentence by sentence: name, start, how, safety, easier.
    pub fn explained(&self, work: &Work) -> Vec<String> {
        let movement = self.session.movement(work.movement_use(self.session));
        let sides = self.sides(movement);
        let mut texts = vec![self.name(work), movement.start.full(work.side, &sides)];
        texts.extend(movement.how.iter().map(|step| step.full(work.side, &sides)));
        let first = |kind: CueKind| movement.cues.iter().find(|cue| cue.kind == kind);
        let cues = [first(CueKind::Safety), first(CueKind::Easier)];
        let cues = cues.into_iter().flatten();
        texts.extend(cues.map(|cue| cue.said.full(work.side, &sides)));
        texts
    }

    /// Returns the easier option of a work, if there is one.
    pub fn easier(&self, work: &Work) -> Option<String> {
        let used = work.movement_use(self.session);
        let movement = self.session.movement(used);
        let cues = used.cues.iter().chain(&movement.cues);
        let easier = cues.into_iter().find(|cue| cue.kind == CueKind::Easier)?;
        Some(easier.said.full(work.side, &self.sides(movement)))
    }
}
