//! One joint from delivery to the freezer: dates, limits with what slack they leave, salt and heat by sum, readings, lot.

use chrono::TimeDelta;
use serde::Serialize;

use super::cooling::{self, Core};
use super::facts::{Asked, Facts, Job, State, list, when};
use super::page::{Col, Handle, Line, Page, Table, Voice, cell, plain, quiet, trouble, voiced};
use crate::app::heat::Heat;
use crate::app::record::{Noted, Tasted};
use crate::app::salt::Salt;
use crate::app::sentence::Sentence;
use crate::app::time::{self, length, minute};
use crate::kitchen::{Limits, Lot};
use crate::plan::{Because, Kind, When};
use crate::process::{durations, fit};
use crate::science::salt::Band;

/// A step of its way, and the limits that tie it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    #[serde(flatten)]
    pub job: Job,
    pub limits: Vec<Because>,
}

/// How long it can stay in the brine.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stay {
    pub put_in: When,
    /// The days of the rule, and when they are up.
    pub days: f64,
    pub cured: When,
    /// Best lifted by; and the limit.
    pub good_until: When,
    pub limit: When,
    pub limit_says: String,
    /// As planned, or as it happened.
    pub lift: When,
    /// Over the days asked for, per cent.
    pub over_percent: f64,
}

/// The salt by diffusion at a moment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SaltAt {
    pub at: When,
    /// Share of what it will take up in the end, and share at the core.
    pub uptake: Band,
    pub core: Band,
    pub mean_percent: Band,
}

/// The heat of its cook day by conduction.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeatOf {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hot: Option<When>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cold: Option<When>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cold_slow: Option<When>,
    pub limit: When,
}

/// A joint's story.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Joint {
    pub name: String,
    pub cut: String,
    pub owner: String,
    pub outcome: String,
    /// Expected, and on the kitchen's own scale, kg.
    pub expected_kg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weighed_kg: Option<f64>,
    /// Diameter and length, cm, and whether measured.
    pub size_cm: (f64, f64),
    pub measured: bool,
    pub bone_in: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lot: Option<Lot>,
    pub tub: String,
    pub mates: Vec<String>,
    pub space: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub arrives: Option<When>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stay: Option<Stay>,
    pub steps: Vec<Step>,
    pub ready: When,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ready_by: Option<When>,
    /// Salt now and on lifting; or why it is not reckoned.
    pub salt: Vec<SaltAt>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub salt_refused: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat: Option<HeatOf>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat_refused: Option<String>,
    pub readings: Vec<Core>,
    pub notes: Vec<Noted>,
    pub tastes: Vec<Tasted>,
    /// The others, for going from one to the next.
    pub all: Vec<String>,
    #[serde(skip)]
    now: i64,
}

impl Joint {
    /// # Errors
    /// When no joint of the plan has the name asked for.
    pub fn new(facts: &Facts, asked: &Asked) -> Result<Self, String> {
        let all: Vec<String> = facts.plan.joints.iter().map(|j| j.name.clone()).collect();
        let found = match &asked.of {
            Some(name) => facts.plan.joints.iter().position(|j| j.name.eq_ignore_ascii_case(name)),
            None if all.is_empty() => None,
            // The one that has something to do next.
            None => {
                let next = facts.next().and_then(|t| t.joints.first());
                Some(next.and_then(|n| all.iter().position(|a| a == n)).unwrap_or(0))
            }
        };
        let Some(j) = found else {
            let wanted = asked.of.as_deref().unwrap_or("");
            return Err(match all.is_empty() {
                true => "the plan has no joints".to_owned(),
                false => format!("no joint is called \"{wanted}\"; there are {}", list(&all)),
            });
        };
        let story = &facts.plan.joints[j];
        let own = facts.joint(&story.name).ok_or_else(|| format!("{} is not in the kitchen file", story.name))?;
        let load = facts.plan.loads.iter().find(|l| l.joints.contains(&story.name));
        let size = fit::size_of(own);
        let record = facts.record;
        let steps: Vec<Step> = facts
            .plan
            .tasks
            .iter()
            .filter(|t| t.joints.contains(&story.name))
            .map(|t| Step { job: facts.job(t), limits: t.because.clone() })
            .collect();
        let (salt, salt_refused) = salt(facts, j);
        let (heat, heat_refused) = if own.outcome.is_ham() { heat(facts, j) } else { (None, None) };
        let weighed = record.and_then(|r| r.weights.iter().rev().find(|w| w.joint == story.name));
        let far = TimeDelta::days(4000);
        let now = facts.at(facts.now);
        let about = |n: &&Noted| n.about == story.name || steps.iter().any(|s| s.job.id == n.about);
        Ok(Self {
            name: story.name.clone(),
            cut: own.cut.clone(),
            owner: own.owner.clone(),
            outcome: story.outcome.clone(),
            expected_kg: own.weight.as_kg(),
            weighed_kg: weighed.map(|w| w.grams / 1000.0).or(own.weighed.map(crate::units::Mass::as_kg)),
            size_cm: (size.diameter, size.length),
            measured: size.measured,
            bone_in: own.bone_in,
            lot: own.lot.clone(),
            tub: story.tub.clone(),
            mates: load.map_or_else(Vec::new, |l| l.joints.iter().filter(|n| **n != story.name).cloned().collect()),
            space: load.map_or_else(String::new, |l| l.space.clone()),
            arrives: own.arrives.map(|m| facts.at(facts.kitchen.zone.instant(m.0))),
            stay: stay(facts, j),
            ready: story.ready,
            ready_by: story.ready_by,
            salt,
            salt_refused,
            heat,
            heat_refused,
            readings: cooling::core(facts, &story.name, now - far, now + far),
            notes: record.map_or_else(Vec::new, |r| r.notes.iter().filter(about).cloned().collect()),
            tastes: record
                .map_or_else(Vec::new, |r| r.tastes.iter().filter(|t| t.joint == story.name).cloned().collect()),
            all,
            now: time::minute_utc(facts.now),
            steps,
        })
    }

    fn sentence(&self) -> Sentence {
        let open = |s: &&Step| matches!(s.job.state, State::Due | State::Running | State::Missed);
        let next = self.steps.iter().find(|s| open(s) && s.job.hands_minutes > 0);
        let next = next.map_or_else(String::new, |s| {
            format!(" Next for it: {}, {}.", super::facts::lower(s.job.short()), when(&s.job.start))
        });
        match self.ready_by {
            Some(by) if by < self.ready => trouble(format!(
                "{} is ready {}, {} after it is wanted.{next}",
                self.name,
                when(&self.ready),
                length((self.ready - by).num_minutes())
            )),
            Some(by) => plain(format!(
                "{} is ready {}, {} to spare.{next}",
                self.name,
                when(&self.ready),
                length((by - self.ready).num_minutes())
            )),
            None => plain(format!("{} is ready {}.{next}", self.name, when(&self.ready))),
        }
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        self.who_and_what(&mut p);
        if let Some(s) = &self.stay {
            self.stay(&mut p, s);
        }
        self.sums(&mut p);
        p.head("Its way");
        let mut t = Table::new(&[Col::Left, Col::Left, Col::Fill, Col::Left]);
        for s in &self.steps {
            let j = &s.job;
            let until = j.until();
            let until = if until.is_empty() { String::new() } else { format!(" ({until})") };
            let slack = match (j.latest - j.start).num_minutes() {
                0 => "no slack".to_owned(),
                m => format!("{} slack", length(m)),
            };
            let voice = if j.state == State::Due { Voice::Plain } else { j.state.voice() };
            let mark = if j.hands_minutes > 0 { j.state.cell() } else { quiet("╌") };
            t.row(
                Some(Handle::Task(j.id.clone())),
                vec![
                    mark,
                    voiced(when(&j.start), voice),
                    voiced(format!("{}{until}", j.says), voice),
                    quiet(if matches!(j.state, State::Due | State::Running) { slack } else { j.state.word().into() }),
                ],
            );
        }
        p.table(&t);
        self.limits(&mut p);
        if !self.readings.is_empty() {
            p.head("Core readings");
            let mut t = Table::new(&[Col::Left, Col::Right, Col::Fill]);
            for r in &self.readings {
                t.row(
                    None,
                    vec![
                        quiet(when(&r.at)),
                        voiced(format!("{:.1} °C", r.celsius), Voice::Strong),
                        quiet(r.by.clone()),
                    ],
                );
            }
            p.table(&t);
        }
        for (head, lines) in [
            ("Notes", self.notes.iter().map(|n| format!("{} {}", n.text, by(&n.by))).collect::<Vec<_>>()),
            ("Taste", self.tastes.iter().map(|t| format!("{} of 5: {} {}", t.score, t.text, by(&t.by))).collect()),
        ] {
            if !lines.is_empty() {
                p.head(head);
                lines.into_iter().for_each(|l| p.set_in(2, l, Voice::Plain));
            }
        }
        p
    }

    fn who_and_what(&self, p: &mut Page) {
        let mut l = Line { of: Some(Handle::Joint(self.name.clone())), ..Line::default() };
        l.push(self.name.clone(), Voice::Strong);
        let bone = if self.bone_in { ", on the bone" } else { "" };
        l.push(format!("  {}{bone}", self.outcome), Voice::Plain);
        p.line(l);
        let weight = match self.weighed_kg {
            Some(kg) => format!("weighed {kg:.2} kg (expected {:.1})", self.expected_kg),
            None => format!("expected {:.1} kg, not weighed yet", self.expected_kg),
        };
        let size = format!(
            "{:.1} cm thick, {:.1} cm long{}",
            self.size_cm.0,
            self.size_cm.1,
            if self.measured { "" } else { ", reckoned from the weight" }
        );
        let mut said = vec![self.cut.clone(), weight, size];
        if !self.owner.is_empty() {
            said.push(format!("for {}", self.owner));
        }
        said.retain(|s| !s.is_empty());
        p.set_in(2, super::brine::capital(&said.join("; ")) + ".", Voice::Plain);
        if !self.tub.is_empty() {
            let with = if self.mates.is_empty() { "alone".to_owned() } else { format!("with {}", list(&self.mates)) };
            p.set_in(2, format!("In {}, {with}, in {}.", self.tub, self.space), Voice::Plain);
        }
        if let Some(at) = &self.arrives {
            p.set_in(2, format!("Delivered {}.", when(at)), Voice::Plain);
        }
        let lot = match &self.lot {
            Some(lot) => {
                let killed =
                    lot.killed.map_or_else(String::new, |k| format!(", killed {}", time::date_words(k.0.date())));
                let tag = if lot.tag.is_empty() { String::new() } else { format!(", tag {}", lot.tag) };
                format!(
                    "Lot: {}{killed}{tag}.",
                    if lot.supplier.is_empty() { "supplier not noted" } else { &lot.supplier }
                )
            }
            None => "Lot: not noted, so it cannot be traced.".to_owned(),
        };
        p.set_in(2, lot, Voice::Quiet);
    }

    fn stay(&self, p: &mut Page, s: &Stay) {
        p.head("In the brine");
        let mut t = Table::within(&[Col::Left, Col::Left, Col::Fill]);
        let now = self.now;
        let left = |at: &When| {
            let m = minute(*at) - now;
            if m >= 0 { format!("in {}", length(m)) } else { format!("{} ago", length(m)) }
        };
        let over = format!("{:+.0} % on its days", s.over_percent);
        let spare = |at: &When| {
            let m = minute(*at) - minute(s.lift);
            if m >= 0 { format!("{} after the lift", length(m)) } else { format!("OVER by {}", length(m)) }
        };
        let mut row = |what: &str, at: &When, said: String, strong: bool| {
            let voice = if strong { Voice::Strong } else { Voice::Plain };
            t.row(None, vec![cell(what), voiced(when(at), voice), quiet(said)]);
        };
        row("put in", &s.put_in, left(&s.put_in), false);
        row("cured enough", &s.cured, format!("{:.1} days by the rule; never before", s.days), true);
        row("lift", &s.lift, format!("{}; {over}", left(&s.lift)), true);
        row("good until", &s.good_until, spare(&s.good_until), false);
        row("latest lift", &s.limit, format!("{}; {}", spare(&s.limit), s.limit_says), false);
        p.table(&t);
        p.set_in(2, bar(s, now, p.columns.saturating_sub(4)), Voice::Quiet);
    }

    fn sums(&self, p: &mut Page) {
        let percent = |b: &Band| {
            let [l, m, h] = [b.low, b.middle, b.high].map(|x| (100.0 * x).round());
            if l == h { format!("{m:.0} %") } else { format!("{m:.0} % ({l:.0} to {h:.0})") }
        };
        if self.salt.is_empty() && self.salt_refused.is_none() && self.heat.is_none() && self.heat_refused.is_none() {
            return;
        }
        p.head("By the sums, not measured");
        for s in &self.salt {
            p.set_in(
                2,
                format!(
                    "Salt {}: {} of what it will take up, {} at the core.",
                    when(&s.at),
                    percent(&s.uptake),
                    percent(&s.core)
                ),
                Voice::Plain,
            );
        }
        if let (Some(_), true) = (self.salt.first(), self.bone_in) {
            p.set_in(2, "The salt sum sees no bone.", Voice::Quiet);
        }
        if let Some(why) = &self.salt_refused {
            p.set_in(2, format!("Salt not reckoned: {why}."), Voice::Quiet);
        }
        if let Some(h) = &self.heat {
            let say = |m: &Option<When>, never: &str| m.as_ref().map_or_else(|| never.to_owned(), when);
            let over = h.cold_slow.is_none_or(|m| m > h.limit);
            p.set_in(
                2,
                format!(
                    "Core: 75 °C {}, 5 °C {}, at the slow end {}; limit {}{}.",
                    say(&h.hot, "not before the chill"),
                    say(&h.cold, "too late"),
                    say(&h.cold_slow, "too late"),
                    when(&h.limit),
                    if over {
                        ": OUTSIDE at the slow end; more ice, or split it after baking, and probe it"
                    } else {
                        ""
                    }
                ),
                if over { Voice::Trouble } else { Voice::Plain },
            );
        }
        if let Some(why) = &self.heat_refused {
            p.set_in(2, format!("Heat not reckoned: {why}."), Voice::Quiet);
        }
    }

    fn limits(&self, p: &mut Page) {
        let mut seen: Vec<&Because> = Vec::new();
        // What ties a mate in the same tub is told with the mate.
        let theirs = |b: &Because| self.mates.iter().any(|m| b.other.ends_with(&format!(" {m}")));
        for b in self.steps.iter().flat_map(|s| &s.limits).filter(|b| !theirs(b)) {
            if !seen.iter().any(|s| s.says == b.says) {
                seen.push(b);
            }
        }
        let of = |force: &str| seen.iter().copied().filter(|b| b.force == force).collect::<Vec<_>>();
        let (safety, quality) = (of("safety"), of("quality"));
        if safety.is_empty() && quality.is_empty() {
            return;
        }
        p.head("Limits it is held to");
        for b in safety {
            p.set_in(2, format!("Safety: {} ({}).", b.says, b.source), Voice::Plain);
        }
        let quality: Vec<&str> = quality.iter().map(|b| b.says.as_str()).collect();
        if !quality.is_empty() {
            p.set_in(2, format!("Quality: {}.", quality.join("; ")), Voice::Quiet);
        }
    }
}

fn by(who: &str) -> String {
    if who.is_empty() { String::new() } else { format!("({who})") }
}

fn stay(facts: &Facts, j: usize) -> Option<Stay> {
    let story = &facts.plan.joints[j];
    let own = facts.joint(&story.name)?;
    let limits = Limits::with(&facts.kitchen.limits);
    let find = |kind| facts.plan.tasks.iter().find(|t| t.kind == kind && t.joints.contains(&story.name));
    let done = |kind| find(kind).and_then(|t| facts.happened(&t.id)?.finished).map(|at| facts.at(at));
    // What happened counts before what was planned.
    let put_in = done(Kind::Submerge).unwrap_or(story.put_in);
    let lift = done(Kind::Rinse).unwrap_or(story.lift);
    let need = durations::cure(own, &facts.kitchen.cure);
    let good = durations::cure_longest_good(need, &facts.kitchen.cure, &limits);
    let longest = limits.get("brine_longest");
    let after = |m: i32| put_in + TimeDelta::minutes(i64::from(m));
    let stayed = (lift - put_in).num_minutes() as f64;
    Some(Stay {
        put_in,
        days: f64::from(need) / 1440.0,
        cured: after(need),
        good_until: after(good.min(longest.value as i32)),
        limit: after(longest.value as i32),
        limit_says: longest.says.clone(),
        lift,
        over_percent: (stayed / f64::from(need.max(1)) - 1.0) * 100.0,
    })
}

/// The stay on a line: in, cured, lift, good until, latest.
fn bar(s: &Stay, now: i64, columns: usize) -> String {
    let columns = columns.clamp(20, 100);
    let (from, to) = (minute(s.put_in), minute(s.limit));
    let at = |m: i64| ((m - from) * (columns as i64 - 1) / (to - from).max(1)).clamp(0, columns as i64 - 1) as usize;
    let mut cells = vec!['─'; columns];
    let (cured, lift, good) = (at(minute(s.cured)), at(minute(s.lift)), at(minute(s.good_until)));
    for (i, c) in cells.iter_mut().enumerate() {
        *c = match i {
            i if i < cured => '▒',
            i if i < lift => '█',
            i if i < good => '╌',
            _ => ' ',
        };
    }
    if (from..=to).contains(&now) {
        cells[at(now)] = '│';
    }
    cells[lift] = '↑';
    cells[columns - 1] = '▌';
    cells.into_iter().collect()
}

fn salt(facts: &Facts, j: usize) -> (Vec<SaltAt>, Option<String>) {
    match Salt::new(facts.kitchen, facts.plan, j) {
        Err(why) => (Vec::new(), Some(why)),
        Ok(salt) => {
            let now = time::minute_utc(facts.now);
            let mut moments = vec![now.clamp(salt.put_in, salt.lift), salt.lift];
            if now <= salt.put_in {
                moments.remove(0);
            }
            moments.dedup();
            let at = |m: i64| {
                let r = salt.at(m);
                let at = facts.at(time::instant(m));
                SaltAt { at, uptake: r.uptake, core: r.core, mean_percent: r.mean_percent }
            };
            (moments.into_iter().map(at).collect(), None)
        }
    }
}

fn heat(facts: &Facts, j: usize) -> (Option<HeatOf>, Option<String>) {
    match Heat::new(facts.kitchen, facts.plan, j) {
        Err(why) => (None, Some(why)),
        Ok(h) => {
            let at = |m: i64| facts.at(time::instant(m));
            let of =
                HeatOf { hot: h.hot.map(at), cold: h.cold.map(at), cold_slow: h.cold_slow.map(at), limit: at(h.limit) };
            (Some(of), None)
        }
    }
}
