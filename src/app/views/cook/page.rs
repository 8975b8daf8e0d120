//! A cook day, laid out.

use super::{Cook, Run};
use crate::app::sentence::Sentence;
use crate::app::time::{date_words, how_long};
use crate::app::views::cooling::{Foretold, Strip};
use crate::app::views::facts::{State, clock, day, list, lower, when};
use crate::app::views::page::{Col, Handle, Page, Table, Voice, cell, plain, quiet, trouble, voiced};
use crate::plan::{Kind, When};

impl Cook {
    fn sentence(&self) -> Sentence {
        let Some(date) = self.date else {
            return plain(match self.days.as_slice() {
                [] => "No ham is simmered in this plan.".to_owned(),
                some => {
                    let named: Vec<String> = some.iter().map(|d| date_words(*d)).collect();
                    format!("Nothing is cooked that day; cook days are {}.", list(&named))
                }
            });
        };
        if let Some(s) = self.strips.iter().find(|s| s.over) {
            return trouble(format!(
                "{} is past its cooling limit, {}, and no reading says it is at 5 °C: probe it; past the limit, throw it out.",
                s.joint,
                when(&s.limit)
            ));
        }
        if let Some(f) = self.late_forecast() {
            return trouble(f);
        }
        let Some(first) = self.runs.iter().min_by_key(|r| r.steps.first().map(|s| s.start)) else {
            return plain("Nothing is cooked that day.");
        };
        let last = self.runs.iter().map(|r| (r.in_chill, r.in_chill_slow, r.in_chill_by)).max();
        let up = first.steps.first().map_or_else(String::new, |s| clock(&s.start));
        let chill = last.map_or_else(String::new, |(a, b, by)| {
            let (spare, word) = ((by - b).num_minutes(), clock(&by));
            let held = if spare >= 0 { "before" } else { "past" };
            format!(
                "in the chill {}, at the slow end {}, {} {held} the {word} asked for",
                clock(&a),
                clock(&b),
                how_long(spare)
            )
        });
        let joints: Vec<&str> = self.runs.iter().flat_map(|r| &r.joints).map(String::as_str).collect();
        let first = list(&first.joints);
        let pots = if self.runs.len() > 1 {
            format!("{} first in the pot {up}; the last of {}", first, list(&joints))
        } else {
            format!("{first} in the pot {up},")
        };
        plain(format!("{}: {pots} {chill}.", date_words(date)))
    }

    /// What the readings say when they run past the slow end.
    fn late_forecast(&self) -> Option<String> {
        let hot = self.runs.iter().flat_map(|r| r.foretold.iter().map(move |f| (f, r.out_slow)));
        let hot = hot.filter(|(f, slow)| !f.reached && f.expected > *slow).map(|(f, slow)| {
            format!(
                "{} comes to 75 °C at about {}, after the slow end {}: see what to do.",
                f.joint,
                clock(&f.expected),
                clock(&slow)
            )
        });
        let cold = self.strips.iter().filter_map(|s| {
            let f = s.foretold.as_ref().filter(|f| !f.reached)?;
            (f.expected > s.limit).then(|| {
                format!(
                    "{} comes to 5 °C at about {}, past the limit {}: more ice now, or split it.",
                    f.joint,
                    when(&f.expected),
                    when(&s.limit)
                )
            })
        });
        cold.chain(hot).next()
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        for r in &self.runs {
            run_lines(&mut p, r);
        }
        if !self.strips.is_empty() {
            p.head("Cooling log, core at the thickest");
            for s in &self.strips {
                strip_lines(&mut p, s);
            }
            p.set_in(
                2,
                "Never left in its liquor to cool overnight: so much water stays warm past the limit (common practice).",
                Voice::Quiet,
            );
        }
        if !self.order.is_empty() {
            p.head("The whole day");
            let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Fill, Col::Right, Col::Left]);
            for j in &self.order {
                let until = j.until();
                let until = if until.is_empty() { String::new() } else { format!(" ({until})") };
                t.row(
                    Some(Handle::Task(j.id.clone())),
                    vec![
                        j.state.cell(),
                        voiced(clock(&j.start), if j.state == State::Due { Voice::Strong } else { j.state.voice() }),
                        quiet(""),
                        cell(format!("{}{until}", j.short())),
                        cell(j.hands()),
                        quiet(j.who.clone().unwrap_or_default()),
                    ],
                );
            }
            p.table(&t);
            if !self.out.is_empty() {
                // A pot on the ring needs somebody in the house, to its slow end.
                p.set_in(2, format!("Out: {}.", self.out.join("; ")), Voice::Quiet);
            }
        }
        if !self.oven.is_empty() {
            p.head("Oven");
            for (from, to, who) in &self.oven {
                let on = *from - chrono::TimeDelta::minutes(self.oven_heat_minutes);
                p.set_in(
                    2,
                    format!(
                        "on from {}, taken {} to {} ({who}); free before and after",
                        clock(&on),
                        clock(from),
                        clock(to)
                    ),
                    Voice::Plain,
                );
            }
        }
        p
    }
}

fn run_lines(p: &mut Page, r: &Run) {
    let kg: Vec<String> = r.joints.iter().zip(&r.kg).map(|(j, kg)| format!("{j} {kg:.1} kg")).collect();
    p.head(format!("{}: {}", r.pot, kg.join(", ")));
    if let Some(s) = r.steps.first() {
        let spare = (r.pot_up_by - s.start).num_minutes();
        let word = if spare >= 0 { "in hand" } else { "too late for that" };
        p.set_in(
            2,
            format!(
                "To be in the chill by {} the pot goes on by {}; planned {}, {} {word}.",
                clock(&r.in_chill_by),
                clock(&r.pot_up_by),
                clock(&s.start),
                how_long(spare)
            ),
            if spare >= 0 { Voice::Quiet } else { Voice::Trouble },
        );
    }
    let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Left, Col::Fill]);
    for s in &r.steps {
        let over = s.slow_end > s.end && s.kind != Kind::ScoreAndGlaze;
        let end = |at: &When| {
            if at.date_naive() == s.start.date_naive() { clock(at) } else { at.format("%a %H:%M").to_string() }
        };
        let slow = if over { format!("slow {}", end(&s.slow_end)) } else { String::new() };
        t.row(
            Some(Handle::Task(s.id.clone())),
            vec![
                s.state.cell(),
                voiced(clock(&s.start), Voice::Strong),
                cell(format!("to {}", end(&s.end))),
                quiet(slow),
                cell(s.says.clone()),
            ],
        );
    }
    p.table(&t);
    let boxes: Vec<String> = r.probes.iter().map(|b| format!("{} [____]", clock(&b.at))).collect();
    p.set_in(2, format!("Skewer and core, °C: {}", boxes.join(", ")), Voice::Plain);
    for (joint, log) in &r.readings {
        let read: Vec<String> = log.iter().map(|c| format!("{} {:.1}", clock(&c.at), c.celsius)).collect();
        p.set_in(2, format!("Read, {joint}: {} °C", read.join(", ")), Voice::Plain);
    }
    for f in &r.foretold {
        p.set_in(2, told(f), Voice::Accent);
    }
    for i in &r.if_not {
        p.set_in(2, format!("{}  {}", clock(&i.at), i.says), Voice::Plain);
    }
}

/// A forecast in words.
fn told(f: &Foretold) -> String {
    let n = if f.readings == 1 { "1 reading".to_owned() } else { format!("{} readings", f.readings) };
    let to = format!("{:.0} °C", f.target);
    let said = match (f.reached, &f.latest) {
        (true, _) => format!("{} reached {to} at {}, by the readings.", f.joint, clock(&f.expected)),
        (false, Some(latest)) => format!(
            "{} comes to {to} at about {}, nine chances in ten between {} and {}, by {n}: probe again before you act.",
            f.joint,
            clock(&f.expected),
            clock(&f.soonest),
            clock(latest)
        ),
        (false, None) => format!(
            "{} comes to {to} at about {}, not before {}; the late end is not in sight, by {n}.",
            f.joint,
            clock(&f.expected),
            clock(&f.soonest)
        ),
    };
    let notes: Vec<String> = f.notes.iter().map(|n| lower(n)).collect();
    if notes.is_empty() { said } else { format!("{said} Mind: {}.", notes.join("; ")) }
}

fn strip_lines(p: &mut Page, s: &Strip) {
    p.say(
        format!(
            "{}: out {}, in {} by {} at the latest; 5 °C {}, at the slow end {}; limit {}",
            s.joint,
            clock(&s.out),
            s.means,
            clock(&s.chill_by),
            when(&s.cold),
            when(&s.cold_slow),
            when(&s.limit)
        ),
        Voice::Plain,
    );
    let mut last = day(&s.out);
    let boxes: Vec<String> = s
        .read_at
        .iter()
        .map(|at| {
            let named = if day(at) == last { clock(at) } else { at.format("%a %H:%M").to_string() };
            last = day(at);
            let word = match at {
                at if *at == s.out => "out ",
                at if *at == s.chill => "in ",
                at if *at == s.cold => "≤ 5 ",
                at if *at == s.cold_slow => "slow ",
                _ => "",
            };
            let read = s.readings.iter().find(|r| (r.at - *at).num_minutes().abs() <= 15);
            let held = read.map_or_else(|| "____".to_owned(), |r| format!("{:.1}", r.celsius));
            format!("{word}{named} [{held}]")
        })
        .collect();
    p.set_in(2, boxes.join(", "), Voice::Plain);
    if let Some(f) = &s.foretold {
        p.set_in(2, told(f), Voice::Accent);
    }
    if let Some((cold, slow)) = &s.by_sum {
        let say = |at: &Option<When>| at.as_ref().map_or_else(|| "too late".to_owned(), when);
        let over = slow.is_none_or(|m| m > s.limit);
        let said =
            if over { ": past the limit at the slow end. More ice, or split it after baking; probe it" } else { "" };
        p.set_in(
            2,
            format!("By the heat sum 5 °C {}, at the slow end {}{said}.", say(cold), say(slow)),
            if over { Voice::Trouble } else { Voice::Quiet },
        );
    }
    if s.over {
        p.set_in(
            2,
            format!("Past the limit: {}. Probe it, and throw it out if it is not.", s.limit_says),
            Voice::Trouble,
        );
    }
}
