//! What lies over the timeline when asked for: the list of commands, and how good the plan is.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::{Canvas, panel};
use crate::app::text::{fit, width};
use crate::app::{COMMANDS, Group, On, State, Target, cautions, standing_notes};
use crate::tui::theme::Ink;

/// Clears an area between two rule lines and names it.
pub fn sheet(canvas: &mut Canvas, area: Rect, title: &str) -> Rect {
    let blank = " ".repeat(usize::from(area.width));
    for y in area.top()..area.bottom() {
        canvas.text(area.x, y, area.width, &blank, Style::reset().patch(canvas.theme.base()));
    }
    let quiet = canvas.ink(Ink::Quiet);
    let rule = "─".repeat(usize::from(area.width));
    canvas.text(area.x, area.y, area.width, &rule, quiet);
    canvas.text(area.x, area.bottom() - 1, area.width, &rule, quiet);
    let bold = canvas.bold(Ink::Plain);
    canvas.text(area.x + 2, area.y, area.width - 4, &format!(" {title} "), bold);
    canvas.places.add(area, Target::Overlay);
    Rect::new(area.x + 2, area.y + 1, area.width.saturating_sub(4), area.height.saturating_sub(2))
}

/// Every command with its keys, by group; scrolled when it does not fit.
pub fn help(canvas: &mut Canvas, state: &State, area: Rect, top: usize) {
    let inner = sheet(canvas, Rect { height: area.height - 1, ..area }, "Keys · esc closes");
    let columns = if inner.width >= 100 { 2 } else { 1 };
    let wide = inner.width / columns;
    let lines = help_lines(state, inner.width < 56);
    let per = lines.len().div_ceil(usize::from(columns));
    let room = usize::from(inner.height);
    let top = top.min(per.saturating_sub(room));
    for (i, line) in lines.iter().enumerate() {
        let (column, place) = (i / per, i % per);
        if place < top || place >= top + room {
            continue;
        }
        let (x, y) = (inner.x + wide * column as u16, inner.y + (place - top) as u16);
        match line {
            HelpLine::Group(words) => {
                let bold = canvas.bold(Ink::Plain);
                canvas.text(x, y, wide, words, bold);
            }
            HelpLine::Entry { keys, words, entry } => {
                let allowed = COMMANDS[*entry].is_open(state);
                let style = if allowed { Style::new() } else { canvas.ink(Ink::Quiet) };
                let accent = if allowed { canvas.ink(Ink::Accent) } else { style };
                canvas.text(x + 2, y, 17, keys, accent);
                canvas.text(x + 20, y, wide.saturating_sub(21), words, style);
                canvas.places.add(Rect::new(x, y, wide, 1), Target::Command(COMMANDS[*entry].command));
            }
            HelpLine::Legend(mark, words) => {
                let accent = canvas.ink(Ink::Accent);
                canvas.text(x + 2, y, 17, mark, accent);
                canvas.text(x + 20, y, wide.saturating_sub(21), words, Style::new());
            }
            HelpLine::Words(words) => {
                canvas.text(x + 1, y, wide.saturating_sub(1), words, Style::new());
            }
            HelpLine::Blank => {}
        }
    }
    let accent = canvas.bold(Ink::Accent);
    if top > 0 {
        canvas.text_right(area.right() - 2, inner.y, 6, "more ↑", accent);
    }
    if top + room < per {
        canvas.text_right(area.right() - 2, inner.bottom() - 1, 6, "more ↓", accent);
    }
}

enum HelpLine {
    Group(&'static str),
    Entry {
        keys: String,
        words: &'static str,
        entry: usize,
    },
    /// A mark or an act of the mouse, and what it means.
    Legend(&'static str, &'static str),
    /// What the keys in the line before do, where there is no room beside them.
    Words(&'static str),
    Blank,
}

/// What the pointer does, and what the marks mean.
const LEGEND: [(&str, &[(&str, &str)]); 2] = [
    (
        "Mouse",
        &[
            ("click", "select"),
            ("wheel", "zoom; on a name, scroll"),
            ("shift-wheel", "look earlier or later"),
            ("drag", "pull time along"),
        ],
    ),
    (
        "Marks",
        &[
            ("↓ ↑", "into the brine, out of it"),
            ("░ ▒ ▓ █", "salt getting in; full: cured enough"),
            ("○", "turn, to be done"),
            ("●", "done"),
            ("!", "late: past and not ticked off"),
            ("»", "moved since the plan before"),
            ("▼", "pinned"),
            ("◆ ◇", "wanted by: kept, missed"),
            ("├┿┤", "where the task in hand can start"),
        ],
    ),
];

fn help_lines(state: &State, narrow: bool) -> Vec<HelpLine> {
    let mut lines = Vec::new();
    for group in Group::ALL {
        if !lines.is_empty() {
            lines.push(HelpLine::Blank);
        }
        lines.push(HelpLine::Group(group.words()));
        for (entry, e) in
            COMMANDS.iter().enumerate().filter(|(_, e)| e.group == group && (e.on.has(state.view) || e.on == On::Form))
        {
            let keys = fit(&state.keymap.words(e.command), 17);
            if narrow {
                lines.push(HelpLine::Entry { keys, words: "", entry });
                lines.push(HelpLine::Words(e.words));
            } else {
                lines.push(HelpLine::Entry { keys, words: e.words, entry });
            }
        }
    }
    for (title, legend) in LEGEND {
        lines.push(HelpLine::Blank);
        lines.push(HelpLine::Group(title));
        lines.extend(legend.iter().map(|(mark, words)| HelpLine::Legend(mark, words)));
    }
    lines
}

/// The levels of the plan as a table.
pub fn standing(canvas: &mut Canvas, state: &State, area: Rect) {
    let mut notes = standing_notes(state);
    notes.extend(cautions(state));
    let levels = state.chart.as_deref().map_or(0, |c| c.plan.levels.len());
    let height = (levels + notes.len() * 2 + 4).min(usize::from(area.height) - 2) as u16;
    // Over the whole width, so that nothing of what lies under it is left standing beside it.
    let place = Rect::new(0, area.height - 1 - height, area.width, height);
    let inner = sheet(canvas, place, "Standing · esc closes");
    panel::standing(canvas, state, Rect { width: inner.width.min(84), ..inner });
    let mut y = inner.y + levels as u16 + 2;
    for note in &notes {
        for line in crate::app::text::wrap(note, usize::from(inner.width)) {
            if y < inner.bottom() {
                let quiet = canvas.ink(Ink::Quiet);
                canvas.text(inner.x, y, width(&line) as u16, &line, quiet);
                y += 1;
            }
        }
    }
}
