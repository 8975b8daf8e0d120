//! The plan laid out as lines: one a joint, then the kit and the people. Worked out once a plan, read by every frame.

use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

use super::ground::Ground;
use super::heat::Heat;
use super::salt::Salt;
use super::time::{DAY, Min, minute};
use crate::kitchen::Kitchen;
use crate::plan::{Kind, Plan, PlannedTask};
use crate::process::fit::tub_floor;
use crate::science::salt::Reached;

/// How a task stands: each has a shape of its own on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Mark {
    Done,
    Due,
    Pinned,
    Moved,
    /// Its time is past, and no record is kept that could say whether it was done.
    Past,
    /// Its time is past and nobody has ticked it off.
    Late,
}

/// A task's moments, in minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Task {
    pub kind: Kind,
    pub start: Min,
    pub end: Min,
    pub slow_end: Min,
    pub earliest: Min,
    pub latest: Min,
    pub hands: i64,
}

/// What a line is about; the number is the place in the kitchen file's (joints: the plan's) list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RowKind {
    Joint(usize),
    Tub(usize),
    Cold(usize),
    /// Pots, rings, oven, chilling, packer, freezer.
    Kit,
    Person(usize),
}

/// A stretch for which a thing is taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    pub from: Min,
    pub to: Min,
    /// How much of it is taken, in eighths, 1 to 8.
    pub eighths: u8,
    /// What takes it.
    pub words: String,
}

/// A line of the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub kind: RowKind,
    pub name: String,
    /// A figure with its unit, right-aligned beside the name.
    pub figure: String,
    /// Its tasks in order of start.
    pub tasks: Vec<usize>,
    pub holds: Vec<Hold>,
}

/// The moments of a joint's life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Story {
    pub put_in: Min,
    pub cured: Min,
    pub lift: Min,
    pub ready: Min,
    pub ready_by: Option<Min>,
    /// When two fifths and three fifths of the salt it will take up are in: when its bar deepens.
    pub deepens: [Min; 2],
}

/// A plan, laid out.
#[derive(Debug, Clone)]
pub struct Chart {
    pub plan: Plan,
    /// In the plan's order.
    pub tasks: Vec<Task>,
    /// Task numbers in order of start.
    pub order: Vec<usize>,
    /// Joints first, then kit and people.
    pub rows: Vec<Row>,
    /// How many rows are joints.
    pub joints: usize,
    pub stories: Vec<Story>,
    pub first: Min,
    pub last: Min,
    pub ground: Ground,
    by_id: HashMap<String, usize>,
    sums: Vec<Sums>,
}

/// What is reckoned of a joint, when somebody first looks at it.
#[derive(Debug, Clone, Default)]
struct Sums {
    salt: OnceLock<Result<Salt, String>>,
    salt_curve: OnceLock<Vec<(Min, Reached)>>,
    heat: OnceLock<Result<Heat, String>>,
}

impl Chart {
    /// Lays a plan out; one with nothing in it stands at `now`.
    pub fn new(kitchen: &Kitchen, plan: Plan, now: Min) -> Arc<Self> {
        let tasks: Vec<Task> = plan.tasks.iter().map(task).collect();
        let mut order: Vec<usize> = (0..tasks.len()).collect();
        order.sort_by_key(|&t| (tasks[t].start, tasks[t].end));
        let sums: Vec<Sums> = plan.joints.iter().map(|_| Sums::default()).collect();
        let stories: Vec<Story> = plan
            .joints
            .iter()
            .enumerate()
            .map(|(i, j)| {
                let (put_in, cured) = (minute(j.put_in), minute(j.cured));
                // Without what the sum needs, thirds of the days the rule asks for.
                let thirds = [put_in + (cured - put_in) / 3, put_in + (cured - put_in) * 2 / 3];
                Story {
                    put_in,
                    cured,
                    lift: minute(j.lift),
                    ready: minute(j.ready),
                    ready_by: j.ready_by.map(minute),
                    deepens: salt(kitchen, &plan, &sums, i).map_or(thirds, Salt::deepens),
                }
            })
            .collect();
        let ends = stories.iter().flat_map(|s| [Some(s.ready), s.ready_by]).flatten();
        let first = tasks.iter().map(|t| t.start).chain(stories.iter().map(|s| s.put_in)).min().unwrap_or(now);
        let last = tasks.iter().map(|t| t.end).chain(ends).max().unwrap_or(first).max(first);
        let rows = rows(kitchen, &plan, &order, &stories);
        let joints = rows.iter().filter(|r| matches!(r.kind, RowKind::Joint(_))).count();
        // People's hours are known as far as a person would pan.
        let ground = Ground::new(kitchen, first - 60 * DAY, last.min(first + 1000 * DAY) + 60 * DAY);
        let by_id = plan.tasks.iter().enumerate().map(|(i, t)| (t.id.clone(), i)).collect();
        Arc::new(Self { plan, tasks, order, rows, joints, stories, first, last, ground, by_id, sums })
    }

    /// The number of a task by its stable name.
    pub fn task(&self, id: &str) -> Option<usize> {
        self.by_id.get(id).copied()
    }

    /// How far the salt gets into a joint of the plan; why it cannot be told.
    pub fn salt(&self, kitchen: &Kitchen, joint: usize) -> Result<&Salt, &str> {
        salt(kitchen, &self.plan, &self.sums, joint)
    }

    /// Its salt from putting in to lifting.
    pub fn salt_curve(&self, kitchen: &Kitchen, joint: usize) -> Option<&[(Min, Reached)]> {
        let salt = self.salt(kitchen, joint).ok()?;
        Some(self.sums[joint].salt_curve.get_or_init(|| salt.curve()))
    }

    /// The heat of a ham's cook day; why it cannot be told.
    pub fn heat(&self, kitchen: &Kitchen, joint: usize) -> Result<&Heat, &str> {
        self.sums[joint].heat.get_or_init(|| Heat::new(kitchen, &self.plan, joint)).as_ref().map_err(String::as_str)
    }

    /// Strips: everything that is not a joint.
    pub fn strips(&self) -> usize {
        self.rows.len() - self.joints
    }

    /// The first line that a task is on; the joint's when it serves one.
    pub fn row_of(&self, task: usize) -> Option<usize> {
        self.rows.iter().position(|r| r.tasks.contains(&task))
    }

    /// Place in `order` of the first task that starts at or after a moment.
    pub fn from(&self, at: Min) -> usize {
        self.order.partition_point(|&t| self.tasks[t].start < at)
    }
}

fn salt<'a>(kitchen: &Kitchen, plan: &Plan, sums: &'a [Sums], joint: usize) -> Result<&'a Salt, &'a str> {
    sums[joint].salt.get_or_init(|| Salt::new(kitchen, plan, joint)).as_ref().map_err(String::as_str)
}

fn task(t: &PlannedTask) -> Task {
    let start = minute(t.start);
    let end = minute(t.end).max(start);
    Task {
        kind: t.kind,
        start,
        end,
        slow_end: minute(t.slow_end).max(end),
        earliest: minute(t.earliest).min(start),
        latest: minute(t.latest).max(start),
        hands: i64::from(t.hands_minutes.max(0)),
    }
}

fn rows(kitchen: &Kitchen, plan: &Plan, order: &[usize], stories: &[Story]) -> Vec<Row> {
    // Who is on which line, gathered in one pass over the tasks.
    let mut of_joint: HashMap<&str, Vec<usize>> = HashMap::new();
    let mut of_thing: HashMap<&str, Vec<usize>> = HashMap::new();
    let mut of_person: HashMap<&str, Vec<usize>> = HashMap::new();
    let mut spans: HashMap<&str, Vec<(Min, Min, usize)>> = HashMap::new();
    let mut things: Vec<&str> = Vec::new();
    let tub_of: HashMap<&str, &str> = plan.joints.iter().map(|j| (j.name.as_str(), j.tub.as_str())).collect();
    let mut of_tub: HashMap<&str, Vec<usize>> = HashMap::new();
    for &i in order {
        let t = &plan.tasks[i];
        // In, turned and out again are moments of the tub, whatever kit they take.
        if let (Kind::Submerge | Kind::Turn | Kind::Rinse, Some(tub)) =
            (t.kind, t.joints.first().and_then(|j| tub_of.get(j.as_str())))
        {
            of_tub.entry(tub).or_default().push(i);
        }
        t.joints.iter().for_each(|j| of_joint.entry(j).or_default().push(i));
        if let Some(who) = &t.who {
            of_person.entry(who).or_default().push(i);
        }
        for u in &t.uses {
            if !spans.contains_key(u.thing.as_str()) {
                things.push(&u.thing);
            }
            let taken = of_thing.entry(&u.thing).or_default();
            if taken.last() != Some(&i) {
                taken.push(i);
            }
            spans.entry(&u.thing).or_default().push((minute(u.from), minute(u.to), i));
        }
    }
    let tasks_of = |m: &HashMap<&str, Vec<usize>>, name: &str| m.get(name).cloned().unwrap_or_default();

    let mut rows: Vec<Row> = Vec::new();
    for (i, j) in plan.joints.iter().enumerate() {
        rows.push(Row {
            kind: RowKind::Joint(i),
            name: j.name.clone(),
            figure: format!("{:.1}", j.kg),
            tasks: tasks_of(&of_joint, &j.name),
            holds: Vec::new(),
        });
    }
    let mut tub_holds: HashMap<&str, Vec<Hold>> = HashMap::new();
    for (i, tub) in kitchen.kit.tubs.iter().enumerate() {
        let holds = tub_hold(plan, stories, &tub.name);
        if holds.is_empty() && !spans.contains_key(tub.name.as_str()) {
            continue;
        }
        rows.push(Row {
            kind: RowKind::Tub(i),
            name: tub.name.clone(),
            figure: String::new(),
            tasks: tasks_of(&of_tub, &tub.name),
            holds: holds.clone(),
        });
        tub_holds.insert(&tub.name, holds);
    }
    for (i, space) in kitchen.kit.cold.iter().enumerate() {
        let holds = cold_hold(kitchen, plan, i, &tub_holds, spans.get(space.name.as_str()));
        rows.push(Row {
            kind: RowKind::Cold(i),
            name: space.name.clone(),
            figure: format!("{:.0} cm", space.height.as_cm()),
            tasks: tasks_of(&of_thing, &space.name),
            holds,
        });
    }
    let known = |name: &str| {
        kitchen.kit.tubs.iter().any(|t| t.name == name)
            || kitchen.kit.cold.iter().any(|c| c.name == name)
            || kitchen.people.iter().any(|p| p.name == name)
    };
    for name in things.into_iter().filter(|n| !known(n)) {
        let holds = spans[name]
            .iter()
            .map(|&(from, to, t)| Hold {
                from,
                to: to.max(from + 1),
                eighths: 4,
                words: plan.tasks[t].joints.join(", "),
            })
            .collect();
        rows.push(Row {
            kind: RowKind::Kit,
            name: name.to_owned(),
            figure: String::new(),
            tasks: tasks_of(&of_thing, name),
            holds,
        });
    }
    for (i, person) in kitchen.people.iter().enumerate() {
        rows.push(Row {
            kind: RowKind::Person(i),
            name: person.name.clone(),
            figure: String::new(),
            tasks: tasks_of(&of_person, &person.name),
            holds: Vec::new(),
        });
    }
    rows
}

/// When a tub is full and of what, from the joints' stories: from the first in to the last out.
fn tub_hold(plan: &Plan, stories: &[Story], tub: &str) -> Vec<Hold> {
    let mut holds: Vec<Hold> = Vec::new();
    let mut inside: Vec<usize> = (0..stories.len()).filter(|&i| plan.joints[i].tub == tub).collect();
    inside.sort_by_key(|&i| stories[i].put_in);
    for i in inside {
        let (from, to) = (stories[i].put_in, stories[i].lift.max(stories[i].put_in + 1));
        match holds.last_mut() {
            Some(h) if from < h.to => {
                h.to = h.to.max(to);
                h.words = format!("{}, {}", h.words, plan.joints[i].name);
            }
            _ => holds.push(Hold { from, to, eighths: 8, words: plan.joints[i].name.clone() }),
        }
    }
    holds
}

/// How much of a cold space's floor the tubs in it take, stretch by stretch. What rests or cools there without a tub
/// shows as the lowest step.
fn cold_hold(
    kitchen: &Kitchen,
    plan: &Plan,
    space: usize,
    tub_holds: &HashMap<&str, Vec<Hold>>,
    spans: Option<&Vec<(Min, Min, usize)>>,
) -> Vec<Hold> {
    let cold = &kitchen.kit.cold[space];
    let floor = cold.width.as_cm() * cold.depth.as_cm();
    let mut taken: Vec<(Min, Min, f64, &str)> = Vec::new();
    for tub in &kitchen.kit.tubs {
        let here = plan.loads.iter().any(|l| l.tub == tub.name && l.space == cold.name);
        if let (true, Some(holds)) = (here, tub_holds.get(tub.name.as_str())) {
            let (width, depth) = tub_floor(tub);
            taken.extend(holds.iter().map(|h| (h.from, h.to, width * depth / floor, tub.name.as_str())));
        }
    }
    for &(from, to, t) in spans.into_iter().flatten() {
        let task = &plan.tasks[t];
        // What is put in stands there in its tub, which is counted above.
        if task.kind != Kind::Submerge && from < to {
            taken.push((from, to, 0.0, task.joints.first().map_or("", |j| j.as_str())));
        }
    }
    let mut edges: Vec<Min> = taken.iter().flat_map(|t| [t.0, t.1]).collect();
    edges.sort_unstable();
    edges.dedup();
    let mut holds: Vec<Hold> = Vec::new();
    // From edge to edge with the set of what is inside, so that a busy space costs no more than what stands in it.
    taken.sort_by_key(|t| t.0);
    let (mut inside, mut next): (Vec<(Min, Min, f64, &str)>, usize) = (Vec::new(), 0);
    for pair in edges.windows(2) {
        inside.retain(|t| t.1 > pair[0]);
        while let Some(t) = taken.get(next).filter(|t| t.0 <= pair[0]) {
            inside.push(*t);
            next += 1;
        }
        if inside.is_empty() {
            continue;
        }
        let share: f64 = inside.iter().map(|t| t.2).sum();
        let eighths = if share.is_finite() { (share * 8.0).ceil().clamp(1.0, 8.0) as u8 } else { 8 };
        let mut names: Vec<&str> = Vec::new();
        for t in &inside {
            if !t.3.is_empty() && !names.contains(&t.3) {
                names.push(t.3);
            }
        }
        let words = names.join(", ");
        match holds.last_mut() {
            Some(h) if h.to == pair[0] && h.eighths == eighths && h.words == words => h.to = pair[1],
            _ => holds.push(Hold { from: pair[0], to: pair[1], eighths, words }),
        }
    }
    holds
}
