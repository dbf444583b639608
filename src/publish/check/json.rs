//! Reports as JSON, format `sidevoice-check/1`: times in whole ms, energy in kcal to a tenth.

use super::super::Speaking;
use super::super::json::DiagnosticJson;
use super::super::json::pretty;
use super::Checked;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Sources;
use crate::planning::advice::COMPENDIUM;
use crate::planning::advice::FORMULA;
use crate::planning::advice::Fit;
use crate::planning::advice::Report;
use serde::Serialize;

#[derive(Serialize)]
struct CheckJson<'a> {
    format: &'static str,
    sessions: Vec<SessionJson<'a>>,
    diagnostics: Vec<DiagnosticJson<'a>>,
}

#[derive(Serialize)]
struct SessionJson<'a> {
    id: &'a str,
    title: &'a str,
    voice: &'a str,
    speaker: Option<Speaking<'a>>,
    totals: TotalsJson,
    fit: Vec<FitJson<'a>>,
    counts: CountsJson,
    ready: Vec<ReadyJson<'a>>,
    balance: BalanceJson<'a>,
    energy: EnergyJson,
    notes: &'a [String],
}

#[derive(Serialize)]
struct TotalsJson {
    whole_ms: i64,
    training_ms: i64,
    work_ms: i64,
    rest_ms: i64,
    works: usize,
    rests: usize,
    /// Work for each unit of rest, to a hundredth; null where there is no rest.
    work_to_rest: Option<f64>,
}

#[derive(Serialize)]
struct FitJson<'a> {
    kind: &'static str,
    at_ms: i64,
    rest_ms: i64,
    added_ms: i64,
    before: Option<&'a str>,
    side: Option<&'static str>,
    changes: usize,
    needed_ms: i64,
    free_ms: i64,
    spare_ms: i64,
    in_work_before: bool,
    /// Null where no rest would hold it, or none is needed.
    smallest_ms: Option<i64>,
}

#[derive(Serialize)]
struct CountsJson {
    patterns: Vec<PatternJson>,
    impact: usize,
    overhead: usize,
    #[serde(rename = "static")]
    held_still: usize,
    right: usize,
    left: usize,
    both: usize,
    alternate: usize,
}

#[derive(Serialize)]
struct PatternJson {
    pattern: &'static str,
    works: usize,
}

#[derive(Serialize)]
struct ReadyJson<'a> {
    item: &'a str,
    count: u8,
    load: Option<&'a str>,
    fixed: bool,
}

#[derive(Serialize)]
struct BalanceJson<'a> {
    right_ms: i64,
    left_ms: i64,
    uneven: Vec<UnevenJson<'a>>,
}

#[derive(Serialize)]
struct UnevenJson<'a> {
    movement: &'a str,
    right_ms: i64,
    left_ms: i64,
}

#[derive(Serialize)]
struct EnergyJson {
    estimate: bool,
    kcal: f64,
    mass_kg: f64,
    formula: &'static str,
    source: &'static str,
    parts: Vec<EnergyPartJson>,
}

#[derive(Serialize)]
struct EnergyPartJson {
    code: &'static str,
    activity: &'static str,
    met: f64,
    time_ms: i64,
    kcal: f64,
}

/// Writes what was found of sessions, and everything there is to say.
pub fn json(
    sessions: &[Checked],
    speaker: Option<Speaking>,
    diagnostics: &[Diagnostic],
    sources: &Sources,
) -> String {
    let whole = |s| session(s, speaker);
    let told = diagnostics.iter();
    pretty(&CheckJson {
        format: "sidevoice-check/1",
        sessions: sessions.iter().map(whole).collect(),
        diagnostics: told.map(|d| DiagnosticJson::new(d, sources)).collect(),
    })
}

fn session<'a>(checked: &'a Checked, speaker: Option<Speaking<'a>>) -> SessionJson<'a> {
    let report = &checked.report;
    SessionJson {
        id: &checked.id,
        title: &report.title,
        voice: &report.voice,
        speaker,
        totals: totals(report),
        fit: report.fit.iter().map(fit).collect(),
        counts: counts(report),
        ready: report
            .ready
            .iter()
            .map(|item| ReadyJson {
                item: &item.item,
                count: item.count,
                load: item.load.as_deref(),
                fixed: item.fixed,
            })
            .collect(),
        balance: balance(report),
        energy: energy(report),
        notes: &report.notes,
    }
}

fn totals(report: &Report) -> TotalsJson {
    let totals = &report.totals;
    TotalsJson {
        whole_ms: totals.whole.ms(),
        training_ms: totals.training.ms(),
        work_ms: totals.work.ms(),
        rest_ms: totals.rest.ms(),
        works: totals.works,
        rests: totals.rests,
        work_to_rest: totals.work_to_rest().map(|r| rounded(r, 100.0)),
    }
}

fn fit(fit: &Fit) -> FitJson<'_> {
    let before = fit.before.as_ref();
    FitJson {
        kind: fit.kind.word(),
        at_ms: fit.at.ms(),
        rest_ms: fit.rest.ms(),
        added_ms: fit.added.ms(),
        before: before.map(|(name, _)| name.as_str()),
        side: before.and_then(|(_, side)| side.map(|s| s.id())),
        changes: fit.changes,
        needed_ms: fit.needed.ms(),
        free_ms: fit.free.ms(),
        spare_ms: fit.spare().ms(),
        in_work_before: fit.in_work_before,
        smallest_ms: fit.smallest.map(|s| s.ms()),
    }
}

fn counts(report: &Report) -> CountsJson {
    let counts = &report.counts;
    let patterns = counts.patterns.iter().map(|(pattern, works)| PatternJson {
        pattern: pattern.word(),
        works: *works,
    });
    CountsJson {
        patterns: patterns.collect(),
        impact: counts.impact,
        overhead: counts.overhead,
        held_still: counts.held_still,
        right: counts.right,
        left: counts.left,
        both: counts.both,
        alternate: counts.alternate,
    }
}

fn balance(report: &Report) -> BalanceJson<'_> {
    let uneven = report.balance.uneven.iter();
    let uneven = uneven.map(|(movement, right, left)| UnevenJson {
        movement,
        right_ms: right.ms(),
        left_ms: left.ms(),
    });
    BalanceJson {
        right_ms: report.balance.right.ms(),
        left_ms: report.balance.left.ms(),
        uneven: uneven.collect(),
    }
}

fn energy(report: &Report) -> EnergyJson {
    let parts = report.energy.parts.iter().map(|part| EnergyPartJson {
        code: part.activity.code,
        activity: part.activity.name,
        met: part.activity.met(),
        time_ms: part.time.ms(),
        kcal: rounded(part.kcal, 10.0),
    });
    EnergyJson {
        estimate: true,
        kcal: rounded(report.energy.kcal(), 10.0),
        mass_kg: report.energy.mass.kg(),
        formula: FORMULA,
        source: COMPENDIUM,
        parts: parts.collect(),
    }
}

fn rounded(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts
}
