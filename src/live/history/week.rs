//! The load of the weeks: how much, how even, how hard to bear.
//!
//! Foster, Monitoring training in athletes with reference to overtraining syndrome, Med Sci Sports
//! Exerc 30(7), 1998 (title from memory): session load is the effort felt times the minutes; monotony is the mean of the
//! seven daily loads by their standard deviation, rest days 0; strain is the load of the week times
//! its monotony. It does not say which standard deviation: here it is the one over n, as for all
//! seven days of a week there are.

use super::run::Run;
use jiff::Timestamp;
use jiff::ToSpan;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

/// One week with a run in it, Monday to Sunday (ISO 8601) as the clock on the wall tells.
#[derive(Debug, Clone, PartialEq)]
pub struct Week {
    pub monday: Date,
    /// From Monday on.
    pub days: [f64; 7],
    pub runs: usize,
    /// Runs whose effort felt was not told: their load is not in here.
    pub unrated: usize,
    /// Whether its Sunday is over.
    pub whole: bool,
}

impl Week {
    /// Returns the load of the week.
    pub fn load(&self) -> f64 {
        self.days.iter().sum()
    }

    /// Returns the monotony of a week that is over and whose loads are all known.
    pub fn monotony(&self) -> Option<f64> {
        monotony(&self.days).filter(|_| self.whole && self.unrated == 0)
    }

    /// Returns the strain of such a week.
    pub fn strain(&self) -> Option<f64> {
        strain(&self.days).filter(|_| self.monotony().is_some())
    }
}

/// Returns the mean of the daily loads by their standard deviation over n; none where all are equal.
pub fn monotony(days: &[f64; 7]) -> Option<f64> {
    let n = days.len() as f64;
    let mean = days.iter().sum::<f64>() / n;
    let variance = days.iter().map(|load| (load - mean).powi(2)).sum::<f64>() / n;
    let deviation = variance.sqrt();
    // What rounding leaves between equal loads is no difference.
    (deviation > mean * 1e-9).then(|| mean / deviation)
}

/// Returns the load of the week times its monotony.
pub fn strain(days: &[f64; 7]) -> Option<f64> {
    Some(days.iter().sum::<f64>() * monotony(days)?)
}

/// Returns the weeks with a run in them, the earliest first; runs in which no work was begun are
/// left out.
pub fn weeks(runs: &[Run], now: Timestamp, zone: &TimeZone) -> Vec<Week> {
    let day_of = |time: Timestamp| time.to_zoned_datetime(zone.clone()).date();
    let today = day_of(now);
    let mut weeks = BTreeMap::new();
    for run in runs.iter().filter(|run| run.begun() > 0) {
        let day = day_of(run.time);
        let after_monday = day.weekday().to_monday_zero_offset();
        let Ok(monday) = day.checked_sub(i64::from(after_monday).days()) else {
            continue;
        };
        let next = monday.checked_add(7.days()).unwrap_or(Date::MAX);
        let week = weeks.entry(monday).or_insert(Week {
            monday,
            days: [0.0; 7],
            runs: 0,
            unrated: 0,
            whole: next <= today,
        });
        week.runs += 1;
        match run.load() {
            Some(load) => week.days[after_monday as usize] += load,
            None => week.unrated += 1,
        }
    }
    weeks.into_values().collect()
}
