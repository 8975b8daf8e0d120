//! What-ifs on the screen: a question in words, planned with beside everything else, and its answer. Nothing is changed by
//! asking.

use std::sync::Arc;

use super::chart::Chart;
use super::field::Field;
use super::form::{amend, told};
use super::key::{Code, Key};
use super::sheet::{Voice, page};
use super::state::{Overlay, State};
use super::time::instant;
use super::update::Effect;
use super::view::About;
use crate::kitchen::Kitchen;
use crate::plan::ask::Answer;
use crate::plan::question::{self, Question};

/// The question being typed, and what the last one came to.
#[derive(Debug, Clone, Default)]
pub struct Asking {
    pub field: Field,
    /// First line in view.
    pub top: usize,
    pub reply: Reply,
    /// Questions asked so far: tells the answer of one from another's.
    pub asked: u64,
    /// What the last was asked of: the revision of the kitchen and its record, and the plan.
    pub of: Option<(u64, Arc<Chart>)>,
}

#[derive(Debug, Clone, Default)]
pub enum Reply {
    #[default]
    None,
    /// Being planned with; the question as a person would put it.
    Waiting(String),
    Answered(Arc<Answer>),
    Failed(String),
}

impl State {
    pub(super) fn open_ask(&mut self) {
        let joint = match (self.about(), self.chart.as_deref()) {
            (About::Joint(j), Some(chart)) => chart.plan.joints.get(j).map(|j| format!("weighs {} ", j.name)),
            _ => None,
        };
        // The last answer stays to be read again, unless there is something to ask of what is in hand.
        if let Some(words) = joint {
            self.asking.field = Field::new(words);
        }
        self.overlay = Overlay::Ask;
    }

    /// The question being typed; nothing when nothing is.
    fn question(&self) -> Option<Result<Question, String>> {
        let typed = self.asking.field.text().trim();
        (!typed.is_empty()).then(|| question::read(typed, &self.kitchen, instant(self.now)))
    }

    /// A key while a question is typed; nothing when the key means nothing there.
    pub(super) fn ask_key(&mut self, key: Key) -> Option<Vec<Effect>> {
        let waiting = matches!(self.asking.reply, Reply::Waiting(_));
        match (key.ctrl, key.code) {
            (false, Code::Escape) if waiting => {
                self.asking.reply = Reply::None;
                return Some(vec![Effect::StopAsking]);
            }
            (false, Code::Escape) => self.overlay = Overlay::None,
            (false, Code::Enter) => match self.question() {
                Some(Ok(q)) => {
                    self.notice = None;
                    self.asking.asked += 1;
                    self.asking.top = 0;
                    self.asking.of = self.chart.clone().map(|c| (self.progress.revision, c));
                    self.asking.reply = Reply::Waiting(q.words());
                    return Some(vec![Effect::Ask(q)]);
                }
                Some(Err(says)) => self.notice = Some(says),
                None => self.overlay = Overlay::None,
            },
            (true, Code::Char('s')) => return Some(self.take_answer_on()),
            (false, code) if page(&mut self.asking.top, code) => {}
            _ if self.asking.field.key(key) => self.notice = None,
            _ => return None,
        }
        Some(Vec::new())
    }

    /// The answer whose question can be made so in the kitchen.
    ///
    /// # Errors
    /// Why there is none, and what to do instead.
    fn to_take_on(&self) -> Result<(&Answer, &Kitchen), String> {
        let Reply::Answered(answer) = &self.asking.reply else { return Err("nothing is answered yet".to_owned()) };
        if let Question::Weighs { joint, weight } = &answer.question {
            let kg = weight.as_kg();
            return Err(format!("once {joint} is on the scale, write it down: weighed {joint} {kg}"));
        }
        match &answer.kitchen {
            _ if self.is_overtaken() => Err("something has changed since this was asked; ask again".to_owned()),
            Some(kitchen) => Ok((answer, kitchen)),
            None => Err("there is nothing to take on: no plan was made with it".to_owned()),
        }
    }

    /// Makes the kitchen as it was asked about, as any other edit of it; it is planned with and can be undone.
    fn take_answer_on(&mut self) -> Vec<Effect> {
        let taken = self.to_take_on().and_then(|(answer, kitchen)| {
            let data = |k: &Kitchen| serde_json::to_value(k).unwrap_or_default();
            let text = amend(&self.paper.text, &data(&self.kitchen), &data(kitchen));
            let text = text.ok_or_else(|| "the kitchen's text cannot be changed there".to_owned())?;
            Ok((text, format!("taken on: {}", answer.asked)))
        });
        let done = taken.and_then(|(text, says)| {
            self.take_text(text, &says)
                .map_err(|f| f.first().map_or_else(String::new, |f| format!("not done: {}", told(f))))
        });
        match done {
            Ok(effects) => {
                self.overlay = Overlay::None;
                self.asking.reply = Reply::None;
                effects
            }
            Err(says) => {
                self.notice = Some(says);
                Vec::new()
            }
        }
    }

    /// An answer has come; that of a question no longer asked is dropped.
    pub(super) fn answered(&mut self, number: u64, answer: Result<Arc<Answer>, String>) {
        if number != self.asking.asked || !matches!(self.asking.reply, Reply::Waiting(_)) {
            return;
        }
        self.asking.reply = match answer {
            Ok(answer) => Reply::Answered(answer),
            Err(says) => Reply::Failed(says),
        };
        if self.overlay != Overlay::Ask {
            self.notice = Some("the answer to what you asked is there".to_owned());
        }
    }

    /// Whether kitchen, record or plan have changed since the last question was asked.
    fn is_overtaken(&self) -> bool {
        let same = |(revision, of): &(u64, Arc<Chart>)| {
            *revision == self.progress.revision && self.chart.as_ref().is_some_and(|c| Arc::ptr_eq(c, of))
        };
        !self.asking.of.as_ref().is_some_and(same)
    }

    /// What stands under the line being typed.
    pub fn ask_lines(&self) -> Vec<(String, Voice)> {
        let mut lines = Vec::new();
        match self.question() {
            Some(Ok(q)) => lines.push((format!("= {}", q.words()), Voice::Plain)),
            Some(Err(says)) => lines.push((says, Voice::Quiet)),
            None => {
                lines.push(("What can be asked:".to_owned(), Voice::Quiet));
                lines.extend(question::FORMS.map(|f| (format!("  {f}"), Voice::Quiet)));
            }
        }
        match &self.asking.reply {
            Reply::None => {}
            Reply::Waiting(words) => {
                lines.push((String::new(), Voice::Plain));
                lines.push((format!("{words} Planning with it; esc stops."), Voice::Strong));
            }
            Reply::Failed(says) => lines.push((format!("! {says}"), Voice::Warning)),
            Reply::Answered(answer) => {
                lines.push((String::new(), Voice::Plain));
                if self.is_overtaken() {
                    let says = "! Something has changed since this was asked; ask again.";
                    lines.push((says.to_owned(), Voice::Warning));
                }
                let text = answer.to_text();
                let voice = |i| if i == 0 { Voice::Strong } else { Voice::Plain };
                lines.extend(text.lines().enumerate().map(|(i, l)| (l.to_owned(), voice(i))));
                if self.to_take_on().is_ok() {
                    lines.push((
                        "ctrl-s takes it on: the kitchen is changed so and planned again.".to_owned(),
                        Voice::Quiet,
                    ));
                }
            }
        }
        lines
    }
}
