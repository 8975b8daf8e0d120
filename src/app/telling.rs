//! Telling of trouble on the screen: as the words are typed the house's own table answers; enter puts both on record.

use super::acts::{self, Case, Unclear, case_of, ruling_lines};
use super::field::Field;
use super::held::Deed;
use super::key::{Code, Key};
use super::sheet::{Voice, page};
use super::state::{Overlay, State};
use super::time::instant;
use super::update::Effect;
use super::view::About;
use crate::process::trouble::{Ruling, kinds};
use crate::science::Refused;

/// The words being typed.
#[derive(Debug, Clone, Default)]
pub struct Telling {
    pub field: Field,
    /// First line in view.
    pub top: usize,
}

/// A case as it was understood, who tells of it, and what the table rules.
type Heard = (Case, String, Result<Ruling, Refused>);

impl State {
    pub(super) fn open_trouble(&mut self) {
        let chart = self.chart.as_deref();
        let names = match (self.about(), chart) {
            (About::Joint(j), Some(c)) => c.plan.joints.get(j).map(|j| j.name.clone()),
            // One joint is what a task is about; several are named by the person who knows which.
            (About::Task(t), Some(c)) => {
                c.plan.tasks.get(t).filter(|t| t.joints.len() == 1).map(|t| t.joints[0].clone())
            }
            (About::Thing(name), _) => self.kitchen.kit.tubs.iter().any(|t| t.name == name).then_some(name),
            _ => None,
        };
        let words = names.filter(|n| !n.is_empty()).map_or_else(String::new, |n| n + " ");
        self.telling = Telling { field: Field::new(words), top: 0 };
        self.overlay = Overlay::Trouble;
    }

    fn trouble(&self) -> Option<Result<Heard, Unclear>> {
        let (typed, by) = acts::by(self.telling.field.text().trim(), &self.kitchen);
        if typed.is_empty() {
            return None;
        }
        Some(case_of(typed, &*self.kitchen).map(|case| {
            let case = match self.book.as_deref() {
                Some(book) => case.by_the_book(book, instant(self.now)),
                None => case,
            };
            let ruled = case.ruled(&self.kitchen);
            (case, by.unwrap_or_default(), ruled)
        }))
    }

    /// A key while trouble is told; nothing when the key means nothing there.
    pub(super) fn trouble_key(&mut self, key: Key) -> Option<Vec<Effect>> {
        match (key.ctrl, key.code) {
            (false, Code::Escape) => self.overlay = Overlay::None,
            (false, Code::Enter) => return Some(self.put_on_record()),
            (false, code) if page(&mut self.telling.top, code) => {}
            _ if self.telling.field.key(key) => {
                self.telling.top = 0;
                self.notice = None;
            }
            _ => return None,
        }
        Some(Vec::new())
    }

    fn put_on_record(&mut self) -> Vec<Effect> {
        match self.trouble() {
            None => self.overlay = Overlay::None,
            Some(Err(unclear)) => self.notice = Some(unclear.says),
            Some(Ok((_, _, Err(refused)))) => self.notice = Some(refused.to_string()),
            Some(Ok(_)) if self.book.is_none() => {
                self.notice = Some("there is no book to put it into; the ruling stands all the same".to_owned());
            }
            Some(Ok((case, by, Ok(ruling)))) => {
                let Some(book) = self.book.as_deref() else { return Vec::new() };
                match case.acts(&ruling, book, instant(self.now)) {
                    Ok(acts) => {
                        self.overlay = Overlay::None;
                        return vec![Effect::Do(Deed::Record(acts.into_iter().map(|a| (a, by.clone())).collect()))];
                    }
                    Err(e) => self.notice = Some(e.to_string()),
                }
            }
        }
        Vec::new()
    }

    /// What stands under the line being typed: the kinds of trouble, or the ruling.
    pub fn trouble_lines(&self) -> Vec<(String, Voice)> {
        let mut lines = Vec::new();
        match self.trouble() {
            None => {
                let how = "What went wrong, with the joint or tub and the figures it asks for:";
                lines.push((how.to_owned(), Voice::Quiet));
                lines.extend(kinds().into_iter().map(|k| (format!("{}: {}", k.kind, k.what), Voice::Plain)));
            }
            Some(Err(unclear)) => {
                lines.push((unclear.says, Voice::Quiet));
                lines.extend(unclear.choices.into_iter().map(|c| (c, Voice::Plain)));
            }
            Some(Ok((case, by, ruled))) => {
                let by = if by.is_empty() { String::new() } else { format!(" · told by {by}") };
                lines.push((format!("= {}{by}", case.words()), Voice::Strong));
                let asks = kinds().into_iter().find(|k| k.kind == case.kind).map_or_else(Vec::new, |k| k.asks);
                if !asks.is_empty() {
                    lines.push((format!("  asks {}", asks.join("; ")), Voice::Quiet));
                }
                match ruled {
                    Err(refused) => lines.push((refused.to_string(), Voice::Quiet)),
                    Ok(ruling) => lines.extend(ruling_lines(&ruling)),
                }
            }
        }
        lines
    }
}
