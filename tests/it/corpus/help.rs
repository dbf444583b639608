//! Help that is followed helps: the word that was meant, put in its place, ends the fault.

use super::Kind;
use super::read;
use crate::common::read_text;
use sidevoice::base::diagnostic::Code;
use sidevoice::base::diagnostic::Diagnostic;

/// What a fault's help says to write, and what stands there then; `None` where help is advice.
fn followed(fault: &Diagnostic, text: &str) -> Option<String> {
    let span = fault.place.span();
    let meant = fault
        .help
        .strip_prefix("did you mean ")
        .map(|it| it.trim_end_matches('?'));
    if let Some(meant) = meant {
        let written = match meant.strip_prefix('`') {
            Some(key) => key.trim_end_matches('`'),
            None => meant,
        };
        return Some([&text[..span.start], written, &text[span.end..]].concat());
    }
    let line = fault
        .help
        .strip_prefix("add a line such as `")?
        .split_once("`")?
        .0;
    let rest = &text[span.start..];
    // Under its table's head, or at the very start; an inline table takes no lines.
    let at = match rest.starts_with("[[") {
        true => span.start + rest.find('\n')? + 1,
        false if span.is_empty() => 0,
        false => return None,
    };
    Some([&text[..at], line, "\n", &text[at..]].concat())
}

#[test]
fn a_fault_whose_help_is_followed_is_gone() {
    let mut tried = 0;
    for kind in [Kind::Session, Kind::Movement] {
        for path in kind.fixtures() {
            let text = read_text(&path);
            let name = path.file_name().unwrap().to_str().unwrap();
            let count = |found: &[Diagnostic], of: &Diagnostic| {
                let same = |d: &&Diagnostic| d.code == of.code && d.message == of.message;
                found.iter().filter(same).count()
            };
            let (before, _) = read(kind, name, &text);
            for fault in &before {
                let Some(changed) = followed(fault, &text) else {
                    continue;
                };
                tried += 1;
                let (after, _) = read(kind, name, &changed);
                assert!(
                    count(&after, fault) < count(&before, fault),
                    "{name}: {} stays, although its help was followed: {}\n{changed}",
                    fault.message,
                    fault.help
                );
                let broken = after.iter().find(|d| d.code == Code::Syntax);
                let was_broken = before.iter().any(|d| d.code == Code::Syntax);
                assert!(
                    was_broken || broken.is_none_or(|d| d.message.contains("duplicate key")),
                    "{name}: {} breaks the file: {broken:?}",
                    fault.help
                );
            }
        }
    }
    assert!(tried > 40, "{tried} helps followed");
}
