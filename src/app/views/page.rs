//! A view laid out for so many columns: one sentence, then lines of words in voices. Screen and paper show the same lines.

use super::super::sentence::{Sentence, Tone};
use super::super::text::{fit, width, wrap};

/// How a piece of a line is meant; how it looks is the door's business. Nothing is told by a voice alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Voice {
    #[default]
    Plain,
    /// Steps back.
    Quiet,
    /// Headings and what is to be weighed, pressed, done.
    Strong,
    /// What comes next, and now.
    Accent,
    Trouble,
}

/// What a line is about, for the acts a person can do on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Handle {
    /// A task by its stable name.
    Task(String),
    Joint(String),
    /// A tub's load.
    Load(String),
    /// An entry of the book.
    Entry(u64),
}

/// A piece of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Span {
    pub text: String,
    pub voice: Voice,
}

/// One line.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Line {
    pub spans: Vec<Span>,
    /// Set on the first line of what it is about.
    pub of: Option<Handle>,
}

impl Line {
    pub fn text(&self) -> String {
        self.spans.iter().map(|s| s.text.as_str()).collect()
    }

    /// Columns it takes.
    pub fn width(&self) -> usize {
        self.spans.iter().map(|s| width(&s.text)).sum()
    }

    pub fn push(&mut self, text: impl Into<String>, voice: Voice) {
        let text = text.into();
        if text.is_empty() {
            return;
        }
        match self.spans.last_mut() {
            Some(last) if last.voice == voice => last.text += &text,
            _ => self.spans.push(Span { text, voice }),
        }
    }

    /// Blanks up to a column.
    pub fn pad_to(&mut self, columns: usize) {
        let have = self.width();
        self.push(" ".repeat(columns.saturating_sub(have)), Voice::Plain);
    }
}

/// Text in one voice.
#[derive(Debug, Clone, Default)]
pub struct Cell {
    pub text: String,
    pub voice: Voice,
}

pub fn cell(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), voice: Voice::Plain }
}

pub fn voiced(text: impl Into<String>, voice: Voice) -> Cell {
    Cell { text: text.into(), voice }
}

pub fn quiet(text: impl Into<String>) -> Cell {
    voiced(text, Voice::Quiet)
}

/// How a column is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Col {
    Left,
    Right,
    /// Takes what room is left and breaks between words; one a table.
    Fill,
}

/// Rows set in columns.
#[derive(Debug, Clone)]
pub struct Table {
    cols: Vec<Col>,
    /// Columns each row is set in by.
    by: usize,
    rows: Vec<(Option<Handle>, Vec<Cell>)>,
}

/// Between two columns.
const GAP: usize = 2;
/// A filling column narrower than this goes under its row instead.
const NARROW: usize = 24;

impl Table {
    pub fn new(cols: &[Col]) -> Self {
        Self { cols: cols.to_vec(), by: 0, rows: Vec::new() }
    }

    /// A table set in by two columns.
    pub fn within(cols: &[Col]) -> Self {
        Self { by: 2, ..Self::new(cols) }
    }

    pub fn row(&mut self, of: Option<Handle>, cells: Vec<Cell>) {
        self.rows.push((of, cells));
    }

    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The rows as lines of at most so many columns.
    fn lines(&self, columns: usize) -> Vec<Line> {
        let n = self.cols.len();
        let natural: Vec<usize> = (0..n)
            .map(|c| self.rows.iter().filter_map(|r| r.1.get(c)).map(|x| width(&x.text)).max().unwrap_or(0))
            .collect();
        let gaps = GAP * natural.iter().filter(|w| **w > 0).count().saturating_sub(1);
        let fixed: usize = (0..n).filter(|c| self.cols[*c] != Col::Fill).map(|c| natural[c]).sum();
        let room = columns.saturating_sub(fixed + gaps + self.by);
        let fill = self.cols.iter().position(|c| *c == Col::Fill);
        let under = fill.is_some_and(|f| room < NARROW.min(natural[f]));
        let mut out = Vec::new();
        for (of, cells) in &self.rows {
            out.extend(self.one(of.as_ref(), cells, &natural, columns, room, under));
        }
        out
    }

    fn one(
        &self,
        of: Option<&Handle>,
        cells: &[Cell],
        natural: &[usize],
        columns: usize,
        room: usize,
        under: bool,
    ) -> Vec<Line> {
        let mut first = Line { of: of.cloned(), ..Line::default() };
        let mut more: Vec<Line> = Vec::new();
        let (mut x, mut begun) = (self.by, false);
        for (c, cell) in cells.iter().enumerate() {
            let fills = self.cols[c] == Col::Fill;
            if natural[c] == 0 || (fills && under) {
                continue;
            }
            x += if begun { GAP } else { 0 };
            begun = true;
            first.pad_to(x);
            let w = if fills { room.min(natural[c]).max(1) } else { natural[c] };
            if fills {
                for (i, part) in wrap(&cell.text, w).into_iter().enumerate() {
                    if i == 0 {
                        first.push(part, cell.voice);
                    } else {
                        let mut l = Line::default();
                        l.pad_to(x);
                        l.push(part, cell.voice);
                        more.push(l);
                    }
                }
            } else {
                let text = fit(&cell.text, w);
                let before = if self.cols[c] == Col::Right { w - width(&text) } else { 0 };
                first.push(" ".repeat(before), Voice::Plain);
                first.push(text, cell.voice);
            }
            x += w;
        }
        let mut out = cut(first, columns);
        out.extend(more);
        if under && let Some(cell) = cells.iter().enumerate().find(|c| self.cols[c.0] == Col::Fill).map(|c| c.1) {
            for part in wrap(&cell.text, columns.saturating_sub(self.by + 2).max(1)) {
                let mut l = Line::default();
                l.push(" ".repeat(self.by + 2), Voice::Plain);
                l.push(part, cell.voice);
                out.push(l);
            }
        }
        out
    }
}

/// A line that is too long, broken between its pieces or within them.
fn cut(line: Line, columns: usize) -> Vec<Line> {
    if line.width() <= columns.max(1) {
        return vec![line];
    }
    let mut out = vec![Line { of: line.of.clone(), ..Line::default() }];
    for span in line.spans {
        let have = out.last().map_or(0, Line::width);
        let room = columns.saturating_sub(have);
        if width(&span.text) <= room {
            if let Some(l) = out.last_mut() {
                l.push(span.text, span.voice);
            }
            continue;
        }
        for part in wrap(&span.text, columns.saturating_sub(4).max(1)) {
            let fits = out.last().is_some_and(|l| l.width() + width(&part) <= columns);
            if !fits {
                let mut l = Line::default();
                l.push("    ", Voice::Plain);
                out.push(l);
            }
            if let Some(l) = out.last_mut() {
                l.push(part, span.voice);
            }
        }
    }
    out
}

/// A view, laid out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    pub columns: usize,
    /// The one thing that matters.
    pub sentence: Sentence,
    pub lines: Vec<Line>,
}

impl Page {
    pub fn new(columns: usize, sentence: Sentence) -> Self {
        Self { columns: columns.max(20), sentence, lines: Vec::new() }
    }

    /// An empty line, unless there is one.
    pub fn gap(&mut self) {
        if self.lines.last().is_some_and(|l| !l.spans.is_empty()) {
            self.lines.push(Line::default());
        }
    }

    /// A heading after an empty line.
    pub fn head(&mut self, text: impl Into<String>) {
        self.gap();
        self.say(text, Voice::Strong);
    }

    /// Words, broken to the page.
    pub fn say(&mut self, text: impl Into<String>, voice: Voice) {
        self.set_in(0, text, voice);
    }

    /// Words set in, later lines two columns more.
    pub fn set_in(&mut self, by: usize, text: impl Into<String>, voice: Voice) {
        let room = self.columns.saturating_sub(by + 2).max(8);
        // The first line may use the two columns that later ones are set in by.
        for (i, part) in wrap(&text.into(), if by == 0 { self.columns } else { room }).into_iter().enumerate() {
            let mut l = Line::default();
            l.push(" ".repeat(if i == 0 || by == 0 { by } else { by + 2 }), Voice::Plain);
            l.push(part, voice);
            self.lines.push(l);
        }
    }

    /// A line, broken between its pieces when it is too long.
    pub fn line(&mut self, line: Line) {
        self.lines.extend(cut(line, self.columns));
    }

    /// A line above all others, an empty one after it.
    pub fn lead(&mut self, line: Line) {
        let mut lines = cut(line, self.columns);
        lines.push(Line::default());
        self.lines.splice(0..0, lines);
    }

    pub fn table(&mut self, table: &Table) {
        self.lines.extend(table.lines(self.columns));
    }

    /// Another page's lines beside this one's, if there is room for both: this one keeps `left` columns.
    pub fn beside(&mut self, from: usize, left: usize, right: Self) {
        let mut mine = self.lines.split_off(from.min(self.lines.len()));
        let rows = mine.len().max(right.lines.len());
        mine.resize(rows, Line::default());
        let mut right = right.lines.into_iter();
        for mut l in mine {
            if let Some(r) = right.next().filter(|r| !r.spans.is_empty()) {
                l.pad_to(left + 3);
                r.spans.into_iter().for_each(|s| l.push(s.text, s.voice));
                l.of = l.of.or(r.of);
            }
            self.lines.push(l);
        }
    }

    /// Line numbers that are about something.
    pub fn stops(&self) -> impl Iterator<Item = usize> + '_ {
        self.lines.iter().enumerate().filter(|l| l.1.of.is_some()).map(|l| l.0)
    }

    /// As plain text.
    pub fn text(&self) -> String {
        let mut out = wrap(&self.sentence.text, self.columns).join("\n") + "\n\n";
        for l in &self.lines {
            out += l.text().trim_end();
            out.push('\n');
        }
        out
    }
}

/// A sentence about what is as it should be.
pub fn plain(text: impl Into<String>) -> Sentence {
    Sentence { tone: Tone::Plain, text: text.into() }
}

/// A sentence about trouble.
pub fn trouble(text: impl Into<String>) -> Sentence {
    Sentence { tone: Tone::Trouble, text: text.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let mut t = Table::new(&[Col::Left, Col::Fill, Col::Right]);
        t.row(
            Some(Handle::Task("a".into())),
            vec![cell("06:30"), cell("Weigh out and boil brine for the box"), cell("75 min")],
        );
        t.row(None, vec![cell("生ハム"), quiet("turn"), cell("5 min")]);
        t
    }

    #[test]
    fn lines_keep_to_their_columns_and_their_columns_line_up() {
        for columns in 20..120 {
            let mut p = Page::new(columns, plain("x"));
            p.table(&table());
            assert!(p.lines.iter().all(|l| l.width() <= columns), "{columns}: {}", p.text());
            assert_eq!(p.stops().collect::<Vec<_>>(), [0]);
        }
        let mut p = Page::new(60, plain("x"));
        p.table(&table());
        let ends: Vec<usize> = p.lines.iter().map(Line::width).collect();
        assert_eq!(ends, [52, 52], "{}", p.text());
    }

    #[test]
    fn two_pages_stand_side_by_side() {
        let (mut left, mut right) = (Page::new(20, plain("x")), Page::new(20, plain("")));
        left.say("left", Voice::Plain);
        right.say("right", Voice::Strong);
        right.say("more", Voice::Plain);
        left.beside(0, 10, right);
        assert_eq!(left.text(), "x\n\nleft         right\n             more\n");
    }
}
