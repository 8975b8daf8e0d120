//! The day card.

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use super::facts::{Asked, Facts, Job, State, clock, count, list, lower, when};
use super::page::{Cell, Col, Handle, Page, Table, Voice, cell, plain, quiet, trouble, voiced};
use super::{home, ready};
use crate::app::sentence::Sentence;
use crate::app::time::{date_words, how_long};
use crate::kitchen::ChillingMeans;
use crate::plan::{Kind, PlannedTask, When};

/// Everything about one day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Day {
    pub date: NaiveDate,
    /// Whether it is the present day.
    pub today: bool,
    /// Whether somebody keeps a record of what is done.
    pub recorded: bool,
    /// In order of start.
    pub jobs: Vec<Job>,
    /// Not ticked off on days before.
    pub missed: Vec<Job>,
    /// What to have ready, with the jobs it is for.
    pub ready: Vec<String>,
    /// Begun before and not finished by the morning.
    pub going_on: Vec<Job>,
    pub before_bed: Vec<String>,
    /// The first job after this day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next: Option<Job>,
    /// Who is away, with when and why.
    pub away: Vec<String>,
    /// Pork that comes: when, and how long it can wait.
    pub pork: Vec<String>,
    /// Hands in all, minutes.
    pub hands_minutes: i32,
    sentence_next: Option<String>,
}

impl Day {
    pub fn new(facts: &Facts, asked: &Asked) -> Self {
        let today = facts.today();
        let date = asked.on.unwrap_or(today);
        let starts: Vec<&PlannedTask> =
            facts.plan.tasks.iter().filter(|t| t.start.date_naive() == date && t.kind != Kind::Rest).collect();
        let going = facts.plan.tasks.iter().filter(|t| {
            let lasting = matches!(t.kind, Kind::Rest | Kind::Chill | Kind::Soak | Kind::Cool | Kind::Firm);
            let over = date == today && t.end <= facts.at(facts.now);
            t.start.date_naive() < date && t.end.date_naive() >= date && lasting && !over && !facts.is_done(&t.id)
        });
        let missed = facts.plan.tasks.iter().filter(|t| {
            date == today && t.start.date_naive() < date && t.hands_minutes > 0 && facts.state(t) == State::Missed
        });
        let next = facts.plan.tasks.iter().find(|t| t.start.date_naive() > date && t.hands_minutes > 0);
        Self {
            date,
            today: date == today,
            recorded: facts.record.is_some(),
            jobs: starts.iter().map(|t| facts.job(t)).collect(),
            missed: missed.map(|t| facts.job(t)).collect(),
            ready: ready::for_tasks(facts, starts.iter().copied().filter(|t| !facts.is_done(&t.id))),
            going_on: going.map(|t| facts.job(t)).collect(),
            before_bed: before_bed(facts, date),
            next: next.map(|t| facts.job(t)),
            away: home::away(facts, date),
            pork: home::pork(facts, date),
            hands_minutes: starts.iter().map(|t| t.hands_minutes).sum(),
            sentence_next: next.map(|t| facts.near(&t.start)),
        }
    }

    fn sentence(&self) -> Sentence {
        let hands: Vec<&Job> = self.jobs.iter().filter(|j| j.hands_minutes > 0).collect();
        let then = match (&self.next, &self.sentence_next) {
            (Some(n), Some(at)) => format!(" Next: {}, {at}.", lower(n.short())),
            _ => " Nothing comes after it.".to_owned(),
        };
        let named = if self.today { "today".to_owned() } else { format!("on {}", date_words(self.date)) };
        if let Some(m) = self.missed.first() {
            let more =
                if self.missed.len() > 1 { format!(" and {} more", self.missed.len() - 1) } else { String::new() };
            return trouble(format!(
                "Not ticked off: {}, {}{more}. Tick it, or say it was left out.",
                lower(m.short()),
                when(&m.start)
            ));
        }
        if hands.is_empty() {
            let going = if self.going_on.is_empty() { "" } else { " Something is still going on, below." };
            return plain(format!("Nothing to do in the kitchen {named}.{going}{then}"));
        }
        let open: Vec<&&Job> =
            hands.iter().filter(|j| matches!(j.state, State::Due | State::Running | State::Missed)).collect();
        let work =
            format!("{} {named}, {} of hands", count(hands.len(), "job"), how_long(i64::from(self.hands_minutes)));
        match open.first() {
            Some(first) if self.today => {
                let done = hands.len() - open.len();
                let done = if done > 0 { format!(", {done} done") } else { String::new() };
                plain(format!("{work}{done}. Now due: {}, {}.", lower(first.short()), clock(&first.start)))
            }
            Some(first) => plain(format!("{work}, the first at {}: {}.", clock(&first.start), lower(first.short()))),
            None if hands.iter().all(|j| j.state == State::Past) => plain(format!("{work}.{then}")),
            None => plain(format!("All {} done {named}.{then}", hands.len())),
        }
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        p.say(self.date.format("%A %-d %B %Y").to_string(), Voice::Strong);
        for a in &self.away {
            p.say(a, Voice::Quiet);
        }
        for c in &self.pork {
            p.say(c, Voice::Accent);
        }
        if !self.missed.is_empty() {
            p.head("Not ticked off");
            p.table(&jobs(&self.missed, true, self.recorded));
        }
        p.gap();
        let from = p.lines.len();
        // Side by side where there is room to read both.
        let wide = columns >= 120;
        let left = if wide { columns * 11 / 20 } else { columns };
        let mut main = Page::new(left, plain(""));
        if self.jobs.is_empty() {
            main.say("No jobs.", Voice::Quiet);
        }
        main.table(&jobs(&self.jobs, false, self.recorded));
        if !self.going_on.is_empty() {
            main.head("Going on");
            main.table(&jobs(&self.going_on, true, self.recorded));
        }
        let mut side = Page::new(if wide { columns - left - 3 } else { columns }, plain(""));
        list_under(&mut side, "Have ready", &self.ready);
        list_under(&mut side, "Before bed", &self.before_bed);
        side.head(if self.today { "Tomorrow, or next" } else { "Next" });
        match &self.next {
            Some(n) => {
                let who = n.who.as_ref().map_or_else(String::new, |w| format!(", {w}"));
                side.set_in(2, format!("{}: {}{who}", when(&n.start), n.short()), Voice::Plain);
            }
            None => side.set_in(2, "Nothing more in this plan.", Voice::Quiet),
        }
        p.lines.extend(main.lines);
        if wide {
            p.beside(from, left, side);
        } else {
            p.gap();
            p.lines.extend(side.lines);
        }
        p
    }
}

fn list_under(p: &mut Page, head: &str, all: &[String]) {
    if all.is_empty() {
        return;
    }
    p.head(head);
    for text in all {
        p.set_in(2, text, Voice::Plain);
    }
}

/// Mark, time, sentence, hands, who; with the day where jobs are of several days.
fn jobs(all: &[Job], dated: bool, boxes: bool) -> Table {
    let mut t = Table::new(&[Col::Left, Col::Left, Col::Fill, Col::Right, Col::Left]);
    for j in all {
        let time = if dated { when(&j.start) } else { clock(&j.start) };
        let until = j.until();
        let until = if until.is_empty() { String::new() } else { format!(" ({until})") };
        let done = j.happened.as_ref().and_then(|h| {
            let by = if h.by.is_empty() { String::new() } else { format!(" by {}", h.by) };
            match (&h.skipped, h.finished) {
                (Some(why), _) => Some(format!(" — left out{by}: {why}")),
                (None, Some(at)) => {
                    let at = at.with_timezone(j.start.offset());
                    Some(format!(" — done {}{by}", at.format("%H:%M")))
                }
                _ => None,
            }
        });
        let word = match (j.state, &done) {
            (_, Some(done)) => done.clone(),
            (State::Due, _) => String::new(),
            (State::Past, _) if !boxes => String::new(),
            (state, None) => format!(" — {}", state.word()),
        };
        let voice = if j.state == State::Due { Voice::Plain } else { j.state.voice() };
        let mark: Cell = if j.hands_minutes > 0 { j.state.cell() } else { quiet("╌") };
        t.row(
            Some(Handle::Task(j.id.clone())),
            vec![
                mark,
                voiced(time, if j.state == State::Due { Voice::Strong } else { voice }),
                voiced(format!("{}{until}{word}", j.says), voice),
                cell(j.hands()),
                quiet(j.who.clone().unwrap_or_default()),
            ],
        );
    }
    t
}

/// What to look at last thing, and what tomorrow needs tonight.
fn before_bed(facts: &Facts, date: NaiveDate) -> Vec<String> {
    let bed = facts.civil(date, facts.kitchen.batch.not_after.minutes);
    let tomorrow = date + TimeDelta::days(1);
    let mut out = Vec::new();
    let on = |t: &&PlannedTask, end: When| t.start <= bed && end > bed && !facts.is_done(&t.id);
    for t in facts.plan.tasks.iter().filter(|t| t.kind == Kind::Chill && on(t, t.slow_end)) {
        out.push(format!(
            "Probe {}: 5 °C at the core by {}, at the slow end {}; note it.",
            list(&t.joints),
            when(&t.end),
            when(&t.slow_end)
        ));
    }
    for t in facts.plan.tasks.iter().filter(|t| t.kind == Kind::Soak && on(t, t.end)) {
        out.push(format!("Change the water on {}.", list(&t.joints)));
    }
    let brine = facts.in_brine(bed);
    if !brine.is_empty() {
        let tubs: Vec<&str> = brine.iter().map(|l| l.id.as_str()).collect();
        out.push(format!("Lid on {}, fridge shut, thermometer at 5 °C or under.", list(&tubs)));
    }
    let first = |kind| facts.plan.tasks.iter().find(move |t| t.kind == kind && t.start.date_naive() == tomorrow);
    if let Some(t) = first(Kind::BrineMake) {
        let kg = ready::brine_ice(facts, t);
        if kg > 0.0 {
            out.push(format!("Ice for tomorrow's brine in the freezer: {kg:.1} kg."));
        }
    }
    let iced = facts.kitchen.kit.chilling.iter().any(|c| c.means == ChillingMeans::IcedWater);
    if let Some(kg) = first(Kind::Chill).filter(|_| iced).and_then(|t| ready::chill_ice(facts, t)) {
        out.push(format!("Ice for tomorrow's chill in the freezer: {kg:.1} kg at the least."));
    }
    out
}
