//! Reaches the system's voice through the crate `tts`: speech-dispatcher on Linux.
//!
//! Never ask the crate for the voice in use: on Linux it panics.

use tts::Features;
use tts::Tts;

use crate::sound::speech::Rate;
use crate::sound::speech::library;
use crate::sound::speech::system::Ear;
use crate::sound::speech::system::Mouth;
use crate::sound::speech::system::Open;

/// Where on the system's scale twice the normal speed and 0.7 times of it lie, from its middle
/// towards its ends: as espeak-ng behind speech-dispatcher 0.11 places words a minute (80 to 449
/// around 175). Other engines are near it; a line is estimated with caution anyway.
const TWICE: f32 = 0.64;
const SEVEN_TENTHS: f32 = 0.55;

struct Link(Tts);

/// Makes what opens the system's voice for a language.
pub fn open(language: String) -> Open {
    Box::new(move |ear| {
        let failed = |error: tts::Error| error.to_string();
        let mut tts = Tts::default().map_err(failed)?;
        let Features {
            utterance_callbacks,
            stop,
            ..
        } = tts.supported_features();
        if !utterance_callbacks || !stop {
            return Err("it does not tell when it speaks".to_owned());
        }
        choose(&mut tts, &language)?;
        hear(&tts, &ear).map_err(failed)?;
        Ok(Box::new(Link(tts)) as Box<dyn Mouth>)
    })
}

/// The regions that are taken where a language names none, best first.
const REGIONS: [&str; 5] = ["en-us", "en-gb", "es-es", "fr-fr", "pt-br"];

/// Chooses a voice of the language, of its region if there is one.
fn choose(tts: &mut Tts, language: &str) -> Result<(), String> {
    let voices = tts.voices().map_err(|error| error.to_string())?;
    let tag = |voice: &tts::Voice| voice.language().to_string().to_lowercase();
    let wanted = language.to_lowercase();
    let exact = |wanted: &str| voices.iter().find(|voice| tag(voice) == wanted);
    let same = |tag: &str| library::base(tag) == library::base(&wanted);
    let mut regions = REGIONS.into_iter().filter(|region| same(region));
    let found = exact(&wanted)
        .or_else(|| regions.find_map(exact))
        .or_else(|| voices.iter().find(|voice| same(&tag(voice))));
    let found = found.ok_or_else(|| {
        let name = library::language_name(language);
        format!("it has no voice for {name}")
    })?;
    tts.set_voice(found).map_err(|error| error.to_string())?;
    Ok(())
}

fn hear(tts: &Tts, ear: &Ear) -> Result<(), tts::Error> {
    let (begun, ended) = (ear.clone(), ear.clone());
    tts.on_utterance_begin(Some(Box::new(move |_| begun.begun())))?;
    tts.on_utterance_end(Some(Box::new(move |_| ended.ended())))?;
    Ok(())
}

impl Mouth for Link {
    fn say(&mut self, text: &str, rate: Rate) -> Result<(), String> {
        let failed = |error: tts::Error| error.to_string();
        let tts = &mut self.0;
        let (low, normal, high) = (tts.min_rate(), tts.normal_rate(), tts.max_rate());
        let factor = rate.factor();
        let place = match factor >= 1.0 {
            true => normal + (factor - 1.0) * TWICE * (high - normal),
            false => normal - (1.0 - factor) / 0.3 * SEVEN_TENTHS * (normal - low),
        };
        tts.set_rate(place.clamp(low, high)).map_err(failed)?;
        tts.speak(text, true).map_err(failed)?;
        Ok(())
    }

    fn stop(&mut self) -> Result<(), String> {
        self.0.stop().map_err(|error| error.to_string())?;
        Ok(())
    }
}
