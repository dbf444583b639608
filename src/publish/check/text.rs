//! Reports as a coach reads them: aligned text or, for the ear, sentences.

use super::super::Speaking;
use super::Checked;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Level;
use crate::base::diagnostic::short;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::advice::A_CHANGE;
use crate::planning::advice::COMPENDIUM;
use crate::planning::advice::FORMULA;
use crate::planning::advice::Fit;
use crate::planning::advice::ReadyItem;
use crate::planning::advice::Report;
use crate::planning::advice::Totals;
use crate::planning::timeline::SegmentKind;

/// How reports are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Columns.
    Table,
    /// A sentence for each row.
    Sentences,
}

/// Writes all that there is to know of a session.
pub fn session(report: &Report, speaking: Option<Speaking>, form: Form) -> String {
    let mut out = format!("{}\n\n", report.title);
    for (head, lines) in [
        ("Time", time(&report.totals)),
        ("Works", works(report)),
        ("Sides", sides(report)),
        ("Ready", vec![ready(&report.ready)]),
        ("Energy", energy(report)),
        (
            "Notes",
            report.notes.iter().map(|n| capitalised(n) + ".").collect(),
        ),
    ] {
        for (at, line) in lines.iter().enumerate() {
            out += &match form {
                Form::Table if at == 0 => format!("{head:<8}{line}\n"),
                Form::Table => format!("{:<8}{line}\n", ""),
                Form::Sentences => format!("{head}: {line}\n"),
            };
        }
    }
    let voice = match (speaking, report.voice.as_str()) {
        (Some(who), name) => {
            format!("{name}, who speaks {} words a minute", who.words_a_minute)
        }
        (None, "") => "the slowest voice".to_owned(),
        (None, name) => format!("the voice {name}"),
    };
    out += &format!(
        "\nRests: the words that must be said, by the lengths of {voice}; the time free for \
         them;\nand the least that holds all that should be heard there in full, with {A_CHANGE} \
         for each change\nof equipment, hold or posture (common practice).\n"
    );
    out += &match form {
        Form::Table => table(&report.fit),
        Form::Sentences => report.fit.iter().map(sentence).collect(),
    };
    out + "\n"
}

fn time(totals: &Totals) -> Vec<String> {
    vec![
        format!(
            "{} in all, {} without lead-in and finish",
            clock(totals.whole),
            clock(totals.training)
        ),
        format!(
            "{} of work in {}, {} of rest in {}; work to rest {}",
            clock(totals.work),
            many(totals.works, "work", "works"),
            clock(totals.rest),
            many(totals.rests, "rest", "rests"),
            ratio(totals)
        ),
    ]
}

fn ratio(totals: &Totals) -> String {
    match totals.work_to_rest() {
        None => "without rest".to_owned(),
        Some(ratio) if ratio >= 1.0 => format!("{ratio:.1} to 1"),
        Some(0.0) => "0 to 1".to_owned(),
        Some(ratio) => format!("1 to {:.1}", 1.0 / ratio),
    }
}

fn works(report: &Report) -> Vec<String> {
    let counts = &report.counts;
    let patterns = counts.patterns.iter();
    let patterns = patterns.map(|(pattern, works)| format!("{} {works}", pattern.word()));
    let demands = [
        ("impact", counts.impact),
        ("overhead", counts.overhead),
        ("static", counts.held_still),
    ];
    vec![patterns.collect::<Vec<_>>().join(", "), counted(&demands)]
}

fn sides(report: &Report) -> Vec<String> {
    let counts = &report.counts;
    let works = counted(&[
        ("right", counts.right),
        ("left", counts.left),
        ("both", counts.both),
        ("alternate", counts.alternate),
    ]);
    let balance = &report.balance;
    let mut lines = vec![works];
    if counts.right + counts.left > 0 {
        lines.push(format!(
            "{} right, {} left",
            clock(balance.right),
            clock(balance.left)
        ));
    }
    let uneven = balance.uneven.iter();
    lines.extend(uneven.map(|(name, right, left)| {
        format!("{name}: {} right, {} left", clock(*right), clock(*left))
    }));
    lines
}

fn counted(counts: &[(&str, usize)]) -> String {
    let each = counts.iter().map(|(name, n)| format!("{name} {n}"));
    each.collect::<Vec<_>>().join(", ")
}

fn ready(items: &[ReadyItem]) -> String {
    let of = |item: &ReadyItem| {
        let load = item.load.as_ref();
        let load = load.map_or(String::new(), |load| format!(" of {load}"));
        format!("{}, {}{load}", item.item, item.count)
    };
    match items {
        [] => "nothing".to_owned(),
        items => items.iter().map(of).collect::<Vec<_>>().join("; "),
    }
}

fn energy(report: &Report) -> Vec<String> {
    let energy = &report.energy;
    let mut lines = vec![format!(
        "about {:.0} kcal at {} kg, an estimate: {FORMULA}",
        energy.kcal(),
        energy.mass.kg()
    )];
    lines.extend(energy.parts.iter().map(|part| {
        format!(
            "{:.0} kcal in {} as {}, code {}, {:.1} MET",
            part.kcal,
            clock(part.time),
            part.activity.name,
            part.activity.code,
            part.activity.met()
        )
    }));
    lines.push(COMPENDIUM.to_owned());
    lines
}

/// Writes the rows in columns, numbers to the right.
fn table(rows: &[Fit]) -> String {
    let heads = [
        "at", "rest", "before", "words", "free", "", "changes", "in full",
    ];
    let left = [false, false, true, false, false, true, false, false];
    let cells: Vec<[String; 8]> = rows.iter().map(cells).collect();
    let width = |at: usize| {
        let all = cells.iter().map(|row| row[at].chars().count());
        all.chain([heads[at].len()]).max().unwrap_or(0)
    };
    let widths: Vec<_> = (0..heads.len()).map(width).collect();
    let line = |row: &[String; 8]| {
        let mut out = String::new();
        for (at, cell) in row.iter().enumerate() {
            let width = widths[at];
            out += "  ";
            out += &match left[at] {
                true => format!("{cell:<width$}"),
                false => format!("{cell:>width$}"),
            };
        }
        out.trim_end().to_owned() + "\n"
    };
    let head = line(&heads.map(str::to_owned));
    head + &cells.iter().map(line).collect::<String>()
}

fn cells(fit: &Fit) -> [String; 8] {
    let added = match fit.added {
        Millis::ZERO => String::new(),
        added => format!(" (+{added})"),
    };
    let in_full = match fit.smallest {
        Some(smallest) => smallest.to_string(),
        None if fit.before.is_some() => "no rest".to_owned(),
        None => String::new(),
    };
    [
        fit.at.to_string(),
        format!("{}{added}", fit.rest),
        before(fit),
        format!("{:.1} s", fit.needed.secs()),
        format!("{:.1} s", fit.free.secs()),
        spare(fit),
        fit.changes.to_string(),
        in_full,
    ]
}

fn before(fit: &Fit) -> String {
    match &fit.before {
        Some((name, None)) => short(name),
        Some((name, Some(side))) => format!("{}, {}", short(name), side.id()),
        // The session begins with a key: this is what comes before it.
        None if fit.kind == SegmentKind::LeadIn => "the key".to_owned(),
        None => "the end".to_owned(),
    }
}

fn spare(fit: &Fit) -> String {
    let spare = fit.spare();
    let place = if fit.in_work_before {
        ", said in the work before"
    } else {
        ""
    };
    if spare >= Millis::ZERO {
        format!("{:.1} s to spare{place}", spare.secs())
    } else {
        // Rounded up: what lacks a little does not lack nothing.
        let tenths = (-spare.ms() + 99) / 100;
        format!("lacks {:.1} s{place}", tenths as f64 / 10.0)
    }
}

fn sentence(fit: &Fit) -> String {
    let what = match (fit.kind, fit.rest) {
        (SegmentKind::Rest, Millis::ZERO) => "no rest".to_owned(),
        (SegmentKind::Rest, rest) => format!("a rest of {rest}"),
        (kind, rest) => format!("the {} of {rest}", kind.word()),
    };
    let added = match fit.added {
        Millis::ZERO => String::new(),
        added => format!(", {added} of it added"),
    };
    let changes = match fit.changes {
        0 => String::new(),
        n => format!(" with {}", many(n, "change", "changes")),
    };
    let in_full = match fit.smallest {
        Some(smallest) => format!(" All in full{changes} takes {smallest}."),
        None if fit.before.is_some() => " No rest would hold all in full.".to_owned(),
        None => String::new(),
    };
    format!(
        "At {}, {what}{added} before {}: {:.1} s of words, {:.1} s free, {}.{in_full}\n",
        fit.at,
        before(fit),
        fit.needed.secs(),
        fit.free.secs(),
        spare(fit)
    )
}

/// Writes a line a session, and what they come to.
pub fn folder(sessions: &[Checked]) -> String {
    let line = |checked: &Checked| {
        let report = &checked.report;
        let lacks = |d: &&Diagnostic| matches!(d.code, Code::MustTooLong | Code::MustMayNotFit);
        let lacking = checked.told.iter().filter(lacks).count();
        let lacking = match lacking {
            0 => String::new(),
            n => format!(
                "; {} too short for the words",
                many(n, "rest is", "rests are")
            ),
        };
        let told = match checked.told.len() {
            0 => String::new(),
            n => format!("; {} to look at", many(n, "thing", "things")),
        };
        format!(
            "{}: {} in all, {} of work, {} of rest ({}), about {:.0} kcal{lacking}{told}.\n",
            checked.id,
            clock(report.totals.whole),
            clock(report.totals.work),
            clock(report.totals.rest),
            ratio(&report.totals),
            report.energy.kcal()
        )
    };
    let each: String = sessions.iter().map(line).collect();
    let sum = |of: fn(&Totals) -> Millis| -> Millis {
        sessions.iter().map(|s| of(&s.report.totals)).sum()
    };
    let kcal: f64 = sessions.iter().map(|s| s.report.energy.kcal()).sum();
    let mass = sessions.first().map_or(String::new(), |first| {
        format!(" at {} kg", first.report.energy.mass.kg())
    });
    each + &format!(
        "Together: {} in all, {} of work, {} of rest, about {kcal:.0} kcal{mass} (an estimate).\n",
        clock(sum(|t| t.whole)),
        clock(sum(|t| t.work)),
        clock(sum(|t| t.rest))
    )
}

/// Writes how many sessions are in order and how much was said of them.
pub fn summary(sessions: usize, diagnostics: &[Diagnostic]) -> String {
    let count = |level| diagnostics.iter().filter(|d| d.level == level).count();
    format!(
        "{} in order; {}, {}, {}.\n",
        many(sessions, "session", "sessions"),
        many(count(Level::Error), "error", "errors"),
        many(count(Level::Warning), "warning", "warnings"),
        many(count(Level::Advice), "piece of advice", "pieces of advice"),
    )
}

fn many(n: usize, one: &str, more: &str) -> String {
    match n {
        1 => format!("1 {one}"),
        n => format!("{n} {more}"),
    }
}

fn clock(length: Millis) -> At {
    At::START + length
}

fn capitalised(text: &str) -> String {
    crate::planning::session::capitalised(text)
}
