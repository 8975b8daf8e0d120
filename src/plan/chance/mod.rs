//! How likely a plan holds: seeded runs of slow simmers, late deliveries, heavier joints, forgotten turns and slow chills, with
//! what a cook would do about them; where a buffer helps most; and plans that trade something named for it.
//!
//! A run does not search anew. The plan's tasks slide to the right by the policy of [`run`], over the same links, calendars
//! and kit that the judge checks (Policella, Smith, Cesta and Oddi, 2004, for what is held over other tasks).

pub mod draw;
mod model;
mod robust;
mod run;

pub use draw::Luck;
pub use robust::{Robust, robust};

use super::history::History;
use super::judge::{Broken, Laid, lay_over};
use super::{Plan, When};
use crate::kitchen::{Kitchen, Limits};
use crate::process::Kind;
use crate::schedule::Minute;
use model::Model;
use run::{Fate, Gone, NEVER, go};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A share of the runs, with its 95 % interval (Wilson, 1927).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Share {
    pub share: f64,
    pub low: f64,
    pub high: f64,
}

impl Share {
    pub fn of(hits: u32, runs: u32) -> Self {
        let n = f64::from(runs.max(1));
        let p = f64::from(hits) / n;
        const Z: f64 = 1.959_963_984_540_054;
        let z2 = Z * Z / n;
        let middle = (p + z2 / 2.0) / (1.0 + z2);
        let half = Z / (1.0 + z2) * (p * (1.0 - p) / n + z2 / (4.0 * n)).sqrt();
        Self { share: p, low: (middle - half).max(0.0), high: (middle + half).min(1.0) }
    }
}

/// A joint's chance to be ready by its ready-by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JointChance {
    pub joint: String,
    pub ready_by: When,
    pub in_time: Share,
    /// Ready in half of the runs, and in nine of ten; missing when it never is inside the horizon.
    pub half: Option<When>,
    pub nine_in_ten: Option<When>,
}

/// A cook day's chance to have its hams in the chill by the wished hour.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CookChance {
    pub cook: String,
    pub planned: When,
    /// Time of day, as "17:00".
    pub hour: String,
    /// In by the hour, on whichever day it is cooked.
    pub by_the_hour: Share,
    /// Cooked on the planned day.
    pub on_the_day: Share,
}

/// A limit that some runs break.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Breaks {
    pub limit: String,
    pub force: String,
    pub source: String,
    pub task: String,
    pub share: Share,
}

/// What starting a task earlier would bring, checked by going through the same runs again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Buffer {
    pub task: String,
    /// Minutes earlier.
    pub earlier: i32,
    /// How much more often everything with a date is ready, and every cook day in the chill by its hour: differences of shares.
    pub all_ready: f64,
    pub all_chilled: f64,
    /// Largest gain of a single joint, and whose it is.
    pub joint: Option<(String, f64)>,
}

/// What the runs showed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chance {
    pub runs: u32,
    pub seed: u64,
    pub joints: Vec<JointChance>,
    pub cooks: Vec<CookChance>,
    /// Everything with a date ready in time; every cook day in the chill by its hour; no limit broken.
    pub all_ready: Share,
    pub all_chilled: Share,
    pub nothing_broken: Share,
    /// Most frequent first.
    pub breaks: Vec<Breaks>,
    /// The most helpful first; only what helps.
    pub buffers: Vec<Buffer>,
    /// What was drawn, and what the runs leave out.
    pub assumptions: Vec<String>,
}

/// How many runs, and of what luck.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Runs {
    pub runs: u32,
    pub seed: u64,
    pub luck: Luck,
    /// Whether to try buffers too, which takes some tens of times as long.
    pub buffers: bool,
}

/// Most breaks and buffers that are told.
const TOLD: usize = 8;

/// The plan gone through `runs` times.
///
/// # Errors
/// What the plan breaks in this kitchen, when it is not sound.
pub fn chance(kitchen: &Kitchen, plan: &Plan, runs: &Runs) -> Result<Chance, Vec<Broken>> {
    chance_after(kitchen, plan, None, runs)
}

/// The same for a plan of which some has happened: that stays as it was, and only what is to come is left to luck.
///
/// # Errors
/// What the plan breaks in this kitchen, when it is not sound.
pub fn chance_after(
    kitchen: &Kitchen,
    plan: &Plan,
    history: Option<&History>,
    runs: &Runs,
) -> Result<Chance, Vec<Broken>> {
    let sum = Sum::new(kitchen, plan, history)?;
    let fates = sum.fates(runs);
    let planned: Vec<Minute> = sum.model.jobs.iter().map(|j| j.planned).collect();
    let gone: Vec<Gone> = fates.iter().map(|f| go(&sum.model, &planned, f)).collect();
    Ok(sum.tell(runs, &planned, &fates, &gone))
}

/// The model of a plan in its kitchen.
struct Sum<'a> {
    kitchen: &'a Kitchen,
    limits: Limits,
    laid: Laid,
    model: Model,
    /// By cook: the minute of its own day by which the hams are to be in the chill, as minutes of the civil day.
    by: Minute,
}

/// How often everything was in time, in one set of runs.
struct Tally {
    joints: Vec<u32>,
    cooks: Vec<u32>,
    ready: u32,
    chilled: u32,
}

impl<'a> Sum<'a> {
    fn new(kitchen: &'a Kitchen, plan: &Plan, history: Option<&History>) -> Result<Self, Vec<Broken>> {
        let mut broken = Vec::new();
        let limits = Limits::with(&kitchen.limits);
        let Some(laid) = lay_over(kitchen, plan, history, false, &mut broken) else { return Err(broken) };
        if !broken.is_empty() {
            return Err(broken);
        }
        let model = Model::new(kitchen, &limits, &laid, history.map(|h| laid.axis.minute(h.now)));
        Ok(Self { kitchen, limits, laid, model, by: i32::from(kitchen.batch.in_chill_by.minutes) })
    }

    fn fates(&self, runs: &Runs) -> Vec<Fate> {
        (0..runs.runs).map(|r| Fate::draw(&self.model, &runs.luck, runs.seed, u64::from(r))).collect()
    }

    /// Minute at which the hams of a cook have to be in the chill, on the day on which it is cooked.
    fn chill_due(&self, gone: &Gone, cook: usize) -> Minute {
        let day = self.laid.axis.civil(gone.start[self.model.cooks[cook].simmer].min(self.model.horizon)).date();
        let civil = day.and_time(chrono::NaiveTime::MIN) + chrono::TimeDelta::minutes(i64::from(self.by));
        self.laid.axis.of_civil(civil)
    }

    fn in_the_chill(&self, gone: &Gone, cook: usize) -> bool {
        let last = self.model.cooks[cook].chills.iter().map(|c| gone.start[*c]).max().unwrap_or(0);
        last < NEVER && last <= self.chill_due(gone, cook)
    }

    fn ready(&self, gone: &Gone, joint: usize) -> bool {
        let j = &self.model.joints[joint];
        j.ready_by.is_none_or(|by| gone.end(j.ready) <= by)
    }

    fn tally<'g>(&self, gone: impl Iterator<Item = &'g Gone>) -> Tally {
        let mut t = Tally {
            joints: vec![0; self.model.joints.len()],
            cooks: vec![0; self.model.cooks.len()],
            ready: 0,
            chilled: 0,
        };
        for g in gone {
            let (mut ready, mut chilled) = (true, true);
            for (j, count) in t.joints.iter_mut().enumerate() {
                let ok = self.ready(g, j);
                *count += u32::from(ok);
                ready &= ok;
            }
            for (c, count) in t.cooks.iter_mut().enumerate() {
                let ok = self.in_the_chill(g, c);
                *count += u32::from(ok);
                chilled &= ok;
            }
            t.ready += u32::from(ready);
            t.chilled += u32::from(chilled);
        }
        t
    }

    fn tell(&self, runs: &Runs, planned: &[Minute], fates: &[Fate], gone: &[Gone]) -> Chance {
        let m = &self.model;
        let t = self.tally(gone.iter());
        let n = runs.runs;
        let when = |x: Minute| (x < m.horizon).then(|| self.laid.axis.when(x));
        let mut joints = Vec::new();
        for (j, joint) in self.kitchen.joints.iter().enumerate() {
            let Some(by) = m.joints[j].ready_by else { continue };
            let mut ends: Vec<Minute> = gone.iter().map(|g| g.end(m.joints[j].ready)).collect();
            ends.sort_unstable();
            let at = |share: f64| ends.get(((ends.len() as f64 * share) as usize).min(ends.len().max(1) - 1)).copied();
            joints.push(JointChance {
                joint: joint.name.clone(),
                ready_by: self.laid.axis.when(by),
                in_time: Share::of(t.joints[j], n),
                half: at(0.5).and_then(when),
                nine_in_ten: at(0.9).and_then(when),
            });
        }
        let cooks = m
            .cooks
            .iter()
            .enumerate()
            .map(|(c, cook)| {
                let day = |x: Minute| self.laid.axis.civil(x.min(m.horizon)).date();
                let same = gone.iter().filter(|g| day(g.start[cook.simmer]) == day(planned[cook.simmer])).count();
                CookChance {
                    cook: self.laid.batch.cook_ids[c].clone(),
                    planned: self.laid.axis.when(planned[cook.simmer]),
                    hour: format!("{:02}:{:02}", self.by / 60, self.by % 60),
                    by_the_hour: Share::of(t.cooks[c], n),
                    on_the_day: Share::of(same as u32, n),
                }
            })
            .collect();
        let (breaks, clean) = self.breaks(n, gone);
        Chance {
            runs: n,
            seed: runs.seed,
            joints,
            cooks,
            all_ready: Share::of(t.ready, n),
            all_chilled: Share::of(t.chilled, n),
            nothing_broken: Share::of(clean, n),
            breaks,
            buffers: if runs.buffers { self.buffers(n, planned, fates, &t) } else { Vec::new() },
            assumptions: self.assumptions(&runs.luck),
        }
    }

    /// Limits that runs break, most frequent first, and the number of runs that break none.
    fn breaks(&self, n: u32, gone: &[Gone]) -> (Vec<Breaks>, u32) {
        let m = &self.model;
        let mut seen: BTreeMap<(String, &str, String, usize), u32> = BTreeMap::new();
        let mut clean = 0;
        for g in gone {
            let mut mine: Vec<(&str, &str, &str, usize)> = Vec::new();
            for l in &m.limits {
                let (a, b) = (g.start[l.from], g.start[l.to]);
                if a < NEVER && (b >= NEVER || b > g.end(l.from) + l.most) {
                    mine.push((&l.says, l.force, &l.source, l.to));
                }
            }
            for (chill, _, _) in &m.chills {
                if g.minutes[*chill] > m.chill_limit.0 {
                    mine.push((&m.chill_limit.1, "safety", &m.chill_limit.2, *chill));
                }
            }
            for (l, (put, _)) in m.loads.iter().enumerate() {
                if g.start[*put] > g.arrived[l] + m.collect_limit.0 {
                    mine.push((&m.collect_limit.1, "safety", &m.collect_limit.2, *put));
                }
            }
            for cook in &m.cooks {
                let from = g.start[cook.simmer];
                let to = cook.bakes.iter().map(|b| g.end(*b)).max().unwrap_or(from);
                let at = m.home.partition_point(|o| o.to <= from);
                if from < NEVER && !m.home.get(at).is_some_and(|o| o.from <= from && to <= o.to) {
                    let l = self.limits.get("pot_alone");
                    mine.push((&l.says, "safety", &l.source, cook.simmer));
                }
            }
            mine.sort_unstable();
            mine.dedup();
            clean += u32::from(mine.is_empty());
            for (says, force, source, task) in mine {
                *seen.entry((says.to_owned(), force, source.to_owned(), task)).or_default() += 1;
            }
        }
        let mut all: Vec<Breaks> = seen
            .into_iter()
            .map(|((limit, force, source, task), hits)| Breaks {
                limit,
                force: force.to_owned(),
                source,
                task: m.ids[task].clone(),
                share: Share::of(hits, n),
            })
            .collect();
        all.sort_by(|a, b| b.share.share.total_cmp(&a.share.share));
        all.truncate(TOLD);
        (all, clean)
    }

    /// What an hour or a day before each piece of work would bring, in the same runs.
    fn buffers(&self, n: u32, planned: &[Minute], fates: &[Fate], base: &Tally) -> Vec<Buffer> {
        let m = &self.model;
        let share = |a: u32, b: u32| (f64::from(a) - f64::from(b)) / f64::from(n.max(1));
        let mut out: Vec<Buffer> = Vec::new();
        let mut heads: Vec<usize> = Vec::new();
        for (i, j) in m.jobs.iter().enumerate() {
            if matches!(
                j.kind,
                Kind::Submerge | Kind::Rinse | Kind::Simmer | Kind::Slice | Kind::VacuumPack | Kind::Firm
            ) {
                heads.push(m.head_of(i));
            }
        }
        heads.sort_unstable();
        heads.dedup();
        for head in heads {
            for earlier in [60, 1440] {
                let mut target = planned.to_vec();
                target[head] -= earlier;
                m.jobs[head].members.iter().for_each(|(x, _)| target[*x] -= earlier);
                let mut moved = None;
                if let (Kind::Submerge, Some(l)) = (m.jobs[head].kind, m.jobs[head].load) {
                    // Pork that is put in earlier comes earlier; with it every turn may.
                    let mut other = m.clone();
                    let joints = &m.loads[l].1;
                    for d in other.deliveries.iter_mut().filter(|d| d.joints.iter().any(|j| joints.contains(j))) {
                        d.at -= earlier;
                    }
                    let before = m.before(head);
                    for (i, j) in m.jobs.iter().enumerate() {
                        let mine = j.load == Some(l) || before.contains(&i);
                        if mine && i != head && !m.jobs[head].members.iter().any(|x| x.0 == i) {
                            target[i] -= earlier;
                        }
                    }
                    moved = Some(other);
                }
                let tried: Vec<Gone> = fates.iter().map(|f| go(moved.as_ref().unwrap_or(m), &target, f)).collect();
                let t = self.tally(tried.iter());
                let joint = (0..m.joints.len())
                    .map(|j| (self.kitchen.joints[j].name.clone(), share(t.joints[j], base.joints[j])))
                    .filter(|x| x.1 > 0.0)
                    .max_by(|a, b| a.1.total_cmp(&b.1));
                let b = Buffer {
                    task: m.ids[head].clone(),
                    earlier,
                    all_ready: share(t.ready, base.ready),
                    all_chilled: share(t.chilled, base.chilled),
                    joint,
                };
                if b.all_ready + b.all_chilled > 0.0 && b.all_ready.min(b.all_chilled) > -0.005 {
                    out.push(b);
                }
            }
        }
        out.sort_by(|a, b| (b.all_ready + b.all_chilled).total_cmp(&(a.all_ready + a.all_chilled)));
        out.truncate(TOLD);
        out
    }

    fn assumptions(&self, luck: &Luck) -> Vec<String> {
        let mut out = Vec::new();
        let of = |id: &str| {
            let l = self.limits.get(id);
            format!("{} {} ({}; {})", l.value, l.unit, l.says.trim_start_matches("for `turnday chance`: "), l.source)
        };
        for id in [
            "slow_simmer_factor",
            "chance_heavier_percent",
            "chance_late_delivery_percent",
            "chance_later_still_percent",
            "chance_missed_turn_percent",
            "chance_cook_slip_minutes",
        ] {
            out.push(of(id));
        }
        if luck.chill {
            out.push("a chill runs over its slow end one time in ten (common practice, no source)".to_owned());
        }
        out.push("simmer, chill and weight fall log-normally about what is planned; deliveries, joints, turns, pots and chills are independent".to_owned());
        out.push("left out: a joint too heavy for its tub or pot, illness, broken kit, and that a cook may find a better way".to_owned());
        out
    }
}
