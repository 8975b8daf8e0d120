//! From what the terminal sends to messages.

use crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
use ratatui::layout::Position;

use super::places::Places;
use crate::app::{Code, Gesture, Key, Message, Screen, Target};

/// Where the pointer went down and where it is, while it is dragged.
#[derive(Debug, Clone, Copy, Default)]
pub struct Pointer {
    drag: Option<(Target, Position)>,
}

impl Pointer {
    /// The message that an event makes, given what the last frame drew; nothing for what means nothing here.
    pub fn message(&mut self, event: &Event, places: &Places) -> Option<Message> {
        match event {
            Event::Key(key) => self::key(key).map(Message::Key),
            Event::Paste(text) => Some(Message::Paste(text.clone())),
            Event::Resize(cols, rows) => Some(Message::Resize(Screen { cols: *cols, rows: *rows })),
            Event::Mouse(mouse) => self.mouse(mouse, places),
            Event::FocusGained | Event::FocusLost => None,
        }
    }

    fn mouse(&mut self, mouse: &MouseEvent, places: &Places) -> Option<Message> {
        let position = Position::new(mouse.column, mouse.row);
        let here = places.at(position);
        let gesture = match mouse.kind {
            MouseEventKind::Down(MouseButton::Left) => {
                self.drag = here.map(|t| (t, position));
                Gesture::Press
            }
            MouseEventKind::Drag(MouseButton::Left) => {
                let (target, from) = self.drag?;
                let by = Gesture::Drag {
                    cols: i32::from(position.x) - i32::from(from.x),
                    rows: i32::from(position.y) - i32::from(from.y),
                };
                self.drag = Some((target, position));
                return Some(Message::Pointer(target, by));
            }
            MouseEventKind::Up(_) => {
                self.drag = None;
                return None;
            }
            MouseEventKind::ScrollUp if mouse.modifiers.contains(KeyModifiers::SHIFT) => Gesture::WheelLeft,
            MouseEventKind::ScrollDown if mouse.modifiers.contains(KeyModifiers::SHIFT) => Gesture::WheelRight,
            MouseEventKind::ScrollUp => Gesture::WheelUp,
            MouseEventKind::ScrollDown => Gesture::WheelDown,
            MouseEventKind::ScrollLeft => Gesture::WheelLeft,
            MouseEventKind::ScrollRight => Gesture::WheelRight,
            _ => return None,
        };
        here.map(|t| Message::Pointer(t, gesture))
    }
}

/// The key of a press; nothing for releases and keys that no command could have.
fn key(event: &KeyEvent) -> Option<Key> {
    if event.kind == KeyEventKind::Release || event.modifiers.contains(KeyModifiers::ALT) {
        return None;
    }
    let code = match event.code {
        KeyCode::Char(c) => Code::Char(c),
        KeyCode::Up => Code::Up,
        KeyCode::Down => Code::Down,
        KeyCode::Left => Code::Left,
        KeyCode::Right => Code::Right,
        KeyCode::Home => Code::Home,
        KeyCode::End => Code::End,
        KeyCode::PageUp => Code::PageUp,
        KeyCode::PageDown => Code::PageDown,
        KeyCode::Enter => Code::Enter,
        KeyCode::Esc => Code::Escape,
        KeyCode::Tab => Code::Tab,
        KeyCode::BackTab => Code::BackTab,
        KeyCode::Backspace => Code::Backspace,
        KeyCode::Delete => Code::Delete,
        _ => return None,
    };
    Some(Key { code, ctrl: event.modifiers.contains(KeyModifiers::CONTROL) })
}
