//! The change: old and new plan side by side, changed lines only, with one cause each; to be taken on or turned down.

use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use crate::app::text::{width, wrap};
use crate::app::{Change, Command, State, Target, changes};
use crate::tui::draw::Canvas;
use crate::tui::theme::Ink;

/// Columns of a moment, `Wed 23 Dec 11:00`.
const MOMENT: u16 = 16;

pub fn draw(canvas: &mut Canvas, state: &State, area: Rect) {
    let Some(proposal) = &state.proposal else {
        let quiet = canvas.ink(Ink::Quiet);
        let says =
            "Nothing waits to be decided. When something has happened that moves the plan, what changes stands here.";
        for (line, y) in wrap(says, usize::from(area.width)).iter().zip(area.y..area.bottom()) {
            canvas.text(area.x, y, area.width, line, quiet);
        }
        return;
    };
    let d = &proposal.difference;
    let (plain, quiet, bold) = (Style::new(), canvas.ink(Ink::Quiet), canvas.bold(Ink::Plain));
    // What happened and what it costs stand under the table, as far as there is room; the lines are what is decided on.
    let mut foot: Vec<(String, Style)> = Vec::new();
    let wide = usize::from(area.width);
    let mut say = |text: &str, style: Style| foot.extend(wrap(text, wide).into_iter().map(|l| (l, style)));
    d.happened.iter().for_each(|h| say(&format!("Happened: {h}"), plain));
    d.costs.iter().for_each(|c| say(&format!("Costs: {c}"), plain));
    proposal.deviations.iter().for_each(|x| say(&format!("! {}", x.says), canvas.ink(Ink::Danger)));
    proposal.ways.iter().for_each(|w| say(&format!("Or: {}: {}", w.says, w.brings), quiet));
    let lines = changes(state);
    let room = usize::from(area.height).saturating_sub(2);
    let table = lines.len().min(room.saturating_sub(foot.len().min(room / 2))).max(1);
    let spot = state.spot();
    let top = (spot.line + 1).saturating_sub(table);
    let narrow = area.width < 70;
    // Two moments and the job between them; the cause at the end where there is room.
    let (old, new) = (area.x + 1, area.x + 1 + MOMENT + 3);
    let job = new + MOMENT + 2;
    let cause = if narrow { area.right() } else { job + (area.right() - job) / 2 };
    canvas.text(old, area.y, MOMENT, "old plan", quiet);
    canvas.text(new, area.y, MOMENT, "new plan", quiet);
    canvas.text(job, area.y, area.right().saturating_sub(job), &format!("{} jobs stay as they are", d.stay), quiet);
    for (i, line) in lines.iter().enumerate().skip(top).take(table) {
        let y = area.y + 1 + (i - top) as u16;
        let here = i == spot.line;
        let style = if here { plain.add_modifier(Modifier::BOLD) } else { plain };
        let accent = canvas.bold(Ink::Accent);
        canvas.text(area.x, y, 1, if here { "▸" } else { " " }, accent);
        let Change { from, to, says, why, .. } = line;
        canvas.text(old, y, MOMENT, from.as_deref().unwrap_or("—"), quiet);
        canvas.text(new - 2, y, 1, if from.is_some() && to.is_some() { "»" } else { " " }, quiet);
        canvas.text(new, y, MOMENT, to.as_deref().unwrap_or("no longer"), if to.is_some() { style } else { quiet });
        canvas.text(job, y, cause.saturating_sub(job + 1), says, style);
        canvas.text(cause, y, area.right().saturating_sub(cause), why, quiet);
        canvas.places.add(Rect::new(area.x, y, area.width, 1), Target::Line { line: i, across: 0 });
    }
    let y = area.y + 2 + table as u16;
    if let Some(line) = lines.get(spot.line) {
        // The line in hand in full: in the table there is seldom room for all of it.
        let why = if line.why.is_empty() { String::new() } else { format!(": {}", line.why) };
        let told = wrap(&format!("{}{why}", line.says), wide).into_iter().map(|l| (l, quiet));
        foot.splice(0..0, told);
    }
    let keys = |c| state.keymap.first(c);
    let decide =
        format!("{} takes the new plan on, {} keeps the old one.", keys(Command::Accept), keys(Command::KeepOld));
    let decide = wrap(&decide, wide);
    foot.truncate(usize::from(area.bottom().saturating_sub(y)).saturating_sub(decide.len()));
    foot.extend(decide.into_iter().map(|l| (l, bold)));
    for ((text, style), y) in foot.into_iter().zip(y..area.bottom()) {
        canvas.text(area.x, y, width(&text) as u16, &text, style);
    }
}
