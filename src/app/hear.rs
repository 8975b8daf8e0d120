//! What the planner on its own thread has to tell, and a plan taken over from it.

use std::sync::Arc;

use super::change::is_same;
use super::chart::{Chart, RowKind};
use super::news::{News, PlanNews, Planning};
use super::sentence::next_hands;
use super::state::State;
use super::update::Effect;

impl State {
    pub(super) fn news(&mut self, news: PlanNews) -> Vec<Effect> {
        if news.revision != self.progress.revision {
            return Vec::new();
        }
        let begun = |p: &Planning| matches!(p, Planning::Idle);
        match news.news {
            News::Better(plan) => {
                if begun(&self.progress.state) {
                    self.progress.state = Planning::Running;
                }
                self.progress.better += 1;
                self.chart_of = news.revision;
                self.adopt(Chart::new(&self.kitchen, *plan, self.now));
            }
            News::Finished => {
                // The last word of a planner that had nothing, or broke off, stays.
                if matches!(self.progress.state, Planning::Running | Planning::Stopping | Planning::Idle) {
                    self.progress.state = Planning::Finished;
                }
                return self.first_plan();
            }
            News::Again(again) => {
                self.progress.state = Planning::Finished;
                if is_same(&again.difference) {
                    self.chart_of = news.revision;
                } else {
                    self.proposal = Some(Arc::new(*again));
                }
            }
            News::Impossible(reasons) if self.chart.is_some() && !self.wished.is_empty() => {
                // What was asked for cannot be; what there was stands.
                self.wished.clear();
                self.progress.state = Planning::Finished;
                self.chart_of = news.revision;
                let why = reasons.first().map_or("no plan keeps every limit then", String::as_str);
                self.notice = Some(format!("it cannot be there: {why}"));
            }
            News::Impossible(reasons) => {
                self.progress.state = Planning::Impossible(reasons);
                // A plan on record stands until another is taken on.
                if self.chart_of != self.progress.revision && self.book.is_none() {
                    // The plan of what the kitchen was before is no answer any more.
                    self.lose_plan();
                }
            }
            News::Failed(why) => self.progress.state = Planning::Failed(why),
        }
        Vec::new()
    }

    /// Takes a plan over, keeping in hand what the person had: the same task by its name, or the same line.
    pub fn adopt(&mut self, chart: Arc<Chart>) {
        let held = self.chart.as_deref().zip(self.selected).map(|(old, s)| {
            let id = s.task.map(|t| old.plan.tasks[t].id.clone());
            (id, old.rows[s.row].name.clone(), std::mem::discriminant(&old.rows[s.row].kind))
        });
        self.let_go();
        self.chart = Some(chart.clone());
        self.selected = held.and_then(|(id, name, kind)| {
            let same = |k: RowKind| std::mem::discriminant(&k) == kind;
            let row = chart.rows.iter().position(|r| r.name == name && same(r.kind))?;
            let task = id.and_then(|id| chart.task(&id)).filter(|t| chart.rows[row].tasks.contains(t));
            Some(super::Selection { row, task })
        });
        if let Some(g) = self.geometry() {
            self.axis.cols = g.cols();
        }
        if !self.touched {
            self.fit();
        }
        self.follow_next();
        self.settle();
    }

    /// Until the person takes something in hand, the next task is.
    pub(super) fn follow_next(&mut self) {
        if let (false, Some(chart)) = (self.touched, self.chart.clone()) {
            let next = next_hands(self, &chart).or(chart.order.last().copied());
            if let Some((t, row)) = next.and_then(|t| Some((t, chart.row_of(t)?))) {
                self.selected = Some(super::Selection { row, task: Some(t) });
            }
        }
    }
}
