//! What is on record about joints leaves with them: tubs and names come again, and the next batch begins with nothing done.

use super::support::{Shelf, done, kitchen, line, note, now, plan, t, turned, weighed};
use serde_json::Value;
use turnday::app::acts::{accepted, close, exchange, history_of, plan_of};
use turnday::app::from_book::record;
use turnday::book::{Act, Book, Error, PlanLine, RawPlan, ReadingOf, Recorded, RulingRecord, TaskAct};
use turnday::kitchen::read;
use turnday::plan::replan::{Again, replan};
use turnday::plan::{Request, strike};
use turnday::process::Kind;
use turnday::schedule::NodeBudget;

fn text(change: impl FnOnce(&mut Value)) -> String {
    let mut value: Value = serde_json::from_str(&kitchen()).unwrap();
    change(&mut value);
    value.to_string()
}

fn changed(change: impl FnOnce(&mut Value)) -> Act {
    Act::KitchenChanged { kitchen: text(change), says: "changed".into() }
}

fn only(joints: &'static [&str]) -> impl FnOnce(&mut Value) {
    move |k| k["joints"].as_array_mut().unwrap().retain(|j| joints.iter().any(|n| j["name"] == *n))
}

fn of(joints: &[&str], id: &str, kind: Kind, start: &str) -> PlanLine {
    PlanLine { kind, joints: joints.iter().map(|j| (*j).to_owned()).collect(), ..line(id, start) }
}

fn lines(joints: &[&str]) -> Vec<PlanLine> {
    let mut lines = vec![
        of(joints, "brine 1", Kind::BrineMake, "2026-11-10 17:00"),
        of(joints, "put in BOX", Kind::Submerge, "2026-11-10 19:00"),
        of(joints, "turn BOX 1", Kind::Turn, "2026-11-13 19:00"),
    ];
    for j in joints {
        lines.push(of(&[j], &format!("lift {j}"), Kind::Rinse, "2026-11-26 07:00"));
        lines.push(of(&[j], &format!("pack {j}"), Kind::VacuumPack, "2026-11-29 07:00"));
    }
    lines
}

/// A plan that can be read, with lines of its own.
fn real(lines: Vec<PlanLine>) -> Act {
    let plan = r#"{"format": 1, "kitchen": "K", "zone": "Europe/London", "tasks": [], "loads": [], "cooks": [], "joints": [],
        "levels": [], "standing": "best-found", "notes": []}"#;
    Act::PlanAccepted { plan: RawPlan::new(plan).unwrap(), lines, says: String::new(), moved: 0 }
}

fn under_way(shelf: &Shelf) -> Book {
    let mut book = Book::create(&shelf.path(), &kitchen(), "R", now()).unwrap();
    book.record(real(lines(&["J1", "J2"])), "R", now()).unwrap();
    let trouble = Act::Trouble {
        kind: "missed-turn".into(),
        about: "BOX".into(),
        details: serde_json::json!({ "hours": 150.0 }),
        ruling: RulingRecord {
            effect: serde_json::json!({ "effect": "extra-cure", "hours": 48.0 }),
            ..Default::default()
        },
        when: now(),
    };
    let acts = [
        turned("brine 1", "2026-11-10 18:00"),
        turned("put in BOX", "2026-11-10 19:00"),
        turned("turn BOX 1", "2026-11-13 19:00"),
        turned("lift J2", "2026-11-26 07:00"),
        weighed("J1", 3100.0),
        weighed("J2", 2200.0),
        Act::Collected { joint: "J1".into(), when: t("2026-11-10 12:00"), celsius: Some(3.0) },
        Act::Reading { of: ReadingOf::Core { joint: "J1".into() }, celsius: 75.0, when: now() },
        Act::Reading { of: ReadingOf::Brine { tub: "BOX".into() }, celsius: 3.5, when: now() },
        Act::Note { about: "J1".into(), text: "fat side thin".into(), when: now() },
        Act::Taste { joint: "J2".into(), score: 3, text: String::new(), when: now() },
        Act::Nudged { task: "turn BOX 1".into(), key: "due".into(), when: now() },
        Act::Snoozed { task: "turn BOX 1".into(), until: now() },
        trouble,
        note("a note about nothing in particular"),
    ];
    for act in acts {
        done(book.record(act, "R", now()));
    }
    book
}

fn refused(r: Result<Recorded, Error>) -> String {
    match r {
        Err(Error::Refused(r)) => r.to_string(),
        other => panic!("{other:?}"),
    }
}

/// Other joints in the same tub, or by the same names: nothing is done for them, weighed, read or ruled on.
#[test]
fn the_next_batch_begins_with_nothing_done() {
    for names in [["K1", "K2"], ["J1", "J2"]] {
        let shelf = Shelf::new();
        let mut book = under_way(&shelf);
        assert_eq!(history_of(book.state(), now()).tasks.len(), 4);
        assert_eq!(history_of(book.state(), now()).longer.get("J1"), Some(&2880));
        let before = book.state().clone();
        let left = done(book.record(changed(|k| k["joints"] = serde_json::json!([])), "R", now()));
        book.record(plan(&[]), "R", now()).unwrap();
        let next = changed(|k| {
            for (j, n) in k["joints"].as_array_mut().unwrap().iter_mut().zip(names) {
                j["name"] = n.into();
            }
        });
        book.record(next, "R", now()).unwrap();
        book.record(plan(&lines(&names)), "R", now()).unwrap();
        let s = book.state();
        let h = history_of(s, now());
        assert!(h.tasks.is_empty() && h.longer.is_empty() && h.readings.is_empty() && h.turns_told.is_empty(), "{h:?}");
        assert!(s.weights.is_empty() && s.collected.is_empty() && s.tastes.is_empty());
        assert!(s.nudged.is_empty() && s.snoozed.is_empty());
        assert_eq!(s.kitchen.joints[0].planned_weight().as_kg(), 2.6, "not the weight of the one before");
        assert_eq!((s.notes.len(), s.readings.len(), s.troubles.len()), (1, 1, 1), "what is about no joint stays");
        let r = record(s, &book.events().unwrap());
        assert!(r.done.is_empty() && r.troubles[0].joints.is_empty());
        let came = &r.before[0].joints;
        assert_eq!(came.iter().map(|c| (c.joint.as_str(), c.kg)).collect::<Vec<_>>(), [("J1", 3.1), ("J2", 2.2)]);
        assert_eq!(came[1].brine_days, Some(15.5));
        assert_eq!(came[0].notes, ["fat side thin"]);
        assert_eq!(came[1].tastes.len(), 1);
        // Opened again it comes to the same, and taken back it is all there.
        assert_eq!(*Book::open(&shelf.path(), now()).unwrap().state(), *s);
        for _ in 0..4 {
            book.undo(None, "R", now()).unwrap();
        }
        let s = book.state();
        assert_eq!((&s.tasks, &s.weights, &s.readings), (&before.tasks, &before.weights, &before.readings));
        assert!(s.past.is_empty(), "line {left} does not count");
    }
}

/// A tub's load that others are still in stays theirs, ticks and all.
#[test]
fn what_is_shared_stays_with_who_stays() {
    let shelf = Shelf::new();
    let mut book = under_way(&shelf);
    book.record(changed(only(&["J1"])), "R", now()).unwrap();
    let ids: Vec<&String> = book.state().tasks.keys().collect();
    assert_eq!(ids, ["brine 1", "put in BOX", "turn BOX 1"], "the lift of J2 is not J1's");
    assert_eq!(book.state().kitchen.joints[0].planned_weight().as_kg(), 3.1);
    // When the last goes, the load goes.
    book.record(changed(|k| k["joints"] = serde_json::json!([])), "R", now()).unwrap();
    assert!(book.state().tasks.is_empty());
}

/// What happened to a joint has happened to the two it was cut into; a new one by its name is another.
#[test]
fn pieces_keep_what_happened_to_the_whole() {
    let shelf = Shelf::new();
    let mut book = under_way(&shelf);
    let halves = |k: &mut Value| {
        let mut b = k["joints"][0].clone();
        k["joints"][0]["name"] = "J1 a".into();
        b["name"] = "J1 b".into();
        k["joints"].as_array_mut().unwrap().push(b);
    };
    book.record(changed(halves), "R", now()).unwrap();
    assert_eq!(book.state().tasks.len(), 4);
    assert!(book.state().past.is_empty());
    book.record(changed(only(&["J1"])), "R", now()).unwrap();
    assert!(book.state().tasks.is_empty(), "{:?}", book.state().tasks);
}

#[test]
fn a_joint_under_way_keeps_its_name() {
    let shelf = Shelf::new();
    let mut book = under_way(&shelf);
    let other_name = |k: &mut Value| k["joints"][0]["name"] = "Jay".into();
    let says = refused(book.record(changed(other_name), "R", now()));
    assert!(says.contains("J1 keeps its name") && says.contains("Jay"), "{says}");
    // Another joint in its place is no new name, and one that is packed may be called anything.
    let another = |k: &mut Value| {
        other_name(k);
        k["joints"][0]["outcome"] = "gammon-joint".into();
    };
    let heavier = |k: &mut Value| {
        other_name(k);
        k["joints"][0]["weight"] = 2.9.into();
    };
    assert!(refused(book.record(changed(heavier), "R", now())).contains("keeps its name"));
    done(book.record(changed(another), "R", now()));
    book.undo(None, "R", now()).unwrap();
    done(book.record(turned("pack J1", "2026-11-29 07:00"), "R", now()));
    done(book.record(changed(other_name), "R", now()));
}

/// Its packs are eaten long after a batch is closed.
#[test]
fn a_taste_is_of_the_batch_that_was_packed() {
    let shelf = Shelf::new();
    let mut book = under_way(&shelf);
    book.record(changed(only(&["J2"])), "R", now()).unwrap();
    let taste = || Act::Taste { joint: "J1".into(), score: 5, text: "just right".into(), when: now() };
    done(book.record(taste(), "S", now()));
    assert!(book.record(taste(), "S", now()).unwrap().already);
    assert!(book.state().tastes.iter().all(|t| t.joint != "J1"));
    assert_eq!(record(book.state(), &book.events().unwrap()).before[0].joints[0].tastes[0].text, "just right");
    // What was to be done for it is not ticked off behind its back.
    let late = Act::Task { id: "pack J1".into(), what: TaskAct::Finished, when: now() };
    assert!(refused(book.record(late, "R", now())).contains("has left the kitchen"));
}

fn taken(book: &mut Book, text: &str, anyway: bool) -> Result<Vec<String>, String> {
    let kitchen = read("test", text).kitchen.unwrap();
    let (acts, says) = exchange(text, &kitchen, book.state(), anyway).map_err(|r| r.to_string())?;
    for act in acts {
        book.record(act, "R", now()).map_err(|e| e.to_string())?;
    }
    Ok(says)
}

/// Another kitchen file in the place of the book's.
#[test]
fn a_kitchen_file_takes_the_place_of_the_one_before() {
    let shelf = Shelf::new();
    let mut book = under_way(&shelf);
    // Nothing new, and people's hours.
    assert_eq!(taken(&mut book, &kitchen(), false), Ok(Vec::new()));
    let hours = text(|k| k["people"][1]["away"] = serde_json::json!([]));
    assert_eq!(taken(&mut book, &hours, false).unwrap(), ["S: away said otherwise (people)"]);
    assert_eq!(book.state().tasks.len(), 4);
    // A joint that is still to be lifted does not go by itself.
    let without = text(only(&["J2"]));
    assert!(taken(&mut book, &without, false).unwrap_err().contains("still to be done for J1"));
    // One that comes later than its namesake went in is another: said, and not mixed up.
    let next = text(|k| {
        for j in k["joints"].as_array_mut().unwrap() {
            j["arrives"] = "2027-02-04 18:00".into();
            j["ready_by"] = Value::Null;
            j.as_object_mut().unwrap().remove("ready_by");
        }
    });
    let says = taken(&mut book, &next, false).unwrap_err();
    let what = "J1: one that arrives Thu 4 Feb 2027 18:00 is another joint, for by the record put in BOX was Tue 10 Nov 2026 19:00";
    assert!(says.starts_with(what), "{says}");
    // Whoever changes the kitchen, and whichever work is on record.
    let act = Act::KitchenChanged { kitchen: next.clone(), says: String::new() };
    assert!(refused(book.record(act.clone(), "R", now())).starts_with(what));
    book.undo(Some(4), "R", now()).unwrap();
    assert!(refused(book.record(act, "R", now())).contains("by the record turn BOX 1 was Fri 13 Nov 2026"));
    book.redo(Some(4), "R", now()).unwrap();
    assert_eq!(book.state().past.len(), 0);
    for id in ["lift J1", "pack J1", "pack J2"] {
        done(book.record(turned(id, "2026-11-30 07:00"), "R", now()));
    }
    let says = taken(&mut book, &next, false).unwrap();
    assert!(says.iter().any(|s| s.starts_with("J2 is another joint by that name")), "{says:?}");
    assert!(book.state().tasks.is_empty() && book.state().past.len() == 2);
    assert!(book.state().wants_a_first_plan());
}

/// Joints under way that the text puts into another batch are others; a batch that was not named before may be.
#[test]
fn a_batch_of_another_name_is_of_other_joints() {
    let shelf = Shelf::new();
    let mut book = under_way(&shelf);
    let batch = |name: &'static str| changed(move |k: &mut Value| k["joints"][0]["batch"] = name.into());
    done(book.record(batch("autumn"), "R", now()));
    assert!(refused(book.record(batch("winter"), "R", now())).contains("J1: one of batch winter is another joint"));
    // J2 is lifted and not packed: not over either.
    assert!(
        taken(&mut book, &text(|k| k["joints"][1]["batch"] = "x".into()), false).is_ok(),
        "named for the first time"
    );
}

/// What was done for a batch does not go over to the one before it when its beginning is taken back.
#[test]
fn what_was_done_for_a_batch_holds_its_beginning() {
    let shelf = Shelf::new();
    let mut book = under_way(&shelf);
    done(book.record(changed(|k| k["joints"] = serde_json::json!([])), "R", now()));
    done(book.record(real(Vec::new()), "R", now()));
    let came = done(book.record(changed(|_| ()), "R", now()));
    let planned = done(book.record(real(lines(&["J1", "J2"])), "R", now()));
    let put_in = done(book.record(turned("put in BOX", "2026-12-05 10:00"), "R", now()));
    let weighed = done(book.record(weighed("J1", 2500.0), "R", now()));
    let mut refused = |line: u64| book.undo(Some(line), "R", now()).unwrap_err().to_string();
    assert!(refused(planned).contains(&format!("line {put_in} hangs on line {planned}")));
    assert!(refused(came).contains(&format!("2 lines from {put_in} to {weighed} hang on line {came}")));
    for line in [weighed, put_in, planned, came] {
        book.undo(Some(line), "R", now()).unwrap();
    }
}

/// What was cut in two is called like it, both pieces of it; one alone, or of a joint that is packed, is another joint.
#[test]
fn one_piece_is_no_half() {
    let shelf = Shelf::new();
    let mut book = under_way(&shelf);
    let half = |k: &mut Value| k["joints"][0]["name"] = "J1 a".into();
    assert!(refused(book.record(changed(half), "R", now())).contains("keeps its name"));
    let halves = |k: &mut Value| {
        half(k);
        let mut b = k["joints"][0].clone();
        b["name"] = "J1 b".into();
        k["joints"].as_array_mut().unwrap().push(b);
    };
    // By file the ticks go along as well.
    let says = taken(&mut book, &text(halves), false).unwrap();
    assert!(says.contains(&"J1 a is new (joints)".to_owned()) && book.state().tasks.len() == 4, "{says:?}");
    book.undo(None, "R", now()).unwrap();
    done(book.record(turned("pack J1", "2026-11-29 07:00"), "R", now()));
    assert!(refused(book.record(changed(halves), "R", now())).contains("J1 is packed"));
}

/// A batch that was closed by the command, and one after it.
#[test]
fn closing_is_leaving() {
    let shelf = Shelf::new();
    let named = text(|k| {
        k["joints"][0]["batch"] = "hams".into();
        k["joints"][1]["batch"] = "steaks".into();
    });
    let mut book = Book::create(&shelf.path(), &named, "R", now()).unwrap();
    book.record(real(lines(&["J2"])), "R", now()).unwrap();
    done(book.record(turned("put in BOX", "2026-11-10 19:00"), "R", now()));
    assert!(close("steaks", book.state(), false).unwrap_err().says.contains("still to be done for steaks"));
    for act in close("steaks", book.state(), true).unwrap() {
        done(book.record(act, "R", now()));
    }
    assert!(book.state().tasks.is_empty());
    assert_eq!(record(book.state(), &book.events().unwrap()).before[0].name, "steaks");
}

/// One of two in a tub leaves, and another comes by its name: it is not in that tub, in no plan, and has no tick, whoever leaves next.
#[test]
fn a_name_that_comes_again_lies_in_no_tub() {
    let shelf = Shelf::new();
    let kitchen = read("test", &kitchen()).kitchen.unwrap();
    let shared = text(|k| k["batch"]["together"] = serde_json::json!([["J1", "J2"]]));
    let together = read("test", &shared).kitchen.unwrap();
    let request = Request { kitchen: &together, now: now(), seed: 1, promises: Default::default() };
    let first = strike(&request, &NodeBudget(200), &mut |_| ()).unwrap();
    let mut book = Book::create(&shelf.path(), &shared, "R", now()).unwrap();
    book.record(accepted(&first, "first", 0).unwrap(), "R", now()).unwrap();
    let load = first.loads.iter().find(|l| l.joints.len() == 2).expect("both in one box").id.clone();
    done(book.record(turned(&format!("put in {load}"), "2026-12-05 09:00"), "R", now()));
    done(book.record(changed(only(&["J1"])), "R", now()));
    done(book.record(changed(|_| ()), "R", now()));
    let plan = plan_of(book.state()).unwrap().unwrap();
    assert!(plan.tasks.iter().all(|t| !t.joints.contains(&"J2".to_owned())) && plan.joints.len() == 1);
    let history = history_of(book.state(), now());
    let again = Again { kitchen: &kitchen, old: &plan, history: &history, seed: 1, steps: 400, ways: 0, what: &[] };
    let planned = replan(&again, &NodeBudget(u64::MAX)).unwrap().plan;
    let put_in = |joint: &str| planned.joints.iter().find(|j| j.name == joint).unwrap().put_in.to_utc();
    assert!(put_in("J1") < now(), "{} is in the brine", put_in("J1"));
    assert!(put_in("J2") >= now(), "{}: not lying there since its namesake was put in", put_in("J2"));
    // The first goes too: what was its and the old one's is nobody's.
    done(book.record(changed(only(&["J2"])), "R", now()));
    assert!(book.state().tasks.is_empty(), "{:?}", book.state().tasks);
}
