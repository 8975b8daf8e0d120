//! Every tub against every day.

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use super::facts::{Asked, Facts, Job, State, clock, list, when};
use super::page::{Col, Handle, Line, Page, Table, Voice, cell, plain, quiet, trouble, voiced};
use crate::app::sentence::Sentence;
use crate::app::time::how_long;
use crate::plan::{Kind, When};

/// A turn of a tub.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Turn {
    #[serde(flatten)]
    pub job: Job,
    /// The tub's load.
    pub load: String,
    /// Minutes since the turn or the putting-in before.
    pub gap_minutes: i64,
    #[serde(skip)]
    near: String,
}

/// A joint's lift.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lift {
    pub joint: String,
    pub at: When,
    pub state: State,
    pub id: String,
}

/// A tub's load with its turns.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tub {
    pub load: String,
    pub joints: Vec<String>,
    pub space: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub put_in: Option<When>,
    pub turns: Vec<Turn>,
    pub lifts: Vec<Lift>,
}

/// The turns of all tubs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Turns {
    pub today: NaiveDate,
    /// The day the window is laid around.
    pub around: NaiveDate,
    pub recorded: bool,
    /// Whether the plan says how far turns can move.
    pub slack_known: bool,
    /// Longest good gap, minutes, from the house's limits.
    pub longest_gap_minutes: i64,
    /// What a late turn costs, in the words of the house's limit.
    pub late_says: String,
    pub tubs: Vec<Tub>,
}

impl Turns {
    pub fn new(facts: &Facts, asked: &Asked) -> Self {
        let wanted = |l: &&crate::plan::TubLoad| asked.of.as_ref().is_none_or(|w| *w == l.id || *w == l.tub);
        let tubs = facts.plan.loads.iter().filter(wanted).map(|l| {
            let put = facts
                .plan
                .tasks
                .iter()
                .find(|t| t.kind == Kind::Submerge && t.joints.iter().any(|j| l.joints.contains(j)));
            let mut before = put.map(|t| t.end);
            let mut turns = Vec::new();
            let mine = |t: &&crate::plan::PlannedTask| facts.load(t).is_some_and(|x| x.id == l.id);
            for t in facts.plan.tasks.iter().filter(|t| t.kind == Kind::Turn).filter(mine) {
                // The gap is from when it was really done, where that is known.
                let done = facts.happened(&t.id).and_then(|h| h.finished).map(|at| facts.at(at));
                let at = done.unwrap_or(t.start);
                turns.push(Turn {
                    job: facts.job(t),
                    load: l.id.clone(),
                    gap_minutes: before.map_or(0, |b| (at - b).num_minutes()),
                    near: facts.near(&t.start),
                });
                if !matches!(facts.state(t), State::Skipped | State::Missed) {
                    before = Some(at);
                }
            }
            let lifts = facts.plan.tasks.iter().filter(|t| t.kind == Kind::Rinse).filter(mine).map(|t| Lift {
                joint: list(&t.joints),
                at: t.start,
                state: facts.state(t),
                id: t.id.clone(),
            });
            Tub {
                load: l.id.clone(),
                joints: l.joints.clone(),
                space: l.space.clone(),
                put_in: put.map(|t| t.start),
                turns,
                lifts: lifts.collect(),
            }
        });
        let limits = crate::kitchen::Limits::with(&facts.kitchen.limits);
        Self {
            today: facts.today(),
            around: asked.on.unwrap_or(facts.today()),
            recorded: facts.record.is_some(),
            slack_known: facts.slack_known(),
            longest_gap_minutes: i64::from(limits.minutes("turn_gap_max")),
            late_says: limits.get("turn_late_hours").says.clone(),
            tubs: tubs.collect(),
        }
    }

    fn open(&self) -> Vec<&Turn> {
        let mut open: Vec<&Turn> = self
            .tubs
            .iter()
            .flat_map(|t| &t.turns)
            .filter(|t| matches!(t.job.state, State::Due | State::Running | State::Missed))
            .collect();
        open.sort_by_key(|t| (t.job.start, t.load.clone()));
        open
    }

    fn sentence(&self) -> Sentence {
        let open = self.open();
        let missed: Vec<&&Turn> = open.iter().filter(|t| t.job.state == State::Missed).collect();
        if let Some(m) = missed.first() {
            let more = if missed.len() > 1 { format!(", and {} more", missed.len() - 1) } else { String::new() };
            return trouble(format!(
                "Not ticked off: turn {}, {}{more}. Turn it now and stir; five days or more since the last is a day longer.",
                m.load,
                when(&m.job.start)
            ));
        }
        let Some(next) = open.first() else {
            return plain(match self.tubs.is_empty() {
                true => "No tub is planned.",
                false => "No turns are left.",
            });
        };
        let same: Vec<&str> = open
            .iter()
            .filter(|t| t.job.start.date_naive() == next.job.start.date_naive())
            .map(|t| t.load.as_str())
            .collect();
        let who = next.job.who.as_ref().map_or_else(String::new, |w| format!(", {w}"));
        let slack = (next.job.latest - next.job.start).num_minutes();
        let slack = match (self.slack_known, slack) {
            (false, _) => String::new(),
            (true, 1..) => format!(" It can wait {}.", how_long(slack)),
            (true, _) => " It cannot wait.".to_owned(),
        };
        plain(format!("Next turn: {}, {}{who}.{slack}", list(&same), next.near))
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        if self.tubs.is_empty() {
            return p;
        }
        self.grid(&mut p);
        let open = self.open();
        if !open.is_empty() {
            p.head("Still to turn, the next first");
            let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Left, Col::Fill]);
            for turn in open {
                let gap = how_long(turn.gap_minutes);
                let over = turn.gap_minutes > self.longest_gap_minutes;
                let long = if over {
                    format!(", over the good {}", how_long(self.longest_gap_minutes))
                } else {
                    String::new()
                };
                let j = &turn.job;
                let day = |at: &When| at.date_naive() == j.start.date_naive();
                let window = match (j.state, j.latest > j.start || j.earliest < j.start) {
                    (State::Missed, _) => "not ticked off".to_owned(),
                    _ if !self.slack_known => "how far it can move is not reckoned yet".to_owned(),
                    (_, false) => "only then".to_owned(),
                    (_, true) if day(&j.earliest) && day(&j.latest) => {
                        format!("{} to {} will do", clock(&j.earliest), clock(&j.latest))
                    }
                    (_, true) => format!("{} to {} will do", when(&j.earliest), when(&j.latest)),
                };
                t.row(
                    Some(Handle::Task(j.id.clone())),
                    vec![
                        j.state.cell(),
                        voiced(when(&j.start), if j.state == State::Missed { Voice::Trouble } else { Voice::Strong }),
                        cell(turn.load.clone()),
                        quiet(j.who.clone().unwrap_or_default()),
                        quiet(format!("{gap} after the last{long}; {window}")),
                    ],
                );
            }
            p.table(&t);
            p.set_in(2, format!("Left out? Turn it when you find it; {}.", self.late_says), Voice::Quiet);
        }
        let gone: Vec<&Turn> = self
            .tubs
            .iter()
            .flat_map(|t| &t.turns)
            .filter(|t| matches!(t.job.state, State::Done | State::Skipped | State::Lapsed))
            .collect();
        if !gone.is_empty() {
            p.head("Turned");
            let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Fill]);
            for turn in gone {
                let j = &turn.job;
                let said = j.happened.as_ref().map_or_else(String::new, |h| {
                    let by = if h.by.is_empty() { String::new() } else { format!(", {}", h.by) };
                    let at =
                        h.finished.map(|at| at.with_timezone(j.start.offset()).format("%a %-d %b %H:%M").to_string());
                    let why = h.skipped.as_ref().map(|w| format!("left out: {w}"));
                    why.or(at.map(|a| format!("done {a}"))).unwrap_or_default() + &by
                });
                let said = if said.is_empty() { j.state.word().to_owned() } else { said };
                let of = Some(Handle::Task(j.id.clone()));
                t.row(of, vec![j.state.cell(), quiet(when(&j.start)), quiet(turn.load.clone()), quiet(said)]);
            }
            p.table(&t);
        }
        p
    }

    /// First and last day that anything is in a tub.
    fn days(&self) -> Option<(NaiveDate, NaiveDate)> {
        let all = || self.tubs.iter().flat_map(|t| t.put_in.iter().chain(t.lifts.iter().map(|l| &l.at)));
        Some((all().min()?.date_naive(), all().max()?.date_naive()))
    }

    fn grid(&self, p: &mut Page) {
        let Some((first, last)) = self.days() else { return };
        let names = self.tubs.iter().map(|t| crate::app::text::width(&t.load)).max().unwrap_or(0).clamp(4, 14);
        let room = p.columns.saturating_sub(names + 1);
        let days = usize::try_from((last - first).num_days() + 1).unwrap_or(1);
        // As wide as there is room for, so that a day can be named.
        let wide = (room / days.max(1)).clamp(2, 5);
        let shown = (room / wide).max(1).min(days);
        // All of it, or a window that has the day asked for a quarter of the way in.
        let before = TimeDelta::days((shown / 4) as i64);
        let latest = last - TimeDelta::days(shown as i64 - 1);
        let from = (self.around - before).min(latest).max(first);
        let dates: Vec<NaiveDate> = from.iter_days().take(shown).collect();
        // The month's name where it begins, and at the left.
        let mut months = vec![' '; shown * wide + 4];
        for (i, d) in dates.iter().enumerate().rev() {
            if i == 0 || chrono::Datelike::day(d) == 1 {
                for (k, c) in d.format("%b ").to_string().chars().enumerate() {
                    months[i * wide + 1 + k.min(2 + wide)] = c;
                }
            }
        }
        let mut head = Line::default();
        head.pad_to(names + 1);
        head.push(months.into_iter().take(shown * wide).collect::<String>(), Voice::Quiet);
        let mut numbers = Line::default();
        numbers.pad_to(names + 1);
        for d in &dates {
            let text = match wide {
                5 => format!("{} {:>2}", &d.format("%a").to_string()[..2], d.format("%-d")),
                w => format!("{:>2}{}", d.format("%-d"), " ".repeat(w - 2)),
            };
            let weekend = matches!(chrono::Datelike::weekday(d), chrono::Weekday::Sat | chrono::Weekday::Sun);
            let voice = match (*d == self.today, weekend) {
                (true, _) => Voice::Accent,
                (_, true) => Voice::Strong,
                _ => Voice::Quiet,
            };
            numbers.push(text, voice);
        }
        p.line(head);
        p.line(numbers);
        for tub in &self.tubs {
            let mut l = Line { of: Some(Handle::Load(tub.load.clone())), ..Line::default() };
            l.push(crate::app::text::fit(&tub.load, names), Voice::Strong);
            l.pad_to(names + 1);
            for d in &dates {
                let (mark, voice) = tub.on(*d);
                l.push(" ", Voice::Plain);
                l.push(mark.to_string(), voice);
                l.push(" ".repeat(wide - 2), Voice::Plain);
            }
            p.line(l);
        }
        if shown < days {
            let left = (from - first).num_days();
            let right = days as i64 - left - shown as i64;
            p.say(format!("{left} days before and {right} days after these are not shown."), Voice::Quiet);
        }
        let late =
            if self.recorded { "! not ticked off  × left out  - never ticked off" } else { "no record is kept" };
        p.say(format!("↓ put in  ○ turn due  ● turned  ↑ lift  · in the brine  {late}"), Voice::Quiet);
    }
}

impl Tub {
    /// The mark of a day: what matters most of what falls on it.
    fn on(&self, date: NaiveDate) -> (char, Voice) {
        if let Some(t) = self.turns.iter().find(|t| t.job.start.date_naive() == date) {
            let voice = if t.job.state == State::Due { Voice::Strong } else { t.job.state.voice() };
            return (if t.job.state == State::Past { '○' } else { t.job.state.mark() }, voice);
        }
        if self.put_in.is_some_and(|p| p.date_naive() == date) {
            return ('↓', Voice::Accent);
        }
        if let Some(l) = self.lifts.iter().find(|l| l.at.date_naive() == date) {
            let missed = l.state == State::Missed;
            return if missed { (l.state.mark(), l.state.voice()) } else { ('↑', Voice::Accent) };
        }
        let last = self.lifts.iter().map(|l| l.at.date_naive()).max();
        let inside = self.put_in.is_some_and(|p| p.date_naive() < date) && last.is_some_and(|l| date < l);
        if inside { ('·', Voice::Quiet) } else { (' ', Voice::Plain) }
    }

    /// `in Fri 4 Dec 19:00`, for tags and rotas.
    pub fn put_in_words(&self) -> String {
        self.put_in.as_ref().map_or_else(|| "not planned".to_owned(), when)
    }
}
