//! Safety worked out again from a plan's own times, with plain arithmetic that shares no code with `process/`, `schedule/`
//! or the judge. Limits are those that ship with the program (common practice, no source), typed in here once more.

use chrono::{DateTime, Datelike, FixedOffset, NaiveDateTime, TimeDelta, Timelike};
use turnday::kitchen::{Basis, ChillingMeans, Hours, Joint, Kitchen, Outcome, Person, Shape};
use turnday::plan::{Kind, Plan, PlannedTask};

type When = DateTime<FixedOffset>;

fn minutes(from: When, to: When) -> i64 {
    (to - from).num_minutes()
}

fn inside(h: &Hours, civil: NaiveDateTime) -> bool {
    let now = u32::from(h.from.minutes)..u32::from(h.to.minutes);
    let clock = civil.hour() * 60 + civil.minute();
    let holds = |date: chrono::NaiveDate| {
        h.days.contains(date.weekday())
            && h.since.is_none_or(|s| date >= s.0.date())
            && h.until.is_none_or(|u| date <= u.0.date())
    };
    if now.start < now.end {
        return holds(civil.date()) && now.contains(&clock);
    }
    (holds(civil.date()) && clock >= now.start) || (holds(civil.date() - TimeDelta::days(1)) && clock < now.end)
}

fn home(p: &Person, civil: NaiveDateTime) -> bool {
    let clock = civil.hour() * 60 + civil.minute();
    // Of staff who come for their hours nobody asks when they sleep; of everybody else it is half past ten to half past six.
    let night = match p.sleep {
        Some(s) => Some((u32::from(s.from.minutes), u32::from(s.to.minutes))),
        None if !p.lives_here && p.works.is_some() => None,
        None => Some((22 * 60 + 30, 6 * 60 + 30)),
    };
    let asleep = night.is_some_and(|(bed, up)| {
        if bed < up { (bed..up).contains(&clock) } else { bed != up && (clock >= bed || clock < up) }
    });
    let out = p.busy.iter().any(|h| inside(h, civil)) || p.away.iter().any(|a| a.from.0 <= civil && civil < a.to.0);
    let there = p.lives_here || p.works.as_ref().is_none_or(|w| w.iter().any(|h| inside(h, civil)));
    !asleep && !out && there
}

fn works(p: &Person, civil: NaiveDateTime) -> bool {
    home(p, civil) && p.works.as_ref().is_none_or(|w| w.iter().any(|h| inside(h, civil)))
}

/// Whether somebody is at home and awake all the time, looked at minute by minute.
pub fn somebody_home(k: &Kitchen, from: When, to: When) -> bool {
    let mut at = from;
    while at < to {
        if !k.people.iter().any(|p| home(p, k.zone.civil(at.to_utc()))) {
            return false;
        }
        at += TimeDelta::minutes(1);
    }
    true
}

/// Whether somebody can do hands-on work at a moment.
pub fn somebody_works(k: &Kitchen, civil: NaiveDateTime) -> bool {
    k.people.iter().any(|p| works(p, civil))
}

/// Days in the brine by the rule: days per kilo, the fewest, a tenth more on the bone or over 15 cm (Ø from the weight:
/// (kg · 1000 / 1.06 / 1.1)^⅓).
pub fn cure_minutes(k: &Kitchen, j: &Joint) -> f64 {
    let kg = j.weighed.unwrap_or(j.weight).as_kg();
    let thick = j.diameter.map_or((kg * 1000.0 / 1.06 / 1.1).cbrt(), |d| d.as_cm()) > 15.0;
    let days = (k.cure.days_per_kg * kg).max(k.cure.fewest_days);
    days * 1440.0 * if j.bone_in || thick { 1.0 + k.cure.bone_extra_percent / 100.0 } else { 1.0 }
}

/// Everything unsafe or undoable that plain arithmetic finds in a plan.
pub fn faults(k: &Kitchen, plan: &Plan) -> Vec<String> {
    let mut out = Vec::new();
    for j in &k.joints {
        one_joint(k, plan, j, &mut out);
    }
    cooking(k, plan, &mut out);
    hands(k, plan, &mut out);
    vessels(k, plan, &mut out);
    out
}

fn of<'a>(plan: &'a Plan, kind: Kind, joint: &str) -> Vec<&'a PlannedTask> {
    plan.tasks.iter().filter(|t| t.kind == kind && t.joints.iter().any(|n| n == joint)).collect()
}

fn one_joint(k: &Kitchen, plan: &Plan, j: &Joint, out: &mut Vec<String>) {
    let name = &j.name;
    let mut say = |wrong: bool, says: String| {
        if wrong {
            out.push(format!("{name}: {says}"));
        }
    };
    let one = |kind: Kind| {
        let all = of(plan, kind, name);
        assert_eq!(all.len(), 1, "{name} has {} tasks of the kind {kind:?}", all.len());
        all[0]
    };
    let (put, lift, dry, rest) = (one(Kind::Submerge), one(Kind::Rinse), one(Kind::Dry), one(Kind::Rest));
    let stay = minutes(put.end, lift.start);
    say(
        (stay as f64) < cure_minutes(k, j) - 1e-6,
        format!("{stay} min in the brine, {:.0} needed", cure_minutes(k, j)),
    );
    say(stay > 35 * 1440, format!("{stay} min in the brine, over 35 days"));
    if let Some(a) = j.arrives {
        let wait = (k.zone.civil(put.start.to_utc()) - a.0).num_minutes();
        say(wait < 0, format!("put in {} min before it is there", -wait));
        // An hour more or less when the clocks change in between.
        say(wait > 72 * 60 + 60, format!("waits {wait} min for its brine, over 72 h"));
    }
    // Brine: cold before the meat goes in, also at the slow end, and no older than five days.
    let cool = one(Kind::Cool);
    say(cool.slow_end > put.start, "put in before the brine is cold at the slow end".to_owned());
    say(minutes(cool.end, put.start) > 5 * 1440, "brine older than five days".to_owned());
    // Turns while it is in the brine.
    let mut turns = of(plan, Kind::Turn, name);
    turns.sort_by_key(|t| t.start);
    let mut before = put.end;
    for (i, t) in turns.iter().enumerate() {
        let gap = minutes(before, t.start);
        let (least, most) = if i == 0 { (2 * 1440, 4 * 1440) } else { (1440, 5 * 1440) };
        say(gap < least || gap > most, format!("turn {} after {gap} min", i + 1));
        say(t.start > lift.start, "turned after it is lifted".to_owned());
        before = t.end;
    }
    say(turns.is_empty() && stay > 4 * 1440, "never turned".to_owned());
    // Four days after the load's last turn; a joint lifted between two turns may meet the one gap of five.
    let load = plan.loads.iter().find(|l| l.joints.contains(name)).unwrap();
    let last = turns.len() as u32 == load.turns;
    let most = if last { 4 } else { 5 };
    say(minutes(before, lift.start) > most * 1440, format!("lifted over {most} days after its last turn"));
    // After the brine.
    if k.cure.basis == Basis::Excess {
        let soak = one(Kind::Soak);
        say(soak.start < lift.end || dry.start < soak.end, "soak out of order".to_owned());
        say(minutes(soak.start, dry.start) > 48 * 60, "soaked over 48 h".to_owned());
    }
    let next = if j.outcome.is_ham() {
        one(Kind::Simmer)
    } else if j.outcome == Outcome::GammonSteaks {
        one(Kind::Firm)
    } else {
        one(Kind::VacuumPack)
    };
    let rested = minutes(rest.start, next.start);
    say(rested < 720, format!("rests {rested} min"));
    say(rested > 7 * 1440, format!("rests {rested} min, over 7 days"));
    // Ready means ready.
    let story = plan.joints.iter().find(|s| s.name == *name).unwrap();
    let raw_and_frozen = !j.outcome.is_ham() && j.freeze != Some(false);
    let last = if raw_and_frozen { one(Kind::Freeze) } else { one(Kind::VacuumPack) };
    say(story.ready != last.end, "ready at another moment than its last task's end".to_owned());
    if j.outcome.is_ham() {
        let chill = one(Kind::Chill);
        let after = if j.outcome == Outcome::HamSliced { one(Kind::Slice) } else { one(Kind::VacuumPack) };
        say(after.start < chill.slow_end, "cut or packed before it is cold at the slow end".to_owned());
        say(minutes(chill.end, after.start) > 48 * 60, "cut over 48 h after the chill".to_owned());
    }
}

/// Hours a ham may take to 5 °C, and the plan's own figure against the trade's cooling table at its printed rows.
fn cooling_limit(k: &Kitchen) -> i64 {
    let nitrite = k.cure.curing_salt.as_ref().map_or(0.0, |c| c.target_mg_per_kg);
    if k.cure.salt_percent >= 2.5 && nitrite >= 100.0 { 750 } else { 600 }
}

fn cooking(k: &Kitchen, plan: &Plan, out: &mut Vec<String>) {
    for simmer in plan.tasks.iter().filter(|t| t.kind == Kind::Simmer) {
        let id = &simmer.id;
        let heaviest = k
            .joints
            .iter()
            .filter(|j| simmer.joints.contains(&j.name))
            .map(|j| j.weighed.unwrap_or(j.weight).as_kg())
            .fold(0.0, f64::max);
        let proper = (50.0 * heaviest + 30.0).max(120.0);
        let over = minutes(simmer.end, simmer.slow_end);
        if (minutes(simmer.start, simmer.end) as f64) < proper + 45.0 || (over as f64) < 0.35 * proper - 5.0 {
            out.push(format!("{id}: {} min and {over} over", minutes(simmer.start, simmer.end)));
        }
        for bake in
            plan.tasks.iter().filter(|t| t.kind == Kind::Bake && t.joints.iter().all(|j| simmer.joints.contains(j)))
        {
            let chill = plan.tasks.iter().find(|t| t.kind == Kind::Chill && t.joints == bake.joints).unwrap();
            let wait = minutes(simmer.end, bake.start);
            if !(15..=120).contains(&wait) {
                out.push(format!("{id}: {wait} min from simmer to bake"));
            }
            let wait = minutes(bake.end, chill.start);
            if !(30..=90).contains(&wait) {
                out.push(format!("{}: {wait} min from bake to chill", bake.id));
            }
            if !somebody_home(k, simmer.start, bake.slow_end.max(bake.end + TimeDelta::minutes(over))) {
                out.push(format!("{id}: nobody at home from the simmer to the end of the bake at the slow end"));
            }
            for late in [0, over] {
                let at = chill.start + TimeDelta::minutes(late);
                if !somebody_home(k, at, at + TimeDelta::minutes(5)) {
                    out.push(format!("{}: nobody there to put it in the chill", chill.id));
                }
            }
            // The chill's own slow end, without what the simmer runs over.
            let slow = minutes(chill.start, chill.slow_end) - over;
            if slow > cooling_limit(k) || slow < minutes(chill.start, chill.end) {
                out.push(format!("{}: {slow} min to 5 °C at the slow end", chill.id));
            }
        }
    }
    for brine in plan.tasks.iter().filter(|t| t.kind == Kind::BrineMake) {
        if !somebody_home(k, brine.start, brine.end) {
            out.push(format!("{}: nobody at home while the brine boils", brine.id));
        }
    }
}

fn hands(k: &Kitchen, plan: &Plan, out: &mut Vec<String>) {
    for p in &k.people {
        let mut own: Vec<&PlannedTask> =
            plan.tasks.iter().filter(|t| t.hands_minutes > 0 && t.who.as_ref() == Some(&p.name)).collect();
        own.sort_by_key(|t| t.start);
        for w in own.windows(2) {
            if w[0].start + TimeDelta::minutes(i64::from(w[0].hands_minutes)) > w[1].start {
                out.push(format!("{} does {} and {} at once", p.name, w[0].id, w[1].id));
            }
        }
        for t in own {
            let free = (0..t.hands_minutes)
                .all(|m| works(p, k.zone.civil((t.start + TimeDelta::minutes(i64::from(m))).to_utc())));
            if !free {
                out.push(format!("{} is not there to do {}", p.name, t.id));
            }
            if p.does.as_ref().is_some_and(|d| !d.contains(&t.kind.skill())) {
                out.push(format!("{} does not do {}", p.name, t.id));
            }
        }
    }
    for t in plan.tasks.iter().filter(|t| t.hands_minutes > 0) {
        if !k.people.iter().any(|p| t.who.as_ref() == Some(&p.name)) {
            out.push(format!("nobody is named for {}", t.id));
        }
    }
}

/// Stretches that overlap, counted at every beginning.
fn most_at_once(stretches: &[(When, When, f64)]) -> f64 {
    let at = |m: When| stretches.iter().filter(|s| s.0 <= m && m < s.1).map(|s| s.2).sum::<f64>();
    stretches.iter().map(|s| at(s.0)).fold(0.0, f64::max)
}

fn vessels(k: &Kitchen, plan: &Plan, out: &mut Vec<String>) {
    let whole = |l: &turnday::plan::TubLoad| {
        let from = plan.tasks.iter().find(|t| t.id == format!("put in {}", l.id)).map(|t| t.start);
        let to = l.joints.iter().flat_map(|j| of(plan, Kind::Rinse, j)).map(|t| t.end).max();
        (from.unwrap(), to.unwrap())
    };
    for tub in &k.kit.tubs {
        let loads: Vec<_> =
            plan.loads.iter().filter(|l| l.tub == tub.name).map(|l| (whole(l).0, whole(l).1, 1.0)).collect();
        if most_at_once(&loads) > 1.0 {
            out.push(format!("{} holds two loads at once", tub.name));
        }
    }
    for space in &k.kit.cold {
        // Outer floor and litres of the tubs that stand in it at any moment.
        let tubs: Vec<_> = plan
            .loads
            .iter()
            .filter(|l| l.space == space.name)
            .map(|l| {
                let tub = k.kit.tubs.iter().find(|t| t.name == l.tub).unwrap();
                let (a, b, h) = outer(tub.inner);
                (whole(l).0, whole(l).1, a * b, a * b * h / 1000.0)
            })
            .collect();
        let floor = space.width.as_cm() * space.depth.as_cm();
        let by_floor: Vec<_> = tubs.iter().map(|t| (t.0, t.1, t.2)).collect();
        let by_litres: Vec<_> = tubs.iter().map(|t| (t.0, t.1, t.3)).collect();
        if most_at_once(&by_floor) > floor + 1e-6 || most_at_once(&by_litres) > floor * space.height.as_cm() / 1000.0 {
            out.push(format!("{} holds more than it has room for", space.name));
        }
        let cold = space.temperature.is_some_and(|t| t.as_celsius() <= 5.0);
        if !cold && !tubs.is_empty() {
            out.push(format!("{} is not known to be at 5 °C or under, and tubs stand in it", space.name));
        }
    }
    for pot in &k.kit.pots {
        let cooks: Vec<_> = plan
            .cooks
            .iter()
            .filter(|c| c.pot == pot.name)
            .filter_map(|c| plan.tasks.iter().find(|t| t.id == format!("simmer {}", c.id)))
            .map(|t| (t.start, t.slow_end, 1.0))
            .collect();
        if most_at_once(&cooks) > 1.0 {
            out.push(format!("{} holds two cooks at once", pot.name));
        }
    }
    let bakes: Vec<_> = plan.tasks.iter().filter(|t| t.kind == Kind::Bake).collect();
    let hams: Vec<_> = bakes.iter().map(|t| (t.start, t.slow_end, t.joints.len() as f64)).collect();
    if most_at_once(&hams) > k.kit.oven.as_ref().map_or(0.0, |o| f64::from(o.hams)) {
        out.push("more hams in the oven than it takes".to_owned());
    }
    // A hot ham and a curing tub never share the air of one fridge.
    for c in plan.tasks.iter().filter(|t| t.kind == Kind::Chill) {
        let cook = plan.cooks.iter().find(|x| c.joints.iter().all(|j| x.joints.contains(j))).unwrap();
        let means = k.kit.chilling.iter().find(|m| m.name == cook.chilling).unwrap();
        if !matches!(means.means, ChillingMeans::Fridge | ChillingMeans::ColdRoom) {
            continue;
        }
        let door =
            |name: &str| k.kit.cold.iter().find(|s| s.name == name).map(|s| s.fridge.clone().unwrap_or(s.name.clone()));
        let hot = means.space.as_ref().and_then(|s| door(s));
        for l in plan.loads.iter().filter(|l| hot.is_some() && door(&l.space) == hot) {
            let (from, to) = whole(l);
            if from < c.slow_end && c.start < to {
                out.push(format!("{} chills beside {}", c.id, l.id));
            }
        }
    }
}

/// Outer floor and height with the lid, cm: half a centimetre of wall each side, two of lid.
fn outer(inner: Shape) -> (f64, f64, f64) {
    match inner {
        Shape::Box { length, width, height } => (length.as_cm() + 1.0, width.as_cm() + 1.0, height.as_cm() + 2.0),
        Shape::Round { diameter, height } => (diameter.as_cm() + 1.0, diameter.as_cm() + 1.0, height.as_cm() + 2.0),
    }
}
