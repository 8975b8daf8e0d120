//! People: hours that hold no time, spells that end before they begin, and work that nobody does.

use super::{Judge, bounds};
use crate::kitchen::path::Path;
use crate::kitchen::{Clock, Hours, Skill};

impl Judge<'_> {
    pub(super) fn people(&mut self) {
        for (i, p) in self.kitchen.people.iter().enumerate() {
            let at = Path::of("people").at(i);
            for (n, h) in p.busy.iter().enumerate() {
                self.hours(&p.name, h, &at.key("busy").at(n));
            }
            for (n, h) in p.works.iter().flatten().enumerate() {
                self.hours(&p.name, h, &at.key("works").at(n));
            }
            if p.works.as_ref().is_some_and(Vec::is_empty) {
                self.warn(at.key("works"), format!("{}'s `works` is empty: they never work", p.name))
                    .hint("leave `works` out for somebody who works whenever at home");
            }
            if !p.lives_here && p.works.is_none() {
                self.warn(at.key("lives_here"), format!("{} does not live here, and `works` says no hours", p.name))
                    .hint("staff are in the kitchen only while they work: give their hours");
            }
            if p.does.as_ref().is_some_and(Vec::is_empty) {
                self.warn(at.key("does"), format!("{}'s `does` is empty: they do nothing", p.name))
                    .hint("leave `does` out for somebody who does everything");
            }
            for (n, a) in p.away.iter().enumerate() {
                let at = at.key("away").at(n);
                if a.to <= a.from {
                    let says = format!("{} is away from {} to {}: it ends before it begins", p.name, a.from, a.to);
                    self.refuse(at.key("to"), says);
                } else if (a.to.0 - a.from.0).num_days() > 60 {
                    let says = format!("{} is away for {} days", p.name, (a.to.0 - a.from.0).num_days());
                    self.warn(at.key("to"), says).hint("are month and year right?");
                }
            }
            if let Some(s) = p.sleep {
                self.sleep(&p.name, s.from, s.to, &at.key("sleep"));
            }
        }
        self.every_skill();
        self.batch();
    }

    fn hours(&mut self, name: &str, h: &Hours, at: &Path) {
        if h.from == h.to {
            self.refuse(at.key("to"), format!("{name}'s hours from {} to {} hold no time", h.from, h.to))
                .hint("a whole day is \"00:00\" to \"24:00\"");
        }
        if let (Some(since), Some(until)) = (h.since, h.until)
            && until < since
        {
            let says = format!("{name}'s hours hold from {} until {}: never", since.0.date(), until.0.date());
            self.refuse(at.key("until"), says);
        }
    }

    fn sleep(&mut self, name: &str, from: Clock, to: Clock, at: &Path) {
        if from == to {
            let says = format!("{name} sleeps from {from} to {to}: no time, or all of it");
            self.refuse(at.clone(), says).hint("left out, it is 22:30 to 06:30");
            return;
        }
        let minutes = (i32::from(to.minutes) - i32::from(from.minutes)).rem_euclid(1440);
        if !(180..=14 * 60).contains(&minutes) {
            let says = format!("{name} sleeps from {from} to {to}, {} h {:02} min", minutes / 60, minutes % 60);
            self.warn(at.clone(), says).hint("are the two the wrong way round?");
        }
    }

    /// Each kind of work that the batch needs has somebody to do it.
    fn every_skill(&mut self) {
        let k = self.kitchen;
        if k.people.is_empty() {
            return;
        }
        let ham = self.any_ham();
        for (skill, word, needed) in [
            (Skill::Cure, "cure", true),
            (Skill::Turn, "turn", true),
            (Skill::Cook, "cook", ham),
            (Skill::Pack, "pack", true),
        ] {
            let somebody = k.people.iter().any(|p| p.does.as_ref().is_none_or(|d| d.contains(&skill)));
            if needed && !somebody {
                self.refuse(Path::of("people"), format!("nobody does \"{word}\"")).needs_all();
            }
        }
    }

    fn batch(&mut self) {
        let b = &self.kitchen.batch;
        let at = Path::of("batch");
        if b.not_after <= b.not_before {
            let says = format!("the day runs from {} to {}: no time is left to work in", b.not_before, b.not_after);
            self.refuse(at.key("not_after"), says);
        }
        let spare = bounds((0.0, 2000.0), (0.0, 240.0), " h");
        self.within(at.key("spare_hours"), "the spare time before each ready-by", b.spare_hours, &spare);
        for (i, d) in b.leave_alone.iter().enumerate() {
            if let Some(to) = d.to
                && to < d.from
            {
                let says = format!(
                    "days to leave alone from {} to {}: it ends before it begins",
                    d.from.0.date(),
                    to.0.date()
                );
                self.refuse(at.key("leave_alone").at(i).key("to"), says);
            }
        }
    }
}
