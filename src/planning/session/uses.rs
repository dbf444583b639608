//! Finds the uses of movements in a session at fault, so that what makes no sense in them, and the
//! faults of the movements' own files, are told in the same pass as its own.

use super::Use;
use super::read_session::language;
use super::read_session::movement_use;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::SourceId;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::Table;
use crate::base::diagnostic::parse_toml;
use crate::base::wording::Language;

/// Returns the uses of a session at fault as far as they can be read; of one at fault itself, its
/// movement alone. `faults` are those of its reading: what stands on a line that is no TOML may
/// be half an id, and is left out.
pub fn uses_found(sources: &Sources, source: SourceId, faults: &[Diagnostic]) -> Vec<Use> {
    let line_of = |place| sources.position(place).line;
    let broken: Vec<_> = faults
        .iter()
        .filter(|fault| fault.code == Code::Syntax && fault.place.source == source)
        .map(|fault| line_of(fault.place))
        .collect();
    let (mut uses, _) = parse_toml(sources, source, |top| {
        let used = |mut block: Table| {
            let list = block.get("movements").filter(Item::is_list);
            let items = list.map_or(Vec::new(), |list| list.items());
            items.into_iter().filter_map(use_of).collect::<Vec<_>>()
        };
        let blocks = top.tables("block", "block");
        blocks.into_iter().flat_map(used).collect::<Vec<_>>()
    });
    uses.retain(|of| !broken.contains(&line_of(of.movement.place)));
    uses
}

/// Returns the language of a session at fault, as far as it can be read.
pub fn language_found(sources: &Sources, source: SourceId) -> Language {
    parse_toml(sources, source, language).0
}

fn use_of(item: Item) -> Option<Use> {
    movement_use(item).or_else(|| {
        let id = item.table("use of a movement")?.text("use")?;
        Some(Use::bare(id))
    })
}
