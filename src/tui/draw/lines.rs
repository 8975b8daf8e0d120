//! The lines of the chart: a joint's life, what the kit holds, who does what.

use ratatui::layout::Rect;

use super::Canvas;
use super::line::{Line, Look};
use crate::app::text::width;
use crate::app::{Chart, Geometry, Mark, Row, RowKind, State, Story, Target, share};
use crate::plan::Kind;
use crate::tui::theme::Ink;

/// Ranks: what is drawn over what.
const SLACK: u8 = 1;
const BAR: u8 = 2;
const WAIT: u8 = 3;
const WORK: u8 = 4;
const HEAT: u8 = 5;
const MOMENT: u8 = 6;
const PROMISE: u8 = 8;
const TROUBLE: u8 = 9;
const IN_HAND: u8 = 10;

pub fn draw(canvas: &mut Canvas, state: &State, chart: &Chart, g: &Geometry) {
    let joints = (state.top_joint..chart.joints).take(usize::from(g.joints.height)).zip(g.joints.y..);
    let strips =
        (chart.joints + state.top_strip..chart.rows.len()).take(usize::from(g.strips.height)).zip(g.strips.y..);
    for (r, y) in joints.chain(strips) {
        name(canvas, state, chart, g, r, y);
        let line = match chart.rows[r].kind {
            RowKind::Joint(j) => joint(state, chart, &chart.rows[r], &chart.stories[j]),
            RowKind::Person(p) => person(state, chart, &chart.rows[r], p),
            RowKind::Tub(_) | RowKind::Cold(_) | RowKind::Kit => kit(state, chart, &chart.rows[r]),
        };
        let open = match chart.rows[r].kind {
            RowKind::Person(p) => &chart.ground.people[p],
            _ => &chart.ground.anyone,
        };
        let dots = !matches!(chart.rows[r].kind, RowKind::Person(_)) && state.axis.per_col <= 120;
        let look = Look { open, zone: state.kitchen.zone, now: state.now, selected: state.selected_task(), dots };
        line.flush(canvas, g.label, y, r, &look);
    }
    more(canvas, g.joints.y, g.joints.height, g.label, state.top_joint, chart.joints);
    more(canvas, g.strips.y, g.strips.height, g.label, state.top_strip, chart.strips());
}

/// Arrows where lines are scrolled out of view.
fn more(canvas: &mut Canvas, y: u16, height: u16, label: u16, top: usize, count: usize) {
    let style = canvas.bold(Ink::Accent);
    if height == 0 {
        return;
    }
    if top > 0 {
        canvas.text(label - 1, y, 1, "↑", style);
    }
    if top + usize::from(height) < count {
        canvas.text(label - 1, y + height - 1, 1, "↓", style);
    }
}

fn name(canvas: &mut Canvas, state: &State, chart: &Chart, g: &Geometry, r: usize, y: u16) {
    let row = &chart.rows[r];
    let selected = state.selected.is_some_and(|s| s.row == r);
    let style = match (selected, row.kind) {
        (true, _) => canvas.bold(Ink::Accent),
        (false, RowKind::Joint(_)) => canvas.ink(Ink::Plain),
        (false, _) => canvas.ink(Ink::Quiet),
    };
    if selected {
        canvas.text(0, y, 1, "▸", style);
    }
    // A figure stands beside a name that leaves it room; a joint's always does.
    let (wide, figure) = (width(&row.name) as u16, width(&row.figure) as u16);
    let joint = matches!(row.kind, RowKind::Joint(_));
    let figure = if joint || wide + figure + 4 <= g.label { figure } else { 0 };
    canvas.text(1, y, g.label.saturating_sub(3 + if figure > 0 { figure + 1 } else { 0 }), &row.name, style);
    if figure > 0 {
        let quiet = if selected { style } else { canvas.ink(Ink::Quiet) };
        canvas.text_right(g.label - 2, y, figure, &row.figure, quiet);
    }
    canvas.places.add(Rect::new(0, y, g.label, 1), Target::Name { row: r });
}

/// A brine bar's texture at a moment: it deepens as the salt gets in, and is full when the rule's days are up.
fn salt(story: &Story, at: i64) -> char {
    match at {
        _ if at >= story.cured => '█',
        _ if at >= story.deepens[1] => '▓',
        _ if at >= story.deepens[0] => '▒',
        _ => '░',
    }
}

/// A texture that deepens with a share from 0 to 1.
fn texture(share: f64) -> char {
    match share {
        s if s >= 1.0 => '█',
        s if s >= 2.0 / 3.0 => '▓',
        s if s >= 1.0 / 3.0 => '▒',
        _ => '░',
    }
}

fn joint(state: &State, chart: &Chart, row: &Row, story: &Story) -> Line {
    let mut line = Line::new(state.axis);
    if let Some(by) = story.ready_by {
        if by > story.ready {
            line.fill(story.ready, by, Ink::Quiet, SLACK, None, |_| '─');
        }
        let kept = story.ready <= by;
        if let Some(col) = state.axis.visible(by) {
            let (glyph, ink) = if kept { ('◆', Ink::Accent) } else { ('◇', Ink::Danger) };
            line.put(col, glyph, ink, PROMISE, None);
        }
        if !kept {
            let bar = line.fill(by + state.axis.per_col, story.ready, Ink::Danger, SLACK, None, |_| '╍');
            line.word(bar, "late", PROMISE);
        }
    }
    line.fill(story.put_in, story.lift, Ink::Bar, BAR, None, |at| salt(story, at));
    for &t in in_view(state, chart, &row.tasks) {
        task(&mut line, state, chart, t);
    }
    line
}

/// The tasks of a line that touch the view.
fn in_view<'a>(state: &State, chart: &'a Chart, tasks: &'a [usize]) -> impl Iterator<Item = &'a usize> {
    let (left, right) = (state.axis.left, state.axis.right());
    let end = tasks.partition_point(|&t| chart.tasks[t].start < right);
    tasks[..end].iter().filter(move |&&t| chart.tasks[t].end >= left)
}

/// A task on a joint's line: a bar, a thin line, or a mark, by kind.
fn task(line: &mut Line, state: &State, chart: &Chart, t: usize) {
    let task = &chart.tasks[t];
    let length = (task.end - task.start).max(1) as f64;
    let through = |at: i64| (at - task.start) as f64 / length;
    let one = Some(t);
    let mut fill = |ink, rank, glyph: &dyn Fn(i64) -> char| line.fill(task.start, task.end, ink, rank, one, glyph);
    let bar = match task.kind {
        Kind::Simmer => fill(Ink::Accent, HEAT, &|at| texture(through(at) * 0.99)),
        Kind::ScoreAndGlaze => fill(Ink::Accent, WORK, &|_| '▚'),
        Kind::Bake => fill(Ink::Accent, HEAT, &|_| '█'),
        Kind::Chill => fill(Ink::Plain, WORK, &|at| texture((1.0 - through(at)) * 0.99)),
        Kind::Rest | Kind::Dry | Kind::Firm | Kind::Cool => fill(Ink::Quiet, WAIT, &|_| '╌'),
        Kind::Soak => fill(Ink::Quiet, WAIT, &|_| '~'),
        Kind::Freeze => fill(Ink::Plain, WAIT, &|_| '*'),
        Kind::Slice => fill(Ink::Plain, WORK, &|_| '/'),
        Kind::VacuumPack => fill(Ink::Plain, WORK, &|_| '▪'),
        Kind::BrineMake => fill(Ink::Accent, WORK, &|_| '≈'),
        Kind::Submerge | Kind::Turn | Kind::Rinse => fill(Ink::Plain, MOMENT, &|_| '='),
    };
    mark(line, state, chart, t);
    line.word(bar.map(|(a, b)| (a + 1, b)).filter(|(a, b)| a < b), words(task.kind), HEAT);
}

/// The mark at a task's start: its own shape while due, another for each way it can stand.
fn mark(line: &mut Line, state: &State, chart: &Chart, t: usize) {
    let task = &chart.tasks[t];
    let Some(col) = state.axis.visible(task.start) else { return };
    // In and out of the brine are seen before a turn in the same column.
    let own = if task.kind == Kind::Turn { MOMENT } else { MOMENT + 1 };
    let rank = if state.selected_task() == Some(t) { IN_HAND } else { own };
    let standing = state.mark(chart, t);
    let (glyph, ink, rank) = match (standing, task.kind) {
        (Mark::Past, kind) if is_moment(kind) => (glyph_of(kind), Ink::Quiet, rank),
        (Mark::Late, _) => ('!', Ink::Danger, rank.max(TROUBLE)),
        (Mark::Done, _) => ('●', Ink::Quiet, rank),
        (Mark::Moved, _) => ('»', Ink::Accent, rank),
        (Mark::Pinned, _) => ('▼', Ink::Plain, rank),
        (Mark::Due, kind) if is_moment(kind) => (glyph_of(kind), Ink::Plain, rank),
        // In hand but hidden under others in its column: its own glyph comes to the top.
        (Mark::Due | Mark::Past, kind) if rank == IN_HAND => (glyph_of(kind), Ink::Plain, rank),
        (Mark::Due | Mark::Past, _) => return,
    };
    line.put(col, glyph, ink, rank, Some(t));
}

/// Moments on a joint's way, drawn as marks whatever the zoom.
const fn is_moment(kind: Kind) -> bool {
    matches!(kind, Kind::Submerge | Kind::Turn | Kind::Rinse)
}

const fn glyph_of(kind: Kind) -> char {
    match kind {
        Kind::BrineMake => '≈',
        Kind::Simmer => '░',
        Kind::ScoreAndGlaze => '▚',
        Kind::Bake => '█',
        Kind::Chill => '▓',
        Kind::Slice => '/',
        Kind::VacuumPack => '▪',
        Kind::Freeze => '*',
        Kind::Soak => '~',
        Kind::Submerge => '↓',
        Kind::Turn => '○',
        Kind::Rinse => '↑',
        Kind::Rest | Kind::Dry | Kind::Firm | Kind::Cool => '╌',
    }
}

/// The word in a bar that has room for it.
const fn words(kind: Kind) -> &'static str {
    match kind {
        Kind::BrineMake => "boil brine",
        Kind::Cool => "cool",
        Kind::Submerge => "put in",
        Kind::Turn => "turn",
        Kind::Rinse => "lift, rinse",
        Kind::Soak => "soak",
        Kind::Dry => "dry",
        Kind::Rest => "rest",
        Kind::Simmer => "simmer",
        Kind::ScoreAndGlaze => "glaze",
        Kind::Bake => "bake",
        Kind::Chill => "chill",
        Kind::Firm => "firm",
        Kind::Slice => "slice",
        Kind::VacuumPack => "pack",
        Kind::Freeze => "freeze",
    }
}

/// A tub, cold space or other kit: how full, of what, with its own moments on it.
fn kit(state: &State, chart: &Chart, row: &Row) -> Line {
    let mut line = Line::new(state.axis);
    let (left, right) = (state.axis.left, state.axis.right());
    for hold in row.holds.iter().filter(|h| h.from < right && h.to > left) {
        let glyph = match row.kind {
            RowKind::Cold(_) => ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'][usize::from(hold.eighths.clamp(1, 8)) - 1],
            _ => '▄',
        };
        line.fill(hold.from, hold.to, Ink::Bar, BAR, None, |_| glyph);
    }
    let marks = matches!(row.kind, RowKind::Tub(_));
    for &t in in_view(state, chart, &row.tasks) {
        let task = &chart.tasks[t];
        if marks && is_moment(task.kind) {
            mark(&mut line, state, chart, t);
        } else if row.kind == RowKind::Kit {
            line.fill(task.start, task.end, Ink::Plain, BAR, Some(t), |_| '▄');
        }
    }
    for hold in row.holds.iter().filter(|h| h.from < right && h.to > left) {
        line.word(state.axis.touched(hold.from, hold.to), &hold.words, BAR);
    }
    line
}

/// A person's hours, and the tasks in their hands.
fn person(state: &State, chart: &Chart, row: &Row, p: usize) -> Line {
    let mut line = Line::new(state.axis);
    // A low hill of the hours: as high as the share of the column in which they can work.
    for col in 0..state.axis.cols {
        let from = state.axis.time(i64::from(col));
        let share = share(&chart.ground.people[p], from, from + state.axis.per_col);
        if share > 0.05 {
            let glyph = ['▁', '▂', '▃'][((share * 3.0) as usize).min(2)];
            line.put(col, glyph, Ink::Bar, BAR, None);
        }
    }
    for &t in in_view(state, chart, &row.tasks) {
        let task = &chart.tasks[t];
        let hands = task.hands.max(1).min((task.end - task.start).max(1));
        let rank = if state.selected_task() == Some(t) { IN_HAND } else { WORK };
        line.fill(task.start, task.start + hands, Ink::Plain, rank, Some(t), |_| '■');
    }
    line
}
