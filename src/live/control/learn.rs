//! Writes what was learned of a device into the text of a configuration; all else in it, comments
//! too, stays as it is.

use super::Action;
use super::DeviceAt;
use std::collections::BTreeMap;
use toml_edit::ArrayOfTables;
use toml_edit::DocumentMut;
use toml_edit::InlineTable;
use toml_edit::Item;
use toml_edit::Table;
use toml_edit::value;

/// Returns the text with the buttons of a device in it: those of a device that is there already
/// are replaced.
///
/// # Errors
///
/// Says why the text cannot be added to.
pub fn written(
    text: &str,
    at: &DeviceAt,
    buttons: &BTreeMap<u16, Action>,
    one_button: bool,
) -> Result<String, String> {
    let mut document: DocumentMut = text
        .parse()
        .map_err(|error| format!("it is not valid TOML: {error}"))?;
    let devices = document
        .entry("device")
        .or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()))
        .as_array_of_tables_mut()
        .ok_or("expected each device under its own `[[device]]`, in two brackets")?;
    let (key, name) = match at {
        DeviceAt::Path(path) => ("path", path.display().to_string()),
        DeviceAt::Name(name) => ("name", name.clone()),
    };
    let is_it = |table: &Table| table.get(key).and_then(Item::as_str) == Some(&name);
    let there = devices.iter().position(is_it);
    let index = there.unwrap_or_else(|| {
        let mut table = Table::new();
        table.insert(key, value(name));
        devices.push(table);
        devices.len() - 1
    });
    let Some(table) = devices.get_mut(index) else {
        return Err("the device is not there any more".to_owned());
    };
    table.remove("one_button");
    table.remove("buttons");
    if !buttons.is_empty() {
        let mut inline = InlineTable::new();
        for (code, action) in buttons {
            inline.insert(code.to_string(), action.text().into());
        }
        table.insert("buttons", value(inline));
    }
    if one_button {
        table.insert("one_button", value(true));
    }
    Ok(document.to_string())
}

#[cfg(test)]
mod tests {
    use super::super::Verb;
    use super::*;

    #[test]
    fn what_was_learned_is_written_and_comments_are_kept() {
        let pedal = DeviceAt::Name("Foot pedal".to_owned());
        let skip = BTreeMap::from([
            (104, Action::Tell(Verb::Back)),
            (109, Action::Tell(Verb::Skip)),
        ]);
        let text = "# Mine.\n[keys]\ns = \"none\"   # too near to the space bar\n";
        let first = written(text, &pedal, &skip, false).unwrap();
        assert_eq!(
            first,
            format!(
                "{text}\n[[device]]\nname = \"Foot pedal\"\n\
                 buttons = {{ 104 = \"back\", 109 = \"skip\" }}\n"
            )
        );
        let other = DeviceAt::Path("/dev/input/event7".into());
        let both = written(&first, &other, &BTreeMap::new(), true).unwrap();
        assert!(
            both.starts_with(&first) && both.contains("one_button = true"),
            "{both}"
        );
        // Learned again, it is replaced.
        let again = written(&both, &pedal, &BTreeMap::new(), true).unwrap();
        assert_eq!(again.matches("Foot pedal").count(), 1);
        assert!(
            !again.contains("buttons = {") && again.contains("near to the space"),
            "{again}"
        );
        assert!(written("[keys", &pedal, &skip, false).is_err());
        assert!(written("device = 5\n", &pedal, &skip, false).is_err());
    }
}
