//! A difference as lines for people.

use super::{Difference, Line};
use crate::plan::words::moment;
use std::fmt::Write;

impl Difference {
    /// The whole of it as lines for people.
    pub fn to_text(&self) -> String {
        let mut out = String::new();
        let mut part = |head: &str, lines: &[String]| {
            if !lines.is_empty() {
                let _ = writeln!(out, "{head}");
                for l in lines {
                    let _ = writeln!(out, "  {l}");
                }
            }
        };
        part("What happened", &self.happened);
        let s = if self.jobs == 1 { "" } else { "s" };
        let stay = if self.moved.is_empty() && self.dropped.is_empty() {
            format!("All {} job{s} to come stay where they are.", self.jobs)
        } else {
            format!("{} of the {} job{s} to come stay where they are.", self.stay, self.jobs)
        };
        part("What stays", &[stay]);
        let lines: Vec<String> = self
            .moved
            .iter()
            .map(|m| format!("{}: {} → {}; {}", m.task, moment(&m.from), moment(&m.to), m.cause))
            .collect();
        let fewest = if self.fewest {
            "; proven: in these tubs and pots no plan breaks fewer promises (one within 48 h counts as 3)"
        } else {
            ""
        };
        part(&format!("What moves: {} of {}{fewest}", self.moved.len(), self.jobs), &lines);
        let line = |l: &Line| format!("{}: {}", moment(&l.at), l.says);
        part("New", &self.added.iter().map(line).collect::<Vec<_>>());
        part("No longer done", &self.dropped.iter().map(line).collect::<Vec<_>>());
        part("In other hands", &self.handed_over);
        part("What it costs", &self.costs);
        let mut next: Vec<String> = self
            .next
            .iter()
            .map(|n| {
                let who = n.who.as_ref().map_or_else(String::new, |w| format!(" ({w})"));
                format!("{}: {}{who}", moment(&n.at), n.says)
            })
            .collect();
        next.extend(self.decide_by.map(|d| format!("Decide before {}: there the two plans part.", moment(&d))));
        part("What next", &next);
        let others: Vec<String> = self.others.iter().map(|o| format!("{}; why not: {}", o.says, o.why_not)).collect();
        part("What else could be done", &others);
        out
    }
}
