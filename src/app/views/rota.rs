//! Who does what on which day.

use serde::Serialize;

use super::facts::{Facts, Job, State, clock, count, day};
use super::page::{Col, Handle, Page, Table, Voice, cell, plain, quiet, voiced};
use crate::app::sentence::Sentence;
use crate::app::time::how_long;

/// A person's share.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    pub who: String,
    pub jobs: usize,
    pub turns: usize,
    pub hands_minutes: i32,
}

/// The rota.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rota {
    pub shares: Vec<Share>,
    /// Still to do, in order.
    pub jobs: Vec<Job>,
}

impl Rota {
    pub fn new(facts: &Facts) -> Self {
        let open = |s: State| matches!(s, State::Due | State::Running | State::Missed);
        let jobs: Vec<Job> = facts
            .plan
            .tasks
            .iter()
            .filter(|t| t.hands_minutes > 0)
            .map(|t| facts.job(t))
            .filter(|j| open(j.state))
            .collect();
        let share = |p: &crate::kitchen::Person| {
            let mine = || jobs.iter().filter(|j| j.who.as_ref() == Some(&p.name));
            Share {
                who: p.name.clone(),
                jobs: mine().count(),
                turns: mine().filter(|j| j.kind == crate::plan::Kind::Turn).count(),
                hands_minutes: mine().map(|j| j.hands_minutes).sum(),
            }
        };
        Self { shares: facts.kitchen.people.iter().map(share).collect(), jobs }
    }

    fn sentence(&self) -> Sentence {
        if self.jobs.is_empty() {
            return plain("Nothing is left to do.");
        }
        let said: Vec<String> = self
            .shares
            .iter()
            .map(|s| {
                let turns = count(s.turns, "turn");
                format!(
                    "{} {}, {turns} among them, {}",
                    s.who,
                    count(s.jobs, "job"),
                    how_long(i64::from(s.hands_minutes))
                )
            })
            .collect();
        plain(format!("Still to do: {}.", said.join("; ")))
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Left, Col::Fill, Col::Right]);
        let mut last = String::new();
        for j in &self.jobs {
            let d = day(&j.start);
            let shown = if d == last { String::new() } else { d.clone() };
            last = d;
            t.row(
                Some(Handle::Task(j.id.clone())),
                vec![
                    voiced(shown, Voice::Strong),
                    cell(clock(&j.start)),
                    voiced(j.who.clone().unwrap_or_else(|| "anybody".into()), Voice::Strong),
                    j.state.cell(),
                    cell(j.short()),
                    quiet(j.hands()),
                ],
            );
        }
        p.table(&t);
        p
    }
}
