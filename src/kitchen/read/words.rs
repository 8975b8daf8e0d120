//! Turns the deserializer's messages into a cook's words, and finds the hint that helps.

use chrono::NaiveDate;
use serde_json::Value;

/// What the deserializer stumbled over.
#[derive(Debug, PartialEq)]
pub enum Trouble {
    /// A field nobody knows.
    Unknown(String),
    /// A field that has to be there.
    Missing(String),
    /// A word that is none of the words allowed.
    Word(String),
    /// A value of the wrong kind, or text that cannot be read; and what would have been understood.
    Value { expected: String },
}

/// Reads the wording of `serde::de::Error`, which has been the same since its first release.
pub fn trouble(message: &str) -> Trouble {
    let ticked = |prefix: &str, stop: &str| {
        let rest = message.strip_prefix(prefix)?;
        // The name may hold anything, a backtick too, so its end is sought from the back.
        let end = if stop.is_empty() { rest.rfind('`') } else { rest.find(stop) }?;
        Some(rest[..end].to_owned())
    };
    if let Some(name) = ticked("unknown field `", "`, expected").or_else(|| ticked("unknown field `", "`, there are")) {
        return Trouble::Unknown(name);
    }
    if let Some(name) = ticked("unknown variant `", "`, expected") {
        return Trouble::Word(name);
    }
    if let Some(name) = ticked("missing field `", "") {
        return Trouble::Missing(name);
    }
    let expected = message.rsplit_once("expected ").map_or("something else", |(_, e)| e);
    Trouble::Value { expected: expected.to_owned() }
}

/// A value of the file in words.
pub fn in_words(value: &Value) -> String {
    match value {
        Value::Object(_) => "an object { ... }".to_owned(),
        Value::Array(_) => "a list [ ... ]".to_owned(),
        Value::String(s) => format!("the text \"{s}\""),
        Value::Number(n) => format!("the number {n}"),
        other => other.to_string(),
    }
}

/// The known words near enough to what was typed to be meant by a slip of the finger, the nearest first.
pub fn near<'a>(typed: &str, known: &'a [String]) -> Vec<&'a str> {
    let flat = |s: &str| s.to_lowercase().replace(['-', '_', ' '], "");
    let t = flat(typed);
    if t.is_empty() || t.len() > 60 {
        return Vec::new();
    }
    let mut near: Vec<(usize, &str)> = known
        .iter()
        .map(|k| (strsim::damerau_levenshtein(&t, &flat(k)), k.as_str()))
        .filter(|(d, k)| *d <= (k.len() / 3).clamp(1, 3))
        .collect();
    near.sort();
    let best = near.first().map_or(0, |(d, _)| *d);
    near.into_iter().take_while(|(d, _)| *d <= best + 1).map(|(_, k)| k).take(3).collect()
}

/// The one known word nearest to what was typed, if any is near.
pub fn nearest<'a>(typed: &str, known: &'a [String]) -> Option<&'a str> {
    near(typed, known).first().copied()
}

/// What helps with a value that could not be read.
pub fn hint_for_value(value: &Value, expected: &str) -> Option<String> {
    let wants = |word: &str| expected.contains(word);
    match value {
        Value::Number(n) if wants("time of day") => {
            clock_hint(&n.to_string()).map(|c| format!("did you mean \"{c}\"?"))
        }
        Value::Number(_) if wants("in double quotes") => Some("put it in double quotes".to_owned()),
        Value::String(s) if wants("a list") => Some(format!("put it in square brackets: [\"{s}\"]")),
        Value::Object(_) if wants("a list") => Some("put it in square brackets: [ { ... } ]".to_owned()),
        Value::String(text) => text_hint(text.trim(), expected),
        _ => None,
    }
}

fn text_hint(text: &str, expected: &str) -> Option<String> {
    let wants = |word: &str| expected.contains(word);
    let low = text.to_lowercase();
    if wants("date and time") {
        return date_hint(text);
    }
    if wants("time of day") {
        return clock_hint(&low).map(|c| format!("did you mean \"{c}\"?"));
    }
    if wants("true or false") {
        return match low.as_str() {
            "true" | "yes" | "y" => Some("write true, without quotes".to_owned()),
            "false" | "no" | "n" => Some("write false, without quotes".to_owned()),
            _ => None,
        };
    }
    if wants("time zone") {
        return zone_hint(text);
    }
    if expected == "a number" || wants("whole number") {
        let bare = text.trim_end_matches('%').trim();
        return bare.parse::<f64>().ok().filter(|n| n.is_finite()).map(|_| format!("write {bare}, without quotes"));
    }
    // A comma between two digits is a decimal comma far more often than anything else.
    let digits = text.as_bytes().windows(3).any(|w| w[0].is_ascii_digit() && w[1] == b',' && w[2].is_ascii_digit());
    if digits {
        return Some(format!("use a decimal point: \"{}\"", text.replace(',', ".")));
    }
    if wants("kilograms") && (low.ends_with("stone") || low.ends_with("st")) {
        return Some("a stone is 14 lb: give pounds or kilograms".to_owned());
    }
    if wants("litres") && low.contains("gal") {
        return Some("say which gallon: \"usgal\" (3.785 L) or \"impgal\" (4.546 L)".to_owned());
    }
    if wants("litres") && ["pint", "qt", "quart", "cup"].iter().any(|u| low.contains(u)) {
        return Some("pints, quarts and cups differ from country to country: give litres or ml".to_owned());
    }
    None
}

fn date_hint(text: &str) -> Option<String> {
    let (date, rest) = text.split_once([' ', 'T']).unwrap_or((text, ""));
    let dotted = date.replace(['/', '.'], "-");
    if NaiveDate::parse_from_str(&dotted, "%Y-%m-%d").is_ok() {
        let time = clock_hint(&rest.to_lowercase());
        return Some(match time {
            Some(time) => format!("did you mean \"{dotted} {time}\"?"),
            None => format!("did you mean \"{dotted}\"?"),
        });
    }
    // 3/4/2027 is the third of April to one reader and the fourth of March to another: no guess is made.
    if dotted.split('-').count() == 3 {
        let year_first = dotted.split('-').next().is_some_and(|y| y.len() == 4);
        return Some(
            if year_first {
                "there is no such day in the calendar"
            } else {
                "write the year first: \"2026-12-24 18:00\""
            }
            .to_owned(),
        );
    }
    None
}

/// A time of day written some other way: `8.15`, `8am`, `6 pm`, `1815`.
fn clock_hint(low: &str) -> Option<String> {
    let t = low.trim();
    let (body, add) = match (t.strip_suffix("am"), t.strip_suffix("pm")) {
        (Some(b), _) => (b.trim(), 0),
        (_, Some(b)) => (b.trim(), 12),
        _ => (t, 0),
    };
    let (h, m) = match body.split_once(['.', ':', 'h']) {
        Some((h, m)) => (h, if m.is_empty() { "0" } else { m }),
        None if body.len() == 4 && body.is_ascii() => body.split_at(2),
        None => (body, "0"),
    };
    let (h, m): (u32, u32) = (h.trim().parse().ok()?, m.trim().parse().ok()?);
    let twelve = t.ends_with('m');
    let h = if twelve { (1..=12).contains(&h).then_some(h % 12 + add)? } else { h };
    (h < 24 && m < 60).then(|| format!("{h:02}:{m:02}"))
}

fn zone_hint(text: &str) -> Option<String> {
    let names: Vec<String> = chrono_tz::TZ_VARIANTS.iter().map(|z| z.name().to_owned()).collect();
    let city = |n: &str| n.rsplit('/').next().unwrap_or(n).to_lowercase();
    let low = text.to_lowercase().replace(' ', "_");
    let same = names.iter().find(|n| city(n) == low).map(String::as_str);
    same.or_else(|| nearest(text, &names)).map(|z| format!("did you mean \"{z}\"?"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_are_taken_apart() {
        assert_eq!(trouble("unknown field `x`, expected one of `a`, `b`"), Trouble::Unknown("x".into()));
        assert_eq!(trouble("missing field `weight`"), Trouble::Missing("weight".into()));
        assert_eq!(trouble("unknown variant `ham`, expected `a` or `b`"), Trouble::Word("ham".into()));
        let value = |e: &str| Trouble::Value { expected: e.into() };
        assert_eq!(trouble("invalid type: integer `8`, expected a string"), value("a string"));
        assert_eq!(trouble("cannot read \"3 stone\": expected kilograms"), value("kilograms"));
    }

    #[test]
    fn near_words_only() {
        let known = ["weight".to_owned(), "weighed".to_owned(), "ready_by".to_owned()];
        assert_eq!(nearest("wieght", &known), Some("weight"));
        assert_eq!(nearest("readyBy", &known), Some("ready_by"));
        assert_eq!(nearest("temperature", &known), None);
    }

    #[test]
    fn times_written_otherwise() {
        for (typed, meant) in
            [("8am", "08:00"), ("6 pm", "18:00"), ("12am", "00:00"), ("8.15", "08:15"), ("1815", "18:15")]
        {
            assert_eq!(clock_hint(typed).as_deref(), Some(meant), "{typed}");
        }
        assert_eq!(clock_hint("noonish"), None);
        assert_eq!(date_hint("24/12/2026").as_deref(), Some("write the year first: \"2026-12-24 18:00\""));
        assert_eq!(date_hint("2026/12/24 6pm").as_deref(), Some("did you mean \"2026-12-24 18:00\"?"));
    }
}
