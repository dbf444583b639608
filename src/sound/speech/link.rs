//! A link of the chain: a voice, how it has done, and how it says the words that it would get wrong.

use std::sync::Arc;
use std::sync::LazyLock;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicUsize;

use crate::sound::speech::Voice;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::normalise;
use crate::sound::speech::pronounce::Pronunciations;
use crate::sound::speech::pronounce::pls::Lexicon;

/// A voice and how it has done.
pub struct Link {
    pub voice: Arc<dyn Voice>,
    pub gave_up: AtomicBool,
    /// Failures in a row.
    pub failures: AtomicUsize,
    /// Whether it was told that another voice said a line for it.
    pub told: AtomicBool,
    /// How it says the words that it would get wrong, gathered when it is first asked.
    pub pronounced: LazyPronunciations,
}

type LazyPronunciations = LazyLock<Pronunciations, Box<dyn FnOnce() -> Pronunciations + Send>>;

impl Link {
    fn new(voice: Arc<dyn Voice>, lexicons: &Arc<[Lexicon]>) -> Link {
        let (of, lexicons) = (Arc::clone(&voice), Arc::clone(lexicons));
        Link {
            pronounced: LazyLock::new(Box::new(move || pronounced(of.info(), &lexicons))),
            voice,
            gave_up: AtomicBool::new(false),
            failures: AtomicUsize::new(0),
            told: AtomicBool::new(false),
        }
    }
}

/// Makes the links of a chain.
pub fn links(voices: Vec<Arc<dyn Voice>>, lexicons: Vec<Lexicon>) -> Vec<Link> {
    let lexicons = lexicons.into();
    let link = |voice| Link::new(voice, &lexicons);
    voices.into_iter().map(link).collect()
}

/// How a voice says words: by its own list, and before that by the lexicons of its language.
fn pronounced(info: &VoiceInfo, lexicons: &[Lexicon]) -> Pronunciations {
    let known = lexicons
        .iter()
        .filter(|lexicon| info.speaks_language(&lexicon.language))
        .flat_map(|lexicon| &lexicon.entries);
    Pronunciations::new(
        info.pronounce.iter().chain(known).cloned(),
        normalise::language(&info.language),
    )
}
