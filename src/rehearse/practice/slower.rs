//! A class with longer rests.

use crate::base::units::Millis;
use crate::planning::session::Block;
use crate::planning::session::PerRound;
use crate::planning::session::Session;

/// Makes a class slower to practise: at 0.8 each written rest, the lead-in and the finish are a quarter longer,
/// and so is what `every` leaves after the longest work; works stay as they are.
pub fn slow_down(session: &mut Session, pace: f64) {
    let longer = |length: Millis| Millis::from_ms((length.ms() as f64 / pace).round() as i64);
    // On the minute, the rest after the longest work is the one that is stretched.
    let longest = |block: &Block| {
        let works = block.uses.iter().flat_map(|used| {
            let movement = session.movement(used);
            (0..block.rounds).map(move |round| used.work_time(block, movement, round).length)
        });
        works.max().unwrap_or(Millis::ZERO)
    };
    let longest: Vec<Millis> = session.text.blocks.iter().map(longest).collect();
    let text = &mut session.text;
    text.lead_in = text.lead_in.map(longer);
    text.finish = text.finish.map(longer);
    for (block, work) in text.blocks.iter_mut().zip(longest) {
        if let Some(every) = &mut block.every {
            every.value = work + longer((every.value - work).max(Millis::ZERO));
        }
        for rests in [&mut block.rest, &mut block.between_rounds] {
            match rests {
                PerRound::Same(rest) => *rest = longer(*rest),
                PerRound::Each(rests) => rests.iter_mut().for_each(|rest| *rest = longer(*rest)),
            }
        }
        for used in &mut block.uses {
            if let Some(rest) = &mut used.rest {
                rest.value = longer(rest.value);
            }
        }
    }
}
