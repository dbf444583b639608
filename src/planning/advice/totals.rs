//! How long a session and its parts are.

use super::Totals;
use crate::planning::plan::Plan;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;

/// Adds up a plan.
pub fn totals(plan: &Plan) -> Totals {
    let of = |kind| {
        plan.timeline
            .segments
            .iter()
            .filter(move |s| s.kind == kind)
    };
    Totals {
        whole: plan.timeline.end().since_start(),
        training: plan.timeline.training_time(),
        work: of(SegmentKind::Work).map(Segment::length).sum(),
        rest: of(SegmentKind::Rest).map(Segment::length).sum(),
        works: of(SegmentKind::Work).count(),
        rests: of(SegmentKind::Rest).count(),
    }
}
