//! Quantities with their units. Inside: kilograms, centimetres, litres, degrees Celsius, minutes.
//!
//! On input a bare number means the unit named here; text may carry any unit a cook would write
//! (`"7 lb 8 oz"`, `"41 F"`, `"10 in"`, `"36 h"`). Conversion factors are exact by definition
//! (international yard and pound agreement, 1959).

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::borrow::Cow;
use std::fmt;

/// Why a quantity could not be read: what was given, and what would have been understood.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitError {
    pub given: String,
    pub expected: &'static str,
}

impl fmt::Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "cannot read \"{}\": expected {}", self.given, self.expected)
    }
}

impl std::error::Error for UnitError {}

/// Splits `"7 lb 8 oz"` into `[(7.0, "lb"), (8.0, "oz")]`; a trailing bare number has an empty unit.
fn parts(text: &str) -> Option<Vec<(f64, String)>> {
    let mut out = Vec::new();
    let mut rest = text.trim();
    if rest.is_empty() {
        return None;
    }
    while !rest.is_empty() {
        let end = rest
            .char_indices()
            .find(|(i, c)| !(c.is_ascii_digit() || *c == '.' || (*i == 0 && (*c == '-' || *c == '+'))))
            .map_or(rest.len(), |(i, _)| i);
        let number: f64 = rest[..end].parse().ok()?;
        rest = rest[end..].trim_start();
        let end = rest
            .char_indices()
            .find(|(_, c)| c.is_ascii_digit() || *c == '-' || *c == '+' || *c == ',' || c.is_whitespace())
            .map_or(rest.len(), |(i, _)| i);
        out.push((number, rest[..end].to_lowercase()));
        rest = rest[end..].trim_start_matches([',', ' ', '\t']);
    }
    Some(out)
}

/// Adds up the parts of a quantity whose units `factor` knows. `None` when any unit is unknown.
fn add_up(text: &str, factor: impl Fn(&str) -> Option<f64>) -> Option<f64> {
    let parts = parts(text)?;
    // "2,6 kg" is not 2 and 6 kg, nor "7 lb 8" 7 lb and 8 kg: a number without a unit stands alone.
    if parts.len() > 1 && parts.iter().any(|(_, u)| u.is_empty()) {
        return None;
    }
    let total: f64 = parts.iter().map(|(n, u)| factor(u).map(|f| n * f)).sum::<Option<f64>>()?;
    total.is_finite().then_some(total)
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $ctor:ident, $get:ident, $expected:literal, $parse:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// What the text and number forms of this quantity may look like.
            pub const EXPECTED: &'static str = $expected;

            pub const fn $ctor(value: f64) -> Self {
                Self(value)
            }

            pub const fn $get(self) -> f64 {
                self.0
            }

            /// Reads text as a person writes it; the error names what would have been understood.
            pub fn parse(text: &str) -> Result<Self, UnitError> {
                let read: fn(&str) -> Option<f64> = $parse;
                read(text).map(Self).ok_or_else(|| UnitError { given: text.to_owned(), expected: $expected })
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                s.serialize_f64(self.0)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                struct V;
                impl de::Visitor<'_> for V {
                    type Value = $name;
                    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                        f.write_str($expected)
                    }
                    fn visit_f64<E: de::Error>(self, v: f64) -> Result<$name, E> {
                        if v.is_finite() { Ok($name(v)) } else { Err(E::custom("a number that is not finite")) }
                    }
                    fn visit_i64<E: de::Error>(self, v: i64) -> Result<$name, E> {
                        Ok($name(v as f64))
                    }
                    fn visit_u64<E: de::Error>(self, v: u64) -> Result<$name, E> {
                        Ok($name(v as f64))
                    }
                    fn visit_str<E: de::Error>(self, v: &str) -> Result<$name, E> {
                        $name::parse(v).map_err(E::custom)
                    }
                }
                d.deserialize_any(V)
            }
        }

        impl JsonSchema for $name {
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({ "type": ["number", "string"], "description": $expected })
            }
        }
    };
}

quantity!(
    /// Mass in kilograms.
    Mass, kg, as_kg, "kilograms as a number, or text such as \"3.4 kg\", \"850 g\", \"7 lb 8 oz\"",
    |t| add_up(t, |u| match u {
        "" | "kg" | "kilo" | "kilos" => Some(1.0),
        "g" | "gram" | "grams" => Some(0.001),
        "mg" => Some(1e-6),
        "lb" | "lbs" => Some(0.453_592_37),
        "oz" => Some(0.453_592_37 / 16.0),
        _ => None,
    })
);

quantity!(
    /// Length in centimetres.
    Length, cm, as_cm, "centimetres as a number, or text such as \"27 cm\", \"180 mm\", \"10.5 in\"",
    |t| add_up(t, |u| match u {
        "" | "cm" => Some(1.0),
        "mm" => Some(0.1),
        "m" => Some(100.0),
        "in" | "inch" | "inches" | "\"" => Some(2.54),
        "ft" | "'" => Some(30.48),
        _ => None,
    })
);

quantity!(
    /// Volume in litres. A US gallon is 231 cubic inches, an imperial gallon 4.54609 L.
    Volume, litres, as_litres, "litres as a number, or text such as \"12 L\", \"500 ml\", \"5 usgal\", \"2 impgal\"",
    |t| add_up(t, |u| match u {
        "" | "l" | "litre" | "litres" | "liter" | "liters" => Some(1.0),
        "ml" => Some(0.001),
        "usgal" => Some(3.785_411_784),
        "impgal" => Some(4.546_09),
        _ => None,
    })
);

quantity!(
    /// Temperature in degrees Celsius.
    Temperature, celsius, as_celsius, "degrees Celsius as a number, or text such as \"4 C\", \"41 F\"",
    |t| {
        let p = parts(t)?;
        let [(n, u)] = p.as_slice() else { return None };
        match u.trim_start_matches('°') {
            "" | "c" => Some(*n),
            "f" => Some((n - 32.0) / 1.8),
            _ => None,
        }
    }
);

quantity!(
    /// A stretch of elapsed time in minutes.
    Elapsed, minutes, as_minutes, "minutes as a number, or text such as \"90 min\", \"36 h\", \"5 d\"",
    |t| add_up(t, |u| match u {
        "" | "min" | "mins" | "minute" | "minutes" => Some(1.0),
        "h" | "hour" | "hours" => Some(60.0),
        "d" | "day" | "days" => Some(1440.0),
        "s" => Some(1.0 / 60.0),
        _ => None,
    })
);

impl Elapsed {
    pub const fn hours(h: f64) -> Self {
        Self(h * 60.0)
    }
    pub const fn days(d: f64) -> Self {
        Self(d * 1440.0)
    }
    pub const fn as_hours(self) -> f64 {
        self.0 / 60.0
    }
    pub const fn as_days(self) -> f64 {
        self.0 / 1440.0
    }
    /// Whole minutes, rounded up: a stretch that must not be cut short.
    pub fn whole_minutes_up(self) -> i32 {
        // Nine decimals hold any f64 noise from `days * 1440`, so 16.0 d is 23,040 and never 23,041.
        ((self.0 * 1e6).round() / 1e6).ceil() as i32
    }
}

impl Mass {
    pub const fn as_g(self) -> f64 {
        self.0 * 1000.0
    }
}

impl Temperature {
    /// Degrees Celsius to a tenth, for text: "71.1", "4". No kitchen probe is better than that.
    pub fn tenths(self) -> String {
        // Adding 0 turns a rounded −0 into 0.
        format!("{}", (self.0 * 10.0).round() / 10.0 + 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_people_write() {
        // Factors: international yard and pound agreement, 1959 (1 lb = 0.45359237 kg, 1 in = 2.54 cm, exact).
        assert!((Mass::parse("7 lb 8 oz").unwrap().as_kg() - 3.401_942_775).abs() < 1e-9);
        assert_eq!(Mass::parse("3.4kg").unwrap().as_kg(), 3.4);
        assert_eq!(Mass::parse("850 g").unwrap().as_kg(), 0.85);
        assert_eq!(Length::parse("10 in").unwrap().as_cm(), 25.4);
        assert!((Temperature::parse("41 °F").unwrap().as_celsius() - 5.0).abs() < 1e-12);
        assert_eq!(Elapsed::parse("1d 12h").unwrap().as_hours(), 36.0);
        assert_eq!(Elapsed::days(6.0 * 2.6).whole_minutes_up(), 22_464);
    }

    #[test]
    fn refuses_what_it_does_not_know() {
        for bad in ["", "kg", "3.4 stone", "three", "3..4", "1e999", "2,6 kg", "7 lb 8"] {
            assert!(Mass::parse(bad).is_err(), "{bad}");
        }
        assert!(Temperature::parse("4 K").is_err());
    }
}
