//! Small plans of our own invention.

use chrono::{DateTime, TimeDelta, Utc};
use turnday::kitchen::Zone;
use turnday::plan::{Because, JointStory, Kind, Plan, PlannedTask, Standing};

pub const LONDON: Zone = Zone(chrono_tz::Europe::London);

pub fn at(text: &str) -> DateTime<Utc> {
    format!("{text}:00Z").parse().unwrap_or_else(|e| panic!("{text}: {e}"))
}

pub fn task(id: &str, kind: Kind, start: DateTime<Utc>, slack_minutes: i64) -> PlannedTask {
    let local = |t: DateTime<Utc>| t.with_timezone(&LONDON.0).fixed_offset();
    PlannedTask {
        id: id.to_owned(),
        kind,
        says: format!("{} {id} (Rook & Wren <2>): gently", kind.words()),
        joints: vec!["Rook".to_owned()],
        start: local(start),
        end: local(start + TimeDelta::minutes(10)),
        slow_end: local(start + TimeDelta::minutes(10)),
        hands_minutes: 10,
        who: Some("Ines".to_owned()),
        uses: Vec::new(),
        earliest: local(start),
        latest: local(start + TimeDelta::minutes(slack_minutes)),
        because: vec![Because {
            other: "first".to_owned(),
            says: "turns are no more than 4 days apart".to_owned(),
            force: "quality".to_owned(),
            source: "common practice".to_owned(),
        }],
    }
}

pub fn move_to(task: &mut PlannedTask, start: DateTime<Utc>) {
    let by = start - task.start.with_timezone(&Utc);
    for t in [&mut task.start, &mut task.end, &mut task.slow_end, &mut task.earliest, &mut task.latest] {
        *t = (t.with_timezone(&Utc) + by).with_timezone(&LONDON.0).fixed_offset();
    }
}

pub fn plan(mut tasks: Vec<PlannedTask>) -> Plan {
    tasks.sort_by(|a, b| (a.start, &a.id).cmp(&(b.start, &b.id)));
    Plan {
        format: 1,
        kitchen: "Tern Row".to_owned(),
        zone: LONDON,
        tasks,
        loads: Vec::new(),
        cooks: Vec::new(),
        joints: Vec::<JointStory>::new(),
        levels: Vec::new(),
        standing: Standing::BestFound,
        in_hand: None,
        compared: None,
        collect: None,
        alarms: Vec::new(),
        notes: Vec::new(),
    }
}

/// A book in a folder, with these tasks as its plan.
pub fn book(folder: &std::path::Path, plan: &Plan, now: DateTime<Utc>) -> turnday::book::Book {
    use turnday::book::{Act, Book, PlanLine, RawPlan};
    let kitchen = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/kitchen/good/small.json");
    let mut book = match Book::open(folder, now) {
        Ok(b) => b,
        Err(_) => Book::create(folder, &std::fs::read_to_string(kitchen).unwrap(), "", now).unwrap(),
    };
    let line = |t: &PlannedTask| PlanLine {
        id: t.id.clone(),
        kind: t.kind,
        says: t.says.clone(),
        joints: t.joints.clone(),
        things: Vec::new(),
        start: t.start.with_timezone(&Utc),
        end: t.end.with_timezone(&Utc),
        hands_minutes: t.hands_minutes,
        who: t.who.clone(),
    };
    let act = Act::PlanAccepted {
        plan: RawPlan::new(&serde_json::to_string(plan).unwrap()).unwrap(),
        lines: plan.tasks.iter().map(line).collect(),
        says: "a plan of the tests".to_owned(),
        moved: 0,
    };
    book.record(act, "", now).unwrap();
    book
}
