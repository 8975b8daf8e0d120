//! What was found in a kitchen file, and how it is shown: as text beside the lines it is about, or as data.

use crate::kitchen::path::Path;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::ops::Range;

/// How much weight a finding has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// No plan is made from this file until it is put right.
    Refused,
    /// Suspicious; a plan is made all the same.
    Warned,
}

/// One thing found wrong or suspicious, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    pub severity: Severity,
    /// What is the matter, naming the thing.
    pub says: String,
    /// What was found there.
    pub found: Option<String>,
    /// What would have been understood.
    pub expected: Option<String>,
    /// What to do about it.
    pub hint: Option<String>,
    /// Where in the file's tree; empty for the whole file or a syntax error.
    pub path: Path,
    /// Bytes of the file that it is about.
    pub span: Range<usize>,
    /// Line and column of its beginning, from 1, in characters.
    pub line: usize,
    pub column: usize,
}

/// Text from a file, safe to print: control characters and marks that turn the writing direction are shown by code.
pub fn printable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for (i, c) in text.chars().enumerate() {
        if i >= 300 {
            out.push('…');
            break;
        }
        if unseen(c) { out.extend(c.escape_unicode()) } else { out.push(c) }
    }
    out
}

/// Whether a character is one that is not seen but changes what is: control codes, joiners, direction marks.
pub fn unseen(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// Line and column, from 1, of a byte in `text`; the column counts characters.
pub fn place(text: &str, byte: usize) -> (usize, usize) {
    let byte = floor_char(text, byte);
    let before = &text[..byte];
    let line_start = before.rfind('\n').map_or(0, |i| i + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}

fn floor_char(text: &str, byte: usize) -> usize {
    let mut b = byte.min(text.len());
    while !text.is_char_boundary(b) {
        b -= 1;
    }
    b
}

impl Finding {
    /// The finding beside its line of the file.
    fn to_text(&self, file: &str, text: &str, renderer: &Renderer) -> String {
        let start = floor_char(text, self.span.start);
        let from = text[..start].rfind('\n').map_or(0, |i| i + 1);
        let to = text[start..].find('\n').map_or(text.len(), |i| start + i);
        // One line of the file, so that a long file costs nothing; a lone carriage return would garble a terminal.
        let raw = &text[from..to];
        let line = raw.strip_suffix('\r').unwrap_or(raw);
        let (shown, first) = shown_line(line, start - from);
        let length = floor_char(text, self.span.end.min(to).max(start)) - start;
        let last = shown_width(line, start - from, length) + first;
        let level = match self.severity {
            Severity::Refused => Level::ERROR,
            Severity::Warned => Level::WARNING,
        };
        let says = printable(&self.says);
        let mark = AnnotationKind::Primary.span(first..last.max(first).min(shown.len()));
        let file = printable(file);
        let snippet = Snippet::source(shown).line_start(self.line).path(file).annotation(mark);
        // What was found stands in the line above the mark; what was expected gets a line of its own.
        let expected = self.expected.as_deref().map(printable);
        let hint = self.hint.as_deref().map(printable);
        let mut group: Group<'_> = level.primary_title(says).element(snippet);
        if let Some(expected) = &expected {
            group = group.element(Level::NOTE.with_name("expected").message(expected.as_str()));
        }
        if let Some(hint) = &hint {
            group = group.element(Level::HELP.with_name("hint").message(hint.as_str()));
        }
        renderer.render(&[group])
    }

    fn to_json(&self) -> Value {
        json!({
            "severity": self.severity, "says": self.says, "found": self.found, "expected": self.expected,
            "hint": self.hint, "path": self.path.to_string(), "line": self.line, "column": self.column,
        })
    }
}

/// The line with unseen characters shown as `·`, and where byte `at` of it went.
fn shown_line(line: &str, at: usize) -> (String, usize) {
    let shown = |s: &str| s.chars().map(|c| if unseen(c) && c != '\t' { '·' } else { c }).collect::<String>();
    let at = floor_char(line, at);
    (shown(line), shown(&line[..at]).len())
}

fn shown_width(line: &str, at: usize, length: usize) -> usize {
    let from = floor_char(line, at);
    let to = floor_char(line, at + length);
    shown_line(&line[from..to], to - from).1
}

/// All findings as text, the refusals first in file order, and a count at the end with what a refusal means. Empty when
/// there are none.
pub fn told(findings: &[Finding], file: &str, text: &str, colour: bool, means: &str) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let mut out = String::new();
    for f in findings {
        out.push_str(&f.to_text(file, text, &renderer));
        out.push_str("\n\n");
    }
    let (refused, warned) = count(findings);
    match (refused, warned) {
        (0, 0) => {}
        (0, w) => out.push_str(&format!("{}\n", plural(w, "warning"))),
        (r, 0) => out.push_str(&format!("{}: {means}\n", plural(r, "error"))),
        (r, w) => out.push_str(&format!("{}, {}: {means}\n", plural(r, "error"), plural(w, "warning"))),
    }
    out
}

/// All findings as data.
pub fn to_json(findings: &[Finding], file: &str) -> Value {
    let (refused, warned) = count(findings);
    json!({
        "file": file, "refused": refused, "warned": warned,
        "findings": findings.iter().map(Finding::to_json).collect::<Vec<_>>(),
    })
}

fn count(findings: &[Finding]) -> (usize, usize) {
    let refused = findings.iter().filter(|f| f.severity == Severity::Refused).count();
    (refused, findings.len() - refused)
}

fn plural(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}
