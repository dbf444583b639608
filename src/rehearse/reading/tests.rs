//! The reading by hand: a stream of spans and instants, no microphone.

use super::COUNT;
use super::Effect;
use super::Event;
use super::Reading;
use super::Why;
use super::core::expected;
use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::Millis;
use crate::rehearse::ear::Health;
use crate::rehearse::ear::Span;

/// Steps of the clock, as the shell takes them.
const TICK: Millis = Millis::from_ms(20);
const MUTED: Health = Health::Muted {
    since: Millis::from_secs(10),
};

fn loud() -> Health {
    let noise = Db::new(-20.0);
    Health::TooLoud { noise }
}

fn ms(ms: i64) -> Millis {
    Millis::from_ms(ms)
}

/// A reading with its clock.
struct Hand {
    reading: Reading,
    now: At,
    health: Health,
    effects: Vec<Effect>,
}

impl Hand {
    /// Begins and waits until the first line is there.
    fn new(again: Option<bool>) -> Hand {
        let mut hand = Hand {
            reading: Reading::new(again),
            now: At::START,
            health: Health::Measuring,
            effects: Vec::new(),
        };
        hand.wait(ms(2000));
        assert_eq!(hand.effects, []);
        hand.health = Health::Good;
        hand.wait(TICK);
        assert_eq!(hand.taken(), [Effect::Show(0)]);
        hand
    }

    fn step(&mut self, event: Event) {
        let effects = self.reading.step(event);
        self.effects.extend(effects);
    }

    fn clock(&mut self, speaking: bool) {
        self.now += TICK;
        self.step(Event::Clock {
            at: self.now,
            speaking,
            health: self.health,
        });
    }

    fn wait(&mut self, length: Millis) {
        let until = self.now + length;
        while self.now < until {
            self.clock(false);
        }
    }

    /// Speaks for so long; the ear tells 300 ms after the end, and that somebody speaks until then.
    fn speak(&mut self, length: Millis) {
        let from = self.now;
        let until = from + length + ms(300);
        while self.now < until {
            self.clock(true);
        }
        let to = from + length;
        self.step(Event::Spoke(Span { from, to }));
    }

    /// Reads a line after a while, so many hundredths of the usual time.
    fn read(&mut self, number: usize, percent: i64) {
        self.wait(ms(500));
        self.speak(ms(expected(number).ms() * percent / 100));
        self.wait(ms(1500));
    }

    fn taken(&mut self) -> Vec<Effect> {
        std::mem::take(&mut self.effects)
    }

    fn lines(&self) -> usize {
        self.reading.person().lines
    }
}

#[test]
fn ten_lines_read_one_after_the_other_are_a_person() {
    let mut hand = Hand::new(Some(false));
    for number in 0..COUNT {
        hand.read(number, 120);
        let wanted = match number {
            9 => Effect::Done,
            _ => Effect::Show(number + 1),
        };
        assert_eq!(hand.taken(), [wanted]);
    }
    let person = hand.reading.person();
    assert_eq!((person.lines, person.breathless), (10, None));
    let usual = crate::rehearse::pace::Person::usual().words_a_minute();
    let wanted = usual * 100 / 120;
    assert!(person.words_a_minute().abs_diff(wanted) <= 3, "{person:?}");
}

#[test]
fn parts_of_a_line_belong_together() {
    let mut hand = Hand::new(Some(false));
    for number in 0..5 {
        hand.read(number, 100);
    }
    hand.taken();
    // The sixth has three sentences. The first pause is longer than what ends a line that was said whole.
    hand.wait(ms(500));
    let from = hand.now;
    for (length, pause) in [(1700, 1100), (1200, 300), (1500, 0)] {
        hand.speak(ms(length));
        hand.wait(ms(pause));
    }
    let to = hand.now - ms(300);
    hand.wait(ms(1500));
    assert_eq!(hand.taken(), [Effect::Show(6)]);
    let heard = hand.reading.lengths()[5].unwrap();
    assert!((heard - (to - from)).ms().abs() <= 20, "{heard:?}");
}

#[test]
fn a_cough_what_is_too_long_and_silence_are_asked_again_and_at_last_left_out() {
    let mut hand = Hand::new(Some(false));
    hand.read(0, 100);
    hand.taken();
    // A cough alone.
    hand.wait(ms(500));
    hand.speak(ms(300));
    hand.wait(ms(1500));
    assert_eq!(hand.taken(), [Effect::ShowAgain(1, Why::TooShort(ms(300)))]);
    // A cough, and the line soon after it.
    hand.wait(ms(500));
    hand.speak(ms(300));
    hand.wait(ms(560));
    hand.speak(expected(1));
    hand.wait(ms(1500));
    assert_eq!(hand.taken(), [Effect::Show(2)]);
    let heard = hand.reading.lengths()[1];
    assert_eq!(heard, Some(expected(1)), "without the cough");
    let long = expected(2) * 4;
    for _ in 0..2 {
        hand.read(2, 400);
        assert_eq!(hand.taken(), [Effect::ShowAgain(2, Why::TooLong(long))]);
    }
    hand.wait(ms(15_000));
    let silent = Why::Silence(Health::Good);
    assert_eq!(hand.taken(), [Effect::ShowAgain(2, silent)]);
    hand.read(2, 20);
    assert_eq!(hand.taken(), [Effect::LeaveOut(2), Effect::Show(3)]);
    for number in 3..COUNT {
        hand.read(number, 100);
    }
    assert_eq!(hand.taken().last(), Some(&Effect::Done));
    assert_eq!(hand.lines(), 9);
}

#[test]
fn an_hour_of_silence_ends_as_too_few() {
    let mut hand = Hand::new(None);
    hand.wait(Millis::from_secs(3600));
    let effects = hand.taken();
    let of = |it: &Effect| effects.iter().filter(|e| *e == it).count();
    assert_eq!(effects.last(), Some(&Effect::TooFew));
    assert_eq!((of(&Effect::TooFew), of(&Effect::Ask)), (1, 0));
    // Seven can no longer be had after the fourth; each was asked for four times.
    assert_eq!(of(&Effect::LeaveOut(3)), 1);
    assert!(!effects.contains(&Effect::Show(4)));
    assert_eq!(effects.len(), 4 * 3 + 4 + 3 + 1);
}

#[test]
fn who_goes_on_after_a_long_pause_reads_the_line_again() {
    let mut hand = Hand::new(Some(false));
    hand.wait(ms(500));
    hand.speak(expected(0));
    // The next line is shown, and she is speaking already.
    while hand.effects.is_empty() {
        hand.clock(false);
    }
    assert_eq!(hand.taken(), [Effect::Show(1)]);
    hand.speak(ms(900));
    assert_eq!(hand.taken(), [Effect::ShowAgain(0, Why::WentOn)]);
    hand.read(0, 100);
    assert_eq!(hand.taken(), [Effect::Show(1)]);
    assert_eq!(hand.lines(), 1);
}

#[test]
fn a_key_asks_for_the_line_again_or_for_the_one_before() {
    let mut hand = Hand::new(Some(false));
    hand.step(Event::Again);
    let again = |number| Effect::ShowAgain(number, Why::Asked);
    assert_eq!(hand.taken(), [again(0)], "there is none before it");
    hand.read(0, 100);
    hand.taken();
    hand.wait(ms(400));
    hand.step(Event::Again);
    assert_eq!(hand.taken(), [again(0)]);
    assert_eq!(hand.lines(), 0);
    hand.read(0, 100);
    hand.taken();
    // While she speaks it is this line, and what is said of it does not count.
    hand.wait(ms(400));
    let from = hand.now;
    hand.clock(true);
    hand.step(Event::Again);
    assert_eq!(hand.taken(), [again(1)]);
    let to = hand.now + ms(900);
    hand.step(Event::Spoke(Span { from, to }));
    hand.wait(ms(1500));
    assert_eq!(hand.taken(), []);
    hand.read(1, 100);
    assert_eq!(hand.taken(), [Effect::Show(2)]);
}

#[test]
fn a_bad_input_ends_it_at_once_or_when_it_lasts() {
    for (health, after) in [(MUTED, 20), (loud(), 3020)] {
        let mut hand = Hand::new(Some(true));
        hand.read(0, 100);
        hand.taken();
        hand.health = health;
        hand.wait(ms(after - 20));
        assert_eq!(hand.taken(), [], "{health:?}");
        hand.wait(ms(20));
        assert_eq!(hand.taken(), [Effect::Unfit(health)]);
        hand.health = Health::Good;
        hand.read(1, 100);
        assert_eq!(hand.taken(), [], "it is over");
    }
}

#[test]
fn what_is_heard_badly_is_not_measured() {
    let mut hand = Hand::new(Some(false));
    let level = Db::new(-60.0);
    hand.health = Health::Quiet { level };
    hand.read(0, 100);
    let why = Why::Unfit(Health::Quiet { level });
    assert_eq!(hand.taken(), [Effect::ShowAgain(0, why)]);
    hand.health = loud();
    hand.wait(ms(1000));
    hand.health = Health::Good;
    hand.read(0, 100);
    assert_eq!(
        hand.taken(),
        [Effect::Show(1)],
        "a door that slams is borne"
    );
}

/// Reads all ten lines.
fn read_all(hand: &mut Hand, percent: i64) {
    for number in 0..COUNT {
        hand.read(number, percent);
    }
}

#[test]
fn after_a_minute_of_moving_they_are_read_again() {
    let mut hand = Hand::new(None);
    read_all(&mut hand, 100);
    assert_eq!(hand.taken().last(), Some(&Effect::Ask));
    hand.step(Event::Answer(true));
    assert_eq!(hand.taken(), [Effect::Move]);
    for second in 0..60 {
        hand.step(Event::Moving(Millis::from_secs(second)));
    }
    let left = [30, 10].map(|it| Effect::Left(Millis::from_secs(it)));
    assert_eq!(hand.taken(), left);
    hand.step(Event::Moving(Millis::from_secs(60)));
    assert_eq!(hand.taken(), [Effect::Listen, Effect::Show(0)]);
    read_all(&mut hand, 125);
    assert_eq!(hand.taken().last(), Some(&Effect::Done));
    let person = hand.reading.person();
    let (rested, moved) = (person.pace, person.breathless.unwrap());
    let slower = moved.syllable_ms / rested.syllable_ms;
    assert!((1.15..1.35).contains(&slower), "{person:?}");
}

#[test]
fn nobody_has_to_move_and_a_second_reading_may_fail() {
    let mut hand = Hand::new(None);
    read_all(&mut hand, 100);
    hand.taken();
    hand.step(Event::Answer(false));
    assert_eq!(hand.taken(), [Effect::Done]);
    let mut hand = Hand::new(Some(true));
    read_all(&mut hand, 100);
    assert_eq!(hand.taken().last(), Some(&Effect::Move));
    // A key begins before the minute is over.
    hand.step(Event::Moving(Millis::from_secs(5)));
    hand.step(Event::Again);
    assert_eq!(hand.taken(), [Effect::Listen, Effect::Show(0)]);
    hand.wait(Millis::from_secs(600));
    assert_eq!(hand.taken().last(), Some(&Effect::Done));
    let person = hand.reading.person();
    assert_eq!((person.lines, person.breathless), (10, None));
}
