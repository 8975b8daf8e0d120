//! What a field of a form holds: how its text is read as a person writes it, and how a value is written back as text.

use super::typed::{as_typed, clock, clocks, hours, list, moment, positive, reason, spell, stamp, tidy, vessel};
use crate::kitchen::{Days, Kitchen, Moment, spoken};
use crate::units::{Elapsed, Length, Mass, Temperature, Volume};
use chrono::{DateTime, Utc};
use serde_json::{Value, json};

/// Where a person stands when filling a form in.
#[derive(Clone, Copy)]
pub struct Here<'a> {
    pub now: DateTime<Utc>,
    pub kitchen: &'a Kitchen,
}

impl Here<'_> {
    pub(super) fn spoken(&self) -> spoken::Here {
        spoken::Here { now: self.now, zone: self.kitchen.zone, lean: spoken::Lean::Ahead }
    }
}

/// Values a field can choose from, as written in the file, and in words.
pub type Choices = &'static [(&'static str, &'static str)];

/// Which names a field can take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Names {
    Tubs,
    Pots,
    Cold,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    Text,
    Mass,
    /// The weight of a joint: doubted when no joint weighs that.
    Weight,
    Length,
    Temperature,
    Volume,
    Elapsed,
    Number,
    Count,
    Moment,
    Clock,
    Days,
    /// Yes or no; empty leaves it to the default.
    YesNo,
    Choice(Choices),
    Name(Names),
    /// A box or a round vessel by its inner sizes.
    Vessel,
    /// Weekly hours, parted by semicolons.
    Hours,
    /// Spells from one moment to another, parted by semicolons.
    Spells,
    /// Dates left alone, parted by semicolons.
    Dates,
    /// From one time of day to another.
    Night,
    /// Kinds of work, parted by commas.
    Skills,
    /// Lengths of time with their cause, parted by semicolons.
    Extra,
    /// Joints that belong together, `a + b; c + d`.
    Groups,
}

/// What was understood of a field's text.
#[derive(Debug, Clone, PartialEq)]
pub struct Understood {
    /// Nothing when the field is empty.
    pub value: Option<Value>,
    /// The same in the program's words; empty where the text says it already.
    pub shown: String,
}

/// What each person does, as written in the file.
const SKILLS: [&str; 4] = ["cure", "turn", "cook", "pack"];

impl Kind {
    /// Reads the text of a field.
    ///
    /// # Errors
    /// What would have been understood.
    pub fn read(self, text: &str, here: Here) -> Result<Understood, String> {
        let text = text.trim();
        let told = |value: Value, shown: String| Ok(Understood { value: Some(value), shown });
        let silent = |value: Value| Ok(Understood { value: Some(value), shown: String::new() });
        if text.is_empty() {
            return Ok(Understood { value: None, shown: String::new() });
        }
        match self {
            Self::Text => silent(json!(text)),
            Self::Mass | Self::Weight => {
                let said = spoken::weight(text, None).map_err(|e| match text.parse::<f64>() {
                    Ok(_) => e.says,
                    Err(_) => "a weight such as 3.4 kg, 850 g, 7 lb 8 oz".to_owned(),
                })?;
                let kg = said.value.as_kg();
                // What the file could not read (a decimal comma) is written in kilograms.
                let value = if Mass::parse(text).is_ok() { as_typed(text) } else { json!(tidy(kg)) };
                let doubt = said.doubt.filter(|_| self == Self::Weight).map(|d| format!(" · {}", d.0));
                told(value, format!("{kg:.2} kg{}", doubt.unwrap_or_default()))
            }
            Self::Length => {
                let l = Length::parse(text).map_err(|_| "a length such as 27 cm, 180 mm, 10.5 in".to_owned())?;
                positive(l.as_cm(), "a length")?;
                told(as_typed(text), format!("{:.1} cm", l.as_cm()))
            }
            Self::Temperature => {
                let t = Temperature::parse(text).map_err(|_| "a temperature such as 4 C, 39 F".to_owned())?;
                told(as_typed(text), format!("{:.1} °C", t.as_celsius()))
            }
            Self::Volume => {
                let v = Volume::parse(text).map_err(|_| "a volume such as 4 L, 500 ml".to_owned())?;
                positive(v.as_litres(), "a volume")?;
                told(as_typed(text), format!("{:.1} L", v.as_litres()))
            }
            Self::Elapsed => {
                let e = Elapsed::parse(text).map_err(|_| "a length of time such as 45 min, 36 h, 2 d".to_owned())?;
                let m = e.as_minutes();
                told(as_typed(text), crate::app::time::how_long(m.clamp(0.0, 1e9) as i64))
            }
            Self::Number => {
                let n: f64 = text.parse().ok().filter(|n: &f64| n.is_finite()).ok_or("a number such as 2.5")?;
                silent(json!(n))
            }
            Self::Count => {
                let n: u32 = text.parse().map_err(|_| "a whole number such as 2".to_owned())?;
                silent(json!(n))
            }
            Self::Moment => {
                let m = moment(text, here).ok_or("a moment such as tomorrow 7pm, Fri 18:30, 24 Dec 18:00")?;
                told(json!(Moment(m).to_string()), stamp(m))
            }
            Self::Clock => {
                let c = clock(text).ok_or("a time of day such as 17:00, 5pm")?;
                told(json!(c.to_string()), c.to_string())
            }
            Self::Days => {
                let d = Days::parse(text).ok_or("days such as Mon-Fri, Sat,Sun, every day")?;
                told(json!(d.to_string()), d.to_string())
            }
            Self::YesNo => match text.to_lowercase().as_str() {
                "y" | "yes" | "true" => silent(json!(true)),
                "n" | "no" | "false" => silent(json!(false)),
                _ => Err("yes or no".into()),
            },
            Self::Choice(choices) => {
                let low = text.to_lowercase();
                let found = choices.iter().find(|c| c.0 == low || c.1 == low);
                let found = found.or_else(|| choices.iter().find(|c| c.1.starts_with(&low)));
                let words = || choices.iter().map(|c| c.1).collect::<Vec<_>>().join(" · ");
                found.map_or_else(|| Err(format!("one of: {}", words())), |c| silent(json!(c.0)))
            }
            Self::Name(names) => {
                let all = names.of(here.kitchen);
                let found = all.iter().find(|n| n.to_lowercase() == text.to_lowercase());
                found.map_or_else(|| Err(format!("one of: {}", all.join(" · "))), |n| silent(json!(n)))
            }
            Self::Vessel => vessel(text),
            Self::Hours => list(text, ';', |t| hours(t, here)),
            Self::Spells => list(text, ';', |t| spell(t, here, true)),
            Self::Dates => list(text, ';', |t| spell(t, here, false)),
            Self::Night => {
                let (a, b) = clocks(text).ok_or("from and to, such as 22:30-06:30")?;
                told(json!({ "from": a.to_string(), "to": b.to_string() }), format!("{a} to {b}"))
            }
            Self::Skills => list(text, ',', |t| {
                let found = SKILLS.iter().find(|s| s.starts_with(&t.to_lowercase()));
                found.map_or_else(|| Err("cure, turn, cook, pack".into()), |s| Ok((json!(s), (*s).to_owned())))
            }),
            Self::Extra => list(text, ';', |t| {
                let (head, why) = reason(t);
                let expected = || "how much longer and why, such as 24 h (turn missed)".to_owned();
                let time = Elapsed::parse(head).map_err(|_| expected())?;
                if why.is_empty() {
                    return Err(expected());
                }
                let shown = crate::app::time::how_long(time.as_minutes().clamp(0.0, 1e9) as i64);
                Ok((json!({ "time": as_typed(head), "why": why }), shown))
            }),
            Self::Groups => list(text, ';', |t| {
                let names: Vec<&str> = t.split('+').map(str::trim).filter(|n| !n.is_empty()).collect();
                match names.len() {
                    0 | 1 => Err("names of joints, such as shank + fillet; collar + hand".into()),
                    _ => Ok((json!(names), names.join(" + "))),
                }
            }),
        }
    }

    /// A value of the file as a person would type it here.
    pub fn write(self, value: &Value) -> String {
        let text = |v: &Value| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
        let unit = |v: &Value, u: &str| v.as_f64().map_or_else(|| text(v), |n| format!("{} {u}", tidy(n)));
        let of = |v: &Value, key: &str| v.get(key).map(text).unwrap_or_default();
        let items = |v: &Value, sep: &str, f: &dyn Fn(&Value) -> String| {
            v.as_array().map(|a| a.iter().map(f).collect::<Vec<_>>().join(sep)).unwrap_or_default()
        };
        let why = |v: &Value| match of(v, "why") {
            why if why.is_empty() => String::new(),
            why => format!(" ({why})"),
        };
        match (self, value) {
            (_, Value::Null) => String::new(),
            (Self::Mass | Self::Weight, v) => unit(v, "kg"),
            (Self::Length, v) => unit(v, "cm"),
            (Self::Temperature, v) => unit(v, "C"),
            (Self::Volume, v) => unit(v, "L"),
            (Self::Elapsed, v) => unit(v, "min"),
            (Self::YesNo, Value::Bool(b)) => if *b { "yes" } else { "no" }.to_owned(),
            (Self::Choice(choices), v) => {
                let value = text(v);
                choices.iter().find(|c| c.0 == value).map_or(value.clone(), |c| c.1.to_owned())
            }
            (Self::Vessel, v) => match (v.get("box"), v.get("round")) {
                (Some(b), _) => ["length", "width", "height"].map(|k| Self::bare(b, k)).join(" x ") + " cm",
                (_, Some(r)) => format!("round {} x {} cm", Self::bare(r, "diameter"), Self::bare(r, "height")),
                _ => String::new(),
            },
            (Self::Hours, v) => items(v, "; ", &|h| {
                let days = h.get("days").map(text).map_or(String::new(), |d| format!("{d} "));
                let edge = |key: &str| h.get(key).map(|d| format!(" {key} {}", text(d))).unwrap_or_default();
                format!("{days}{}-{}{}{}{}", of(h, "from"), of(h, "to"), edge("since"), edge("until"), why(h))
            }),
            (Self::Spells | Self::Dates, v) => items(v, "; ", &|s| {
                let to = s.get("to").map(|t| format!(" to {}", text(t))).unwrap_or_default();
                format!("{}{to}{}", of(s, "from"), why(s))
            }),
            (Self::Extra, v) => items(v, "; ", &|e| {
                let time = e.get("time").map(|t| Self::Elapsed.write(t)).unwrap_or_default();
                format!("{time}{}", why(e))
            }),
            (Self::Night, v) => format!("{}-{}", of(v, "from"), of(v, "to")),
            (Self::Skills, v) => items(v, ", ", &text),
            (Self::Groups, v) => items(v, "; ", &|g| items(g, " + ", &text)),
            (_, v) => text(v),
        }
    }

    fn bare(v: &Value, key: &str) -> String {
        let value = v.get(key).cloned().unwrap_or_default();
        let cm = value.as_f64().or_else(|| value.as_str().and_then(|t| Length::parse(t).ok()).map(Length::as_cm));
        cm.map_or_else(String::new, |n| tidy(n).to_string())
    }

    /// The words a choice steps through; empty when there is nothing to step through.
    pub fn steps(self, kitchen: &Kitchen) -> Vec<String> {
        match self {
            Self::YesNo => vec!["yes".into(), "no".into()],
            Self::Choice(choices) => choices.iter().map(|c| c.1.to_owned()).collect(),
            Self::Name(names) => names.of(kitchen),
            _ => Vec::new(),
        }
    }
}

impl Names {
    fn of(self, kitchen: &Kitchen) -> Vec<String> {
        match self {
            Self::Tubs => kitchen.kit.tubs.iter().map(|t| t.name.clone()).collect(),
            Self::Pots => kitchen.kit.pots.iter().map(|p| p.name.clone()).collect(),
            Self::Cold => kitchen.kit.cold.iter().map(|c| c.name.clone()).collect(),
        }
    }
}
