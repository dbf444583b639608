//! Parses the command line, calls `cli`, exits with its code.
use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Utterance;
struct Tabled;
impl sidevoice::planning::plan::Durations for Tabled {
    fn estimate(&self, u: &Utterance) -> Millis {
        let words = u.text.split([' ', '-']).count() as i64;
        Millis::from_ms(words * 1_000_000 / 2600 * 1000 / u.rate.per_mille() as i64)
    }
    fn measure(&mut self, w: &[Utterance]) -> Vec<Option<Millis>> {
        w.iter().map(|u| Some(self.estimate(u))).collect()
    }
}
fn main() {
    use sidevoice::planning::plan::*;
    let a = std::env::args().nth(1).unwrap();
    let (f, p) = sidevoice::folder::Folder::of_session(&a, std::path::Path::new("."));
    let l = f.load(&p);
    print!(
        "{}",
        sidevoice::base::diagnostic::render(
            &l.diagnostics,
            &l.sources,
            sidevoice::base::diagnostic::Style::Marked { colour: false }
        )
    );
    let Some(s) = l.session else { return };
    let w = sidevoice::base::wording::Wording::english();
    let pl = Planner::new(
        &s,
        &w,
        Settings {
            voice: "tabled".into(),
            caution: Default::default(),
            tones: ToneLengths {
                start: Millis::from_ms(200),
                end: Millis::from_ms(300),
            },
        },
        &mut Tabled,
    );
    let plan = pl.finish(&mut Tabled);
    if std::env::args().nth(2).as_deref() == Some("problem") {
        print!("{}", sidevoice::publish::problem::problem(&plan));
    } else {
        print!("{}", sidevoice::publish::text::text(&plan, &s));
    }
    println!(
        "{}",
        sidevoice::base::diagnostic::render(
            &plan.diagnostics,
            &l.sources,
            sidevoice::base::diagnostic::Style::Marked { colour: false }
        )
    );
}
