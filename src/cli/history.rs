//! `history`: what was done, the load of the weeks, and the effort felt told later.

use super::Done;
use super::Failure;
use super::complain;
use super::print;
use crate::base::wording::Wording;
use crate::live::history;
use crate::live::history::Ended;
use crate::live::history::RateError;
use crate::live::history::Record;
use crate::live::history::Run;
use crate::live::history::Week;
use crate::publish::json::pretty;
use clap::Args;
use clap::Subcommand;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::Serialize;
use std::path::Path;
use std::path::PathBuf;

#[derive(Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct Options {
    #[command(subcommand)]
    action: Option<Action>,
    /// The session folder.
    #[arg(default_value = ".")]
    folder: PathBuf,
    /// Print JSON for other programs.
    #[arg(long)]
    json: bool,
    /// Say tables as sentences.
    #[arg(long)]
    plain: bool,
}

#[derive(Subcommand)]
enum Action {
    /// Tell how hard the last run felt that has no answer yet.
    Rate {
        /// The effort felt, 0 to 10, or `skip`.
        #[arg(value_parser = answer)]
        felt: Answer,
        /// The session folder.
        #[arg(default_value = ".")]
        folder: PathBuf,
    },
}

/// A number, or that it stays open.
#[derive(Debug, Clone, Copy)]
struct Answer(Option<u8>);

fn answer(text: &str) -> Result<Answer, String> {
    match (text, text.parse()) {
        ("skip", _) => Ok(Answer(None)),
        (_, Ok(felt)) if felt <= 10 => Ok(Answer(Some(felt))),
        _ => Err("expected a number from 0 to 10, or `skip`".to_owned()),
    }
}

pub fn run(options: Options) -> Done {
    match options.action {
        Some(Action::Rate { felt, folder }) => rate(&folder, felt.0),
        None => show(&options.folder, options.json, options.plain),
    }
}

fn rate(folder: &Path, felt: Option<u8>) -> Done {
    there(folder)?;
    let run = history::rate(folder, felt, Timestamp::now()).map_err(|error| {
        Failure::File(match error {
            RateError::GoesOn => format!("{error}: tell the effort when it has ended"),
            RateError::NoneWaits => format!("{error}, or no work was begun in it"),
            RateError::File(_) => error.to_string(),
        })
    })?;
    let told = match run.load() {
        Some(load) => format!("load {load:.0}"),
        None => "left open".to_owned(),
    };
    let when = minute(run.time, &TimeZone::system());
    print(&format!("{} of {when}: {told}.\n", run.began.title))
}

fn there(folder: &Path) -> Done {
    if folder.is_dir() {
        return Ok(());
    }
    complain(&format!(
        "sidevoice: expected a session folder, found none at {}.\n",
        folder.display()
    ));
    Err(Failure::Faults)
}

fn show(folder: &Path, json: bool, plain: bool) -> Done {
    there(folder)?;
    let zone = TimeZone::system();
    let record = history::read(folder);
    let weeks = history::weeks(&record.runs, Timestamp::now(), &zone);
    if json {
        return print(&pretty(&contract(&record, &weeks)));
    }
    for fault in &record.faults {
        complain(&format!("sidevoice: {fault}\n"));
    }
    if record.runs.is_empty() {
        return print(
            "Nothing is written down here yet. `sidevoice run SESSION` writes what is done to log/, \
             one file a run.\n",
        );
    }
    print(&if plain {
        sentences(&record, &weeks, &zone)
    } else {
        tables(&record, &weeks, &zone)
    })
}

const SAYS: &str = "Load is the effort felt times the minutes. Monotony is the mean of the seven daily loads by their\n\
                    standard deviation over n, strain the load of the week times that (Foster 1998); both once the\n\
                    week is over and each run of it has its effort.\n";

fn tables(record: &Record, weeks: &[Week], zone: &TimeZone) -> String {
    let titles = record
        .runs
        .iter()
        .map(|run| run.began.title.chars().count());
    let wide = titles.max().unwrap_or(0).max("session".len());
    let mut text = format!(
        "{:<16}  {:<wide$}  minutes  {:>9}  effort  load\n",
        "when", "session", "works"
    );
    for run in &record.runs {
        text += &format!(
            "{}  {:<wide$}  {:>7.1}  {:>9}  {:>6}  {:>4}  {}\n",
            minute(run.time, zone),
            run.began.title,
            run.minutes(),
            format!("{} of {}", run.done(), run.began.works),
            felt(run),
            number(run.load(), 0),
            ended(run)
        );
        text.truncate(text.trim_end().len());
        text.push('\n');
    }
    text += "\nweek from   runs  load  monotony  strain\n";
    for week in weeks {
        text += &format!(
            "{}  {:>4}  {:>4.0}  {:>8}  {:>6}{}{}\n",
            week.monday,
            week.runs,
            week.load(),
            number(week.monotony(), 2),
            number(week.strain(), 0),
            if week.whole { "" } else { "  so far" },
            match week.unrated {
                0 => String::new(),
                n => format!("  {n} without an effort"),
            }
        );
    }
    text + "\n" + SAYS + &left(record)
}

fn sentences(record: &Record, weeks: &[Week], zone: &TimeZone) -> String {
    let mut text = String::new();
    for run in &record.runs {
        let effort = match (run.rate(), run.load()) {
            (Some(Some(felt)), Some(load)) => format!("effort felt {felt}, load {load:.0}"),
            (Some(_), _) => "effort left open".to_owned(),
            (None, _) => "effort not told yet".to_owned(),
        };
        let ended = match ended(run) {
            "" => "finished",
            other => other,
        };
        text += &format!(
            "{}, {}: {:.1} minutes, {} of {} works done, {effort}, {ended}.\n",
            minute(run.time, zone),
            run.began.title,
            run.minutes(),
            run.done(),
            run.began.works,
        );
    }
    for week in weeks {
        text += &format!(
            "Week from {}{}: load {:.0}, runs {}, without an effort {}, monotony {}, strain {}.\n",
            week.monday,
            if week.whole { "" } else { ", so far" },
            week.load(),
            week.runs,
            week.unrated,
            number(week.monotony(), 2).replace('-', "not known"),
            number(week.strain(), 0).replace('-', "not known"),
        );
    }
    text + SAYS + &left(record)
}

/// Says where sessions were left.
fn left(record: &Record) -> String {
    let wording = Wording::english();
    let left = history::unfinished(&record.runs);
    left.values()
        .map(|at| at.sentence(&wording) + "\n")
        .collect()
}

fn minute(time: Timestamp, zone: &TimeZone) -> String {
    let local = time.to_zoned_datetime(zone.clone());
    local.strftime("%Y-%m-%d %H:%M").to_string()
}

fn felt(run: &Run) -> String {
    match run.rate() {
        Some(Some(felt)) => felt.to_string(),
        Some(None) => "open".to_owned(),
        None => "-".to_owned(),
    }
}

fn ended(run: &Run) -> &'static str {
    match run.ended() {
        Ended::Finished => "",
        Ended::Stopped => "stopped",
        Ended::BrokenOff => "broken off",
        Ended::NotYet => "goes on",
    }
}

fn number(value: Option<f64>, digits: usize) -> String {
    value.map_or("-".to_owned(), |value| format!("{value:.digits$}"))
}

#[derive(Serialize)]
struct HistoryJson<'a> {
    format: &'static str,
    /// By what the squares are divided in the standard deviation of monotony.
    deviation_over: &'static str,
    runs: Vec<RunJson<'a>>,
    weeks: Vec<WeekJson>,
    unfinished: Vec<UnfinishedJson>,
    faults: Vec<FaultJson>,
}

#[derive(Serialize)]
struct RunJson<'a> {
    time: Timestamp,
    file: String,
    session: &'a str,
    title: &'a str,
    ended: &'static str,
    minutes: f64,
    planned_works: usize,
    done_works: usize,
    felt: Option<u8>,
    answered: bool,
    load: Option<f64>,
}

#[derive(Serialize)]
struct WeekJson {
    monday: String,
    whole: bool,
    runs: usize,
    unrated: usize,
    days: [f64; 7],
    load: f64,
    monotony: Option<f64>,
    strain: Option<f64>,
}

#[derive(Serialize)]
struct UnfinishedJson {
    session: String,
    said: String,
    work: usize,
    over: bool,
    at_ms: i64,
    hash: String,
}

#[derive(Serialize)]
struct FaultJson {
    file: String,
    line: Option<usize>,
    message: String,
}

fn contract<'a>(record: &'a Record, weeks: &[Week]) -> HistoryJson<'a> {
    let wording = Wording::english();
    let runs = record.runs.iter().map(|run| RunJson {
        time: run.time,
        file: run.file.display().to_string(),
        session: &run.began.session,
        title: &run.began.title,
        ended: run.ended().word(),
        minutes: hundredths(run.minutes()),
        planned_works: run.began.works,
        done_works: run.done(),
        felt: run.rate().flatten(),
        answered: run.rate().is_some(),
        load: run.load().map(hundredths),
    });
    let weeks = weeks.iter().map(|week| WeekJson {
        monday: week.monday.to_string(),
        whole: week.whole,
        runs: week.runs,
        unrated: week.unrated,
        days: week.days.map(hundredths),
        load: hundredths(week.load()),
        monotony: week.monotony().map(hundredths),
        strain: week.strain().map(hundredths),
    });
    let left = history::unfinished(&record.runs).into_values();
    let unfinished = left.map(|at| UnfinishedJson {
        said: at.sentence(&wording),
        session: at.session,
        work: at.work.work,
        over: at.over,
        at_ms: at.at_ms,
        hash: at.hash,
    });
    let faults = record.faults.iter().map(|fault| FaultJson {
        file: fault.file.display().to_string(),
        line: fault.line,
        message: fault.message.clone(),
    });
    HistoryJson {
        format: "sidevoice-history/1",
        deviation_over: "n",
        runs: runs.collect(),
        weeks: weeks.collect(),
        unfinished: unfinished.collect(),
        faults: faults.collect(),
    }
}

fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
