//! What is heard at each step of help, and what comes after what.

use crate::common::starter;
use crate::common::tabled_plan;
use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::planning::plan::Plan;
use sidevoice::rehearse::practice::Cue;
use sidevoice::rehearse::practice::Effect;
use sidevoice::rehearse::practice::Event;
use sidevoice::rehearse::practice::Help;
use sidevoice::rehearse::practice::Pass;
use sidevoice::rehearse::practice::Practice;
use sidevoice::rehearse::practice::RUN_UP;
use sidevoice::rehearse::practice::Score;
use sidevoice::rehearse::practice::Wish;
use sidevoice::rehearse::practice::is_mark;
use std::collections::HashSet;

fn plan() -> Plan {
    tabled_plan(&starter("boathouse-five"))
}

/// A third of a second a word.
fn score(plan: &Plan) -> Score {
    Score::new(plan, &mut |text| {
        Millis::from_ms(333 * text.split_whitespace().count() as i64)
    })
}

fn pass(passage: usize, help: Help, shown: bool) -> Pass {
    Pass {
        passage,
        help,
        shown,
    }
}

#[test]
fn a_passage_is_heard_whole_and_then_with_its_marks_alone() {
    let plan = plan();
    let score = score(&plan);
    let mut heard = HashSet::new();
    for at in 0..score.passages.len() {
        let passage = score.passages[at];
        let whole = score.cues(pass(at, Help::Whole, true));
        let own = score.cues(pass(at, Help::Whole, false));
        for cue in &whole {
            let Cue::Planned(sound) = cue else {
                panic!("no prompt where all is heard");
            };
            heard.insert(*sound);
            assert_eq!(own.contains(cue), is_mark(&score.sounds[*sound]));
        }
        assert!(own.iter().all(|cue| whole.contains(cue)));
        // The count and the tone that end the work before are its run-up.
        assert!(
            whole
                .iter()
                .all(|cue| score.times(*cue).0 >= passage.start - RUN_UP)
        );
    }
    assert_eq!(heard.len(), plan.sounds.len(), "all of the plan is heard");
}

#[test]
fn prompts_are_over_in_time_and_clear_of_marks() {
    let plan = plan();
    let score = score(&plan);
    let lines = score.sounds.iter().filter(|s| !is_mark(s)).count();
    let prompts = score.prompts_of(Help::FirstWords);
    assert!(
        prompts.len() * 10 >= lines * 9,
        "{} prompts for {lines} lines",
        prompts.len()
    );
    let marks: Vec<_> = score.sounds.iter().filter(|s| is_mark(s)).collect();
    for (nth, prompt) in prompts.iter().enumerate() {
        let line = &score.sounds[prompt.line];
        assert!(line.text.starts_with(&prompt.text));
        assert!(prompt.end <= line.onset - Millis::from_ms(300));
        let clear = |from: At, to: At| {
            let apart = Millis::from_ms(150);
            prompt.end + apart <= from || to + apart <= prompt.onset
        };
        for mark in &marks {
            assert!(clear(mark.onset, mark.end), "{prompt:?} over {mark:?}");
        }
        for other in &prompts[nth + 1..] {
            assert!(clear(other.onset, other.end), "{prompt:?} over {other:?}");
        }
    }
    let names = score.prompts_of(Help::Name);
    assert_eq!(
        names.len(),
        plan.timeline.works.len(),
        "one for each work: {names:#?}"
    );
}

/// Plays a rehearsal: the clock goes on by 20 ms a step; verbs come at times of the player.
struct Player {
    practice: Practice,
    score: Score,
    at: At,
    held: bool,
    /// What was begun, and every sound fed with the pass it was for.
    begun: Vec<Pass>,
    fed: Vec<(Pass, Cue)>,
    over: bool,
}

impl Player {
    fn new(help: Help) -> Player {
        let score = score(&plan());
        let (practice, effects) = Practice::new(&score, 0, help);
        let mut player = Player {
            practice,
            score,
            at: At::START,
            held: true,
            begun: Vec::new(),
            fed: Vec::new(),
            over: false,
        };
        player.carry_out(effects);
        player
    }

    fn carry_out(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            match effect {
                Effect::Begin(pass) => {
                    self.at = self.score.begins(pass.passage);
                    self.held = false;
                    self.feed(pass);
                }
                Effect::Instead(pass, _) | Effect::Follow(pass) => self.feed(pass),
                Effect::Began(pass) => self.begun.push(pass),
                Effect::Hold => self.held = true,
                Effect::End => self.over = true,
                _ => {}
            }
        }
    }

    fn feed(&mut self, pass: Pass) {
        let cues = self.score.cues(pass);
        self.fed.extend(cues.into_iter().map(|cue| (pass, cue)));
    }

    fn tell(&mut self, wish: Wish) {
        let effects = self.practice.step(Event::Told(wish));
        self.carry_out(effects);
    }

    fn run(&mut self, length: Millis) {
        let steps = length.ms() / 20;
        for _ in 0..steps {
            if self.over {
                return;
            }
            if !self.held {
                self.at += Millis::from_ms(20);
            }
            let effects = self.practice.step(Event::Clock(self.at));
            self.carry_out(effects);
        }
    }
}

const LONG: Millis = Millis::from_secs(3600);

#[test]
fn with_whole_help_each_passage_is_heard_and_then_the_coach_s() {
    let mut player = Player::new(Help::Whole);
    player.run(LONG);
    assert!(player.over);
    let expected: Vec<_> = (0..player.score.passages.len())
        .flat_map(|at| [pass(at, Help::Whole, true), pass(at, Help::Whole, false)])
        .collect();
    assert_eq!(player.begun, expected);
}

#[test]
fn with_marks_alone_the_class_runs_through_on_its_beat() {
    let mut player = Player::new(Help::Marks);
    player.run(LONG);
    assert!(player.over);
    let expected: Vec<_> = (0..player.score.passages.len())
        .map(|at| pass(at, Help::Marks, false))
        .collect();
    assert_eq!(player.begun, expected);
    let fed: HashSet<_> = player.fed.iter().map(|(_, cue)| *cue).collect();
    let marks = player.score.sounds.iter().filter(|s| is_mark(s)).count();
    assert_eq!(fed.len(), marks, "every mark and no line");
}

#[test]
fn keys_loop_a_passage_change_the_help_and_go_on_and_back() {
    let mut player = Player::new(Help::Marks);
    player.run(Millis::from_secs(8));
    player.tell(Wish::Next);
    player.run(Millis::from_secs(8));
    assert_eq!(player.practice.pass(), pass(1, Help::Marks, false));
    player.tell(Wish::Loop);
    player.run(Millis::from_secs(600));
    let ones = player.begun.iter().filter(|pass| pass.passage == 1).count();
    assert!(ones >= 5, "{:?}", player.begun);
    assert_eq!(player.practice.pass().passage, 1);
    player.tell(Wish::Loop);
    player.tell(Wish::MoreHelp);
    assert_eq!(player.practice.pass(), pass(1, Help::Name, false));
    player.run(Millis::from_secs(120));
    assert!(player.practice.pass().passage > 1);
    player.tell(Wish::Back);
    player.tell(Wish::Back);
    let here = player.practice.pass().passage;
    player.tell(Wish::Pause);
    player.run(Millis::from_secs(600));
    assert_eq!(player.practice.pass().passage, here, "the clock stands");
    player.tell(Wish::PauseOrGoOn);
    player.tell(Wish::Hear);
    assert!(player.practice.pass().shown);
    player.tell(Wish::MoreHelp);
    player.tell(Wish::MoreHelp);
    player.tell(Wish::Next);
    assert_eq!(player.practice.pass(), pass(here + 1, Help::Whole, true));
    player.tell(Wish::End);
    assert!(player.over);
    player.tell(Wish::Next);
    player.run(Millis::from_secs(5));
}

#[test]
fn a_slower_class_has_longer_rests_and_the_same_works() {
    let head = "title = \"Short\"\nlead_in = \"30s\"\n[[block]]\nwork = \"20s\"\nrounds = 2\n";
    let uses = "movements = [\"bench-squat\", { use = \"hip-hinge\", work = \"24s\" }]\n";
    let lengths = |times: &str, pace| {
        let mut session = crate::common::boathouse_session(&format!("{head}{times}{uses}"));
        sidevoice::rehearse::practice::slow_down(&mut session, pace);
        let plan = tabled_plan(&session);
        let segments = plan.timeline.segments.iter();
        segments.map(|s| s.length().ms() / 1000).collect::<Vec<_>>()[..7].to_vec()
    };
    let written = "rest = \"12s\"\nbetween_rounds = \"16s\"\n";
    assert_eq!(lengths(written, 1.0), [30, 20, 12, 24, 16, 20, 12]);
    assert_eq!(lengths(written, 0.8), [37, 20, 15, 24, 20, 20, 15]);
    let every = "every = \"40s\"\n";
    assert_eq!(lengths(every, 1.0), [30, 20, 20, 24, 16, 20, 20]);
    // The minute is four seconds longer: a quarter of the 16 that the longest work leaves.
    assert_eq!(lengths(every, 0.8), [37, 20, 24, 24, 20, 20, 24]);
}
