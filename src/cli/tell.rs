//! `tell` and `status`: what the running class is told and asked from another terminal.

use super::Done;
use super::Failure;
use super::print;
use crate::live::control::Status;
use crate::live::control::Verb;
use crate::live::control::socket;
use crate::live::control::socket::Client;
use crate::live::control::socket::NotReached;
use clap::Args;

#[derive(Args)]
pub struct Tell {
    /// A verb, with what belongs to it: `pause`, `rate 7`, `start SESSION`.
    #[arg(required = true, num_args = 1.., value_name = "VERB")]
    verb: Vec<String>,
}

#[derive(Args)]
pub struct Ask {
    /// Print JSON for other programs, a line each time.
    #[arg(long)]
    json: bool,
    /// Go on printing at each change, until the class ends.
    #[arg(long)]
    follow: bool,
}

/// The verbs, for help.
pub fn verbs() -> String {
    let words: Vec<_> = Verb::words().collect();
    format!("Verbs: {}.", words.join(", "))
}

pub fn tell(options: &Tell) -> Done {
    let verb = Verb::parse(&options.verb.join(" ")).map_err(|e| Failure::Usage(e.0))?;
    Ok(Client::connect(&socket::folder())?.tell(verb)?)
}

pub fn status(options: &Ask) -> Done {
    let mut client = Client::connect(&socket::folder())?;
    if !options.follow {
        return print(&line(&client.status()?, options.json));
    }
    let mut printed = Ok(());
    client.follow(|status| {
        printed = print(&line(&status, options.json));
        printed.is_ok()
    })?;
    printed
}

fn line(status: &Status, json: bool) -> String {
    if !json {
        return status.sentence() + "\n";
    }
    // A status is a flat record of texts and numbers, which JSON can hold.
    serde_json::to_string(status).unwrap_or_default() + "\n"
}

impl From<NotReached> for Failure {
    fn from(error: NotReached) -> Self {
        Failure::NotReached(error.to_string())
    }
}
