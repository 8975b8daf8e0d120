//! Questions as people type them: "away 12-14 Mar", "weighs J1 3.4", "halve J1", "more 2.2 kg steaks".

use super::ask::Question;
use crate::kitchen::{Clock, Kitchen, Moment, Outcome};
use crate::units::Mass;
use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Utc};

/// How each question is put, for help.
pub const FORMS: [&str; 10] = [
    "away [WHO] 12-14 Mar    away 2027-03-12 15:00 to 2027-03-14 19:00",
    "tub [like TUB]",
    "latest",
    "weighs JOINT 3.4",
    "halve JOINT",
    "swap JOINT JOINT",
    "more 2.2 steaks|joint|ham|whole-ham [by 2026-12-24 18:00]",
    "home Sat 19 Dec 07:00-12:00",
    "binds",
    "lost-day",
];

/// Reads a question. Dates without a year are the next such date.
///
/// # Errors
/// A sentence that says what was expected.
pub fn read(text: &str, kitchen: &Kitchen, now: DateTime<Utc>) -> Result<Question, String> {
    let today = kitchen.zone.civil(now).date();
    let text = text.trim();
    let (word, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
    let rest = rest.trim();
    match word.to_lowercase().as_str() {
        "away" => {
            let (who, rest) = named(rest, kitchen.people.iter().map(|p| p.name.as_str()));
            let (from, to) = stretch(rest, today)?;
            Ok(Question::Away { who, from: Moment(from), to: Moment(to) })
        }
        "tub" => {
            let like = rest.strip_prefix("like").map(str::trim).unwrap_or(rest);
            match like {
                "" => Ok(Question::AnotherTub { like: None }),
                name if kitchen.kit.tubs.iter().any(|t| t.name == name) => {
                    Ok(Question::AnotherTub { like: Some(name.to_owned()) })
                }
                name => Err(format!("no tub is called \"{name}\"")),
            }
        }
        "latest" => Ok(Question::LatestCollection),
        "binds" => Ok(Question::Binds),
        "lost-day" => Ok(Question::LostDay),
        "weighs" => {
            let (joint, rest) = joint(rest, kitchen)?;
            Ok(Question::Weighs { joint, weight: weight(rest)? })
        }
        "halve" => Ok(Question::Halve { joint: joint(rest, kitchen)?.0 }),
        "swap" => {
            let (one, rest) = joint(rest, kitchen)?;
            let (other, _) = joint(rest.strip_prefix("and ").unwrap_or(rest), kitchen)?;
            Ok(Question::Swap { one, other })
        }
        "more" => {
            let (what, by) = rest.split_once(" by ").map_or((rest, None), |(a, b)| (a, Some(b)));
            let (kg, outcome) =
                what.trim().rsplit_once(' ').ok_or("more: expected a weight and what it is to become")?;
            let outcome = match outcome {
                "steaks" => Outcome::GammonSteaks,
                "joint" => Outcome::GammonJoint,
                "ham" => Outcome::HamSliced,
                "whole-ham" => Outcome::HamWhole,
                other => return Err(format!("\"{other}\": expected steaks, joint, ham or whole-ham")),
            };
            let ready_by = by.map(|b| moment(b, today, NaiveTime::MIN)).transpose()?.map(Moment);
            Ok(Question::OneMore { weight: weight(kg)?, outcome, ready_by })
        }
        "home" => {
            let (day, hours) = match rest.rsplit_once(' ') {
                Some((day, hours)) if hours.contains(':') => (day, Some(hours)),
                _ => (rest, None),
            };
            let (from, to) = match hours {
                None => (Clock::at(7, 0), Clock::at(20, 0)),
                Some(h) => {
                    let both = h.split_once('-').and_then(|(a, b)| Some((Clock::parse(a)?, Clock::parse(b)?)));
                    both.ok_or_else(|| format!("\"{h}\": expected hours such as 07:00-12:00"))?
                }
            };
            Ok(Question::Home { date: Moment(date(day, today)?.and_time(NaiveTime::MIN)), from, to })
        }
        other => Err(format!("\"{other}\" is no question; ask one of: {}", FORMS.join(" · "))),
    }
}

/// The longest of the names that the text begins with, and what follows it.
fn named<'a>(text: &'a str, names: impl Iterator<Item = &'a str>) -> (Option<String>, &'a str) {
    let fits = |n: &&str| text.strip_prefix(*n).is_some_and(|r| r.is_empty() || r.starts_with(' '));
    match names.filter(|n| !n.is_empty()).filter(fits).max_by_key(|n| n.len()) {
        Some(n) => (Some(n.to_owned()), text[n.len()..].trim()),
        None => (None, text),
    }
}

fn joint<'a>(text: &'a str, kitchen: &'a Kitchen) -> Result<(String, &'a str), String> {
    let (name, rest) = named(text, kitchen.joints.iter().map(|j| j.name.as_str()));
    let names: Vec<&str> = kitchen.joints.iter().map(|j| j.name.as_str()).collect();
    name.map(|n| (n, rest))
        .ok_or_else(|| format!("\"{text}\": expected a joint, one of {}", super::words::list(&names)))
}

fn weight(text: &str) -> Result<Mass, String> {
    let text = text.trim();
    let kg = text.parse::<f64>().ok().filter(|k| k.is_finite()).map(Mass::kg);
    kg.or_else(|| Mass::parse(text).ok())
        .ok_or_else(|| format!("\"{text}\": expected a weight such as 3.4 or 7 lb 8 oz"))
}

const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

/// A date: "2026-12-19", "19 Dec", "Sat 19 Dec"; without a year the next one from today.
fn date(text: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    let expected = || format!("\"{text}\": expected a date such as 2026-12-19 or 19 Dec");
    if let Ok(d) = NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d") {
        return Ok(d);
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let [.., day, month] = words.as_slice() else { return Err(expected()) };
    let day: u32 = day.parse().map_err(|_| expected())?;
    let low = month.to_lowercase();
    let month = MONTHS.iter().position(|m| low.starts_with(m)).ok_or_else(expected)? as u32 + 1;
    (today.year()..today.year() + 9)
        .filter_map(|y| NaiveDate::from_ymd_opt(y, month, day))
        .find(|d| *d >= today)
        .ok_or_else(expected)
}

/// A date and, if it ends in one, a time of day.
fn moment(text: &str, today: NaiveDate, default: NaiveTime) -> Result<NaiveDateTime, String> {
    let text = text.trim();
    if let Some((day, time)) = text.rsplit_once([' ', 'T'])
        && let Some(clock) = Clock::parse(time)
    {
        return Ok(clock.on(date(day, today)?));
    }
    Ok(date(text, today)?.and_time(default))
}

/// "12-14 Mar" (whole days), "12 Mar to 14 Mar", "A to B" with times.
fn stretch(text: &str, today: NaiveDate) -> Result<(NaiveDateTime, NaiveDateTime), String> {
    let whole = |a: NaiveDate, b: NaiveDate| {
        (a.and_time(NaiveTime::MIN), b.checked_add_signed(TimeDelta::days(1)).unwrap_or(b).and_time(NaiveTime::MIN))
    };
    if let Some((from, to)) = text.split_once(" to ") {
        let start = moment(from, today, NaiveTime::MIN)?;
        let timed = to.trim().rsplit_once([' ', 'T']).is_some_and(|(_, t)| Clock::parse(t).is_some());
        let end = moment(to, start.date(), NaiveTime::MIN)?;
        return Ok((start, if timed { end } else { whole(end.date(), end.date()).1 }));
    }
    let text = text.replace('–', "-");
    if let Some((days, month)) = text.trim().split_once(' ')
        && let Some((a, b)) = days.split_once('-')
    {
        let from = date(&format!("{a} {month}"), today)?;
        let to = date(&format!("{b} {month}"), from)?;
        return Ok(whole(from, to));
    }
    let day = date(&text, today)?;
    Ok(whole(day, day))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        date(text, NaiveDate::from_ymd_opt(2026, 12, 4).unwrap()).unwrap()
    }

    #[test]
    fn dates_as_people_say_them() {
        assert_eq!(day("19 Dec").to_string(), "2026-12-19");
        assert_eq!(day("Tue 1 Dec").to_string(), "2027-12-01");
        assert_eq!(day("29 February").to_string(), "2028-02-29");
        let today = NaiveDate::from_ymd_opt(2027, 3, 1).unwrap();
        let (from, to) = stretch("12-14 Mar", today).unwrap();
        assert_eq!((from.to_string(), to.to_string()), ("2027-03-12 00:00:00".into(), "2027-03-15 00:00:00".into()));
        let (from, to) = stretch("2027-03-12 15:00 to 2027-03-14 19:00", today).unwrap();
        assert_eq!((from.to_string(), to.to_string()), ("2027-03-12 15:00:00".into(), "2027-03-14 19:00:00".into()));
        for bad in ["", "31 Feb", "12-x Mar", "soon", "99 Dec to 3 Jan", "12- Mar", "💥 Mar"] {
            assert!(stretch(bad, today).is_err(), "{bad}");
        }
    }
}
