//! When something goes wrong: what the house's own table says, and what that does to the plan.
//!
//! The table is data ([`table`], `table.json`); its marks are house limits, so a kitchen file changes them the way it
//! changes any other. What nobody knows is read as the worst since the last good reading. Judgement of the trade: nothing
//! here says that food is good to eat, only what is inside or outside the stated limits.

mod apply;
pub mod table;

pub use apply::apply;
pub use table::{Deviation, Table, Verdict};

use crate::kitchen::Limits;
use crate::science::brine::{Recipe, ScaleSteps, WeighOut, weigh_out};
use crate::science::excursion::{self, Action};
use crate::science::{Refused, within};
use crate::units::{Elapsed, Mass, Temperature};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;
use table::{Bounds, Does, Figure, Row, Trouble};

/// What went wrong, as far as anybody knows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Told {
    /// How long: since the last turn, warm, proud, in weak brine, how much later.
    pub lasted: Option<Elapsed>,
    pub celsius: Option<Temperature>,
    /// Curing salt that went in over what should have.
    pub ratio: Option<f64>,
    pub weight: Option<Mass>,
    /// The meat smells.
    pub smells: Option<bool>,
    /// The brine has clouded.
    pub cloudy: Option<bool>,
}

/// What is known of the joint, its brine and the house.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Known {
    pub nitrite: Option<bool>,
    /// Target of ingoing sodium nitrite, mg/kg.
    pub nitrite_target: Option<f64>,
    /// Salt in the brine when it was made, % by weight of the brine.
    pub start_percent: Option<f64>,
    pub business: bool,
    /// Time in the brine so far, and time it needs.
    pub in_brine: Option<Elapsed>,
    pub need: Option<Elapsed>,
    /// Time since the last reading that was inside the limit.
    pub since_good: Option<Elapsed>,
    /// Weight the plan went by, and days a kilogram, for a joint that weighs otherwise.
    pub expected: Option<Mass>,
    pub days_per_kg: Option<f64>,
    /// What it takes to weigh out a new brine for the tub: recipe, meat, water.
    pub tub: Option<(Recipe, Mass, Mass)>,
    pub scales: ScaleSteps,
}

/// What a ruling does to the plan. [`apply`] works it into a kitchen.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "effect", rename_all = "kebab-case")]
pub enum Effect {
    /// Hours more in the brine.
    ExtraCure {
        hours: f64,
        why: String,
    },
    /// The time in the brine so far counts for nothing; `None` when nobody knows how long that is.
    RestartClock {
        hours: Option<f64>,
        why: String,
    },
    /// Hours in the brine that do not count.
    NotCounted {
        hours: f64,
        why: String,
    },
    /// New brine at this share of the recipe's strength, and what to weigh for it where the tub is known.
    RenewBrine {
        share: f64,
        weigh: Option<WeighOut>,
    },
    JointLost,
    CookAtOnce {
        why: String,
    },
    /// The plan goes by this weight from now on; days over or under what was planned.
    Weighed {
        kg: f64,
        days: Option<f64>,
    },
    ArrivesLater {
        hours: f64,
    },
    Soak {
        hours: f64,
    },
    /// Cooked through, no cured keeping life, the stricter cooling limit.
    AsFreshPork,
    /// Grams of curing salt still to be weighed in, where the tub is known.
    AddCureBalance {
        grams: Option<f64>,
    },
}

/// What the house's table says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ruling {
    pub kind: String,
    /// The row of the table.
    pub rule: String,
    /// What the table says, in plain words.
    pub says: String,
    pub first: String,
    /// Minutes within which the first action is done; 0 is at once.
    pub within_minutes: u32,
    pub then: Vec<String>,
    pub verdict: Verdict,
    pub effects: Vec<Effect>,
    /// Set when a stated limit was missed.
    pub deviation: Option<Deviation>,
    /// What nobody knew, and what it was read as.
    pub read_as: Vec<String>,
    pub cautions: Vec<String>,
    pub source: String,
    pub country: String,
    pub as_of: String,
}

/// What the document of kinds looks like: kind, in words, what is asked.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct KindOf {
    pub kind: String,
    pub what: String,
    pub asks: Vec<String>,
}

/// The kinds of trouble the table knows.
pub fn kinds() -> Vec<KindOf> {
    let of = |t: &Trouble| KindOf {
        kind: t.kind.clone(),
        what: t.what.clone(),
        asks: t.asks.iter().map(|a| a.says.clone()).collect(),
    };
    Table::shipped().troubles.iter().map(of).collect()
}

type Facts = BTreeMap<&'static str, f64>;

/// What the house's table says of a trouble.
///
/// # Errors
/// Refuses a kind the table does not know, and numbers that cannot be meant.
pub fn rule(limits: &Limits, kind: &str, told: &Told, known: &Known) -> Result<Ruling, Refused> {
    let table = Table::shipped();
    let Some(trouble) = table.get(kind) else {
        let all: Vec<&str> = table.troubles.iter().map(|t| t.kind.as_str()).collect();
        return Err(Refused::new(
            format!("the table of troubles has no \"{kind}\""),
            format!("it has: {}", all.join(", ")),
        ));
    };
    let mut read_as = Vec::new();
    let facts = facts(limits, trouble, told, known, &mut read_as)?;
    let row = table.rows(trouble).iter().find(|r| r.when.iter().all(|(fact, b)| holds(limits, &facts, fact, b)));
    let row = row.ok_or_else(|| Refused::new("the table has no row for that", "give more of what is known"))?;
    let mut effects = Vec::new();
    for does in &row.effects {
        effects.push(resolved(limits, does, told, known, &facts)?);
    }
    let mut cautions = vec!["if in doubt, throw it out".to_owned()];
    if known.business {
        cautions.push("a business follows its own written plan and its local authority first".to_owned());
    }
    if effects.iter().any(|e| matches!(e, Effect::RenewBrine { .. })) {
        cautions.push("the new brine is at 5 °C or under before the meat goes back".to_owned());
    }
    Ok(Ruling {
        kind: kind.to_owned(),
        rule: row.id.clone(),
        says: worded(&row.says, &facts),
        first: worded(&row.first, &facts),
        within_minutes: row.within,
        then: row.then.clone(),
        verdict: row.verdict,
        effects,
        deviation: deviation(row, &facts),
        read_as,
        cautions,
        source: table.source.clone(),
        country: table.country.clone(),
        as_of: table.as_of.clone(),
    })
}

fn deviation(row: &Row, facts: &Facts) -> Option<Deviation> {
    row.deviation.as_ref().map(|d| Deviation { limit: d.limit.clone(), corrective: worded(&d.corrective, facts) })
}

/// A length that stands for "nobody knows": past every mark of the table.
const UNKNOWN_HOURS: f64 = 100_000.0;

/// The facts as numbers, what is missing read as the worst.
fn facts(
    limits: &Limits,
    trouble: &Trouble,
    told: &Told,
    known: &Known,
    read_as: &mut Vec<String>,
) -> Result<Facts, Refused> {
    let mut facts = Facts::new();
    let mut put = |name: &'static str, value: Option<f64>, low: f64, high: f64, unit: &str| -> Result<(), Refused> {
        if let Some(v) = value {
            facts.insert(name, within(name, v, low, high, unit)?);
        }
        Ok(())
    };
    let yes = |b: bool| f64::from(u8::from(b));
    put("lasted", told.lasted.map(Elapsed::as_hours), 0.0, 10_000.0, "h")?;
    put("celsius", told.celsius.map(Temperature::as_celsius), -5.0, 120.0, "°C")?;
    put("ratio", told.ratio, 0.0, 1_000.0, "x")?;
    put("kg", told.weight.map(Mass::as_kg), 0.1, 25.0, "kg")?;
    put("smells", told.smells.map(yes), 0.0, 1.0, "")?;
    put("cloudy", told.cloudy.map(yes), 0.0, 1.0, "")?;
    put("nitrite", known.nitrite.map(yes), 0.0, 1.0, "")?;
    put("business", Some(yes(known.business)), 0.0, 1.0, "")?;
    put("in_brine", known.in_brine.map(Elapsed::as_hours), 0.0, 10_000.0, "h")?;
    if let (Some(now), Some(need)) = (known.in_brine, known.need.filter(|n| n.as_minutes() > 0.0)) {
        put("cured", Some((now.as_minutes() / need.as_minutes()).max(0.0)), 0.0, 1_000.0, "")?;
    }
    if let (Some(target), Some(ratio)) = (known.nitrite_target, told.ratio) {
        put("nitrite_mg", Some(target * ratio), 0.0, 1e9, "mg/kg")?;
    }
    for ask in &trouble.asks {
        let Some(name) = NAMES.iter().copied().find(|n| *n == ask.fact) else { continue };
        if facts.contains_key(name) {
            continue;
        }
        // A length nobody knows runs from the last good reading.
        let since = known.since_good.filter(|_| name == "lasted").map(Elapsed::as_hours);
        match (since, ask.worst) {
            (Some(h), _) => {
                facts.insert(name, within("time since the last good reading", h, 0.0, 10_000.0, "h")?);
                read_as.push(format!("{}: not known, read as all the time since the last good reading", ask.says));
            }
            (None, Some(worst)) => {
                facts.insert(name, worst);
                read_as.push(format!("{}: not known, read as the worst", ask.says));
            }
            (None, None) => read_as.push(format!("{}: not known", ask.says)),
        }
    }
    if trouble.kind == "warm" || trouble.rows_of.as_deref() == Some("warm") {
        warm(limits, told, known, &mut facts, read_as)?;
    }
    Ok(facts)
}

/// Every fact a row may name.
const NAMES: [&str; 13] = [
    "lasted",
    "celsius",
    "ratio",
    "kg",
    "smells",
    "cloudy",
    "nitrite",
    "guarded",
    "business",
    "in_brine",
    "cured",
    "warm",
    "nitrite_mg",
];

/// The row of the table of warm brines.
fn warm(
    limits: &Limits,
    told: &Told,
    known: &Known,
    facts: &mut Facts,
    read_as: &mut Vec<String>,
) -> Result<(), Refused> {
    let strong = known.start_percent.map(|p| p >= limits.value("guarded_brine_percent"));
    let guarded = known.nitrite == Some(true) && strong == Some(true);
    if known.nitrite.is_none() || (known.nitrite == Some(true) && strong.is_none()) {
        read_as.push("nitrite and the brine's strength: not both known, read as the stricter column".to_owned());
    }
    facts.insert("guarded", f64::from(u8::from(guarded)));
    let Some(reached) = told.celsius else { return Ok(()) };
    let table = excursion::Table {
        fine: limits.value("cure_space_celsius"),
        mild: limits.value("warm_mild_celsius"),
        warm: limits.value("warm_celsius"),
        hot: limits.value("hot_celsius"),
        mild_short: limits.value("warm_mild_note_hours"),
        mild_long: limits.value("warm_mild_bin_hours"),
        warm_short: limits.value("warm_note_hours"),
        warm_long: limits.value("warm_bin_hours"),
    };
    let lasted = facts.get("lasted").copied().filter(|h| *h < UNKNOWN_HOURS).map(Elapsed::hours);
    let action = excursion::act_by(&table, reached, lasted, guarded, known.business)?.value;
    let row = match action {
        Action::Fine => 0.0,
        Action::Note => 1.0,
        Action::RenewIfCloudy => 2.0,
        Action::Renew => 3.0,
        Action::RenewHomeOnly => 4.0,
        Action::Bin => 5.0,
    };
    facts.insert("warm", row);
    Ok(())
}

/// A figure in the unit of the fact: hours, °C, plain numbers.
fn figure(limits: &Limits, f: &Figure) -> f64 {
    match f {
        Figure::Number(n) => *n,
        Figure::Whole(whole) => f64::from(u8::from(*whole)),
        Figure::Limit(id) => {
            let l = limits.get(id);
            if l.unit == "min" { l.value / 60.0 } else { l.value }
        }
    }
}

fn holds(limits: &Limits, facts: &Facts, fact: &str, b: &Bounds) -> bool {
    let Some(v) = facts.get(fact).copied() else { return b.known == Some(false) };
    let of = |f: &Option<Figure>| f.as_ref().map(|f| figure(limits, f));
    b.known != Some(false)
        && of(&b.from).is_none_or(|x| v >= x)
        && of(&b.over).is_none_or(|x| v > x)
        && of(&b.below).is_none_or(|x| v < x)
        && of(&b.upto).is_none_or(|x| v <= x)
}

fn resolved(limits: &Limits, does: &Does, told: &Told, known: &Known, facts: &Facts) -> Result<Effect, Refused> {
    let lasted = facts.get("lasted").copied().filter(|h| *h < UNKNOWN_HOURS);
    let in_words = |h: f64| worded("{lasted}", &Facts::from([("lasted", h)]));
    Ok(match does {
        Does::ExtraCure(f) => {
            let hours = figure(limits, f);
            Effect::ExtraCure { hours, why: format!("{} more, by the house's table", in_words(hours)) }
        }
        Does::RestartClock => {
            let hours = known.in_brine.map(Elapsed::as_hours).or(lasted);
            Effect::RestartClock { hours, why: "the clock started again".to_owned() }
        }
        Does::NotCounted(share) => {
            // Not known how long: all of its time in the brine.
            let hours = lasted.or(known.in_brine.map(Elapsed::as_hours)).unwrap_or(0.0) * share;
            Effect::NotCounted { hours, why: format!("{} do not count as cure", in_words(hours)) }
        }
        Does::RenewBrine(f) => {
            let share = figure(limits, f);
            let weigh = match &known.tub {
                Some((recipe, meat, water)) => Some(renewed(recipe, *meat, *water, share, known.scales)?),
                None => None,
            };
            Effect::RenewBrine { share, weigh }
        }
        Does::JointLost => Effect::JointLost,
        Does::CookAtOnce(why) => Effect::CookAtOnce { why: why.clone() },
        Does::Weighed => {
            let kg = told.weight.map_or(0.0, Mass::as_kg);
            let over = known.expected.map(|e| kg - e.as_kg());
            Effect::Weighed { kg, days: over.zip(known.days_per_kg).map(|(over, rate)| over * rate) }
        }
        Does::ArrivesLater => Effect::ArrivesLater { hours: lasted.unwrap_or(0.0) },
        Does::SoakHours(hours) => Effect::Soak { hours: *hours },
        Does::AsFreshPork => Effect::AsFreshPork,
        Does::AddCureBalance => {
            let grams = match (&known.tub, told.ratio) {
                (Some((recipe, meat, water)), Some(ratio)) => {
                    let whole = weigh_out(recipe, *meat, *water, known.scales)?.value.curing_salt;
                    Some(whole.as_kg() * 1000.0 * (1.0 - ratio).max(0.0))
                }
                _ => None,
            };
            Effect::AddCureBalance { grams }
        }
    })
}

/// What to weigh for a new brine at a share of the recipe's strength: salt, sugar and curing salt alike.
fn renewed(recipe: &Recipe, meat: Mass, water: Mass, share: f64, scales: ScaleSteps) -> Result<WeighOut, Refused> {
    let mut weaker = recipe.clone();
    weaker.salt_percent *= share;
    weaker.sugar_percent *= share;
    if let Some(bag) = &mut weaker.bag {
        bag.target_mg_per_kg *= share;
    }
    Ok(weigh_out(&weaker, meat, water, scales)?.value)
}

/// Fills `{lasted}`, `{celsius}`, `{ratio}` and `{nitrite_mg}` into words of the table.
fn worded(says: &str, facts: &Facts) -> String {
    let lasted = match facts.get("lasted") {
        Some(h) if *h >= UNKNOWN_HOURS => "nobody knows how long".to_owned(),
        Some(h) if *h >= 48.0 => format!("{} days", tidy(h / 24.0)),
        Some(h) if *h < 2.0 => format!("{} min", tidy(h * 60.0)),
        Some(h) => format!("{} h", tidy(*h)),
        None => "nobody knows how long".to_owned(),
    };
    let number = |name: &str, unit: &str| {
        facts.get(name).map_or_else(|| "not known".to_owned(), |v| format!("{}{unit}", tidy(*v)))
    };
    let celsius = match facts.get("celsius") {
        Some(c) if *c >= 99.0 => "not probed".to_owned(),
        _ => number("celsius", " °C"),
    };
    says.replace("{lasted}", &lasted)
        .replace("{celsius}", &celsius)
        .replace("{ratio}", &number("ratio", ""))
        .replace("{nitrite_mg}", &number("nitrite_mg", ""))
}

/// At most one decimal under a hundred times, two for small numbers, no trailing noughts.
fn tidy(x: f64) -> String {
    let text = if x.abs() < 10.0 { format!("{x:.2}") } else { format!("{x:.1}") };
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The share of the recipe's strength in words.
pub fn share_words(share: f64) -> &'static str {
    if share > 0.99 { "the recipe's strength" } else { "about two thirds of the recipe's strength" }
}
