//! Lines of text being typed over the timeline: the search, and what is pasted anywhere.

use super::key::{Code, Key};
use super::search::matches;
use super::state::{Overlay, State};
use super::update::Effect;

impl State {
    /// A key while a search is typed; nothing when the key means nothing to it.
    pub(super) fn search_key(&mut self, key: Key) -> Option<Vec<Effect>> {
        match (key.ctrl, key.code) {
            (false, Code::Enter) => self.overlay = Overlay::None,
            (false, Code::Escape) => {
                self.query.clear();
                self.overlay = Overlay::None;
                self.notice = None;
            }
            _ if self.search.key(key) => self.searched(),
            _ => return None,
        }
        Some(Vec::new())
    }

    fn searched(&mut self) {
        if self.query != self.search.text() {
            self.query = self.search.text().to_owned();
            self.jump_to_match();
        }
    }

    pub(super) fn paste(&mut self, text: &str) {
        match self.overlay {
            Overlay::Search => {
                self.search.insert(text);
                self.searched();
            }
            Overlay::Palette => {
                self.palette.field.insert(text);
                self.palette.cursor = 0;
            }
            Overlay::Form => self.form_paste(text),
            Overlay::Log => {
                self.log.insert(text);
                self.log_sure = false;
            }
            Overlay::Ask => self.asking.field.insert(text),
            Overlay::Trouble => self.telling.field.insert(text),
            _ => {}
        }
    }

    /// Shows what the query finds while it is typed.
    fn jump_to_match(&mut self) {
        let found = matches(self, &self.query);
        self.notice = match found.len() {
            _ if self.query.trim().is_empty() => None,
            0 => Some("no match".into()),
            n => Some(format!("{n} match{}", if n == 1 { "" } else { "es" })),
        };
        if let (Some(first), Some(chart)) = (found.first().copied(), self.chart.clone()) {
            // The one in hand stays when it still matches.
            let keep = self.selected.filter(|s| found.contains(s)).unwrap_or(first);
            self.touched = true;
            self.select(&chart, keep.row, keep.task);
        }
    }
}
