//! The one door of this room: texts in, takes out, whatever happens in between.

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicUsize;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::time::Duration;

use crate::base::utterance::Clarity;
use crate::sound::speech::Estimate;
use crate::sound::speech::Notice;
use crate::sound::speech::Rate;
use crate::sound::speech::Take;
use crate::sound::speech::Utterance;
use crate::sound::speech::Voice;
use crate::sound::speech::VoiceError;
use crate::sound::speech::cache;
use crate::sound::speech::cache::Cache;
use crate::sound::speech::cache::Key;
use crate::sound::speech::child::ChildSettings;
use crate::sound::speech::child::ChildVoice;
use crate::sound::speech::chunk;
use crate::sound::speech::compact::Compact;
use crate::sound::speech::finish;
use crate::sound::speech::library;
use crate::sound::speech::library::EngineKind;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::normalise;
use crate::sound::speech::pronounce::Pronunciations;
use crate::sound::speech::pronounce::Said;
use crate::sound::speech::queue::Job;
use crate::sound::speech::queue::Queue;
use crate::sound::speech::serve;

/// So many texts in a row that the engine fails at, and it is not asked again.
const FAILURES: usize = 3;

/// Where things lie and how long is waited for them.
#[derive(Debug, Clone)]
pub struct Settings {
    /// The voice's name; `None` takes the best whose files are there.
    pub voice: Option<String>,
    /// How far speech is shaped to cut through noise.
    pub clarity: Clarity,
    /// The folder that holds a folder for each voice with files.
    pub voices: Option<PathBuf>,
    /// The folder of kept takes; `None` keeps none.
    pub cache: Option<PathBuf>,
    /// The most that is kept, in bytes.
    pub cache_limit: u64,
    /// The program that serves as the neural engine; `None` is this program itself.
    pub engine: Option<PathBuf>,
    /// How long the engine stays loaded without work.
    pub idle: Duration,
    /// How long the engine may take for a text, beyond the time to speak it aloud.
    pub patience: Duration,
}

impl Settings {
    /// Returns the settings with the folders that the platform has for data and caches.
    pub fn standard() -> Settings {
        let project = directories::ProjectDirs::from("", "", "sidevoice");
        let folder = |base: fn(&directories::ProjectDirs) -> &std::path::Path| {
            project.as_ref().map(|project| base(project).join("voices"))
        };
        Settings {
            voice: None,
            clarity: Clarity::Plain,
            voices: folder(directories::ProjectDirs::data_dir),
            cache: folder(directories::ProjectDirs::cache_dir),
            cache_limit: cache::DEFAULT_LIMIT,
            engine: None,
            idle: Duration::from_secs(10),
            patience: Duration::from_secs(10),
        }
    }
}

/// Speaks texts with one voice, and with the compact one where that fails.
pub struct Speaker {
    queue: Queue,
    maker: Arc<Maker>,
}

impl Speaker {
    /// Chooses a voice and gets ready; nothing is loaded before the first text.
    ///
    /// There is always a voice: where the wanted one is not to be had, the compact one speaks and
    /// a notice says why and what to do.
    pub fn open(settings: Settings) -> (Speaker, Vec<Notice>) {
        let mut notices = Vec::new();
        let child = choose(&settings, &mut notices).map(|(info, folder)| {
            let child = ChildSettings {
                program: settings.engine.clone().unwrap_or_else(this_program),
                folder,
                idle: settings.idle,
                patience: settings.patience,
            };
            Arc::new(ChildVoice::new(info, child))
        });
        if settings.cache.is_none() {
            notices.push(Notice::new("there is no folder to keep spoken lines in"));
        }
        let compact = Compact::new();
        let info = child.as_ref().map_or(compact.info(), |child| child.info());
        let pronounced = pronounced(info, &mut notices);
        let maker = Arc::new(Maker {
            child,
            compact,
            pronounced,
            clarity: settings.clarity,
            cache: Cache::new(settings.cache, settings.cache_limit),
            gave_up: AtomicBool::new(false),
            closing: AtomicBool::new(false),
            failures: AtomicUsize::new(0),
            notices: Mutex::default(),
        });
        let make = {
            let maker = Arc::clone(&maker);
            Arc::new(move |job: &Job| maker.make(job))
        };
        let queue = Queue::new(serve::WORKERS, make);
        (Speaker { queue, maker }, notices)
    }

    /// Returns the name of the voice.
    pub fn name(&self) -> &str {
        &self.info().name
    }

    /// Returns what is known of the voice.
    pub fn info(&self) -> &VoiceInfo {
        self.maker.voice().info()
    }

    /// Returns the estimate of lengths for the voice.
    pub fn estimate(&self) -> Estimate {
        Estimate::for_voice(self.name())
    }

    /// Speaks texts, the first ones first, on all cores; waits for all of them.
    ///
    /// The answers are in the order of the texts. The same text is made once.
    pub fn takes(&self, utterances: &[Utterance]) -> Vec<Result<Take, VoiceError>> {
        let (reply, answers) = mpsc::channel();
        let jobs: Vec<Result<Job, VoiceError>> =
            utterances.iter().map(|wanted| self.job(wanted)).collect();
        let mut made: HashMap<Key, Result<Take, VoiceError>> = HashMap::new();
        let mut asked = 0;
        for job in jobs.iter().flatten() {
            if made.contains_key(&job.key) {
                continue;
            }
            let kept = self.maker.cache.get(&job.key);
            let missing = kept.is_none();
            let lost = || VoiceError::Engine("the speaking threads are gone".to_owned());
            made.insert(job.key.clone(), kept.ok_or_else(lost));
            if missing {
                self.queue.now(job.clone(), reply.clone());
                asked += 1;
            }
        }
        drop(reply);
        for (key, take) in answers.iter().take(asked) {
            made.insert(key, take);
        }
        jobs.into_iter()
            .map(|job| {
                let job = job?;
                made.get(&job.key).cloned().unwrap_or_else(|| {
                    Err(VoiceError::Engine(
                        "the speaking threads are gone".to_owned(),
                    ))
                })
            })
            .collect()
    }

    /// Speaks one text, before all that was asked ahead.
    ///
    /// # Errors
    ///
    /// As for [`Speaker::takes`].
    pub fn take(&self, utterance: &Utterance) -> Result<Take, VoiceError> {
        self.takes(std::slice::from_ref(utterance))
            .pop()
            .unwrap_or_else(|| Err(VoiceError::Engine("no answer".to_owned())))
    }

    /// Makes texts ahead, the first ones first, when nothing else is to do; returns at once.
    pub fn prefetch(&self, utterances: &[Utterance]) {
        for job in utterances.iter().filter_map(|wanted| self.job(wanted).ok()) {
            if !self.maker.cache.has(&job.key) {
                self.queue.later(job);
            }
        }
    }

    /// Forgets what was asked ahead and is not made yet.
    pub fn forget(&self) {
        self.queue.forget_later();
    }

    /// Hands over what a listener should know since the last time.
    pub fn notices(&self) -> Vec<Notice> {
        let mut notices = self
            .maker
            .notices
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        std::mem::take(&mut *notices)
    }

    /// Returns the process id of the engine, if one runs; for tests and measurements.
    pub fn engine_process(&self) -> Option<u32> {
        self.maker.child.as_ref()?.process_id()
    }

    fn job(&self, wanted: &Utterance) -> Result<Job, VoiceError> {
        let language = normalise::language(&self.info().language);
        let text = normalise::normalise(&wanted.text, language);
        if text.is_empty() {
            let text = shown(&wanted.text);
            return Err(VoiceError::Text(format!(
                "there is nothing to say in {text:?}"
            )));
        }
        if text.len() > chunk::LONGEST {
            return Err(VoiceError::Text(format!(
                "at most {} characters are spoken at once, {} found in {:?}",
                chunk::LONGEST,
                text.len(),
                shown(&wanted.text)
            )));
        }
        let text = self.maker.pronounced.apply(&text);
        Ok(Job {
            key: self.maker.key(self.maker.voice(), &text, wanted.rate),
            text,
            rate: wanted.rate,
        })
    }
}

impl Drop for Speaker {
    fn drop(&mut self) {
        // The queue waits for its threads; they must not wait for a child that hangs.
        self.maker.closing.store(true, Ordering::SeqCst);
        if let Some(child) = &self.maker.child {
            child.close();
        }
    }
}

/// Does the work for the queue's threads.
struct Maker {
    child: Option<Arc<ChildVoice>>,
    compact: Compact,
    pronounced: Pronunciations,
    clarity: Clarity,
    cache: Cache,
    gave_up: AtomicBool,
    closing: AtomicBool,
    failures: AtomicUsize,
    notices: Mutex<Vec<Notice>>,
}

impl Maker {
    fn voice(&self) -> &dyn Voice {
        match &self.child {
            Some(child) => &**child,
            None => &self.compact,
        }
    }

    /// What the cache knows a line by: plain ones as before there was anything else.
    fn key(&self, voice: &dyn Voice, text: &str, rate: Rate) -> Key {
        match self.clarity {
            Clarity::Plain => Key::new(voice.id(), text, rate),
            shaped => Key::new(&format!("{}+{}", voice.id(), shaped.word()), text, rate),
        }
    }

    fn make(&self, job: &Job) -> Result<Take, VoiceError> {
        if let Some(kept) = self.cache.get(&job.key) {
            return Ok(kept);
        }
        let Some(child) = &self.child else {
            return self.speak(&self.compact, job);
        };
        if !self.gave_up.load(Ordering::SeqCst) {
            match self.speak(&**child, job) {
                Ok(take) => {
                    self.failures.store(0, Ordering::SeqCst);
                    return Ok(take);
                }
                Err(error) if self.closing.load(Ordering::SeqCst) => return Err(error),
                Err(error) => self.failed(&child.info().name, job, &error),
            }
        }
        let key = self.key(&self.compact, &job.text, job.rate);
        if let Some(kept) = self.cache.get(&key) {
            return Ok(kept);
        }
        let job = Job { key, ..job.clone() };
        self.speak(&self.compact, &job)
    }

    fn speak(&self, voice: &dyn Voice, job: &Job) -> Result<Take, VoiceError> {
        let pieces: Result<Vec<_>, _> = chunk::chunks(&job.text)
            .into_iter()
            .map(|piece| voice.speak(piece, job.rate))
            .collect();
        let take = finish::finish(&pieces?, self.clarity)?;
        if let Some(message) = self.cache.put(&job.key, &take) {
            self.notice(message);
        }
        Ok(take)
    }

    /// Notes that the voice failed at a text, and gives up on it when there is no point in trying.
    fn failed(&self, name: &str, job: &Job, error: &VoiceError) {
        let hopeless = match error {
            VoiceError::Text(_) => false,
            VoiceError::Model(_) => true,
            VoiceError::Engine(_) => self.failures.fetch_add(1, Ordering::SeqCst) + 1 >= FAILURES,
        };
        if hopeless {
            if !self.gave_up.swap(true, Ordering::SeqCst) {
                self.notice(format!(
                    "{error}. The compact voice speaks instead of {name}"
                ));
            }
        } else {
            let text = shown(&job.text);
            self.notice(format!(
                "{error}. The compact voice says {text:?} instead of {name}"
            ));
        }
    }

    fn notice(&self, message: impl Into<String>) {
        let mut notices = self.notices.lock().unwrap_or_else(PoisonError::into_inner);
        notices.push(Notice::new(message));
    }
}

/// The neural voice to use, with its folder; `None` for the compact one.
fn choose(settings: &Settings, notices: &mut Vec<Notice>) -> Option<(VoiceInfo, PathBuf)> {
    let wanted = match &settings.voice {
        None => library::voices().into_iter().next(),
        Some(name) => library::find(name).or_else(|| {
            let names: Vec<String> = library::voices().into_iter().map(|v| v.name).collect();
            notices.push(Notice::new(format!(
                "there is no voice named {name}; there are: {}. The compact voice speaks",
                names.join(", ")
            )));
            None
        }),
    }?;
    if wanted.engine == EngineKind::Compact {
        return None;
    }
    let Some(voices) = &settings.voices else {
        notices.push(Notice::new(
            "there is no folder for voices. The compact voice speaks",
        ));
        return None;
    };
    let folder = voices.join(&wanted.name);
    match wanted.check(&folder) {
        Ok(()) => Some((wanted, folder)),
        Err(error) => {
            notices.push(Notice::new(format!("{error}. The compact voice speaks")));
            None
        }
    }
}

/// How the voice says the words that it would get wrong.
fn pronounced(info: &VoiceInfo, notices: &mut Vec<Notice>) -> Pronunciations {
    let entries = info.pronounce.iter().filter_map(|(word, said)| {
        let said = Said::read(said).map_err(|error| {
            let place = format!("[pronounce] of the voice {}, {word}: {error}", info.name);
            notices.push(Notice::new(place));
        });
        Some((word.clone(), said.ok()?))
    });
    Pronunciations::new(entries, normalise::language(&info.language))
}

fn this_program() -> PathBuf {
    std::env::current_exe().unwrap_or_else(|_| PathBuf::from("sidevoice"))
}

/// The start of a text, for a message.
fn shown(text: &str) -> String {
    const MOST: usize = 40;
    match text.char_indices().nth(MOST) {
        Some((at, _)) => format!("{}...", &text[..at]),
        None => text.to_owned(),
    }
}

/// A rate cannot be below half or above twice the normal one, so a take cannot be endless.
const _: () = assert!(Rate::from_per_mille(0).per_mille() >= 500);
