//! What several tests share: lengths from a table instead of a voice, the starter folder.

use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Utterance;
use sidevoice::base::wording::Wording;
use sidevoice::compile;
use sidevoice::folder::Folder;
use sidevoice::planning::plan::Durations;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Session;
use std::path::Path;

/// Lengths by the number of words, at 2.6 words a second: no engine, the same everywhere.
pub struct Tabled;

impl Durations for Tabled {
    fn estimate(&self, utterance: &Utterance) -> Millis {
        let words = utterance.text.split([' ', '-']).count() as i64;
        Millis::from_ms(words * 1_000_000 / 2600 * 1000 / i64::from(utterance.rate.per_mille()))
    }

    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        wanted.iter().map(|u| Some(self.estimate(u))).collect()
    }
}

/// Reads a session of the starter folder.
pub fn starter(id: &str) -> Session {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/starter");
    let file = root.join("sessions").join(format!("{id}.toml"));
    let loaded = Folder::at(root).load(&file);
    assert!(loaded.diagnostics.is_empty(), "{:#?}", loaded.diagnostics);
    loaded.session.expect("the starter's sessions are sound")
}

/// Plans a session with tabled lengths.
pub fn tabled_plan(session: &Session) -> Plan {
    let wording = Wording::english();
    let settings = compile::settings("tabled", CautionLength::Full);
    Planner::new(session, &wording, settings, &mut Tabled).finish(&mut Tabled)
}
