//! The first run: from nothing to a plan for two joints, asking only what cannot be guessed.
//!
//! Sizes of fridge, pot, oven and freezer start from an ordinary home kitchen and are there to be changed in the kitchen
//! view. What could hurt somebody is never guessed: the fridge's temperature and the strength of a bag of curing salt.

use serde_json::{Map, Value, json};

use super::save::told;
use super::sections::FIRST;
use super::{Form, Paper, Place};
use crate::app::held::Deed;
use crate::app::news::Planning;
use crate::app::state::State;
use crate::app::time::civil;
use crate::app::update::Effect;
use crate::app::view::View;
use crate::kitchen::Kitchen;
use std::sync::Arc;

/// A kitchen with nothing in it yet, for a screen to stand on until there is one.
pub fn bare(zone: &str) -> Option<Kitchen> {
    serde_json::from_value(kitchen(&Map::from_iter([("zone".to_owned(), json!(zone))]))).ok()
}

/// The kitchen file of what was filled in.
fn kitchen(map: &Map<String, Value>) -> Value {
    let get = |key: &str| map.get(key).cloned();
    let joint = |letter: &str, name: &str, outcome: &str| {
        let own = map.get(letter)?.as_object()?;
        let mut joint = Map::new();
        joint.insert("name".into(), json!(name));
        joint.insert("weight".into(), own.get("weight")?.clone());
        joint.insert("outcome".into(), own.get("outcome").cloned().unwrap_or_else(|| json!(outcome)));
        joint.extend(get("by").map(|by| ("ready_by".to_owned(), by)));
        joint.extend(get("arrives").map(|at| ("arrives".to_owned(), at)));
        Some(Value::Object(joint))
    };
    let joints: Vec<Value> = [joint("a", "First joint", "ham-sliced"), joint("b", "Second joint", "gammon-steaks")]
        .into_iter()
        .flatten()
        .collect();
    let shelf = |name: &str, height: u32, side: &str| {
        let mut space =
            json!({ "name": name, "width": 50, "depth": 42, "height": height, "side": side, "fridge": "Fridge" });
        if let (Some(celsius), Some(space)) = (get("celsius"), space.as_object_mut()) {
            space.insert("temperature".into(), celsius);
        }
        space
    };
    let mut cure = json!({ "basis": "equilibrium", "salt_percent": 2.5, "sugar_percent": 1.0, "days_per_kg": 6, "turn_every_days": 3 });
    if let (Some(percent), Some(cure)) = (get("nitrite"), cure.as_object_mut()) {
        cure.insert("curing_salt".into(), json!({ "nitrite_percent": percent, "target_mg_per_kg": 120 }));
    }
    let busy = get("busy").unwrap_or_else(|| json!([]));
    let tubs = get("tub").map_or_else(Vec::new, |inner| vec![json!({ "name": "Tub", "inner": inner })]);
    json!({
        "format": 1,
        "name": "Our kitchen",
        "zone": get("zone").unwrap_or_else(|| json!("Europe/London")),
        "joints": joints,
        "kit": {
            "tubs": tubs,
            "cold": [shelf("Fridge, low", 30, "raw"), shelf("Fridge, top shelf", 20, "cooked")],
            "pots": [{ "name": "Big pot", "diameter": 28, "height": 24 }],
            "hob": { "rings": 4, "big_rings": 1 },
            "oven": { "hams": 2, "height": 24 },
            "chilling": [{ "name": "Sink with ice", "means": "iced-water", "hams": 2 }],
            "packer": { "packs_per_hour": 30, "rest_after": 15, "rest": "15 min" },
            "freezer": { "per_day": "4 kg", "free": "10 kg" }
        },
        "people": [{ "name": "Cook", "busy": busy }],
        "cure": cure,
        "batch": { "spare_hours": 24 }
    })
}

impl State {
    /// Opens the first form with what can be told already.
    pub(in crate::app) fn open_first(&mut self) {
        self.open_form(&FIRST, Place::First);
        let zone = self.kitchen.zone.0.name().to_owned();
        if let Some(form) = &mut self.form {
            let start = [("a.outcome", "ham, sliced"), ("tub", "34 x 24 x 22 cm"), ("zone", zone.as_str())];
            for (blank, spec) in form.fields.iter_mut().zip(FIRST.fields) {
                if let Some((_, text)) = start.iter().find(|s| s.0 == spec.key) {
                    blank.field = crate::app::Field::new(*text);
                }
            }
        }
    }

    /// A kitchen of what was filled in, begun and planned.
    pub(super) fn begin(&mut self, mut form: Form, map: &Map<String, Value>) -> Vec<Effect> {
        let text = serde_json::to_string_pretty(&kitchen(map)).unwrap_or_default() + "\n";
        match self.judged(&text) {
            Ok(kitchen) => {
                self.close_form();
                self.stand_on(kitchen, text.clone());
                vec![Effect::Do(Deed::Begin { text, plan: None }), Effect::Plan]
            }
            Err(findings) => {
                form.trouble = findings.iter().map(|f| (None, told(f))).collect();
                self.form = Some(form);
                Vec::new()
            }
        }
    }

    /// An example that plans as it stands; nothing of it is kept.
    pub(in crate::app) fn show_demo(&mut self) -> Vec<Effect> {
        let text = crate::kitchen::starter(civil(self.kitchen.zone, self.now).date());
        match crate::kitchen::read("example", &text).kitchen {
            Some(kitchen) => {
                self.stand_on(kitchen, text);
                // It can still be begun from here.
                self.fresh = true;
                self.notice = Some("an example; nothing of it is kept".into());
                vec![Effect::Plan]
            }
            None => Vec::new(),
        }
    }

    fn stand_on(&mut self, kitchen: Kitchen, text: String) {
        self.kitchen = Arc::new(kitchen);
        self.paper = Paper::new(text);
        self.lose_plan();
        (self.fresh, self.touched) = (false, false);
        self.view = View::Timeline;
        self.progress.revision += 1;
        self.progress.state = Planning::Running;
    }
}
