//! Search over joints, kit, people, tasks and dates.

use super::chart::Chart;
use super::state::{Selection, State};
use super::time::when;

/// Everything that a query finds: lines by name first, then tasks in order of time. Each word of the query must be in
/// the line's name, or in the task's sentence, joints, person or date.
pub fn matches(state: &State, query: &str) -> Vec<Selection> {
    let words: Vec<String> = query.to_lowercase().split_whitespace().map(str::to_owned).collect();
    let Some(chart) = state.chart.as_deref() else { return Vec::new() };
    if words.is_empty() {
        return Vec::new();
    }
    let has = |text: &str| words.iter().all(|w| text.contains(w.as_str()));
    let mut found: Vec<Selection> = (0..chart.rows.len())
        .filter(|&r| has(&chart.rows[r].name.to_lowercase()))
        .map(|row| Selection { row, task: None })
        .collect();
    let rows = rows_of_tasks(chart);
    for &t in &chart.order {
        let task = &chart.plan.tasks[t];
        let text = format!(
            "{} {} {} {}",
            task.says,
            task.joints.join(" "),
            task.who.as_deref().unwrap_or_default(),
            when(state.kitchen.zone, chart.tasks[t].start)
        );
        if let (true, Some(row)) = (has(&text.to_lowercase()), rows[t]) {
            found.push(Selection { row, task: Some(t) });
        }
    }
    found
}

/// The first line each task is on.
fn rows_of_tasks(chart: &Chart) -> Vec<Option<usize>> {
    let mut rows = vec![None; chart.tasks.len()];
    for (r, row) in chart.rows.iter().enumerate().rev() {
        row.tasks.iter().for_each(|&t| rows[t] = Some(r));
    }
    rows
}
