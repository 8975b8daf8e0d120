//! A joint's story, laid out.

use super::{Joint, Stay, Step};
use crate::app::sentence::Sentence;
use crate::app::time::{self, how_long, minute};
use crate::app::views::facts::{State, list, lower, when};
use crate::app::views::page::{Col, Handle, Line, Page, Table, Voice, cell, plain, quiet, trouble, voiced};
use crate::plan::{Because, When, capital};
use crate::science::salt::Band;

impl Joint {
    fn sentence(&self) -> Sentence {
        let open = |s: &&Step| matches!(s.job.state, State::Due | State::Running | State::Missed);
        let next = self.steps.iter().find(|s| open(s) && s.job.hands_minutes > 0);
        let next = next
            .map_or_else(String::new, |s| format!(" Next for it: {}, {}.", lower(s.job.short()), when(&s.job.start)));
        // The clock is the joint's own: what it was planned for before it was weighed is no promise.
        if let Some(s) = self.stay.as_ref().filter(|s| s.lift < s.cured) {
            let (lift, cured) = (when(&s.lift), when(&s.cured));
            return trouble(match minute(s.lift) > self.now {
                true => format!("{} would come out {lift}, before its days are up {cured}: plan again.", self.name),
                false => format!("{} came out {lift}, before its days were up {cured}.", self.name),
            });
        }
        match self.ready_by {
            Some(by) if by < self.ready => trouble(format!(
                "{} is ready {}, {} after it is wanted.{next}",
                self.name,
                when(&self.ready),
                how_long((self.ready - by).num_minutes())
            )),
            Some(by) => plain(format!(
                "{} is ready {}, {} to spare.{next}",
                self.name,
                when(&self.ready),
                how_long((by - self.ready).num_minutes())
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
                _ if !self.slack_known => String::new(),
                0 => "no slack".to_owned(),
                m => format!("{} slack", how_long(m)),
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
        p.set_in(2, capital(&said.join("; ")) + ".", Voice::Plain);
        if !self.tub.is_empty() {
            let with = if self.mates.is_empty() { "alone".to_owned() } else { format!("with {}", list(&self.mates)) };
            p.set_in(2, format!("In {}, {with}, in {}.", self.tub, self.space), Voice::Plain);
        }
        if let Some((at, celsius)) = &self.collected {
            let probed = celsius.map_or_else(|| ", not probed".to_owned(), |c| format!(" at {c:.1} °C"));
            p.set_in(2, format!("Collected {}{probed}.", when(at)), Voice::Plain);
        } else if let Some(at) = &self.arrives {
            let ahead = minute(*at) > self.now;
            let said = match (self.collect, ahead) {
                (true, true) => format!("Collect by {}{}.", when(at), self.last_collect),
                (false, true) => format!("Comes {}.", when(at)),
                (_, false) => format!("Came {}, by the plan.", when(at)),
            };
            p.set_in(2, said, if ahead { Voice::Accent } else { Voice::Plain });
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
            if m >= 0 { format!("in {}", how_long(m)) } else { format!("{} ago", how_long(m)) }
        };
        let over = match s.over_percent.round() {
            0.0 => "its days and no more".to_owned(),
            x => format!("{x:+.0} % on its days"),
        };
        let spare = |at: &When| {
            let m = minute(*at) - minute(s.lift);
            if m >= 0 { format!("{} after the lift", how_long(m)) } else { format!("OVER by {}", how_long(m)) }
        };
        let mut row = |what: &str, at: &When, said: String, strong: bool| {
            let voice = if strong { Voice::Strong } else { Voice::Plain };
            t.row(None, vec![cell(what), voiced(when(at), voice), quiet(said)]);
        };
        row("put in", &s.put_in, left(&s.put_in), false);
        row("cured enough", &s.cured, format!("{:.1} days, {}; never before", s.days, s.rule), true);
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

/// The stay on a line: in, cured, lift, good until, latest.
fn bar(s: &Stay, now: i64, columns: usize) -> String {
    let columns = columns.clamp(10, 100);
    let (from, to) = (minute(s.put_in), minute(s.limit));
    let at = |m: i64| ((m - from) * (columns as i64 - 1) / (to - from).max(1)).clamp(0, columns as i64 - 1) as usize;
    let mut cells = vec!['─'; columns];
    let (cured, lift, good) = (at(minute(s.cured)), at(minute(s.lift)), at(minute(s.good_until)));
    for (i, c) in cells.iter_mut().enumerate() {
        *c = match i {
            i if i < cured => '▒',
            i if i < lift => '█',
            i if i < good => '╌',
            _ => '·',
        };
    }
    if (from..=to).contains(&now) {
        cells[at(now)] = '│';
    }
    cells[lift] = '↑';
    cells[columns - 1] = '▌';
    cells.into_iter().collect()
}
