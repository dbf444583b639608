//! Edits of a session's file, its comments and layout kept.

use super::Edit;
use super::text::talk;
use crate::base::units::Millis;
use toml_edit::DocumentMut;
use toml_edit::InlineTable;
use toml_edit::Item;
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
            Edit::LeadIn { to } => set(&mut document, "lead_in", &to.to_string()),
            Edit::Finish { to } => set(&mut document, "finish", &to.to_string()),
            Edit::Talk { to } => set(&mut document, "talk", talk(*to)),
            Edit::Rest { block, of, to } => rest(&mut document, *block, *of, *to)?,
        }
    }
    Ok(document.to_string())
}

/// Sets a key of the top, beside those that are there: never below a table.
fn set(document: &mut DocumentMut, key: &str, to: &str) {
    match document.get_mut(key) {
        Some(item) => put(item, to),
        None => {
            document.insert(key, toml_edit::value(to));
        }
    }
}

/// Puts another value in place of one, with what stands around it.
fn put(item: &mut Item, to: &str) {
    let around = item.as_value().map(|value| value.decor().clone());
    let mut value = Value::from(to);
    if let Some(around) = around {
        *value.decor_mut() = around;
    }
    *item = Item::Value(value);
}

fn rest(document: &mut DocumentMut, block: usize, of: usize, to: Millis) -> Result<(), String> {
    let blocks = document
        .get_mut("block")
        .and_then(Item::as_array_of_tables_mut);
    let uses = blocks
        .and_then(|blocks| blocks.get_mut(block))
        .and_then(|block| block.get_mut("movements"))
        .and_then(Item::as_array_mut);
    let used = uses.and_then(|uses| uses.get_mut(of));
    let used = used.ok_or_else(|| {
        format!(
            "there is no movement {} in block {} any more",
            of + 1,
            block + 1
        )
    })?;
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
    match table.get_mut("rest") {
        Some(value) => {
            let around = value.decor().clone();
            *value = Value::from(to.to_string());
            *value.decor_mut() = around;
        }
        None => {
            table.insert("rest", Value::from(to.to_string()));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planning::session::Talk;

    const TEXT: &str = "# The club's own.\ntitle = \"Short\"   # as on the board\ntalk = \"full\" # much\n\n\
        [[block]]\nwork = \"20s\"\nrest = \"10s\"\nmovements = [\n    # warm\n    \"march\", # easy\n    \
        { use = \"squat\", rest = \"12s\" , note = \"slowly\" },\n]\n";

    #[test]
    fn edits_keep_comments_and_layout() {
        let edits = [
            Edit::Rest {
                block: 0,
                of: 0,
                to: Millis::from_secs(13),
            },
            Edit::Rest {
                block: 0,
                of: 1,
                to: Millis::from_secs(75),
            },
            Edit::Talk { to: Talk::Normal },
            Edit::LeadIn {
                to: Millis::from_secs(40),
            },
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
        let edit = |block, of| Edit::Rest {
            block,
            of,
            to: Millis::from_secs(13),
        };
        for edit in [edit(1, 0), edit(0, 2)] {
            let refused = apply(TEXT, &[edit]).unwrap_err();
            assert!(refused.contains("any more"), "{refused}");
        }
        assert!(apply("title = \n", &[]).is_err());
    }
}
