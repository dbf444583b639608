//! The compact voice: diphones, inside the program, there whatever happens.

use std::collections::HashMap;
use std::sync::Mutex;
use std::sync::PoisonError;

use flite_rs::Engine;
use flite_rs::utterance::ItemId;

use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::sound::dsp::stretch;
use crate::sound::speech::Rate;
use crate::sound::speech::Raw;
use crate::sound::speech::SpokenWord;
use crate::sound::speech::Voice;
use crate::sound::speech::VoiceError;
use crate::sound::speech::library;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::pronounce;
use crate::sound::speech::pronounce::Piece;
use crate::sound::speech::pronounce::phones;

/// Up to this the engine's own rate is understood better than a stretch (words misheard at 1.4 times, of
/// 1,200: 16 % against 21 % with a stretch from 1.2 on); the rest is stretched.
const FASTEST: f32 = 1.4;

/// The voice `kal16`: 16 kHz, male, US English.
pub struct Compact {
    // The rate is a setting of the engine; a line takes it a millisecond.
    engine: Mutex<Taught>,
    info: VoiceInfo,
}

/// The engine, and the words it was taught.
struct Taught {
    engine: Engine,
    words: HashMap<String, String>,
}

impl Taught {
    /// Teaches the engine the sounds of a text's words; returns the text without them.
    fn taught(&mut self, text: &str) -> String {
        for piece in pronounce::parts(text) {
            let Piece::Sounded(word, phones) = piece else {
                continue;
            };
            let sounds = phones::arpabet(&phones);
            if self.words.get(word) != Some(&sounds) {
                // A word that the engine takes no sounds for is said by its own rules.
                drop(self.engine.add_lex_entries(&format!("{word} : {sounds}")));
                self.words.insert(word.to_owned(), sounds);
            }
        }
        pronounce::without_sounds(text)
    }
}

impl Default for Compact {
    fn default() -> Self {
        Compact::new()
    }
}

impl Compact {
    /// Makes the voice.
    pub fn new() -> Self {
        let mut engine = Engine::new();
        engine.select_voice("kal16");
        Compact {
            engine: Mutex::new(Taught {
                engine,
                words: HashMap::new(),
            }),
            info: library::compact(),
        }
    }
}

impl Voice for Compact {
    fn info(&self) -> &VoiceInfo {
        &self.info
    }

    fn id(&self) -> &str {
        "compact/kal16/flite-rs-0.2/3"
    }

    fn speak(&self, text: &str, rate: Rate) -> Result<Raw, VoiceError> {
        let mut taught = self.engine.lock().unwrap_or_else(PoisonError::into_inner);
        let text = &taught.taught(text);
        let engine = &mut taught.engine;
        let own = rate.factor().min(FASTEST);
        engine.set_duration_stretch(1.0 / own);
        let hz = engine.sample_rate();
        let mut samples = Vec::new();
        let mut words = Vec::new();
        for tokens in flite_rs::text::tokenize(text) {
            let sentence: Vec<String> = tokens
                .iter()
                .map(|token| {
                    format!(
                        "{}{}{}",
                        token.prepunctuation, token.name, token.punctuation
                    )
                })
                .collect();
            let sentence = sentence.join(" ");
            words.extend(spoken_words(engine, &sentence, hz, samples.len()));
            let audio = engine.synthesize(&sentence);
            samples.extend(audio.samples.iter().map(|s| f32::from(*s) / 32_768.0));
        }
        if samples.is_empty() {
            return Err(VoiceError::Text(format!(
                "there is nothing to say in {text:?}"
            )));
        }
        let factor = f64::from(rate.factor()) / f64::from(own);
        let stretched = |at: Frames| Frames::new((at.count() as f64 / factor) as u64);
        Ok(Raw {
            samples: stretch::stretch(&samples, SampleRate::from_hz(hz), factor),
            rate: SampleRate::from_hz(hz),
            words: words
                .into_iter()
                .map(|word| SpokenWord {
                    onset: stretched(word.onset),
                    end: stretched(word.end),
                    text: word.text,
                })
                .collect(),
        })
    }
}

/// The words of a sentence that starts at frame `start`, from the ends of their sounds.
fn spoken_words(engine: &Engine, sentence: &str, hz: u32, start: usize) -> Vec<SpokenWord> {
    let analysed = engine.analyse(sentence);
    let frame = |secs: f32| Frames::new(start as u64 + (secs.max(0.0) * hz as f32) as u64);
    let mut words: Vec<SpokenWord> = Vec::new();
    let mut current: Option<ItemId> = None;
    let mut before = 0.0;
    for sound in analysed.iter_relation("Segment") {
        let end = analysed.feature_f32(sound, "end");
        let word = analysed
            .item_as(sound, "SylStructure")
            .and_then(|sound| analysed.parent(sound))
            .and_then(|syllable| analysed.parent(syllable));
        match (word, current) {
            (Some(word), Some(same)) if analysed.same_item(word, same) => {
                if let Some(last) = words.last_mut() {
                    last.end = frame(end);
                }
            }
            (Some(word), _) => words.push(SpokenWord {
                text: analysed.name(word).to_owned(),
                onset: frame(before),
                end: frame(end),
            }),
            (None, _) => {}
        }
        current = word;
        before = end;
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_have_times_in_order_over_all_sentences() {
        let raw = Compact::new()
            .speak("Hips back. Left left knee up!", Rate::NORMAL)
            .unwrap();
        let texts: Vec<&str> = raw.words.iter().map(|word| word.text.as_str()).collect();
        assert_eq!(texts, ["hips", "back", "left", "left", "knee", "up"]);
        for pair in raw.words.windows(2) {
            assert!(pair[0].onset < pair[0].end && pair[0].end <= pair[1].onset);
        }
        let last = raw.words.last().unwrap().end.count();
        assert!(last <= raw.samples.len() as u64);
    }

    #[test]
    fn a_word_is_said_by_the_sounds_it_is_given() {
        let voice = Compact::new();
        let said = |text| voice.speak(text, Rate::NORMAL).unwrap().samples;
        let own = said("Zercher squat.");
        let given = said("Zercher{zˈɝtʃɚ} squat.");
        assert_ne!(own, given);
        // As a word that sounds so and that its dictionary has.
        assert_eq!(said("Zork{lˈɛft} now."), said("left now."));
        assert_eq!(said("Zercher{zˈɝtʃɚ} squat."), given);
    }

    #[test]
    fn a_faster_rate_is_shorter_in_proportion() {
        let voice = Compact::new();
        let length = |rate| {
            let rate = Rate::from_per_mille(rate);
            voice
                .speak("Draw the elbow up.", rate)
                .unwrap()
                .samples
                .len() as f32
        };
        for faster in [1120, 1400, 2000] {
            let ratio = length(1000) / length(faster);
            let wanted = f32::from(faster) / 1000.0;
            assert!((ratio / wanted - 1.0).abs() < 0.05, "{ratio} at {faster}");
        }
        assert!(voice.speak("", Rate::NORMAL).is_err());
    }
}
