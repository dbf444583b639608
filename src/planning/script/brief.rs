//! A session in one breath: how it is laid out, how long it takes, what it needs. Said of a session
//! that waits to be chosen, before anybody hears its opening.

use super::capitalise;
use crate::base::units::Millis;
use crate::base::wording::Arg;
use crate::base::wording::Language;
use crate::base::wording::Noun;
use crate::base::wording::Wording;
use crate::planning::session::Equipment;
use crate::planning::session::Session;
use crate::planning::timeline::timeline;

/// What there is to know of a session before it begins, in numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Brief {
    pub title: String,
    /// What the things to have ready are named in.
    language: Language,
    layout: Layout,
    /// Without lead-in and finish; `None` where a key decides.
    length: Option<Millis>,
    /// Whether the length may still grow as lines are measured.
    about: bool,
    /// Each thing once, in the order of the files.
    pub needs: Vec<Needed>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Layout {
    Block {
        rounds: usize,
        uses: usize,
        stations: bool,
    },
    Blocks(usize),
}

/// A thing to have ready.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Needed {
    pub item: String,
    noun: Noun,
    pub count: u8,
    /// Stands where it is: "a bench". What is taken up is counted: "one dumbbell".
    pub fixed: bool,
}

impl Brief {
    /// Takes from a session what is said of it in one breath.
    pub fn of(session: &Session) -> Self {
        let timeline = timeline(session, &[]);
        let open = timeline.works.iter().any(|work| work.open);
        let layout = match &session.text.blocks[..] {
            [block] => Layout::Block {
                rounds: block.rounds,
                uses: block.uses.len(),
                stations: block.stations,
            },
            blocks => Layout::Blocks(blocks.len()),
        };
        Self {
            title: session.text.title.clone(),
            language: session.text.language,
            layout,
            length: (!open).then(|| timeline.training_time()),
            about: session.text.by_ear,
            needs: needs(session),
        }
    }

    /// Says it: "Boathouse five is waiting: two rounds of five, six minutes ten. You need a bench
    /// and one dumbbell."
    pub fn said(&self, wording: &Wording) -> String {
        let what = self.laid_out(wording);
        let mut args = vec![
            ("title", Arg::Text(&self.title)),
            ("what", Arg::Text(&what)),
        ];
        let length = self.length.map(|length| {
            let length = wording.length(length);
            match self.about {
                true => wording.say("about", &[("length", Arg::Text(&length))]),
                false => length,
            }
        });
        let message = match &length {
            Some(length) => {
                args.push(("length", Arg::Text(length)));
                "session-waits"
            }
            None => "session-waits-open",
        };
        let mut said = capitalise(wording.say(message, &args));
        // Things have an English name in every session, and names in other languages in their own alone.
        let named = [self.language, Language::English].contains(&wording.language());
        if !self.needs.is_empty() && named {
            let items: Vec<_> = self
                .needs
                .iter()
                .map(|n| n.said(wording, self.language))
                .collect();
            let items = wording.list(&items);
            said.push(' ');
            said += &wording.say("you-need", &[("items", Arg::Text(&items))]);
        }
        said
    }

    fn laid_out(&self, wording: &Wording) -> String {
        match self.layout {
            Layout::Blocks(blocks) => wording.counted("blocks", blocks as i64),
            Layout::Block {
                rounds: 1,
                uses,
                stations,
            } => {
                let what = if stations { "stations" } else { "movements" };
                wording.counted(what, uses as i64)
            }
            Layout::Block {
                rounds,
                uses,
                stations,
            } => {
                let what = if stations { "stations" } else { "movements" };
                let rounds = wording.counted("rounds", rounds as i64);
                let named = wording.counted(what, uses as i64);
                let uses = wording.number(uses as i64);
                let args = [
                    ("rounds", Arg::Text(&rounds)),
                    ("n", Arg::Text(&uses)),
                    ("uses", Arg::Text(&named)),
                ];
                wording.say("rounds-of", &args)
            }
        }
    }
}

impl Needed {
    /// Names it, in another language than the session's by what its file calls it.
    fn said(&self, wording: &Wording, language: Language) -> String {
        let noun = match wording.language() == language {
            true => &self.noun,
            false => &Noun::plain(&self.item),
        };
        match self.fixed && self.count == 1 {
            true => wording.some(noun, 1),
            false => wording.number_of(noun, self.count),
        }
    }
}

/// Lists what the session says to have ready, then what its movements bring.
fn needs(session: &Session) -> Vec<Needed> {
    let brought = || session.movements.iter().flat_map(|m| &m.equipment);
    let listed = session.text.ready.iter().map(|r| r.item.as_str());
    let mut needs: Vec<Needed> = Vec::new();
    for item in listed.chain(brought().map(|e| e.item.as_str())) {
        if needs.iter().any(|known| known.item == item) {
            continue;
        }
        let same: Vec<&Equipment> = brought().filter(|e| e.item == item).collect();
        needs.push(Needed {
            item: item.to_owned(),
            noun: session.noun(item),
            count: same.iter().map(|e| e.count).max().unwrap_or(1),
            // What no movement takes up stands where it is.
            fixed: same.iter().all(|e| e.fixed),
        });
    }
    needs
}
