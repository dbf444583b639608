//! What a coach is told of the next work while this one still runs: its name and what the hands do for
//! it. Nobody else hears it, so it may come before the participants need it.

use super::Line;
use super::Scribe;
use crate::base::wording::Arg;
use crate::planning::timeline::Half;
use crate::planning::timeline::Timeline;

impl Scribe<'_> {
    /// Says what comes with a work (its number), the best wording first, each shorter than the one before;
    /// after the last work, that the end comes. Empty where it is the other half of the same work.
    pub fn coming(&self, timeline: &Timeline, work: usize) -> Vec<String> {
        if work >= timeline.works.len() {
            return vec![self.wording.say("aside-last", &[])];
        }
        let scene = self.scene(timeline, work);
        if scene.work.half == Some(Half::Second) {
            return Vec::new();
        }
        let before = work.checked_sub(1).map(|before| &timeline.works[before]);
        let name = match (scene.work.stations, before) {
            (true, Some(before)) if before.stations => self.wording.say("stations-next", &[]),
            (true, _) => self.wording.say("stations-begin", &[]),
            (false, _) => self.name("name", &scene, &[]),
        };
        let rest = before.and_then(|before| before.rest);
        let mut lines = self.changes(before, &scene, rest.map_or(0, |rest| rest.ms()));
        lines.sort_by_key(|line| line.order);
        let with = |texts: Vec<&str>| {
            let said = [&[name.as_str()], &texts[..]].concat().join(" ");
            let args = [("name", Arg::Text(&said))];
            self.wording.say("aside-coming", &args)
        };
        let mut said = vec![
            with(lines.iter().map(full).collect()),
            with(lines.iter().map(brief).collect()),
            with(Vec::new()),
        ];
        said.dedup();
        said
    }

    /// Says how much of the class is left, in whole minutes.
    pub fn left_of_the_class(&self, minutes: i64) -> String {
        let length = self.wording.counted("minutes", minutes);
        let args = [("length", Arg::Text(&length))];
        self.wording.say("aside-left", &args)
    }
}

fn full(line: &Line) -> &str {
    &line.offers[0].text
}

fn brief(line: &Line) -> &str {
    let offers = line.offers.iter().rfind(|offer| !offer.tail);
    offers.map_or("", |offer| &offer.text)
}
