//! What a folder is rendered to: a list of formats, each named by the ending of its files or by a word.

use crate::cli::outputs::ENDINGS;
use crate::cli::outputs::Output;
use std::path::Path;

/// Words for endings that do not say what they hold.
const WORDS: [(&str, &str); 3] = [
    ("sheet", ".html"),
    ("chapters", ".chapters.vtt"),
    ("markers", ".csv"),
];

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Format {
    /// With its dot.
    ending: &'static str,
    pub output: Output,
}

impl Format {
    /// Reads the name of a format: a word, or an ending with or without its dot.
    ///
    /// # Errors
    ///
    /// What was expected and what was found.
    pub fn parse(text: &str) -> Result<Self, String> {
        let lower = text.trim().to_lowercase();
        let word = WORDS.iter().find(|(word, _)| *word == lower);
        let wanted = word.map_or_else(
            || format!(".{}", lower.trim_start_matches('.')),
            |(_, ending)| (*ending).to_owned(),
        );
        let Some((ending, _)) = ENDINGS.iter().find(|(ending, _)| *ending == wanted) else {
            let endings = ENDINGS.iter().map(|(ending, _)| *ending);
            let without = endings.filter(|ending| WORDS.iter().all(|(_, of)| of != ending));
            let all = without.map(|ending| ending.trim_start_matches('.'));
            let all: Vec<_> = all.chain(WORDS.iter().map(|(word, _)| *word)).collect();
            return Err(format!("expected one of {}", all.join(", ")));
        };
        let output = Output::of(Path::new(&format!("class{ending}")));
        match output {
            Ok(output) => Ok(Self { ending, output }),
            Err(failure) => Err(failure.message().unwrap_or_default().to_owned()),
        }
    }

    /// Returns the name of a file of this format.
    pub fn file_name(&self, name: &str) -> String {
        format!("{name}{}", self.ending)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_format_is_an_ending_or_a_word() {
        let name = |text: &str| Format::parse(text).map(|format| format.file_name("five.de"));
        assert_eq!(name("wav").as_deref(), Ok("five.de.wav"));
        assert_eq!(name(" .VTT").as_deref(), Ok("five.de.vtt"));
        assert_eq!(name("sheet"), name("html"));
        assert_eq!(name("chapters").as_deref(), Ok("five.de.chapters.vtt"));
        let told = name("aiff").unwrap_err();
        for word in ["wav", "srt", "sheet", "markers"] {
            assert!(told.contains(word), "{told}");
        }
    }
}
