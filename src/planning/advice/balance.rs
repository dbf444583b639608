//! What the works of a session are: patterns, demands, sides, and what they need.

use super::Balance;
use super::Counts;
use super::ReadyItem;
use super::look::Done;
use super::look::Look;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::units::Millis;
use crate::planning::session::Equipment;
use crate::planning::session::Movement;
use crate::planning::session::Pattern;
use crate::planning::session::Side;
use crate::planning::session::Sides;
use crate::planning::session::Use;

/// Counts the works of each kind.
pub fn counts(look: &Look) -> Counts {
    let many = |what: &dyn Fn(&Done) -> bool| look.works.iter().filter(|d| what(d)).count();
    let patterns = Pattern::WORDS
        .iter()
        .map(|(_, pattern)| (*pattern, many(&|d| d.movement.pattern == *pattern)));
    Counts {
        patterns: patterns.filter(|(_, count)| *count > 0).collect(),
        impact: many(&|d| d.movement.demands.impact),
        overhead: many(&|d| d.movement.demands.overhead),
        held_still: many(&|d| d.movement.demands.held_still),
        right: many(&|d| d.work.side == Some(Side::Right)),
        left: many(&|d| d.work.side == Some(Side::Left)),
        both: many(&|d| d.work.side.is_none() && d.movement.sides != Sides::Alternate),
        alternate: many(&|d| d.work.side.is_none() && d.movement.sides == Sides::Alternate),
    }
}

/// Lists what the session needs: of each item and load, the most that one work asks for, or that the
/// stations of a block ask for together.
pub fn ready(look: &Look) -> Vec<ReadyItem> {
    let mut needed = Vec::new();
    for block in &look.session.text.blocks {
        let mut at_once = Vec::new();
        for used in &block.uses {
            let items = items(used, look.session.movement(used));
            if block.stations {
                add(&mut at_once, items, u8::saturating_add);
            } else {
                add(&mut needed, items, u8::max);
            }
        }
        add(&mut needed, at_once, u8::max);
    }
    needed
}

/// Returns what one use needs, with its load.
fn items(used: &Use, movement: &Movement) -> Vec<ReadyItem> {
    let own = used.load.as_ref().map(|load| &load.value);
    let held = movement.held().count();
    let item = |item: &Equipment| {
        // The load of a use is that of what is in the hands, as the words have it.
        let takes_own =
            movement.hold.is_some() && !item.fixed && (item.load.is_some() || held == 1);
        let load = own.filter(|_| takes_own).or(item.load.as_ref());
        ReadyItem {
            item: item.item.clone(),
            count: item.count,
            load: load.cloned(),
            fixed: item.fixed,
        }
    };
    movement.equipment.iter().map(item).collect()
}

/// Adds items to a list; the counts of one that is there already are joined.
fn add(list: &mut Vec<ReadyItem>, items: Vec<ReadyItem>, join: fn(u8, u8) -> u8) {
    for item in items {
        let same = |n: &&mut ReadyItem| n.item == item.item && n.load == item.load;
        match list.iter_mut().find(same) {
            Some(known) => known.count = join(known.count, item.count),
            None => list.push(item),
        }
    }
}

/// Adds up the time of each side, in all and for each movement.
pub fn balance(look: &Look) -> Balance {
    let uneven = of_movements(look)
        .into_iter()
        .filter(|(_, right, left)| right != left)
        .map(|(first, right, left)| (first.movement.name.clone(), right, left));
    Balance {
        right: time(look.works.iter(), Side::Right),
        left: time(look.works.iter(), Side::Left),
        uneven: uneven.collect(),
    }
}

/// Advises where one side of a movement does more than the other.
pub fn advice(look: &Look) -> Vec<Diagnostic> {
    let of_movement = |(first, right, left): (&Done, Millis, Millis)| {
        if right == left {
            return None;
        }
        let message = format!(
            "expected as much right as left of {}, found {right} right and {left} left",
            first.movement.name
        );
        let less = if right < left { "right" } else { "left" };
        let help = format!(
            "add the {less} side, or leave `side` out to work both: what one side does, the \
             other does too (common practice)"
        );
        let told = Diagnostic::advice(Code::SidesUneven, first.used.place, message);
        Some(told.help(help))
    };
    of_movements(look)
        .into_iter()
        .filter_map(of_movement)
        .collect()
}

/// Returns each one-sided movement: its first work on the side that does more, and the time of
/// both sides.
fn of_movements<'l, 'a>(look: &'l Look<'a>) -> Vec<(&'l Done<'a>, Millis, Millis)> {
    let mut found: Vec<(&Done, Millis, Millis)> = Vec::new();
    for done in look.works.iter().filter(|d| d.work.side.is_some()) {
        if found
            .iter()
            .any(|(f, ..)| f.movement.id == done.movement.id)
        {
            continue;
        }
        let same = || {
            let works = look.works.iter();
            works.filter(|d| d.movement.id == done.movement.id)
        };
        let (right, left) = (time(same(), Side::Right), time(same(), Side::Left));
        let more = if right > left {
            Side::Right
        } else {
            Side::Left
        };
        let first = same().find(|d| d.work.side == Some(more)).unwrap_or(done);
        found.push((first, right, left));
    }
    found
}

fn time<'d, 'a: 'd>(works: impl Iterator<Item = &'d Done<'a>>, side: Side) -> Millis {
    let on_side = works.filter(|d| d.work.side == Some(side));
    on_side.map(|d| d.work.length).sum()
}
