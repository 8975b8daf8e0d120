//! One more joint, and how many more.

use super::super::difference::late_words;
use super::super::history::Deviation;
use super::super::question::{OUTCOMES, one_more};
use super::{Again, Answer, Asker, Kitchen, Moment, Question, Replan, lateness, moment};

/// As many more as are tried.
const MOST: usize = 8;

/// Somebody has to decide about it, or it cannot be kept.
fn is_missed(d: &&Deviation) -> bool {
    d.decide || d.says.starts_with("Cannot be kept")
}

impl Asker<'_> {
    /// Nothing later than before, and no limit missed but what is missed as it is, too, and by no less.
    pub(super) fn is_fine(&mut self, replan: &Replan) -> bool {
        lateness(&replan.plan) <= lateness(self.again.old)
            && replan.deviations.iter().filter(is_missed).all(|d| self.is_known(d))
    }

    /// Is this limit missed without the change as well, by as much or more?
    pub(super) fn is_known(&mut self, d: &Deviation) -> bool {
        let as_it_is = self.plan_with(self.again.kitchen);
        as_it_is.is_ok_and(|r| {
            r.deviations.iter().any(|k| k.limit == d.limit && k.tasks == d.tasks && k.minutes >= d.minutes)
        })
    }

    /// One more joint, here now at the soonest; where there is no room for it yet, collected when something is lifted and leaves
    /// its place, the first time at which there is.
    pub(super) fn one_more(&mut self, question: &Question, mut kitchen: Kitchen, out: &mut Answer) {
        const TRIES: usize = 8;
        let Again { history, old, .. } = self.again;
        self.come_now_at_the_soonest(&mut kitchen);
        let by = kitchen.joints.last().and_then(|j| j.ready_by);
        if !self.has_room(&kitchen) {
            let mut lifts: Vec<_> = old.joints.iter().map(|j| j.lift).filter(|l| l.to_utc() > history.now).collect();
            lifts.sort_unstable();
            lifts.dedup();
            lifts.retain(|l| by.is_none_or(|by| l.naive_local() < by.0));
            for lift in lifts.into_iter().take(TRIES) {
                let mut then = kitchen.clone();
                if let Some(j) = then.joints.last_mut() {
                    j.arrives = Some(Moment(lift.naive_local()));
                }
                if self.has_room(&then) {
                    out.at = Some(lift);
                    let when = moment(&lift);
                    let comes = self.if_it_comes(&kitchen);
                    out.says.push(format!("Not {comes}: room is found for one that is collected {when}."));
                    kitchen = then;
                    break;
                }
            }
        }
        self.what_if(question, &kitchen, out);
    }

    /// The last joint of a kitchen has not come before now.
    fn come_now_at_the_soonest(&self, kitchen: &mut Kitchen) {
        let now = self.again.kitchen.zone.civil(self.again.history.now);
        if let Some(j) = kitchen.joints.last_mut() {
            j.arrives = j.arrives.map(|a| Moment(a.0.max(now)));
        }
    }

    /// In words: when the last joint of this kitchen is there.
    fn if_it_comes(&self, kitchen: &Kitchen) -> String {
        let now = kitchen.zone.civil(self.again.history.now);
        match kitchen.joints.last().and_then(|j| j.arrives).filter(|a| a.0 > now) {
            Some(a) => format!("if it comes {}", a.0.format("%a %-d %b %H:%M")),
            None => "if it is here now".to_owned(),
        }
    }

    fn has_room(&mut self, kitchen: &Kitchen) -> bool {
        self.plan_with(kitchen).is_ok_and(|r| self.is_fine(&r))
    }

    /// How many more joints alike have room as well, all here now at the soonest and none with a date of its own: one after
    /// the other, until a plan with another would break something.
    pub(super) fn how_many(&mut self, question: &Question, out: &mut Answer) {
        let Question::HowMany { weight, outcome } = question else { return };
        let own = self.again.kitchen;
        let (mut kitchen, mut last): (Kitchen, Option<Replan>) = (own.clone(), None);
        let (mut found, mut in_the_way) = (0, Vec::new());
        while found < MOST {
            let mut next = match one_more(&kitchen, *weight, *outcome, None) {
                Ok(next) => next,
                Err(says) => return out.says.push(says),
            };
            self.come_now_at_the_soonest(&mut next);
            let r = match self.plan_with(&next) {
                Ok(r) if self.is_fine(&r) => r,
                Ok(r) => {
                    in_the_way = late_words(&r.plan);
                    in_the_way.extend(r.deviations.into_iter().filter(|d| !self.is_known(d)).map(|d| d.says));
                    break;
                }
                Err(refusal) => {
                    in_the_way = refusal.lines();
                    break;
                }
            };
            (kitchen, last, found) = (next, Some(r), found + 1);
        }
        out.yes = Some(found > 0);
        let comes = self.if_it_comes(own);
        let each = format!("{:.1} kg", weight.as_kg());
        let Some(r) = last else {
            out.says.push(format!("No plan with even one more was found that keeps everything, {comes}."));
            out.says.extend(in_the_way);
            let word = OUTCOMES.iter().find(|o| o.1 == *outcome).map_or("", |o| o.0);
            out.says.push(format!("Whether there is room later is another question: more {} {word}.", weight.as_kg()));
            return;
        };
        let (are, beyond) = if found == 1 { ("has", "a second") } else { ("have", "another") };
        out.says.push(format!("{found} more of {each} {are} room, and no date is missed by more than now."));
        out.says.push(match found {
            MOST => "No more than that were tried.".to_owned(),
            _ => format!("With {beyond} no plan was found that keeps everything:"),
        });
        out.says.extend(in_the_way);
        for j in r.plan.joints.iter().skip(own.joints.len()) {
            out.says.push(format!(
                "{} goes in {} {} and is ready {}.",
                j.name,
                j.tub,
                moment(&j.put_in),
                moment(&j.ready)
            ));
        }
        out.difference = Some(r.difference);
        out.kitchen = Some(kitchen);
    }
}
