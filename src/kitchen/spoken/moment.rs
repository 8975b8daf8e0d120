//! A moment as people say it.

use super::pieces::{Day, Length, at, clock, day, length, weekday};
use super::{Here, Lean, NotUnderstood};
use crate::kitchen::plausible;
use chrono::{DateTime, Datelike, LocalResult, NaiveDate, NaiveDateTime, TimeDelta, TimeZone, Utc};

const EXAMPLES: &str = "\"now\", \"20 min ago\", \"19:00\", \"yesterday 19:00\", \"tomorrow 7pm\", \"Sat 9:00\", \"12 Mar 19:00\", \"2026-12-04 19:00\"";

/// A clock a little ahead of ours is no other day.
const GRACE: TimeDelta = TimeDelta::minutes(15);

/// What was meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spoken {
    /// The instant; of a day without a time its noon, but never on the wrong side of now.
    pub at: DateTime<Utc>,
    /// The civil date that was meant.
    pub date: NaiveDate,
    /// Whether a time of day was said.
    pub timed: bool,
    /// What a person should know: a time that a clock change skipped or repeated.
    pub note: Option<String>,
}

/// Reads a moment. A bare time or weekday or a date without its year is the last one or the next one, as [`Here::lean`] says.
///
/// In the hour that a clock change repeats the first of the two is meant; a time it skips moves on by as much.
///
/// # Errors
/// What was not understood.
pub fn moment(text: &str, here: Here) -> Result<Spoken, NotUnderstood> {
    let fail = |says: String| NotUnderstood { given: text.trim().to_owned(), says, examples: EXAMPLES };
    let low = text.trim().to_lowercase().replace([',', ';'], " ");
    // 2026-12-04T19:00
    let low = match low.split_once('t') {
        Some((d, t)) if NaiveDate::parse_from_str(d, "%Y-%m-%d").is_ok() => format!("{d} {t}"),
        _ => low,
    };
    let mut words: Vec<&str> = low.split_whitespace().collect();
    let civil_now = here.zone.civil(here.now);
    let spoken = |at: DateTime<Utc>| Spoken { at, date: here.zone.civil(at).date(), timed: true, note: None };
    match words.as_slice() {
        [] => return Err(fail("nothing was said".to_owned())),
        ["now"] | ["just", "now"] => return Ok(spoken(here.now)),
        ["in", rest @ ..] => {
            let long = length(rest).ok_or_else(|| fail(format!("\"{}\" is no length of time", rest.join(" "))))?;
            return by(here, long, 1).map(spoken).ok_or_else(|| fail("that is too far off".to_owned()));
        }
        [rest @ .., "ago"] => {
            let long = length(rest).ok_or_else(|| fail(format!("\"{}\" is no length of time", rest.join(" "))))?;
            return by(here, long, -1).map(spoken).ok_or_else(|| fail("that is too far off".to_owned()));
        }
        ["last", "night"] => words = vec!["yesterday", "22:00"],
        _ => {}
    }
    // A time may stand before its day: "19:00 yesterday", "at 7 pm on Sat".
    let (named, mut time) = match day(&words) {
        Some((d, n)) => (Some((d, &words[..n])), &words[n..]),
        None => match (0..words.len())
            .rev()
            .find_map(|i| day(&words[i..]).filter(|(_, n)| i + n == words.len()).map(|(d, _)| (d, i)))
        {
            Some((d, i)) => (Some((d, &words[i..])), &words[..i]),
            None => (None, &words[..]),
        },
    };
    if let Some(rest) = time.strip_prefix(&["at"]) {
        time = rest;
    }
    let minutes = match time {
        [] => None,
        _ => Some(clock(time).ok_or_else(|| fail(why_not(time, words.len() == time.len())))?),
    };
    let Some((named, said)) = named else {
        let minutes = minutes.unwrap_or_default();
        let today = here.zone.instant(at(civil_now.date(), minutes));
        let off = match here.lean {
            Lean::Back if today > here.now + GRACE => -1,
            Lean::Ahead if today < here.now => 1,
            _ => 0,
        };
        let date = civil_now.date() + TimeDelta::days(off);
        return Ok(on_clock(date, minutes, here));
    };
    let back = here.lean == Lean::Back;
    let wrong_side = |d: NaiveDate| {
        let meant = minutes.map(|m| here.zone.instant(at(d, m)));
        meant.is_some_and(|m| if back { m > here.now + GRACE } else { m < here.now })
    };
    let date = named.on(civil_now.date(), back, wrong_side).ok_or_else(|| fail("there is no such day".to_owned()))?;
    if !plausible(date) {
        return Err(fail(format!("{date} is too far off")));
    }
    if let (Some(day), Day::Date { .. }) = (said.iter().find_map(|w| weekday(w)), named)
        && date.weekday() != day
    {
        return Err(fail(format!("{} is a {}", date.format("%-d %B %Y"), date.format("%A"))));
    }
    Ok(match minutes {
        Some(m) => on_clock(date, m, here),
        None => {
            let noon = here.zone.instant(at(date, 720));
            // Of today not what is yet to come, or past already.
            let at = if date == civil_now.date() { here.now } else { noon };
            Spoken { at, date, timed: false, note: None }
        }
    })
}

fn by(here: Here, long: Length, sign: i64) -> Option<DateTime<Utc>> {
    let at = match long {
        Length::Minutes(m) => here.now.checked_add_signed(TimeDelta::try_minutes(sign * m)?)?,
        // By the calendar: three days before 08:00 is 08:00, also across a clock change.
        Length::Days(d) if d <= 40_000 => here.zone.add_days(here.now, sign * d),
        Length::Days(_) => return None,
    };
    plausible(here.zone.civil(at).date()).then_some(at)
}

/// A civil time on a date, with what a clock change did to it.
fn on_clock(date: NaiveDate, minutes: u32, here: Here) -> Spoken {
    let civil = at(date, minutes);
    let instant = here.zone.instant(civil);
    let note = match here.zone.0.from_local_datetime(&civil) {
        LocalResult::Single(_) => None,
        LocalResult::Ambiguous(..) => Some(format!("{} came twice in that night; the first is taken", hm(civil))),
        LocalResult::None => {
            Some(format!("the clock change skipped {}; {} is taken", hm(civil), hm(here.zone.civil(instant))))
        }
    };
    Spoken { at: instant, date: here.zone.civil(instant).date(), timed: true, note }
}

fn hm(civil: NaiveDateTime) -> String {
    civil.format("%H:%M").to_string()
}

/// Why words are no time of day.
fn why_not(words: &[&str], all: bool) -> String {
    let text = words.join(" ");
    if text.contains('/') {
        return format!("\"{text}\" could be day/month or month/day");
    }
    if matches!(text.as_str(), "midnight" | "night") {
        return format!("which \"{text}\" is meant? 00:00 begins a day, 24:00 ends it");
    }
    if words.len() == 1 && text.bytes().all(|b| b.is_ascii_digit()) {
        return format!("\"{text}\" may be a day or an hour");
    }
    format!("\"{text}\" is no {}", if all { "moment" } else { "time of day" })
}
