//! Characters: anything -> printable ASCII and the letters of the language, without markup.

use crate::sound::speech::normalise::Language;

/// Turns letters with marks that the language does not have into plain ones, signs of other scripts into the ASCII ones that
/// `expand` reads, line breaks into stops, and drops what has no sound.
pub fn clean(text: &str, language: &Language) -> String {
    let words = &language.words;
    let spaced = |word: &str| format!(" {word}");
    let mut out = String::with_capacity(text.len() + 8);
    let text = without_markup(text);
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '\u{b0}' | '\u{ba}' if take_number_sign(&mut out) => {
                out.push_str(words.number);
                out.push(' ');
            }
            '\u{a0}' | '\u{202f}' if sets_off_thousands(&out, &chars) => {
                out.push(char::from(language.thousands));
            }
            c if language.letters.contains(c) => out.push(c),
            '\n' | '\r' | '\u{2028}' | '\u{2029}' => out.push_str(" . "),
            ' '..='~' => match c {
                '`' | '"' | '*' | '_' | '^' | '|' | '\\' => out.push(' '),
                '[' | '{' => out.push('('),
                ']' | '}' => out.push(')'),
                _ => out.push(c),
            },
            '\u{2018}' | '\u{2019}' | '\u{201b}' | '\u{2032}' | '\u{ff07}' | '\u{2bc}' => {
                out.push('\'');
            }
            '\u{2010}'..='\u{2013}' | '\u{2212}' | '\u{ff0d}' | '\u{fe63}' => out.push('-'),
            '\u{2014}' | '\u{2015}' => out.push_str(" - "),
            '\u{2026}' => out.push_str("..."),
            '\u{d7}' => out.push('x'),
            '\u{b7}' | '\u{2022}' | '\u{2190}'..='\u{21ff}' => out.push_str(", "),
            '\u{b0}' => degrees(&mut out, &mut chars, language),
            '\u{b2}' => out.push_str(&spaced(words.squared)),
            '\u{b3}' => out.push_str(&spaced(words.cubed)),
            '\u{2116}' => out.push('#'),
            '\u{2248}' => out.push('~'),
            '\u{2264}' => out.push('<'),
            '\u{2265}' => out.push('>'),
            '\u{3002}' => out.push_str(". "),
            '\u{3001}' => out.push_str(", "),
            // The full-width forms of ASCII lie at a fixed distance.
            '\u{ff01}'..='\u{ff5e}' => {
                out.extend(char::from_u32(u32::from(c) - 0xfee0));
            }
            // Invisible joiners inside a word leave no gap.
            '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2060}'..='\u{2064}' | '\u{feff}' => {}
            '\u{300}'..='\u{36f}' => put_on(&mut out, c, language),
            '\u{fe00}'..='\u{fe0f}' => {}
            _ => match fraction(c) {
                Some(fraction) => {
                    if out.ends_with(|last: char| last.is_ascii_digit()) {
                        out.push(' ');
                    }
                    out.push_str(fraction);
                }
                None => match plain(c) {
                    "" => out.push(' '),
                    letters => out.push_str(letters),
                },
            },
        }
    }
    out
}

/// Takes the `n` or `n.` of `n° 4` and `n.º 4` off the end, if it stands there as a word.
fn take_number_sign(out: &mut String) -> bool {
    let head = out.strip_suffix('.').unwrap_or(out);
    let Some(head) = head.strip_suffix(['n', 'N']) else {
        return false;
    };
    if head.ends_with(char::is_alphanumeric) {
        return false;
    }
    out.truncate(head.len());
    true
}

/// Whether a space that does not break a line stands between a digit and just three more.
fn sets_off_thousands(out: &str, chars: &std::iter::Peekable<std::str::Chars<'_>>) -> bool {
    let digits = chars.clone().take(4).take_while(char::is_ascii_digit);
    out.ends_with(|last: char| last.is_ascii_digit()) && digits.count() == 3
}

/// Puts a mark that comes by itself on the letter before it, if the language has that letter.
fn put_on(out: &mut String, mark: char, language: &Language) {
    let marks = [
        '\u{300}', '\u{301}', '\u{302}', '\u{303}', '\u{308}', '\u{327}',
    ];
    let rows = [
        "aàáâãä ",
        "eèéê ë ",
        "iìíî ï ",
        "oòóôõö ",
        "uùúû ü ",
        "n   ñ  ",
        "y ý  ÿ ",
        "c     ç",
        "AÀÁÂÃÄ ",
        "EÈÉÊ Ë ",
        "IÌÍÎ Ï ",
        "OÒÓÔÕÖ ",
        "UÙÚÛ Ü ",
        "N   Ñ  ",
        "Y Ý  Ÿ ",
        "C     Ç",
    ];
    let Some(column) = marks.iter().position(|known| *known == mark) else {
        return;
    };
    let Some(base) = out.chars().next_back() else {
        return;
    };
    let row = rows.iter().find(|row| row.starts_with(base));
    let whole = row.and_then(|row| row.chars().nth(column + 1));
    if let Some(whole) = whole.filter(|whole| language.letters.contains(*whole)) {
        out.pop();
        out.push(whole);
    }
}

fn degrees(
    out: &mut String,
    chars: &mut std::iter::Peekable<std::str::Chars<'_>>,
    language: &Language,
) {
    let words = &language.words;
    out.push_str(&format!(" {} ", words.degrees));
    let scale = match chars.peek() {
        Some('C') => words.celsius,
        Some('F') => words.fahrenheit,
        _ => return,
    };
    chars.next();
    out.push_str(scale);
}

/// Drops what looks like a tag, and reads the entities of markup.
fn without_markup(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(open) = rest.find('<') {
        let (before, from) = rest.split_at(open);
        out.push_str(before);
        match tag_length(from) {
            Some(length) => {
                out.push(' ');
                rest = &from[length..];
            }
            None => {
                out.push('<');
                rest = &from[1..];
            }
        }
    }
    out.push_str(rest);
    without_entities(out)
}

/// Reads entities: after the tags, so that what they write is never one; `&amp;` first, for `&amp;lt;` is escaped twice.
fn without_entities(text: String) -> String {
    if !text.contains('&') {
        return text;
    }
    [
        ("&amp;", "&"),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&nbsp;", " "),
        ("&quot;", "\""),
        ("&apos;", "'"),
        ("&#39;", "'"),
    ]
    .iter()
    .fold(text, |text, (entity, sign)| text.replace(entity, sign))
}

/// The bytes of a tag at the start of `text`: `<name>`, `<name/>`, `<name a="b">`, `</name>`, `<!...>`, `<?...>`.
/// Two comparisons in a sentence, `a <b and c> d`, are none.
fn tag_length(text: &str) -> Option<usize> {
    /// Longer than any tag somebody writes into a cue.
    const LONGEST: usize = 300;
    let inside = &text[1..];
    let is_tag = match inside.strip_prefix('/') {
        Some(name) => after_name(name)?.trim_start().starts_with('>'),
        None if inside.starts_with('!') => inside[1..].starts_with(is_markup),
        None if inside.starts_with('?') => after_name(&inside[1..]).is_some(),
        None => {
            let after = after_name(inside)?;
            let next = after.trim_start();
            next.starts_with(['/', '>'])
                || (next.len() < after.len()
                    && after_name(next).is_some_and(|after| after.trim_start().starts_with('=')))
        }
    };
    if !is_tag {
        return None;
    }
    let close = text.bytes().take(LONGEST).position(|byte| byte == b'>')?;
    Some(close + 1)
}

/// What follows a name of markup at the start of `text`; `None` if there is no name.
fn after_name(text: &str) -> Option<&str> {
    let named = text.starts_with(|c: char| c.is_ascii_alphabetic());
    let inside = |c: char| c.is_ascii_alphanumeric() || "-_:.".contains(c);
    named.then(|| text.trim_start_matches(inside))
}

/// Whether it follows the `!` of a comment or a declaration.
fn is_markup(c: char) -> bool {
    c.is_ascii_alphabetic() || matches!(c, '-' | '[')
}

fn fraction(c: char) -> Option<&'static str> {
    Some(match c {
        '\u{bd}' => "1/2",
        '\u{bc}' => "1/4",
        '\u{be}' => "3/4",
        '\u{2153}' => "1/3",
        '\u{2154}' => "2/3",
        '\u{2155}' => "1/5",
        '\u{215b}' => "1/8",
        '\u{215c}' => "3/8",
        '\u{215d}' => "5/8",
        '\u{215e}' => "7/8",
        _ => return None,
    })
}

/// The plain letters for a Latin letter with marks; empty for everything else.
fn plain(c: char) -> &'static str {
    match c {
        'À'..='Å' | 'Ā' | 'Ă' | 'Ą' => "A",
        'à'..='å' | 'ā' | 'ă' | 'ą' => "a",
        'Æ' => "Ae",
        'æ' => "ae",
        'Ç' | 'Ć' | 'Ĉ' | 'Ċ' | 'Č' => "C",
        'ç' | 'ć' | 'ĉ' | 'ċ' | 'č' => "c",
        'Ð' | 'Ď' | 'Đ' => "D",
        'ð' | 'ď' | 'đ' => "d",
        'È'..='Ë' | 'Ē' | 'Ĕ' | 'Ė' | 'Ę' | 'Ě' => "E",
        'è'..='ë' | 'ē' | 'ĕ' | 'ė' | 'ę' | 'ě' => "e",
        'Ĝ' | 'Ğ' | 'Ġ' | 'Ģ' => "G",
        'ĝ' | 'ğ' | 'ġ' | 'ģ' => "g",
        'Ì'..='Ï' | 'Ī' | 'Į' | 'İ' => "I",
        'ì'..='ï' | 'ī' | 'į' | 'ı' => "i",
        'Ł' | 'Ļ' | 'Ľ' | 'Ĺ' => "L",
        'ł' | 'ļ' | 'ľ' | 'ĺ' => "l",
        'Ñ' | 'Ń' | 'Ň' | 'Ņ' => "N",
        'ñ' | 'ń' | 'ň' | 'ņ' => "n",
        'Ò'..='Ö' | 'Ø' | 'Ō' | 'Ő' => "O",
        'ò'..='ö' | 'ø' | 'ō' | 'ő' => "o",
        'Œ' => "Oe",
        'œ' => "oe",
        'Ŕ' | 'Ř' => "R",
        'ŕ' | 'ř' => "r",
        'Ś' | 'Ŝ' | 'Ş' | 'Š' | 'Ș' => "S",
        'ś' | 'ŝ' | 'ş' | 'š' | 'ș' => "s",
        'ß' => "ss",
        'ẞ' => "SS",
        'Ţ' | 'Ť' | 'Ț' => "T",
        'ţ' | 'ť' | 'ț' => "t",
        'Þ' => "Th",
        'þ' => "th",
        'Ù'..='Ü' | 'Ū' | 'Ů' | 'Ű' | 'Ų' => "U",
        'ù'..='ü' | 'ū' | 'ů' | 'ű' | 'ų' => "u",
        'Ý' | 'Ÿ' => "Y",
        'ý' | 'ÿ' => "y",
        'Ź' | 'Ż' | 'Ž' => "Z",
        'ź' | 'ż' | 'ž' => "z",
        _ => "",
    }
}
