//! The record: what has been written down, in the order written, corrections shown.

use serde::Serialize;

use super::facts::{Asked, Facts, count, when};
use super::page::{Col, Handle, Page, Table, Voice, cell, plain, quiet, trouble, voiced};
use crate::app::record::{Entry, Holds};
use crate::app::sentence::Sentence;
use crate::plan::{When, capital};

/// An entry, with its moments in the kitchen's zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Written {
    #[serde(flatten)]
    pub entry: Entry,
    pub at_home: When,
    pub when_home: When,
}

/// The record, or the part of it that was asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct History {
    pub recorded: bool,
    pub asked: Option<String>,
    /// How many there are in all.
    pub all: usize,
    /// The newest first.
    pub entries: Vec<Written>,
    /// Troubles: what was seen, what the rules said.
    pub troubles: Vec<crate::app::record::Trouble>,
}

impl History {
    pub fn new(facts: &Facts, asked: &Asked) -> Self {
        let all = facts.record.map_or(&[][..], |r| &r.entries);
        let words: Vec<String> = asked.of.iter().flat_map(|o| o.split_whitespace()).map(str::to_lowercase).collect();
        let mut entries: Vec<Written> = all
            .iter()
            .map(|e| {
                let at_home = facts.at(e.at);
                Written { entry: e.clone(), at_home, when_home: e.when.map_or(at_home, |w| facts.at(w)) }
            })
            .filter(|w| asked.on.is_none_or(|d| w.when_home.date_naive() == d || w.at_home.date_naive() == d))
            .filter(|w| {
                let e = &w.entry;
                let text = format!("{} {} {} {}", e.kind, e.by, e.says, when(&w.when_home)).to_lowercase();
                words.iter().all(|x| text.contains(x))
            })
            .collect();
        entries.reverse();
        Self {
            recorded: facts.record.is_some(),
            asked: asked.of.clone(),
            all: all.len(),
            entries,
            troubles: facts.record.map_or_else(Vec::new, |r| r.troubles.clone()),
        }
    }

    fn sentence(&self) -> Sentence {
        if !self.recorded {
            return plain("No record is kept of this kitchen, so nothing can be said of what was done.");
        }
        if let Some(w) = &self.asked {
            return plain(match self.entries.len() {
                0 => format!("Nothing of {} has \"{w}\" in it.", entries(self.all)),
                n => format!("{n} of {} have \"{w}\" in them.", entries(self.all)),
            });
        }
        let Some(last) = self.entries.first() else {
            return plain("Nothing is written down yet.");
        };
        let by = if last.entry.by.is_empty() { String::new() } else { format!(" ({})", last.entry.by) };
        let said = format!(
            "{}, the last {}: {}{by}.",
            capital(&entries(self.entries.len())),
            when(&last.at_home),
            last.entry.says.trim_end_matches('.')
        );
        match self.troubles.last() {
            Some(t) => trouble(format!(
                "{} on record, the last about {}: {}. {said}",
                count(self.troubles.len(), "trouble"),
                t.about,
                t.says
            )),
            None => plain(said),
        }
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        let mut t = Table::new(&[Col::Right, Col::Left, Col::Left, Col::Fill, Col::Left]);
        for w in &self.entries {
            let e = &w.entry;
            let late = (w.at_home - w.when_home).num_minutes();
            let written = if late.abs() >= 60 { format!(" (written {})", when(&w.at_home)) } else { String::new() };
            let (said, voice) = match e.holds {
                Holds::Yes if e.kind == "trouble" => (e.says.clone(), Voice::Trouble),
                Holds::Yes => (e.says.clone(), Voice::Plain),
                Holds::Undone(seq) => (format!("taken back by {seq}: {}", e.says), Voice::Quiet),
                Holds::Corrected(seq) => (format!("put right by {seq}: {}", e.says), Voice::Quiet),
            };
            t.row(
                Some(Handle::Entry(e.seq)),
                vec![
                    quiet(e.seq.to_string()),
                    cell(when(&w.when_home)),
                    voiced(e.kind.clone(), Voice::Strong),
                    voiced(format!("{said}{written}"), voice),
                    quiet(e.by.clone()),
                ],
            );
        }
        p.table(&t);
        if !self.troubles.is_empty() {
            p.head("Troubles, and what the house's rules said");
            for x in &self.troubles {
                p.set_in(2, format!("{}: {}. {}", x.about, x.says, x.ruling), Voice::Plain);
            }
        }
        p
    }
}

fn entries(n: usize) -> String {
    if n == 1 { "1 entry".to_owned() } else { format!("{n} entries") }
}
