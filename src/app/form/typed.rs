//! What a person types into a field, taken apart: vessels, weekly hours, spells, times of day, moments.

use super::kind::{Here, Understood};
use crate::app::time::{clock_words, date_words};
use crate::kitchen::{Clock, Days, Moment, spoken};
use crate::units::Length;
use chrono::NaiveDateTime;
use serde_json::{Value, json};

/// A quantity the way the person wrote it, which the file reads as well: a bare figure, or text with its unit.
pub(super) fn as_typed(text: &str) -> Value {
    text.parse().ok().filter(|n: &f64| n.is_finite()).map_or_else(|| json!(text), |n| json!(n))
}

pub(super) fn stamp(at: NaiveDateTime) -> String {
    format!("{} {}", date_words(at.date()), clock_words(at))
}

/// A figure without the dust of conversion.
pub(super) fn tidy(n: f64) -> f64 {
    (n * 1000.0).round() / 1000.0
}

pub(super) fn positive(n: f64, what: &str) -> Result<(), String> {
    if n > 0.0 { Ok(()) } else { Err(format!("{what} of more than nothing")) }
}

/// One item of a list: as the file has it, and in the program's words.
pub(super) type Item = Result<(Value, String), String>;

/// Items parted by a sign, each read by itself.
///
/// # Errors
/// That of the first item that could not be read.
pub(super) fn list(text: &str, sep: char, mut read: impl FnMut(&str) -> Item) -> Result<Understood, String> {
    let (mut values, mut shown) = (Vec::new(), Vec::new());
    for piece in text.split(sep).map(str::trim).filter(|p| !p.is_empty()) {
        let (value, words) = read(piece)?;
        values.push(value);
        shown.push(words);
    }
    Ok(Understood { value: Some(Value::Array(values)), shown: shown.join("; ") })
}

/// `34 x 24 x 22` is a box, `round 26 x 25` or two figures a round vessel.
pub(super) fn vessel(text: &str) -> Result<Understood, String> {
    let expected = || "inner sizes: 34 x 24 x 22 cm for a box, 26 x 25 cm for a round one".to_owned();
    let low = text.to_lowercase();
    let body = low.trim_start_matches("round").trim_start_matches("box").replace('×', "x");
    let unit = if body.trim_end().ends_with("in") { " in" } else { "" };
    let sizes: Option<Vec<f64>> = body
        .split('x')
        .map(|p| {
            let bare = p.trim().parse::<f64>().is_ok();
            let text = if bare { format!("{}{unit}", p.trim()) } else { p.trim().to_owned() };
            Length::parse(&text).ok().map(|l| tidy(l.as_cm())).filter(|n| *n > 0.0)
        })
        .collect();
    match *sizes.ok_or_else(expected)?.as_slice() {
        [l, w, h] if !low.starts_with("round") => {
            let litres = l * w * h / 1000.0;
            let value = json!({ "box": { "length": l, "width": w, "height": h } });
            Ok(Understood { value: Some(value), shown: format!("a box of {litres:.1} L to the brim") })
        }
        [d, h] => {
            let litres = std::f64::consts::PI * d * d / 4.0 * h / 1000.0;
            let value = json!({ "round": { "diameter": d, "height": h } });
            Ok(Understood { value: Some(value), shown: format!("round, {litres:.1} L to the brim") })
        }
        _ => Err(expected()),
    }
}

/// The text before a closing parenthesis, and what stands in it.
pub(super) fn reason(text: &str) -> (&str, &str) {
    match text.trim_end().strip_suffix(')').and_then(|t| t.rsplit_once('(')) {
        Some((head, why)) => (head.trim(), why.trim()),
        None => (text.trim(), ""),
    }
}

pub(super) fn hours(text: &str, here: Here) -> Item {
    let expected = || "weekly hours such as Mon-Fri 08:30-17:30 (work); Sat 9-12".to_owned();
    let (mut head, why) = reason(text);
    let mut value = serde_json::Map::new();
    for edge in ["until", "since"] {
        if let Some((before, date)) = head.split_once(&format!(" {edge} ")) {
            let date = moment(date, here).ok_or_else(|| format!("a date after \"{edge}\""))?;
            value.insert(edge.into(), json!(date.date().to_string()));
            head = before.trim();
        }
    }
    let at = head.find(|c: char| c.is_ascii_digit()).ok_or_else(expected)?;
    let days = head[..at].trim();
    let days = if days.is_empty() { Days::EVERY } else { Days::parse(days).ok_or_else(expected)? };
    let (from, to) = clocks(&head[at..]).ok_or_else(expected)?;
    value.insert("days".into(), json!(days.to_string()));
    value.insert("from".into(), json!(from.to_string()));
    value.insert("to".into(), json!(to.to_string()));
    if !why.is_empty() {
        value.insert("why".into(), json!(why));
    }
    Ok((Value::Object(value), format!("{days} {from} to {to}")))
}

pub(super) fn spell(text: &str, here: Here, timed: bool) -> Item {
    let (head, why) = reason(text);
    let (from, to) = stretch(head, here).ok_or(if timed {
        "a spell such as Fri 15:00 to Sun 19:00 (away), 12-14 Mar"
    } else {
        "dates such as 25 Dec, 12-14 Mar (fair)"
    })?;
    let mut value = serde_json::Map::new();
    let shown = if timed {
        value.insert("from".into(), json!(Moment(from).to_string()));
        value.insert("to".into(), json!(Moment(to).to_string()));
        format!("{} to {}", stamp(from), stamp(to))
    } else {
        // The end of the last day is the midnight after it.
        let last = (to - chrono::TimeDelta::minutes(1)).date().max(from.date());
        value.insert("from".into(), json!(from.date().to_string()));
        value.insert("to".into(), json!(last.to_string()));
        if last == from.date() {
            from.format("%a %-d %b").to_string()
        } else {
            format!("{} to {}", from.format("%a %-d %b"), last.format("%a %-d %b"))
        }
    };
    if !why.is_empty() {
        value.insert("why".into(), json!(why));
    }
    Ok((Value::Object(value), shown))
}

/// A time of day as people write it: `17:00`, `5pm`, `7.30`, `9`.
pub(super) fn clock(text: &str) -> Option<Clock> {
    let low = text.trim().to_lowercase().replace('.', ":");
    let (body, add) = match (low.strip_suffix("pm"), low.strip_suffix("am")) {
        (Some(b), _) => (b.trim(), 12),
        (_, Some(b)) => (b.trim(), 0),
        _ => (low.as_str(), -1),
    };
    let text = if body.contains(':') { body.to_owned() } else { format!("{body}:00") };
    let clock = Clock::parse(&text)?;
    if add < 0 {
        return Some(clock);
    }
    let (hour, minute) = (clock.minutes / 60, clock.minutes % 60);
    (1..=12).contains(&hour).then(|| Clock::at(hour % 12 + add as u16, minute))
}

pub(super) fn clocks(text: &str) -> Option<(Clock, Clock)> {
    let text = text.replace(" to ", "-").replace('–', "-");
    let (a, b) = text.split_once('-')?;
    Some((clock(a)?, clock(b)?))
}

/// A moment as people write it, to come rather than past.
pub(super) fn moment(text: &str, here: Here) -> Option<NaiveDateTime> {
    if let Some(written) = Moment::parse(text) {
        return Some(written.0);
    }
    spoken::moment(text, here.spoken()).ok().map(|s| here.kitchen.zone.civil(s.at))
}

/// From one moment up to another.
fn stretch(text: &str, here: Here) -> Option<(NaiveDateTime, NaiveDateTime)> {
    if let Some((a, b)) = text.split_once(" to ")
        && let (Some(from), Some(to)) = (Moment::parse(a), Moment::parse(b))
    {
        // A bare date at the end is that whole day for dates left alone, its first minute for spells: as the file says.
        return (from <= to).then_some((from.0, to.0));
    }
    let zone = here.kitchen.zone;
    spoken::range(text, here.spoken()).ok().map(|(from, to)| (zone.civil(from), zone.civil(to)))
}
