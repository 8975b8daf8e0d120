//! Nothing is told by colour alone: every way a task can stand has a shape and a word, and danger always has one of them.

use std::collections::HashSet;

use ratatui::style::Color;
use turnday::app::views::State as Stands;
use turnday::app::{Inks, Mark, Record, Selection, State, View};
use turnday::plan::Kind;

use crate::every::{DATA, shown};
use crate::{fixture, frames};

/// The pair in the middle of its cure, with one task in hand that stands as asked for.
fn standing(mark: Mark) -> State {
    let k = fixture::pair_kitchen();
    let mut state = frames::state(&k, Some(fixture::pair_plan(&k)), 120, 40, "2026-12-12 12:00");
    let chart = state.chart.clone().expect("a plan");
    let turns: Vec<usize> = chart.order.iter().copied().filter(|&t| chart.tasks[t].kind == Kind::Turn).collect();
    let past = matches!(mark, Mark::Done | Mark::Late | Mark::Past);
    let found = turns.into_iter().find(|&t| (chart.tasks[t].end <= state.now) == past).expect("a turn");
    let id = chart.plan.tasks[found].id.clone();
    let mut record = Record::default();
    match mark {
        Mark::Done => drop(record.done.insert(id)),
        Mark::Moved => drop(record.moved.insert(id)),
        Mark::Pinned => drop(record.pinned.insert(id)),
        Mark::Due | Mark::Late | Mark::Past => {}
    }
    state.record = (mark != Mark::Past).then_some(record);
    let row = chart.row_of(found).expect("it is on a line");
    state.selected = Some(Selection { row, task: Some(found) });
    assert_eq!(state.mark(&chart, found), mark);
    state
}

#[test]
fn every_way_a_task_stands_has_a_shape_and_a_word() {
    let mut shapes = HashSet::new();
    // Due and past without a record have the turn's own shape, and differ by what stands left and right of now.
    for (mark, shape, word) in [
        (Mark::Done, '●', "done"),
        (Mark::Late, '!', "late: its time is past and it is not ticked off"),
        (Mark::Moved, '»', "moved since the plan you had before"),
        (Mark::Pinned, '▼', "pinned: replanning leaves it here"),
        (Mark::Due, '○', "can start"),
    ] {
        let (buf, _) = frames::draw(&standing(mark), Inks::Mono);
        // The task in hand is drawn in reverse, whatever its colour.
        let in_hand = buf.content().iter().find(|c| c.modifier.contains(ratatui::style::Modifier::REVERSED));
        assert_eq!(in_hand.map(|c| c.symbol()), Some(shape.to_string().as_str()), "{mark:?}");
        let text = frames::text(&buf).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(word), "{mark:?} has no word:\n{}", frames::text(&buf));
        assert!(shapes.insert(shape), "{shape} stands for two");
    }
    let past = frames::text(&frames::draw(&standing(Mark::Past), Inks::Mono).0);
    assert!(past.contains("its time is past; no record is kept"), "{past}");
}

#[test]
fn on_the_pages_no_two_states_share_a_shape_or_a_word() {
    use Stands::{Done, Due, Lapsed, Missed, Past, Running, Skipped};
    let all = [Due, Running, Done, Skipped, Missed, Lapsed, Past];
    assert_eq!(all.map(Stands::mark).into_iter().collect::<HashSet<_>>().len(), all.len());
    assert_eq!(all.map(Stands::word).into_iter().collect::<HashSet<_>>().len(), all.len());
}

/// The shapes that mean trouble by themselves: late, a promise missed, the stretch by which, what a limit is crossed by.
const SHAPES: [char; 4] = ['!', '◇', '╍', '×'];

/// Whatever is drawn in the ink of danger has letters or a shape of its own, which stay where there is no colour.
#[test]
fn danger_is_never_colour_alone() {
    let mut seen = 0;
    for view in View::ALL {
        for data in DATA {
            let state = shown(view, data, 120, 40);
            let (buf, _) = frames::draw(&state, Inks::Contrast);
            for y in 0..buf.area.height {
                let row: Vec<_> = (0..buf.area.width).map(|x| &buf[(x, y)]).collect();
                // Contrast is where danger has a colour of its own.
                for run in row.chunk_by(|a, b| a.fg == b.fg).filter(|r| r[0].fg == Color::Indexed(217)) {
                    let said: String = run.iter().map(|c| c.symbol()).collect();
                    let told = said.chars().any(|c| c.is_alphanumeric() || SHAPES.contains(&c));
                    assert!(told || said.trim().is_empty(), "{view:?} of {data}, row {y}: only colour tells {said:?}");
                    seen += usize::from(told);
                }
            }
        }
    }
    assert!(seen > 20, "hardly any danger was looked at: {seen}");
}
