//! Names and other text: empty, doubled, unknown, or with characters that cannot be seen.

use super::{Judge, num};
use crate::kitchen::path::Path;
use crate::kitchen::read::{printable, unseen};
use crate::kitchen::schema::quoted;
use serde_json::Value;
use std::collections::{BTreeMap, HashMap, HashSet};

/// More of one thing than this is no kitchen.
const MOST_JOINTS: usize = 500;
const MOST_OTHERS: usize = 200;
/// Longest name, and longest of any other text, in characters.
const LONGEST_NAME: usize = 60;
const LONGEST_TEXT: usize = 2000;

impl Judge<'_> {
    pub(super) fn names(&mut self) {
        let k = self.kitchen;
        if k.format != crate::kitchen::FORMAT {
            let says = format!("this file is of format {}; this program reads format 1", k.format);
            self.refuse(Path::of("format"), says);
        }
        let value = serde_json::to_value(k).unwrap_or_default();
        self.texts(&value, &Path::ROOT);
        self.none_at_all();
        let lists: [(&str, Path, Vec<&str>); 6] = [
            ("joint", Path::of("joints"), k.joints.iter().map(|j| j.name.as_str()).collect()),
            ("person", Path::of("people"), k.people.iter().map(|p| p.name.as_str()).collect()),
            ("tub", Path::of("kit").key("tubs"), k.kit.tubs.iter().map(|t| t.name.as_str()).collect()),
            ("cold space", Path::of("kit").key("cold"), k.kit.cold.iter().map(|c| c.name.as_str()).collect()),
            ("pot", Path::of("kit").key("pots"), k.kit.pots.iter().map(|p| p.name.as_str()).collect()),
            ("chilling", Path::of("kit").key("chilling"), k.kit.chilling.iter().map(|c| c.name.as_str()).collect()),
        ];
        for (noun, path, names) in &lists {
            let most = if *noun == "joint" { MOST_JOINTS } else { MOST_OTHERS };
            if names.len() > most {
                self.refuse(path.clone(), format!("{} {noun}s: more than {most} is no one kitchen", names.len()));
            }
            self.doubled(noun, path, names);
        }
        self.references();
        self.company();
    }

    fn none_at_all(&mut self) {
        let k = self.kitchen;
        if k.joints.is_empty() {
            self.refuse(Path::of("joints"), "there are no joints to cure").needs_all();
        }
        if k.kit.tubs.is_empty() {
            self.refuse(Path::of("kit").key("tubs"), "there are no tubs to cure in").needs_all();
        }
        if k.people.is_empty() {
            self.refuse(Path::of("people"), "there is nobody to do the work").needs_all();
        }
    }

    /// Every text in the file, wherever it stands.
    fn texts(&mut self, value: &Value, path: &Path) {
        match value {
            Value::String(s) => self.text(s, path),
            Value::Array(items) => items.iter().enumerate().for_each(|(i, v)| self.texts(v, &path.at(i))),
            Value::Object(map) => map.iter().for_each(|(k, v)| self.texts(v, &path.key(k))),
            _ => {}
        }
    }

    fn text(&mut self, text: &str, path: &Path) {
        let last = path.to_string();
        let field = last.rsplit('.').next().unwrap_or(&last).to_owned();
        let is_name = field == "name";
        let free = field == "notes";
        if let Some(c) = text.chars().find(|c| unseen(*c) && !(free && matches!(c, '\n' | '\t' | '\r'))) {
            let says = format!("`{field}` holds a character that cannot be seen ({})", c.escape_unicode());
            self.refuse(path.clone(), says).hint("type it again without it");
        }
        let (length, longest) = (text.chars().count(), if is_name { LONGEST_NAME } else { LONGEST_TEXT });
        if length > longest {
            self.refuse(path.clone(), format!("`{field}` is {length} characters long; {longest} is the most"));
        }
        if is_name && text.trim().is_empty() {
            self.refuse(path.clone(), "a name is empty").hint("everything is spoken of by its name");
        } else if is_name && text.trim() != text {
            self.warn(path.clone(), format!("the name \"{}\" begins or ends with a space", printable(text)));
        }
    }

    fn doubled(&mut self, noun: &str, path: &Path, names: &[&str]) {
        let mut seen = HashMap::new();
        for (i, name) in names.iter().enumerate() {
            let key = name.trim().to_lowercase();
            if key.is_empty() {
                continue;
            }
            if let Some(first) = seen.insert(key, i) {
                let says = format!("two {} are called \"{}\"", plural(noun), printable(name));
                let hint = format!("the other is number {} in the list; give each its own name", first + 1);
                self.refuse(path.at(i).key("name"), says).hint(hint);
            }
        }
    }

    fn references(&mut self) {
        let k = self.kitchen;
        let tubs: Vec<&str> = k.kit.tubs.iter().map(|t| t.name.as_str()).collect();
        let pots: Vec<&str> = k.kit.pots.iter().map(|p| p.name.as_str()).collect();
        let cold: Vec<&str> = k.kit.cold.iter().map(|c| c.name.as_str()).collect();
        for (i, j) in k.joints.iter().enumerate() {
            let at = Path::of("joints").at(i);
            if let Some(tub) = &j.tub {
                self.known("tub", tub, &tubs, at.key("tub"));
            }
            if let Some(pot) = &j.pot {
                self.known("pot", pot, &pots, at.key("pot"));
            }
        }
        for (i, c) in k.kit.chilling.iter().enumerate() {
            if let Some(space) = &c.space {
                self.known("cold space", space, &cold, Path::of("kit").key("chilling").at(i).key("space"));
            }
        }
    }

    fn known(&mut self, noun: &str, name: &str, all: &[&str], path: Path) -> bool {
        if all.contains(&name) {
            return true;
        }
        let near = all
            .iter()
            .map(|a| (strsim::damerau_levenshtein(&a.to_lowercase(), &name.to_lowercase()), *a))
            .min()
            .filter(|(d, a)| *d <= (a.chars().count() / 3).max(1));
        let hint = match near {
            Some((_, a)) => Some(format!("did you mean \"{}\"?", printable(a))),
            None if all.is_empty() => None,
            None => Some(format!("known: {}", quoted(&all.iter().take(8).collect::<Vec<_>>()))),
        };
        let issue = self.refuse(path, format!("there is no {noun} called \"{}\"", printable(name)));
        issue.hint = hint;
        issue.needs_all();
        false
    }

    /// Joints that must or must not share a tub.
    fn company(&mut self) {
        let k = self.kitchen;
        let joints: BTreeMap<&str, usize> = k.joints.iter().enumerate().map(|(i, j)| (j.name.as_str(), i)).collect();
        let names: Vec<&str> = joints.keys().copied().collect();
        let mut pairs: HashSet<(&str, &str)> = HashSet::new();
        for (field, groups) in [("together", &k.batch.together), ("apart", &k.batch.apart)] {
            for (g, group) in groups.iter().enumerate().take(MOST_JOINTS) {
                let at = Path::of("batch").key(field).at(g);
                let mut members: Vec<&str> = Vec::new();
                for (n, name) in group.iter().enumerate().take(MOST_JOINTS) {
                    if members.contains(&name.as_str()) {
                        self.refuse(at.at(n), format!("\"{}\" is named twice in one group", printable(name)));
                    } else if self.known("joint", name, &names, at.at(n)) {
                        members.push(name);
                    }
                }
                if group.len() < 2 {
                    self.refuse(at.clone(), format!("`{field}` needs at least two joints in a group"));
                }
                for (a, x) in members.iter().enumerate() {
                    for y in &members[a + 1..] {
                        let pair = if x < y { (*x, *y) } else { (*y, *x) };
                        if field == "together" {
                            pairs.insert(pair);
                            self.together(joints[x], joints[y], &at);
                        } else if pairs.contains(&pair) {
                            let says = format!("\"{x}\" and \"{y}\" are wanted both together and apart");
                            self.refuse(at.clone(), says);
                        }
                    }
                }
            }
        }
    }

    fn together(&mut self, a: usize, b: usize, at: &Path) {
        let (x, y) = (&self.kitchen.joints[a], &self.kitchen.joints[b]);
        if let (Some(p), Some(q)) = (&x.tub, &y.tub)
            && p != q
        {
            let says =
                format!("\"{}\" and \"{}\" are wanted together, but in the tubs \"{p}\" and \"{q}\"", x.name, y.name);
            self.refuse(at.clone(), says);
        }
        if self.kitchen.batch.business && x.lot != y.lot {
            let says = format!("\"{}\" and \"{}\" are wanted together, but are of different lots", x.name, y.name);
            self.refuse(at.clone(), says).hint("a business keeps one lot in a tub, so that a pack can be traced");
        }
        let (v, w) = (x.planned_weight().as_kg(), y.planned_weight().as_kg());
        let most = self.limits.value("same_tub_weights_percent");
        let apart = (v - w).abs() / (v + w) * 100.0;
        if apart > most {
            let says = format!(
                "\"{}\" and \"{}\" are wanted together, but weigh {} and {} kg",
                x.name,
                y.name,
                num(v),
                num(w)
            );
            self.warn(at.clone(), says)
                .hint(format!("joints in one tub are best within {} % of their mean weight", num(most)));
        }
    }
}

fn plural(noun: &str) -> String {
    match noun {
        "person" => "people".to_owned(),
        "chilling" => "ways of chilling".to_owned(),
        n => format!("{n}s"),
    }
}
