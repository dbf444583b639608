//! Edits of a session's file, its comments and layout kept.

use super::Edit;
use super::Length;
use super::Time;
use super::text::talk;
use toml_edit::DocumentMut;
use toml_edit::InlineTable;
use toml_edit::Item;
use toml_edit::TableLike;
use toml_edit::Value;

/// Makes edits in the text of a session.
///
/// # Errors
///
/// Says what was not found: the text is not the one that the edits were made for.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, String> {
    let mut document: DocumentMut = text
        .parse()
        .map_err(|error: toml_edit::TomlError| error.message().to_owned())?;
    for edit in edits {
        match edit {
            Edit::Length { what, to } => length(&mut document, *what, &to.to_string())?,
            Edit::Talk { to } => set(document.as_table_mut(), "talk", talk(*to)),
            Edit::TalkAt { block, of, to } => {
                of_use(&mut document, (*block, *of), "talk", talk(*to))?
            }
        }
    }
    Ok(document.to_string())
}

fn length(document: &mut DocumentMut, what: Length, to: &str) -> Result<(), String> {
    match what {
        Length::LeadIn => set(document.as_table_mut(), "lead_in", to),
        Length::Finish => set(document.as_table_mut(), "finish", to),
        Length::RestAfter { block, of } => of_use(document, (block, of), "rest", to)?,
        Length::Of { block, time, round } => {
            let table = table_of(document, block)?;
            let Some(round) = round else {
                set(table, time.key(), to);
                return Ok(());
            };
            // One list serves for both where the other is not written.
            let key = match table.contains_key(time.key()) {
                true => time.key(),
                false => Time::Rest.key(),
            };
            let list = table.get_mut(key).and_then(Item::as_array_mut);
            let value = list.and_then(|list| list.get_mut(round));
            let value = value.ok_or_else(|| {
                format!(
                    "there is no `{key}` of round {} in block {} any more",
                    round + 1,
                    block + 1
                )
            })?;
            replace(value, to);
        }
    }
    Ok(())
}

/// A block, in whatever way it is written.
fn table_of(document: &mut DocumentMut, block: usize) -> Result<&mut dyn TableLike, String> {
    let found: Option<&mut dyn TableLike> = match document.get_mut("block") {
        Some(Item::ArrayOfTables(blocks)) => blocks.get_mut(block).map(|t| t as _),
        Some(Item::Value(Value::Array(blocks))) => blocks
            .get_mut(block)
            .and_then(Value::as_inline_table_mut)
            .map(|t| t as _),
        _ => None,
    };
    found.ok_or_else(|| format!("there is no block {} any more", block + 1))
}

/// Sets a key of a table, beside those that are there.
fn set(table: &mut dyn TableLike, key: &str, to: &str) {
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(value) => replace(value, to),
        None => {
            table.insert(key, toml_edit::value(to));
        }
    }
}

/// Puts another value in place of one, with what stands around it.
fn replace(value: &mut Value, to: &str) {
    let around = value.decor().clone();
    *value = Value::from(to);
    *value.decor_mut() = around;
}

/// Sets a key of a use of a movement; one that is a bare name becomes a table.
fn of_use(
    document: &mut DocumentMut,
    (block, of): (usize, usize),
    key: &str,
    to: &str,
) -> Result<(), String> {
    let gone = || {
        format!(
            "there is no movement {} in block {} any more",
            of + 1,
            block + 1
        )
    };
    let used = match table_of(document, block)?.get_mut("movements") {
        Some(Item::ArrayOfTables(uses)) => {
            set(uses.get_mut(of).ok_or_else(gone)?, key, to);
            return Ok(());
        }
        uses => uses
            .and_then(Item::as_array_mut)
            .and_then(|uses| uses.get_mut(of)),
    };
    let used = used.ok_or_else(gone)?;
    if let Some(name) = used.as_str().map(str::to_owned) {
        let mut table = InlineTable::new();
        table.insert("use", Value::from(name));
        let around = used.decor().clone();
        *used = Value::InlineTable(table);
        *used.decor_mut() = around;
    }
    let table = used
        .as_inline_table_mut()
        .ok_or_else(|| format!("movement {} of block {} is no use", of + 1, block + 1))?;
    match table.get_mut(key) {
        Some(value) => replace(value, to),
        None => {
            // The space before the closing brace stands after the last value.
            let mut value = Value::from(to);
            if let Some((_, last)) = table.iter_mut().last()
                && let Some(space) = last.decor().suffix().cloned()
            {
                last.decor_mut().set_suffix("");
                value.decor_mut().set_prefix(" ");
                value.decor_mut().set_suffix(space);
            }
            table.insert(key, value);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::units::Millis;
    use crate::planning::session::Talk;

    const TEXT: &str = "# The club's own.\ntitle = \"Short\"   # as on the board\ntalk = \"full\" # much\n\n\
        [[block]]\nwork = \"20s\"\nrest = \"10s\"\nmovements = [\n    # warm\n    \"march\", # easy\n    \
        { use = \"squat\", rest = \"12s\" , note = \"slowly\" },\n]\n";

    fn edit(what: Length, secs: i64) -> Edit {
        Edit::Length {
            what,
            to: Millis::from_secs(secs),
        }
    }

    #[test]
    fn each_way_of_writing_a_block_is_edited() {
        let of = |time, round| Length::Of {
            block: 0,
            time,
            round,
        };
        let written =
            |head: &str| format!("{head}\nmovements = [{{ use = \"squat\" }}, \"march\"]\n");
        let head = "[[block]]\nrest = [\"10s\", \"12s\"] # more\nevery = \"1m\"";
        let edits = [
            edit(of(Time::Rest, Some(1)), 14),
            edit(of(Time::Every, None), 70),
            edit(of(Time::BetweenRounds, None), 30),
            Edit::TalkAt {
                block: 0,
                of: 0,
                to: Talk::Quiet,
            },
        ];
        let wanted = "[[block]]\nrest = [\"10s\", \"14s\"] # more\nevery = \"1m10s\"\n\
            movements = [{ use = \"squat\", talk = \"quiet\" }, \"march\"]\nbetween_rounds = \"30s\"\n";
        assert_eq!(apply(&written(head), &edits).unwrap(), wanted);
        let inline = "block = [{ rest = \"10s\", movements = [\"squat\"] }]\n";
        let edited = apply(inline, &[edit(of(Time::Rest, None), 12)]).unwrap();
        assert_eq!(edited, inline.replace("10s", "12s"));
        let tables = "[[block]]\n[[block.movements]]\nuse = \"squat\"\n";
        let edited = apply(tables, &[edit(Length::RestAfter { block: 0, of: 0 }, 12)]).unwrap();
        assert_eq!(edited, format!("{tables}rest = \"12s\"\n"));
        // One list of rests is also that between rounds.
        let between = apply(
            &written(head),
            &[edit(of(Time::BetweenRounds, Some(0)), 15)],
        )
        .unwrap();
        assert!(
            between.contains("rest = [\"15s\", \"12s\"] # more"),
            "{between}"
        );
    }

    #[test]
    fn edits_keep_comments_and_layout() {
        let edits = [
            edit(Length::RestAfter { block: 0, of: 0 }, 13),
            edit(Length::RestAfter { block: 0, of: 1 }, 75),
            Edit::Talk { to: Talk::Normal },
            edit(Length::LeadIn, 40),
        ];
        let wanted = TEXT
            .replace("\"march\",", "{ use = \"march\", rest = \"13s\" },")
            .replace("\"12s\"", "\"1m15s\"")
            .replace(
                "talk = \"full\" # much\n",
                "talk = \"normal\" # much\nlead_in = \"40s\"\n",
            );
        assert_eq!(apply(TEXT, &edits).unwrap(), wanted);
    }

    #[test]
    fn an_edit_for_another_file_is_refused() {
        for (block, of) in [(1, 0), (0, 2)] {
            let edit = edit(Length::RestAfter { block, of }, 13);
            let refused = apply(TEXT, &[edit]).unwrap_err();
            assert!(refused.contains("any more"), "{refused}");
        }
        assert!(apply("title = \n", &[]).is_err());
    }
}
