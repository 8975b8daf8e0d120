//! Forms: everything about a kitchen, filled in field by field as people write it, checked as it is typed.
//!
//! A form edits the kitchen file's text, comments and all; the text is then read and judged by the same code as any
//! kitchen file, and only what passes is taken over, kept, and planned anew.

mod first;
mod kind;
mod list;
mod paper;
mod save;
mod sections;
mod typed;

pub use first::bare;
pub use kind::{Here, Kind, Understood};
pub use list::{Line, lines};
pub use paper::{At, Paper, amend};
pub(super) use save::told;
pub use sections::{Count, Empty, SECTIONS, Section, Spec};

use super::command::Command;
use super::field::Field;
use super::key::{Code, Key};
use super::state::{Overlay, State};
use super::time::instant;
use super::update::Effect;
use super::view::View;
use crate::kitchen::limits::Limits;
use serde_json::{Map, Value};

/// Which object of the kitchen a form is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    Object,
    Item(usize),
    New,
    /// A house limit, by its id.
    Limit(String),
    /// A whole kitchen that is not there yet.
    First,
}

impl Place {
    pub fn at(&self) -> At<'_> {
        match self {
            Self::Object => At::Object,
            Self::Item(i) => At::Item(*i),
            Self::New | Self::First => At::New,
            Self::Limit(id) => At::Key(id),
        }
    }
}

/// A form being filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    pub section: &'static Section,
    pub place: Place,
    pub title: String,
    pub fields: Vec<Blank>,
    /// The field being filled in.
    pub cursor: usize,
    /// What the whole file was refused for, with the field it is about when it is about one.
    pub trouble: Vec<(Option<usize>, String)>,
    /// Escape was pressed once with changes in the form.
    sure: bool,
    /// What was there before, fields without a blank among them.
    base: Map<String, Value>,
}

/// A field of a form: what is typed, and what was there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blank {
    pub field: Field,
    was: String,
}

impl Form {
    pub fn section(&self) -> &'static Section {
        self.section
    }

    pub fn spec(&self, i: usize) -> &'static Spec {
        &self.section().fields[i]
    }

    /// Whether anything is different from when it was opened.
    pub fn is_changed(&self) -> bool {
        self.fields.iter().any(|b| b.field.text() != b.was)
    }

    /// What a field's text is understood as.
    ///
    /// # Errors
    /// What would have been understood, or that it has to be filled in.
    pub fn understood(&self, i: usize, here: Here) -> Result<Understood, String> {
        let spec = self.spec(i);
        let found = spec.kind.read(self.fields[i].field.text(), here)?;
        if found.value.is_none() && spec.empty == Empty::Never {
            // What would be understood there says more than that something is missing.
            let example = spec.kind.read("?", here).err();
            return Err(example.unwrap_or_else(|| "has to be filled in".into()));
        }
        Ok(found)
    }
}

/// A value inside an object, by a key with dots.
fn dig<'a>(map: &'a Map<String, Value>, key: &str) -> Option<&'a Value> {
    match key.split_once('.') {
        Some((head, rest)) => dig(map.get(head)?.as_object()?, rest),
        None => map.get(key),
    }
}

/// Puts a value there, or takes it away with the object that it leaves empty.
fn put(map: &mut Map<String, Value>, key: &str, value: Option<Value>) {
    match (key.split_once('.'), value) {
        (Some((head, rest)), value) => {
            let inner = map.entry(head).or_insert_with(|| Value::Object(Map::new()));
            if !inner.is_object() {
                *inner = Value::Object(Map::new());
            }
            if let Value::Object(inner) = inner {
                put(inner, rest, value);
                if inner.is_empty() {
                    map.remove(head);
                }
            }
        }
        (None, Some(value)) => drop(map.insert(key.to_owned(), value)),
        (None, None) => drop(map.remove(key)),
    }
}

impl State {
    /// Where the person stands when filling something in.
    pub fn here(&self) -> Here<'_> {
        Here { now: instant(self.now), kitchen: &self.kitchen }
    }

    /// Opens the form of a place of the kitchen.
    pub(super) fn open_form(&mut self, table: &'static Section, place: Place) {
        let mut base = paper::get(&self.paper.value, table.path, place.at()).cloned().unwrap_or_default();
        if let (Place::Limit(id), true) = (&place, base.is_empty()) {
            // The shipped value to start from; whoever changes it says where the new one comes from.
            let shipped = Limits::shipped();
            let value = shipped.contains(id).then(|| shipped.value(id));
            base.extend(value.map(|v| ("value".to_owned(), Value::from(v))));
        }
        let blank = |spec: &Spec| {
            let text = dig(&base, spec.key).map(|v| spec.kind.write(v)).unwrap_or_default();
            Blank { field: Field::new(text.clone()), was: text }
        };
        let fields = table.fields.iter().map(blank).collect();
        let title = match &place {
            Place::First => "Your pork: what is needed for a first plan".into(),
            Place::New => format!("A new {}", table.one),
            Place::Object => table.title.to_owned(),
            Place::Item(_) => {
                let name = base.get("name").and_then(Value::as_str).unwrap_or_default();
                format!("{}: {name}", table.title)
            }
            Place::Limit(id) => format!("House limit: {id}"),
        };
        self.form =
            Some(Form { section: table, place, title, fields, cursor: 0, trouble: Vec::new(), sure: false, base });
        self.overlay = Overlay::Form;
        self.notice = None;
    }

    /// A key while a form is open; nothing when the key means nothing to it.
    pub(super) fn form_key(&mut self, key: Key) -> Option<Vec<Effect>> {
        let given = self.keymap.in_form(key).map(|e| e.command);
        let kitchen = self.kitchen.clone();
        let form = self.form.as_mut()?;
        form.sure &= given == Some(Command::LeaveForm);
        match given {
            Some(Command::LeaveForm) => {
                if form.is_changed() && !form.sure {
                    form.sure = true;
                    self.notice =
                        Some(format!("{} again throws the changes away", self.keymap.first(Command::LeaveForm)));
                } else {
                    self.close_form();
                }
            }
            Some(Command::SaveForm) => return Some(self.save_form()),
            Some(Command::FieldAfter) if key.code == Code::Enter && form.cursor + 1 == form.fields.len() => {
                return Some(self.save_form());
            }
            Some(Command::FieldAfter) => form.cursor = (form.cursor + 1).min(form.fields.len().saturating_sub(1)),
            Some(Command::FieldBefore) => form.cursor = form.cursor.saturating_sub(1),
            _ => {
                let spec = form.spec(form.cursor);
                let steps = spec.kind.steps(&kitchen);
                let blank = form.fields.get_mut(form.cursor)?;
                let text = blank.field.text().to_lowercase();
                let here = steps.iter().position(|s| s.to_lowercase() == text);
                let whole = text.is_empty() || here.is_some();
                let by = match key.code {
                    Code::Left => Some(steps.len().saturating_sub(1)),
                    Code::Right => Some(1),
                    Code::Char(' ') if whole => Some(1),
                    _ => None,
                };
                if matches!(key.code, Code::Char(_)) && !key.ctrl && here.is_some() && by.is_none() {
                    // Letters begin another choice, they do not go on after this one.
                    blank.field.clear();
                }
                match by.filter(|_| !steps.is_empty() && !key.ctrl) {
                    Some(by) => {
                        let next = here.map_or(if by == 1 { 0 } else { by }, |h| (h + by) % steps.len());
                        blank.field = Field::new(steps[next].clone());
                    }
                    None if blank.field.key(key) => {}
                    None => return None,
                }
                form.trouble.clear();
            }
        }
        Some(Vec::new())
    }

    pub(super) fn form_paste(&mut self, text: &str) {
        if let Some(blank) = self.form.as_mut().and_then(|f| f.fields.get_mut(f.cursor)) {
            blank.field.insert(text);
        }
    }

    /// A click on a field; on the one in hand, a choice steps on.
    pub(super) fn form_press(&mut self, field: usize) {
        let kitchen = self.kitchen.clone();
        let Some(form) = self.form.as_mut() else { return };
        if field != form.cursor {
            form.cursor = field.min(form.fields.len().saturating_sub(1));
        } else if !form.spec(field).kind.steps(&kitchen).is_empty() {
            let _ = self.form_key(Key::of(Code::Right));
        }
    }

    /// The wheel goes down the fields and stays on the last: nothing is saved by it.
    pub(super) fn form_wheel(&mut self) -> Vec<Effect> {
        if let Some(form) = self.form.as_mut() {
            form.cursor = (form.cursor + 1).min(form.fields.len().saturating_sub(1));
        }
        Vec::new()
    }

    /// The line of the kitchen view that the cursor is on.
    pub fn kitchen_line(&self) -> Option<Line> {
        if self.view != View::Kitchen {
            return None;
        }
        lines(self).into_iter().nth(self.spot().line)
    }

    /// The same when it is something that can be copied or removed.
    pub fn kitchen_item(&self) -> Option<Line> {
        self.kitchen_line().filter(|l| match &l.place {
            Some(Place::Item(_)) => true,
            Some(Place::Limit(id)) => self.kitchen.limits.0.contains_key(id),
            _ => false,
        })
    }

    /// Adds, changes, copies, removes what the cursor of the kitchen view is on.
    pub(super) fn change_kitchen(&mut self, command: Command) -> Vec<Effect> {
        let Some(line) = self.kitchen_line() else { return Vec::new() };
        let many = SECTIONS[line.section].count == Count::Many;
        match (command, line.place) {
            (Command::Add, _) | (Command::Edit, None) if many => self.open_form(&SECTIONS[line.section], Place::New),
            (Command::Copy, Some(Place::Item(i))) => return self.copy_item(line.section, i),
            (Command::Remove, Some(place @ (Place::Item(_) | Place::Limit(_)))) => {
                return self.remove_item(line.section, &place, &line.name);
            }
            (Command::Edit | Command::Add, None) => {
                self.notice = Some("each limit is changed by itself, with who says so".into());
            }
            (Command::Edit | Command::Add, Some(place)) => self.open_form(&SECTIONS[line.section], place),
            _ => {}
        }
        Vec::new()
    }

    pub(super) fn close_form(&mut self) {
        self.form = None;
        if self.overlay == Overlay::Form {
            self.overlay = Overlay::None;
        }
    }
}
