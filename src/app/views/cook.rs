//! The cook day: running order back-timed from "in the chill by", pot by pot, and the cooling log.

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use super::cooling::{self, Core, Foretold, Strip};
use super::facts::{Asked, Facts, Job, State, clock, day, list, lower, when};
use super::page::{Col, Handle, Page, Table, Voice, cell, plain, quiet, trouble, voiced};
use crate::app::sentence::Sentence;
use crate::app::time::{date_words, length};
use crate::kitchen::Limits;
use crate::plan::{Kind, PlannedTask, When};

/// A moment at which something is read or tried, with an empty box or what was read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Probe {
    pub at: When,
    pub says: String,
}

/// A pot's run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Run {
    pub pot: String,
    pub joints: Vec<String>,
    pub kg: Vec<f64>,
    pub chilling: String,
    /// Simmer, glaze, bake, chill, in order.
    pub steps: Vec<Job>,
    /// Out of the pot as planned and at the slow end.
    pub out: When,
    pub out_slow: When,
    /// Into the chill as planned and at the slow end; wished by.
    pub in_chill: When,
    pub in_chill_slow: When,
    pub in_chill_by: When,
    /// Latest pot-up that has it in the chill by then, as planned.
    pub pot_up_by: When,
    /// Last moment out of the pot from which skin, bake and steam still end by the hour the house stops.
    pub last_out: When,
    pub house_stops: When,
    pub probes: Vec<Probe>,
    pub readings: Vec<(String, Vec<Core>)>,
    pub foretold: Vec<Foretold>,
    /// What to do when it is not tender, in order of time.
    pub if_not: Vec<Probe>,
}

/// A cook day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cook {
    /// Nothing when no cook day is planned.
    pub date: Option<NaiveDate>,
    /// Every cook day of the plan.
    pub days: Vec<NaiveDate>,
    pub runs: Vec<Run>,
    /// Everything that is done that day, in order of start.
    pub order: Vec<Job>,
    /// When the oven is taken, by whom.
    pub oven: Vec<(When, When, String)>,
    pub strips: Vec<Strip>,
    pub now: When,
}

impl Cook {
    pub fn new(facts: &Facts, asked: &Asked) -> Self {
        let simmers = || facts.plan.tasks.iter().filter(|t| t.kind == Kind::Simmer);
        let mut days: Vec<NaiveDate> = simmers().map(|t| t.start.date_naive()).collect();
        days.dedup();
        let today = facts.today();
        let date = match asked.on {
            Some(d) => days.contains(&d).then_some(d),
            None => days.iter().copied().find(|d| *d >= today).or(days.last().copied()),
        };
        let on = |t: &&PlannedTask| Some(t.start.date_naive()) == date;
        let runs: Vec<Run> = simmers().filter(on).filter_map(|t| run(facts, t)).collect();
        let of_today = |t: &&PlannedTask| on(t) && t.kind != Kind::Rest;
        let oven = facts.plan.tasks.iter().filter(on).flat_map(|t| {
            let mine = t.uses.iter().filter(|u| u.thing == "oven");
            mine.map(|u| (u.from, u.to, list(&t.joints)))
        });
        let chills = facts.plan.tasks.iter().filter(on).filter(|t| t.kind == Kind::Chill);
        Self {
            date,
            days,
            order: facts.plan.tasks.iter().filter(of_today).map(|t| facts.job(t)).collect(),
            oven: oven.collect(),
            strips: chills.flat_map(|t| cooling::strips(facts, t)).collect(),
            runs,
            now: facts.at(facts.now),
        }
    }

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
                length(spare)
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
        }
        if !self.oven.is_empty() {
            p.head("Oven");
            for (from, to, who) in &self.oven {
                p.set_in(
                    2,
                    format!("taken {} to {} ({who}); free before and after", clock(from), clock(to)),
                    Voice::Plain,
                );
            }
        }
        p
    }
}

fn run(facts: &Facts, simmer: &PlannedTask) -> Option<Run> {
    let mine = |t: &&PlannedTask| {
        matches!(t.kind, Kind::Simmer | Kind::ScoreAndGlaze | Kind::Bake | Kind::Chill)
            && t.joints.iter().any(|j| simmer.joints.contains(j))
            && t.start >= simmer.start
    };
    let tasks: Vec<&PlannedTask> = facts.plan.tasks.iter().filter(mine).collect();
    let chill = tasks.iter().filter(|t| t.kind == Kind::Chill).max_by_key(|t| t.start)?;
    let bake = tasks.iter().filter(|t| t.kind == Kind::Bake).max_by_key(|t| t.start);
    let cook = facts.plan.cooks.iter().find(|c| c.joints.iter().any(|j| simmer.joints.contains(j)));
    let pots = &facts.kitchen.kit.pots;
    let used = simmer.uses.iter().find(|u| pots.iter().any(|p| p.name == u.thing)).map(|u| u.thing.clone());
    let batch = &facts.kitchen.batch;
    let date = simmer.start.date_naive();
    let in_chill_by = facts.civil(date, batch.in_chill_by.minutes);
    let house_stops = facts.civil(date, batch.not_after.minutes);
    // From the end of the simmer to the start of the chill the day runs as planned, however late it began.
    let rest_of_it = chill.start - simmer.end;
    let slow = bake.map_or(simmer.slow_end + rest_of_it, |b| b.slow_end + (chill.start - b.end));
    let last_out = house_stops - rest_of_it;
    let kg = simmer.joints.iter().filter_map(|n| facts.joint(n)).map(|j| j.planned_weight().as_kg());
    let readings: Vec<(String, Vec<Core>)> = simmer
        .joints
        .iter()
        .map(|j| (j.clone(), cooling::core(facts, j, simmer.start, chill.start.min(last_out).max(simmer.slow_end))))
        .filter(|r| !r.1.is_empty())
        .collect();
    let foretold = readings.iter().filter_map(|(j, log)| cooling::hot(facts, j, log)).collect();
    let mut probes = Vec::new();
    let mut at = simmer.end - TimeDelta::hours(1);
    while at < simmer.slow_end {
        if at > simmer.start {
            probes.push(Probe { at, says: "core; skewer".to_owned() });
        }
        at += TimeDelta::minutes(30);
    }
    probes.push(Probe { at: simmer.slow_end, says: "core; skewer; slow end".to_owned() });
    let at_home = facts.kitchen.people.iter().flat_map(|p| {
        // Who must leave the house in the hours it may run over.
        p.busy.iter().filter(|h| h.days.contains(chrono::Datelike::weekday(&date))).filter_map(|h| {
            let since = h.since.is_none_or(|s| s.0.date() <= date);
            let until = h.until.is_none_or(|u| u.0.date() >= date);
            let from = facts.civil(date, h.from.minutes);
            (since && until && from > simmer.end && from < slow)
                .then(|| format!("{} out from {}", p.name, clock(&from)))
        })
    });
    let at_home: Vec<String> = at_home.collect();
    Some(Run {
        pot: cook.map(|c| c.pot.clone()).or(used).unwrap_or_default(),
        joints: simmer.joints.clone(),
        kg: kg.collect(),
        chilling: cook.map_or_else(String::new, |c| c.chilling.clone()),
        out: simmer.end,
        out_slow: simmer.slow_end,
        in_chill: chill.start,
        in_chill_slow: slow,
        in_chill_by,
        pot_up_by: in_chill_by - (chill.start - simmer.start),
        last_out,
        house_stops,
        probes,
        readings,
        foretold,
        if_not: if_not(facts, simmer, rest_of_it, slow, last_out, &at_home),
        steps: tasks.iter().map(|t| facts.job(t)).collect(),
    })
}

/// Common practice, no source; the limits are the house's own.
fn if_not(
    facts: &Facts,
    simmer: &PlannedTask,
    rest_of_it: TimeDelta,
    slow: When,
    last_out: When,
    at_home: &[String],
) -> Vec<Probe> {
    let limits = Limits::with(&facts.kitchen.limits);
    let bake = limits.get("simmer_to_bake_limit");
    let home =
        if at_home.is_empty() { String::new() } else { format!(" Somebody stays with the pot: {}.", list(at_home)) };
    let mut out = vec![
        Probe {
            at: simmer.end,
            says: format!(
                "If not tender: leave it in, barely moving, and try again every 20 min. Bake and chill slide with it.{home}"
            ),
        },
        Probe {
            at: simmer.slow_end,
            says: format!(
                "If not tender: still leave it in. Out by now it is in the chill {}; each 10 min more is 10 min later. More ice, and a check of the core late in the evening.",
                clock(&slow)
            ),
        },
    ];
    if last_out > simmer.slow_end {
        out.push(Probe {
            at: last_out,
            says: format!(
                "If still in the pot: leave out the bake. {} from here to the chill would end after the house stops. Core at 75 °C, skin it, chill it at once; a ham that waits over {} for the oven and falls under 63 °C is chilled too, and heated right through another day.",
                length(rest_of_it.num_minutes()),
                length(bake.value as i64)
            ),
        });
    }
    out
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
                length(spare)
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
