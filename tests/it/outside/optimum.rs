//! Every stretch is the best that its model allows: an outside solver (CP-SAT of ortools, PyPI) builds the
//! model anew from `--format problem` and proves the optimum.

use std::io::Write;
use std::process::Command;
use std::process::Stdio;

use proptest::strategy::Strategy;
use proptest::strategy::ValueTree;
use serde::Deserialize;
use serde_json::Value;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Library;
use sidevoice::planning::session::Session;
use sidevoice::planning::session::When;
use sidevoice::publish;

use super::program::Ground;
use super::program::done;
use super::texts;
use crate::common::Voice;
use crate::common::python;
use crate::common::starter;
use crate::common::tabled_plan;
use crate::open_data;
use crate::random;
use crate::random::sessions;
use crate::solver::many_cues;

/// Below so many cues a movement, nothing may be left unproven.
const FEW_CUES: usize = 20;

/// What the outside solver says of a stretch.
#[derive(Debug, Deserialize)]
struct Proof {
    document: usize,
    stretch: usize,
    status: String,
    optimum: Option<i64>,
    chosen: i64,
    faults: Vec<String>,
}

/// A problem document, with what is not in it: where it comes from and how many cues the movement of
/// each stretch has.
struct Document {
    label: String,
    problem: Value,
    cues: Vec<usize>,
}

impl Document {
    fn new(label: String, plan: &Plan, session: &Session) -> Self {
        let text = publish::problem::problem(plan);
        let timeline = &plan.timeline;
        let cues = timeline.stretches.iter().map(|stretch| {
            let work = stretch.work.and_then(|w| timeline.segments[w].work);
            work.map_or(0, |work| {
                let used = timeline.works[work].movement_use(session);
                session.movement(used).cues.len() + used.cues.len()
            })
        });
        Self {
            label,
            cues: cues.collect(),
            problem: serde_json::from_str(&text).unwrap(),
        }
    }

    fn proven(&self, stretch: usize) -> bool {
        self.problem["stretches"][stretch]["proven"]
            .as_bool()
            .unwrap()
    }
}

/// Has every stretch of the documents proved.
fn prove<'d>(documents: impl Iterator<Item = &'d Value>) -> Vec<Proof> {
    let script = crate::common::root().join("tests/reference/prove.py");
    let mut child = Command::new(python())
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    for document in documents {
        writeln!(stdin, "{document}").unwrap();
    }
    drop(stdin);
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "the outside solver failed");
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

/// Returns what is wrong with a stretch, if the proof says so.
fn wrong(proof: &Proof, document: &Document) -> Option<String> {
    let cues = document.cues[proof.stretch];
    let best = proof.optimum.filter(|_| proof.status == "optimal");
    let good = match best {
        None => false,
        Some(best) if document.proven(proof.stretch) => proof.chosen == best,
        // Found good and said to be no more than that.
        Some(best) => proof.chosen <= best && cues >= FEW_CUES,
    };
    let why = format!(
        "{}, proven: {}, {cues} cues: {proof:?}",
        document.label,
        document.proven(proof.stretch)
    );
    (!good || !proof.faults.is_empty()).then_some(why)
}

fn all_are_optimal(documents: &[Document]) {
    let proofs = prove(documents.iter().map(|d| &d.problem));
    let stretches: Vec<_> = documents
        .iter()
        .enumerate()
        .flat_map(|(at, d)| (0..d.cues.len()).map(move |s| (at, s)))
        .collect();
    let proved: Vec<_> = proofs.iter().map(|p| (p.document, p.stretch)).collect();
    assert_eq!(proved, stretches);
    let wrong: Vec<_> = proofs
        .iter()
        .filter_map(|proof| wrong(proof, &documents[proof.document]))
        .collect();
    let of = proofs.len();
    println!("{} of {of} stretches are optimal", of - wrong.len());
    assert!(
        wrong.is_empty(),
        "{} of {of}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// So many sessions made from a library, the same ones each time, in voices of uneven lengths.
fn generated(name: &str, library: &'static Library, number: u32) -> Vec<Document> {
    let mut runner = random::fixed(number);
    let strategy = sessions::whole_session(library);
    let document = |seed: u32| {
        let text = strategy.new_tree(&mut runner).unwrap().current();
        let session = sessions::session(&text, library);
        let plan = sessions::plan(&session, CautionLength::Full, Voice::Uneven(seed.into()));
        Document::new(format!("{name} {seed}\n{text}"), &plan, &session)
    };
    (0..number).map(document).collect()
}

#[test]
fn every_stretch_of_the_starter_sessions_is_optimal() {
    let ground = Ground::new();
    let mut documents = Vec::new();
    for id in texts::stems("sessions") {
        let session = starter(&id);
        let mut plans = vec![tabled_plan(&session)];
        plans.extend(
            [1, 2]
                .map(Voice::Uneven)
                .map(|voice| sessions::plan(&session, CautionLength::Brief, voice)),
        );
        for plan in &plans {
            documents.push(Document::new(id.clone(), plan, &session));
        }
        // The same as the program itself writes it, with lengths that were spoken.
        let spoken = ground.start("cache", "plan", &id, "compact", &["--format", "problem"]);
        documents.push(Document {
            problem: serde_json::from_str(&done(spoken)).unwrap(),
            ..Document::new(format!("{id}, spoken"), &plans[0], &session)
        });
    }
    all_are_optimal(&documents);
}

#[test]
fn every_stretch_of_a_hundred_generated_sessions_is_optimal() {
    all_are_optimal(&generated("generated", &random::LIBRARY, 100));
}

#[test]
fn every_stretch_of_sessions_from_open_data_is_optimal() {
    let mut documents = generated("open data", &open_data::LIBRARY, 60);
    for id in open_data::LIBRARY.keys() {
        let session = sessions::session(&open_data::alone(id), &open_data::LIBRARY);
        let plan = sessions::plan(&session, CautionLength::Full, Voice::Uneven(1));
        documents.push(Document::new(id.clone(), &plan, &session));
    }
    all_are_optimal(&documents);
}

#[test]
fn every_stretch_of_movements_with_many_cues_is_optimal() {
    let mut documents = Vec::new();
    for (cues, when) in [
        (19, None),
        (19, Some(When::During)),
        (8, Some(When::Either)),
    ] {
        for rest in [10, 25, 45, 90] {
            let session = many_cues(cues, when, rest);
            let label = format!("{cues} cues {when:?}, rests of {rest} s");
            documents.push(Document::new(label, &tabled_plan(&session), &session));
        }
    }
    all_are_optimal(&documents);
}

#[test]
fn a_choice_that_is_not_the_best_or_breaks_the_model_is_found_out() {
    let session = starter("boathouse-five");
    let sound = Document::new(String::new(), &tabled_plan(&session), &session);
    // The last line of a stretch is left out, its price made up, its start put before its window.
    let changes: [fn(&mut Value); 3] = [
        |stretch| {
            stretch["chosen"].as_array_mut().unwrap().pop();
        },
        |stretch| stretch["lines"][0]["choices"][0]["value"] = 1.into(),
        |stretch| stretch["chosen"][0]["start_ms"] = 0.into(),
    ];
    for change in changes {
        let mut document = Document {
            label: String::new(),
            problem: sound.problem.clone(),
            cues: sound.cues.clone(),
        };
        change(&mut document.problem["stretches"][1]);
        let proofs = prove([&document.problem].into_iter());
        let found = proofs.iter().filter(|p| wrong(p, &document).is_some());
        let found: Vec<_> = found.map(|p| p.stretch).collect();
        assert_eq!(found, [1]);
    }
}
