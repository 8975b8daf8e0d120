//! The pieces of what people say about time: days, dates, times of day, lengths.

use chrono::{Datelike, Month, NaiveDate, NaiveTime, TimeDelta, Weekday};

/// Days to look at for the next or last date of a kind: a 29 February may be 8 years off.
const YEARS: i32 = 8;

/// A day that was named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Day {
    /// So many days from today.
    Off(i64),
    /// The nearest such weekday in the direction that is meant; never today when `other` is set.
    Week { day: Weekday, back: Option<bool>, other: bool },
    /// Day and month, perhaps with a year.
    Date { day: u32, month: u32, year: Option<i32> },
}

/// A time of day, in minutes after midnight (1440 ends the day).
pub(super) fn clock(words: &[&str]) -> Option<u32> {
    if let ["morning" | "afternoon" | "evening" | "tonight", rest @ ..] = words
        && !rest.is_empty()
    {
        return clock(rest);
    }
    let joined = words.concat();
    let text = joined.as_str();
    match text {
        "noon" | "midday" => return Some(720),
        "morning" => return Some(8 * 60),
        "afternoon" => return Some(15 * 60),
        "evening" | "tonight" => return Some(19 * 60),
        _ => {}
    }
    let (body, half) = if let Some(b) = text.strip_suffix("am").or_else(|| text.strip_suffix("a.m.")) {
        (b, Some(0))
    } else if let Some(b) = text.strip_suffix("pm").or_else(|| text.strip_suffix("p.m.")) {
        (b, Some(720))
    } else {
        (text, None)
    };
    let (h, m) = match body.split_once([':', '.', 'h']) {
        Some((h, m)) => (h, Some(m)),
        None => (body, None),
    };
    let number = |s: &str, long: usize| {
        ((1..=long).contains(&s.len()) && s.bytes().all(|b| b.is_ascii_digit()))
            .then(|| s.parse::<u32>().ok())
            .flatten()
    };
    let minutes = match m {
        // "19h" is an hour; a bare "7" is not a time without am or pm.
        None if half.is_some() => 0,
        Some("") if body.ends_with('h') => 0,
        Some(m) if m.len() == 2 => number(m, 2).filter(|m| *m < 60)?,
        _ => return None,
    };
    let hour = number(h, 2)?;
    match half {
        Some(add) => (1..=12).contains(&hour).then(|| hour % 12 * 60 + add + minutes),
        None => (hour < 24 || (hour == 24 && minutes == 0)).then_some(hour * 60 + minutes),
    }
}

pub(super) fn weekday(word: &str) -> Option<Weekday> {
    let names = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let days = [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri, Weekday::Sat, Weekday::Sun];
    let word = word.trim_end_matches('.');
    let at = |w: &str| (w.len() >= 3).then(|| names.iter().position(|n| n.starts_with(w))).flatten();
    at(word).map(|i| days[i])
}

pub(super) fn month(word: &str) -> Option<u32> {
    let word = word.trim_end_matches('.');
    let name = if word == "sept" { "september" } else { word };
    (name.len() >= 3).then_some(())?;
    (1..=12u8).find(|m| Month::try_from(*m).is_ok_and(|m| m.name().to_lowercase().starts_with(name))).map(u32::from)
}

/// "12", "12th", "3rd".
pub(super) fn day_number(word: &str) -> Option<u32> {
    let bare = ["st", "nd", "rd", "th"].iter().find_map(|s| word.strip_suffix(s)).unwrap_or(word).trim_end_matches('.');
    if !(1..=2).contains(&bare.len()) || !bare.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    bare.parse().ok().filter(|d| (1..=31).contains(d))
}

fn year(word: &str) -> Option<i32> {
    let all = word.len() == 4 && word.bytes().all(|b| b.is_ascii_digit());
    all.then(|| word.parse().ok()).flatten()
}

/// A day at the front of some words: which, and how many words it took.
pub(super) fn day(words: &[&str]) -> Option<(Day, usize)> {
    let first = *words.first()?;
    let next = words.get(1).copied().unwrap_or_default();
    match first {
        "on" | "the" => return day(&words[1..]).map(|(d, n)| (d, n + 1)),
        "today" => return Some((Day::Off(0), 1)),
        // The evening of today; the word is left to be read as a time.
        "tonight" => return Some((Day::Off(0), 0)),
        "this" if matches!(next, "morning" | "afternoon" | "evening") => return Some((Day::Off(0), 1)),
        "yesterday" => return Some((Day::Off(-1), 1)),
        "tomorrow" => return Some((Day::Off(1), 1)),
        "last" | "next" | "this" => {
            let day = weekday(next)?;
            let back = (first != "this").then_some(first == "last");
            return Some((Day::Week { day, back, other: first != "this" }, 2));
        }
        _ => {}
    }
    if let Some(day) = weekday(first) {
        // "Sat 12 Mar": the date says it; the weekday is checked by the caller.
        return match date(&words[1..]) {
            Some((d, n)) => Some((d, n + 1)),
            None => Some((Day::Week { day, back: None, other: false }, 1)),
        };
    }
    date(words)
}

fn date(words: &[&str]) -> Option<(Day, usize)> {
    let first = *words.first()?;
    if let Ok(d) = NaiveDate::parse_from_str(first, "%Y-%m-%d") {
        return Some((Day::Date { day: d.day(), month: d.month(), year: Some(d.year()) }, 1));
    }
    let second = *words.get(1)?;
    let (day, month) = match (day_number(first), month(second)) {
        (Some(d), Some(m)) => (d, m),
        _ => (day_number(second)?, month(first)?),
    };
    let year = words.get(2).and_then(|w| year(w));
    Some((Day::Date { day, month, year }, if year.is_some() { 3 } else { 2 }))
}

impl Day {
    /// The date that is meant. `passed` says whether the moment meant on a date lies on the wrong side of now.
    pub(super) fn on(self, today: NaiveDate, back: bool, wrong_side: impl Fn(NaiveDate) -> bool) -> Option<NaiveDate> {
        match self {
            Self::Off(days) => today.checked_add_signed(TimeDelta::days(days)),
            Self::Week { day, back: told, other } => {
                let step = if told.unwrap_or(back) { -1 } else { 1 };
                let from = i64::from(other);
                (from..=7)
                    .filter_map(|k| today.checked_add_signed(TimeDelta::days(step * k)))
                    .find(|d| d.weekday() == day && (other || *d != today || !wrong_side(*d)))
            }
            Self::Date { day, month, year: Some(year) } => NaiveDate::from_ymd_opt(year, month, day),
            Self::Date { day, month, year: None } => {
                let years = (0..=YEARS).map(|k| today.year() + if back { -k } else { k });
                years
                    .filter_map(|y| NaiveDate::from_ymd_opt(y, month, day))
                    .find(|d| if back { *d <= today } else { *d >= today })
            }
        }
    }
}

/// How long: minutes that pass, or whole days by the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Length {
    Minutes(i64),
    Days(i64),
}

/// "an hour", "half an hour", "20 min", "2h", "1 h 30 min", "3 days", "a week".
pub(super) fn length(words: &[&str]) -> Option<Length> {
    let joined = words.join(" ");
    match joined.as_str() {
        "half an hour" | "half hour" => return Some(Length::Minutes(30)),
        "an hour and a half" | "1 1/2 hours" => return Some(Length::Minutes(90)),
        _ => {}
    }
    // "2h" and "2 h" alike.
    let mut spread = String::new();
    let mut before = ' ';
    for c in joined.chars() {
        let digit = |c: char| c.is_ascii_digit() || c == '.';
        if (digit(before) && c.is_alphabetic()) || (before.is_alphabetic() && digit(c)) {
            spread.push(' ');
        }
        spread.push(c);
        before = c;
    }
    let mut words = spread.split_whitespace().filter(|w| *w != "and");
    let (mut minutes, mut days) = (0.0, 0i64);
    let mut any = false;
    while let Some(word) = words.next() {
        let number: f64 = match word {
            "a" | "an" | "one" => 1.0,
            "two" => 2.0,
            "three" => 3.0,
            "four" => 4.0,
            other => other.parse().ok().filter(|n: &f64| n.is_finite() && (0.0..1e5).contains(n))?,
        };
        match words.next()? {
            "min" | "mins" | "minute" | "minutes" | "m" => minutes += number,
            "h" | "hr" | "hrs" | "hour" | "hours" => minutes += 60.0 * number,
            unit @ ("d" | "day" | "days" | "week" | "weeks") => {
                if number.fract() != 0.0 {
                    return None;
                }
                days += number as i64 * if unit.starts_with('w') { 7 } else { 1 };
            }
            _ => return None,
        }
        any = true;
    }
    match (any, days, minutes) {
        (true, 0, m) => Some(Length::Minutes(m.round() as i64)),
        (true, d, 0.0) => Some(Length::Days(d)),
        _ => None,
    }
}

/// The civil moment so many minutes into a date.
pub(super) fn at(date: NaiveDate, minutes: u32) -> chrono::NaiveDateTime {
    date.and_time(NaiveTime::MIN) + TimeDelta::minutes(i64::from(minutes))
}
