//! The figures of a report: sums, sides, energy, against the files and published values.

use super::report;
use super::session;
use crate::common;
use sidevoice::base::units::Millis;
use sidevoice::planning::advice::Kilograms;
use sidevoice::planning::advice::outside_published_ratios;
use sidevoice::planning::session::Pattern;
use sidevoice::publish::check;
use sidevoice::publish::check::Form;

#[test]
fn boathouse_five_adds_up() {
    // Two rounds of six works of 20 s, rests of 10 s, one of 30 s between the rounds.
    let report = report(&common::starter("boathouse-five"));
    let totals = report.totals;
    assert_eq!((totals.works, totals.rests), (12, 11));
    assert_eq!(totals.work, Millis::from_secs(240));
    assert_eq!(totals.rest, Millis::from_secs(130));
    assert_eq!(totals.training, Millis::from_secs(370));
    assert!((totals.work_to_rest().unwrap() - 240.0 / 130.0).abs() < 1e-9);
    let works: usize = report.counts.patterns.iter().map(|(_, n)| n).sum();
    assert_eq!(works, 12);
    assert!(report.counts.patterns.contains(&(Pattern::Pull, 4)));
    assert_eq!(
        (report.counts.right, report.counts.left, report.counts.both),
        (2, 2, 8)
    );
    assert_eq!((report.counts.overhead, report.counts.impact), (2, 0));
    let balance = &report.balance;
    assert_eq!(
        (balance.right, balance.left),
        (Millis::from_secs(40), Millis::from_secs(40))
    );
    assert!(balance.uneven.is_empty());
    let ready: Vec<_> = report
        .ready
        .iter()
        .map(|r| (r.item.as_str(), r.count, r.load.as_deref()))
        .collect();
    assert_eq!(ready, [("bench", 1, None), ("dumbbell", 1, Some("6 kg"))]);
    // Effort 7 of ten: circuit, vigorous, 7.5 MET (2024 Adult Compendium, 02040, R), at 70 kg for
    // 370 s: 7.5 x 3.5 x 70 / 200 x 370 / 60.
    assert_eq!(report.energy.parts.len(), 1);
    assert_eq!(report.energy.parts[0].activity.code, "02040");
    assert!(
        (report.energy.kcal() - 56.656_25).abs() < 1e-6,
        "{}",
        report.energy.kcal()
    );
}

#[test]
fn the_kind_of_a_block_chooses_its_activity() {
    let block =
        |head: &str, moves: &str| format!("[[block]]\nrounds = 2\n{head}movements = [{moves}]\n");
    let codes = |effort: u8, blocks: &str| {
        let text = format!("title = \"Outing\"\neffort = {effort}\n{blocks}");
        let (session, _) = session(&text, &[]);
        let energy = report(&session).energy;
        energy
            .parts
            .iter()
            .map(|p| p.activity.code)
            .collect::<Vec<_>>()
    };
    let circuit = block(
        "work = \"30s\"\nrest = \"15s\"\n",
        "\"squat\", \"press-up\"",
    );
    // Codes of the 2024 Adult Compendium (R): circuit training light, moderate, vigorous.
    for (effort, code) in [
        (1, "02034"),
        (3, "02034"),
        (4, "02035"),
        (6, "02035"),
        (7, "02040"),
        (10, "02040"),
    ] {
        assert_eq!(codes(effort, &circuit), [code], "effort {effort}");
    }
    let sets = block(
        "work = \"40s\"\nrest = \"90s\"\n",
        "\"goblet-squat\", \"one-arm-row\"",
    );
    assert_eq!(codes(6, &sets), ["02054"]);
    assert_eq!(codes(8, &sets), ["02050"]);
    let mobility = block("work = \"30s\"\nrest = \"15s\"\n", "\"shoulder-roll\"");
    assert_eq!(codes(3, &mobility), ["02101"]);
    let warm = circuit.replace("[[block]]", "[[block]]\npart = \"warm-up\"");
    assert_eq!(
        codes(8, &format!("{warm}{circuit}{warm}")),
        ["02024", "02040"]
    );
}

#[test]
fn energy_grows_with_the_mass() {
    let session = common::starter("ladder");
    let plan = common::tabled_plan(&session);
    let kcal = |kg: f64| {
        let mass = Kilograms::new(kg);
        sidevoice::planning::advice::report(&session, &plan, mass)
            .energy
            .kcal()
    };
    assert!((kcal(140.0) - 2.0 * kcal(70.0)).abs() < 1e-9);
}

#[test]
fn published_protocols_are_not_outside_what_was_published() {
    // Work and rest of one set, s: Tabata et al. 1996 (R2); Klika & Jordan 2013 (R2); Hov et al.
    // 2022, 4x4 min, 8x20 s, 10x30 s (R); Gibala (M); BMJ Open Sport & Exercise Medicine, table 1 (R).
    let sets = [
        (20, 10),
        (30, 10),
        (240, 180),
        (20, 10),
        (30, 210),
        (60, 60),
        (60, 180),
        (300, 180),
    ];
    for (work, rest) in sets {
        let (work, rest) = (Millis::from_secs(work), Millis::from_secs(rest));
        assert!(!outside_published_ratios(work, rest), "{work} to {rest}");
    }
    for (work, rest) in [(31, 10), (30, 211), (20, 0)] {
        let (work, rest) = (Millis::from_secs(work), Millis::from_secs(rest));
        assert!(outside_published_ratios(work, rest), "{work} to {rest}");
    }
}

#[test]
fn a_tempo_as_fast_as_possible_is_noted() {
    // X counts as one second (common practice): 2 + 0 + 1 + 0.
    let jump = "name = \"stern lift\"\npattern = \"hinge\"\nstart = \"Stand tall.\"\n\
                how = [\"Tip, then stand.\"]\ntempo = \"2-0-X-0\"\nbegins = \"lowering\"\n";
    let text = "title = \"Outing\"\n[[block]]\nwork = \"20s\"\nmovements = [\"stern-lift\"]\n";
    let (session, _) = session(text, &[("stern-lift", jump)]);
    let notes = report(&session).notes;
    assert_eq!(
        notes[0],
        "in the tempo of stern lift, X counts as 1 s: a repetition takes 3s"
    );
}

#[test]
fn the_table_lines_up_and_the_sentences_say_the_same() {
    let report = report(&common::starter("boathouse-five"));
    let table = check::session(&report, None, Form::Table);
    let rows: Vec<_> = table
        .lines()
        .skip_while(|l| !l.trim_start().starts_with("at "))
        .collect();
    let before = rows[0].find("before").unwrap();
    for (row, fit) in rows[1..].iter().zip(&report.fit) {
        let name = fit.before.as_ref().map_or("the end", |(name, _)| name);
        assert!(row[before..].starts_with(name), "{row}");
    }
    let said = check::session(&report, None, Form::Sentences);
    let sentences = said.lines().filter(|line| line.starts_with("At "));
    assert_eq!(sentences.count(), report.fit.len());
    assert!(said.lines().all(|line| !line.contains("  ")), "{said}");
}
