//! Shows diagnostics: with the lines they point at, or as plain sentences.

use super::Diagnostic;
use super::Level;
use super::Sources;
use annotate_snippets::AnnotationKind;
use annotate_snippets::Level as Title;
use annotate_snippets::Renderer;
use annotate_snippets::Snippet;

/// How diagnostics are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// The line of the file with the place marked; `colour` for a terminal.
    Marked { colour: bool },
    /// One sentence a diagnostic, for the ear and for pipes.
    Sentences,
}

/// Renders diagnostics, one after another, each ended by a line feed.
pub fn render(diagnostics: &[Diagnostic], sources: &Sources, style: Style) -> String {
    diagnostics
        .iter()
        .map(|d| match style {
            Style::Marked { colour } => marked(d, sources, colour) + "\n",
            Style::Sentences => sentence(d, sources),
        })
        .collect()
}

/// Longest line of a file that is shown whole; longer ones are told as a sentence.
const LONGEST_LINE_SHOWN: usize = 400;

fn marked(d: &Diagnostic, sources: &Sources, colour: bool) -> String {
    let text = sources.text(d.place.source);
    let span = clamp(d.place.span(), text);
    let line_start = text[..span.start].rfind('\n').map_or(0, |at| at + 1);
    let line_end = text[span.start..]
        .find('\n')
        .map_or(text.len(), |at| span.start + at);
    if text.is_empty() || line_end - line_start > LONGEST_LINE_SHOWN {
        return sentence(d, sources);
    }
    // Only the lines in question are handed over, so that a large file costs nothing.
    let line = sources.position(d.place).line;
    let local = span.start - line_start..span.end.min(line_end) - line_start;
    let snippet = Snippet::source(&text[line_start..line_end])
        .path(sources.path(d.place.source))
        .line_start(line)
        .annotation(AnnotationKind::Primary.span(local).label(&d.label));
    let title = match d.level {
        Level::Error => Title::ERROR,
        Level::Warning => Title::WARNING,
        Level::Advice => Title::NOTE.with_name("advice"),
    };
    let mut group = title
        .primary_title(&d.message)
        .id(d.code.text())
        .element(snippet);
    if !d.help.is_empty() {
        group = group.element(Title::HELP.message(&d.help));
    }
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    renderer.render(&[group]) + "\n"
}

fn sentence(d: &Diagnostic, sources: &Sources) -> String {
    let at = sources.position(d.place);
    let path = sources.path(d.place.source);
    let level = d.level.word();
    let message = d.message.trim_end_matches('.');
    let mut out = format!(
        "{path}, line {}, column {}: {level}: {message} [{}].",
        at.line,
        at.column,
        d.code.text()
    );
    if !d.help.is_empty() {
        out += " Help: ";
        out += &d.help;
        if !d.help.ends_with(['.', '?']) {
            out.push('.');
        }
    }
    out.push('\n');
    out
}

/// Keeps a span inside the text and on the borders of characters.
fn clamp(span: std::ops::Range<usize>, text: &str) -> std::ops::Range<usize> {
    let floor = |at: usize| {
        let mut at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let (start, end) = (floor(span.start), floor(span.end));
    start..end.max(start)
}

#[cfg(test)]
mod tests {
    use super::super::Code;
    use super::super::Place;
    use super::*;

    #[test]
    fn a_diagnostic_shows_its_line_and_its_help() {
        let mut sources = Sources::default();
        let id = sources.add("sessions/a.toml", "title = \"A\"\nruonds = 2\n");
        let d = Diagnostic::error(Code::KeyUnknown, Place::new(id, 12..18), "no such key")
            .label("unknown")
            .help("did you mean `rounds`?");
        let shown = render(
            std::slice::from_ref(&d),
            &sources,
            Style::Marked { colour: false },
        );
        assert!(shown.contains("sessions/a.toml:2:1"), "{shown}");
        assert!(shown.contains("did you mean `rounds`?"), "{shown}");
        let spoken = render(&[d], &sources, Style::Sentences);
        assert_eq!(
            spoken,
            "sessions/a.toml, line 2, column 1: error: no such key [key-unknown]. \
             Help: did you mean `rounds`?\n"
        );
    }
}
