//! Every view as it is laid out, with its voices, at three widths: with nothing, one joint, a pair under way with a record
//! that has something of everything, and a cold room full.
//!
//! `TURNDAY_BLESS=1 cargo test --test screen views` writes them anew; look at the difference before committing it.

use std::path::PathBuf;

use chrono::{DateTime, TimeDelta, Utc};
use turnday::app::record::{
    Before, Came, Collected, Counted, Entry, Holds, Noted, Probed, Read, Recipe, Tasted, Trouble, Weighed,
};
use turnday::app::text::width;
use turnday::app::views::{Asked, Facts, Name, Page, Voice, view};
use turnday::app::{About, Code, Inks, Key, Message, Record, State, View, update};
use turnday::kitchen::{Kitchen, Outcome};
use turnday::plan::{Kind, Plan};

use crate::fixture::{self, utc};
use crate::frames;
use crate::golden::agree;

fn kept(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/screen/golden/views").join(name)
}

/// A page in words: its text, then which parts of which line are in another voice than plain.
fn told(page: &Page) -> String {
    let mut out = format!("{:?}\n{}--\n", page.sentence.tone, page.text());
    for (i, l) in page.lines.iter().enumerate() {
        let mut x = 0;
        let mut said = Vec::new();
        for s in &l.spans {
            let w = width(&s.text);
            if s.voice != Voice::Plain && !s.text.trim().is_empty() {
                said.push(format!("{x}-{} {:?}", x + w, s.voice));
            }
            x += w;
        }
        if let Some(of) = &l.of {
            said.push(format!("{of:?}"));
        }
        if !said.is_empty() {
            out += &format!("{i}: {}\n", said.join(", "));
        }
    }
    out
}

/// What is written down by the morning of the cook day of the pair.
pub fn record(k: &Kitchen, plan: &Plan) -> Record {
    let z = k.zone;
    let at = |t: &str| utc(z, t);
    let mut r = Record::default();
    for t in plan.tasks.iter().filter(|t| t.end < at("2026-12-22 08:00") && t.hands_minutes > 0) {
        r.finish(&t.id, t.end.with_timezone(&Utc) + TimeDelta::minutes(7), "Sorrel");
    }
    let turns: Vec<&str> = plan.tasks.iter().filter(|t| t.kind == Kind::Turn).map(|t| t.id.as_str()).collect();
    // The fourth was left out, the last never ticked off.
    for (id, why) in [(turns[3], Some("both away")), (turns[4], None)] {
        r.done.remove(id);
        r.tasks.remove(id);
        if let Some(why) = why {
            r.tasks.entry(id.to_owned()).or_default().skipped = Some(why.to_owned());
        }
    }
    let read = |of, celsius, t| Read { of, celsius, when: at(t), by: "Rowan".to_owned() };
    r.readings = vec![
        read(Probed::Space("fridge".into()), 4.2, "2026-12-10 19:10"),
        read(Probed::Brine("box".into()), 3.9, "2026-12-10 19:12"),
        read(Probed::Core("shank".into()), 41.0, "2026-12-22 10:00"),
        read(Probed::Core("shank".into()), 52.5, "2026-12-22 10:30"),
        read(Probed::Core("shank".into()), 61.0, "2026-12-22 11:00"),
    ];
    r.weights =
        vec![Weighed { joint: "shank".into(), grams: 2640.0, when: at("2026-12-04 18:10"), by: "Rowan".into() }];
    r.collected =
        vec![Collected { joint: "shank".into(), when: at("2026-12-04 17:00"), celsius: Some(3.8), by: "Rowan".into() }];
    r.notes = vec![Noted {
        about: "shank".into(),
        text: "a little froth, skimmed".into(),
        when: at("2026-12-10 19:15"),
        by: "Sorrel".into(),
    }];
    r.tastes = vec![Tasted {
        joint: "fillet".into(),
        score: 4,
        text: "sweet, a touch firm".into(),
        when: at("2026-12-21 20:30"),
        by: "Rowan".into(),
    }];
    r.troubles = vec![Trouble {
        about: "fridge".into(),
        says: "8.5 °C for 3 h".into(),
        ruling: "Note it and chill; smell at each visit.".into(),
        when: at("2026-12-12 09:00"),
        by: "Rowan".into(),
        ..Trouble::default()
    }];
    let entry = |seq, t: &str, kind: &str, says: &str, holds| Entry {
        seq,
        at: at(t),
        when: None,
        by: "Sorrel".into(),
        kind: kind.into(),
        says: says.into(),
        holds,
    };
    r.entries = vec![
        entry(1, "2026-12-04 18:10", "weight", "shank weighed 26.40 kg", Holds::Corrected(2)),
        entry(2, "2026-12-04 18:11", "weight", "shank weighed 2.64 kg", Holds::Yes),
        entry(3, "2026-12-07 19:12", "turn", "box turned", Holds::Yes),
        entry(4, "2026-12-07 19:13", "turn", "box turned", Holds::Undone(5)),
        entry(5, "2026-12-07 19:14", "undo", "4 taken back", Holds::Yes),
        Entry {
            when: Some(at("2026-12-12 09:00")),
            ..entry(6, "2026-12-13 08:00", "trouble", "fridge at 8.5 °C for 3 h: note it and chill", Holds::Yes)
        },
    ];
    let packs = |joint: &str, packs, grams, gone: &[(&str, u32)], when: &str| Counted {
        joint: joint.into(),
        packs: Some(packs),
        grams: Some(grams),
        gone: gone.iter().map(|g| (g.0.to_owned(), g.1)).collect(),
        left: Some(packs - gone.iter().map(|g| g.1).sum::<u32>()),
        seen: Some(at(when)),
        when: Some(at(when)),
        by: "Sorrel".into(),
    };
    r.packs = vec![packs("fillet", 5, 1980.0, &[("eaten", 1), ("sold", 2)], "2026-12-21 20:40")];
    let before = |name: &str, salt, score, simmer, left: Option<u32>| Before {
        name: name.into(),
        began: at("2026-02-10 10:00"),
        recipe: Recipe {
            salt_percent: salt,
            sugar_percent: 1.0,
            nitrite_mg_per_kg: Some(120.0),
            days_per_kg: 6.0,
            turn_every_days: 3.0,
        },
        joints: vec![Came {
            joint: "corner".into(),
            outcome: "ham, sliced".into(),
            product: Outcome::HamSliced,
            kg: 2.9,
            weighed: true,
            // 58 % of it, as `yield` has it.
            table_kg: 2.9 * 0.58,
            frozen: true,
            cooked: Some(at("2026-03-05 09:00")),
            packed: Some(at("2026-03-06 10:00")),
            packed_told: true,
            numbers: Some((1, 11)),
            packs: left
                .map(|left| packs("corner", 11, 1630.0, &[("eaten", 9 - left), ("given away", 2)], "2026-03-06 11:00")),
            brine_days: Some(18.2),
            simmer: Some(simmer),
            tastes: vec![Tasted {
                joint: "corner".into(),
                score,
                text: "good with eggs".into(),
                when: at("2026-03-08 09:00"),
                by: String::new(),
            }],
            notes: vec!["more cider next time".into()],
        }],
    };
    r.before = vec![before("February", 3.0, 3, (180, 230), None), before("Spring", 2.5, 5, (170, 200), Some(3))];
    r
}

fn all(name: &str, k: &Kitchen, plan: &Plan, record: Option<&Record>, now: DateTime<Utc>) {
    for v in Name::ALL {
        let facts = Facts { kitchen: k, plan, record, now, chart: None };
        let Ok(shown) = view(v, &facts, &Asked::default()) else {
            assert!(plan.joints.is_empty() && v == Name::Joint, "{v:?} of {name}");
            continue;
        };
        serde_json::to_value(&shown).expect("every view is serialisable");
        for columns in [38, 78, 118] {
            let page = shown.page(columns);
            for l in &page.lines {
                assert!(l.width() <= columns, "{v:?} at {columns}: {}", l.text());
            }
            let text = page.text();
            assert!(!text.to_lowercase().contains("safe to eat"), "{text}");
            agree(kept(&format!("{name}-{}-{columns}.txt", v.word())), &told(&page));
        }
    }
}

#[test]
fn empty() {
    let k = fixture::pair_kitchen();
    all("empty", &k, &fixture::empty_plan(&k), None, utc(k.zone, "2026-12-07 18:20"));
}

#[test]
fn one_without_a_record() {
    let k = fixture::pair_kitchen();
    all("one", &k, &fixture::one_plan(&k), None, utc(k.zone, "2026-12-07 18:20"));
}

#[test]
fn a_pair_on_its_cook_day_with_a_record() {
    let k = fixture::pair_kitchen();
    let plan = fixture::pair_plan(&k);
    let record = record(&k, &plan);
    all("pair", &k, &plan, Some(&record), utc(k.zone, "2026-12-22 11:05"));
}

#[test]
fn many() {
    let k = fixture::many_kitchen(24);
    all("many", &k, &fixture::many_plan(&k), Some(&Record::default()), utc(k.zone, "2026-12-01 09:00"));
}

/// No width, day or name makes a view panic or run over its columns.
#[test]
fn every_width_and_day() {
    let k = fixture::pair_kitchen();
    let plan = fixture::pair_plan(&k);
    let record = record(&k, &plan);
    let facts =
        Facts { kitchen: &k, plan: &plan, record: Some(&record), now: utc(k.zone, "2026-12-12 12:00"), chart: None };
    let first = utc(k.zone, "2026-12-01 12:00").date_naive();
    for on in first.iter_days().step_by(3).take(10) {
        for v in Name::ALL {
            let asked = Asked { on: Some(on), ..Asked::default() };
            let shown = view(v, &facts, &asked).expect("nothing is asked for by name");
            for columns in (20..60).step_by(7).chain([100, 200, 300]) {
                let page = shown.page(columns);
                for l in &page.lines {
                    assert!(l.width() <= columns, "{v:?} {on} at {columns}: {}", l.text());
                }
            }
        }
    }
    for v in Name::ALL {
        let asked = Asked { of: Some("no such thing".into()), fit: Some(turnday::units::Mass::kg(2.4)), on: None };
        let _ = view(v, &facts, &asked).map(|s| s.page(80));
    }
}

/// A turn that was missed, a limit that has run out, and a forecast: said first, in words.
#[test]
fn trouble_comes_first() {
    let k = fixture::pair_kitchen();
    let plan = fixture::pair_plan(&k);
    let record = record(&k, &plan);
    let sentence = |v, now: &str, r: &Record, on: Option<&str>| {
        let facts = Facts { kitchen: &k, plan: &plan, record: Some(r), now: utc(k.zone, now), chart: None };
        let asked = Asked { on: on.map(|d| utc(k.zone, d).date_naive()), ..Asked::default() };
        view(v, &facts, &asked).unwrap().page(200).sentence
    };
    // On Sunday morning: the turn of Saturday evening is not ticked off and nothing after it is done yet.
    let mut early = record.clone();
    let later = plan.tasks.iter().filter(|t| t.start > utc(k.zone, "2026-12-19 19:05"));
    later.for_each(|t| {
        early.done.remove(&t.id);
        early.tasks.remove(&t.id);
    });
    let turns = sentence(Name::Turns, "2026-12-20 08:00", &early, None);
    assert!(turns.text.starts_with("Not ticked off: turn box"), "{turns:?}");
    // Once the tub is empty it can no longer be made good, and is not asked for again.
    assert_eq!(sentence(Name::Turns, "2026-12-22 11:05", &record, None).text, "No turns are left.");
    // The chill began 13:20 by the fixture's plan; 12.5 h later nobody has read 5 °C.
    let asked_on = |r: &Record| sentence(Name::Cook, "2026-12-23 07:00", r, Some("2026-12-22 12:00"));
    assert!(asked_on(&record).text.contains("past its cooling limit"), "{:?}", asked_on(&record));
    let mut cold = record.clone();
    cold.readings.push(Read {
        of: Probed::Core("shank".into()),
        celsius: 4.6,
        when: utc(k.zone, "2026-12-22 21:00"),
        by: "Rowan".into(),
    });
    assert!(!asked_on(&cold).text.contains("past its cooling limit"), "{:?}", asked_on(&cold));
}

/// A chilled ham keeps ten days from its cooking (UK FSA, vacuum pack factsheet 07/08), by the record where it says, and from no later
/// than somebody counted its packs; closing its batch changes none of it, and what nobody counted may be there all the same.
#[test]
fn a_use_by_goes_by_the_record() {
    let k = fixture::pair_kitchen();
    let plan = fixture::pair_plan(&k);
    let at = |t: &str| utc(k.zone, t);
    let freezer = |now: &str, r: &Record| {
        let facts = Facts { kitchen: &k, plan: &plan, record: Some(r), now: at(now), chart: None };
        let shown = view(Name::Freezer, &facts, &Asked::default()).unwrap();
        (serde_json::to_value(&shown).unwrap(), shown.page(200).sentence.text)
    };
    let use_by = |now: &str, r: &Record| {
        let packs = freezer(now, r).0["packs"].clone();
        packs.as_array().unwrap().iter().find(|p| p["joint"] == "shank").unwrap()["keeps"][1]
            .as_str()
            .unwrap()
            .to_owned()
    };
    let mut r = Record::default();
    assert_eq!(use_by("2026-12-22 08:00", &r), "2027-01-01", "planned for the 22nd");
    let chill = plan.tasks.iter().find(|t| t.kind == Kind::Chill).unwrap().id.clone();
    r.tasks.entry(chill.clone()).or_default().started = Some(at("2026-12-20 13:00"));
    assert_eq!(use_by("2026-12-22 08:00", &r), "2026-12-30");
    let mut counted = record(&k, &plan).packs;
    (counted[0].joint, counted[0].seen) = ("shank".into(), Some(at("2026-12-18 09:00")));
    r.packs = counted.clone();
    assert_eq!(use_by("2026-12-22 08:00", &r), "2026-12-28", "what was counted was cooked before");
    r.tasks.remove(&chill);
    assert_eq!(use_by("2026-12-22 08:00", &r), "2026-12-28");
    // Of a batch before: counted or not, past its day it is not passed over in silence.
    let mut before = record(&k, &plan).before.remove(1);
    (before.joints[0].frozen, before.joints[0].cooked) = (false, Some(at("2026-12-01 13:00")));
    let of = |packs: Option<Counted>| {
        let mut b = before.clone();
        b.joints[0].packs = packs;
        Record { before: vec![b], ..Record::default() }
    };
    counted[0].seen = Some(at("2026-12-04 09:00"));
    let says = |now: &str, packs: Option<Counted>| freezer(now, &of(packs)).1;
    assert_eq!(says("2026-12-12 08:00", None), "corner of Spring is past its use-by: what is left is thrown out.");
    assert_eq!(
        says("2026-12-12 08:00", Some(counted[0].clone())),
        "corner of Spring is past its use-by: the 2 packs left are thrown out."
    );
    assert!(says("2026-12-11 08:00", None).ends_with("Eat first: corner of Spring, use by Fri 11 Dec."));
    let mut gone = counted[0].clone();
    gone.left = Some(0);
    assert!(!says("2026-12-12 08:00", Some(gone)).contains("corner"));
    // A book in which nobody counts does not go on about it.
    assert!(!says("2027-01-20 08:00", None).contains("corner"));
    let mut unknown = of(None);
    unknown.before[0].joints[0].cooked = None;
    assert!(freezer("2026-12-12 08:00", &unknown).0["earlier"]["packs"][0]["keeps"].is_null(), "not known, and told");
}

/// Meat that went in on record is in until its lift is on record; a tub that may be full takes nothing as if it were empty.
#[test]
fn a_lift_that_is_not_on_record_leaves_the_tub_full() {
    let k = fixture::pair_kitchen();
    let plan = fixture::pair_plan(&k);
    let tubs = |r: &Record, on: Option<&str>| {
        let now = utc(k.zone, "2026-12-21 09:00");
        let facts = Facts { kitchen: &k, plan: &plan, record: Some(r), now, chart: None };
        let on = on.map(|d| utc(k.zone, d).date_naive());
        view(Name::Tubs, &facts, &Asked { on, ..Asked::default() }).unwrap().page(200).text()
    };
    let lifted = record(&k, &plan);
    assert!(tubs(&lifted, None).contains("empty, not needed again"), "{}", tubs(&lifted, None));
    let mut open = lifted.clone();
    for t in plan.tasks.iter().filter(|t| t.start >= utc(k.zone, "2026-12-19 19:00") && t.kind != Kind::Turn) {
        open.done.remove(&t.id);
        open.tasks.remove(&t.id);
    }
    for on in [None, Some("2026-12-23 12:00")] {
        let text = tubs(&open, on);
        assert!(text.contains("2 joints in 1 tub; bucket is free") && !text.contains("resting"), "{text}");
        assert!(
            text.contains("to be lifted since Sat 19 Dec") && text.contains("until its lift is on record"),
            "{text}"
        );
    }
    // A later task on record says that it came out, whatever was ticked off.
    let simmer = plan.tasks.iter().find(|t| t.kind == Kind::Simmer).unwrap();
    open.finish(&simmer.id, utc(k.zone, "2026-12-21 08:00"), "Sorrel");
    assert!(tubs(&open, None).contains("shank lifted"), "{}", tubs(&open, None));
}

/// A tub that a shelf takes now must still stand there when the joints of another come to rest beside it. On 50 by 33 cm the
/// bucket (26 by 26) and the box (31 by 21) leave a strip of 7 cm, on 50 by 40 one of 14 cm, beside 11 cm of fillet.
#[test]
fn a_shelf_keeps_room_for_the_joints_that_come_to_rest() {
    for (depth, fits) in [(33.0, false), (40.0, true)] {
        let mut k = (*fixture::pair_kitchen()).clone();
        k.kit.cold[0].depth = turnday::units::Length::cm(depth);
        let plan = fixture::pair_plan(&k);
        let facts = Facts { kitchen: &k, plan: &plan, record: None, now: utc(k.zone, "2026-12-15 12:00"), chart: None };
        let asked = Asked { fit: Some(turnday::units::Mass::kg(2.4)), ..Asked::default() };
        let text = view(Name::Tubs, &facts, &asked).unwrap().page(200).text();
        assert_eq!(text.contains("would go in bucket"), fits, "{depth} cm: {text}");
        assert!(text.contains("would take bucket"), "now it would stand there: {text}");
    }
}

const ON_PAGES: [View; 10] = [
    View::Day,
    View::Turns,
    View::Tubs,
    View::Joint,
    View::Brine,
    View::CookDay,
    View::Freezer,
    View::Record,
    View::LastTime,
    View::Sheets,
];

fn pressed(mut state: State, key: Key) -> State {
    state = update(state, Message::Key(key)).0;
    state
}

/// The pair on its cook day, on the screen.
pub fn on_screen(view: View, cols: u16, rows: u16) -> State {
    let k = fixture::pair_kitchen();
    let plan = fixture::pair_plan(&k);
    let record = record(&k, &plan);
    let mut state = frames::state(&k, Some(plan), cols, rows, "2026-12-22 11:05");
    state.record = Some(record);
    state.selected = None;
    update(state, Message::Key(Key::char('1'))).0.opened(view)
}

trait Opened {
    fn opened(self, view: View) -> Self;
}

impl Opened for State {
    fn opened(mut self, view: View) -> Self {
        self.view = view;
        self
    }
}

/// Down, by lines or by pages, goes through every line of every view, the cursor always in sight; what is acted on is what
/// is under it.
#[test]
fn the_cursor_goes_through_all_of_it_and_stays_in_sight() {
    for (view, key) in ON_PAGES.into_iter().flat_map(|v| [(v, Code::Down), (v, Code::PageDown)]) {
        let mut state = pressed(on_screen(view, 60, 14), Key::of(Code::Home));
        let mut seen = std::collections::HashSet::new();
        for _ in 0..400 {
            let text = frames::text(&frames::draw(&state, Inks::Dark).0);
            assert!(text.contains('▸'), "{view:?} at {:?}:\n{text}", state.spot());
            text.lines().skip(3).for_each(|l| {
                seen.insert(l.trim_matches(['▸', ' ', '▲', '▼']).to_owned());
            });
            let before = state.spot();
            state = pressed(state, Key::of(key));
            if state.spot() == before {
                break;
            }
        }
        let laid = turnday::app::views::laid(&state, view).expect("a page");
        for l in &laid.page.lines {
            let text = l.text().trim_end().trim_matches(['▸', ' ', '▲', '▼']).to_owned();
            assert!(text.is_empty() || seen.contains(&text), "{view:?} never shows by {key:?}: {text}");
        }
    }
    let mut state = pressed(on_screen(View::Day, 80, 24), Key::of(Code::Home));
    let mut tasks = 0;
    for _ in 0..40 {
        if let About::Task(t) = state.about() {
            tasks += 1;
            let says = state.chart.as_ref().unwrap().plan.tasks[t].says.clone();
            let text = frames::text(&frames::draw(&state, Inks::Dark).0);
            let line = text.lines().find(|l| l.starts_with('▸')).unwrap_or_default().to_owned();
            assert!(says.split(' ').take(2).all(|w| line.contains(w)), "{line} is not {says}");
        }
        state = pressed(state, Key::of(Code::Down));
    }
    assert!(tasks >= 4, "{tasks}");
}

/// Left and right go to the day before, the next joint, the other cook day; and come back.
#[test]
fn left_and_right_go_through_days_and_joints() {
    let state = on_screen(View::Joint, 80, 24);
    let first = turnday::app::sentence(&state).text;
    let there = pressed(state, Key::of(Code::Right));
    let other = turnday::app::sentence(&there).text;
    let back = turnday::app::sentence(&pressed(pressed(there, Key::of(Code::Left)), Key::of(Code::Left))).text;
    assert!(first != other || back != other, "{first} / {other} / {back}");
    let day = on_screen(View::Day, 80, 24);
    let text = |s: &State| frames::text(&frames::draw(s, Inks::Dark).0);
    assert!(text(&day).contains("Tuesday 22 December"));
    let next = pressed(day, Key::of(Code::Right));
    assert!(text(&next).contains("Wednesday 23 December"), "{}", text(&next));
}
