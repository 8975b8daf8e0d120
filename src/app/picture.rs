//! The small plot of the detail pane: the salt of a joint in its brine, or the heat of a ham on its cook day.

use super::chart::{Chart, RowKind};
use super::heat::Heat;
use super::salt::Salt;
use super::state::State;
use super::time::{DAY, HOUR, Min, civil, civil_minutes, clock_words, date_words, when};
use crate::kitchen::Zone;
use crate::plan::Kind;
use crate::process::bridge;
use crate::science::salt::Band;

/// How a curve is drawn, so that two can be told apart without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grain {
    Full,
    Dotted,
}

/// A curve as thick as its doubt.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    pub name: &'static str,
    pub grain: Grain,
    /// Moment, low, high; in order of time.
    pub points: Vec<(Min, f64, f64)>,
}

impl Curve {
    /// Low and high at a moment, on straight lines; nothing outside the curve.
    pub fn at(&self, at: f64) -> Option<(f64, f64)> {
        let i = self.points.partition_point(|p| p.0 as f64 <= at);
        let a = self.points.get(i.checked_sub(1)?)?;
        let Some(b) = self.points.get(i) else {
            return (at <= a.0 as f64).then_some((a.1, a.2));
        };
        let f = (at - a.0 as f64) / (b.0 - a.0).max(1) as f64;
        Some((a.1 + f * (b.1 - a.1), a.2 + f * (b.2 - a.2)))
    }
}

/// What is along the bottom.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Along {
    DaysFrom(Min),
    Clock,
}

/// A plot as data. The value axis begins at 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    pub title: String,
    pub from: Min,
    pub to: Min,
    pub top: f64,
    /// Values named at the left; those with a line are limits.
    pub levels: Vec<(f64, &'static str, bool)>,
    pub curves: Vec<Curve>,
    /// Moments with a name, what matters most first.
    pub marks: Vec<(Min, &'static str)>,
    /// What kind of figure this is.
    pub said: String,
    along: Along,
}

/// Salt or heat, of one joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Story {
    Salt,
    Heat,
}

/// What the selection has to show: which story, of which joint, out of how many.
fn subject(state: &State, chart: &Chart) -> Option<(Story, usize, usize)> {
    let s = state.selected?;
    let Some(t) = s.task else {
        let RowKind::Joint(j) = chart.rows[s.row].kind else { return None };
        return Some((Story::Salt, j, 1));
    };
    let of = |name: &String| chart.plan.joints.iter().position(|j| j.name == *name);
    let mut joints: Vec<usize> = chart.plan.tasks[t].joints.iter().filter_map(of).collect();
    let ham = |j: &usize| {
        let name = &chart.plan.joints[*j].name;
        state.kitchen.joints.iter().any(|k| k.name == *name && k.outcome.is_ham())
    };
    let kind = chart.tasks[t].kind;
    let heat = match kind {
        Kind::Simmer | Kind::ScoreAndGlaze | Kind::Bake | Kind::Chill => true,
        Kind::Slice | Kind::VacuumPack | Kind::Freeze => joints.iter().all(ham),
        _ => false,
    };
    let thickness = |j: usize| {
        let name = &chart.plan.joints[j].name;
        state.kitchen.joints.iter().find(|k| k.name == *name).map_or(0.0, |k| bridge::size(k).diameter.as_cm())
    };
    // The thickest first: the last to be hot, and where the salt is even the last to be cured.
    joints.sort_by(|a, b| thickness(*b).total_cmp(&thickness(*a)));
    let n = joints.len();
    if heat {
        return Some((Story::Heat, *joints.first()?, n));
    }
    let at = moment(chart, t);
    let uptake = |j: usize| chart.salt(&state.kitchen, j).map_or(0.0, |s| s.at(s.moment(at)).uptake.middle);
    let least = joints.into_iter().map(|j| (uptake(j), j)).min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some((Story::Salt, least.1, n))
}

/// The moment that a task's salt is told for.
fn moment(chart: &Chart, t: usize) -> Min {
    chart.tasks[t].start
}

/// What is known of the salt or the heat at the task in hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figures {
    /// One line, with its doubt.
    pub text: String,
    /// By the sum it is not cold when the limit is up.
    pub late: bool,
}

/// The figures of the selection; why there are none, when the sum cannot be done.
pub fn figures(state: &State, chart: &Chart) -> Option<Figures> {
    let (story, j, n) = subject(state, chart)?;
    let name = &chart.plan.joints[j].name;
    let who = match (story, n) {
        (_, ..2) => String::new(),
        (Story::Salt, _) => format!(", least in {name}"),
        (Story::Heat, _) => format!(", thickest {name}"),
    };
    let late = |h: &Heat| h.cold.is_none_or(|m| m > h.limit);
    Some(match story {
        Story::Salt => Figures {
            text: match chart.salt(&state.kitchen, j) {
                Err(why) => format!("salt not reckoned{who}: {why}"),
                Ok(salt) => salt_words(state, chart, salt, &who),
            },
            late: false,
        },
        Story::Heat => match chart.heat(&state.kitchen, j) {
            Err(why) => Figures { text: format!("heat not reckoned{who}: {why}"), late: false },
            Ok(heat) => Figures { text: heat_words(state.kitchen.zone, heat, &who), late: late(heat) },
        },
    })
}

fn salt_words(state: &State, chart: &Chart, salt: &Salt, who: &str) -> String {
    let at = salt.moment(state.selected_task().map_or(state.now, |t| moment(chart, t)));
    let r = salt.at(at);
    let lift = if at == salt.lift { " on lifting" } else { "" };
    let bone = if salt.bone_in { "; the sum sees no bone" } else { "" };
    let date = date_words(civil(state.kitchen.zone, at).date());
    format!("salt{lift}{who}: {} of what it will take up, core {}, {date}{bone}", percent(r.uptake), percent(r.core))
}

fn heat_words(zone: Zone, heat: &Heat, who: &str) -> String {
    // The day is named when it is not the day last named.
    let clock = |m: Option<Min>, day: Min, never: &str| match m {
        Some(m) if civil(zone, m).date() == civil(zone, day).date() => clock_words(civil(zone, m)),
        Some(m) => when(zone, m),
        None => never.to_owned(),
    };
    let hot = clock(heat.hot, heat.pot_up, "not before the chill");
    let cold = clock(heat.cold, heat.pot_up, "too late");
    let slow = clock(heat.cold_slow, heat.cold.unwrap_or(heat.pot_up), "too late");
    let over = |m: Option<Min>| m.is_none_or(|m| m > heat.limit);
    let judged = match (over(heat.cold), over(heat.cold_slow)) {
        (true, _) => "past limit",
        (_, true) => "slow end past limit",
        _ => "limit",
    };
    let limit = clock(Some(heat.limit), heat.cold.unwrap_or(heat.pot_up), "");
    format!("sum{who}, probe it: 75 °C {hot}, 5 °C {cold} to {slow}; {judged} {limit}")
}

/// `62 % (58 to 66)`.
fn percent(b: Band) -> String {
    let [low, middle, high] = [b.low, b.middle, b.high].map(|x| (100.0 * x).round());
    if low == high { format!("{middle:.0} %") } else { format!("{middle:.0} % ({low:.0} to {high:.0})") }
}

/// The plot for the selection; nothing when there is none to show.
pub fn picture(state: &State, chart: &Chart) -> Option<Picture> {
    let (story, j, n) = subject(state, chart)?;
    of(state, chart, story, j, n)
}

/// The salt of a joint of the plan, by its number.
pub fn salt_picture(state: &State, chart: &Chart, joint: usize) -> Option<Picture> {
    (joint < chart.plan.joints.len()).then(|| of(state, chart, Story::Salt, joint, 1))?
}

/// The heat of a joint of the plan on its cook day, by its number.
pub fn heat_picture(state: &State, chart: &Chart, joint: usize) -> Option<Picture> {
    (joint < chart.plan.joints.len()).then(|| of(state, chart, Story::Heat, joint, 1))?
}

fn of(state: &State, chart: &Chart, story: Story, j: usize, n: usize) -> Option<Picture> {
    let name = &chart.plan.joints[j].name;
    match story {
        Story::Salt => {
            let (salt, curve) = (chart.salt(&state.kitchen, j).ok()?, chart.salt_curve(&state.kitchen, j)?);
            let of = |f: fn(&crate::science::salt::Reached) -> Band| {
                curve.iter().map(|(m, r)| (*m, 100.0 * f(r).low, 100.0 * f(r).high)).collect()
            };
            let air = (salt.end() - salt.put_in) / 25;
            Some(Picture {
                title: if n > 1 {
                    format!("Salt by sum: {name}, least of {n}")
                } else {
                    format!("Salt by sum: {name}")
                },
                from: salt.put_in - air,
                to: salt.end() + air,
                top: 100.0,
                levels: vec![(100.0, "100 %", false), (50.0, "50 %", false), (0.0, "0 %", false)],
                curves: vec![
                    Curve { name: "taken up", grain: Grain::Full, points: of(|r| r.uptake) },
                    Curve { name: "core", grain: Grain::Dotted, points: of(|r| r.core) },
                ],
                marks: vec![
                    (state.now, "now"),
                    (salt.lift, "lift"),
                    (salt.rule, "rule's day"),
                    (salt.put_in, "put in"),
                ],
                said: "% of its final salt, a sum by diffusion as thick as its doubt, not a measurement".into(),
                along: Along::DaysFrom(salt.put_in),
            })
        }
        Story::Heat => {
            let heat = chart.heat(&state.kitchen, j).ok()?;
            let air = (heat.limit - heat.pot_up) / 40;
            let mut marks = vec![(state.now, "now"), (heat.limit, "limit"), (heat.chill, "chill")];
            marks.extend(heat.bake.map(|m| (m, "bake")));
            marks.push((heat.pot_up, "pot up"));
            Some(Picture {
                title: match n {
                    ..2 => format!("Core reckoned: {name}"),
                    n => format!("Core reckoned: {name}, thickest of {n}"),
                },
                from: heat.pot_up - air,
                to: heat.curve.last().map_or(heat.limit, |c| c.0),
                top: 100.0,
                levels: vec![(super::heat::HOT, "75 °C", true), (5.0, "5 °C", true)],
                curves: vec![Curve {
                    name: "core",
                    grain: Grain::Full,
                    points: heat.curve.iter().map(|(m, a, b)| (*m, a.min(*b), a.max(*b))).collect(),
                }],
                marks,
                said:
                    "reckoned by conduction from 5 °C, one body carried from stage to stage, as thick as its slow end: \
                       probe it"
                        .into(),
                along: Along::Clock,
            })
        }
    }
}

impl Picture {
    /// Moments to name along the bottom of a plot so many columns wide.
    pub fn ticks(&self, zone: Zone, cols: u16) -> Vec<(Min, String)> {
        let least = |room: i64| (self.to - self.from) * room / i64::from(cols.max(1));
        match self.along {
            Along::DaysFrom(first) => {
                let step =
                    [1, 2, 5, 10, 20, 50].map(|d| d * DAY).into_iter().find(|s| *s >= least(5)).unwrap_or(100 * DAY);
                (0..)
                    .map(|i| (first + i * step, i * step / DAY))
                    .take_while(|t| t.0 <= self.to)
                    .map(|(m, d)| (m, if d == 0 { "day 0".to_owned() } else { d.to_string() }))
                    .collect()
            }
            Along::Clock => {
                let step =
                    [1, 2, 3, 4, 6, 12].map(|h| h * HOUR).into_iter().find(|s| *s >= least(8)).unwrap_or(24 * HOUR);
                let wall = civil_minutes(zone, self.from);
                let first = self.from + (step - wall.rem_euclid(step)) % step;
                (0..)
                    .map(|i| first + i * step)
                    .take_while(|m| *m <= self.to)
                    .map(|m| {
                        let t = civil(zone, m);
                        let midnight = civil_minutes(zone, m).rem_euclid(DAY) == 0;
                        (m, if midnight { t.format("%a %-d").to_string() } else { clock_words(t) })
                    })
                    .collect()
            }
        }
    }
}

impl Salt {
    /// The last moment of its plot.
    fn end(&self) -> Min {
        self.lift.max(self.rule).max(self.put_in + HOUR)
    }

    /// The moment to tell figures for: the one asked while it is in the brine, its lift before and after.
    fn moment(&self, at: Min) -> Min {
        if at > self.put_in && at < self.lift { at } else { self.lift }
    }
}
