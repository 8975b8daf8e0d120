//! Forms: the kitchen is changed as a person would, checked as it is typed, read like any file, undone and done again.

use turnday::app::form::SECTIONS;
use turnday::app::{Code, Deed, Effect, Inks, Key, Message, Overlay, State, View, update};

use crate::fixture;
use crate::frames::{self, told};
use crate::golden::{agree, golden};

const ENTER: Key = Key::of(Code::Enter);

fn pair(cols: u16, rows: u16) -> State {
    let k = fixture::pair_kitchen();
    let mut state = frames::state(&k, Some(fixture::pair_plan(&k)), cols, rows, "2026-12-03 18:20");
    state.paper = turnday::app::form::Paper::new(include_str!("pair.json"));
    keys(state, "K").0
}

/// Types letters; a newline is enter, a tab is tab, `^s` is ctrl-s.
pub fn keys(mut state: State, text: &str) -> (State, Vec<Effect>) {
    let mut effects = Vec::new();
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        let key = match c {
            '\n' => ENTER,
            '\t' => Key::of(Code::Tab),
            '\u{1b}' => Key::of(Code::Escape),
            '↓' => Key::of(Code::Down),
            '→' => Key::of(Code::Right),
            '^' => Key::ctrl(chars.next().expect("a letter after ^")),
            c => Key::char(c),
        };
        let (after, more) = update(state, Message::Key(key));
        state = after;
        effects.extend(more);
    }
    (state, effects)
}

fn shown(state: &State) -> String {
    frames::text(&frames::draw(state, Inks::Dark).0)
}

#[test]
fn a_weight_is_typed_as_people_write_it() {
    // The first joint, its weight on the scale.
    let state = keys(pair(120, 40), "↓\n").0;
    assert_eq!(state.overlay, Overlay::Form);
    let state = keys(state, "\t\t7 lb 8 oz").0;
    assert!(shown(&state).contains("= 3.40 kg"), "{}", shown(&state));
    let (state, effects) = keys(state, "^s");
    assert_eq!(state.overlay, Overlay::None, "{}", shown(&state));
    let [Effect::Do(Deed::Kitchen { text, says }), Effect::Plan] = effects.as_slice() else { panic!("{effects:?}") };
    assert!(text.contains("\"weighed\": \"7 lb 8 oz\""), "{text}");
    assert!(says.contains("joint shank") && says.contains("7 lb 8 oz"), "{says}");
    assert!((state.kitchen.joints[0].weighed.unwrap().as_kg() - 3.4019).abs() < 0.001);
    assert_eq!(state.progress.revision, 1, "it is planned anew");
    // Only what was changed is changed.
    let before: Vec<&str> = include_str!("pair.json").lines().collect();
    assert!(text.lines().filter(|l| !before.contains(l)).count() <= 8, "{text}");
    // Undone, and done again.
    let (state, effects) = keys(state, "u");
    assert!(
        matches!(&effects[..], [Effect::Do(Deed::Kitchen { text, .. }), Effect::Plan] if text == include_str!("pair.json"))
    );
    assert_eq!((state.kitchen.joints[0].weighed, state.progress.revision), (None, 2));
    let (state, _) = keys(state, "U");
    assert!(state.kitchen.joints[0].weighed.is_some());
}

#[test]
fn what_cannot_be_read_is_said_beside_the_field_and_not_saved() {
    let state = keys(pair(120, 40), "↓\n\t^uheavy").0;
    assert!(shown(&state).contains("a weight such as 3.4 kg"), "{}", shown(&state));
    let (state, effects) = keys(state, "^s");
    assert!(effects.is_empty() && state.overlay == Overlay::Form);
    assert_eq!(state.form.as_ref().unwrap().cursor, 1);
    assert!(shown(&state).contains("! a weight such as"), "{}", shown(&state));
    // A name that is taken is found by the reading of the whole file, and stands beside the field it is about.
    let state = keys(pair(120, 40), "↓\n^ufillet^s").0;
    assert_eq!(state.overlay, Overlay::Form);
    let text = shown(&state);
    assert!(text.lines().any(|l| l.contains("fillet") && l.contains('!')), "{text}");
    // Leaving with changes asks once.
    let (state, _) = keys(state, "\u{1b}");
    assert!(state.overlay == Overlay::Form && state.notice.as_deref().unwrap().contains("throws the changes away"));
    assert_eq!(keys(state, "\u{1b}").0.overlay, Overlay::None);
}

#[test]
fn things_are_added_copied_and_removed() {
    let state = pair(120, 40);
    let (state, _) = keys(state, "a");
    let (state, effects) = keys(state, "hock\t1.2kg\t\tgammon j\t\t\t^s");
    assert_eq!(effects.len(), 2, "{}", shown(&state));
    assert_eq!(state.kitchen.joints.len(), 3);
    assert_eq!(state.kitchen.joints[2].outcome, turnday::kitchen::Outcome::GammonJoint);
    // The cursor is still on the heading; three down is the new one.
    let (state, _) = keys(state, "↓↓↓d");
    assert_eq!(state.kitchen.joints[3].name, "hock 2");
    let (state, _) = keys(state, "x");
    assert_eq!(state.kitchen.joints.iter().map(|j| j.name.as_str()).collect::<Vec<_>>(), ["shank", "fillet", "hock 2"]);
    let (state, _) = keys(state, "uuu");
    assert_eq!(state.kitchen.joints.len(), 2);
    assert_eq!(state.paper.text, include_str!("pair.json"));
    // What the plan cannot do without is refused, and said.
    let (state, effects) = keys(state, "ggx");
    assert!(effects.is_empty() && state.kitchen.joints.len() == 2);
}

#[test]
fn choices_are_stepped_through_and_hours_are_written_as_said() {
    let state = keys(pair(120, 40), "↓\n\t\t\t→").0;
    assert_eq!(state.form.as_ref().unwrap().fields[3].field.text(), "ham, whole");
    let state = keys(pair(120, 40), "").0;
    let people = turnday::app::form::lines(&state).iter().position(|l| l.name == "Rowan").unwrap();
    let mut state = state;
    state.spots[View::Kitchen as usize] = Some(turnday::app::Spot { line: people, ..Default::default() });
    let state = keys(state, "\n\t").0;
    assert_eq!(state.form.as_ref().unwrap().fields[1].field.text(), "Mon-Fri 08:30-17:30 (work)");
    let (state, _) = keys(state, "^uMon-Thu 8.30-17.30 (work); Fri 9am-1pm^s");
    assert_eq!(state.overlay, Overlay::None, "{}", shown(&state));
    let busy = &state.kitchen.people[0].busy;
    assert_eq!((busy.len(), busy[0].why.as_str(), busy[1].to.to_string()), (2, "work", "13:00".into()));
}

#[test]
fn moments_and_spells_are_understood_as_said() {
    // It is Thu 3 Dec 2026 18:20 in the kitchen.
    let state = keys(pair(120, 40), "↓\n\t\t\t\t^utomorrow 7pm").0;
    assert!(shown(&state).contains("= Fri 4 Dec 19:00"), "{}", shown(&state));
    let (mut state, _) = keys(state, "^u24 dec 18:00^s");
    assert_eq!(state.kitchen.joints[0].ready_by.unwrap().to_string(), "2026-12-24 18:00");
    let people = turnday::app::form::lines(&state).iter().position(|l| l.name == "Rowan").unwrap();
    state.spots[View::Kitchen as usize] = Some(turnday::app::Spot { line: people, ..Default::default() });
    let state = keys(state, "\n\t\t^u12-14 Dec (fair)").0;
    assert!(shown(&state).contains("= Sat 12 Dec 00:00 to Tue 15 Dec 00:00"), "{}", shown(&state));
    let (state, _) = keys(state, "^s");
    assert_eq!(state.kitchen.people[0].away.len(), 1, "{}", shown(&state));
    // A slip of the finger is doubted.
    let state = keys(pair(120, 40), "↓\n\t\t26 kg").0;
    assert!(shown(&state).contains("26.00 kg · "), "{}", shown(&state));
}

/// Every form can be opened, drawn at every size, and everything in it that is untouched is saved as it was.
#[test]
fn every_form_is_drawn_and_leaves_what_is_not_touched() {
    for (cols, rows) in [(40, 12), (80, 24), (200, 60)] {
        let state = pair(cols, rows);
        for (i, line) in turnday::app::form::lines(&state).iter().enumerate() {
            let mut state = state.clone();
            state.spots[View::Kitchen as usize] = Some(turnday::app::Spot { line: i, ..Default::default() });
            let (state, _) = keys(state, "e");
            if line.place.is_none() && line.name == "House limits" {
                continue;
            }
            assert_eq!(state.overlay, Overlay::Form, "{}", line.name);
            let form = state.form.as_ref().unwrap();
            assert_eq!(form.fields.len(), SECTIONS[line.section].fields.len());
            for n in 0..form.fields.len() {
                let mut state = state.clone();
                state.form.as_mut().unwrap().cursor = n;
                shown(&state);
                // What is written in a field is read again as the same.
                let form = state.form.as_ref().unwrap();
                let text = form.fields[n].field.text();
                assert!(text.is_empty() || form.understood(n, state.here()).is_ok(), "{}: {text}", form.spec(n).key);
            }
            if line.place.is_some() {
                let (state, effects) = keys(state, "^s");
                assert!(effects.is_empty() && state.overlay == Overlay::None, "{}", shown(&state));
            }
        }
    }
}

#[test]
fn forms_look_as_agreed() {
    for (cols, rows) in [(40, 12), (80, 24), (120, 40)] {
        let form = keys(pair(cols, rows), "↓\n\t\t7 lb 8 oz").0;
        agree(golden(&format!("form-{cols}x{rows}.txt")), &told(&form));
    }
}
