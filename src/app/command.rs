//! The one table of commands. Keys, footer, help and, later, palette and key page all come from it.

use super::key::{Code, Key};
use super::state::{Overlay, State};

/// Every command a person can give.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Command {
    Up,
    Down,
    PreviousTask,
    NextTask,
    PreviousInTime,
    NextInTime,
    NextTurn,
    PreviousTurn,
    PageUp,
    PageDown,
    Now,
    First,
    Last,
    ZoomIn,
    ZoomOut,
    ReadTask,
    Fit,
    PanLeft,
    PanRight,
    Search,
    NextMatch,
    PreviousMatch,
    Standing,
    StopPlanning,
    Help,
    Inks,
    Mouse,
    Back,
    Redraw,
    Suspend,
    Quit,
}

/// Under which heading the help lists a command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Group {
    Select,
    Time,
    Find,
    Plan,
    Program,
}

impl Group {
    pub const ALL: [Self; 5] = [Self::Select, Self::Time, Self::Find, Self::Plan, Self::Program];

    pub const fn words(self) -> &'static str {
        match self {
            Self::Select => "Select",
            Self::Time => "Time",
            Self::Find => "Find",
            Self::Plan => "Plan",
            Self::Program => "Program",
        }
    }
}

/// A row of the table.
pub struct Entry {
    pub command: Command,
    pub group: Group,
    /// What it does, in a few words.
    pub words: &'static str,
    /// A word for the footer; empty when it has no place there.
    pub short: &'static str,
    pub keys: &'static [Key],
    /// Whether it would do anything now.
    pub allowed: fn(&State) -> bool,
}

const fn c(ch: char) -> Key {
    Key::char(ch)
}

const fn k(code: Code) -> Key {
    Key::of(code)
}

fn always(_: &State) -> bool {
    true
}

fn with_plan(state: &State) -> bool {
    state.chart.is_some()
}

fn searching(state: &State) -> bool {
    state.chart.is_some() && !state.query.is_empty()
}

fn planning(state: &State) -> bool {
    state.progress.is_running()
}

fn something_open(state: &State) -> bool {
    state.overlay != Overlay::None || state.selected.is_some() || state.notice.is_some()
}

macro_rules! table {
    ($($command:ident, $group:ident, $words:literal, $short:literal, [$($key:expr),+], $allowed:expr;)+) => {
        &[$(Entry {
            command: Command::$command,
            group: Group::$group,
            words: $words,
            short: $short,
            keys: &[$($key),+],
            allowed: $allowed,
        }),+]
    };
}

/// The table. The first key of a row is the one the footer shows.
pub const COMMANDS: &[Entry] = table! {
    Up, Select, "line above", "", [k(Code::Up), c('k')], with_plan;
    Down, Select, "line below", "", [k(Code::Down), c('j')], with_plan;
    PreviousTask, Select, "task before, on this line", "", [k(Code::Left), c('h')], with_plan;
    NextTask, Select, "task after, on this line", "", [k(Code::Right), c('l')], with_plan;
    PreviousInTime, Select, "task before, anywhere", "", [k(Code::BackTab), c('b')], with_plan;
    NextInTime, Select, "task after, anywhere", "task", [k(Code::Tab), c('w')], with_plan;
    PreviousTurn, Select, "turn before", "", [c('T')], with_plan;
    NextTurn, Select, "next turn", "turn", [c('t')], with_plan;
    PageUp, Select, "a page of lines up", "", [k(Code::PageUp), Key::ctrl('b')], with_plan;
    PageDown, Select, "a page of lines down", "", [k(Code::PageDown), Key::ctrl('f')], with_plan;
    Now, Time, "go to now", "now", [c('n')], always;
    First, Time, "go to the first task", "", [k(Code::Home), c('g')], with_plan;
    Last, Time, "go to the last task", "", [k(Code::End), c('G')], with_plan;
    ZoomIn, Time, "zoom in, as far as quarter hours", "zoom", [c('+'), c('=')], always;
    ZoomOut, Time, "zoom out, as far as months", "", [c('-'), c('_')], always;
    ReadTask, Time, "zoom to the selected task", "read", [k(Code::Enter)], |s| s.selected_task().is_some();
    Fit, Time, "the whole plan", "whole", [c('0'), c('f')], with_plan;
    PanLeft, Time, "look earlier", "", [c('H'), c('<')], always;
    PanRight, Time, "look later", "", [c('L'), c('>')], always;
    Search, Find, "search names, tasks, dates", "search", [c('/')], with_plan;
    NextMatch, Find, "next match", "", [c(']')], searching;
    PreviousMatch, Find, "match before", "", [c('[')], searching;
    Standing, Plan, "how good it is, what is proven", "standing", [c('p')], with_plan;
    StopPlanning, Plan, "stop looking, keep the best so far", "stop", [c('s')], planning;
    Help, Program, "this list", "help", [c('?')], always;
    Inks, Program, "inks: dark, light, no colour", "", [c('c')], always;
    Mouse, Program, "mouse on or off", "", [c('m')], always;
    Back, Program, "close, or let go of the selection", "", [k(Code::Escape), k(Code::Backspace)], something_open;
    Redraw, Program, "draw everything again", "", [Key::ctrl('l')], always;
    Suspend, Program, "back to the shell for a while", "", [Key::ctrl('z')], always;
    Quit, Program, "quit", "quit", [c('q'), Key::ctrl('c')], always;
};

/// The command a key gives, whether or not it is allowed now.
pub fn command_for(key: Key) -> Option<&'static Entry> {
    COMMANDS.iter().find(|e| e.keys.contains(&key))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn no_key_and_no_command_is_there_twice() {
        let mut keys = HashSet::new();
        let mut commands = HashSet::new();
        for e in COMMANDS {
            assert!(commands.insert(e.command), "{:?} has two rows", e.command);
            assert!(!e.words.is_empty() && !e.keys.is_empty());
            for key in e.keys {
                assert!(keys.insert(*key), "{key} is given twice");
                assert_eq!(command_for(*key).map(|e| e.command), Some(e.command));
            }
        }
        assert_eq!(commands.len(), Command::Quit as usize + 1, "a command has no row");
    }
}
