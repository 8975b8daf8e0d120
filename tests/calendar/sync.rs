//! Keeping in step, against a server of the tests' own that answers as told.

use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;
use std::time::Duration;
use turnday::kitchen::Zone;
use turnday::plan::Plan;
use turnday::publish::pull::{Wish, wishes};
use turnday::publish::state::Published;
use turnday::publish::sync::{Report, Round};
use turnday::publish::{Fault, Only, Server, Wrote};
use turnday::sheets::calendar::{Entry, Form, Include, entries};

const LONDON: Zone = Zone(chrono_tz::Europe::London);

#[derive(Default)]
struct Fake {
    there: Option<BTreeMap<String, (String, String)>>,
    version: u32,
    reads: u32,
    writes: u32,
    /// So many requests fail first.
    down: u32,
    /// The answer to the next write is lost, though the write is done.
    lose_answer: bool,
}

impl Fake {
    fn up(&mut self) -> Result<(), Fault> {
        if self.down > 0 {
            self.down -= 1;
            return Err(Fault::Offline("no route".to_owned(), None));
        }
        Ok(())
    }

    fn edit(&mut self, name: &str, from: &str, to: &str) {
        self.version += 1;
        let e = self.there.as_mut().unwrap().get_mut(name).unwrap();
        assert!(e.0.contains(from), "{}", e.0);
        *e = (e.0.replace(from, to), format!("\"{}\"", self.version));
    }
}

impl Server for Fake {
    fn list(&mut self) -> Result<BTreeMap<String, String>, Fault> {
        self.up()?;
        self.reads += 1;
        let there = self.there.as_ref().ok_or(Fault::Missing)?;
        Ok(there.iter().map(|(k, v)| (k.clone(), v.1.clone())).collect())
    }

    fn get(&mut self, name: &str) -> Result<Option<(String, String)>, Fault> {
        self.up()?;
        self.reads += 1;
        Ok(self.there.as_ref().and_then(|t| t.get(name).cloned()))
    }

    fn put(&mut self, name: &str, text: &str, only: Only) -> Result<Wrote, Fault> {
        self.up()?;
        self.writes += 1;
        let there = self.there.as_mut().ok_or(Fault::Missing)?;
        let ok = match (only, there.get(name)) {
            (Only::New, None) => true,
            (Only::Version(v), Some(e)) => e.1 == v,
            _ => false,
        };
        if !ok {
            return Ok(Wrote::Changed);
        }
        self.version += 1;
        let tag = format!("\"{}\"", self.version);
        there.insert(name.to_owned(), (text.to_owned(), tag.clone()));
        if std::mem::take(&mut self.lose_answer) {
            self.down = 10;
            return Err(Fault::Offline("lost".to_owned(), None));
        }
        Ok(Wrote::Done(Some(tag)))
    }

    fn delete(&mut self, name: &str, version: &str) -> Result<Wrote, Fault> {
        self.up()?;
        self.writes += 1;
        let there = self.there.as_mut().ok_or(Fault::Missing)?;
        if there.get(name).is_some_and(|e| e.1 != version) {
            return Ok(Wrote::Changed);
        }
        there.remove(name);
        Ok(Wrote::Done(None))
    }

    fn make(&mut self, _: &str) -> Result<(), Fault> {
        self.up()?;
        self.writes += 1;
        self.there = Some(BTreeMap::new());
        Ok(())
    }
}

fn plan() -> Plan {
    let t = tempfile::tempdir().unwrap();
    super::file::kitchen(t.path());
    serde_json::from_str(&std::fs::read_to_string(t.path().join("plan.json")).unwrap()).unwrap()
}

fn fresh(plan: &Plan, form: Form) -> Vec<Entry> {
    entries(plan, &Include::Hands, form, &|t| vec![t.start.with_timezone(&Utc)])
}

struct Desk {
    server: Fake,
    state: Published,
    now: DateTime<Utc>,
    waited: Vec<Duration>,
    form: Form,
}

impl Desk {
    fn new() -> Self {
        let now = "2026-11-01T10:00:00Z".parse().unwrap();
        Self { server: Fake::default(), state: Published::default(), now, waited: Vec::new(), form: Form::Events }
    }

    fn publish(&mut self, plan: &Plan) -> Result<Report, Fault> {
        let mut round = Round {
            server: &mut self.server,
            state: &mut self.state,
            zone: LONDON,
            now: self.now,
            wait: &mut |d| self.waited.push(d),
        };
        let report = round.run("Test", fresh(plan, self.form));
        // What is noted comes back from its file.
        self.state = Published::read(&self.state.write()).unwrap();
        report
    }

    fn name(&self, id: &str) -> String {
        let found = self
            .state
            .entries
            .values()
            .find(|k| k.ours.replace("\r\n ", "").contains(&format!("X-TURNDAY-TASK:{id}\r\n")));
        found.unwrap_or_else(|| panic!("{id} was not published")).name.clone()
    }
}

fn shift(plan: &mut Plan, id: &str, minutes: i64) {
    let t = plan.tasks.iter_mut().find(|t| t.id == id).unwrap();
    for at in [&mut t.start, &mut t.end, &mut t.slow_end, &mut t.earliest, &mut t.latest] {
        *at += TimeDelta::minutes(minutes);
    }
}

fn turn(plan: &Plan, n: usize) -> String {
    plan.tasks.iter().filter(|t| t.id.starts_with("turn ")).nth(n).unwrap().id.clone()
}

#[test]
fn what_has_not_changed_is_not_written() {
    let (mut d, p) = (Desk::new(), plan());
    let first = d.publish(&p).unwrap();
    assert!(first.created > 10, "{first:?}");
    let writes = d.server.writes;
    let again = d.publish(&p).unwrap();
    assert_eq!((again.unchanged, d.server.writes, again.created), (first.created, writes, 0));
    let reads = d.server.reads;
    d.publish(&p).unwrap();
    assert_eq!(d.server.reads, reads + 1, "one listing");
}

#[test]
fn a_persons_edits_stand_and_the_plans_changes_go_round_them() {
    let (mut d, mut p) = (Desk::new(), plan());
    d.publish(&p).unwrap();
    let id = turn(&p, 0);
    let name = d.name(&id);
    d.server.edit(&name, "END:VEVENT", "COLOR:tomato\r\nCOMMENT:Ada holds the lid\r\nEND:VEVENT");
    let writes = d.server.writes;
    let r = d.publish(&p).unwrap();
    assert_eq!(r.edited.len(), 1, "{r:?}");
    assert_eq!((r.edited[0].0.as_str(), d.server.writes), (id.as_str(), writes), "told, and nothing written");
    // Told again without asking for the entry again.
    let reads = d.server.reads;
    assert_eq!((d.publish(&p).unwrap().edited.len(), d.server.reads), (1, reads + 1));
    // The plan moves it: the time follows, the edit stays.
    shift(&mut p, &id, 60);
    assert_eq!(d.publish(&p).unwrap().changed, 1);
    let text = d.server.there.as_ref().unwrap()[&name].0.clone();
    assert!(
        text.contains("COLOR:tomato") && text.contains("Ada holds the lid") && text.contains("SEQUENCE:1"),
        "{text}"
    );
    // The person moves it and so does the plan: the person's stands and is told of.
    let start = text.lines().find(|l| l.starts_with("DTSTART")).unwrap().to_owned();
    d.server.edit(&name, &start, "DTSTART;TZID=Europe/London:20261212T101500");
    shift(&mut p, &id, 60);
    let r = d.publish(&p).unwrap();
    assert!(r.edited[0].1.contains(&"time".to_owned()), "{r:?}");
    assert!(d.server.there.as_ref().unwrap()[&name].0.contains("20261212T101500"));
    // A task that is gone is cancelled, edits or not.
    p.tasks.retain(|t| t.id != id);
    assert_eq!(d.publish(&p).unwrap().cancelled, 1);
    let text = d.server.there.as_ref().unwrap()[&name].0.clone();
    assert!(text.contains("STATUS:CANCELLED") && text.contains("Ada holds the lid"), "{text}");
}

#[test]
fn what_a_server_rewrites_is_no_edit() {
    let (mut d, mut p) = (Desk::new(), plan());
    d.publish(&p).unwrap();
    let id = turn(&p, 0);
    let name = d.name(&id);
    let text = d.server.there.as_ref().unwrap()[&name].0.clone();
    let start = text.lines().find(|l| l.starts_with("DTSTART:")).unwrap().to_owned();
    let utc = chrono::NaiveDateTime::parse_from_str(&start[8..], "%Y%m%dT%H%M%SZ").unwrap().and_utc();
    let civil = LONDON.civil(utc).format("DTSTART;TZID=Europe/London:%Y%m%dT%H%M%S").to_string();
    d.server.edit(&name, &start, &civil);
    d.server.edit(&name, "SEQUENCE:0", "SEQUENCE:4\r\nLAST-MODIFIED:20261101T100000Z");
    let r = d.publish(&p).unwrap();
    assert_eq!((r.edited.len(), r.changed), (0, 0), "{r:?}");
    // The next change is higher than what the server made of it.
    shift(&mut p, &id, 30);
    d.publish(&p).unwrap();
    let text = d.server.there.as_ref().unwrap()[&name].0.clone();
    assert!(text.contains("SEQUENCE:5"), "{text}");
    // As high as a number goes: it stays there.
    d.server.edit(&name, "SEQUENCE:5", "SEQUENCE:4294967295");
    shift(&mut p, &id, 30);
    d.publish(&p).unwrap();
    let text = d.server.there.as_ref().unwrap()[&name].0.clone();
    assert!(text.contains("SEQUENCE:4294967295"), "{text}");
}

#[test]
fn what_a_person_deletes_stays_deleted_and_what_is_not_ours_is_not_touched() {
    let (mut d, p) = (Desk::new(), plan());
    d.server.there = Some(BTreeMap::from([("dentist.ics".to_owned(), ("theirs".to_owned(), "\"x\"".to_owned()))]));
    d.publish(&p).unwrap();
    let id = turn(&p, 1);
    let name = d.name(&id);
    d.server.there.as_mut().unwrap().remove(&name);
    for _ in 0..2 {
        let r = d.publish(&p).unwrap();
        assert_eq!((r.gone.as_slice(), r.created), (&[id.clone()][..], 0));
    }
    // Taking it all down leaves what a person edited, and what was never ours.
    let other = turn(&p, 0);
    let edited = d.name(&other);
    d.server.edit(&edited, "SUMMARY:", "SUMMARY:Mine: ");
    let mut round = Round { server: &mut d.server, state: &mut d.state, zone: LONDON, now: d.now, wait: &mut |_| () };
    let r = round.take_down().unwrap();
    assert_eq!(r.edited.len(), 1);
    let left: Vec<&String> = d.server.there.as_ref().unwrap().keys().collect();
    assert_eq!(left, ["dentist.ics", edited.as_str()]);
}

#[test]
fn offline_is_caught_up_with() {
    let (mut d, p) = (Desk::new(), plan());
    // A short silence is waited out.
    d.server.down = 2;
    let all = d.publish(&p).unwrap().created;
    assert_eq!(d.waited, [Duration::from_secs(1), Duration::from_secs(4)]);
    let mut d = Desk::new();
    d.server.down = 1000;
    assert!(matches!(d.publish(&p), Err(Fault::Offline(..))));
    d.server.down = 0;
    assert_eq!(d.publish(&p).unwrap().created, all);
    // In the middle: what was done is known, and an answer that was lost is no edit.
    let mut d = Desk::new();
    d.server.there = Some(BTreeMap::new());
    d.server.lose_answer = true;
    assert!(d.publish(&p).is_err());
    d.server.down = 0;
    let r = d.publish(&p).unwrap();
    assert_eq!((r.created, r.unchanged, r.edited.len()), (all - 1, 1, 0), "{r:?}");
    let mut p = p;
    let id = turn(&p, 0);
    shift(&mut p, &id, 45);
    d.server.lose_answer = true;
    assert!(d.publish(&p).is_err());
    d.server.down = 0;
    let r = d.publish(&p).unwrap();
    assert_eq!((r.changed, r.edited.len(), r.unchanged), (0, 0, all), "{r:?}");
}

#[test]
fn a_cancelled_entry_is_deleted_when_its_time_is_long_past() {
    let (mut d, mut p) = (Desk::new(), plan());
    d.publish(&p).unwrap();
    let id = turn(&p, 0);
    let name = d.name(&id);
    let end = p.tasks.iter().find(|t| t.id == id).unwrap().end;
    p.tasks.retain(|t| t.id != id);
    assert_eq!(d.publish(&p).unwrap().cancelled, 1);
    assert_eq!(d.publish(&p).unwrap().cancelled, 0);
    d.now = end.with_timezone(&Utc) + TimeDelta::days(8);
    let r = d.publish(&p).unwrap();
    assert_eq!(r.deleted, 1, "{r:?}");
    assert!(!d.server.there.as_ref().unwrap().contains_key(&name));
    assert_eq!(d.publish(&p).unwrap().deleted, 0);
}

#[test]
fn moved_and_ticked_come_back() {
    let (mut d, p) = (Desk::new(), plan());
    d.form = Form::Todos;
    d.publish(&p).unwrap();
    assert_eq!(wishes(&mut d.server, &mut d.state, LONDON).unwrap(), []);
    let (moved, done) = (turn(&p, 1), turn(&p, 0));
    let text = d.server.there.as_ref().unwrap()[&d.name(&moved)].0.clone();
    let start = text.lines().find(|l| l.starts_with("DTSTART")).unwrap().to_owned();
    d.server.edit(&d.name(&moved), &start, "DTSTART:20261212T101500Z");
    d.server.edit(&d.name(&done), "STATUS:NEEDS-ACTION", "STATUS:COMPLETED\r\nCOMPLETED:20261208T190500Z");
    let from = p.tasks.iter().find(|t| t.id == moved).unwrap().start.with_timezone(&Utc);
    let mut found = wishes(&mut d.server, &mut d.state, LONDON).unwrap();
    found.sort_by_key(|w| w.task().to_owned());
    let mut expected = vec![
        Wish::Moved { task: moved, from, to: "2026-12-12T10:15:00Z".parse().unwrap() },
        Wish::Done { task: done, when: Some("2026-12-08T19:05:00Z".parse().unwrap()) },
    ];
    expected.sort_by_key(|w| w.task().to_owned());
    assert_eq!(found, expected);
    // They are still there after a round of publishing, which leaves both as they are.
    assert_eq!(d.publish(&p).unwrap().edited.len(), 2);
    assert_eq!(wishes(&mut d.server, &mut d.state, LONDON).unwrap().len(), 2);
}
