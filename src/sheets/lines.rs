//! Content lines as RFC 5545 has them, read and written whole.
//!
//! A person's entry on the phone carries lines that are nobody's business here; they have to come back from a change just
//! as they were, and in their order. So this keeps every line as it stands, and reads no clock when it writes.

/// A property: its name in capitals, its parameters as they stand (with the leading `;`), its value as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    pub name: String,
    pub params: String,
    pub value: String,
}

/// `BEGIN:NAME` to `END:NAME`.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Part {
    pub name: String,
    pub lines: Vec<Line>,
    pub parts: Vec<Part>,
}

/// The longest line in octets, without its line break (RFC 5545, 3.1).
const FOLD: usize = 75;

/// Text as a value: RFC 5545, 3.3.11.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | ';' | ',' => out.extend(['\\', c]),
            '\n' => out += "\\n",
            // Other control characters have no place in a value.
            c if c.is_control() && c != '\t' => {}
            c => out.push(c),
        }
    }
    out
}

/// The text of a value.
pub fn unescape(value: &str) -> String {
    let mut out = String::with_capacity(value.len());
    let mut chars = value.chars();
    while let Some(c) = chars.next() {
        match (c, c == '\\') {
            (_, false) => out.push(c),
            _ => match chars.next() {
                Some('n' | 'N') => out.push('\n'),
                Some(other) => out.push(other),
                None => {}
            },
        }
    }
    out
}

impl Part {
    pub fn new(name: &str) -> Self {
        Self { name: name.to_owned(), ..Self::default() }
    }

    /// The first property of a name.
    pub fn line(&self, name: &str) -> Option<&Line> {
        self.lines.iter().find(|l| l.name == name)
    }

    /// Its value as text.
    pub fn text(&self, name: &str) -> Option<String> {
        self.line(name).map(|l| unescape(&l.value))
    }

    /// Adds a property with its value as it stands.
    pub fn push(&mut self, name: &str, value: impl Into<String>) {
        self.lines.push(Line { name: name.to_owned(), params: String::new(), value: value.into() });
    }

    /// Adds a text property.
    pub fn push_text(&mut self, name: &str, text: &str) {
        self.push(name, escape(text));
    }

    /// Sets a property's value, in its place or at the end.
    pub fn set(&mut self, name: &str, value: impl Into<String>) {
        match self.lines.iter_mut().find(|l| l.name == name) {
            Some(l) => *l = Line { name: name.to_owned(), params: String::new(), value: value.into() },
            None => self.push(name, value),
        }
    }

    /// With CRLF and folded lines.
    pub fn write(&self) -> String {
        let mut out = String::new();
        self.write_to(&mut out);
        out
    }

    fn write_to(&self, out: &mut String) {
        fold(&format!("BEGIN:{}", self.name), out);
        for l in &self.lines {
            fold(&format!("{}{}:{}", l.name, l.params, l.value), out);
        }
        for p in &self.parts {
            p.write_to(out);
        }
        fold(&format!("END:{}", self.name), out);
    }
}

fn fold(line: &str, out: &mut String) {
    let mut used = 0;
    for c in line.chars() {
        if used + c.len_utf8() > FOLD {
            *out += "\r\n ";
            used = 1;
        }
        out.push(c);
        used += c.len_utf8();
    }
    *out += "\r\n";
}

/// Reads a calendar: one part at the top. Line breaks may be CRLF or LF.
///
/// # Errors
/// What does not fit the form.
pub fn read(text: &str) -> Result<Part, String> {
    let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n").replace("\n ", "").replace("\n\t", "");
    let mut open: Vec<Part> = Vec::new();
    for (number, line) in text.lines().enumerate().filter(|l| !l.1.trim().is_empty()) {
        let line = parse(line).ok_or_else(|| format!("line {}: no property", number + 1))?;
        match line.name.as_str() {
            "BEGIN" if open.len() < 16 => open.push(Part::new(&line.value.trim().to_uppercase())),
            "BEGIN" => return Err("nested too deeply".to_owned()),
            "END" => {
                let part = open.pop().filter(|p| p.name == line.value.trim().to_uppercase());
                let part = part.ok_or_else(|| format!("line {}: END of what was not begun", number + 1))?;
                match open.last_mut() {
                    Some(over) => over.parts.push(part),
                    None => return Ok(part),
                }
            }
            _ => open.last_mut().ok_or_else(|| "a property outside of everything".to_owned())?.lines.push(line),
        }
    }
    Err("it ends before it is whole".to_owned())
}

/// Splits at the first colon that is not in quotes.
fn parse(line: &str) -> Option<Line> {
    let mut quoted = false;
    let colon = line.char_indices().find(|(_, c)| {
        quoted ^= *c == '"';
        *c == ':' && !quoted
    });
    let (before, value) = (&line[..colon?.0], &line[colon?.0 + 1..]);
    let end = before.find(';').unwrap_or(before.len());
    let name = before[..end].to_uppercase();
    let named = !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
    named.then(|| Line { name, params: before[end..].to_owned(), value: value.to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_is_read_is_written_again_as_it_was() {
        let text = "BEGIN:VCALENDAR\r\nX-OWN;VALUE=\"a:b\":c;d\r\nBEGIN:VEVENT\r\nSUMMARY;LANGUAGE=en:a\\, b\r\n\
                    END:VEVENT\r\nEND:VCALENDAR\r\n";
        let part = read(text).unwrap();
        assert_eq!(part.write(), text);
        assert_eq!(part.lines[0].params, ";VALUE=\"a:b\"");
        assert_eq!(part.parts[0].text("SUMMARY").unwrap(), "a, b");
        assert_eq!(read(&text.replace("\r\n", "\n")).unwrap(), part);
    }

    #[test]
    fn what_is_no_calendar_is_refused() {
        for bad in ["", "hello", "BEGIN:VCALENDAR", "END:VCALENDAR", "BEGIN:A\nEND:B", "SUMMARY:x\nBEGIN:A\nEND:A"] {
            assert!(read(bad).is_err(), "{bad}");
        }
        assert!(read(&"BEGIN:A\n".repeat(100_000)).is_err());
    }

    proptest! {
        #[test]
        fn any_text_comes_back_and_no_line_is_too_long(text in "\\PC{0,300}", more in "[\\n,;:\\\\\"ä€𝄞 ]{0,120}") {
            let mut part = Part::new("VEVENT");
            let all = text + &more;
            part.push_text("SUMMARY", &all);
            let written = part.write();
            prop_assert!(written.split("\r\n").all(|l| l.len() <= FOLD), "{}", written);
            prop_assert_eq!(read(&written).unwrap().text("SUMMARY").unwrap(), all);
        }

        #[test]
        fn reading_never_panics(text in "(BEGIN:A|END:A|[A-Z;:\"\\n ä]){0,60}") {
            let _ = read(&text);
        }
    }
}
