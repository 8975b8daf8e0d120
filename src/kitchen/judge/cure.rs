//! The cure: curing-salt strength and target, brine strength, rate and turns.

use super::{Judge, bounds, num};
use crate::kitchen::path::Path;
use crate::kitchen::{Basis, CuringSalt};

impl Judge<'_> {
    pub(super) fn cure(&mut self) {
        match self.kitchen.cure.curing_salt.clone() {
            Some(bag) => {
                self.strength(&bag);
                self.target(&bag);
                self.nitrate(&bag);
            }
            None => self.without_nitrite(),
        }
        self.brine();
        self.rate();
        self.times();
    }

    /// The strength typed from the label. Ten times out is the slip that poisons.
    fn strength(&mut self, bag: &CuringSalt) {
        let at = Path::of("cure").key("curing_salt").key("nitrite_percent");
        let p = bag.nitrite_percent;
        let says = format!("the curing salt is said to hold {} % sodium nitrite", num(p));
        let guess = [p / 10.0, p * 10.0, p * 100.0, p / 100.0].into_iter().find(|g| (4.0..=8.0).contains(g));
        let label = "type the figure from the bag's label; most bags hold 0.5-0.6 % or 5-6.25 %";
        let hint = match guess {
            Some(g) => format!("did you mean {} %? {label}", num(g)),
            None => label.to_owned(),
        };
        if !(p > 0.0 && p <= 100.0) {
            self.refuse(at, says).hint(hint);
        } else if p > 10.0 {
            self.refuse(at, format!("{says}: far too strong to weigh out in a kitchen")).hint(hint);
        } else if (0.3..1.2).contains(&p) {
            // 120 mg/kg from a bag of 0.6 % is 20 g a kilo, which is the cure's whole salt.
            let grams = num((bag.target_mg_per_kg / p).round() / 10.0);
            let says = format!(
                "{says}: {grams} g of it go to a kilo of meat and water, far over every limit if the bag is ten times as strong"
            );
            self.warn(at, says).hint("look at the label once more: 0.6 % and 6 % are easily confused");
        } else if !(4.0..=8.0).contains(&p) {
            self.warn(at, format!("{says}, which is unusual")).hint(hint);
        }
    }

    fn target(&mut self, bag: &CuringSalt) {
        let at = Path::of("cure").key("curing_salt").key("target_mg_per_kg");
        let t = bag.target_mg_per_kg;
        let (hurdle, warn, refuse) = (
            self.limits.value("nitrite_hurdle"),
            self.limits.value("nitrite_warn"),
            self.limits.value("nitrite_refuse"),
        );
        let says = format!("the target is {} mg/kg sodium nitrite", num(t));
        if !(t > 0.0 && t <= 1e6) {
            self.refuse(at, says).hint("leave `curing_salt` out for a cure without nitrite");
        } else if t > refuse {
            let limit = self.limits.get("nitrite_refuse").clone();
            let hint = if (t / 10.0) >= hurdle && (t / 10.0) <= warn {
                format!("did you mean {}?", num(t / 10.0))
            } else {
                format!("110-120 is usual; {} ({})", limit.says, limit.source)
            };
            self.refuse(at, format!("{says}, over {}", num(refuse))).hint(hint);
        } else if t > warn {
            let limit = self.limits.get("nitrite_warn").clone();
            self.warn(at, format!("{says}, over {}", num(warn))).hint(format!("{} ({})", limit.says, limit.source));
        } else if t < hurdle {
            self.warn(at, format!("{says}, under {}: the stricter cooling limits hold", num(hurdle)));
        }
        self.salt_in_the_bag(bag);
    }

    /// The curing salt brings salt of its own, and may not bring more than the cure asks for.
    fn salt_in_the_bag(&mut self, bag: &CuringSalt) {
        let cure = &self.kitchen.cure;
        let p = bag.nitrite_percent;
        if cure.basis != Basis::Equilibrium || !(p > 0.0 && p <= 100.0) {
            return;
        }
        let of_bag = bag.target_mg_per_kg / (100.0 * p);
        let salt = of_bag * (1.0 - p / 100.0);
        if salt > cure.salt_percent + 0.05 && cure.salt_percent > 0.0 {
            let says = format!(
                "{} mg/kg from a bag of {} % brings {} % salt, more than the {} % the cure asks for",
                num(bag.target_mg_per_kg),
                num(p),
                num((salt * 100.0).round() / 100.0),
                num(cure.salt_percent)
            );
            self.refuse(Path::of("cure").key("curing_salt").key("nitrite_percent"), says)
                .hint("is the strength right? else a lower target or a stronger bag is needed");
        }
    }

    fn nitrate(&mut self, bag: &CuringSalt) {
        let at = Path::of("cure").key("curing_salt").key("nitrate_percent");
        let p = bag.nitrate_percent;
        if !(0.0..=100.0).contains(&p) {
            self.refuse(at, format!("the curing salt is said to hold {} % nitrate", num(p)));
            return;
        }
        if p <= 0.0 {
            return;
        }
        let ham = self.kitchen.joints.iter().find(|j| j.outcome.is_ham()).map(|j| j.name.clone());
        let says = format!("the curing salt holds {} % nitrate", num(p));
        match ham {
            Some(name) => self
                .refuse(at, format!("{says}, and \"{name}\" is to be a ham"))
                .hint("a curing salt with nitrate is never used for a ham that is cooked; use one with nitrite only")
                .needs_all(),
            None => self.warn(at, says).hint(
                "nitrate is slow and uneven, and limited by law in many places: look up what holds where you are",
            ),
        };
    }

    fn without_nitrite(&mut self) {
        let at = Path::of("cure");
        let hours = num(self.limits.value("chill_uncured_limit") / 60.0);
        let says = format!("a cure without nitrite: a ham has to be at 5 °C or under within {hours} h");
        self.warn(at, says).hint("the meat stays grey, keeps no longer than fresh, and cures at 4 °C or under only");
        for (i, c) in self.kitchen.kit.cold.iter().enumerate() {
            let warm = c.temperature.filter(|t| c.side == crate::kitchen::Side::Raw && t.as_celsius() > 4.0);
            if let Some(t) = warm.filter(|t| t.as_celsius() <= self.limits.value("cure_space_celsius")) {
                let says =
                    format!("\"{}\" is at {} °C; without nitrite keep to 4 °C or under", c.name, num(t.as_celsius()));
                self.warn(Path::of("kit").key("cold").at(i).key("temperature"), says);
            }
        }
    }

    fn brine(&mut self) {
        let cure = &self.kitchen.cure;
        let (salt, sugar, basis) = (cure.salt_percent, cure.sugar_percent, cure.basis);
        let at = Path::of("cure").key("salt_percent");
        match basis {
            Basis::Equilibrium => {
                let b = bounds((0.5, 10.0), (2.0, 3.5), " %");
                if let Some(issue) = self.within(at, "the salt on meat and water", salt, &b) {
                    issue.hint(if salt > 3.5 {
                        "2.2-3 % is usual; a brine of 10-20 % is \"basis\": \"excess\""
                    } else {
                        "2.2-3 % is usual; a weak brine keeps badly: fridge at 4 °C or under, never an outhouse"
                    });
                }
            }
            Basis::Excess => {
                // Saturated brine at room temperature holds about 36 g of salt to 100 g of water.
                let b = bounds((3.0, 36.0), (10.0, 20.0), " %");
                if let Some(issue) = self.within(at, "the salt in the brine", salt, &b) {
                    issue.hint(if salt < 10.0 {
                        "an excess brine is 10-20 %; 2-3 % on meat and water is \"basis\": \"equilibrium\""
                    } else {
                        "over 20 % the meat is pulled by the day and soaked, or it is too salt to eat"
                    });
                }
            }
        }
        let most = if basis == Basis::Equilibrium { 2.5 } else { 15.0 };
        self.within(Path::of("cure").key("sugar_percent"), "the sugar", sugar, &bounds((0.0, 50.0), (0.0, most), " %"));
    }

    /// Rate, turns and brine belong together as one recipe.
    fn rate(&mut self) {
        let cure = self.kitchen.cure.clone();
        let at = |f: &str| Path::of("cure").key(f);
        let rate = cure.days_per_kg;
        let outside =
            self.within(at("days_per_kg"), "the rate", rate, &bounds((1.5, 20.0), (3.0, 9.0), " days a kilo"));
        if outside.is_none() {
            let says = match cure.basis {
                Basis::Equilibrium if rate < 5.0 => {
                    "3-4 days a kilo belong to a strong brine, not to an equilibrium one"
                }
                Basis::Excess if rate > 5.0 => {
                    "a strong brine for this long makes very salt meat; 3-4 days a kilo are usual"
                }
                _ => "",
            };
            if !says.is_empty() {
                self.warn(at("days_per_kg"), format!("{} days a kilo: {says}", num(rate)))
                    .hint("rate, turns and brine go together as one recipe; do not mix two");
            }
        }
        let longest = self.limits.value("brine_longest") / 1440.0;
        let b = bounds((0.0, longest), (3.0, 14.0), " days");
        self.within(at("fewest_days"), "the fewest days in the brine", cure.fewest_days, &b);
        let b = bounds((0.0, 100.0), (0.0, 30.0), " %");
        self.within(at("bone_extra_percent"), "the extra time on the bone", cure.bone_extra_percent, &b);
        let day = |id: &str| self.limits.value(id) / 1440.0;
        let b = bounds((1.0, day("turn_gap_once").max(1.0)), (day("turn_gap_min"), day("turn_gap_max")), " days");
        self.within(at("turn_every_days"), "the time from turn to turn", cure.turn_every_days, &b);
    }

    fn times(&mut self) {
        let cure = self.kitchen.cure.clone();
        let at = |f: &str| Path::of("cure").key(f);
        let hours = |id: &str| self.limits.value(id) / 60.0;
        let rest = bounds((0.0, hours("rest_limit")), (hours("rest_min"), hours("rest_good")), " h");
        let soak = bounds((0.0, hours("soak_limit")), (0.0, hours("soak_limit")), " h");
        self.within(at("rest"), "the rest after the brine", cure.rest.as_hours(), &rest);
        if let Some(s) = cure.soak {
            self.within(at("soak"), "the soak", s.as_hours(), &soak);
        }
        let pack = bounds((0.01, 20.0), (0.05, 2.0), " kg");
        for (field, what, mass) in
            [("pack_ham", "a pack of ham", cure.pack_ham), ("pack_steaks", "a pack of steaks", cure.pack_steaks)]
        {
            if let Some(issue) = self.within(at(field), what, mass.as_kg(), &pack)
                && mass.as_kg() >= 10.0
            {
                issue.hint("a bare number is kilograms; grams are written \"150 g\"");
            }
        }
    }
}
