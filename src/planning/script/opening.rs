//! The opening: what is coming, what to have ready, the caution, the effort aimed at.

use super::CautionLength;
use super::Line;
use super::Scribe;
use super::Topic;
use super::weights;
use super::weights::order;
use crate::base::units::Millis;
use crate::base::wording::Arg;
use crate::planning::session::Block;
use crate::planning::session::Lasts;
use crate::planning::session::Part;
use crate::planning::timeline::Timeline;

const MINUTE: Millis = Millis::from_secs(60);

impl Scribe<'_> {
    /// Writes the opening, but for the first movement, which is written like any other.
    pub(super) fn opening(&self, timeline: &Timeline) -> Vec<Line> {
        let text = &self.session.text;
        let mut lines = Vec::new();
        if let Some(own) = &text.opening {
            lines.push(must(
                "opening/own",
                Topic::Opening,
                order::OPENING,
                own.clone(),
            ));
        }
        let (full, brief) = self.facts(timeline);
        let facts = must("opening/facts", Topic::Opening, order::OPENING + 1, full);
        lines.push(facts.brief(Some(brief)));
        let needed = self.needed();
        if !needed.is_empty() {
            let items = self.wording.list(&needed);
            let said = self
                .wording
                .say("you-need", &[("items", Arg::Text(&items))]);
            lines.push(must("opening/ready", Topic::Equipment, order::READY, said));
        }
        lines.extend(self.cautions());
        let main_work = text.blocks.iter().any(|b| b.part == Part::Main);
        if main_work && text.blocks[0].part != Part::WarmUp {
            let said = self.wording.say("no-warm-up", &[]);
            lines.push(
                Line::new(
                    "opening/no-warm-up",
                    Topic::Caution,
                    order::CAUTION + 10,
                    said,
                )
                .weigh(weights::SAFETY, weights::CONSTANT),
            );
        }
        if let Some(effort) = text.effort {
            let words = self.wording.number(i64::from(effort));
            let said = match effort {
                10 => self.wording.say("effort-aim-all", &[]),
                5..=9 => self
                    .wording
                    .say("effort-aim", &[("words", Arg::Text(&words))]),
                _ => self
                    .wording
                    .say("effort-aim-easy", &[("words", Arg::Text(&words))]),
            };
            lines.push(
                Line::new("opening/effort", Topic::Effort, order::EFFORT, said)
                    .weigh(weights::NOTE, weights::CONSTANT),
            );
        }
        lines.extend(self.leave_weights(timeline));
        lines
    }

    /// Says the facts of the session in a full and a brief sentence: how long it is, if that is
    /// known.
    fn facts(&self, timeline: &Timeline) -> (String, String) {
        let text = &self.session.text;
        let mut total = self.wording.length(timeline.training_time());
        if text.by_ear {
            // Rests may still grow as lengths are measured.
            total = self.wording.say("about", &[("length", Arg::Text(&total))]);
        }
        let total = super::capitalise(total);
        let args = [
            ("title", Arg::Text(&text.title)),
            ("total", Arg::Text(&total)),
        ];
        let open = timeline.works.iter().any(|work| work.open);
        let say = |message: &str, args: &[(&str, Arg)]| {
            let message = if open {
                format!("{message}-open")
            } else {
                message.to_owned()
            };
            self.wording.say(&message, args)
        };
        let full = match &text.blocks[..] {
            [block] => {
                let facts = self.block_facts(block);
                let more = [("facts", Arg::Text(&facts))];
                say("opening-one-block", &[&args[..], &more].concat())
            }
            blocks => {
                let count = self.wording.counted("blocks", blocks.len() as i64);
                let more = [("blocks", Arg::Text(&count))];
                say("opening-blocks", &[&args[..], &more].concat())
            }
        };
        (full, say("opening-brief", &args))
    }

    /// Says the rounds, movements and times of a block, as far as they are even.
    fn block_facts(&self, block: &Block) -> String {
        let rounds = self.wording.counted("rounds", block.rounds as i64);
        let what = if block.stations {
            "stations"
        } else {
            "movements"
        };
        let movements = self.wording.counted(what, block.uses.len() as i64);
        let mut args = vec![
            ("n", Arg::Count(block.rounds as i64)),
            ("rounds", Arg::Text(&rounds)),
            ("movements", Arg::Text(&movements)),
        ];
        let even = block
            .uses
            .iter()
            .all(|u| u.work.is_none() && u.rest.is_none());
        match self.block_times(block).filter(|_| even) {
            None => self.wording.say("block-facts-uneven", &args),
            Some(times) => {
                args.push(("times", Arg::Text(&times)));
                self.wording.say("block-facts", &args)
            }
        }
    }

    /// Says how long works and rests are, where they are the same in all rounds.
    fn block_times(&self, block: &Block) -> Option<String> {
        let say = |message: &str, args: &[(&str, &str)]| {
            let args: Vec<_> = args.iter().map(|(k, v)| (*k, Arg::Text(v))).collect();
            self.wording.say(message, &args)
        };
        let every = block.every.as_ref().map(|every| match every.value {
            MINUTE => say("every-minute", &[]),
            length => say("every-length", &[("length", &self.wording.length(length))]),
        });
        Some(match (&block.work, every) {
            (Lasts::UntilKey(_), _) => say("times-until-key", &[]),
            (Lasts::Reps(reps), every) => {
                let reps = self.wording.counted("repetitions", reps.value as i64);
                match every {
                    Some(every) => say("times-reps-every", &[("reps", &reps), ("every", &every)]),
                    None => say("times-reps", &[("reps", &reps)]),
                }
            }
            (Lasts::For(work), Some(every)) => {
                let work = self.wording.length(work.same()?);
                say("times-every", &[("work", &work), ("every", &every)])
            }
            (Lasts::For(work), None) => {
                let (work, rest) = (work.same()?, block.rest.same()?);
                let on = self.wording.length(work);
                if rest == Millis::ZERO {
                    return Some(say("times-each", &[("work", &on)]));
                }
                // "twenty seconds on, ten off": the unit is said once where both are seconds.
                let seconds = work < MINUTE && rest < MINUTE && rest.ms() % 1000 == 0;
                let off = if seconds {
                    self.wording.number(rest.ms() / 1000)
                } else {
                    self.wording.length(rest)
                };
                say("times-on-off", &[("work", &on), ("rest", &off)])
            }
        })
    }

    /// Writes the line with which a titled block of several begins.
    pub(super) fn block_begins(&self, index: usize) -> Option<Line> {
        let block = &self.session.text.blocks[index];
        let title = block.title.as_deref()?;
        if self.session.text.blocks.len() == 1 {
            return None;
        }
        let facts = self.block_facts(block);
        let args = [("title", Arg::Text(title)), ("facts", Arg::Text(&facts))];
        let full = self.wording.say("block-begins", &args);
        let brief = self.wording.say("block-begins-brief", &args);
        let id = format!("block-{}", index + 1);
        Some(
            Line::new(id, Topic::Opening, order::BLOCK, full)
                .brief(Some(brief))
                .weigh(weights::BLOCK, weights::CONSTANT),
        )
    }

    fn cautions(&self) -> Vec<Line> {
        let messages: &[&str] = match self.caution {
            CautionLength::Full => &[
                "caution-space",
                "caution-stop",
                "caution-emergency",
                "caution-doubt",
            ],
            CautionLength::Brief => &["caution-brief"],
        };
        let mut lines: Vec<_> = messages
            .iter()
            .zip(order::CAUTION..)
            .map(|(message, order)| {
                let said = self.wording.say(message, &[]);
                must(message, Topic::Caution, order, said)
            })
            .collect();
        if let Some(own) = &self.session.text.caution {
            lines.push(must(
                "caution-own",
                Topic::Caution,
                order::CAUTION + 9,
                own.clone(),
            ));
        }
        lines
    }

    /// With loads in the session: that they may be left down.
    fn leave_weights(&self, timeline: &Timeline) -> Option<Line> {
        let mut loaded = timeline.works.iter().filter_map(|w| self.in_hands(w));
        let first = loaded.next()?;
        let message = if loaded.all(|items| items == first) {
            let args = [("the", Arg::Text(&first))];
            self.wording.say("leave-weights", &args)
        } else {
            self.wording.say("leave-weights-brief", &[])
        };
        Some(
            Line::new(
                "opening/leave-weights",
                Topic::Easier,
                order::EFFORT + 1,
                message,
            )
            .weigh(weights::EASIER, weights::CONSTANT),
        )
    }
}

fn must(id: &str, topic: Topic, order: u16, said: String) -> Line {
    Line::new(id, topic, order, said)
        .must()
        .weigh(weights::MUST, weights::CONSTANT)
}
