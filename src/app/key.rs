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
    Delete,
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

    /// A key as a person writes it: `t`, `ctrl-l`, `page down`, `↑`. Whatever is displayed can be read again.
    pub fn parse(text: &str) -> Option<Self> {
        let one = |t: &str| {
            let mut chars = t.chars();
            chars.next().filter(|c| chars.next().is_none() && !c.is_control())
        };
        if let Some(c) = one(text) {
            let arrows = [('↑', Code::Up), ('↓', Code::Down), ('←', Code::Left), ('→', Code::Right)];
            let code = arrows.into_iter().find(|a| a.0 == c).map_or(Code::Char(c), |a| a.1);
            return Some(Self::of(code));
        }
        let name = text.to_lowercase().replace([' ', '_'], "-");
        if let Some(rest) = name.strip_prefix("ctrl-") {
            // A terminal cannot tell others from the key without ctrl; ctrl-i is tab there, and ctrl-m enter.
            return one(rest).filter(|c| c.is_ascii_alphabetic() && !"im".contains(*c)).map(Self::ctrl);
        }
        let code = match name.as_str() {
            "space" => Code::Char(' '),
            "up" => Code::Up,
            "down" => Code::Down,
            "left" => Code::Left,
            "right" => Code::Right,
            "home" => Code::Home,
            "end" => Code::End,
            "page-up" | "pageup" => Code::PageUp,
            "page-down" | "pagedown" => Code::PageDown,
            "enter" | "return" => Code::Enter,
            "esc" | "escape" => Code::Escape,
            "tab" => Code::Tab,
            "shift-tab" => Code::BackTab,
            "backspace" => Code::Backspace,
            "delete" => Code::Delete,
            _ => return None,
        };
        Some(Self::of(code))
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
            Code::Delete => f.write_str("delete"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::COMMANDS;
    use super::*;

    #[test]
    fn what_is_displayed_is_read_again() {
        for key in COMMANDS.iter().flat_map(|e| e.keys) {
            assert_eq!(Key::parse(&key.to_string()), Some(*key));
        }
        assert_eq!(Key::parse("Page_Down"), Some(Key::of(Code::PageDown)));
        for bad in ["", "ctrl-", "ctrl-ab", "ctrl-↑", "hyper", "\u{1b}"] {
            assert_eq!(Key::parse(bad), None, "{bad}");
        }
    }
}
