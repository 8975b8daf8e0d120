//! A person's edits and the plan's changes in one entry: line by line, and where both touch a line the person's stands.

use crate::kitchen::Zone;
use crate::sheets::lines::{Line, Part, unescape};
use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, Utc};
use std::collections::BTreeSet;

/// Lines that servers and phones write by themselves; a difference in them is nobody's edit.
fn by_itself(name: &str) -> bool {
    matches!(name, "DTSTAMP" | "CREATED" | "LAST-MODIFIED" | "SEQUENCE" | "PRODID" | "UID")
        || name.starts_with("X-MOZ-")
        || name.starts_with("X-APPLE-")
        || name.starts_with("X-RADICALE-")
}

/// The instant of a date property: UTC, with a TZID, floating or a bare date (both by `zone`).
pub fn instant(line: &Line, zone: Zone) -> Option<DateTime<Utc>> {
    let value = line.value.trim();
    if let Some(v) = value.strip_suffix('Z') {
        return Some(NaiveDateTime::parse_from_str(v, "%Y%m%dT%H%M%S").ok()?.and_utc());
    }
    let named = line.params.split(';').find_map(|p| p.strip_prefix("TZID="));
    let zone = named.and_then(|n| n.trim_matches('"').trim_start_matches('/').parse().ok().map(Zone)).unwrap_or(zone);
    let civil = NaiveDateTime::parse_from_str(value, "%Y%m%dT%H%M%S")
        .ok()
        .or_else(|| NaiveDate::parse_from_str(value, "%Y%m%d").ok().map(|d| d.and_time(NaiveTime::MIN)))?;
    Some(zone.instant(civil))
}

/// Seconds of a duration (RFC 5545, 3.3.6).
fn seconds(value: &str) -> Option<i64> {
    let value = value.trim();
    let (sign, rest) = match value.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, value.strip_prefix('+').unwrap_or(value)),
    };
    let (mut total, mut number) = (0i64, None::<i64>);
    for c in rest.strip_prefix('P')?.chars() {
        let unit = match c {
            '0'..='9' => {
                let digit = i64::from(c as u8 - b'0');
                number = Some(number.unwrap_or(0).checked_mul(10)?.checked_add(digit)?);
                continue;
            }
            'T' => continue,
            'W' => 604_800,
            'D' => 86_400,
            'H' => 3600,
            'M' => 60,
            'S' => 1,
            _ => return None,
        };
        total = total.checked_add(number.take()?.checked_mul(unit)?)?;
    }
    number.is_none().then_some(sign * total)
}

/// What a property says, for comparing: dates as instants, text unescaped, several of one name in any order.
fn says(part: &Part, name: &str, zone: Zone) -> Vec<String> {
    let mut out: Vec<String> = part
        .lines
        .iter()
        .filter(|l| l.name == name)
        .map(|l| match name {
            "DTSTART" | "DTEND" | "DUE" | "COMPLETED" => {
                instant(l, zone).map_or_else(|| l.value.clone(), |t| t.to_string())
            }
            "TRIGGER" | "DURATION" => seconds(&l.value).map_or_else(|| l.value.clone(), |s| s.to_string()),
            _ => unescape(&l.value).trim().to_owned(),
        })
        .collect();
    out.sort();
    out
}

fn names(part: &Part) -> BTreeSet<&str> {
    part.lines.iter().map(|l| l.name.as_str()).filter(|n| !by_itself(n)).collect()
}

/// Alarms for comparing: trigger and words, in any order.
fn alarms(part: &Part, zone: Zone) -> Vec<Vec<String>> {
    let mut out: Vec<Vec<String>> = part
        .parts
        .iter()
        .map(|a| {
            let known = ["TRIGGER", "ACTION", "DESCRIPTION", "ACKNOWLEDGED", "REPEAT", "DURATION"];
            let mut all: Vec<String> =
                known.iter().flat_map(|n| says(a, n, zone).into_iter().map(move |v| format!("{n}:{v}"))).collect();
            all.push(a.name.clone());
            all
        })
        .collect();
    out.sort();
    out
}

/// Whether two components say the same.
pub fn same(a: &Part, b: &Part, zone: Zone) -> bool {
    names(a).union(&names(b)).all(|n| says(a, n, zone) == says(b, n, zone)) && alarms(a, zone) == alarms(b, zone)
}

/// The names of what a person changed, in plain words.
pub fn edits(ours: &Part, theirs: &Part, zone: Zone) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for name in names(ours).union(&names(theirs)) {
        if says(ours, name, zone) != says(theirs, name, zone) {
            let word = match *name {
                "DTSTART" | "DTEND" | "DUE" | "DURATION" => "time",
                "SUMMARY" => "title",
                "DESCRIPTION" => "text",
                "LOCATION" => "place",
                "STATUS" | "COMPLETED" | "PERCENT-COMPLETE" => "status",
                other => other,
            };
            out.push(word.to_lowercase());
        }
    }
    if alarms(ours, zone) != alarms(theirs, zone) {
        out.push("alarms".to_owned());
    }
    out.sort();
    out.dedup();
    out
}

const TIMES: [&str; 4] = ["DTSTART", "DTEND", "DUE", "DURATION"];
const TICKS: [&str; 3] = ["STATUS", "COMPLETED", "PERCENT-COMPLETE"];

/// The three together: what a person changed against `before` stands, everything else is as `wanted` has it. A
/// cancelled task is cancelled whoever edited it.
pub fn merged(before: &Part, theirs: &Part, wanted: &Part, zone: Zone) -> Part {
    let differs = |n: &str| says(before, n, zone) != says(theirs, n, zone);
    let cancelled = wanted.line("STATUS").is_some_and(|l| l.value == "CANCELLED");
    let (times, ticks) = (TIMES.iter().any(|n| differs(n)), TICKS.iter().any(|n| differs(n)));
    let persons = |n: &str| {
        if TIMES.contains(&n) {
            times
        } else if TICKS.contains(&n) {
            ticks && !cancelled
        } else {
            // What servers write by themselves stays as they have it.
            (by_itself(n) && !matches!(n, "UID" | "SEQUENCE" | "DTSTAMP")) || differs(n)
        }
    };
    let mut out = Part::new(&wanted.name);
    let mut done: BTreeSet<&str> = BTreeSet::new();
    for line in wanted.lines.iter().chain(&theirs.lines) {
        if done.insert(&line.name) {
            let from = if persons(&line.name) { theirs } else { wanted };
            out.lines.extend(from.lines.iter().filter(|l| l.name == line.name).cloned());
        }
    }
    let own_alarms = alarms(before, zone) != alarms(theirs, zone);
    out.parts = if own_alarms && !cancelled { theirs.parts.clone() } else { wanted.parts.clone() };
    // The next version of both.
    let sequence = |p: &Part| p.line("SEQUENCE").and_then(|l| l.value.trim().parse::<u32>().ok()).unwrap_or(0);
    let (theirs_at, ours_at) = (sequence(theirs), sequence(wanted));
    let next =
        if ours_at > theirs_at { ours_at } else { theirs_at.saturating_add(u32::from(!same(&out, theirs, zone))) };
    out.set("SEQUENCE", next.to_string());
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations_in_any_spelling() {
        let all = ["-PT90M", "-PT1H30M", "P1DT2H", "PT26H", "P1W", "+P7D", "PT0S", "-PT0M"].map(seconds);
        assert_eq!(all, [-5400, -5400, 93_600, 93_600, 604_800, 604_800, 0, 0].map(Some));
        for bad in ["", "P1", "PT", "1H", "PTxM", "PTM", "P99999999999999999999D"] {
            assert_eq!(seconds(bad).filter(|s| *s != 0), None, "{bad}");
        }
    }
}
