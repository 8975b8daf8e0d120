//! Any size, any key, any click: never a panic, and what is on the screen stays true to the state.

use proptest::prelude::*;
use turnday::app::{
    COMMANDS, Code, Deed, Effect, Gesture, Inks, Key, Message, News, PlanNews, Screen, State, Target, View, next_wake,
    update,
};

use crate::fixture;
use crate::frames;

/// A book is open, and a changed plan waits.
fn proposed() -> State {
    let pair = fixture::pair_kitchen();
    let state = frames::state(&pair, Some(fixture::pair_plan(&pair)), 80, 24, "2026-12-07 18:20");
    let mut state = frames::with_book(state, include_str!("pair.json")).0;
    state.proposal = Some(std::sync::Arc::new(fixture::proposal(&state)));
    state
}

/// Empty, one, many, none yet, nothing at all, a book with a change, and a plan with a fault in everything.
fn states() -> Vec<State> {
    let pair = fixture::pair_kitchen();
    let many = fixture::many_kitchen(24);
    let now = "2026-12-07 18:20";
    vec![
        frames::state(&pair, None, 80, 24, now),
        frames::state(&pair, Some(fixture::empty_plan(&pair)), 80, 24, now),
        frames::state(&pair, Some(fixture::one_plan(&pair)), 80, 24, now),
        frames::state(&many, Some(fixture::many_plan(&many)), 80, 24, now),
        update(frames::state(&pair, None, 80, 24, now), Message::Fresh).0,
        proposed(),
        crate::every::shown(View::Timeline, "broken", 80, 24),
    ]
}

#[test]
fn every_size_is_drawn() {
    let states = states();
    for cols in (1..=120).chain((125..=300).step_by(7)) {
        // All rows up to where the layout has room for everything, then a few large ones.
        for rows in (1..=26).chain([30, 45, 60, 100]) {
            let which = usize::from(cols * 3 + rows) % states.len();
            let mut state = update(states[which].clone(), Message::Resize(Screen { cols, rows })).0;
            state.view = View::ALL[usize::from(cols + rows * 5) % View::ALL.len()];
            let (buf, _) = frames::draw(&state, Inks::ALL[usize::from(rows) % Inks::ALL.len()]);
            assert_eq!((buf.area.width, buf.area.height), (cols, rows));
        }
    }
}

#[test]
fn a_frame_of_another_size_than_the_state_knows_is_no_panic() {
    use ratatui::{buffer::Buffer, layout::Rect};
    use turnday::tui::{Depth, Theme, draw};
    for state in states() {
        for (cols, rows) in [(1, 1), (60, 16), (79, 24), (80, 23), (300, 100)] {
            let mut buf = Buffer::empty(Rect::new(0, 0, cols, rows));
            draw::frame(&state, Theme { inks: Inks::Dark, depth: Depth::Sixteen }, &mut buf);
        }
    }
}

/// A key that a command has, or any other.
fn key() -> impl Strategy<Value = Key> {
    let bound: Vec<Key> = COMMANDS.iter().flat_map(|e| e.keys.iter().copied()).collect();
    prop_oneof![
        8 => proptest::sample::select(bound),
        1 => any::<char>().prop_map(Key::char),
        1 => proptest::sample::select(vec![Key::of(Code::Backspace), Key::of(Code::Enter), Key::char('a')]),
    ]
}

#[derive(Debug, Clone)]
enum Act {
    Key(Key),
    /// A place on the screen in per mille, and what the pointer does there.
    Pointer(u16, u16, u8),
    Resize(u16, u16),
    Clock(i64),
    Paste(String),
    Plan(u8),
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        12 => key().prop_map(Act::Key),
        6 => (0u16..1000, 0u16..1000, 0u8..7).prop_map(|(x, y, g)| Act::Pointer(x, y, g)),
        2 => (1u16..220, 1u16..70).prop_map(|(c, r)| Act::Resize(c, r)),
        1 => (-60_000i64..60_000).prop_map(Act::Clock),
        1 => ".{0,12}".prop_map(Act::Paste),
        1 => (0u8..4).prop_map(Act::Plan),
    ]
}

/// As many walks as asked for by hand, some 40 acts each.
fn cases() -> u32 {
    std::env::var("TURNDAY_SWEEP").ok().and_then(|n| n.parse().ok()).unwrap_or(60)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_act_makes_it_fall_over(start in 0usize..7, acts in proptest::collection::vec(act(), 1..80)) {
        let mut state = states().swap_remove(start);
        for act in acts {
            let (_, places) = frames::draw(&state, state.inks);
            let message = match act {
                Act::Key(k) => Some(Message::Key(k)),
                Act::Pointer(x, y, g) => {
                    let at = ratatui::layout::Position::new(
                        (u32::from(state.screen.cols) * u32::from(x) / 1000) as u16,
                        (u32::from(state.screen.rows) * u32::from(y) / 1000) as u16,
                    );
                    let gesture = [
                        Gesture::Press, Gesture::WheelUp, Gesture::WheelDown, Gesture::WheelLeft, Gesture::WheelRight,
                        Gesture::Drag { cols: 7, rows: 1 }, Gesture::Drag { cols: -40, rows: 0 },
                    ][usize::from(g)];
                    places.at(at).map(|t| Message::Pointer(t, gesture))
                }
                Act::Resize(cols, rows) => Some(Message::Resize(Screen { cols, rows })),
                Act::Clock(by) => Some(Message::Clock(state.now + by)),
                Act::Paste(text) => Some(Message::Paste(text)),
                Act::Plan(which) => {
                    let k = state.kitchen.clone();
                    let news = match which {
                        0 => News::Better(Box::new(fixture::empty_plan(&fixture::pair_kitchen()))),
                        1 => News::Better(Box::new(fixture::one_plan(&fixture::pair_kitchen()))),
                        2 => News::Impossible(vec!["a reason".into()]),
                        _ => News::Better(Box::new(if k.kit.tubs.len() > 2 { fixture::many_plan(&k) } else { fixture::pair_plan(&k) })),
                    };
                    Some(Message::News(PlanNews { revision: 0, news }))
                }
            };
            if let Some(m) = message {
                let (after, effects) = update(state, m);
                state = after;
                for effect in effects {
                    if let Effect::Do(Deed::Kitchen { text, .. } | Deed::Begin { text, .. }) = effect {
                        let read = turnday::kitchen::read("kitchen", &text);
                        prop_assert!(!read.refused(), "a kitchen is kept that cannot be read: {}", read.to_text(false));
                    }
                }
            }
            prop_assert!(next_wake(&state) > state.now);
            if let (Some(s), Some(c)) = (state.selected, &state.chart) {
                prop_assert!(s.row < c.rows.len() && s.task.is_none_or(|t| t < c.tasks.len()));
            }
        }
        frames::draw(&state, Inks::Dark);
    }
}

#[test]
fn what_is_clicked_is_what_was_drawn() {
    let k = fixture::many_kitchen(24);
    let state = frames::state(&k, Some(fixture::many_plan(&k)), 120, 40, "2026-12-01 09:00");
    let (_, places) = frames::draw(&state, Inks::Dark);
    let mut tasks = 0;
    for (area, target) in places.targets() {
        let Target::Task { row, task } = target else { continue };
        let clicked = places.at(ratatui::layout::Position::new(area.x, area.y)).expect("something is there");
        let (after, effects) = update(state.clone(), Message::Pointer(clicked, Gesture::Press));
        assert_eq!(effects, []);
        let selected = after.selected.expect("a click selects");
        assert_eq!((selected.row, selected.task), (row, Some(task)));
        tasks += 1;
    }
    assert!(tasks > 50, "{tasks}");
}

#[test]
fn the_footer_can_be_clicked() {
    let k = fixture::pair_kitchen();
    let state = frames::state(&k, Some(fixture::pair_plan(&k)), 120, 40, "2026-12-07 18:20");
    let (_, places) = frames::draw(&state, Inks::Dark);
    let quit =
        places.targets().find(|(_, t)| *t == Target::Command(turnday::app::Command::Quit)).expect("quit is there").0;
    let target = places.at(ratatui::layout::Position::new(quit.x, quit.y)).unwrap();
    assert_eq!(update(state, Message::Pointer(target, Gesture::Press)).1, [Effect::Quit]);
}
