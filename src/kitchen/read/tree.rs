//! The file as a tree whose every value knows which bytes it was written in.
//!
//! Reading mends the tree as it goes (a field that cannot be read is dropped, a misspelt one renamed), so that one pass
//! finds many errors and the tree always has the shape of what was read from it.

use crate::kitchen::path::{Path, Step};
use jsonc_parser::ast;
use jsonc_parser::common::Ranged;
use serde_json::{Map, Number, Value};
use std::ops::Range;

#[derive(Debug, Clone)]
pub struct Node {
    pub span: Range<usize>,
    pub kind: Kind,
    /// Its place in the list it was written in, from 0; mending moves what comes after.
    pub number: usize,
}

#[derive(Debug, Clone)]
pub enum Kind {
    Scalar(Value),
    List(Vec<Node>),
    /// Fields in file order, and the names of those that were dropped because they could not be read.
    Fields(Vec<Field>, Vec<String>),
}

#[derive(Debug, Clone)]
pub struct Field {
    pub name: String,
    pub name_span: Range<usize>,
    pub node: Node,
}

/// Something wrong with the tree itself, before anything is read from it.
pub enum Flaw {
    /// One field written twice: its name, and where it first and last stands.
    Twice { name: String, first: Range<usize>, again: Range<usize> },
    /// A number too large for the machine.
    Number { text: String, span: Range<usize> },
}

impl Node {
    /// Takes over what the parser read; a flawed value is dropped and told of.
    pub fn from_ast(value: &ast::Value<'_>, flaws: &mut Vec<Flaw>) -> Option<Self> {
        let r = value.range();
        let span = r.start..r.end;
        let kind = match value {
            ast::Value::NullKeyword(_) => Kind::Scalar(Value::Null),
            ast::Value::BooleanLit(b) => Kind::Scalar(Value::Bool(b.value)),
            ast::Value::StringLit(s) => Kind::Scalar(Value::String(s.value.to_string())),
            ast::Value::NumberLit(n) => match serde_json::from_str::<Number>(n.value) {
                Ok(number) => Kind::Scalar(Value::Number(number)),
                Err(_) => {
                    flaws.push(Flaw::Number { text: n.value.to_owned(), span });
                    return None;
                }
            },
            ast::Value::Array(a) => {
                let item = |(number, e)| Self::from_ast(e, flaws).map(|node| Self { number, ..node });
                Kind::List(a.elements.iter().enumerate().filter_map(item).collect())
            }
            ast::Value::Object(o) => {
                let (mut fields, mut dropped) = (Vec::<Field>::new(), Vec::new());
                for p in &o.properties {
                    let r = p.name.range();
                    let (name, name_span) = (p.name.as_str().to_owned(), r.start..r.end);
                    if let Some(first) = fields.iter().find(|f| f.name == name) {
                        flaws.push(Flaw::Twice { name, first: first.name_span.clone(), again: name_span });
                        continue;
                    }
                    match Self::from_ast(&p.value, flaws) {
                        Some(node) => fields.push(Field { name, name_span, node }),
                        None => dropped.push(name),
                    }
                }
                Kind::Fields(fields, dropped)
            }
        };
        Some(Self { span, kind, number: 0 })
    }

    pub fn to_value(&self) -> Value {
        match &self.kind {
            Kind::Scalar(v) => v.clone(),
            Kind::List(items) => Value::Array(items.iter().map(Self::to_value).collect()),
            Kind::Fields(fields, _) => {
                Value::Object(fields.iter().map(|f| (f.name.clone(), f.node.to_value())).collect::<Map<_, _>>())
            }
        }
    }

    fn step(&self, step: &Step) -> Option<&Self> {
        match (&self.kind, step) {
            (Kind::List(items), Step::At(i)) => items.get(*i),
            (Kind::Fields(fields, _), Step::Key(k)) => fields.iter().find(|f| f.name == *k).map(|f| &f.node),
            _ => None,
        }
    }

    /// The node at `path`, or the deepest one on the way to it, and how many steps that took.
    pub fn deepest(&self, path: &Path) -> (&Self, usize) {
        let mut node = self;
        for (i, step) in path.0.iter().enumerate() {
            match node.step(step) {
                Some(next) => node = next,
                None => return (node, i),
            }
        }
        (node, path.0.len())
    }

    pub fn get(&self, path: &Path) -> Option<&Self> {
        let (node, steps) = self.deepest(path);
        (steps == path.0.len()).then_some(node)
    }

    pub fn get_mut(&mut self, path: &Path) -> Option<&mut Self> {
        let mut node = self;
        for step in &path.0 {
            node = match (&mut node.kind, step) {
                (Kind::List(items), Step::At(i)) => items.get_mut(*i)?,
                (Kind::Fields(fields, _), Step::Key(k)) => {
                    fields.iter_mut().find(|f| f.name == *k).map(|f| &mut f.node)?
                }
                _ => return None,
            };
        }
        Some(node)
    }

    /// Drops what is at `path` from its list or object. False when there is nothing there, or it is the root.
    pub fn drop_at(&mut self, path: &Path) -> bool {
        let (Some(parent), Some(last)) = (path.parent(), path.0.last()) else { return false };
        let Some(parent) = self.get_mut(&parent) else { return false };
        match (&mut parent.kind, last) {
            (Kind::List(items), Step::At(i)) if *i < items.len() => {
                items.remove(*i);
                true
            }
            (Kind::Fields(fields, dropped), Step::Key(k)) => {
                let before = fields.len();
                fields.retain(|f| f.name != *k);
                dropped.push(k.clone());
                fields.len() < before
            }
            _ => false,
        }
    }

    pub fn field(&self, name: &str) -> Option<&Field> {
        match &self.kind {
            Kind::Fields(fields, _) => fields.iter().find(|f| f.name == name),
            _ => None,
        }
    }

    /// Whether anything was dropped from this object, or the named field in particular.
    pub fn lost(&self, name: Option<&str>) -> bool {
        match &self.kind {
            Kind::Fields(_, dropped) => name.map_or(!dropped.is_empty(), |n| dropped.iter().any(|d| d == n)),
            _ => false,
        }
    }

    fn text(&self, field: &str) -> Option<&str> {
        match &self.field(field)?.node.kind {
            Kind::Scalar(Value::String(s)) => Some(s),
            _ => None,
        }
    }

    /// The same path by the numbers that items had in the file before any was dropped.
    pub fn as_written(&self, path: &Path) -> Path {
        let mut node = Some(self);
        let mut out = Path::ROOT;
        for step in &path.0 {
            node = node.and_then(|n| n.step(step));
            out = match (step, node) {
                (Step::At(_), Some(n)) => out.at(n.number),
                (Step::At(i), None) => out.at(*i),
                (Step::Key(k), _) => out.key(k),
            };
        }
        out
    }

    /// Every list in the tree, by its path.
    pub fn lists(&self) -> Vec<Path> {
        let mut out = Vec::new();
        self.collect_lists(&Path::ROOT, &mut out);
        out
    }

    fn collect_lists(&self, at: &Path, out: &mut Vec<Path>) {
        match &self.kind {
            Kind::Scalar(_) => {}
            Kind::List(items) => {
                items.iter().enumerate().for_each(|(i, n)| n.collect_lists(&at.at(i), out));
                out.push(at.clone());
            }
            Kind::Fields(fields, _) => fields.iter().for_each(|f| f.node.collect_lists(&at.key(&f.name), out)),
        }
    }

    /// What the nearest named thing on the way to `path` is called: `joint "Alder"`, `2nd tub`.
    pub fn thing(&self, path: &Path) -> Option<String> {
        let mut said = None;
        let mut node = self;
        let mut noun = "item";
        for step in &path.0 {
            let Some(next) = node.step(step) else { break };
            match step {
                Step::Key(k) => noun = singular(k).unwrap_or(noun),
                Step::At(_) if singular_known(noun) => {
                    said = Some(match next.text("name") {
                        Some(name) if !name.is_empty() => format!("{noun} \"{name}\""),
                        _ => format!("{noun} {}", next.number + 1),
                    });
                    noun = "item";
                }
                Step::At(_) => {}
            }
            node = next;
        }
        said
    }
}

fn singular(list: &str) -> Option<&'static str> {
    Some(match list {
        "joints" => "joint",
        "tubs" => "tub",
        "cold" => "cold space",
        "pots" => "pot",
        "chilling" => "chilling",
        "people" => "person",
        _ => return None,
    })
}

fn singular_known(noun: &str) -> bool {
    noun != "item"
}
