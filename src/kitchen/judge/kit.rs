//! The kit: sizes, temperatures, and whether there is what the joints need.

use super::{Judge, bounds, num};
use crate::kitchen::path::Path;
use crate::kitchen::quantities::size;
use crate::kitchen::{ChillingMeans, Joint, Shape, Side, Tub};
use crate::units::{Elapsed, Length, Mass, Volume};

/// Where a brine of 5 % freezes, °C (common practice, no source).
const BRINE_FREEZES: f64 = -3.0;

const SMALLER_UNITS: &str = "a bare number is centimetres; millimetres are written \"270 mm\", inches \"10.5 in\"";

impl Judge<'_> {
    pub(super) fn kit(&mut self) {
        self.tubs();
        self.cold();
        self.pots_and_hob();
        self.oven();
        self.chilling();
        self.packing();
    }

    fn measure(&mut self, path: Path, what: &str, length: Length, usual: (f64, f64)) {
        if let Some(issue) = self.within(path, what, length.as_cm(), &bounds((1.0, 1000.0), usual, " cm")) {
            issue.hint(SMALLER_UNITS);
        }
    }

    fn tubs(&mut self) {
        for (i, t) in self.kitchen.kit.tubs.iter().enumerate() {
            let at = Path::of("kit").key("tubs").at(i);
            let sides = match t.inner {
                Shape::Box { length, width, height } => {
                    vec![("box", "length", length), ("box", "width", width), ("box", "height", height)]
                }
                Shape::Round { diameter, height } => vec![("round", "diameter", diameter), ("round", "height", height)],
            };
            for (shape, field, length) in sides {
                let what = format!("the inner {field} of tub \"{}\"", t.name);
                self.measure(at.key("inner").key(shape).key(field), &what, length, (10.0, 120.0));
            }
            if let Some(wall) = t.wall {
                let what = format!("the wall of tub \"{}\"", t.name);
                self.within(at.key("wall"), &what, wall.as_cm(), &bounds((0.0, 20.0), (0.0, 5.0), " cm"));
            }
            self.tub_height_and_filler(t, &at);
            let joints = &self.kitchen.joints;
            let headroom = self.limits.value("headroom_cm");
            if !joints.is_empty() && joints.iter().all(|j| !could_hold(t, j, headroom)) {
                let smallest = joints.iter().map(|j| size(j).diameter.as_cm()).fold(f64::INFINITY, f64::min);
                let says = format!("tub \"{}\" is smaller than any joint", t.name);
                self.warn(at.key("inner"), says)
                    .hint(format!("the slimmest joint is about {smallest:.1} cm across"))
                    .needs_all();
            }
        }
    }

    fn tub_height_and_filler(&mut self, t: &Tub, at: &Path) {
        let height = t.inner.height();
        if let Some(h) = t.height_with_lid
            && !(h.as_cm() >= height.as_cm() && h.as_cm() <= height.as_cm() + 60.0)
        {
            let says = format!(
                "tub \"{}\" is {} cm high inside and {} cm with its lid on",
                t.name,
                num(height.as_cm()),
                num(h.as_cm())
            );
            self.refuse(at.key("height_with_lid"), says);
        }
        if let Some(f) = t.filler {
            let holds = t.inner.litres();
            if !(f.as_litres() >= 0.0 && f.as_litres() < holds) {
                let says = format!("tub \"{}\" holds {holds:.1} L and its filler {} L", t.name, num(f.as_litres()));
                self.refuse(at.key("filler"), says);
            }
        }
    }

    fn cold(&mut self) {
        let k = self.kitchen;
        let limit = self.limits.get("cure_space_celsius").clone();
        for (i, c) in k.kit.cold.iter().enumerate() {
            let at = Path::of("kit").key("cold").at(i);
            for (field, length) in [("width", c.width), ("depth", c.depth), ("height", c.height)] {
                self.measure(at.key(field), &format!("the {field} of \"{}\"", c.name), length, (10.0, 400.0));
            }
            let clear = c.width.as_cm() * c.depth.as_cm() * c.height.as_cm() / 1000.0;
            if let Some(l) = c.litres.map(Volume::as_litres)
                && !(l > 0.0 && l <= clear)
            {
                let says = format!("\"{}\" has {clear:.0} L of clear space, and {} L are to be used", c.name, num(l));
                self.refuse(at.key("litres"), says);
            }
            let Some(t) = c.temperature.map(|t| t.as_celsius()) else {
                let says = format!("the temperature of \"{}\" is not known", c.name);
                self.warn(at, says)
                    .hint("not known is never read as cold enough: put a thermometer in, and give `temperature`");
                continue;
            };
            let at = at.key("temperature");
            let says = format!("\"{}\" is at {} °C", c.name, num((t * 10.0).round() / 10.0));
            if t > limit.value {
                let hint = if (30.0..=50.0).contains(&t) {
                    format!("did you mean \"{} F\" ({:.1} °C)?", num(t), (t - 32.0) / 1.8)
                } else if c.side == Side::Raw {
                    limit.says.clone()
                } else {
                    "cooked ham is kept at 5 °C or under".to_owned()
                };
                self.refuse(at, says).hint(hint);
            } else if t < BRINE_FREEZES {
                self.refuse(at, says).hint("brine and meat freeze; nothing cures");
            } else if t < 1.0 && c.side == Side::Raw {
                self.warn(at, says).hint("under 1 °C the cure nearly stalls: such days count half");
            }
        }
        let at = Path::of("kit").key("cold");
        if !k.kit.cold.iter().any(|c| c.side == Side::Raw) {
            self.refuse(at.clone(), "there is no cold space for curing tubs (\"side\": \"raw\")").needs_all();
        }
        if self.any_ham() && !k.kit.cold.iter().any(|c| c.side == Side::Cooked) {
            self.refuse(at, "there is no cold space for cooked ham (\"side\": \"cooked\")")
                .hint("cooked ham is kept apart from raw meat, and above it")
                .needs_all();
        }
    }

    fn pots_and_hob(&mut self) {
        let kit = &self.kitchen.kit;
        for (i, p) in kit.pots.iter().enumerate() {
            let at = Path::of("kit").key("pots").at(i);
            for (field, length) in [("diameter", p.diameter), ("height", p.height)] {
                self.measure(at.key(field), &format!("the {field} of pot \"{}\"", p.name), length, (10.0, 80.0));
            }
            if let Some(h) = p.heat_up {
                self.minutes(
                    at.key("heat_up"),
                    &format!("the time pot \"{}\" takes to simmer", p.name),
                    h,
                    (5.0, 240.0),
                );
            }
        }
        if !(1..=20).contains(&kit.sinks) {
            self.refuse(Path::of("kit").key("sinks"), format!("a kitchen with {} sinks", kit.sinks));
        }
        let (rings, big) = (kit.hob.rings, kit.hob.big_rings);
        let at = Path::of("kit").key("hob");
        if big > rings {
            self.refuse(at.key("big_rings"), format!("{big} big rings on a hob of {rings}"));
        }
        if rings > 40 {
            self.refuse(at.key("rings"), format!("a hob of {rings} rings"));
        }
        let ham = self.kitchen.joints.iter().find(|j| j.outcome.is_ham()).map(|j| j.name.clone());
        let Some(name) = ham else { return };
        if kit.pots.is_empty() {
            self.refuse(Path::of("kit"), format!("\"{name}\" is to be a ham, and there is no pot to simmer it in"))
                .needs_all();
        } else if rings == 0 {
            self.refuse(at, format!("\"{name}\" is to be a ham, and the hob has no ring")).needs_all();
        } else if big == 0 && kit.pots.iter().all(|p| p.big.unwrap_or(p.diameter.as_cm() > 24.0)) {
            self.refuse(at, format!("\"{name}\" is to be a ham, and no ring takes any of the pots")).needs_all();
        }
    }

    fn oven(&mut self) {
        let at = Path::of("kit").key("oven");
        let ham = self.kitchen.joints.iter().find(|j| j.outcome.is_ham()).map(|j| j.name.clone());
        match &self.kitchen.kit.oven {
            Some(o) => {
                if !(1..=60).contains(&o.hams) {
                    self.refuse(at.key("hams"), format!("an oven that takes {} hams", o.hams));
                }
                self.measure(at.key("height"), "the clear height of the oven", o.height, (12.0, 100.0));
                self.minutes(at.key("heat_up"), "the time the oven takes to heat", o.heat_up, (0.0, 60.0));
            }
            None => {
                if let Some(name) = ham {
                    self.refuse(
                        Path::of("kit"),
                        format!("\"{name}\" is to be a ham, and there is no oven to bake it in"),
                    )
                    .hint("\"oven\": {} is one for two hams")
                    .needs_all();
                }
            }
        }
    }

    fn chilling(&mut self) {
        let k = self.kitchen;
        for (i, c) in k.kit.chilling.iter().enumerate() {
            let at = Path::of("kit").key("chilling").at(i);
            if !(1..=60).contains(&c.hams) {
                self.refuse(at.key("hams"), format!("\"{}\" takes {} hams", c.name, c.hams));
            }
            if let Some(load) = c.load {
                self.mass(at.key("load"), &format!("the load of \"{}\"", c.name), load, (1.0, 200.0));
            }
            if !matches!(c.means, ChillingMeans::Fridge | ChillingMeans::ColdRoom) {
                continue;
            }
            let space = c.space.as_ref().and_then(|s| k.kit.cold.iter().find(|x| x.name == *s));
            match (&c.space, space) {
                (None, _) => {
                    self.refuse(at, format!("\"{}\" does not say which cold space it uses", c.name))
                        .hint("give `space`, so that hot hams are kept from curing tubs");
                }
                (_, Some(x)) if x.side == Side::Raw => {
                    self.refuse(
                        at.key("space"),
                        format!("\"{}\" chills hams in \"{}\", on the raw side", c.name, x.name),
                    )
                    .hint("hot hams warm the tubs, and cooked meat is kept from raw");
                }
                _ => {}
            }
        }
        let ham = k.joints.iter().find(|j| j.outcome.is_ham()).map(|j| j.name.clone());
        if let (true, Some(name)) = (k.kit.chilling.is_empty(), ham) {
            self.refuse(Path::of("kit"), format!("\"{name}\" is to be a ham, and there is no way to chill it"))
                .hint("iced water will do: \"chilling\": [{ \"name\": \"Sink\", \"means\": \"iced-water\", \"hams\": 1 }]")
                .needs_all();
        }
    }

    fn packing(&mut self) {
        let kit = &self.kitchen.kit;
        let at = Path::of("kit");
        let packer = at.key("packer");
        let b = bounds((1.0, 2000.0), (5.0, 200.0), "");
        self.within(packer.key("packs_per_hour"), "packs an hour", kit.packer.packs_per_hour, &b);
        if kit.packer.rest_after == Some(0) {
            self.refuse(packer.key("rest_after"), "a packer that rests after 0 seals packs nothing")
                .hint("null says that it needs no rest");
        }
        self.minutes(packer.key("rest"), "the packer's rest", kit.packer.rest, (0.0, 60.0));
        if self.kitchen.batch.business && !kit.packer.separate_for_cooked {
            let raw = self.kitchen.joints.iter().any(|j| !j.outcome.is_ham());
            if raw && self.any_ham() {
                self.refuse(packer, "a business packs raw and cooked on one machine")
                    .hint("a business keeps a machine for each: \"separate_for_cooked\": true when it has two")
                    .needs_all();
            }
        }
        match &kit.freezer {
            Some(f) => {
                self.mass(at.key("freezer").key("per_day"), "what the freezer takes in a day", f.per_day, (1.0, 100.0));
                if let Some(free) = f.free
                    && !(0.0..=100_000.0).contains(&free.as_kg())
                {
                    self.refuse(
                        at.key("freezer").key("free"),
                        format!("a freezer with room for {} kg", num(free.as_kg())),
                    );
                }
            }
            None => {
                if let Some(j) = self.kitchen.joints.iter().find(|j| j.is_frozen()) {
                    let says = format!("\"{}\" is to be frozen, and there is no freezer", j.name);
                    self.refuse(at.clone(), says)
                        .hint("\"freezer\": { \"per_day\": \"4 kg\", \"free\": \"10 kg\" }, or \"freeze\": false for the joint")
                        .needs_all();
                }
            }
        }
        self.mass(at.key("slicer").key("per_hour"), "ham sliced an hour", kit.slicer.per_hour, (1.0, 50.0));
        self.minutes(at.key("slicer").key("clean"), "cleaning the slicer", kit.slicer.clean, (0.0, 90.0));
        self.scales();
    }

    fn scales(&mut self) {
        let (salt, curing) = (self.kitchen.kit.scales.salt_g, self.kitchen.kit.scales.curing_salt_g);
        let at = Path::of("kit").key("scales");
        self.within(at.key("salt_g"), "the step of the salt scale", salt, &bounds((0.001, 50.0), (0.001, 5.0), " g"));
        let b = bounds((0.0001, 5.0), (0.0001, 0.1), " g");
        if let Some(issue) = self.within(at.key("curing_salt_g"), "the step of the curing-salt scale", curing, &b) {
            issue.hint("curing salt is weighed to 0.1 g or finer");
        }
    }

    fn minutes(&mut self, path: Path, what: &str, t: Elapsed, usual: (f64, f64)) {
        let b = bounds((0.0, 1440.0), usual, " min");
        self.within(path, what, t.as_minutes(), &b);
    }

    fn mass(&mut self, path: Path, what: &str, m: Mass, usual: (f64, f64)) {
        self.within(path, what, m.as_kg(), &bounds((0.05, 10_000.0), usual, " kg"));
    }
}

/// Whether a joint could lie or stand in a tub at all, brine cover left out of account: a generous test.
fn could_hold(t: &Tub, j: &Joint, headroom: f64) -> bool {
    let size = size(j);
    let (d, l) = (size.diameter.as_cm(), size.length.as_cm());
    let height = t.inner.height().as_cm();
    let (lies, stands) = match t.inner {
        Shape::Box { length, width, .. } => {
            let (a, b) = (length.as_cm().max(width.as_cm()), length.as_cm().min(width.as_cm()));
            (d <= b && l <= a.hypot(b), d <= b)
        }
        Shape::Round { diameter, .. } => (l.hypot(d) <= diameter.as_cm(), d <= diameter.as_cm()),
    };
    (lies && d + headroom <= height) || (stands && l + headroom <= height)
}
