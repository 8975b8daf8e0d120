//! What is in each tub, on each shelf and in each pot, and what is free.

use chrono::NaiveDate;
use serde::Serialize;

use super::brine::filled;
use super::facts::{Asked, Facts, count, list, when};
use super::fit::{self as room, Floor, Verdict};
use super::page::{Col, Handle, Page, Table, Voice, cell, plain, quiet, voiced};
use super::stay::Stay;
use crate::app::record::Probed;
use crate::app::sentence::Sentence;
use crate::kitchen::{Shape, Side, Tub};
use crate::plan::{Kind, PlannedTask, TubLoad, When};
use crate::process::fit;

/// A tub at the moment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TubNow {
    pub tub: String,
    /// Inner size in words.
    pub size: String,
    /// The load in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load: Option<String>,
    pub joints: Vec<String>,
    /// Joints that were lifted from this load already.
    pub lifted: Vec<String>,
    pub space: String,
    /// Nothing where the meat has outgrown the tub.
    pub brine_litres: Option<f64>,
    /// The same.
    pub fill_cm: Option<f64>,
    /// Free again from, when it is full; in use again from, when it is empty.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub until: Option<When>,
    /// When a lift was due that is not on record: what it is of counts as in the brine.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overdue: Option<When>,
    /// Last reading of its brine, °C, and when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub read: Option<(f64, When)>,
}

/// Something on a shelf.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stands {
    pub what: String,
    /// Footprint, cm.
    pub floor: Floor,
    /// Until when; nothing for a tub whose lift was due and is not on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub until: Option<When>,
}

/// A cold space at the moment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shelf {
    pub space: String,
    pub fridge: Option<String>,
    pub side: Side,
    /// What its thermometer is said to show, °C; nothing is not cold enough.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub celsius: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub read: Option<(f64, When)>,
    /// Clear width, depth and height, cm.
    pub clear: (f64, f64, f64),
    pub stands: Vec<Stands>,
    /// Square centimetres taken and there.
    pub floor: (f64, f64),
    /// Litres taken and there.
    pub litres: (f64, f64),
    /// Warmest it may be to cure in, °C.
    pub cure_at_most: f64,
    /// Empty tubs of this kitchen that could be set down here now.
    pub takes: Vec<String>,
}

/// A pot, ring, oven, chilling means or packer that is busy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Busy {
    pub thing: String,
    pub with: String,
    pub until: When,
}

/// A pot with nothing in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FreePot {
    pub pot: String,
    /// Litres it takes at 85 % of its brim.
    pub litres: f64,
    /// Busy again from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<When>,
}

/// The kit at a moment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tubs {
    pub at: When,
    pub now: bool,
    pub tubs: Vec<TubNow>,
    pub shelves: Vec<Shelf>,
    pub busy: Vec<Busy>,
    pub free_pots: Vec<FreePot>,
    /// One more joint: kilograms, and where it would go.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub another: Option<(f64, Vec<Verdict>)>,
}

impl Tubs {
    pub fn new(facts: &Facts, asked: &Asked) -> Self {
        let today = facts.today();
        let date: NaiveDate = asked.on.unwrap_or(today);
        let now = date == today;
        let at = if now { facts.at(facts.now) } else { facts.civil(date, 12 * 60) };
        let tubs: Vec<TubNow> = facts.kitchen.kit.tubs.iter().map(|t| tub_at(facts, t, at)).collect();
        let shelves: Vec<Shelf> = facts.kitchen.kit.cold.iter().map(|c| shelf(facts, c, &tubs, at)).collect();
        let holding = |name: &str| {
            facts.plan.tasks.iter().find_map(|t| {
                let u = t.uses.iter().find(|u| u.thing == name && u.from <= at && u.to > at)?;
                Some((t, u.to))
            })
        };
        let mut busy = Vec::new();
        let mut free_pots = Vec::new();
        let kit = &facts.kitchen.kit;
        for p in &kit.pots {
            if let Some((t, until)) = holding(&p.name) {
                busy.push(Busy { thing: p.name.clone(), with: with(t), until });
            } else {
                let next = facts.plan.tasks.iter().flat_map(|t| &t.uses).filter(|u| u.thing == p.name && u.from > at);
                let from = next.map(|u| u.from).min();
                free_pots.push(FreePot { pot: p.name.clone(), litres: fit::pot_litres(p), from });
            }
        }
        let others = ["oven", "big ring", "freezer"].into_iter();
        for thing in kit.chilling.iter().map(|c| c.name.as_str()).chain(others) {
            if let Some((t, until)) = holding(thing) {
                busy.push(Busy { thing: thing.to_owned(), with: with(t), until });
            }
        }
        let stands = |t: &Tub, cured: When| {
            let now = tubs.iter().find(|x| x.tub == t.name);
            let full = now.filter(|x| x.load.is_some());
            let takes = |s: &&Shelf| s.takes.contains(&t.name) && keeps_room(facts, s, t, (at, cured));
            room::Standing {
                mates: full.map(|x| x.joints.clone()),
                places: shelves.iter().filter(takes).map(|s| s.space.clone()).collect(),
                needed: now.filter(|x| x.load.is_none()).and_then(|x| x.until),
            }
        };
        let another = asked.fit.map(|kg| (kg.as_kg(), room::another(facts, kg, at, stands)));
        Self { at, now, tubs, shelves, busy, free_pots, another }
    }

    fn sentence(&self) -> Sentence {
        let at = if self.now { "Now".to_owned() } else { when(&self.at) };
        let full: Vec<&TubNow> = self.tubs.iter().filter(|t| t.load.is_some()).collect();
        let empty: Vec<&str> = self.tubs.iter().filter(|t| t.load.is_none()).map(|t| t.tub.as_str()).collect();
        if let Some((kg, verdicts)) = &self.another {
            let yes: Vec<&str> = verdicts.iter().filter(|v| v.fits).map(|v| v.tub.as_str()).collect();
            return plain(match yes.as_slice() {
                [] => format!(
                    "{at}: a joint of {kg:.1} kg fits none of the tubs where it could cure; what binds is below."
                ),
                some => format!("{at}: a joint of {kg:.1} kg would go in {}.", list(some)),
            });
        }
        if self.tubs.is_empty() {
            return plain("The kitchen has no tubs.");
        }
        let free = match empty.as_slice() {
            [] => "no tub is free".to_owned(),
            [one] => format!("{one} is free"),
            some => format!("{} are free", list(some)),
        };
        if full.is_empty() {
            return plain(format!("{at}: nothing is in the brine; {free}."));
        }
        let joints: usize = full.iter().map(|t| t.joints.len()).sum();
        let next = full.iter().filter_map(|t| Some((t.until?, t.tub.as_str()))).min();
        let next = next.map_or_else(String::new, |(u, t)| format!(" {t} is empty again {}.", when(&u)));
        let full = count(full.len(), "tub");
        plain(format!("{at}: {} in {full}; {free}.{next}", count(joints, "joint")))
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        if let Some((kg, verdicts)) = &self.another {
            p.head(format!("One more, {kg:.1} kg, boneless and rolled"));
            let mut t = Table::new(&[Col::Left, Col::Left, Col::Fill]);
            for v in verdicts {
                let (word, voice) = if v.fits { ("fits", Voice::Accent) } else { ("no", Voice::Quiet) };
                t.row(None, vec![cell(v.tub.clone()), voiced(word, voice), cell(v.says.clone())]);
            }
            p.table(&t);
        }
        p.head("Tubs");
        let mut t = Table::new(&[Col::Left, Col::Left, Col::Left, Col::Fill]);
        for x in &self.tubs {
            let of = x.load.clone().map(Handle::Load);
            let says = match (&x.load, x.until) {
                (Some(_), until) => {
                    let until = match (x.overdue, until) {
                        (Some(due), _) => format!("; to be lifted since {}, which is not on record", when(&due)),
                        (None, Some(u)) => format!("; empty again {}", when(&u)),
                        (None, None) => String::new(),
                    };
                    let gone =
                        if x.lifted.is_empty() { String::new() } else { format!("; {} lifted", list(&x.lifted)) };
                    let read = x.read.map_or_else(String::new, |(c, at)| format!("; brine {c:.1} °C {}", when(&at)));
                    let depth = match (x.brine_litres, x.fill_cm) {
                        (Some(litres), Some(cm)) => format!("{litres:.1} L, {cm:.1} cm deep"),
                        _ => "too small for what lies in it, so litres and depth are not known".to_owned(),
                    };
                    format!("{depth}, in {}{gone}{until}{read}", x.space)
                }
                (None, Some(u)) => format!("empty until {}", when(&u)),
                (None, None) => "empty, not needed again".to_owned(),
            };
            let what = if x.load.is_some() { voiced(list(&x.joints), Voice::Strong) } else { quiet("—") };
            t.row(of, vec![cell(x.tub.clone()), quiet(x.size.clone()), what, quiet(says)]);
        }
        p.table(&t);
        p.head("In the cold");
        for s in &self.shelves {
            shelf_lines(&mut p, s);
        }
        p.head("Pots and the rest");
        let mut t = Table::new(&[Col::Left, Col::Left, Col::Fill]);
        for b in &self.busy {
            let says = format!("{}, until {}", b.with, when(&b.until));
            t.row(None, vec![cell(b.thing.clone()), voiced("busy", Voice::Accent), cell(says)]);
        }
        for f in &self.free_pots {
            let from = f.from.map_or_else(|| "not needed again".to_owned(), |u| format!("needed {}", when(&u)));
            let says = format!("{:.0} L at 85 % of the brim; {from}", f.litres);
            t.row(None, vec![cell(f.pot.clone()), quiet("free"), quiet(says)]);
        }
        if t.is_empty() {
            p.say("No pots.", Voice::Quiet);
        }
        p.table(&t);
        p
    }
}

impl Shelf {
    /// A place for raw meat that is over what may be cured in.
    fn is_warm(&self) -> bool {
        let known = self.read.map(|r| r.0).or(self.celsius);
        self.side == Side::Raw && known.is_some_and(|c| c > self.cure_at_most)
    }
}

fn with(t: &PlannedTask) -> String {
    format!("{} {}", t.kind.words(), list(&t.joints)).trim_end().to_owned()
}

/// Columns of a floor bar.
const BAR: usize = 16;

fn shelf_lines(p: &mut Page, s: &Shelf) {
    let side = match s.side {
        Side::Raw => "raw",
        Side::Cooked => "cooked",
    };
    let warm = match (s.read, s.celsius) {
        (Some((c, at)), _) => format!("{c:.1} °C read {}", when(&at)),
        (None, Some(c)) => format!("said to be {c:.0} °C"),
        (None, None) => "no thermometer: not cold enough to plan with".to_owned(),
    };
    let (w, d, h) = s.clear;
    let mut l = super::page::Line::default();
    l.push(s.space.clone(), Voice::Strong);
    l.push(format!("  {side} side, {w:.0} × {d:.0} cm, {h:.0} cm clear, {warm}"), Voice::Quiet);
    p.line(l);
    let share = (s.floor.0 / s.floor.1.max(1.0)).clamp(0.0, 1.0);
    let full = (share * BAR as f64).round() as usize;
    let mut bar = super::page::Line::default();
    bar.push("  ", Voice::Plain);
    bar.push("█".repeat(full), Voice::Plain);
    bar.push("░".repeat(BAR - full), Voice::Quiet);
    bar.push(
        format!("  floor {:.0} of {:.0} cm², {:.0} of {:.0} L", s.floor.0, s.floor.1, s.litres.0, s.litres.1),
        Voice::Plain,
    );
    p.line(bar);
    for x in &s.stands {
        let (a, b) = x.floor;
        let until = x.until.map_or_else(|| "its lift is on record".to_owned(), |u| when(&u));
        p.set_in(2, format!("{}, {a:.0} × {b:.0} cm, until {until}", x.what), Voice::Plain);
    }
    let takes = match (s.takes.as_slice(), s.side) {
        ([], Side::Raw) if s.is_warm() => {
            format!("too warm to cure in: {:.0} °C at the most; read it again, see to the fridge", s.cure_at_most)
        }
        ([], Side::Raw) => "takes none of the empty tubs".to_owned(),
        ([], Side::Cooked) => "no tubs here: cooked side".to_owned(),
        (some, _) => format!("would take {}, one at a time", list(some)),
    };
    p.set_in(2, takes, if s.is_warm() { Voice::Trouble } else { Voice::Quiet });
}

fn size(inner: Shape) -> String {
    match inner {
        Shape::Box { length, width, height } => {
            format!("{:.0} × {:.0} × {:.0} cm", length.as_cm(), width.as_cm(), height.as_cm())
        }
        Shape::Round { diameter, height } => format!("Ø{:.0} × {:.0} cm", diameter.as_cm(), height.as_cm()),
    }
}

/// Whether an empty tub that a shelf takes now still has its room there until a moment, beside the tubs and the joints that come:
/// each time something comes, beside all that stands there then.
fn keeps_room(facts: &Facts, shelf: &Shelf, tub: &Tub, (at, until): (When, When)) -> bool {
    let kit = &facts.kitchen.kit;
    let Some(space) = kit.cold.iter().find(|c| c.name == shelf.space) else { return false };
    let loads = facts.plan.loads.iter().filter(|l| l.space == space.name).filter_map(|l| Stay::of(facts, l));
    let laid = facts.plan.tasks.iter().filter(|t| is_laid(t)).flat_map(|t| &t.uses).filter(|u| u.thing == space.name);
    let mut moments = loads.map(|s| s.from).chain(laid.map(|u| u.from)).filter(|m| *m > at && *m < until);
    moments.all(|m| {
        let others = kit.tubs.iter().filter(|t| t.name != tub.name);
        let tubs: Vec<TubNow> = others.map(|t| tub_at(facts, t, m)).collect();
        let (stands, litres) = standing(facts, space, &tubs, m);
        let floors: Vec<Floor> = stands.iter().map(|s| s.floor).collect();
        room::tub_on_shelf(tub, space, &floors, litres).is_ok()
    })
}

fn tub_at(facts: &Facts, tub: &Tub, at: When) -> TubNow {
    let loads = facts.plan.loads.iter().filter(|l| l.tub == tub.name);
    let stays: Vec<(&TubLoad, Stay)> = loads.filter_map(|l| Some((l, Stay::of(facts, l)?))).collect();
    // What went in on record lies there, whatever else was planned to.
    let here = stays.iter().filter(|s| s.1.holds(at)).max_by_key(|s| (s.1.recorded, s.1.from));
    let next = stays.iter().filter(|s| s.1.from > at).map(|s| s.1.from).min();
    let read = facts.record.and_then(|r| {
        // What was read before this brine was made was another's. It was made by the time the meat was put in, ticked off or not.
        let made = here.and_then(|(l, stay)| {
            let make = |t: &&PlannedTask| t.kind == Kind::BrineMake && l.joints.iter().any(|j| t.joints.contains(j));
            let t = facts.plan.tasks.iter().find(make)?;
            let begun = facts.happened(&t.id).map_or(t.start, |h| facts.at(h.begun_by(t.start.to_utc())));
            Some(begun.min(stay.from))
        });
        let mine = r.readings.iter().filter(|x| x.of == Probed::Brine(tub.name.clone()) && facts.at(x.when) <= at);
        let mine = mine.filter(|x| made.is_none_or(|m| facts.at(x.when) >= m));
        mine.max_by_key(|x| x.when).map(|x| (x.celsius, facts.at(x.when)))
    });
    // Of meat that has outgrown its tub nobody knows.
    let known = |l: &TubLoad, figure: f64| filled(facts.kitchen, l).is_ok().then_some(figure);
    TubNow {
        tub: tub.name.clone(),
        size: size(tub.inner),
        load: here.map(|s| s.0.id.clone()),
        joints: here.map_or_else(Vec::new, |s| s.1.joints(at, false)),
        lifted: here.map_or_else(Vec::new, |s| s.1.joints(at, true)),
        space: here.map_or_else(String::new, |s| s.0.space.clone()),
        brine_litres: here.map_or(Some(0.0), |s| known(s.0, s.0.brine_litres)),
        fill_cm: here.map_or(Some(0.0), |s| known(s.0, s.0.fill_cm)),
        until: here.map_or(next, |s| s.1.out()),
        overdue: here.and_then(|s| s.1.overdue),
        read,
    }
}

/// Joints on a shelf of their own, out of their tubs.
const fn is_laid(t: &PlannedTask) -> bool {
    matches!(t.kind, Kind::Rest | Kind::Chill | Kind::Soak)
}

/// What stands in a cold space at a moment, of these tubs and of the joints, and its litres.
fn standing(facts: &Facts, space: &crate::kitchen::ColdSpace, tubs: &[TubNow], at: When) -> (Vec<Stands>, f64) {
    let mut stands = Vec::new();
    let mut litres = 0.0;
    for t in tubs.iter().filter(|t| t.load.is_some() && t.space == space.name) {
        if let Some(tub) = facts.kitchen.kit.tubs.iter().find(|x| x.name == t.tub) {
            let what = format!("{} ({})", t.tub, list(&t.joints));
            stands.push(Stands { what, floor: fit::tub_floor(tub), until: t.until });
            litres += fit::tub_litres(tub);
        }
    }
    for t in facts.plan.tasks.iter().filter(|t| is_laid(t)) {
        for u in t.uses.iter().filter(|u| u.thing == space.name && u.from <= at && u.to > at) {
            // What may still be in its tub is not beside it.
            let out = t.joints.iter().filter(|n| !tubs.iter().any(|x| x.joints.contains(n)));
            for j in out.filter_map(|n| facts.joint(n)) {
                let s = fit::size_of(j);
                let state = if t.kind == Kind::Chill { "cold ham" } else { "resting" };
                let floor = (s.length, s.diameter);
                stands.push(Stands { what: format!("{} ({state})", j.name), floor, until: Some(u.to) });
                litres += s.length * s.diameter * s.diameter / 1000.0;
            }
        }
    }
    (stands, litres)
}

fn shelf(facts: &Facts, space: &crate::kitchen::ColdSpace, tubs: &[TubNow], at: When) -> Shelf {
    let kit_tub = |name: &str| facts.kitchen.kit.tubs.iter().find(|t| t.name == name);
    let (stands, litres) = standing(facts, space, tubs, at);
    let floors: Vec<Floor> = stands.iter().map(|s| s.floor).collect();
    let empty = tubs.iter().filter(|t| t.load.is_none()).filter_map(|t| kit_tub(&t.tub));
    let read = facts.record.and_then(|r| {
        let mine = |x: &&crate::app::record::Read| match &x.of {
            Probed::Space(n) => *n == space.name || space.fridge.as_ref() == Some(n),
            _ => false,
        };
        let last = r.readings.iter().filter(mine).filter(|x| facts.at(x.when) <= at).max_by_key(|x| x.when)?;
        Some((last.celsius, facts.at(last.when)))
    });
    let celsius = space.temperature.map(crate::units::Temperature::as_celsius);
    let cure_at_most = crate::kitchen::Limits::with(&facts.kitchen.limits).value("cure_space_celsius");
    // What was read counts before what is said; what nobody knows is not cold.
    let known = read.map(|r| r.0).or(celsius);
    let cold = space.side == Side::Raw && known.is_some_and(|c| c <= cure_at_most);
    let takes = empty
        .filter(|t| cold && room::tub_on_shelf(t, space, &floors, litres).is_ok())
        .map(|t| t.name.clone())
        .collect();
    Shelf {
        space: space.name.clone(),
        fridge: space.fridge.clone(),
        side: space.side,
        celsius,
        cure_at_most,
        read,
        clear: (space.width.as_cm(), space.depth.as_cm(), space.height.as_cm()),
        floor: (floors.iter().map(|f| f.0 * f.1).sum::<f64>() + 0.0, space.width.as_cm() * space.depth.as_cm()),
        litres: (litres + 0.0, fit::space_litres(space)),
        stands,
        takes,
    }
}
