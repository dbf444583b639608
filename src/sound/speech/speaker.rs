//! The one door of this room: texts in, takes out, whatever happens in between.

use std::collections::HashMap;
use std::hash::BuildHasher;
use std::hash::RandomState;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::time::Duration;

use crate::base::units::Millis;
use crate::base::utterance::Clarity;
use crate::sound::speech::Estimate;
use crate::sound::speech::Notice;
use crate::sound::speech::Rate;
use crate::sound::speech::System;
use crate::sound::speech::Take;
use crate::sound::speech::Utterance;
use crate::sound::speech::Voice;
use crate::sound::speech::VoiceError;
use crate::sound::speech::cache;
use crate::sound::speech::cache::Cache;
use crate::sound::speech::cache::Key;
use crate::sound::speech::chain;
use crate::sound::speech::chunk;
use crate::sound::speech::finish;
use crate::sound::speech::library::EngineKind;
use crate::sound::speech::library::Shelf;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::link::Link;
use crate::sound::speech::link::links;
use crate::sound::speech::normalise;
use crate::sound::speech::pronounce;
use crate::sound::speech::queue::Job;
use crate::sound::speech::queue::Queue;
use crate::sound::speech::serve;

/// So many texts in a row that the engine fails at, and it is not asked again.
const FAILURES: usize = 3;

/// Where things lie and how long is waited for them.
#[derive(Debug, Clone)]
pub struct Settings {
    /// The voice's name; `None` takes the best one here for the language.
    pub voice: Option<String>,
    /// The language of the texts, a tag such as "de"; `None` is that of the voice, else English.
    pub language: Option<String>,
    /// How far speech is shaped to cut through noise.
    pub clarity: Clarity,
    /// The folder that holds a folder for each voice with files.
    pub voices: Option<PathBuf>,
    /// Further folders with files that describe voices: those of a session folder.
    pub own: Vec<PathBuf>,
    /// The voices and lexicons of these folders, where they were read already.
    pub shelf: Option<Arc<Shelf>>,
    /// The folder of kept takes; `None` keeps none.
    pub cache: Option<PathBuf>,
    /// The most that is kept, in bytes.
    pub cache_limit: u64,
    /// The program that serves as the neural engine; `None` is this program itself.
    pub engine: Option<PathBuf>,
    /// The program that serves as espeak-ng; `None` is the one on the path.
    pub espeak: Option<PathBuf>,
    /// Whether the voice of the operating system may be used, where the program was built with it.
    pub system: bool,
    /// How long the engine stays loaded without work.
    pub idle: Duration,
    /// How long an engine may take for a text, beyond the time to speak it aloud: a class makes its
    /// lines half a minute ahead, and another voice must still be in time.
    pub patience: Duration,
    /// How many texts are made at a time, at most.
    pub workers: usize,
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
            language: None,
            own: Vec::new(),
            shelf: None,
            espeak: None,
            system: true,
            clarity: Clarity::Plain,
            voices: folder(directories::ProjectDirs::data_dir),
            cache: folder(directories::ProjectDirs::cache_dir),
            cache_limit: cache::DEFAULT_LIMIT,
            engine: None,
            idle: Duration::from_secs(10),
            patience: Duration::from_secs(4),
            workers: serve::WORKERS,
        }
    }

    /// Returns the folders with files that describe voices.
    pub fn shelves(&self) -> Vec<PathBuf> {
        self.voices.iter().chain(&self.own).cloned().collect()
    }
}

/// Speaks texts with one voice, and with others where that fails; see [`chain`].
pub struct Speaker {
    system: Option<Arc<System>>,
    queue: Queue,
    maker: Arc<Maker>,
}

impl Speaker {
    /// Chooses a voice and gets ready; nothing is loaded before the first text.
    ///
    /// There is always a voice: where the wanted one is not to be had, another one speaks and a
    /// notice says why and what to do.
    pub fn open(settings: Settings) -> (Speaker, Vec<Notice>) {
        let mut notices = Vec::new();
        let chain = chain::open(&settings, &mut notices);
        if settings.cache.is_none() {
            notices.push(Notice::new("there is no folder to keep spoken lines in"));
        }
        let maker = Arc::new(Maker {
            voices: links(chain.voices, chain.lexicons),
            language: chain.language,
            clarity: settings.clarity,
            cache: Cache::new(settings.cache, settings.cache_limit),
            closing: AtomicBool::new(false),
            notices: Mutex::default(),
        });
        let make = {
            let maker = Arc::clone(&maker);
            Arc::new(move |job: &Job| maker.make(job))
        };
        let workers = settings.workers.clamp(1, serve::WORKERS);
        let queue = Queue::new(workers, make);
        let speaker = Speaker {
            system: chain.system.map(Arc::new),
            queue,
            maker,
        };
        (speaker, notices)
    }

    /// Returns the name of the voice.
    pub fn name(&self) -> &str {
        &self.info().name
    }

    /// Returns what is known of the voice.
    pub fn info(&self) -> &VoiceInfo {
        match &self.system {
            Some(system) => system.info(),
            None => self.maker.first().info(),
        }
    }

    /// Returns how far speech is shaped.
    pub fn clarity(&self) -> Clarity {
        self.maker.clarity
    }

    /// Returns whether what was spoken once is kept, and need not be made again.
    pub fn keeps(&self) -> bool {
        self.maker.cache.keeps()
    }

    /// Returns what the voice is known by: all of it that changes its samples.
    pub fn id(&self) -> String {
        let voice = self.maker.first().id();
        format!("{voice}+{}", self.maker.clarity.word())
    }

    /// Returns the name of the voice that speaks what the system's cannot.
    pub fn next_name(&self) -> &str {
        &self.maker.first().info().name
    }

    /// Returns the system's voice, where that speaks the lines: whoever plays them tells it when.
    pub fn system(&self) -> Option<&Arc<System>> {
        self.system.as_ref()
    }

    /// Returns the estimate of lengths for the voice.
    pub fn estimate(&self) -> Estimate {
        match &self.system {
            Some(_) => Estimate::of_system(&self.maker.language),
            None => Estimate::of(self.info()),
        }
    }

    /// Speaks lines, whose onset may be a few hundredths of a second late: as [`Speaker::takes`], or, by
    /// the system's voice while it works, as silence of their estimated length.
    pub fn lines(&self, utterances: &[Utterance]) -> Vec<Result<Take, VoiceError>> {
        if !self.system.as_ref().is_some_and(|system| system.works()) {
            return self.takes(utterances);
        }
        let silence = |wanted: &Utterance| {
            self.normalised(&wanted.text)?;
            Ok(Take::of_silence(self.lasts(wanted)))
        };
        utterances.iter().map(silence).collect()
    }

    /// Speaks one line; see [`Speaker::lines`].
    ///
    /// # Errors
    ///
    /// As for [`Speaker::takes`].
    pub fn line(&self, utterance: &Utterance) -> Result<Take, VoiceError> {
        let mut takes = self.lines(std::slice::from_ref(utterance));
        takes.pop().unwrap_or_else(|| Err(no_answer()))
    }

    /// Returns how long a line is estimated to last, in the words that are spoken of it.
    pub fn lasts(&self, utterance: &Utterance) -> Millis {
        let text = self.normalised(&utterance.text).unwrap_or_default();
        self.estimate().length(&text, utterance.rate)
    }

    /// Has the system's voice speak a line that should last so long.
    pub fn say_aloud(&self, utterance: &Utterance, lasts: Millis) {
        if let (Some(system), Ok(text)) = (&self.system, self.normalised(&utterance.text)) {
            system.say(&text, utterance.rate, lasts);
        }
    }

    /// Speaks texts on all cores; waits for all of them.
    ///
    /// The answers are in the order of the texts. The same text is made once. They are made in an order by
    /// chance: processes that share a cache and need the same texts seldom make the same one,
    /// for each looks into the cache before it makes one.
    pub fn takes(&self, utterances: &[Utterance]) -> Vec<Result<Take, VoiceError>> {
        let (reply, answers) = mpsc::channel();
        let jobs: Vec<Result<Job, VoiceError>> =
            utterances.iter().map(|wanted| self.job(wanted)).collect();
        let mut made: HashMap<Key, Result<Take, VoiceError>> = HashMap::new();
        let mut missing = Vec::new();
        for job in jobs.iter().flatten() {
            if made.contains_key(&job.key) {
                continue;
            }
            let kept = self.maker.cache.get(&job.key);
            if kept.is_none() {
                missing.push(job);
            }
            made.insert(job.key.clone(), kept.ok_or_else(no_answer));
        }
        let order = RandomState::new();
        missing.sort_by_cached_key(|job| order.hash_one(&job.key));
        let asked = missing.len();
        for job in missing {
            self.queue.now(job.clone(), reply.clone());
        }
        drop(reply);
        for (key, take) in answers.iter().take(asked) {
            made.insert(key, take);
        }
        jobs.into_iter()
            .map(|job| {
                let job = job?;
                let take = made.get(&job.key).cloned();
                take.unwrap_or_else(|| Err(no_answer()))
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
            .unwrap_or_else(|| Err(no_answer()))
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

    /// Returns the process id of the voice's engine, if one runs; for tests and measurements.
    pub fn engine_process(&self) -> Option<u32> {
        self.maker.first().process_id()
    }

    fn job(&self, wanted: &Utterance) -> Result<Job, VoiceError> {
        let text = self.normalised(&wanted.text)?;
        Ok(self.maker.job(text, wanted.rate))
    }

    /// The words of a text, if there are any and not too many.
    fn normalised(&self, written: &str) -> Result<String, VoiceError> {
        let language = normalise::language(&self.maker.language);
        let text = normalise::normalise(written, language);
        if text.is_empty() {
            let text = shown(written);
            return Err(VoiceError::Text(format!(
                "there is nothing to say in {text:?}"
            )));
        }
        if text.len() > chunk::LONGEST {
            return Err(VoiceError::Text(format!(
                "at most {} characters are spoken at once, {} found in {:?}",
                chunk::LONGEST,
                text.len(),
                shown(written)
            )));
        }
        Ok(text)
    }
}

impl Drop for Speaker {
    fn drop(&mut self) {
        // The queue waits for its threads; they must not wait for a child that hangs.
        self.maker.closing.store(true, Ordering::SeqCst);
        for link in &self.maker.voices {
            link.voice.close();
        }
    }
}

/// Does the work for the queue's threads.
struct Maker {
    /// In the order in which they are asked; never empty.
    voices: Vec<Link>,
    /// The language of the texts.
    language: String,
    clarity: Clarity,
    cache: Cache,
    closing: AtomicBool,
    notices: Mutex<Vec<Notice>>,
}

impl Maker {
    /// The voice that is asked first.
    fn first(&self) -> &dyn Voice {
        &*self.voices[0].voice
    }

    /// What the cache knows a line by: plain ones as before there was anything else.
    fn key(&self, voice: &dyn Voice, text: &str, rate: Rate) -> Key {
        match self.clarity {
            Clarity::Plain => Key::new(voice.id(), text, rate),
            shaped => Key::new(&format!("{}+{}", voice.id(), shaped.word()), text, rate),
        }
    }

    fn make(&self, job: &Job) -> Result<Take, VoiceError> {
        let mut last = None;
        for (at, link) in self.voices.iter().enumerate() {
            let job = self.job_for(link, job);
            if let Some(kept) = self.cache.get(&job.key) {
                return Ok(kept);
            }
            if link.gave_up.load(Ordering::SeqCst) {
                continue;
            }
            match self.speak(&*link.voice, &job) {
                Ok(take) => {
                    link.failures.store(0, Ordering::SeqCst);
                    return Ok(take);
                }
                Err(error) if self.closing.load(Ordering::SeqCst) => return Err(error),
                Err(error) => {
                    if let Some(next) = self.voices.get(at + 1) {
                        self.failed(link, &next.voice.info().name, &job, &error);
                    }
                    last = Some(error);
                }
            }
        }
        Err(last.unwrap_or_else(|| VoiceError::Engine("no voice is left".to_owned())))
    }

    /// The job of a normalised text, by the take that the first voice would make.
    fn job(&self, text: String, rate: Rate) -> Job {
        let job = Job {
            key: self.key(self.first(), &text, rate),
            text,
            rate,
        };
        Job {
            key: self.job_for(&self.voices[0], &job).key,
            ..job
        }
    }

    /// The job as a voice of the chain is given it: in words that it knows, said as it is told.
    fn job_for(&self, link: &Link, job: &Job) -> Job {
        let info = link.voice.info();
        let text = match info.speaks_language(&self.language) {
            true => job.text.clone(),
            false => normalise::normalise(&job.text, normalise::language(&info.language)),
        };
        let text = link.pronounced.apply(&text);
        let text = match info.engine {
            EngineKind::Neural | EngineKind::Compact => text,
            EngineKind::Espeak | EngineKind::System => pronounce::without_sounds(&text),
        };
        Job {
            key: self.key(&*link.voice, &text, job.rate),
            text,
            rate: job.rate,
        }
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

    /// Notes that a voice failed at a text, and gives up on it when there is no point in trying.
    fn failed(&self, link: &Link, next: &str, job: &Job, error: &VoiceError) {
        let name = &link.voice.info().name;
        let hopeless = match error {
            VoiceError::Text(_) => false,
            VoiceError::Model(_) => true,
            VoiceError::Engine(_) => link.failures.fetch_add(1, Ordering::SeqCst) + 1 >= FAILURES,
        };
        if hopeless {
            link.gave_up.store(true, Ordering::SeqCst);
        }
        // Once: whether it is for this text or for good makes no difference to a listener.
        if !link.told.swap(true, Ordering::SeqCst) {
            let message = match hopeless {
                true => format!("{error}. The {next} voice speaks instead of {name}"),
                false => format!(
                    "{error}. The {next} voice says {:?} and what else {name} cannot",
                    shown(&job.text)
                ),
            };
            self.notice(message);
        }
    }

    fn notice(&self, message: impl Into<String>) {
        let mut notices = self.notices.lock().unwrap_or_else(PoisonError::into_inner);
        notices.push(Notice::new(message));
    }
}

fn no_answer() -> VoiceError {
    VoiceError::Engine("no answer".to_owned())
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
