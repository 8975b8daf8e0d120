//! Seven days for the wall.

use chrono::{Datelike, NaiveDate, TimeDelta};
use serde::Serialize;

use super::facts::{Asked, Facts, Job, clock, count, list};
use super::home;
use super::page::{Col, Handle, Page, Table, Voice, cell, plain, quiet, voiced};
use crate::app::sentence::Sentence;
use crate::app::time::{date_words, how_long};
use crate::plan::Kind;

/// A day on the wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WallDay {
    pub date: NaiveDate,
    pub jobs: Vec<Job>,
    /// Who is out of the house, when, why.
    pub out: Vec<String>,
    pub away: Vec<String>,
    /// Pork that comes.
    pub arrives: Vec<String>,
    pub cook_day: bool,
    pub hands_minutes: i32,
}

/// A week from its Monday.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Week {
    pub kitchen: String,
    pub today: NaiveDate,
    pub days: Vec<WallDay>,
}

impl Week {
    pub fn new(facts: &Facts, asked: &Asked) -> Self {
        let date = asked.on.unwrap_or(facts.today());
        let monday = date - TimeDelta::days(i64::from(date.weekday().num_days_from_monday()));
        let days = monday.iter_days().take(7).map(|d| day(facts, d)).collect();
        Self { kitchen: facts.kitchen.name.clone(), today: facts.today(), days }
    }

    fn sentence(&self) -> Sentence {
        let hands: i32 = self.days.iter().map(|d| d.hands_minutes).sum();
        let jobs: usize = self.days.iter().map(|d| d.jobs.len()).sum();
        let cooks: Vec<String> = self.days.iter().filter(|d| d.cook_day).map(|d| date_words(d.date)).collect();
        let from = self.days.first().map_or_else(String::new, |d| date_words(d.date));
        if jobs == 0 {
            return plain(format!("The week of {from}: nothing to do in the kitchen."));
        }
        let cook = match cooks.as_slice() {
            [] => "no cook day".to_owned(),
            [one] => format!("cook day {one}"),
            some => format!("cook days {}", list(some)),
        };
        plain(format!("The week of {from}: {}, {} of hands, {cook}.", count(jobs, "job"), how_long(i64::from(hands))))
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        for d in &self.days {
            p.gap();
            let now = if d.date == self.today { ", today" } else { "" };
            let cook = if d.cook_day { ", COOK DAY" } else { "" };
            let head = format!("{}{now}{cook}", d.date.format("%A %-d %B"));
            p.say(head, if d.date == self.today { Voice::Accent } else { Voice::Strong });
            // Away is shaded, so that it is seen before anything is promised.
            for a in &d.away {
                p.set_in(2, format!("░░ {a}"), Voice::Quiet);
            }
            for a in &d.arrives {
                p.set_in(2, a, Voice::Plain);
            }
            let mut t = Table::within(&[Col::Left, Col::Left, Col::Fill, Col::Right, Col::Left]);
            for j in &d.jobs {
                t.row(
                    Some(Handle::Task(j.id.clone())),
                    vec![
                        j.state.cell(),
                        voiced(clock(&j.start), Voice::Strong),
                        cell(j.short()),
                        cell(j.hands()),
                        quiet(j.who.clone().unwrap_or_default()),
                    ],
                );
            }
            if d.jobs.is_empty() && d.arrives.is_empty() {
                p.set_in(2, "nothing to do", Voice::Quiet);
            }
            p.table(&t);
            if !d.out.is_empty() {
                p.set_in(2, format!("out: {}", d.out.join("; ")), Voice::Quiet);
            }
        }
        p
    }
}

fn day(facts: &Facts, date: NaiveDate) -> WallDay {
    let jobs: Vec<Job> = facts
        .plan
        .tasks
        .iter()
        .filter(|t| t.start.date_naive() == date && t.hands_minutes > 0)
        .map(|t| facts.job(t))
        .collect();
    WallDay {
        date,
        cook_day: jobs.iter().any(|j| j.kind == Kind::Simmer),
        hands_minutes: jobs.iter().map(|j| j.hands_minutes).sum(),
        jobs,
        out: home::out(facts, date),
        away: home::away(facts, date),
        arrives: home::pork(facts, date),
    }
}
