//! The plan as JSON, format `sidevoice-plan/1`: integers, in ms from the start of the session.

use super::Speaking;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Sources;
use crate::base::units::SampleRate;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::session::Session;
use crate::planning::timeline::Segment;
use serde::Serialize;

/// A word of a line: text, onset and end in ms from the start of the session.
pub type Words = Vec<(String, i64, i64)>;

#[derive(Serialize)]
struct PlanJson<'a> {
    format: &'static str,
    session: &'a str,
    /// Who speaks: the name of a voice, or of a person.
    voice: &'a str,
    /// The person, if it is one.
    speaker: Option<Speaking<'a>>,
    sample_rate: u32,
    length_ms: i64,
    segments: Vec<SegmentJson<'a>>,
    sounds: Vec<SoundJson<'a>>,
    left_out: Vec<LeftOutJson<'a>>,
    diagnostics: Vec<DiagnosticJson<'a>>,
}

#[derive(Serialize)]
struct SegmentJson<'a> {
    index: usize,
    kind: &'static str,
    start_ms: i64,
    end_ms: i64,
    open: bool,
    nominal_ms: Option<i64>,
    block: Option<&'a str>,
    round: Option<usize>,
    rounds: Option<usize>,
    movement: Option<&'a str>,
    name: Option<&'a str>,
    side: Option<&'static str>,
}

#[derive(Serialize)]
struct SoundJson<'a> {
    kind: &'static str,
    onset_ms: i64,
    end_ms: i64,
    segment: usize,
    text: &'a str,
    tone: Option<&'static str>,
    line: Option<&'a str>,
    cue: Option<&'static str>,
    wording: Option<&'static str>,
    rate: f64,
    words: Vec<WordJson>,
}

#[derive(Serialize)]
struct WordJson {
    text: String,
    onset_ms: i64,
    end_ms: i64,
}

#[derive(Serialize)]
struct LeftOutJson<'a> {
    line: &'a str,
    segment: usize,
    text: &'a str,
    reason: &'a str,
    lacks_ms: i64,
}

/// A diagnostic in JSON.
#[derive(Serialize)]
pub struct DiagnosticJson<'a> {
    code: &'static str,
    level: &'static str,
    message: &'a str,
    file: &'a str,
    line: usize,
    column: usize,
    help: &'a str,
}

impl<'a> DiagnosticJson<'a> {
    /// Makes the JSON of a diagnostic.
    pub fn new(d: &'a Diagnostic, sources: &'a Sources) -> Self {
        let at = sources.position(d.place);
        Self {
            code: d.code.text(),
            level: d.level.word(),
            message: &d.message,
            file: sources.path(d.place.source),
            line: at.line,
            column: at.column,
            help: &d.help,
        }
    }
}

/// Writes the plan as JSON. `words` gives the words of a sound, where the engine knows them.
pub fn json(
    plan: &Plan,
    session: &Session,
    speaker: Option<Speaking>,
    diagnostics: &[Diagnostic],
    sources: &Sources,
    words: impl Fn(&Sound) -> Words,
) -> String {
    let whole = PlanJson {
        format: "sidevoice-plan/1",
        session: &plan.title,
        voice: &plan.voice,
        speaker,
        sample_rate: SampleRate::OUTPUT.hz(),
        length_ms: plan.timeline.end().ms(),
        segments: plan
            .timeline
            .segments
            .iter()
            .enumerate()
            .map(|(index, s)| segment(plan, session, index, s))
            .collect(),
        sounds: plan.sounds.iter().map(|s| sound(s, words(s))).collect(),
        left_out: plan
            .left_out
            .iter()
            .map(|l| LeftOutJson {
                line: &l.line,
                segment: l.segment,
                text: &l.text,
                reason: &l.reason,
                lacks_ms: l.lacks.ms(),
            })
            .collect(),
        diagnostics: diagnostics
            .iter()
            .map(|d| DiagnosticJson::new(d, sources))
            .collect(),
    };
    pretty(&whole)
}

/// Writes JSON with two spaces of indent and a final line feed.
pub fn pretty(value: &impl Serialize) -> String {
    // Only maps with keys that are no strings fail, and none is written here.
    serde_json::to_string_pretty(value).unwrap_or_default() + "\n"
}

fn segment<'a>(
    plan: &'a Plan,
    session: &'a Session,
    index: usize,
    segment: &Segment,
) -> SegmentJson<'a> {
    let work = segment.work.map(|w| &plan.timeline.works[w]);
    // A rest belongs to the round that it follows, and has no movement of its own.
    let own = work.filter(|_| segment.kind == crate::planning::timeline::SegmentKind::Work);
    // On stations all movements are done at once.
    let one = own.filter(|w| !w.stations);
    let movement = one.map(|w| session.movement(w.movement_use(session)));
    SegmentJson {
        index,
        kind: segment.kind.word(),
        start_ms: segment.start.ms(),
        end_ms: segment.end.ms(),
        open: segment.open,
        nominal_ms: segment.open.then_some(segment.length().ms()),
        block: work.and_then(|w| w.block(session).title.as_deref()),
        round: work.map(|w| w.round + 1),
        rounds: work.map(|w| w.block(session).rounds),
        movement: movement.map(|m| m.id.as_str()),
        name: movement.map(|m| m.name.as_str()),
        side: own.and_then(|w| w.side).map(|s| s.id()),
    }
}

fn sound(sound: &Sound, words: Words) -> SoundJson<'_> {
    let (kind, tone, line) = match &sound.kind {
        SoundKind::Tone(tone) => ("tone", Some(tone.word()), None),
        SoundKind::Count => ("count", None, None),
        SoundKind::Line { id, topic, length } => ("line", None, Some((id, topic, length))),
    };
    SoundJson {
        kind,
        onset_ms: sound.onset.ms(),
        end_ms: sound.end.ms(),
        segment: sound.segment,
        text: &sound.text,
        tone,
        line: line.map(|(id, ..)| id.as_str()),
        cue: line.map(|(_, topic, _)| topic.word()),
        wording: line.map(|(.., length)| length.word()),
        rate: f64::from(sound.rate.per_mille()) / 1000.0,
        words: words
            .into_iter()
            .map(|(text, onset_ms, end_ms)| WordJson {
                text,
                onset_ms,
                end_ms,
            })
            .collect(),
    }
}
