//! Advice on what a session says in another language than its own.

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::planning::session::Movement;
use crate::planning::session::Session;

/// Returns a word on each movement that lacks texts in the language of its session.
pub fn untranslated(session: &Session) -> Vec<Diagnostic> {
    let lacking = session.movements.iter();
    let lacking = lacking.filter(|movement| !movement.untranslated.is_empty());
    lacking.filter_map(|m| advise(session, m)).collect()
}

fn advise(session: &Session, movement: &Movement) -> Option<Diagnostic> {
    let language = session.text.language;
    let mut uses = session.text.blocks.iter().flat_map(|block| &block.uses);
    let used = uses.find(|used| used.movement.value == movement.id)?;
    let message = format!(
        "expected {} in {}, found no words of its own for: {}",
        movement.id,
        language.name(),
        movement.untranslated.join(", ")
    );
    let advice = Diagnostic::advice(Code::Untranslated, used.movement.place, message);
    Some(advice.help(format!(
        "they are spoken as movements/{id}.toml has them; write them in movements/{tag}/{id}.toml",
        id = movement.id,
        tag = language.tag()
    )))
}
