//! When our own prompts sounded: what is heard then is not the coach's.

use std::collections::VecDeque;

use super::Span;
use crate::base::units::At;

/// Intervals that are not listened to, in order and apart. What has passed is forgotten.
#[derive(Debug, Default)]
pub(super) struct Masks {
    to_come: VecDeque<Span>,
    /// The last one that has begun.
    last: Option<Span>,
}

impl Masks {
    /// Adds an interval; it may overlap others.
    pub fn add(&mut self, mut mask: Span) {
        if mask.to <= mask.from {
            return;
        }
        // What it touches becomes one with it.
        self.to_come.retain(|it| {
            let apart = it.to < mask.from || mask.to < it.from;
            if !apart {
                mask.from = mask.from.min(it.from);
                mask.to = mask.to.max(it.to);
            }
            apart
        });
        let place = self.to_come.partition_point(|it| it.from < mask.from);
        self.to_come.insert(place, mask);
    }

    /// Says whether a mask lies over an instant; asked for one instant after another.
    pub fn over(&mut self, at: At) -> bool {
        while let Some(mask) = self.to_come.front().filter(|it| it.from <= at) {
            self.last = Some(*mask);
            if mask.to > at {
                return true;
            }
            self.to_come.pop_front();
        }
        false
    }

    /// Returns where the last mask that has begun ends, if there was one.
    pub fn end(&self) -> Option<At> {
        self.last.map(|it| it.to)
    }

    /// Takes from a span the few milliseconds by which its frames lie over a mask.
    pub fn cut(&self, span: Span) -> Option<Span> {
        let last = self.last.unwrap_or(Span {
            from: At::START,
            to: At::START,
        });
        let cut = if span.from < last.from {
            Span {
                to: span.to.min(last.from),
                ..span
            }
        } else {
            Span {
                from: span.from.max(last.to),
                ..span
            }
        };
        (cut.from < cut.to).then_some(cut)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn span(from: i64, to: i64) -> Span {
        Span {
            from: At::from_ms(from),
            to: At::from_ms(to),
        }
    }

    #[test]
    fn masks_in_any_order_lie_over_what_they_say_and_are_forgotten() {
        let mut masks = Masks::default();
        for (from, to) in [(500, 600), (100, 200), (150, 300), (700, 650), (290, 310)] {
            masks.add(span(from, to));
        }
        let over = |at: &i64| (100..310).contains(at) || (500..600).contains(at);
        for at in 0..1000 {
            assert_eq!(masks.over(At::from_ms(at)), over(&at), "at {at}");
        }
        assert!(masks.to_come.is_empty());
        assert_eq!(masks.end(), Some(At::from_ms(600)));
    }

    #[test]
    fn a_span_beside_a_mask_is_cut_by_it() {
        let mut masks = Masks::default();
        masks.add(span(100, 200));
        assert!(masks.over(At::from_ms(150)));
        assert_eq!(masks.cut(span(40, 104)), Some(span(40, 100)));
        assert_eq!(masks.cut(span(196, 300)), Some(span(200, 300)));
        assert_eq!(masks.cut(span(110, 190)), None);
    }
}
