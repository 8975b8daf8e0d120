//! A stretch of time as people say it.

use super::pieces::{clock, day_number, month, weekday};
use super::{Here, Lean, NotUnderstood, Spoken, moment};
use crate::kitchen::Zone;
use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};

const EXAMPLES: &str = "\"12-14 Mar\", \"12 Mar to 2 Apr\", \"Fri 15:00 to Sun 19:00\", \"Fri-Sun\", \"tomorrow\", \"2027-03-12 to 2027-03-14\"";

/// Reads a stretch of time: from, and up to. A day without a time counts whole, from its midnight to the next.
///
/// # Errors
/// What was not understood, or an end before its beginning.
pub fn range(text: &str, here: Here) -> Result<(DateTime<Utc>, DateTime<Utc>), NotUnderstood> {
    let fail = |says: String| NotUnderstood { given: text.trim().to_owned(), says, examples: EXAMPLES };
    let low = text.trim().to_lowercase().replace(['–', '—'], "-");
    let low = low.strip_prefix("from ").unwrap_or(&low);
    if matches!(low, "weekend" | "the weekend" | "this weekend") {
        let sat = moment("sat", Here { lean: Lean::Ahead, ..here }).map_err(|e| fail(e.says))?;
        return Ok((midnight(sat.date, here.zone), midnight(sat.date + TimeDelta::days(2), here.zone)));
    }
    let Some((from, to)) = halves(low) else {
        let one = moment(low, here).map_err(|e| fail(e.says))?;
        if one.timed {
            return Err(fail("that is a moment; when does it end?".to_owned()));
        }
        return Ok((midnight(one.date, here.zone), midnight(one.date + TimeDelta::days(1), here.zone)));
    };
    let start = moment(&from, here).map_err(|e| fail(e.says))?;
    let begins = if start.timed { start.at } else { midnight(start.date, here.zone) };
    // A bare time is on the day it began; anything else is looked for from there on.
    let bare = clock(&to.split_whitespace().collect::<Vec<_>>()).filter(|_| start.timed);
    let ends = match bare {
        Some(minutes) => {
            let on = |d: NaiveDate| here.zone.instant(super::pieces::at(d, minutes));
            let same = on(start.date);
            if same > begins { same } else { on(start.date + TimeDelta::days(1)) }
        }
        None => {
            let there = Here { now: begins, lean: Lean::Ahead, ..here };
            // "Tomorrow" is tomorrow as seen from today, wherever the stretch begins.
            let seen = if relative(&to) { here } else { there };
            let end: Spoken = moment(&to, seen).map_err(|e| fail(e.says))?;
            if end.timed { end.at } else { midnight(end.date + TimeDelta::days(1), here.zone) }
        }
    };
    if ends <= begins {
        return Err(fail("it ends before it begins".to_owned()));
    }
    Ok((begins, ends))
}

fn relative(words: &str) -> bool {
    ["today", "tomorrow", "yesterday", "now", "ago", "in "].iter().any(|w| words.contains(w))
}

fn midnight(date: NaiveDate, zone: Zone) -> DateTime<Utc> {
    zone.instant(date.and_time(NaiveTime::MIN))
}

/// Splits a stretch where its end begins. A dash inside a date is none.
fn halves(low: &str) -> Option<(String, String)> {
    for between in [" to ", " until ", " till ", " - "] {
        if let Some((a, b)) = low.split_once(between) {
            let (a, b) = (a.trim(), b.trim());
            // "12 to 14 mar": the month belongs to both.
            let words: Vec<&str> = b.split_whitespace().collect();
            if day_number(a).is_some() && words.len() >= 2 && month(words[1]).is_some() {
                return Some((format!("{a} {}", words[1..].join(" ")), b.to_owned()));
            }
            return Some((a.to_owned(), b.to_owned()));
        }
    }
    let words: Vec<&str> = low.split_whitespace().collect();
    // Exactly one word holds the dash: "12-14 mar", "mar 12-14", "fri-sun", "fri 15:00-19:00".
    let (i, (a, b)) = words.iter().enumerate().find_map(|(i, w)| w.split_once('-').map(|p| (i, p)))?;
    let (before, after) = (words[..i].join(" "), words[i + 1..].join(" "));
    let join =
        |x: &str, y: &str, z: &str| [x, y, z].iter().filter(|s| !s.is_empty()).copied().collect::<Vec<_>>().join(" ");
    if day_number(a).is_some() && day_number(b).is_some() {
        return Some((join(&before, a, &after), join(&before, b, &after)));
    }
    if weekday(a).is_some() && weekday(b).is_some() && after.is_empty() {
        return Some((join(&before, a, ""), b.to_owned()));
    }
    (clock(&[a]).is_some() && clock(&[b]).is_some()).then(|| (join(&before, a, &after), b.to_owned()))
}
