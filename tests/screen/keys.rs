//! The command table: every command can be given by its key, and the help lists all of them.

use turnday::app::{
    COMMANDS, Command, Effect, Entry, Inks, Key, Message, On, Overlay, Planning, Spot, State, View, update,
};

use crate::fixture;
use crate::frames;
use crate::walk::{At, Walk};

fn pair(cols: u16, rows: u16) -> State {
    let k = fixture::pair_kitchen();
    frames::state(&k, Some(fixture::pair_plan(&k)), cols, rows, "2026-12-07 18:20")
}

fn press(state: State, key: Key) -> (State, Vec<Effect>) {
    update(state, Message::Key(key))
}

/// What a person could see of the state, to tell whether a key did anything.
fn seen(s: &State) -> String {
    format!(
        "{:?}",
        (
            s.view,
            s.spots,
            s.selected,
            s.axis,
            s.overlay,
            s.inks,
            s.mouse,
            s.top_joint,
            s.top_strip,
            &s.query,
            &s.progress.state,
            (&s.form, &s.log, s.moving, &s.wished)
        )
    )
}

#[test]
fn every_command_does_something_from_its_every_key() {
    for entry in COMMANDS.iter().filter(|e| e.on != On::Form) {
        for key in entry.keys {
            // From the middle of things every direction is open; a search is on and planning runs.
            let mut state = pair(80, 24);
            state.progress.state = Planning::Running;
            state = press(state, Key::char('t')).0;
            state = press(state, Key::char('t')).0;
            state = press(state, Key::char('+')).0;
            state.query = "turn".into();
            let state = match entry.command {
                // Now is in view after the start: look elsewhere first.
                Command::Now => press(state, Key::char('L')).0,
                Command::PageUp | Command::Up => press(press(state, Key::char('j')).0, Key::char('j')).0,
                _ => state,
            };
            let Some(state) = at_home(state, entry) else { continue };
            assert!(entry.is_open(&state), "{:?} is not allowed", entry.command);
            let before = seen(&state);
            let (after, effects) = press(state, *key);
            assert!(!effects.is_empty() || seen(&after) != before, "{key} ({:?}) did nothing", entry.command);
        }
    }
}

/// The same state on a view where the command is at home and has something to move through; none while no view has.
fn at_home(mut state: State, entry: &Entry) -> Option<State> {
    match entry.command {
        Command::Tick | Command::Later | Command::WriteDown | Command::Undo | Command::Redo => {
            state = frames::with_book(state, include_str!("pair.json")).0;
        }
        Command::Begin | Command::Demo => state.fresh = true,
        Command::KeepBook => state.from_file = true,
        Command::Accept | Command::KeepOld => {
            state.proposal = Some(std::sync::Arc::new(fixture::proposal(&state)));
            return Some(press(state, Key::char('C')).0);
        }
        _ => {}
    }
    if entry.command == Command::ShowTimeline {
        return Some(press(state, Key::char('2')).0);
    }
    if entry.on.has(state.view) {
        return Some(state);
    }
    for view in View::ALL.into_iter().filter(|v| entry.on.has(*v)) {
        state = press(state, turnday::app::entry(view.command()).keys[0]).0;
        assert_eq!(state.view, view);
        let shape = turnday::app::views::shape(&state, view);
        let middle = Spot { line: shape.lines / 2, across: shape.across / 2, top: 0 };
        let lines = std::iter::once(middle.line).chain(0..shape.lines);
        for line in lines {
            state.spots[view as usize] = Some(Spot { line, ..middle });
            if entry.is_open(&state) {
                break;
            }
        }
        if entry.is_open(&state)
            && (matches!(entry.on, On::One(_)) || entry.command == Command::Open || shape.across > 2)
        {
            return Some(state);
        }
    }
    None
}

#[test]
fn every_view_is_opened_by_its_key_and_left_by_escape() {
    for view in View::ALL {
        let state = press(pair(80, 24), turnday::app::entry(view.command()).keys[0]).0;
        assert_eq!(state.view, view);
        let text = frames::text(&frames::draw(&state, Inks::Dark).0);
        assert!(view == View::Timeline || text.lines().nth(2).unwrap().contains(view.title()), "{text}");
        assert_eq!(press(state, Key::of(turnday::app::Code::Escape)).0.view, View::Timeline);
    }
}

#[test]
fn the_palette_finds_any_command_by_a_few_letters_and_runs_it() {
    let typed = |text: &str| text.chars().fold(pair(80, 24), |s, c| press(s, Key::char(c)).0);
    let enter = Key::of(turnday::app::Code::Enter);
    for entry in COMMANDS.iter().filter(|e| e.command != Command::Palette && e.on != On::Form) {
        let state = typed(&format!(":{}", entry.words));
        let found = turnday::app::offers(&state);
        assert_eq!(found[0].entry.command, entry.command, "{}", entry.words);
        let text = frames::text(&frames::draw(&state, Inks::Dark).0);
        assert!(text.contains(entry.words), "{text}");
        assert!(text.contains(&entry.keys[0].to_string()), "{text}");
    }
    assert_eq!(press(typed(":zoin"), enter).0.axis, press(pair(80, 24), Key::char('+')).0.axis);
    assert_eq!(press(typed(":qu"), enter).1, [Effect::Quit]);
    assert_eq!(press(typed(":xyzzy"), enter).0.overlay, Overlay::None);
    // A command of another view goes there first.
    let away = press(press(typed("2:zoin"), enter).0, Key::char('?')).0;
    assert_eq!(away.view, View::Timeline);
    // The list of views is the palette of one group.
    let views = press(typed("3v"), Key::of(turnday::app::Code::Down)).0;
    assert_eq!(press(views, enter).0.view, View::Tubs);
}

#[test]
fn a_task_is_moved_with_its_limits_shown_and_the_rest_planned_around_it() {
    let enter = Key::of(turnday::app::Code::Enter);
    let right = Key::of(turnday::app::Code::Right);
    let mut state = pair(120, 40);
    for _ in 0..2 {
        state = press(state, Key::char('t')).0;
    }
    let chart = state.chart.clone().unwrap();
    let (t, id) = (state.selected_task().unwrap(), chart.plan.tasks[state.selected_task().unwrap()].id.clone());
    state = press(state, Key::char('M')).0;
    assert_eq!(state.overlay, Overlay::Move);
    state = press(state, right).0;
    let text = frames::text(&frames::draw(&state, Inks::Dark).0);
    assert!(text.contains("move to") && text.contains("inside its limits"), "{text}");
    for _ in 0..8 {
        state = press(state, right).0;
    }
    let text = frames::text(&frames::draw(&state, Inks::Dark).0);
    assert!(text.contains("! ") && text.contains("others would have to move"), "{text}");
    let (to, revision) = (state.moving.unwrap().to, state.progress.revision);
    let (after, effects) = press(state.clone(), enter);
    assert_eq!((effects, after.progress.revision), (vec![Effect::Plan], revision + 1));
    assert_eq!(after.wished.get(&id), Some(&to));
    // Asked elsewhere, it is not told as pinned where it still stands.
    assert!(after.plans_again() && after.mark(&chart, t) != turnday::app::Mark::Pinned);
    // Left, it is where it was; and what is done is not moved.
    let left = press(state, Key::of(turnday::app::Code::Escape)).0;
    assert!(left.wished.is_empty() && left.moving.is_none() && left.overlay == Overlay::None);
    let pinned = press(left, Key::char('P')).0;
    assert_eq!(pinned.wished.get(&id), Some(&chart.tasks[t].start));
    assert_eq!(pinned.mark(&chart, t), turnday::app::Mark::Pinned);
    assert!(press(pinned.clone(), Key::char('P')).0.wished.is_empty());
    // What is taken on without a record is the plan from then on.
    let mut state = pinned;
    state.proposal = Some(std::sync::Arc::new(fixture::proposal(&state)));
    let state = press(press(state, Key::char('C')).0, Key::char('a')).0;
    assert!(state.proposal.is_none() && state.view == View::Timeline);
}

#[test]
fn keys_of_the_persons_own_are_what_counts_and_what_is_shown() {
    let mut state = pair(120, 40);
    state.keymap = std::sync::Arc::new(turnday::app::Keymap::read("{ \"next-turn\": \"N\" }").unwrap());
    let before = state.selected;
    assert_eq!(press(state.clone(), Key::char('t')).0.selected, before);
    let after = press(state.clone(), Key::char('N')).0;
    assert_ne!(after.selected, before);
    let text = frames::text(&frames::draw(&state, Inks::Dark).0);
    assert!(text.lines().last().unwrap().contains("N turn"), "{text}");
}

#[test]
fn the_help_lists_every_command_at_every_size() {
    for (cols, rows) in [(40, 12), (60, 16), (80, 24), (120, 40), (200, 60)] {
        let mut state = pair(cols, rows);
        state = press(state, Key::char('?')).0;
        assert_eq!(state.overlay, Overlay::Help { top: 0 });
        let mut all = String::new();
        for _ in 0..130 {
            all += &frames::text(&frames::draw(&state, Inks::Dark).0);
            state = press(state, Key::char('j')).0;
        }
        for entry in COMMANDS.iter().filter(|e| e.on.has(View::Timeline)) {
            assert!(all.contains(entry.words), "{cols}x{rows}: help has no \"{}\"", entry.words);
            assert!(all.contains(&entry.keys[0].to_string()));
        }
    }
}

#[test]
fn a_command_that_cannot_be_given_says_so() {
    let (state, effects) = press(pair(80, 24), Key::char('s'));
    assert_eq!(effects, []);
    assert!(state.notice.unwrap().contains("stop looking"));
}

#[test]
fn turns_are_stepped_through_in_time() {
    let mut state = pair(120, 40);
    let turn = |s: &State| {
        let c = s.chart.as_ref().unwrap();
        let t = s.selected_task().unwrap();
        (c.tasks[t].kind, turnday::app::time::when(s.kitchen.zone, c.tasks[t].start))
    };
    assert_eq!(turn(&state).1, "Mon 7 Dec 19:00", "the next task is in hand at the start");
    let mut seen = Vec::new();
    for _ in 0..6 {
        state = press(state, Key::char('t')).0;
        seen.push(turn(&state).1);
    }
    assert_eq!(seen[..4], ["Thu 10 Dec 19:00", "Sun 13 Dec 19:00", "Wed 16 Dec 19:00", "Sat 19 Dec 19:00"]);
    assert_eq!(seen[5], "Sat 19 Dec 19:00", "the last turn stays");
    state = press(state, Key::char('T')).0;
    assert_eq!(turn(&state).1, "Wed 16 Dec 19:00");
}

#[test]
fn a_search_is_typed_and_stepped_through() {
    let mut state = pair(120, 40);
    state = press(state, Key::char('/')).0;
    for c in "22 dec simmer".chars() {
        state = press(state, Key::char(c)).0;
    }
    let chart = state.chart.clone().unwrap();
    assert!(chart.plan.tasks[state.selected_task().unwrap()].says.starts_with("Simmer shank"));
    state = press(state, Key::of(turnday::app::Code::Enter)).0;
    assert_eq!(state.overlay, Overlay::None);
    state.query = "turn".into();
    state = press(state, Key::char(']')).0;
    assert!(state.notice.as_deref().unwrap().starts_with("match 1 of"));
}

#[test]
fn a_better_plan_keeps_what_is_in_hand() {
    use turnday::app::{News, PlanNews};
    let k = fixture::pair_kitchen();
    let mut state = pair(120, 40);
    state = press(press(state, Key::char('t')).0, Key::char('t')).0;
    let chart = state.chart.clone().unwrap();
    let id = chart.plan.tasks[state.selected_task().unwrap()].id.clone();
    let mut plan = fixture::pair_plan(&k);
    plan.tasks.retain(|t| t.kind != turnday::plan::Kind::BrineMake);
    let axis = state.axis;
    let better = |revision| Message::News(PlanNews { revision, news: News::Better(Box::new(plan.clone())) });
    let dropped = update(state.clone(), better(7)).0;
    assert_eq!(dropped.chart.unwrap().plan.tasks.len(), chart.plan.tasks.len(), "news of another question is dropped");
    state = update(state, better(0)).0;
    let new = state.chart.clone().unwrap();
    assert_eq!(new.plan.tasks[state.selected_task().unwrap()].id, id);
    assert_eq!(state.axis, axis, "the view stays once a person has moved it");
}

/// What was asked about is made so in the kitchen's own text, planned with, and can be undone.
#[test]
fn an_answer_is_taken_on_like_any_edit() {
    let mut walk = Walk::begin(At::Five, 120, 40);
    let text = include_str!("../../demo-data/five-and-a-weekend-away.json");
    walk.state.paper = turnday::app::form::Paper::new(text);
    for key in ["i", "\"away 5-6 Mar\"", "enter"] {
        walk.press(key);
    }
    assert!(walk.text().contains("ctrl-s takes it on"), "{}", walk.text());
    let (state, effects) = press(walk.state, Key::ctrl('s'));
    assert!(
        matches!(effects.as_slice(), [Effect::Do(turnday::app::Deed::Kitchen { .. }), Effect::Plan]),
        "{effects:?}"
    );
    let gone = |s: &State| s.kitchen.people.iter().all(|p| p.away.iter().any(|a| a.why == "asked"));
    assert!(gone(&state) && state.overlay == turnday::app::Overlay::None);
    let kept = |line: &&str| state.paper.text.contains(*line);
    assert!(text.lines().filter(|l| l.contains("//")).all(|l| kept(&l)), "{}", state.paper.text);
    let (back, _) = press(state, Key::char('u'));
    assert!(!gone(&back) && back.paper.text == text);
    // What only the scale can say is written down instead, and where nothing was planned there is nothing to take on.
    for (question, says) in [("\"weighs Alder 3.4\"", "write it down"), ("\"binds\"", "nothing to take on")] {
        let mut walk = Walk::begin(At::Five, 120, 40);
        ["i", question, "enter", "ctrl-s"].into_iter().for_each(|key| walk.press(key));
        assert!(walk.text().contains(says), "{}", walk.text());
        assert!(!walk.text().contains("ctrl-s takes it on"));
    }
}

/// An answer is of the plan it was asked of; once that plan or its record is another one, it says so.
#[test]
fn an_old_answer_says_that_it_is_old() {
    let enter = Key::of(turnday::app::Code::Enter);
    let state = crate::forms::keys(pair(120, 40), "ibinds").0;
    let (asked, effects) = press(state, enter);
    assert!(matches!(effects.as_slice(), [Effect::Ask(_)]), "{effects:?}");
    let answer = turnday::plan::ask::Answer {
        question: turnday::plan::question::Question::Binds,
        asked: "Which limit binds?".into(),
        yes: None,
        says: vec!["None.".into()],
        difference: None,
        ways: vec![],
        held: vec![],
        at: None,
        kitchen: None,
    };
    let number = asked.asking.asked;
    let late = update(asked.clone(), Message::Answer(number - 1, Ok(answer.clone().into()))).0;
    assert!(matches!(late.asking.reply, turnday::app::Reply::Waiting(_)), "another question's answer is dropped");
    let mut told = update(asked, Message::Answer(number, Ok(answer.into()))).0;
    let says = |s: &State| frames::text(&frames::draw(s, Inks::Dark).0);
    assert!(says(&told).contains("None.") && !says(&told).contains("ask again"));
    told.adopt(turnday::app::Chart::new(&told.kitchen, fixture::pair_plan(&told.kitchen), told.now));
    assert!(says(&told).contains("None.") && says(&told).contains("ask again"));
}
