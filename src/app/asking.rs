//! What-ifs on the screen: a question in words, planned with beside everything else, and its answer. Nothing is changed by
//! asking.

use std::sync::Arc;

use super::chart::Chart;
use super::field::Field;
use super::key::{Code, Key};
use super::sheet::{Voice, page};
use super::state::{Overlay, State};
use super::time::instant;
use super::update::Effect;
use super::view::About;
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
            (false, code) if page(&mut self.asking.top, code) => {}
            _ if self.asking.field.key(key) => self.notice = None,
            _ => return None,
        }
        Some(Vec::new())
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
            }
        }
        lines
    }
}
