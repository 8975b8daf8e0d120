//! From a form to a kitchen: the text is changed, read and judged as any file, and taken over only when it passes.

use std::sync::Arc;

use serde_json::Value;

use super::paper::{self, Paper};
use super::sections::{Count, SECTIONS};
use super::{Place, put};
use crate::app::held::Deed;
use crate::app::news::Planning;
use crate::app::state::State;
use crate::app::time::civil;
use crate::app::update::Effect;
use crate::kitchen::path::Step;
use crate::kitchen::{Finding, Kitchen, Severity, read};

impl State {
    /// Takes the form over, or says in it what stands in the way.
    pub(in crate::app) fn save_form(&mut self) -> Vec<Effect> {
        let Some(mut form) = self.form.clone() else { return Vec::new() };
        form.trouble.clear();
        if !form.is_changed() && !matches!(form.place, Place::New | Place::First) {
            self.close_form();
            return Vec::new();
        }
        let section = form.section();
        let mut map = form.base.clone();
        let mut said = Vec::new();
        for (i, spec) in section.fields.iter().enumerate() {
            match form.understood(i, self.here()) {
                Ok(found) => {
                    let blank = &form.fields[i];
                    if blank.field.text() != blank.was || matches!(form.place, Place::New | Place::First) {
                        if blank.field.text() != blank.was {
                            said.push(format!("{} {}", spec.words, blank.field.text()).trim_end().to_owned());
                        }
                        put(&mut map, spec.key, found.value);
                    }
                }
                Err(expected) => form.trouble.push((Some(i), expected)),
            }
        }
        if let Some((Some(first), _)) = form.trouble.first() {
            form.cursor = *first;
            self.form = Some(form);
            self.notice = Some("not saved yet: see the field in hand".into());
            return Vec::new();
        }
        if form.place == Place::First {
            return self.begin(form, &map);
        }
        let name = map.get("name").and_then(Value::as_str).unwrap_or_default();
        let what = match &form.place {
            Place::Limit(id) => id.clone(),
            Place::Object => section.title.to_lowercase(),
            Place::First => String::new(),
            Place::New => format!("new {} {name}", section.one),
            Place::Item(_) => format!("{} {name}", section.one),
        };
        let says = format!("{what}: {}", said.join(", "));
        let Some(text) = paper::set(&self.paper.text, section.path, form.place.at(), &map) else {
            form.trouble.push((None, "the kitchen's text cannot be changed there".into()));
            self.form = Some(form);
            return Vec::new();
        };
        match self.take_text(text, &says) {
            Ok(effects) => {
                self.close_form();
                effects
            }
            Err(findings) => {
                let depth = section.path.len() + usize::from(section.count != Count::One);
                form.trouble = findings.into_iter().map(|f| (about(&form, &f, depth), told(&f))).collect();
                if let Some(first) = form.trouble.iter().find_map(|t| t.0) {
                    form.cursor = first;
                }
                self.form = Some(form);
                Vec::new()
            }
        }
    }

    /// Takes a kitchen's text over when it can be read and nothing new in it is refused.
    ///
    /// # Errors
    /// What it is refused for.
    pub(in crate::app) fn take_text(&mut self, text: String, says: &str) -> Result<Vec<Effect>, Vec<Finding>> {
        let kitchen = self.judged(&text)?;
        self.paper.change(text, says);
        Ok(self.take_kitchen(kitchen, says))
    }

    pub(super) fn judged(&self, text: &str) -> Result<Kitchen, Vec<Finding>> {
        let today = civil(self.kitchen.zone, self.now).date();
        let refused = |text: &str| -> Vec<Finding> {
            let found = read::read("kitchen", text).judge(today).findings;
            found.into_iter().filter(|f| f.severity == Severity::Refused).collect()
        };
        // What was refused before (a date that has gone by, say) does not stand in the way of another change.
        let before: Vec<String> = refused(&self.paper.text).into_iter().map(|f| f.says).collect();
        let new: Vec<Finding> = refused(text).into_iter().filter(|f| !before.contains(&f.says)).collect();
        let reading = read::read("kitchen", text);
        match reading.kitchen {
            Some(kitchen) if new.is_empty() => Ok(kitchen),
            Some(_) => Err(new),
            None => Err(reading.findings),
        }
    }

    /// Plans from a kitchen that has been read and judged.
    fn take_kitchen(&mut self, kitchen: Kitchen, says: &str) -> Vec<Effect> {
        self.kitchen = Arc::new(kitchen);
        if self.book.is_none() {
            // Without a record there is nothing to plan around: the changed kitchen is planned anew.
            self.wished.clear();
        }
        self.progress.revision += 1;
        self.progress.better = 0;
        if self.progress.state != Planning::Idle {
            self.progress.state = Planning::Running;
        }
        self.notice = Some(says.to_owned());
        vec![Effect::Do(Deed::Kitchen { text: self.paper.text.clone(), says: says.to_owned() }), Effect::Plan]
    }

    /// Goes back over an edit of the kitchen, or forward again.
    pub(in crate::app) fn undo_edit(&mut self, forward: bool) -> Vec<Effect> {
        let before: Paper = self.paper.clone();
        let step = if forward { self.paper.redo() } else { self.paper.undo() };
        let Some(says) = step else { return Vec::new() };
        match read::read("kitchen", &self.paper.text).kitchen {
            Some(kitchen) => {
                let word = if forward { "done again" } else { "undone" };
                self.take_kitchen(kitchen, &format!("{word}: {says}"))
            }
            None => {
                self.paper = before;
                self.notice = Some("what was there before cannot be read any more".into());
                Vec::new()
            }
        }
    }

    /// Copies what is at a place of the kitchen under a new name, and opens it.
    pub(in crate::app) fn copy_item(&mut self, section: usize, index: usize) -> Vec<Effect> {
        let table = &SECTIONS[section];
        let found = paper::get(&self.paper.value, table.path, paper::At::Item(index));
        let Some(mut map) = found.cloned() else { return Vec::new() };
        let name = map.get("name").and_then(Value::as_str).unwrap_or(table.one).to_owned();
        let list = table.path.iter().try_fold(&self.paper.value, |v, key| v.get(key)).and_then(Value::as_array);
        let taken =
            |n: &String| list.is_some_and(|l| l.iter().any(|i| i.get("name").and_then(Value::as_str) == Some(n)));
        let stem = name.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end();
        let free = (2..).map(|i| format!("{stem} {i}")).find(|n| !taken(n)).unwrap_or_else(|| format!("{stem} copy"));
        map.insert("name".into(), Value::String(free.clone()));
        // Its own scale has not seen the new one.
        map.remove("weighed");
        let Some(text) = paper::set(&self.paper.text, table.path, paper::At::New, &map) else { return Vec::new() };
        self.taken_or_told(text, &format!("new {} {free}, like {name}", table.one))
    }

    /// Takes what is at a place of the kitchen out of it; a house limit goes back to the one shipped.
    pub(in crate::app) fn remove_item(&mut self, section: usize, place: &Place, name: &str) -> Vec<Effect> {
        let table = &SECTIONS[section];
        let says = match place {
            Place::Limit(id) => format!("{id}: as shipped again"),
            _ if table.path == ["joints"] && self.book.as_ref().is_some_and(|b| b.is_under_way(name)) => {
                format!("{} {name} removed, record and all (u: undo)", table.one)
            }
            _ => format!("{} {name} removed", table.one),
        };
        match paper::remove(&self.paper.text, table.path, place.at()) {
            Some(text) => self.taken_or_told(text, &says),
            None => {
                self.notice = Some("there is nothing of your own to remove there".into());
                Vec::new()
            }
        }
    }

    fn taken_or_told(&mut self, text: String, says: &str) -> Vec<Effect> {
        self.take_text(text, says).unwrap_or_else(|findings| {
            self.notice = findings.first().map(|f| format!("not done: {}", told(f)));
            Vec::new()
        })
    }
}

pub(in crate::app) fn told(f: &Finding) -> String {
    match &f.hint {
        Some(hint) => format!("{}; {hint}", f.says),
        None => f.says.clone(),
    }
}

/// The field of the form that a finding is about.
fn about(form: &super::Form, f: &Finding, depth: usize) -> Option<usize> {
    let steps = &f.path.0;
    let home = form.section().path;
    let same = steps.len() > depth && home.iter().zip(steps).all(|(k, s)| matches!(s, Step::Key(key) if key == k));
    let here = match (&form.place, steps.get(home.len())) {
        (Place::Item(i), Some(Step::At(n))) => i == n,
        (Place::Limit(id), Some(Step::Key(key))) => id == key,
        (Place::New | Place::Object, _) => true,
        _ => false,
    };
    let rest: Vec<&str> = steps
        .iter()
        .skip(depth)
        .map_while(|s| match s {
            Step::Key(k) => Some(k.as_str()),
            Step::At(_) => None,
        })
        .collect();
    let key = rest.join(".");
    let fits = |spec: &&super::Spec| spec.key == key || key.starts_with(&format!("{}.", spec.key));
    form.section().fields.iter().position(|s| fits(&s)).filter(|_| same && here)
}
