//! Who is at home on a day, and what comes to the door.

use chrono::{NaiveDate, TimeDelta};

use super::facts::{Facts, clock, list, when};
use crate::plan::When;

/// Who is away on a date.
pub fn away(facts: &Facts, date: NaiveDate) -> Vec<String> {
    let mut out = Vec::new();
    for p in &facts.kitchen.people {
        for a in p.away.iter().filter(|a| a.from.0.date() <= date && a.to.0.date() >= date) {
            let from = if a.from.0.date() == date { a.from.0.format("from %H:%M ").to_string() } else { String::new() };
            let to = if a.to.0.date() == date {
                a.to.0.format("until %H:%M").to_string()
            } else {
                format!("until {}", a.to.0.format("%a %-d %b %H:%M"))
            };
            let why = if a.why.is_empty() { String::new() } else { format!(" ({})", a.why) };
            out.push(format!("{} away {from}{to}{why}", p.name));
        }
    }
    out
}

/// Who is out of the house on a date, with every hour and why.
pub fn out(facts: &Facts, date: NaiveDate) -> Vec<String> {
    use chrono::Datelike;
    let mut out = Vec::new();
    for p in &facts.kitchen.people {
        // One reason, all its hours.
        let mut hours: Vec<(&str, Vec<String>)> = Vec::new();
        for h in p.busy.iter().filter(|h| h.days.contains(date.weekday())) {
            let holds = h.since.is_none_or(|s| s.0.date() <= date) && h.until.is_none_or(|u| u.0.date() >= date);
            let span = format!("{}–{}", h.from, h.to);
            match hours.iter_mut().find(|x| x.0 == h.why).filter(|_| holds) {
                Some(x) => x.1.push(span),
                None if holds => hours.push((&h.why, vec![span])),
                None => {}
            }
        }
        for (why, spans) in hours {
            let why = if why.is_empty() { String::new() } else { format!(" ({why})") };
            out.push(format!("{} {}{why}", p.name, list(&spans)));
        }
    }
    out
}

/// When a joint comes, and whether the plan chose the moment.
pub fn comes(facts: &Facts, joint: &str) -> Option<(When, bool)> {
    let own = facts.joint(joint)?;
    match own.arrives {
        Some(m) => Some((facts.at(facts.kitchen.zone.instant(m.0)), false)),
        None => facts.plan.collect.as_ref().map(|c| (c.planned, true)),
    }
}

/// The last moment to collect that still keeps every date, where the plan chose the moment.
pub fn last_collect(facts: &Facts) -> String {
    let last = facts.plan.collect.as_ref().and_then(|c| c.last_possible);
    last.map_or_else(String::new, |l| format!("; the last moment that keeps every date is {}", when(&l)))
}

/// The pork that comes on a date, joints that come together on one line.
pub fn pork(facts: &Facts, date: NaiveDate) -> Vec<String> {
    let mut loads: Vec<(When, bool, Vec<&str>)> = Vec::new();
    for j in &facts.kitchen.joints {
        let Some((at, chosen)) = comes(facts, &j.name).filter(|c| c.0.date_naive() == date) else { continue };
        match loads.iter_mut().find(|l| l.0 == at) {
            Some(l) => l.2.push(&j.name),
            None => loads.push((at, chosen, vec![&j.name])),
        }
    }
    loads.sort_by_key(|l| l.0);
    let wait = TimeDelta::minutes(i64::from(
        crate::kitchen::Limits::with(&facts.kitchen.limits).minutes("collect_to_brine_limit"),
    ));
    let says = |(at, chosen, joints): &(When, bool, Vec<&str>)| {
        let (names, brine_by) = (list(joints), when(&(*at + wait)));
        match chosen {
            true => format!("Collect {names} by {}{}; in the brine by {brine_by}.", clock(at), last_collect(facts)),
            false => format!("{names} come {}; weigh, probe at 5 °C or under; in the brine by {brine_by}.", clock(at)),
        }
    };
    loads.iter().map(says).collect()
}
