//! Normalised words -> the numbers of their phonemes.

use std::collections::HashMap;
use std::ops::Range;
use std::path::Path;

use misaki_rs::Fallback;
use misaki_rs::G2P;
use misaki_rs::Language;
use misaki_rs::MToken;
use misaki_rs::fallback::FallbackError;
use rten_tensor::Tensor;
use rten_tensor::prelude::*;
use serde::Deserialize;

use crate::sound::speech::VoiceError;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::pronounce;
use crate::sound::speech::pronounce::Piece;
use crate::sound::speech::pronounce::phones;

/// The silence before and after a line.
const EDGE: i32 = 0;

/// The dictionary, the model for words it lacks, and the numbers of the phonemes.
pub struct Phonemes {
    dictionary: G2P,
    numbers: HashMap<char, i32>,
}

/// A line as the model takes it.
pub struct Line {
    pub ids: Vec<i32>,
    pub words: Vec<Word>,
}

/// A word and which of the line's numbers are its own.
pub struct Word {
    pub text: String,
    pub ids: Range<usize>,
}

impl Phonemes {
    /// Loads the dictionary and the model for unknown words.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Model`], naming the file that is missing or damaged.
    pub fn load(info: &VoiceInfo, folder: &Path) -> Result<Phonemes, VoiceError> {
        let damaged = |error| info.damaged("vocab.json", error);
        let vocabulary = info.read(folder, "vocab.json")?;
        let numbers: HashMap<char, i32> = serde_json::from_slice(&vocabulary).map_err(damaged)?;
        let guess = Guess::load(info, folder)?;
        Ok(Phonemes {
            dictionary: G2P::with_fallback(Language::EnglishUS, Some(Box::new(guess))),
            numbers,
        })
    }

    /// Finds the phonemes of a normalised text.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Text`] if none of its words has any.
    pub fn of(&self, text: &str) -> Result<Line, VoiceError> {
        let sounded = Sounded::of(text);
        let mut tokens = self.tokens(&sounded.text, &sounded)?;
        if tokens.iter().any(is_lost) {
            // A word without phonemes would be left out without a trace: it is spelled.
            let spelled: Vec<String> = tokens.iter().map(spelled).collect();
            tokens = self.tokens(spelled.concat().trim(), &sounded)?;
        }
        let line = self.line(&tokens);
        if line.words.is_empty() {
            return Err(VoiceError::Text(format!(
                "there is nothing to say in {text:?}"
            )));
        }
        Ok(line)
    }

    /// Writes the sounds of a normalised text, in the voice's own alphabet.
    ///
    /// # Errors
    ///
    /// As for [`Phonemes::of`].
    pub fn written(&self, text: &str) -> Result<String, VoiceError> {
        let sounded = Sounded::of(text);
        let tokens = self.tokens(&sounded.text, &sounded)?;
        let sounds = tokens.iter().filter_map(|token| token.phonemes.as_deref());
        let sounds: Vec<&str> = sounds.collect();
        Ok(sounds.join(" "))
    }

    fn tokens(&self, text: &str, sounded: &Sounded) -> Result<Vec<MToken>, VoiceError> {
        // A line without a final mark would end in mid-air.
        let text = match text.ends_with(['.', '?', '!']) {
            true => text.to_owned(),
            false => format!("{text}."),
        };
        let (_, tokens) = self
            .dictionary
            .g2p(&text)
            .map_err(|error| VoiceError::Engine(format!("no phonemes for {text:?}: {error}")))?;
        Ok(sounded.given(tokens))
    }

    fn line(&self, tokens: &[MToken]) -> Line {
        let mut ids = vec![EDGE];
        let mut words = Vec::new();
        for (index, token) in tokens.iter().enumerate() {
            let start = ids.len();
            let phonemes = token.phonemes.as_deref().unwrap_or_default();
            ids.extend(phonemes.chars().filter_map(|c| self.numbers.get(&c)));
            if ids.len() > start && token.text.contains(|c: char| c.is_alphabetic()) {
                words.push(Word {
                    text: token.text.clone(),
                    ids: start..ids.len(),
                });
            }
            if !token.whitespace.is_empty() && index + 1 < tokens.len() {
                ids.extend(self.numbers.get(&' '));
            }
        }
        ids.push(EDGE);
        Line { ids, words }
    }
}

fn is_lost(token: &MToken) -> bool {
    let word = token.text.contains(|c: char| c.is_alphabetic());
    let phonemes = token.phonemes.as_deref().unwrap_or_default();
    word && (phonemes.is_empty() || phonemes.contains('\u{2753}'))
}

fn spelled(token: &MToken) -> String {
    let space = &token.whitespace;
    if !is_lost(token) {
        return format!("{}{space}", token.text);
    }
    let letters: Vec<String> = token
        .text
        .chars()
        .filter(|c| c.is_ascii_alphabetic())
        .map(|c| c.to_ascii_uppercase().to_string())
        .collect();
    format!("{}{space}", letters.join(" "))
}

/// A text, and the sounds that some of its words are given.
struct Sounded {
    text: String,
    /// In the order of the text.
    words: Vec<(String, String)>,
}

impl Sounded {
    fn of(text: &str) -> Sounded {
        let mut sounded = Sounded {
            text: String::with_capacity(text.len()),
            words: Vec::new(),
        };
        for piece in pronounce::parts(text) {
            match piece {
                Piece::Text(text) => sounded.text.push_str(text),
                Piece::Sounded(word, phones) => {
                    sounded.text.push_str(word);
                    let sounds = phones::neural(&phones);
                    sounded.words.push((word.to_owned(), sounds));
                }
            }
        }
        sounded
    }

    /// Gives the words their sounds, whatever the dictionary made of them; a word of several tokens
    /// becomes one.
    fn given(&self, tokens: Vec<MToken>) -> Vec<MToken> {
        let mut given: Vec<MToken> = Vec::with_capacity(tokens.len());
        let mut words = self.words.iter().peekable();
        let mut left = tokens.into_iter().peekable();
        while let Some(mut token) = left.next() {
            if let Some((word, sounds)) = words.peek()
                && word.starts_with(&token.text)
            {
                while token.text != *word
                    && token.whitespace.is_empty()
                    && let Some(part) =
                        left.next_if(|part| word[token.text.len()..].starts_with(&part.text))
                {
                    token.text.push_str(&part.text);
                    token.whitespace = part.whitespace;
                }
                if token.text == *word {
                    token.phonemes = Some(sounds.clone());
                    words.next();
                }
            }
            given.push(token);
        }
        given
    }
}

/// The model that guesses the phonemes of a word that the dictionary lacks.
struct Guess {
    graph: rten::Model,
    letters: HashMap<char, i32>,
    phonemes: Vec<char>,
    longest: usize,
}

#[derive(Deserialize)]
struct GuessTable {
    #[serde(rename = "in")]
    letters: Vec<char>,
    #[serde(rename = "out")]
    phonemes: Vec<char>,
    maxlen: usize,
}

impl Guess {
    fn load(info: &VoiceInfo, folder: &Path) -> Result<Guess, VoiceError> {
        let table = info.read(folder, "oov.json")?;
        let table: GuessTable =
            serde_json::from_slice(&table).map_err(|error| info.damaged("oov.json", error))?;
        let graph = rten::Model::load(info.read(folder, "oov.onnx")?)
            .map_err(|error| info.damaged("oov.onnx", error))?;
        Ok(Guess {
            graph,
            letters: (1..).zip(table.letters).map(|(id, c)| (c, id)).collect(),
            phonemes: table.phonemes,
            longest: table.maxlen,
        })
    }

    fn phonemes(&self, word: &str) -> Option<String> {
        let letters = word.chars().filter_map(|c| self.letters.get(&c).copied());
        let letters: Vec<i32> = letters.take(self.longest).collect();
        if letters.is_empty() {
            return None;
        }
        let input = Tensor::from_data(&[1, letters.len()], letters);
        let output = self.graph.run_one((&input).into(), None).ok()?;
        let output: Tensor<i32> = output.try_into().ok()?;
        // Connectionist decoding: repeats are one, zero is a gap.
        let mut before = 0;
        let mut phonemes = String::new();
        for id in output.iter().copied() {
            if id != before && id > 0 {
                phonemes.extend(self.phonemes.get(id as usize - 1));
            }
            before = id;
        }
        Some(phonemes)
    }
}

impl Fallback for Guess {
    fn phonemize(&self, word: &str) -> Result<String, FallbackError> {
        self.phonemes(word)
            .ok_or_else(|| FallbackError::NoPhonemes {
                word: word.to_owned(),
            })
    }
}
