//! Punctuation: one mark and one space between two words, and no sign an engine could trip over.

/// Keeps words and the strongest mark of each run of punctuation between them.
///
/// Takes printable ASCII and letters beyond it; what is neither letter, digit nor known mark is a gap.
pub fn tidy(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = String::with_capacity(bytes.len());
    let mut at = 0;
    while at < bytes.len() {
        let start = at;
        if is_word(bytes[at]) {
            while at < bytes.len() && inside_word(bytes, at) {
                at += 1;
            }
            out.push_str(&text[start..at]);
        } else {
            while at < bytes.len() && !is_word(bytes[at]) {
                at += 1;
            }
            out.push_str(between(&text[start..at], out.is_empty(), bytes.get(at)));
        }
    }
    let end = out.trim_end_matches([' ', ',', ';', ':']).len();
    out.truncate(end);
    out
}

/// Whether the byte is of a letter or a digit; what is not ASCII is a letter by now.
fn is_word(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || !byte.is_ascii()
}

/// Whether the byte continues a word: a letter or digit, or a hyphen or apostrophe between two.
fn inside_word(bytes: &[u8], at: usize) -> bool {
    let word = |index: Option<usize>| {
        index
            .and_then(|index| bytes.get(index))
            .is_some_and(|byte| is_word(*byte))
    };
    word(Some(at))
        || (matches!(bytes[at], b'-' | b'\'') && word(at.checked_sub(1)) && word(Some(at + 1)))
}

/// What is left of a run of signs between two words.
fn between(run: &str, first: bool, next: Option<&u8>) -> &'static str {
    if first {
        return "";
    }
    let dots = run.bytes().filter(|byte| *byte == b'.').count();
    if run == "." && next.is_some() {
        // Inside `a.m` and `name.ending`: no stop.
        return " ";
    }
    if dots > 1 && next.is_some_and(u8::is_ascii_lowercase) && !run.contains(['?', '!']) {
        // An ellipsis in mid-sentence.
        return ", ";
    }
    for (mark, kept) in [
        ('?', "? "),
        ('!', "! "),
        ('.', ". "),
        (';', "; "),
        (':', ": "),
        (',', ", "),
        ('(', ", "),
        (')', ", "),
    ] {
        if run.contains(mark) {
            return kept;
        }
    }
    // A dash between spaces, or several in a row, is a pause.
    if run.contains('-') && run.len() > 1 {
        return ", ";
    }
    " "
}
