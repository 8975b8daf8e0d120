//! Every date and time in the file: a plausible year, an hour that exists once, and midnights that were not meant.

use super::Judge;
use crate::kitchen::path::Path;
use crate::kitchen::{Moment, plausible};
use chrono::{LocalResult, NaiveTime, TimeZone};

/// What a date stands for.
#[derive(Clone, Copy, PartialEq)]
enum Meant {
    /// A whole day; its time of day says nothing.
    Day,
    /// A moment.
    Moment,
    /// A moment by which something is over: a bare date is taken for its first minute, which is seldom meant.
    End,
}

impl Judge<'_> {
    pub(super) fn dates(&mut self) {
        for (path, moment, meant) in self.all_dates() {
            if !plausible(moment.0.date()) {
                self.refuse(path, format!("the year {} is outside 2000 to 2099", moment.0.date().format("%Y")))
                    .hint("is the year right?");
                continue;
            }
            if meant == Meant::Day {
                continue;
            }
            let zone = self.kitchen.zone;
            match zone.0.from_local_datetime(&moment.0) {
                LocalResult::Single(_) => {}
                LocalResult::None => {
                    let moved = Moment(zone.civil(zone.instant(moment.0)));
                    let says = format!("{moment} does not exist in {zone}: the clocks skip it");
                    self.warn(path.clone(), says).hint(format!("it is taken for {moved}"));
                }
                LocalResult::Ambiguous(..) => {
                    let says = format!("{moment} comes twice in {zone}: the clocks go back");
                    self.warn(path.clone(), says).hint("the first of the two is taken");
                }
            }
            if meant == Meant::End && moment.0.time() == NaiveTime::MIN {
                let says = format!("{moment} is the first minute of that day");
                self.warn(path, says).hint("give the time of day as well if the day itself is meant");
            }
        }
    }

    fn all_dates(&self) -> Vec<(Path, Moment, Meant)> {
        let k = self.kitchen;
        let mut out = Vec::new();
        let mut add = |path: Path, moment: Option<Moment>, meant| out.extend(moment.map(|m| (path, m, meant)));
        for (i, j) in k.joints.iter().enumerate() {
            let at = Path::of("joints").at(i);
            add(at.key("ready_by"), j.ready_by, Meant::End);
            add(at.key("arrives"), j.arrives, Meant::End);
            add(at.key("lot").key("killed"), j.lot.as_ref().and_then(|l| l.killed), Meant::Day);
        }
        for (i, p) in k.people.iter().enumerate() {
            let at = Path::of("people").at(i);
            for (field, hours) in [("busy", Some(&p.busy)), ("works", p.works.as_ref())] {
                for (n, h) in hours.into_iter().flatten().enumerate() {
                    let at = at.key(field).at(n);
                    add(at.key("since"), h.since, Meant::Day);
                    add(at.key("until"), h.until, Meant::Day);
                }
            }
            for (n, a) in p.away.iter().enumerate() {
                let at = at.key("away").at(n);
                add(at.key("from"), Some(a.from), Meant::Moment);
                add(at.key("to"), Some(a.to), Meant::End);
            }
        }
        let at = Path::of("batch");
        add(at.key("starts"), k.batch.starts, Meant::Moment);
        for (i, d) in k.batch.leave_alone.iter().enumerate() {
            let at = at.key("leave_alone").at(i);
            add(at.key("from"), Some(d.from), Meant::Day);
            add(at.key("to"), d.to, Meant::Day);
        }
        out
    }
}
