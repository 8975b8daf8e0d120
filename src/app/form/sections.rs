//! Everything about a kitchen that can be filled in, as one table: sections, their place in the kitchen file, their fields.

use super::kind::{Choices, Kind, Names};

/// A field of a section. Dots in the key go into an object.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spec {
    pub key: &'static str,
    pub words: &'static str,
    pub kind: Kind,
    /// Whether it may be left empty; what that means.
    pub empty: Empty,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Empty {
    /// It has to be filled in.
    Never,
    /// What it means to leave it out.
    Means(&'static str),
}

/// How many of a thing there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Count {
    /// A list; things are added, copied, removed.
    Many,
    /// One object, always there.
    One,
    /// The house limits: all are there, the kitchen's own lie over them.
    Limits,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    pub title: &'static str,
    /// One of them, for sentences.
    pub one: &'static str,
    pub path: &'static [&'static str],
    pub count: Count,
    pub fields: &'static [Spec],
}

const fn must(key: &'static str, words: &'static str, kind: Kind) -> Spec {
    Spec { key, words, kind, empty: Empty::Never }
}

const fn may(key: &'static str, words: &'static str, kind: Kind, means: &'static str) -> Spec {
    Spec { key, words, kind, empty: Empty::Means(means) }
}

pub const OUTCOMES: Choices = &[
    ("ham-sliced", "ham, sliced"),
    ("ham-whole", "ham, whole"),
    ("gammon-steaks", "gammon steaks"),
    ("gammon-joint", "gammon joint"),
];
const SIDES: Choices = &[("raw", "raw"), ("cooked", "cooked")];
const MEANS: Choices = &[
    ("iced-water", "iced water"),
    ("blast", "blast chiller"),
    ("cold-room", "cold room"),
    ("fridge", "fridge, still air"),
];
const BASES: Choices = &[("equilibrium", "equilibrium"), ("excess", "excess, pulled by time")];
const COOLINGS: Choices = &[("ice", "with ice"), ("overnight", "overnight")];
const TIMES: Choices = &[("rule", "the trade's rules"), ("physics", "reckoned from size")];

/// The table, in the order of the kitchen view.
pub const SECTIONS: &[Section] = &[
    Section {
        title: "Joints",
        one: "joint",
        path: &["joints"],
        count: Count::Many,
        fields: &[
            must("name", "name", Kind::Text),
            must("weight", "weight expected", Kind::Weight),
            may("weighed", "weight on your scale", Kind::Weight, "not weighed yet"),
            must("outcome", "what it becomes", Kind::Choice(OUTCOMES)),
            may("ready_by", "ready by", Kind::Moment, "no date to keep"),
            may("arrives", "pork in the kitchen", Kind::Moment, "the plan says when to collect"),
            may("cut", "cut", Kind::Text, ""),
            may("bone_in", "bone in", Kind::YesNo, "no"),
            may("diameter", "greatest diameter", Kind::Length, "reckoned from the weight"),
            may("length", "length", Kind::Length, "reckoned from the weight"),
            may("tub", "tub it must go in", Kind::Name(Names::Tubs), "the plan decides"),
            may("pot", "pot it must go in", Kind::Name(Names::Pots), "the plan decides"),
            may("freeze", "into the freezer", Kind::YesNo, "gammon yes; ham if it has no date"),
            may("owner", "whose it is", Kind::Text, ""),
            may("extra_cure", "longer in the brine", Kind::Extra, "by the rule"),
            may("at_once", "not to wait, because", Kind::Text, "it may rest"),
            may("batch", "batch", Kind::Text, "the only one"),
            may("lot.supplier", "bought from", Kind::Text, ""),
            may("lot.killed", "killed", Kind::Moment, ""),
            may("lot.tag", "tag", Kind::Text, ""),
            may("notes", "notes", Kind::Text, ""),
        ],
    },
    Section {
        title: "Tubs",
        one: "tub",
        path: &["kit", "tubs"],
        count: Count::Many,
        fields: &[
            must("name", "name", Kind::Text),
            must("inner", "inner size", Kind::Vessel),
            may("height_with_lid", "height, lid on", Kind::Length, "inner height and 2 cm"),
            may("wall", "thickness of wall", Kind::Length, "0.5 cm"),
            may("filler", "bottles put in to fill", Kind::Volume, "none"),
        ],
    },
    Section {
        title: "Cold spaces",
        one: "cold space",
        path: &["kit", "cold"],
        count: Count::Many,
        fields: &[
            must("name", "name", Kind::Text),
            must("width", "clear width", Kind::Length),
            must("depth", "clear depth", Kind::Length),
            must("height", "clear height", Kind::Length),
            may("temperature", "thermometer says", Kind::Temperature, "not known, never read as cold enough"),
            may("side", "raw or cooked side", Kind::Choice(SIDES), "raw"),
            may("fridge", "door it is behind", Kind::Text, "it stands alone"),
            may("litres", "may be filled", Kind::Volume, "85 % of the clear space"),
        ],
    },
    Section {
        title: "Pots",
        one: "pot",
        path: &["kit", "pots"],
        count: Count::Many,
        fields: &[
            must("name", "name", Kind::Text),
            must("diameter", "inner diameter", Kind::Length),
            must("height", "inner height", Kind::Length),
            may("big", "needs the big ring", Kind::YesNo, "yes when wider than 24 cm"),
            may("heat_up", "cold water to simmer", Kind::Elapsed, "60 min"),
        ],
    },
    Section {
        title: "Ways to chill",
        one: "way to chill",
        path: &["kit", "chilling"],
        count: Count::Many,
        fields: &[
            must("name", "name", Kind::Text),
            must("means", "how", Kind::Choice(MEANS)),
            must("hams", "hams at once", Kind::Count),
            may("load", "weight at once", Kind::Mass, "no limit of its own"),
            may("space", "cold space used", Kind::Name(Names::Cold), "none"),
        ],
    },
    Section {
        title: "Hob, oven, packer, freezer, scales",
        one: "kit",
        path: &["kit"],
        count: Count::One,
        fields: &[
            may("sinks", "sinks", Kind::Count, "1"),
            may("hob.rings", "rings", Kind::Count, "4"),
            may("hob.big_rings", "of those, big ones", Kind::Count, "1"),
            may("oven.hams", "hams in one bake", Kind::Count, "2 if there is an oven"),
            may("oven.height", "oven's clear height", Kind::Length, "22 cm"),
            may("oven.heat_up", "oven heats in", Kind::Elapsed, "15 min"),
            may("packer.packs_per_hour", "packs an hour", Kind::Number, "30"),
            may("packer.rest_after", "seals before a rest", Kind::Count, "15"),
            may("packer.rest", "packer's rest", Kind::Elapsed, "15 min"),
            may("packer.separate_for_cooked", "own packer for cooked", Kind::YesNo, "no"),
            may("freezer.per_day", "freezes in a day", Kind::Mass, "any amount"),
            may("freezer.free", "freezer has room for", Kind::Mass, "no limit of its own"),
            may("slicer.per_hour", "sliced an hour", Kind::Mass, "4.5 kg"),
            may("slicer.clean", "cleaning the slicer", Kind::Elapsed, "10 min"),
            may("scales.salt_g", "salt scale, g", Kind::Number, "1"),
            may("scales.curing_salt_g", "curing salt scale, g", Kind::Number, "0.1"),
        ],
    },
    Section {
        title: "People and hours",
        one: "person",
        path: &["people"],
        count: Count::Many,
        fields: &[
            must("name", "name", Kind::Text),
            may("busy", "busy every week", Kind::Hours, "never"),
            may("away", "away", Kind::Spells, "never"),
            may("sleep", "asleep", Kind::Night, "22:30-06:30"),
            may("works", "works in the kitchen", Kind::Hours, "whenever at home"),
            may("does", "does", Kind::Skills, "everything"),
            may("lives_here", "lives here", Kind::YesNo, "yes"),
        ],
    },
    Section {
        title: "Cure",
        one: "cure",
        path: &["cure"],
        count: Count::One,
        fields: &[
            may("basis", "brine worked out as", Kind::Choice(BASES), "equilibrium"),
            may("salt_percent", "salt, %", Kind::Number, "2.5"),
            may("sugar_percent", "sugar, %", Kind::Number, "1"),
            may("curing_salt.nitrite_percent", "nitrite in the bag, %", Kind::Number, "no curing salt"),
            may("curing_salt.target_mg_per_kg", "nitrite aimed at, mg/kg", Kind::Number, "no curing salt"),
            may("curing_salt.nitrate_percent", "nitrate in the bag, %", Kind::Number, "0"),
            may("curing_salt.code", "code on the bag", Kind::Text, ""),
            may("days_per_kg", "days for each kg", Kind::Number, "6"),
            may("fewest_days", "fewest days", Kind::Number, "6"),
            may("bone_extra_percent", "more on the bone, %", Kind::Number, "10"),
            may("turn_every_days", "days from turn to turn", Kind::Number, "3"),
            may("brine_cooling", "brine is cooled", Kind::Choice(COOLINGS), "with ice"),
            may("soak", "soak", Kind::Elapsed, "none; 12 h for a strong brine"),
            may("rest", "rest after the brine", Kind::Elapsed, "24 h"),
            may("pack_ham", "sliced ham in a pack", Kind::Mass, "150 g"),
            may("pack_steaks", "steaks in a pack", Kind::Mass, "400 g"),
            may("times", "times come from", Kind::Choice(TIMES), "the trade's rules"),
        ],
    },
    Section {
        title: "Wishes",
        one: "wishes",
        path: &["batch"],
        count: Count::One,
        fields: &[
            may("starts", "nothing before", Kind::Moment, "as late as the dates allow"),
            may("spare_hours", "hours to spare", Kind::Number, "24"),
            may("cook_days", "days to cook on", Kind::Days, "every day"),
            may("in_chill_by", "hams in the chill by", Kind::Clock, "17:00"),
            may("not_before", "nothing starts before", Kind::Clock, "06:30"),
            may("not_after", "nothing ends after", Kind::Clock, "22:00"),
            may("leave_alone", "days to leave alone", Kind::Dates, "none"),
            may("together", "joints in one tub", Kind::Groups, "the plan decides"),
            may("apart", "joints kept apart", Kind::Groups, "the plan decides"),
            may("business", "a food business", Kind::YesNo, "no"),
        ],
    },
    Section {
        title: "This kitchen",
        one: "kitchen",
        path: &[],
        count: Count::One,
        fields: &[
            must("name", "name", Kind::Text),
            must("zone", "time zone", Kind::Text),
            may("notes", "notes", Kind::Text, ""),
        ],
    },
    Section {
        title: "House limits",
        one: "limit",
        path: &["limits"],
        count: Count::Limits,
        fields: &[
            must("value", "value", Kind::Number),
            must("source", "who says so", Kind::Text),
            may("country", "where it holds", Kind::Text, ""),
            may("as_of", "looked at on", Kind::Text, ""),
        ],
    },
];

/// What a first plan cannot do without; everything else has a value to start from and can be changed later.
pub const FIRST: Section = Section {
    title: "Your pork",
    one: "kitchen",
    path: &[],
    count: Count::One,
    fields: &[
        must("a.weight", "first joint weighs", Kind::Weight),
        must("a.outcome", "it becomes", Kind::Choice(OUTCOMES)),
        may("b.weight", "second joint weighs", Kind::Weight, "there is only one"),
        may("b.outcome", "it becomes", Kind::Choice(OUTCOMES), "gammon steaks"),
        must("by", "all of it ready by", Kind::Moment),
        may("arrives", "pork in the kitchen", Kind::Moment, "the plan says when to collect"),
        must("tub", "tub, inner size", Kind::Vessel),
        must("celsius", "fridge thermometer", Kind::Temperature),
        may("busy", "nobody is home", Kind::Hours, "somebody always is, but for sleep"),
        may("nitrite", "nitrite in the bag, %", Kind::Number, "a cure without; stricter cooling limits then hold"),
        must("zone", "time zone", Kind::Text),
    ],
};

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;

    /// Every field of the table is one that the kitchen file's schema knows, and every field of the schema is in the table.
    #[test]
    fn the_table_and_the_schema_agree() {
        let schema = crate::kitchen::schema();
        let follow = |node: &Value| -> Value {
            let node = node.get("anyOf").and_then(|a| a.get(0)).unwrap_or(node);
            match node.get("$ref").and_then(Value::as_str) {
                Some(r) => schema.pointer(r.trim_start_matches('#')).cloned().unwrap_or_else(|| panic!("{r}")),
                None => node.clone(),
            }
        };
        for section in SECTIONS.iter().filter(|s| s.count != Count::Limits) {
            let mut node = schema.clone();
            for key in section.path {
                node = follow(&node["properties"][*key]);
            }
            if section.count == Count::Many {
                node = follow(&node["items"]);
            }
            for spec in section.fields {
                let mut at = node.clone();
                for key in spec.key.split('.') {
                    let next = at["properties"].get(key);
                    at = follow(next.unwrap_or_else(|| panic!("{}: {} is not in the schema", section.title, spec.key)));
                }
            }
            if section.count == Count::Many
                || ["cure", "batch"]
                    .contains(&section.path[section.path.len().max(1) - 1..].first().copied().unwrap_or(""))
            {
                for key in node["properties"].as_object().unwrap().keys() {
                    let there = section.fields.iter().any(|f| f.key.split('.').next() == Some(key));
                    assert!(there, "{}: {key} cannot be filled in", section.title);
                }
            }
        }
    }
}
