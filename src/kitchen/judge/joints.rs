//! Joints: weights, sizes, and whether the days suffice.

use super::{Judge, bounds, num};
use crate::kitchen::path::Path;
use crate::kitchen::{HEAVIEST_KG, Joint, Moment, Outcome, plausible, quantities, stay};
use crate::science::size;
use crate::units::{Length, Mass};
use chrono::{NaiveDateTime, NaiveTime, TimeDelta};

/// Pounds in a kilogram.
const LB: f64 = 1.0 / 0.453_592_37;

impl Judge<'_> {
    pub(super) fn joints(&mut self) {
        for (i, j) in self.kitchen.joints.iter().enumerate() {
            let at = Path::of("joints").at(i);
            let mut sane = self.weight(&j.name, "weighs", j.weight, at.key("weight"));
            if let Some(w) = j.weighed {
                sane &= self.weight(&j.name, "weighed", w, at.key("weighed"));
                if sane {
                    self.expected_against_weighed(j, w, &at);
                }
            }
            self.measures(j, &at, sane);
            if j.bone_in && j.outcome == Outcome::GammonSteaks {
                self.warn(at.key("bone_in"), format!("joint \"{}\" is on the bone: steaks need a saw", j.name));
            }
            if sane {
                self.days(j, &at);
            }
            self.extra(j, &at);
            self.lot(j, &at);
        }
        self.business();
    }

    /// False when the weight is refused.
    fn weight(&mut self, name: &str, verb: &str, mass: Mass, at: Path) -> bool {
        let kg = mass.as_kg();
        let says = format!("joint \"{name}\" {verb} {} kg", num(kg));
        let plausible = |x: f64| (0.5..=8.0).contains(&x);
        if kg <= 0.0 {
            self.refuse(at, says);
            return false;
        }
        if kg > 12.0 {
            let mut guesses = Vec::new();
            if plausible(kg / 10.0) {
                guesses.push(format!("{} kg", num(kg / 10.0)));
            }
            if kg >= 200.0 && plausible(kg / 1000.0) {
                guesses.push(format!("\"{} g\"", num(kg)));
            }
            if kg <= HEAVIEST_KG * LB {
                guesses.push(format!("\"{} lb\" ({:.1} kg)", num(kg), kg / LB));
            }
            let hint = if guesses.is_empty() {
                "a bare number is kilograms".to_owned()
            } else {
                format!("did you mean {}?", guesses.join(", or "))
            };
            let refused = kg > HEAVIEST_KG;
            let issue = if refused { self.refuse(at, says) } else { self.warn(at, says) };
            issue.hint(hint);
            return !refused;
        }
        if kg < 0.3 {
            let hint = match plausible(kg * 10.0) {
                true => format!("did you mean {} kg? a bare number is kilograms", num(kg * 10.0)),
                false => "a bare number is kilograms".to_owned(),
            };
            self.warn(at, format!("{says}, very little for a joint")).hint(hint);
        }
        true
    }

    fn expected_against_weighed(&mut self, j: &Joint, weighed: Mass, at: &Path) {
        let ratio = weighed.as_kg() / j.weight.as_kg();
        if (ratio - 1.0).abs() <= 0.5 {
            return;
        }
        let pounds = (ratio / LB - 1.0).abs() < 0.06 || (ratio * LB - 1.0).abs() < 0.06;
        let says = format!(
            "joint \"{}\" was expected at {} kg and weighed {} kg",
            j.name,
            num(j.weight.as_kg()),
            num(weighed.as_kg())
        );
        let hint =
            if pounds { "one of the two looks like pounds: write \"lb\"" } else { "more than half apart: look again" };
        self.warn(at.key("weighed"), says).hint(hint);
    }

    /// Time in the brine over the rule's, each with a cause.
    fn extra(&mut self, j: &Joint, at: &Path) {
        for (i, e) in j.extra_cure.iter().enumerate() {
            let at = at.key("extra_cure").at(i);
            let what = format!("the extra time in the brine of joint \"{}\"", j.name);
            let hint = "a bare number is minutes; a day is written \"1 d\"";
            let of = bounds((0.0, 35.0), (0.25, 14.0), " days");
            if let Some(issue) = self.within(at.key("time"), &what, e.time.as_days(), &of) {
                issue.hint(hint);
            }
            if e.why.trim().is_empty() {
                self.warn(at.key("why"), format!("{what} does not say what it is for"));
            }
        }
    }

    /// Measured diameter and length, against each other and against the weight.
    fn measures(&mut self, j: &Joint, at: &Path, sane: bool) {
        let cm = |l: Option<Length>| l.map(Length::as_cm);
        let (d, l) = (cm(j.diameter), cm(j.length));
        let inches = "a bare number is centimetres; inches are written \"6 in\", millimetres \"150 mm\"";
        let before = self.issues.len();
        for (field, value) in [("diameter", d), ("length", l)] {
            let Some(v) = value else { continue };
            let what = format!("the {field} of joint \"{}\"", j.name);
            if let Some(issue) = self.within(at.key(field), &what, v, &bounds((2.0, 100.0), (6.0, 45.0), " cm")) {
                issue.hint(inches);
            }
        }
        let Some(d) = d.filter(|_| sane && self.issues.len() == before) else { return };
        let size = quantities::size(j);
        let l = size.length.as_cm();
        if l < 0.75 * d {
            let says = format!("joint \"{}\" is {} cm across and only {} cm long", j.name, num(d), num(l));
            self.warn(at.key("length"), says).hint("are the two the wrong way round?");
            return;
        }
        // A full cylinder is the most that those measures can hold.
        let holds = size::weight(size).as_kg();
        let ratio = j.planned_weight().as_kg() / holds;
        if !(0.45..=1.3).contains(&ratio) {
            let says = format!(
                "joint \"{}\" of {} kg cannot well measure {} by {} cm: that much meat weighs about {:.1} kg",
                j.name,
                num(j.planned_weight().as_kg()),
                num(d),
                num(l),
                holds
            );
            let hint = if (ratio / LB - 1.0).abs() < 0.25 { "is the weight in pounds? write \"lb\"" } else { inches };
            self.warn(at.key("diameter"), says).hint(hint);
        }
    }

    /// Whether the joint can be cured at all, and by its date.
    fn days(&mut self, j: &Joint, at: &Path) {
        let cure = &self.kitchen.cure;
        let days = f64::from(stay::cure(j, cure)) / 1440.0;
        let longest = self.limits.value("brine_longest") / 1440.0;
        if days > longest {
            let says = format!(
                "joint \"{}\" would need {} days in the brine; {} is the longest",
                j.name,
                num((days * 10.0).round() / 10.0),
                num(longest)
            );
            let weight = if j.weighed.is_some() { "weighed" } else { "weight" };
            let hint = match stay::by_salt(j, cure) {
                true => {
                    "the salt takes as long as the joint is thick, squared: a slimmer one, measured, takes fewer days"
                }
                false => "cut it in two: half the weight takes half the days",
            };
            self.refuse(at.key(weight), says).hint(hint);
            return;
        }
        let starts = self.kitchen.batch.starts;
        self.waits(j, at, starts);
        let Some(due) = j.ready_by.filter(|d| plausible(d.0.date())) else { return };
        let anchor = match (j.arrives, starts) {
            (Some(a), Some(s)) => Some(a.max(s)),
            (a, s) => a.or(s),
        };
        let today = self.today.and_time(NaiveTime::MIN);
        let past = due.0 < today;
        if let Some(a) = j.arrives
            && due <= a
        {
            let says = format!("joint \"{}\" is to be ready {due}, and arrives only {a}", j.name);
            self.refuse(at.key("ready_by"), says);
            return;
        }
        if past && anchor.is_none() {
            self.refuse(at.key("ready_by"), format!("joint \"{}\" is to be ready {due}, in the past", j.name))
                .hint(format!("today is {}", today.date()));
            return;
        }
        if past {
            let says = format!("joint \"{}\" was to be ready {due}, in the past", j.name);
            self.warn(at.key("ready_by"), says).hint("a plan is still made as of the batch's own dates");
        }
        self.soon_enough(j, at, due, anchor.map_or(today, |m| m.0), days);
        let far = (due.0.date() - self.today).num_days();
        if far > 400 {
            self.warn(at.key("ready_by"), format!("joint \"{}\" is to be ready {due}, {far} days from now", j.name))
                .hint("is the year right?");
        }
    }

    fn soon_enough(&mut self, j: &Joint, at: &Path, due: Moment, from: NaiveDateTime, days: f64) {
        let rest = self.limits.value("rest_min");
        let minutes = (days * 1440.0 + rest).ceil();
        let Some(earliest) = TimeDelta::try_minutes(minutes as i64).and_then(|d| from.checked_add_signed(d)) else {
            return;
        };
        if due.0 >= earliest {
            return;
        }
        let says = format!(
            "joint \"{}\" cannot be cured by {due}: from {}, {} days in the brine and {} h rest end {}",
            j.name,
            Moment(from),
            num((days * 100.0).round() / 100.0),
            num(rest / 60.0),
            Moment(earliest)
        );
        let hint = match stay::by_salt(j, &self.kitchen.cure) {
            true => "start earlier, or let a slimmer joint be the one for that day",
            false => "start earlier, let a lighter joint be the one for that day, or cut it in two for half the days",
        };
        self.warn(at.key("ready_by"), says).hint(hint);
    }

    /// Fresh pork that would wait too long for the batch to begin.
    fn waits(&mut self, j: &Joint, at: &Path, starts: Option<Moment>) {
        let (Some(arrives), Some(starts)) = (j.arrives, starts.filter(|s| plausible(s.0.date()))) else { return };
        let wait = (starts.0 - arrives.0).num_minutes() as f64;
        let limit = self.limits.get("collect_to_brine_limit").clone();
        if wait > limit.value {
            let says = format!(
                "joint \"{}\" arrives {arrives}, {} h before anything starts ({starts})",
                j.name,
                num((wait / 60.0).round())
            );
            self.refuse(at.key("arrives"), says).hint(limit.says);
        }
    }

    fn lot(&mut self, j: &Joint, at: &Path) {
        let Some(killed) = j.lot.as_ref().and_then(|l| l.killed) else { return };
        let Some(arrives) = j.arrives else { return };
        let days = (arrives.0.date() - killed.0.date()).num_days();
        if !(0..=14).contains(&days) {
            let says = if days < 0 {
                format!("joint \"{}\" arrives before its kill date {}", j.name, killed.0.date())
            } else {
                format!("joint \"{}\" arrives {days} days after its kill date", j.name)
            };
            self.warn(at.key("lot").key("killed"), says).hint("hung 2-7 days is usual");
        }
    }

    fn business(&mut self) {
        let k = self.kitchen;
        if !k.batch.business {
            return;
        }
        let no_lot = k.joints.iter().filter(|j| j.lot.is_none()).count();
        if no_lot > 0 {
            self.warn(Path::of("joints"), format!("a business, and {no_lot} of its joints name no lot"))
                .hint("\"lot\": supplier, kill date and tag, so that a pack can be traced to its pig");
        }
        if k.cure.curing_salt.as_ref().is_some_and(|c| c.code.trim().is_empty()) {
            self.warn(Path::of("cure").key("curing_salt"), "a business, and the curing-salt bag has no batch code");
        }
    }
}
