//! A report in a breath.

use super::Report;
use crate::base::units::Millis;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::base::wording::capitalised;

/// Says how many places ran over and by how much, and how much was missing.
pub fn spoken(report: &Report, wording: &Wording) -> String {
    let over: Vec<Millis> = report.rows.iter().map(|row| row.over).collect();
    let worst = over.iter().max().copied().unwrap_or(Millis::ZERO);
    let count = over.iter().filter(|over| **over > Millis::ZERO).count() as i64;
    let silent: usize = report.rows.iter().map(|row| row.silent().count()).sum();
    let mut said = Vec::new();
    if count > 0 {
        let places = wording.counted("rehearsed-over", count);
        let length = wording.length(worst.ceil_secs());
        let args = [("over", Arg::Text(&places)), ("length", Arg::Text(&length))];
        said.push(capitalised(&wording.say("rehearsed", &args)));
    }
    if silent > 0 {
        said.push(capitalised(
            &wording.counted("rehearsed-silent", silent as i64),
        ));
    }
    match said.is_empty() {
        true => wording.say("rehearsed-well", &[]),
        false => said.join(" "),
    }
}
