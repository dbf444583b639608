//! Texts as HTML.

/// Writes a text so that it is one in HTML and SVG, in an attribute too; what no page can hold is left out.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            '\'' => out += "&#39;",
            c if c.is_control() => out.push(' '),
            // Noncharacters are a parse error in HTML.
            '\u{fdd0}'..='\u{fdef}' => {}
            c if u32::from(c) & 0xfffe == 0xfffe => {}
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_a_text_is_markup() {
        for (text, written) in [
            ("<b>&amp;\"'", "&lt;b&gt;&amp;amp;&quot;&#39;"),
            ("a\u{0}\n\u{7f}\u{fffe}\u{fdd0}b", "a   b"),
            ("Übung 🚣", "Übung 🚣"),
        ] {
            assert_eq!(escaped(text), written);
        }
    }
}
