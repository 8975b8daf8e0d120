//! How far each activity may move, and what holds it where it is.

use super::model::Model;
use super::space::{Push, Space};
use crate::schedule::{ActivityId, Minute, Problem, ReasonId, Solution, Term, check, check::recount};

/// How far an activity may move. Not every moment between two ends need be allowed: a calendar may have gaps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slack {
    /// First and last start with every other activity exactly where it is (its own choice of resource may change).
    pub earliest: Minute,
    pub latest: Minute,
    /// First and last start when the activities tied to it give way too (to one that only waits for others, none are), all
    /// others stay, and nothing gets later than it is due (or than it is now, where it is late already).
    pub earliest_together: Minute,
    pub latest_together: Minute,
}

/// The side towards which an activity is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    Earlier,
    Later,
}

/// What holds it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Held {
    /// A rule would break.
    By(ReasonId),
    /// This objective level, by index, would get worse.
    ByLevel(usize),
    /// The horizon.
    ByHorizon,
}

/// The slack of every activity of a sound solution; `None` when the problem is not valid or the solution not sound.
pub fn slack(problem: &Problem, solution: &Solution) -> Option<Vec<Slack>> {
    if problem.validate().is_err() || !check(problem, solution).is_empty() {
        return None;
    }
    let model = Model::new(problem).ok()?;
    let mut space = Space::new(&model);
    space.starts.clone_from(&solution.starts);
    space.chosen.clone_from(&solution.chosen);
    for b in 0..model.blocks.len() {
        if !space.put_back(b) {
            return None;
        }
    }
    let mut out: Vec<Slack> = Vec::with_capacity(solution.starts.len());
    for (i, &now) in solution.starts.iter().enumerate() {
        // The search gives up on odd cases; where it is now is always allowed.
        let earliest = space.furthest_alone(i as u32, Push::Later).map_or(now, |t| t.min(now));
        let latest = space.furthest_alone(i as u32, Push::Earlier).map_or(now, |t| t.max(now));
        out.push(Slack { earliest, latest, earliest_together: earliest, latest_together: latest });
    }
    let mut cap = model.hi.clone();
    for (_, term) in &model.terms {
        if let Term::Late { point, due, weight } = term
            && *weight > 0
        {
            let i = point.activity.index();
            cap[i] = cap[i].min((due - point.offset).max(solution.starts[i]));
        }
    }
    // What others wait for has to be done in time for them.
    for a in (0..cap.len()).filter(|&a| model.waits[a]) {
        for arc in model.into.of(a).iter().filter(|arc| arc.other as usize != a) {
            let b = arc.other as usize;
            cap[b] = cap[b].min((cap[a] - arc.least).max(solution.starts[b]));
        }
    }
    for b in 0..model.blocks.len() {
        space.take_out(b);
        space.load_edge(b, Push::Later);
        if space.settle(b, Push::Later).is_ok() {
            for &a in model.blocks[b].activities.iter().filter(|&&a| !model.waits[a as usize]) {
                let x = &mut out[a as usize];
                x.earliest_together = x.earliest_together.min(space.s[a as usize]);
            }
        }
        space.load_edge(b, Push::Earlier);
        for &a in &model.blocks[b].activities {
            let i = a as usize;
            space.set(a, model.hi[i].min(cap[i]));
        }
        if space.settle(b, Push::Earlier).is_ok() {
            for &a in &model.blocks[b].activities {
                let x = &mut out[a as usize];
                // `latest` alone may pass what is due; together nothing does.
                x.latest_together = space.s[a as usize].max(solution.starts[a as usize]);
            }
        }
        space.put_back(b);
    }
    Some(out)
}

/// What keeps an activity of a sound solution from starting one minute earlier or later with all else as it is: the rules
/// that would break, or else the first level that would get worse. A side on which nothing holds it is not in the list.
pub fn binding(problem: &Problem, solution: &Solution, activity: ActivityId) -> Vec<(Side, Held)> {
    let mut out = Vec::new();
    let cost = recount(problem, solution);
    for (side, step) in [(Side::Earlier, -1), (Side::Later, 1)] {
        let mut moved = solution.clone();
        let Some(start) = moved.starts.get_mut(activity.index()) else { return out };
        *start += step;
        let broken = check(problem, &moved);
        if broken.is_empty() {
            let after = recount(problem, &moved);
            if let Some(level) = (0..cost.len()).find(|&l| after[l] != cost[l])
                && after[level] > cost[level]
            {
                out.push((side, Held::ByLevel(level)));
            }
            continue;
        }
        for v in broken {
            let held = (side, v.reason.map_or(Held::ByHorizon, Held::By));
            if !out.contains(&held) {
                out.push(held);
            }
        }
    }
    out
}
