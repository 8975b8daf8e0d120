//! Below the chart: what is in hand, with its reasons; what comes next; how good the plan is.

use ratatui::layout::Rect;
use ratatui::style::Style;

use super::{Canvas, plot};
use crate::app::text::wrap;
use crate::app::time::{how_long, minute_utc, span, when, when_from};
use crate::app::{
    Chart, Geometry, Mark, Planning, RowKind, State, Target, figures, picture, short, standing_table, upcoming,
};
use crate::tui::theme::Ink;

/// Rows that the details and a plot under them need together; with fewer they stand side by side.
const STACKED: u16 = 16;

pub fn draw(canvas: &mut Canvas, state: &State, chart: &Chart, g: &Geometry) {
    let (y, height, cols) = (g.panel.y, g.panel.height, g.screen.cols);
    let picture = picture(state, chart).filter(|_| cols >= 80 && height >= plot::LEAST.1);
    let beside = picture.is_some() && height < STACKED;
    // Side by side, each wide enough to read. A plot that cannot stand under the details gets a place of its own, for
    // which the list of what is next gives way where there are only two.
    let (details, plot, next, levels) = match (cols, beside) {
        (..80, _) => (cols, 0, 0, 0),
        (80..120, true) => (cols * 11 / 20, cols - cols * 11 / 20, 0, 0),
        (80..120, false) => (cols * 11 / 20, 0, cols - cols * 11 / 20, 0),
        (120..160, true) => (cols * 7 / 20, cols * 7 / 20, cols - 2 * (cols * 7 / 20), 0),
        (120..160, false) => (cols / 2, 0, cols - cols / 2, 0),
        (_, true) => (cols / 4, cols / 4, cols / 4, cols - 3 * (cols / 4)),
        (_, false) => (cols * 7 / 20, 0, cols * 7 / 20, cols - 2 * (cols * 7 / 20)),
    };
    let mut lines = in_hand(canvas, state, chart);
    if height < 8
        && let Some(says) = lines.first_mut()
    {
        // What it is, when, and its figures, before how it is done.
        says.0 = short(&says.0).to_owned();
    }
    let column = Rect::new(1, y, details.saturating_sub(3), height);
    match &picture {
        Some(picture) if beside => {
            paragraph(canvas, column, &lines);
            // What is next keeps a few lines under the plot where it has no column of its own.
            let rest = if next == 0 && height >= plot::LEAST.1 + 4 { 4.max(height.saturating_sub(10)) } else { 0 };
            let area = Rect::new(details, y, plot - 2, height - rest);
            plot::draw(canvas, state, picture, area);
            if rest > 0 {
                next_up(canvas, state, chart, Rect { y: area.bottom(), height: rest, ..area });
            }
        }
        Some(picture) => {
            let told: u16 = lines.iter().map(|l| wrap(&l.0, usize::from(column.width)).len() as u16).sum();
            // The words first, but the plot keeps half.
            let top = told.min(height / 2 - 1);
            paragraph(canvas, Rect { height: top, ..column }, &lines);
            let under = Rect { y: y + top + 1, height: (height - top - 1).min(14), ..column };
            plot::draw(canvas, state, picture, under);
        }
        None => paragraph(canvas, column, &lines),
    }
    let right = details + plot;
    if next > 0 {
        next_up(canvas, state, chart, Rect::new(right, y, next - 2, height));
    }
    if levels > 0 {
        standing(canvas, state, Rect::new(right + next, y, levels - 1, height));
    }
}

/// What a person sees before there is anything.
const FIRST: [&str; 4] = [
    "Each joint has its own clock: so many days in the brine for each kilo of it. The plan fits those clocks to your tubs, the \
     fridge, the pot, and the hours in which somebody is home.",
    "Write as you would on paper: 3.4kg or 7 lb 8 oz, tomorrow 7pm or 24 Dec 18:00, Mon-Fri 8:30-17:30 (work). What is \
     understood stands beside each line.",
    "Fridge, pot, oven and freezer start from an ordinary home kitchen; K changes them. Nobody can guess your fridge's \
     temperature or the strength of a bag of curing salt: read them off.",
    "The cautions of the trade hold whatever the plan says. Follow your local rules; if in doubt, throw it out.",
];

/// Why there is no plan, in full.
pub fn reasons(canvas: &mut Canvas, state: &State, g: &Geometry) {
    let (y, cols) = (g.axis.y + 1, g.screen.cols);
    let plain = Style::new();
    let lines: Vec<(String, Style)> = match &state.progress.state {
        _ if state.fresh => FIRST.iter().map(|l| ((*l).to_owned(), canvas.ink(Ink::Quiet))).collect(),
        Planning::Impossible(reasons) => reasons.iter().map(|r| (format!("• {r}"), plain)).collect(),
        Planning::Running => vec![("The timeline opens with the first plan found.".into(), canvas.ink(Ink::Quiet))],
        _ => Vec::new(),
    };
    paragraph(canvas, Rect::new(1, y, cols - 2, g.standing.saturating_sub(y)), &lines);
}

/// Lines wrapped into an area; the last one that fits ends in an ellipsis when more is left.
fn paragraph(canvas: &mut Canvas, area: Rect, lines: &[(String, Style)]) {
    let wide = usize::from(area.width);
    let all: Vec<(String, Style)> =
        lines.iter().flat_map(|(text, style)| wrap(text, wide).into_iter().map(move |l| (l, *style))).collect();
    let room = usize::from(area.height);
    for (i, (text, style)) in all.iter().take(room).enumerate() {
        let cut = i + 1 == room && all.len() > room;
        let text = if cut { format!("{text} …") } else { text.clone() };
        canvas.text(area.x, area.y + i as u16, area.width, &text, *style);
    }
}

fn in_hand(canvas: &Canvas, state: &State, chart: &Chart) -> Vec<(String, Style)> {
    let quiet = canvas.ink(Ink::Quiet);
    match state.selected {
        None => vec![("Nothing selected. Arrows, tab, or a click take something in hand.".into(), quiet)],
        Some(s) => match s.task {
            Some(t) => task(canvas, state, chart, t),
            None => row(canvas, state, chart, s.row),
        },
    }
}

fn task(canvas: &Canvas, state: &State, chart: &Chart, t: usize) -> Vec<(String, Style)> {
    let (plan, task, zone) = (&chart.plan.tasks[t], &chart.tasks[t], state.kitchen.zone);
    let (plain, quiet) = (Style::new(), canvas.ink(Ink::Quiet));
    let mut out = vec![(plan.says.clone(), canvas.bold(Ink::Accent))];
    let mut when = span(zone, task.start, task.end);
    match (&plan.who, task.hands) {
        (Some(who), hands) if hands > 0 => when += &format!(" · {who}, {} of hands", how_long(hands)),
        (None, hands) if hands > 0 => when += &format!(" · {} of hands", how_long(hands)),
        _ => when += " · no hands",
    }
    out.push((when, plain));
    out.extend(figures(state, chart).map(|f| (f.text, if f.late { canvas.ink(Ink::Danger) } else { plain })));
    match state.mark(chart, t) {
        Mark::Late => out.push(("late: its time is past and it is not ticked off".into(), canvas.ink(Ink::Danger))),
        Mark::Done => out.push(("done".into(), quiet)),
        Mark::Moved => out.push(("moved since the plan you had before".into(), plain)),
        Mark::Pinned => out.push(("pinned: replanning leaves it here".into(), plain)),
        Mark::Past => out.push(("its time is past; no record is kept".into(), quiet)),
        Mark::Due => {}
    }
    let snoozed = state.book.as_ref().and_then(|b| b.snoozed.get(&plan.id)).map(|until| minute_utc(*until));
    if let Some(until) = snoozed.filter(|&until| until > state.now) {
        // The caution first: the panel may have no room for a second line.
        let (late, style) = if until > task.latest { ("too late: ", canvas.ink(Ink::Danger)) } else { ("", plain) };
        out.push((format!("{late}put off until {}", self::when(zone, until)), style));
    }
    if task.slow_end > task.end {
        out.push((format!("at the slow end done {}", self::when(zone, task.slow_end)), plain));
    }
    let (before, after) = (task.start - task.earliest, task.latest - task.start);
    out.push((
        match (before, after) {
            (0, 0) => "no slack: with the others where they are it can start only then".to_owned(),
            (0, a) => format!("can start up to {} later, {}", how_long(a), self::when(zone, task.latest)),
            (b, 0) => format!("can start up to {} earlier, {}", how_long(b), self::when(zone, task.earliest)),
            (b, a) => format!(
                "can start {} earlier to {} later: {} to {}",
                how_long(b),
                how_long(a),
                self::when(zone, task.earliest),
                self::when(zone, task.latest)
            ),
        },
        plain,
    ));
    if !plan.uses.is_empty() {
        let mut things: Vec<&str> = plan.uses.iter().map(|u| u.thing.as_str()).collect();
        things.dedup();
        out.push((format!("uses {}", things.join(", ")), plain));
    }
    for b in &plan.because {
        let source = if b.source.is_empty() { String::new() } else { format!(" ({})", b.source) };
        out.push((format!("{}: {}{source}", b.force, b.says), quiet));
    }
    out
}

fn row(canvas: &Canvas, state: &State, chart: &Chart, r: usize) -> Vec<(String, Style)> {
    let (row, zone) = (&chart.rows[r], state.kitchen.zone);
    let (plain, quiet) = (Style::new(), canvas.ink(Ink::Quiet));
    let mut out = Vec::new();
    match row.kind {
        RowKind::Joint(j) => {
            let (joint, story) = (&chart.plan.joints[j], &chart.stories[j]);
            out.push((format!("{}, {:.1} kg, {}", joint.name, joint.kg, joint.outcome), canvas.bold(Ink::Accent)));
            out.push((format!("in the brine {}, in {}", when(zone, story.put_in), joint.tub), plain));
            out.push((format!("cured enough {}, {:.1} days", when(zone, story.cured), joint.cure_days), plain));
            let over = story.lift - story.cured;
            let word = if over < 0 { "before it is cured" } else { "after" };
            out.push((format!("lifted {}, {} {word}", when(zone, story.lift), how_long(over)), plain));
            out.extend(figures(state, chart).map(|f| (f.text, if f.late { canvas.ink(Ink::Danger) } else { plain })));
            out.push((format!("ready {}", when(zone, story.ready)), plain));
            if let Some(by) = story.ready_by {
                let spare = by - story.ready;
                if spare < 0 {
                    let text = format!("late: wanted {}, {} before that", when(zone, by), how_long(spare));
                    out.push((text, canvas.ink(Ink::Danger)));
                } else {
                    out.push((format!("wanted {}, {} to spare", when(zone, by), how_long(spare)), plain));
                }
            }
        }
        kind => {
            out.push((row.name.clone(), canvas.bold(Ink::Accent)));
            for h in row.holds.iter().filter(|h| h.to > state.now).chain(row.holds.iter().filter(|h| h.to <= state.now))
            {
                let share = match kind {
                    RowKind::Cold(_) if h.eighths > 1 => format!(", {} eighths of the floor", h.eighths),
                    _ => String::new(),
                };
                out.push((format!("{}: {}{share}", span(zone, h.from, h.to), h.words), plain));
            }
            if row.holds.is_empty() && row.tasks.is_empty() {
                out.push(("nothing planned".into(), quiet));
            }
            if let RowKind::Person(_) = kind {
                let hands: i64 = row.tasks.iter().map(|&t| chart.tasks[t].hands).sum();
                out.push((format!("{} tasks, {} of hands in all", row.tasks.len(), how_long(hands)), plain));
            }
        }
    }
    out
}

fn next_up(canvas: &mut Canvas, state: &State, chart: &Chart, area: Rect) {
    let bold = canvas.bold(Ink::Plain);
    canvas.text(area.x, area.y, area.width, "Next up", bold);
    for (t, y) in upcoming(state, chart).zip(area.y + 1..area.bottom()) {
        let selected = state.selected_task() == Some(t);
        let style = if selected { canvas.bold(Ink::Accent) } else { Style::new() };
        let time = when_from(state.kitchen.zone, chart.tasks[t].start, state.now);
        let quiet = if selected { style } else { canvas.ink(Ink::Quiet) };
        canvas.text(area.x, y, area.width, &format!("{time:<16}"), quiet);
        canvas.text(area.x + 17, y, area.width.saturating_sub(17), short(&chart.plan.tasks[t].says), style);
        canvas.places.add(Rect::new(area.x, y, area.width, 1), Target::Next { task: t });
    }
}

/// The levels with their figures and what is proven.
pub fn standing(canvas: &mut Canvas, state: &State, area: Rect) {
    let bold = canvas.bold(Ink::Plain);
    let (plain, quiet) = (Style::new(), canvas.ink(Ink::Quiet));
    let (value, proof) = (12.min(area.width / 3), 20.min(area.width / 3));
    let right = area.x + area.width;
    canvas.text(area.x, area.y, area.width, "How good, in order of weight", bold);
    for (i, [label, figure, bound, word]) in standing_table(state).iter().enumerate() {
        let y = area.y + 1 + i as u16;
        if y >= area.y + area.height {
            return;
        }
        canvas.text(area.x, y, area.width.saturating_sub(value + proof + 2), label, plain);
        canvas.text_right(right.saturating_sub(proof + 1), y, value, figure, plain);
        let said = if word == "proven" { word.clone() } else { format!("open, ≥ {bound}") };
        canvas.text(right.saturating_sub(proof), y, proof, &said, quiet);
    }
}
