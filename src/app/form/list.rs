//! The kitchen as a list: every section with what is in it.

use serde_json::{Map, Value};

use super::kind::Kind;
use super::paper::{self, At};
use super::sections::{Count, SECTIONS, Section};
use super::{Place, dig};
use crate::app::state::State;
use crate::kitchen::limits::Limits;

/// A line of the kitchen view.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    pub section: usize,
    /// Nothing for the heading of a list.
    pub place: Option<Place>,
    pub name: String,
    /// The figures that matter, parted by dots.
    pub says: String,
}

impl Line {
    /// Whether there can be another one like it.
    pub fn can_be_copied(&self) -> bool {
        matches!(self.place, Some(Place::Item(_)))
    }
}

/// All lines, in the order of the table.
pub fn lines(state: &State) -> Vec<Line> {
    let mut out = Vec::new();
    for (number, section) in SECTIONS.iter().enumerate() {
        match section.count {
            Count::One => {
                let map = paper::get(&state.paper.value, section.path, At::Object);
                let says = map.map(|m| figures(section, m, "")).unwrap_or_default();
                out.push(Line { section: number, place: Some(Place::Object), name: section.title.into(), says });
            }
            Count::Many => {
                let list = section.path.iter().try_fold(&state.paper.value, |v, key| v.get(key));
                let items = list.and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
                out.push(Line { section: number, place: None, name: section.title.into(), says: String::new() });
                for (i, item) in items.iter().enumerate() {
                    let Some(map) = item.as_object() else { continue };
                    let name = map.get("name").and_then(Value::as_str).unwrap_or("(no name)").to_owned();
                    let says = figures(section, map, "name");
                    out.push(Line { section: number, place: Some(Place::Item(i)), name, says });
                }
            }
            Count::Limits => {
                out.push(Line { section: number, place: None, name: section.title.into(), says: String::new() });
                let own = &state.kitchen.limits;
                for limit in Limits::with(own).iter() {
                    let whose = if own.0.contains_key(&limit.id) { "your own" } else { "as shipped" };
                    let says = format!("{} {} · {whose} · {}", limit.value, limit.unit, limit.says);
                    let place = Some(Place::Limit(limit.id.clone()));
                    out.push(Line { section: number, place, name: limit.id.clone(), says });
                }
            }
        }
    }
    out
}

/// The values of an object in the order of its fields, those that are there.
fn figures(section: &Section, map: &Map<String, Value>, without: &str) -> String {
    let told = section.fields.iter().filter(|f| f.key != without).filter_map(|f| {
        let words = f.kind.write(dig(map, f.key)?);
        match (f.kind, words.as_str()) {
            (_, "") | (Kind::YesNo, "no") => None,
            (Kind::YesNo, _) => Some(f.words.to_owned()),
            (Kind::Mass | Kind::Weight | Kind::Vessel | Kind::Choice(_) | Kind::Hours, _)
                if section.count == Count::Many =>
            {
                Some(words)
            }
            _ => Some(format!("{} {words}", f.words)),
        }
    });
    told.take(6).collect::<Vec<_>>().join(" · ")
}
