//! A line -> its words with their times -> captions of rows that are short enough.

use super::Caption;
use super::LEAST;
use super::ROW;
use super::Row;
use super::Word;
use crate::base::units::At;
use crate::base::units::Millis;

/// Divides a text into words, each with its time. What the voice calls otherwise than it is written ("6 kg", "six
/// kilograms") gets its time by letters between the words on both sides.
pub fn told(text: &str, spoken: &[(String, i64, i64)], onset: At, end: At) -> Vec<Word> {
    let clean = |word: &str| -> String { word.chars().filter(|c| !c.is_control()).collect() };
    let written: Vec<String> = text.split_whitespace().map(clean).collect();
    let written: Vec<String> = written.into_iter().filter(|w| !w.is_empty()).collect();
    let known = matched(&written, spoken);
    let letters = |word: &str| word.chars().count() as i64 + 1;
    let mut words = Vec::new();
    let mut from = 0;
    while from < written.len() {
        if let Some(at) = known[from] {
            push(&mut words, &written[from], At::from_ms(at), None);
            from += 1;
            continue;
        }
        let to = (from..written.len())
            .find(|at| known[*at].is_some())
            .unwrap_or(written.len());
        // A run of words without times: from where the last one that is known may have ended.
        let until = known.get(to).copied().flatten().map_or(end, At::from_ms);
        let before = from.checked_sub(1).map(|at| (known[at], &written[at]));
        let (since, mut done) = match before {
            Some((Some(at), word)) => (At::from_ms(at), letters(word)),
            _ => (onset, 0),
        };
        let run = &written[from..to];
        let all = done + run.iter().map(|word| letters(word)).sum::<i64>();
        for word in run {
            let share = |done: i64| since + Millis::from_ms((until - since).ms() * done / all);
            let next = done + letters(word);
            push(&mut words, word, share(done), Some(share(next)));
            done = next;
        }
        from = to;
    }
    words
}

/// Finds each word among those that the voice tells of, in order.
fn matched(written: &[String], spoken: &[(String, i64, i64)]) -> Vec<Option<i64>> {
    let bare = |word: &str| -> String {
        let letters = word.chars().filter(|c| c.is_alphanumeric());
        letters.flat_map(char::to_lowercase).collect()
    };
    let written: Vec<String> = written.iter().map(|word| bare(word)).collect();
    let heard: Vec<String> = spoken.iter().map(|(word, ..)| bare(word)).collect();
    // The longest common row of words, from the ends on.
    let (w, h) = (written.len(), heard.len());
    let mut longest = vec![vec![0u32; h + 1]; w + 1];
    for a in (0..w).rev() {
        for b in (0..h).rev() {
            longest[a][b] = match !written[a].is_empty() && written[a] == heard[b] {
                true => longest[a + 1][b + 1] + 1,
                false => longest[a + 1][b].max(longest[a][b + 1]),
            };
        }
    }
    let mut found = vec![None; w];
    let (mut a, mut b) = (0, 0);
    while a < w && b < h {
        let same = !written[a].is_empty() && written[a] == heard[b];
        if same && longest[a][b] == longest[a + 1][b + 1] + 1 {
            found[a] = Some(spoken[b].1);
            (a, b) = (a + 1, b + 1);
        } else if longest[a + 1][b] >= longest[a][b + 1] {
            a += 1;
        } else {
            b += 1;
        }
    }
    found
}

/// Adds a word, in pieces if it is longer than a row; a word whose time was reckoned ends at `until`.
fn push(words: &mut Vec<Word>, text: &str, onset: At, until: Option<At>) {
    let letters: Vec<char> = text.chars().collect();
    let length = until.map_or(Millis::ZERO, |until| until - onset);
    let mut from = 0;
    while from < letters.len() {
        let mut to = letters.len().min(from + ROW);
        // What belongs to a letter stays with it.
        while to < letters.len() && to > from + 1 && joins(letters[to]) {
            to -= 1;
        }
        words.push(Word {
            text: letters[from..to].iter().collect(),
            onset: onset + Millis::from_ms(length.ms() * from as i64 / letters.len() as i64),
            told: until.is_none() && from == 0,
            glued: from > 0,
        });
        from = to;
    }
}

/// Whether a character is drawn onto the one before: combining marks, joiners, variation selectors.
fn joins(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36f}' | '\u{591}'..='\u{5c7}' | '\u{610}'..='\u{61a}' | '\u{64b}'..='\u{65f}'
        | '\u{200d}' | '\u{fe00}'..='\u{fe0f}' | '\u{1f3fb}'..='\u{1f3ff}')
}

/// What a caption costs, so that one more is only made where it must be.
const CAPTION: i64 = 100;
/// What it costs to end a caption, or a row, other than where a sentence or its part ends.
const END_IN_PART: [i64; 3] = [0, 12, 40];
const ROW_IN_PART: [i64; 3] = [0, 3, 8];
/// What a caption costs that the next one pushes away before it was there for the least time.
const PUSHED: i64 = 150;

/// Divides words into captions: the cheapest way, found from the end on.
pub fn captions(words: Vec<Word>, end: At) -> Vec<Caption> {
    let count = words.len();
    // For each word, the cost from it on, with where its caption and its first row end.
    let mut best: Vec<(i64, usize, usize)> = vec![(i64::MAX, count, count); count + 1];
    best[count] = (0, count, count);
    for from in (0..count).rev() {
        for to in from + 1..=count {
            let Some((rows, row)) = in_rows(&words[from..to]) else {
                break;
            };
            let next = words.get(to).map(|word| word.onset);
            let pushed = next.is_some_and(|next| next - words[from].onset < LEAST);
            let cost = CAPTION
                + rows
                + next.map_or(0, |_| END_IN_PART[breaks(&words, to)])
                + if pushed { PUSHED } else { 0 }
                + best[to].0;
            if cost < best[from].0 {
                best[from] = (cost, to, from + row);
            }
        }
    }
    let mut made: Vec<Caption> = Vec::new();
    let mut from = 0;
    while from < count {
        let (_, to, row) = best[from];
        let rows: Vec<Row> = [&words[from..row], &words[row..to]]
            .into_iter()
            .filter(|row| !row.is_empty())
            .map(<[Word]>::to_vec)
            .collect();
        // Two captions never begin at once, however short their words are.
        let before = made.last().map(|caption| caption.start);
        let start = before.map_or(words[from].onset, |before| {
            words[from].onset.max(before + Millis::from_ms(1))
        });
        let end = words.get(to).map_or(end, |next| next.onset.min(end));
        made.push(Caption { start, end, rows });
        from = to;
    }
    made
}

/// Lays words out in at most two rows: what it costs, and where the second begins. `None` if they do not fit.
fn in_rows(words: &[Word]) -> Option<(i64, usize)> {
    let length = |row: &[Word]| Caption::row(row).chars().count();
    let whole = length(words);
    if whole <= ROW {
        return Some((0, words.len()));
    }
    if whole > 2 * ROW + 1 {
        return None;
    }
    let rows = (1..words.len()).filter_map(|at| {
        let (first, second) = (length(&words[..at]), length(&words[at..]));
        let uneven = first.abs_diff(second) as i64 / 4;
        (first <= ROW && second <= ROW).then_some((ROW_IN_PART[breaks(words, at)] + uneven, at))
    });
    rows.min()
}

/// How much hangs together what stands before and after a place: 0 at the end of a sentence, 1 of a part of one.
fn breaks(words: &[Word], at: usize) -> usize {
    let last = words.get(at.wrapping_sub(1));
    let last = last.and_then(|word| word.text.chars().next_back());
    match last {
        Some('.' | '!' | '?' | ':' | ';') => 0,
        Some(',') => 1,
        _ => 2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(ms: i64) -> At {
        At::from_ms(ms)
    }

    #[test]
    fn a_word_has_the_time_that_the_voice_tells_and_others_lie_between() {
        let spoken = [
            ("take", 1000, 1200),
            ("six", 1300, 1500),
            ("kilograms", 1500, 2000),
            ("now", 2100, 2400),
        ];
        let spoken = spoken.map(|(word, onset, end)| (word.to_owned(), onset, end));
        let words = told("Take 6 kg: now!", &spoken, at(1000), at(2400));
        let times: Vec<_> = words
            .iter()
            .map(|w| (w.text.as_str(), w.onset.ms(), w.told))
            .collect();
        assert_eq!(times[0], ("Take", 1000, true));
        assert_eq!(times[3], ("now!", 2100, true));
        assert!(
            times[1].1 > 1000 && times[1].1 < times[2].1 && times[2].1 < 2100,
            "{times:?}"
        );
        assert!(!times[1].2 && !times[2].2);
    }

    #[test]
    fn rows_end_where_a_sentence_does_and_are_never_too_long() {
        let text = "Boathouse five: two rounds of five movements, twenty seconds on, ten seconds off. Six minutes ten in all.";
        let made = captions(told(text, &[], at(0), at(9000)), at(9000));
        let rows: Vec<Vec<String>> = made
            .iter()
            .map(|c| c.rows.iter().map(|row| Caption::row(row)).collect())
            .collect();
        assert_eq!(
            rows,
            [
                vec!["Boathouse five:", "two rounds of five movements,"],
                vec![
                    "twenty seconds on, ten seconds off.",
                    "Six minutes ten in all."
                ],
            ]
        );
    }

    #[test]
    fn a_word_longer_than_a_row_is_cut_and_nothing_of_it_is_lost() {
        let long = "ö".repeat(300);
        let made = captions(told(&long, &[], at(0), at(3000)), at(3000));
        let all: String = made
            .iter()
            .flat_map(|c| &c.rows)
            .map(|row| Caption::row(row))
            .collect();
        assert_eq!(all, long);
        assert!(made.iter().all(|c| c.rows.len() <= 2));
        assert!(made.windows(2).all(|pair| pair[0].start < pair[1].start));
    }
}
