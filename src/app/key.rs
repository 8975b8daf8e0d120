//! Keys as a person names them, free of any terminal library.

use std::fmt;

/// A key without its modifiers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Code {
    Char(char),
    Up,
    Down,
    Left,
    Right,
    Home,
    End,
    PageUp,
    PageDown,
    Enter,
    Escape,
    Tab,
    BackTab,
    Backspace,
}

/// A key press. Shift is part of the character (`G`), except for shift-tab, which is its own key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key {
    pub code: Code,
    pub ctrl: bool,
}

impl Key {
    pub const fn char(c: char) -> Self {
        Self { code: Code::Char(c), ctrl: false }
    }

    pub const fn ctrl(c: char) -> Self {
        Self { code: Code::Char(c), ctrl: true }
    }

    pub const fn of(code: Code) -> Self {
        Self { code, ctrl: false }
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.ctrl {
            f.write_str("ctrl-")?;
        }
        match self.code {
            Code::Char(' ') => f.write_str("space"),
            Code::Char(c) => write!(f, "{c}"),
            Code::Up => f.write_str("↑"),
            Code::Down => f.write_str("↓"),
            Code::Left => f.write_str("←"),
            Code::Right => f.write_str("→"),
            Code::Home => f.write_str("home"),
            Code::End => f.write_str("end"),
            Code::PageUp => f.write_str("page up"),
            Code::PageDown => f.write_str("page down"),
            Code::Enter => f.write_str("enter"),
            Code::Escape => f.write_str("esc"),
            Code::Tab => f.write_str("tab"),
            Code::BackTab => f.write_str("shift-tab"),
            Code::Backspace => f.write_str("backspace"),
        }
    }
}
