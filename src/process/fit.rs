//! Does it fit: joints in tubs and pots by their plan view and height, tubs side by side on the floor of a cold space.
//!
//! Pieces lie or stand without overlapping in plan view. A lying piece is a rectangle length × diameter, a standing one a
//! circle; in a box a circle is taken as its square, so an answer "fits" is never too hopeful. A misfit says which
//! measure binds and by how much. Common practice, no source.

use crate::kitchen::{ColdSpace, Joint, Limits, Pot, Shape, Tub, quantities};
use crate::science::{brine, size};
use crate::units::{Length, Mass, Volume};

/// A joint's size as it is laid in a vessel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Centimetres.
    pub diameter: f64,
    /// Centimetres.
    pub length: f64,
    /// Measured, not reckoned from the weight.
    pub measured: bool,
}

/// A joint's size in centimetres; see [`quantities::size`].
pub fn size_of(joint: &Joint) -> Size {
    let s = quantities::size(joint);
    let measured = joint.diameter.is_some() && joint.length.is_some();
    Size { diameter: s.diameter.as_cm(), length: s.length.as_cm(), measured }
}

/// How pieces sit in a vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Sitting {
    /// Tallest piece as it lies, cm.
    pub height: f64,
    /// By piece: standing on its end.
    pub standing: Vec<bool>,
}

/// A measure that does not fit, and by how much.
#[derive(Debug, Clone, PartialEq)]
pub struct Misfit {
    /// "20.0 cm long in 18.0 cm" and the like: what binds, in plain words.
    pub says: String,
    /// How much is missing in the binding measure.
    pub by: f64,
    /// Of `by`: "cm", "L", "kg", "min", a count of things; "wish" or "rule" where nothing is measured.
    pub unit: &'static str,
}

const SLACK: f64 = 1e-6;

/// Whether rectangles fit in a rectangle without overlap, each turned by quarter turns as need be.
pub fn rectangles_fit(items: &[(f64, f64)], width: f64, depth: f64) -> bool {
    let area: f64 = items.iter().map(|(a, b)| a * b).sum();
    if area > width * depth + SLACK {
        return false;
    }
    let mut order: Vec<(f64, f64)> = items.to_vec();
    order.sort_by(|a, b| (b.0 * b.1).total_cmp(&(a.0 * a.1)));
    let mut budget = 20_000u32;
    place(&order, &mut Vec::new(), width, depth, &mut budget)
}

/// Tries each rectangle, largest first, at every corner point the placed ones make. Stops with "no" when the budget is
/// spent, which errs on the careful side.
fn place(rest: &[(f64, f64)], placed: &mut Vec<[f64; 4]>, width: f64, depth: f64, budget: &mut u32) -> bool {
    let Some((&(a, b), rest)) = rest.split_first() else { return true };
    let turns: &[(f64, f64)] = if (a - b).abs() < SLACK { &[(a, b)] } else { &[(a, b), (b, a)] };
    let already = placed.len();
    // The wall, then the far edge of each that is placed.
    let edge = |placed: &[[f64; 4]], i: usize, side: usize| if i == 0 { 0.0 } else { placed[i - 1][side] };
    for &(w, d) in turns {
        for i in 0..=already {
            let x = edge(placed, i, 2);
            for j in 0..=already {
                let y = edge(placed, j, 3);
                if *budget == 0 {
                    return false;
                }
                *budget -= 1;
                let clear = x + w <= width + SLACK
                    && y + d <= depth + SLACK
                    && placed.iter().all(|p| {
                        x + w <= p[0] + SLACK || p[2] <= x + SLACK || y + d <= p[1] + SLACK || p[3] <= y + SLACK
                    });
                if clear {
                    placed.push([x, y, x + w, y + d]);
                    if place(rest, placed, width, depth, budget) {
                        return true;
                    }
                    placed.pop();
                }
            }
        }
    }
    false
}

/// Diameter of the smallest circle around `n` equal circles of diameter 1, for n up to 7 (standard packing constants).
const CIRCLES: [f64; 8] = [0.0, 1.0, 2.0, 2.154_700_5, 2.414_213_6, 2.701_302, 3.0, 3.0];

/// Whether pieces, lying or standing as told, fit a round vessel in plan view; the shortfall in cm when they do not.
fn short_in_round(pieces: &[(Size, bool)], diameter: f64) -> f64 {
    let standing: Vec<f64> = pieces.iter().filter(|p| p.1).map(|p| p.0.diameter).collect();
    let lying: Vec<Size> = pieces.iter().filter(|p| !p.1).map(|p| p.0).collect();
    let need = match (standing.len(), lying.len()) {
        (0, 0) => 0.0,
        (2, 0) => standing[0] + standing[1],
        (n, 0) if n < CIRCLES.len() => CIRCLES[n] * standing.iter().copied().fold(0.0, f64::max),
        (_, 0) => f64::INFINITY,
        (0, _) => {
            let across: f64 = lying.iter().map(|s| s.diameter).sum();
            let along = lying.iter().map(|s| s.length).fold(0.0, f64::max);
            along.hypot(across)
        }
        // Mixed: all as one block of rectangles side by side, standing ones as squares.
        _ => {
            let across: f64 = pieces.iter().map(|p| p.0.diameter).sum();
            let along = lying.iter().map(|s| s.length).fold(0.0, f64::max);
            along.hypot(across)
        }
    };
    need - diameter
}

/// The pieces as rectangles, lying or standing as told.
fn seen_from_above(pieces: &[(Size, bool)]) -> Vec<(f64, f64)> {
    let one = |(s, up): &(Size, bool)| if *up { (s.diameter, s.diameter) } else { (s.length, s.diameter) };
    pieces.iter().map(one).collect()
}

/// Whether the pieces fit in plan view.
fn fits_in_plan(pieces: &[(Size, bool)], inner: Shape) -> bool {
    match inner {
        Shape::Round { diameter, .. } => short_in_round(pieces, diameter.as_cm()) <= SLACK,
        Shape::Box { length, width, .. } => rectangles_fit(&seen_from_above(pieces), length.as_cm(), width.as_cm()),
    }
}

/// How much the plan view is short of room, for pieces that do not fit: by how much the vessel would have to grow each way.
fn short_in_plan(pieces: &[(Size, bool)], inner: Shape) -> f64 {
    match inner {
        Shape::Round { diameter, .. } => short_in_round(pieces, diameter.as_cm()),
        Shape::Box { length, width, .. } => {
            let (items, l, w) = (seen_from_above(pieces), length.as_cm(), width.as_cm());
            (1..=400).map(|k| f64::from(k) * 0.1).find(|g| rectangles_fit(&items, l + g, w + g)).unwrap_or(40.0)
        }
    }
}

/// The flattest way for pieces to sit in a vessel with `room` cm of height for the meat, or the misfit that binds.
fn sit(pieces: &[Size], inner: Shape, room: f64, what: &str) -> Result<Sitting, Misfit> {
    if pieces.len() > 8 {
        return Err(Misfit {
            says: format!("{what} is planned for at most 8 pieces"),
            by: pieces.len() as f64 - 8.0,
            unit: "pieces",
        });
    }
    let poses = || {
        (0..(1u32 << pieces.len())).map(|bits| {
            let posed: Vec<(Size, bool)> = pieces.iter().enumerate().map(|(i, s)| (*s, bits >> i & 1 == 1)).collect();
            let height = posed.iter().map(|(s, up)| if *up { s.length } else { s.diameter }).fold(0.0, f64::max);
            (posed, height)
        })
    };
    let mut best: Option<Sitting> = None;
    for (posed, height) in poses() {
        let flatter = best.as_ref().is_none_or(|b| height < b.height);
        if flatter && height - room <= SLACK && fits_in_plan(&posed, inner) {
            best = Some(Sitting { height, standing: posed.iter().map(|p| p.1).collect() });
        }
    }
    // By how much it does not fit takes long to find out, and is asked only when nothing fits.
    best.ok_or_else(|| {
        let (mut plan_short, mut height_short, mut lowest) = (f64::INFINITY, f64::INFINITY, f64::INFINITY);
        for (posed, height) in poses() {
            let high = height - room;
            lowest = lowest.min(high);
            if fits_in_plan(&posed, inner) {
                height_short = height_short.min(high);
            } else if high <= SLACK {
                plan_short = plan_short.min(short_in_plan(&posed, inner));
            }
        }
        let (measure, by) = if height_short <= plan_short { ("height", height_short) } else { ("floor", plan_short) };
        // Too high however it lies and too wide besides: the height of the flattest way is told.
        let (measure, by) = if by.is_finite() { (measure, by) } else { ("height", lowest) };
        let pieces = if pieces.len() == 1 { "the joint".to_owned() } else { format!("the {} joints", pieces.len()) };
        Misfit { says: format!("{what} is {by:.1} cm short of {measure} for {pieces}"), by, unit: "cm" }
    })
}

/// How joints sit in a tub: the depth of brine, its litres.
#[derive(Debug, Clone, PartialEq)]
pub struct TubFit {
    pub sitting: Sitting,
    /// Depth of brine, cm.
    pub fill: f64,
    /// Litres of brine to cover, filler deducted.
    pub brine: f64,
}

/// Litres of brine in a tub that is filled `fill` cm deep over these joints; below zero where there is no room for any.
fn brine_to(fill: f64, joints: &[&Joint], tub: &Tub) -> f64 {
    let meat = Mass::kg(joints.iter().map(|j| j.planned_weight().as_kg()).sum());
    let filler = tub.filler.unwrap_or(Volume::litres(0.0));
    brine::cover_volume(tub.inner.floor(), Length::cm(fill), meat, filler).as_litres()
}

/// Whether joints fit a tub with cover and headroom, and the brine it then takes.
pub fn in_tub(joints: &[&Joint], tub: &Tub, limits: &Limits) -> Result<TubFit, Misfit> {
    let sizes: Vec<Size> = joints.iter().map(|j| size_of(j)).collect();
    let cover = limits.value("cover_cm");
    let room = tub.inner.height().as_cm() - cover - limits.value("headroom_cm");
    let sitting = sit(&sizes, tub.inner, room, &tub.name)?;
    let fill = sitting.height + cover;
    let meat: f64 = joints.iter().map(|j| size::volume(j.planned_weight()).as_litres()).sum();
    let brine = brine_to(fill, joints, tub);
    if brine < 0.1 * meat {
        return Err(Misfit {
            says: format!("{} leaves {brine:.1} L for brine", tub.name),
            by: 0.1 * meat - brine,
            unit: "L",
        });
    }
    Ok(TubFit { sitting, fill, brine })
}

/// A load that has been put in though it does not fit by the rules: how deep it lies if its flattest way is taken.
pub fn as_it_lies(kitchen: &crate::kitchen::Kitchen, tub: usize, joints: &[usize], limits: &Limits) -> TubFit {
    let tub = &kitchen.kit.tubs[tub];
    let joints: Vec<&Joint> = joints.iter().map(|j| &kitchen.joints[*j]).collect();
    in_tub(&joints, tub, limits).unwrap_or_else(|_| {
        let height = joints.iter().map(|j| size_of(j).diameter).fold(0.0, f64::max);
        let fill = (height + limits.value("cover_cm")).min(tub.inner.height().as_cm());
        let brine = brine_to(fill, &joints, tub).max(0.0);
        TubFit { sitting: Sitting { height, standing: vec![false; joints.len()] }, fill, brine }
    })
}

/// Usable share of a pot's height. Common practice, no source.
const POT_USABLE: f64 = 0.85;

/// Whether joints fit a pot and are covered below 85 % of its brim.
pub fn in_pot(joints: &[&Joint], pot: &Pot) -> Result<Sitting, Misfit> {
    let sizes: Vec<Size> = joints.iter().map(|j| size_of(j)).collect();
    let inner = Shape::Round { diameter: pot.diameter, height: pot.height };
    sit(&sizes, inner, pot.height.as_cm() * POT_USABLE, &pot.name)
}

/// Litres a pot holds at 85 % of its brim.
pub fn pot_litres(pot: &Pot) -> f64 {
    std::f64::consts::PI / 4.0 * pot.diameter.as_cm().powi(2) * pot.height.as_cm() * POT_USABLE / 1000.0
}

/// Whether a pot needs a big ring: told, or wider than 24 cm.
pub fn pot_is_big(pot: &Pot) -> bool {
    pot.big.unwrap_or(pot.diameter.as_cm() > 24.0)
}

/// Outer floor of a tub, cm; a bucket takes its square.
pub fn tub_floor(tub: &Tub) -> (f64, f64) {
    let wall = 2.0 * tub.wall.map_or(0.5, |w| w.as_cm());
    match tub.inner {
        Shape::Box { length, width, .. } => (length.as_cm() + wall, width.as_cm() + wall),
        Shape::Round { diameter, .. } => (diameter.as_cm() + wall, diameter.as_cm() + wall),
    }
}

/// Height of a tub with its lid on, cm.
pub fn tub_height(tub: &Tub) -> f64 {
    tub.height_with_lid.map_or_else(|| tub.inner.height().as_cm() + 2.0, |h| h.as_cm())
}

/// Litres of cold space a tub takes with its lid on.
pub fn tub_litres(tub: &Tub) -> f64 {
    let (w, d) = tub_floor(tub);
    w * d * tub_height(tub) / 1000.0
}

/// Litres a cold space may be filled with.
pub fn space_litres(space: &ColdSpace) -> f64 {
    let clear = space.width.as_cm() * space.depth.as_cm() * space.height.as_cm() / 1000.0;
    space.litres.map_or(0.85 * clear, |l| l.as_litres().min(clear))
}

/// Whether tubs stand side by side in a cold space: by height, floor and litres.
pub fn in_space(tubs: &[&Tub], space: &ColdSpace) -> Result<(), Misfit> {
    for t in tubs {
        let by = tub_height(t) - space.height.as_cm();
        if by > SLACK {
            return Err(Misfit {
                says: format!("{} stands {by:.1} cm too high for {}", t.name, space.name),
                by,
                unit: "cm",
            });
        }
    }
    let litres: f64 = tubs.iter().map(|t| tub_litres(t)).sum::<f64>() - space_litres(space);
    if litres > SLACK {
        return Err(Misfit {
            says: format!("{} is {litres:.0} L short for these tubs", space.name),
            by: litres,
            unit: "L",
        });
    }
    let floors: Vec<(f64, f64)> = tubs.iter().map(|t| tub_floor(t)).collect();
    let (w, d) = (space.width.as_cm(), space.depth.as_cm());
    if rectangles_fit(&floors, w, d) {
        return Ok(());
    }
    let by = (1..=400).map(|k| f64::from(k) * 0.5).find(|g| rectangles_fit(&floors, w + g, d)).unwrap_or(200.0);
    Err(Misfit { says: format!("the floor of {} is {by:.1} cm too narrow for these tubs", space.name), by, unit: "cm" })
}
