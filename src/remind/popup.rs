//! A popup, and the doors by which it may reach a person.

use std::io::Write;

/// What is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Popup {
    /// One popup a tag: a server that knows tags replaces by it even when the number was lost in a crash.
    pub tag: String,
    /// The number of the popup it takes the place of; 0 for none.
    pub replaces: u32,
    pub title: String,
    pub body: Vec<String>,
    pub urgent: bool,
    /// With buttons for done and snooze.
    pub asks: bool,
    /// It goes by itself after a moment: a nudge that is taken back and whose number is not known.
    pub brief: bool,
}

/// What a person answers, or the server says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    Done {
        id: u32,
    },
    Snooze {
        id: u32,
    },
    Closed {
        id: u32,
    },
    /// The server went away.
    Gone,
}

/// A way to a person.
pub trait Door {
    /// Shows a popup within a deadline of its own; its number.
    ///
    /// # Errors
    /// Why it could not be shown, in words.
    fn show(&mut self, popup: &Popup) -> Result<u32, String>;
    /// Takes a popup away; that it is gone already is no matter.
    fn close(&mut self, id: u32);
}

/// Text in a popup whose server may read it as markup.
pub fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// On the terminal: the bell, the window's title, and the words.
pub fn on_terminal(popup: &Popup, out: &mut dyn Write) -> std::io::Result<()> {
    // Nothing in a name may speak to the terminal.
    let plain = |text: &str| text.chars().filter(|c| !c.is_control()).collect::<String>();
    write!(out, "\x07\x1b]2;{}\x1b\\", plain(&popup.title))?;
    writeln!(out, "{}", plain(&popup.title))?;
    for line in &popup.body {
        writeln!(out, "  {}", plain(line))?;
    }
    out.flush()
}
