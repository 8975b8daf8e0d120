//! A line of text being typed: in the search, the palette, a form.

use super::key::{Code, Key};

/// Longer than anything a person means to type; a paste is cut here.
const LONGEST: usize = 400;

/// The text, and where in it the next letter goes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Field {
    text: String,
    /// Byte of the text, always between two characters.
    at: usize,
}

impl Field {
    pub fn new(text: impl Into<String>) -> Self {
        let text = text.into();
        Self { at: text.len(), text }
    }

    pub fn text(&self) -> &str {
        &self.text
    }

    /// What stands before the cursor, and after it.
    pub fn halves(&self) -> (&str, &str) {
        self.text.split_at(self.at)
    }

    pub fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    pub fn clear(&mut self) {
        *self = Self::default();
    }

    /// Puts text in at the cursor; control characters are left out.
    pub fn insert(&mut self, text: &str) {
        let room = LONGEST.saturating_sub(self.text.chars().count());
        let clean: String = text.chars().filter(|c| !c.is_control()).take(room).collect();
        self.text.insert_str(self.at, &clean);
        self.at += clean.len();
    }

    /// Does what a key does in a line of text; false when it does nothing there.
    pub fn key(&mut self, key: Key) -> bool {
        match (key.ctrl, key.code) {
            (false, Code::Char(c)) => self.insert(c.encode_utf8(&mut [0; 4])),
            (_, Code::Backspace) | (true, Code::Char('h')) => self.cut(self.before(), self.at),
            (_, Code::Delete) | (true, Code::Char('d')) => self.cut(self.at, self.after()),
            (true, Code::Char('w')) => {
                let head = self.text[..self.at].trim_end();
                let from = head.rfind(char::is_whitespace).map_or(0, |i| i + 1);
                self.cut(from, self.at);
            }
            (true, Code::Char('u')) => self.cut(0, self.at),
            (true, Code::Char('k')) => self.cut(self.at, self.text.len()),
            (_, Code::Left) => self.at = self.before(),
            (_, Code::Right) => self.at = self.after(),
            (_, Code::Home) | (true, Code::Char('a')) => self.at = 0,
            (_, Code::End) | (true, Code::Char('e')) => self.at = self.text.len(),
            _ => return false,
        }
        true
    }

    fn cut(&mut self, from: usize, to: usize) {
        self.text.replace_range(from..to, "");
        self.at = from;
    }

    fn before(&self) -> usize {
        self.text[..self.at].char_indices().next_back().map_or(0, |(i, _)| i)
    }

    fn after(&self) -> usize {
        self.text[self.at..].chars().next().map_or(self.at, |c| self.at + c.len_utf8())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_go_in_and_out_where_the_cursor_is() {
        let mut f = Field::new("生ハム");
        for key in [Key::of(Code::Left), Key::char('x'), Key::of(Code::Home), Key::of(Code::Delete)] {
            assert!(f.key(key));
        }
        assert_eq!((f.text(), f.halves()), ("ハxム", ("", "ハxム")));
        assert!(f.key(Key::of(Code::End)) && f.key(Key::of(Code::Backspace)) && f.key(Key::ctrl('u')));
        assert!(f.is_empty() && f.key(Key::of(Code::Backspace)) && f.key(Key::of(Code::Left)));
        f.insert("two words\n\u{1b}[2J");
        assert_eq!(f.text(), "two words[2J");
        assert!(f.key(Key::ctrl('w')));
        assert_eq!(f.text(), "two ");
        assert!(!f.key(Key::of(Code::Enter)) && !f.key(Key::ctrl('l')));
        f.insert(&"a".repeat(1000));
        assert_eq!(f.text().chars().count(), LONGEST);
    }
}
