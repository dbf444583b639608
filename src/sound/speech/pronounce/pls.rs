//! Reads a lexicon: W3C Pronunciation Lexicon Specification (PLS) 1.0, Recommendation of 14 October 2008.
//!
//! Read are `lexeme` with its `grapheme`s, `phoneme`s in the alphabet `ipa`, and `alias`es; `prefer` chooses,
//! else the first pronunciation counts (section 4.9). `meta`, `metadata`, `example` and `role` say nothing
//! to a voice. A document type is refused, as are entities of its own with it: a lexicon is data.

use roxmltree::Document;
use roxmltree::Node;

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::SourceId;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::short;
use crate::sound::speech::pronounce::Said;
use crate::sound::speech::pronounce::phones;

const NAMESPACE: &str = "http://www.w3.org/2005/01/pronunciation-lexicon";
const XML: &str = "http://www.w3.org/XML/1998/namespace";

/// More faults than this of one file help nobody.
const MOST_FAULTS: usize = 100;

/// A lexicon as it was read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lexicon {
    /// The tag of its language, such as `en-US`.
    pub language: String,
    /// Written words and how they are said, in the order of the file.
    pub entries: Vec<(String, Said)>,
}

/// Reads the text of a lexicon; what is at fault is told, and the other entries are read all the same.
pub fn read(sources: &Sources, source: SourceId) -> (Lexicon, Vec<Diagnostic>) {
    let mut reader = Reader {
        source,
        lexicon: Lexicon::default(),
        faults: Vec::new(),
    };
    let text = sources.text(source);
    match Document::parse(text) {
        Ok(document) => reader.root(document.root_element()),
        Err(error) => {
            let at = offset(text, error.pos().row, error.pos().col);
            reader.fault(
                Place::new(source, at..(at + 1).min(text.len()).max(at)),
                Code::LexiconSyntax,
                format!("expected XML, found a fault: {error}"),
                "a lexicon is an XML file as W3C PLS 1.0 describes it",
            );
        }
    }
    (reader.lexicon, reader.faults)
}

struct Reader {
    source: SourceId,
    lexicon: Lexicon,
    faults: Vec<Diagnostic>,
}

impl Reader {
    fn root(&mut self, root: Node) {
        if !is(root, "lexicon") {
            let found = format!("expected the element lexicon of PLS, found {}", name(root));
            self.fault(
                self.start(root),
                Code::LexiconSyntax,
                found,
                format!("<lexicon version=\"1.0\" xmlns=\"{NAMESPACE}\" alphabet=\"ipa\" xml:lang=\"en-US\">"),
            );
            return;
        }
        let version = root.attribute("version").unwrap_or_default();
        if version != "1.0" {
            self.fault(
                self.start(root),
                Code::LexiconSyntax,
                format!("expected version=\"1.0\", found \"{}\"", short(version)),
                "this version reads PLS 1.0",
            );
        }
        match root.attribute((XML, "lang")) {
            Some(language) => language.clone_into(&mut self.lexicon.language),
            None => self.fault(
                self.start(root),
                Code::LexiconSyntax,
                "expected xml:lang, found none".to_owned(),
                "say for which language it is: xml:lang=\"en-US\"",
            ),
        }
        let alphabet = root.attribute("alphabet").unwrap_or_default();
        for lexeme in root.children().filter(|node| is(*node, "lexeme")) {
            self.lexeme(lexeme, alphabet);
        }
    }

    fn lexeme(&mut self, lexeme: Node, alphabet: &str) {
        let of = |wanted: &'static str| lexeme.children().filter(move |node| is(*node, wanted));
        let graphemes: Vec<String> = of("grapheme").map(text).filter(|g| !g.is_empty()).collect();
        if graphemes.is_empty() {
            self.fault(
                self.start(lexeme),
                Code::LexiconEntry,
                "expected a grapheme, found none".to_owned(),
                "a lexeme needs the word as it is written: <grapheme>burpee</grapheme>",
            );
            return;
        }
        let ways: Vec<Node> = lexeme
            .children()
            .filter(|node| is(*node, "phoneme") || is(*node, "alias"))
            .collect();
        let preferred = ways
            .iter()
            .find(|way| way.attribute("prefer") == Some("true"));
        let Some(way) = preferred.or(ways.first()) else {
            self.fault(
                self.start(lexeme),
                Code::LexiconEntry,
                format!(
                    "expected a phoneme or an alias for \"{}\", found none",
                    short(&graphemes[0])
                ),
                "say how it is said: <phoneme>ˈbɝpi</phoneme> or <alias>bur pee</alias>",
            );
            return;
        };
        if let Some(said) = self.said(*way, alphabet) {
            let entries = graphemes.into_iter().map(|word| (word, said.clone()));
            self.lexicon.entries.extend(entries);
        }
    }

    fn said(&mut self, way: Node, alphabet: &str) -> Option<Said> {
        let written = text(way);
        if is(way, "alias") {
            let said = Said::As(written.clone());
            if written.chars().any(char::is_alphanumeric) {
                return Some(said);
            }
            self.fault(
                self.start(way),
                Code::PronunciationInvalid,
                format!("expected words, found \"{}\"", short(&written)),
                "an alias is what is said instead, as it would be written",
            );
            return None;
        }
        let alphabet = way.attribute("alphabet").unwrap_or(alphabet);
        if alphabet != "ipa" {
            self.fault(
                self.start(way),
                Code::PronunciationInvalid,
                format!(
                    "expected the alphabet \"ipa\", found \"{}\"",
                    short(alphabet)
                ),
                "write the sounds in IPA, or use an alias",
            );
            return None;
        }
        // No voice of another language takes sounds, and its sounds are others.
        if !self.lexicon.language.starts_with("en") {
            return None;
        }
        match phones::read(&written) {
            Ok(phones) => Some(Said::Sounds(phones)),
            Err(error) => {
                self.fault(
                    self.start(way),
                    Code::PronunciationInvalid,
                    error,
                    "the sounds of General American in IPA, such as ˈzɝtʃɚ",
                );
                None
            }
        }
    }

    fn start(&self, node: Node) -> Place {
        // The start of its tag: the whole element may be long.
        let range = node.range();
        let end = (range.start + 1 + node.tag_name().name().len()).min(range.end);
        Place::new(self.source, range.start..end)
    }

    fn fault(&mut self, place: Place, code: Code, message: String, help: impl Into<String>) {
        if self.faults.len() < MOST_FAULTS {
            self.faults
                .push(Diagnostic::error(code, place, message).help(help));
        }
    }
}

fn is(node: Node, name: &str) -> bool {
    node.is_element()
        && node.tag_name().name() == name
        && node.tag_name().namespace() == Some(NAMESPACE)
}

fn name(node: Node) -> String {
    let tag = node.tag_name();
    match tag.namespace() {
        Some(space) => format!("{} of {}", tag.name(), short(space)),
        None => format!("{} without a namespace", tag.name()),
    }
}

/// The text of an element, white space as one space.
fn text(node: Node) -> String {
    let all: String = node
        .descendants()
        .filter(Node::is_text)
        .filter_map(|part| part.text())
        .collect();
    all.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The byte at a row and column counted from one, columns in characters.
fn offset(text: &str, row: u32, column: u32) -> usize {
    let row = row.saturating_sub(1) as usize;
    let column = column.saturating_sub(1) as usize;
    let start: usize = text.split_inclusive('\n').take(row).map(str::len).sum();
    let line = &text[start.min(text.len())..];
    start
        + line
            .char_indices()
            .nth(column)
            .map_or(line.len(), |(at, _)| at)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read_text(text: &str) -> (Lexicon, Vec<(usize, usize, String)>) {
        let mut sources = Sources::default();
        let source = sources.add("trade.pls", text);
        let (lexicon, faults) = read(&sources, source);
        let told = faults.iter().map(|fault| {
            let position = sources.position(fault.place);
            (position.line, position.column, fault.message.clone())
        });
        (lexicon, told.collect())
    }

    /// With all that the specification lets a lexicon hold: a schema location, a comment, several
    /// spellings (its section 4.5), a preferred pronunciation (4.9), an alias (4.7), narrow IPA.
    const EXAMPLE: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<lexicon version="1.0"
      xmlns="http://www.w3.org/2005/01/pronunciation-lexicon"
      xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
      xsi:schemaLocation="http://www.w3.org/2005/01/pronunciation-lexicon pls.xsd"
      alphabet="ipa" xml:lang="en-US">
  <meta name="subject" content="boathouse"/>
  <lexeme>
    <grapheme>regatta</grapheme>
    <phoneme>ɹɪˈɡɑɾə̥</phoneme>
    <!-- With the soft t of American English. -->
  </lexeme>
  <lexeme role="noun">
    <grapheme>sculler</grapheme>
    <grapheme>skuller</grapheme>
    <phoneme>ˈskulɚ</phoneme>
    <phoneme prefer="true">ˈskʌlɚ</phoneme>
    <example>The sculler rows alone.</example>
  </lexeme>
  <lexeme>
    <grapheme>2x</grapheme>
    <alias>double scull</alias>
  </lexeme>
</lexicon>
"#;

    #[test]
    fn all_that_a_lexicon_may_hold_is_read() {
        let (lexicon, faults) = read_text(EXAMPLE);
        assert_eq!(faults, []);
        assert_eq!(lexicon.language, "en-US");
        let words: Vec<&str> = lexicon
            .entries
            .iter()
            .map(|(word, _)| word.as_str())
            .collect();
        assert_eq!(words, ["regatta", "sculler", "skuller", "2x"]);
        let sounds = |at: usize| match &lexicon.entries[at].1 {
            Said::Sounds(phones) => phones::neural(phones),
            Said::As(text) => text.clone(),
        };
        assert_eq!([0, 1, 2].map(sounds), ["ɹɪɡˈɑɾə", "skˈʌləɹ", "skˈʌləɹ"]);
        assert_eq!(lexicon.entries[3].1, Said::As("double scull".to_owned()));
    }

    #[test]
    fn all_faults_are_told_at_their_places_and_the_rest_is_read() {
        let text = format!(
            "<lexicon version=\"1.0\" xmlns=\"{NAMESPACE}\" alphabet=\"ipa\" xml:lang=\"en\">\n\
             <lexeme><phoneme>ˈbɝpi</phoneme></lexeme>\n\
             <lexeme><grapheme>burpee</grapheme></lexeme>\n\
             <lexeme><grapheme>jerk</grapheme><phoneme>dʒ9k</phoneme></lexeme>\n\
             <lexeme><grapheme>row</grapheme><phoneme alphabet=\"x-own\">r o</phoneme></lexeme>\n\
             <lexeme><grapheme>clean</grapheme><phoneme>kliːn</phoneme></lexeme>\n\
             </lexicon>"
        );
        let (lexicon, faults) = read_text(&text);
        let places: Vec<_> = faults
            .iter()
            .map(|(line, column, _)| (*line, *column))
            .collect();
        assert_eq!(places, [(2, 1), (3, 1), (4, 34), (5, 33)]);
        assert!(faults[2].2.contains("found \"9\""), "{}", faults[2].2);
        assert_eq!(lexicon.entries.len(), 1);
    }

    #[test]
    fn the_sounds_of_other_languages_are_no_fault_and_their_aliases_are_read() {
        let text = format!(
            "<lexicon version=\"1.0\" xmlns=\"{NAMESPACE}\" alphabet=\"ipa\" xml:lang=\"de\">\n\
             <lexeme><grapheme>Zercher</grapheme><phoneme>ˈtsɛʁçɐ</phoneme></lexeme>\n\
             <lexeme><grapheme>Skull</grapheme><alias>Skall</alias></lexeme>\n\
             </lexicon>"
        );
        let (lexicon, faults) = read_text(&text);
        assert_eq!(faults, []);
        assert_eq!(lexicon.entries.len(), 1);
    }

    #[test]
    fn what_is_no_lexicon_is_told() {
        for text in [
            "",
            "word = \"said\"",
            "<lexicon version=\"1.0\"/>",
            "<lexicon",
            "<!DOCTYPE lexicon [<!ENTITY a \"b\">]><lexicon>&a;</lexicon>",
        ] {
            let (lexicon, faults) = read_text(text);
            assert!(!faults.is_empty(), "{text}");
            assert_eq!(lexicon.entries, []);
        }
        let (_, faults) = read_text(&EXAMPLE.replace("1.0\"\n", "2.0\"\n"));
        assert_eq!(faults.len(), 1, "{faults:?}");
    }

    #[test]
    fn a_hundred_thousand_words_are_read() {
        let word = |n: usize| {
            format!("<lexeme><grapheme>w{n}</grapheme><phoneme>ˈbɝpi</phoneme></lexeme>\n")
        };
        let all: String = (0..100_000).map(word).collect();
        let text = format!(
            "<lexicon version=\"1.0\" xmlns=\"{NAMESPACE}\" alphabet=\"ipa\" xml:lang=\"en\">{all}</lexicon>"
        );
        let (lexicon, faults) = read_text(&text);
        assert_eq!((lexicon.entries.len(), faults.len()), (100_000, 0));
    }
}
