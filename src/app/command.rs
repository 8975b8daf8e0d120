//! The one table of commands. Keys, footer, help and, later, palette and key page all come from it.

use super::key::{Code, Key};
use super::state::{Overlay, State};
use super::view::{About, View};
use super::views;

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
    LeftInView,
    RightInView,
    Open,
    ShowTimeline,
    ShowDay,
    ShowTurns,
    ShowTubs,
    ShowJoint,
    ShowBrine,
    ShowCookDay,
    ShowChange,
    ShowFreezer,
    ShowRecord,
    ShowLastTime,
    ShowSheets,
    ShowKitchen,
    MoveTask,
    Pin,
    Tick,
    Later,
    WriteDown,
    WhatIf,
    Trouble,
    KeepBook,
    Accept,
    KeepOld,
    Begin,
    Demo,
    Edit,
    Add,
    Copy,
    Remove,
    Undo,
    Redo,
    FieldBefore,
    FieldAfter,
    SaveForm,
    LeaveForm,
    Standing,
    StopPlanning,
    Palette,
    Views,
    Help,
    Inks,
    Mouse,
    Back,
    Redraw,
    Suspend,
    Quit,
}

impl Command {
    /// Its name in the key file: `next-turn`.
    pub fn name(self) -> String {
        let mut name = String::new();
        for c in format!("{self:?}").chars() {
            if c.is_uppercase() && !name.is_empty() {
                name.push('-');
            }
            name.extend(c.to_lowercase());
        }
        name
    }
}

/// Under which heading the help lists a command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Group {
    Select,
    Time,
    Find,
    Views,
    Change,
    Form,
    Plan,
    Program,
}

impl Group {
    pub const ALL: [Self; 8] =
        [Self::Select, Self::Time, Self::Find, Self::Views, Self::Change, Self::Form, Self::Plan, Self::Program];

    pub const fn words(self) -> &'static str {
        match self {
            Self::Select => "Select",
            Self::Time => "Time",
            Self::Find => "Find",
            Self::Views => "Views",
            Self::Change => "Change",
            Self::Form => "In a form",
            Self::Plan => "Plan",
            Self::Program => "Program",
        }
    }
}

/// On which views a command is at home. The same key may do different things on views that do not meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum On {
    Any,
    /// The timeline alone.
    Timeline,
    /// Every view but the timeline.
    Views,
    /// Views that list what the plan has: all but timeline, kitchen and change.
    Listed,
    /// Timeline and the views that list what the plan has.
    Plan,
    One(View),
    /// While a form is filled in, whatever lies under it; letters are typed there.
    Form,
}

impl On {
    pub fn has(self, view: View) -> bool {
        match self {
            Self::Any => true,
            Self::Timeline => view == View::Timeline,
            Self::Views => view != View::Timeline,
            Self::Listed => !matches!(view, View::Timeline | View::Kitchen | View::Change),
            Self::Plan => !matches!(view, View::Kitchen | View::Change),
            Self::One(one) => view == one,
            Self::Form => false,
        }
    }
}

/// A row of the table.
#[derive(Debug)]
pub struct Entry {
    pub command: Command,
    pub group: Group,
    pub on: On,
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

fn several_across(state: &State) -> bool {
    views::shape(state, state.view).across > 1
}

fn searching(state: &State) -> bool {
    state.chart.is_some() && !state.query.is_empty()
}

fn planning(state: &State) -> bool {
    state.progress.is_running()
}

fn something_open(state: &State) -> bool {
    state.overlay != Overlay::None || state.view != View::Timeline || state.selected.is_some() || state.notice.is_some()
}

fn in_form(state: &State) -> bool {
    state.form.is_some()
}

fn something_under_the_cursor(state: &State) -> bool {
    state.about() != About::Nothing
}

macro_rules! table {
    ($($command:ident, $group:ident, $on:expr, $words:literal, $short:literal, [$($key:expr),+], $allowed:expr;)+) => {
        &[$(Entry {
            command: Command::$command,
            group: Group::$group,
            on: $on,
            words: $words,
            short: $short,
            keys: &[$($key),+],
            allowed: $allowed,
        }),+]
    };
}

/// The table. The first key of a row is the one the footer shows.
pub const COMMANDS: &[Entry] = table! {
    Up, Select, On::Any, "line above", "", [k(Code::Up), c('k')], with_plan;
    Down, Select, On::Any, "line below", "", [k(Code::Down), c('j')], with_plan;
    PreviousTask, Select, On::Timeline, "task before, on this line", "", [k(Code::Left), c('h')], with_plan;
    NextTask, Select, On::Timeline, "task after, on this line", "", [k(Code::Right), c('l')], with_plan;
    LeftInView, Select, On::Views, "the one before: day, joint, sheet", "", [k(Code::Left), c('h'), k(Code::BackTab)], several_across;
    RightInView, Select, On::Views, "the one after: day, joint, sheet", "next", [k(Code::Right), c('l'), k(Code::Tab)], several_across;
    PreviousInTime, Select, On::Timeline, "task before, anywhere", "", [k(Code::BackTab), c('b')], with_plan;
    NextInTime, Select, On::Timeline, "task after, anywhere", "task", [k(Code::Tab), c('w')], with_plan;
    PreviousTurn, Select, On::Timeline, "turn before", "", [c('T')], with_plan;
    NextTurn, Select, On::Timeline, "next turn", "turn", [c('t')], with_plan;
    PageUp, Select, On::Any, "a page of lines up", "", [k(Code::PageUp), Key::ctrl('b')], with_plan;
    PageDown, Select, On::Any, "a page of lines down", "", [k(Code::PageDown), Key::ctrl('f')], with_plan;
    Open, Select, On::Listed, "open what the cursor is on", "open", [k(Code::Enter)], something_under_the_cursor;
    Now, Time, On::Any, "go to now", "now", [c('n')], always;
    First, Time, On::Any, "go to the first", "", [k(Code::Home), c('g')], with_plan;
    Last, Time, On::Any, "go to the last", "", [k(Code::End), c('G')], with_plan;
    ZoomIn, Time, On::Timeline, "zoom in, as far as quarter hours", "zoom", [c('+'), c('=')], always;
    ZoomOut, Time, On::Timeline, "zoom out, as far as months", "", [c('-'), c('_')], always;
    ReadTask, Time, On::Timeline, "zoom to the selected task", "read", [k(Code::Enter)], |s| s.selected_task().is_some();
    Fit, Time, On::Timeline, "the whole plan", "whole", [c('0'), c('f')], with_plan;
    PanLeft, Time, On::Timeline, "look earlier", "", [c('H'), c('<')], always;
    PanRight, Time, On::Timeline, "look later", "", [c('L'), c('>')], always;
    Search, Find, On::Any, "search names, tasks, dates", "search", [c('/')], with_plan;
    NextMatch, Find, On::Timeline, "next match", "", [c(']')], searching;
    PreviousMatch, Find, On::Timeline, "match before", "", [c('[')], searching;
    Views, Program, On::Any, "list of views", "views", [c('v')], always;
    ShowTimeline, Views, On::Any, "timeline: all joints, all the time", "timeline", [c('1')], always;
    ShowDay, Views, On::Any, "day: its jobs in time order", "", [c('2')], always;
    ShowTurns, Views, On::Any, "turns: every tub, every day", "", [c('3')], always;
    ShowTubs, Views, On::Any, "tubs and cold: what is where", "", [c('4')], always;
    ShowJoint, Views, On::Any, "joint: story, salt, heat, limits", "", [c('5')], always;
    ShowBrine, Views, On::Any, "brine: what to weigh out", "", [c('6')], always;
    ShowCookDay, Views, On::Any, "cook day: running order", "", [c('7')], always;
    ShowFreezer, Views, On::Any, "freezer: packs, eat first", "", [c('8')], always;
    ShowRecord, Views, On::Any, "record: what was written down", "", [c('9')], always;
    ShowChange, Views, On::Any, "change: old and new plan", "", [c('C')], always;
    ShowLastTime, Views, On::Any, "last time: batches and tastes", "", [c('A')], always;
    ShowSheets, Views, On::Any, "sheets: shopping, tags, rota, weeks", "", [c('W')], always;
    ShowKitchen, Views, On::Any, "kitchen: joints, kit, people", "", [c('K')], always;
    MoveTask, Change, On::Timeline, "move the task in hand", "move", [c('M')], |s| s.can_be_moved();
    Pin, Change, On::Timeline, "pin it there, or let it go", "", [c('P')], |s| s.can_be_moved();
    Tick, Change, On::Plan, "tick it off, or take the tick back", "done", [c(' ')], |s| s.book.is_some() && matches!(s.about(), About::Task(_));
    Later, Change, On::Plan, "put its nudge off, or let it come", "", [c('o')], |s| s.book.is_some() && matches!(s.about(), About::Task(_));
    WriteDown, Change, On::Any, "write down what was done", "write", [c('r')], |s| s.book.is_some();
    WhatIf, Change, On::Any, "ask what if: away, heavier, more", "what if", [c('i')], with_plan;
    Trouble, Change, On::Any, "trouble, by the house's own table", "trouble", [c('!')], |s| !s.fresh;
    KeepBook, Change, On::Any, "begin the batch: keep a book of it", "begin", [c('S')], |s| s.from_file && s.book.is_none() && s.chart.is_some();
    Accept, Change, On::One(View::Change), "take the new plan on", "take on", [c('a'), k(Code::Enter)], |s| s.proposal.is_some();
    KeepOld, Change, On::One(View::Change), "keep the old plan", "keep old", [c('x')], |s| s.proposal.is_some();
    Begin, Change, On::Any, "begin with your own pork", "begin", [c('B')], |s| s.fresh;
    Demo, Change, On::Any, "look at an example", "example", [c('D')], |s| s.fresh;
    Edit, Change, On::One(View::Kitchen), "change it", "change", [c('e'), k(Code::Enter)], |s| s.kitchen_line().is_some();
    Add, Change, On::One(View::Kitchen), "add one", "add", [c('a'), c('+')], |s| s.kitchen_line().is_some();
    Copy, Change, On::One(View::Kitchen), "one more like it", "copy", [c('d')], |s| s.kitchen_item().is_some_and(|l| l.can_be_copied());
    Remove, Change, On::One(View::Kitchen), "remove it", "remove", [c('x'), k(Code::Delete)], |s| s.kitchen_item().is_some();
    Undo, Change, On::Any, "undo the last change", "undo", [c('u')], |s| s.paper.can_undo() || s.book.is_some();
    Redo, Change, On::Any, "do it again", "", [c('U'), Key::ctrl('r')], |s| s.paper.can_redo() || s.book.is_some();
    FieldBefore, Form, On::Form, "field above", "", [k(Code::Up), k(Code::BackTab)], in_form;
    FieldAfter, Form, On::Form, "field below; the last one saves", "next", [k(Code::Enter), k(Code::Down), k(Code::Tab)], in_form;
    SaveForm, Form, On::Form, "save", "save", [Key::ctrl('s')], in_form;
    LeaveForm, Form, On::Form, "leave without saving", "leave", [k(Code::Escape)], in_form;
    Standing, Plan, On::Any, "how good it is, what is proven", "standing", [c('p')], with_plan;
    StopPlanning, Plan, On::Any, "stop looking, keep the best so far", "stop", [c('s')], planning;
    Palette, Program, On::Any, "find a command by its words", "any", [c(':'), Key::ctrl('p')], always;
    Help, Program, On::Any, "this list", "help", [c('?')], always;
    Inks, Program, On::Any, "inks: dark, light, strong, none", "", [c('c')], always;
    Mouse, Program, On::Any, "mouse on or off", "", [c('m')], always;
    Back, Program, On::Any, "close, go back, let go", "", [k(Code::Escape), k(Code::Backspace)], something_open;
    Redraw, Program, On::Any, "draw everything again", "", [Key::ctrl('l')], always;
    Suspend, Program, On::Any, "back to the shell for a while", "", [Key::ctrl('z')], always;
    Quit, Program, On::Any, "quit", "quit", [c('q'), Key::ctrl('c')], always;
};

/// The row of a command.
pub fn entry(command: Command) -> &'static Entry {
    let found = COMMANDS.iter().find(|e| e.command == command);
    found.unwrap_or_else(|| unreachable!("{command:?} has no row; a test of this module says so first"))
}

impl Entry {
    /// Whether it can be given now: at home on the view, and something to do.
    pub fn is_open(&self, state: &State) -> bool {
        self.on.has(state.view) && (self.allowed)(state)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn no_key_and_no_command_is_there_twice() {
        let mut commands = HashSet::new();
        for e in COMMANDS {
            assert!(commands.insert(e.command), "{:?} has two rows", e.command);
            // As wide as the help has room for on the smallest screen.
            assert!((1..=35).contains(&e.words.len()) && !e.keys.is_empty(), "{}", e.words);
            assert_eq!(entry(e.command).command, e.command);
        }
        let views = View::ALL.into_iter().map(Some).chain([None]);
        for view in views {
            let mut keys = HashSet::new();
            let home = |e: &&Entry| view.map_or(e.on == On::Form, |v| e.on.has(v));
            for e in COMMANDS.iter().filter(home) {
                for key in e.keys {
                    assert!(keys.insert(*key), "{key} is given twice on {view:?}");
                }
            }
        }
        assert_eq!(commands.len(), Command::Quit as usize + 1, "a command has no row");
    }
}
