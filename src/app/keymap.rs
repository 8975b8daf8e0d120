//! Which key gives which command: the table's keys, and over them what a person's key file says.
//!
//! A key file is JSON, comments welcome: `{ "next-turn": "t", "zoom-in": ["+", "="], "suspend": [] }`. Keys named for a
//! command take the place of the table's. Nothing falls back in silence: an unknown command, a key that is none, and one
//! key for two commands on one view are refused, with the line.

use super::command::{COMMANDS, Command, Entry, On};
use super::key::Key;
use super::view::View;
use crate::kitchen::read::{Finding, fields, finding};
use std::ops::Range;

/// Commands that must keep a key: without them nobody would find the way out.
const KEPT: [Command; 5] = [Command::Help, Command::Palette, Command::Quit, Command::SaveForm, Command::LeaveForm];

/// The keys of every row of the table, in its order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Keymap {
    rows: Vec<Vec<Key>>,
}

impl Default for Keymap {
    fn default() -> Self {
        Self { rows: COMMANDS.iter().map(|e| e.keys.to_vec()).collect() }
    }
}

impl Keymap {
    /// The command a key gives on a view, whether or not it is allowed now.
    pub fn command(&self, view: View, key: Key) -> Option<&'static Entry> {
        let given = |(e, keys): &(&Entry, &Vec<Key>)| e.on.has(view) && keys.contains(&key);
        COMMANDS.iter().zip(&self.rows).find(given).map(|(e, _)| e)
    }

    /// The command a key gives while a form is filled in.
    pub fn in_form(&self, key: Key) -> Option<&'static Entry> {
        COMMANDS.iter().zip(&self.rows).find(|(e, keys)| e.on == On::Form && keys.contains(&key)).map(|(e, _)| e)
    }

    /// The keys of a command; the first is the one the footer shows.
    pub fn keys(&self, command: Command) -> &[Key] {
        COMMANDS.iter().position(|e| e.command == command).map_or(&[], |i| &self.rows[i])
    }

    /// The first key of a command in words; empty when it has none.
    pub fn first(&self, command: Command) -> String {
        self.keys(command).first().map(ToString::to_string).unwrap_or_default()
    }

    /// All keys of a command in words.
    pub fn words(&self, command: Command) -> String {
        self.keys(command).iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
    }

    /// Reads a key file.
    ///
    /// # Errors
    /// Everything wrong with it, each with its place.
    pub fn read(text: &str) -> Result<Self, Vec<Finding>> {
        let fields = fields(text, "a key file is one object: { \"command\": \"key\", ... }").map_err(|f| vec![*f])?;
        let mut found = Vec::new();
        let mut map = Self::default();
        // Where the file gives a key: row, key, place.
        let mut given: Vec<(usize, Key, Range<usize>)> = Vec::new();
        let mut named: Vec<usize> = Vec::new();
        for field in fields.iter().filter(|f| f.name != "$schema") {
            let Some(row) = COMMANDS.iter().position(|e| e.command.name() == field.name) else {
                let says = format!("there is no command \"{}\"", field.name);
                found.push(finding(text, field.name_span.clone(), says, hint_for(&field.name)));
                continue;
            };
            if named.contains(&row) {
                let says = format!("\"{}\" is written twice", field.name);
                found.push(finding(text, field.name_span.clone(), says, "keep one of the two".into()));
                continue;
            }
            named.push(row);
            let mut keys = Vec::new();
            for (value, span) in &field.values {
                let key = value.as_str().and_then(Key::parse);
                match key {
                    Some(key) => {
                        keys.push(key);
                        given.push((row, key, span.clone()));
                    }
                    None => {
                        let says = match value.as_str() {
                            Some(word) => format!("\"{word}\" is no key"),
                            None => "a key stands in double quotes".to_owned(),
                        };
                        let hint = "a letter or sign (\"t\", \"+\"), \"ctrl-x\", \"up\", \"page-down\", \"enter\", \
                                    \"esc\", \"tab\", \"shift-tab\", \"space\", \"home\", \"end\", \"delete\"";
                        found.push(finding(text, span.clone(), says, hint.into()));
                    }
                }
            }
            if keys.is_empty() && field.values.is_empty() && KEPT.contains(&COMMANDS[row].command) {
                let says = format!("\"{}\" must keep a key", field.name);
                let hint = "without it nobody finds the way; give it at least one".into();
                found.push(finding(text, field.name_span.clone(), says, hint));
            }
            map.rows[row] = keys;
        }
        found.extend(doubles(text, &map, &given, &named));
        if found.is_empty() {
            return Ok(map);
        }
        found.sort_by_key(|f| f.span.start);
        Err(found)
    }
}

/// One key for two commands that meet on a view.
fn doubles(text: &str, map: &Keymap, given: &[(usize, Key, Range<usize>)], named: &[usize]) -> Vec<Finding> {
    let meet = |a: usize, b: usize| {
        let (a, b) = (COMMANDS[a].on, COMMANDS[b].on);
        a == On::Form && b == On::Form || View::ALL.into_iter().any(|v| a.has(v) && b.has(v))
    };
    let mut found = Vec::new();
    for (i, (row, key, span)) in given.iter().enumerate() {
        let name = |row: usize| COMMANDS[row].command.name();
        if let Some((other, _, first)) = given[..i].iter().find(|(r, k, _)| k == key && (r == row || meet(*r, *row))) {
            let line = text[..first.start].matches('\n').count() + 1;
            let says = match other == row {
                true => format!("{key} is given to \"{}\" twice", name(*row)),
                false => format!("{key} is given to \"{}\" and to \"{}\"", name(*other), name(*row)),
            };
            let hint = format!("the first is in line {line}; keep one");
            found.push(finding(text, span.clone(), says, hint));
            continue;
        }
        let taken = |r: &usize| !named.contains(r) && *r != *row && meet(*r, *row) && map.rows[*r].contains(key);
        if let Some(other) = (0..COMMANDS.len()).find(taken) {
            let says = format!("{key} is given to \"{}\", and \"{}\" has it already", name(*row), name(other));
            let hint = format!("take another key, or give \"{}\" another one in this file", name(other));
            found.push(finding(text, span.clone(), says, hint));
        }
    }
    found
}

/// The command whose name is nearest, or where to find them all.
fn hint_for(name: &str) -> String {
    let near = COMMANDS.iter().map(|e| e.command.name()).max_by(|a, b| {
        let like = |n: &String| strsim::jaro_winkler(n, name);
        like(a).total_cmp(&like(b))
    });
    match near {
        Some(near) if strsim::jaro_winkler(&near, name) > 0.8 => format!("did you mean \"{near}\"?"),
        _ => "`turnday keys` lists every command".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_keys_of_a_file_take_the_place_of_the_tables() {
        let map = Keymap::read("// mine\n{ \"zoom-in\": [\"z\", \"ctrl-up\"], \"suspend\": [], }");
        assert!(map.is_err(), "ctrl-up is no key");
        let map = Keymap::read("// mine\n{ \"zoom-in\": \"z\", \"suspend\": [], }").unwrap();
        assert_eq!(map.words(Command::ZoomIn), "z");
        assert_eq!(map.words(Command::Suspend), "");
        assert_eq!(map.command(View::Timeline, Key::char('z')).unwrap().command, Command::ZoomIn);
        assert!(map.command(View::Timeline, Key::char('+')).is_none());
        assert_eq!(Keymap::read("{}").unwrap(), Keymap::default());
        // Two commands may change places.
        let map = Keymap::read("{ \"zoom-in\": \"-\", \"zoom-out\": \"+\" }").unwrap();
        assert_eq!(map.command(View::Timeline, Key::char('-')).unwrap().command, Command::ZoomIn);
    }

    #[test]
    fn what_is_wrong_is_said_with_its_line() {
        for (text, line, words) in [
            ("{\n \"zoom-inn\": \"z\"\n}", 2, "no command"),
            ("{\n \"zoom-in\": \"z\",\n \"fit\": \"z\"\n}", 3, "zoom-in"),
            ("{\n \"zoom-in\": [\"z\",\n \"z\"]\n}", 3, "twice"),
            ("{\n\n \"zoom-in\": \"q\"\n}", 3, "\"quit\" has it already"),
            ("{ \"zoom-in\": \"hyper-q\" }", 1, "is no key"),
            ("{ \"zoom-in\": 3 }", 1, "double quotes"),
            ("{ \"quit\": [] }", 1, "must keep"),
            ("{ \"zoom-in\": \"z\", \"zoom-in\": \"y\" }", 1, "twice"),
            ("[1]", 1, "object"),
            ("{ \"zoom-in\" \"z\" }", 1, "colon"),
            ("", 1, "empty"),
        ] {
            let found = Keymap::read(text).unwrap_err();
            assert_eq!(found[0].line, line, "{text}");
            let said = format!("{} {}", found[0].says, found[0].hint.clone().unwrap_or_default());
            assert!(said.contains(words), "{text}: {said}");
        }
        // The same key on views that do not meet is no double.
        assert!(Keymap::read("{ \"read-task\": \"z\", \"open\": \"z\" }").is_ok());
    }
}
