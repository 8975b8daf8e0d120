//! A kitchen's own limits: known by name, with a source, and told of loudly when one loosens safety.

use super::{Judge, num};
use crate::kitchen::limits::{Kind, Limit, Limits, Overrides};
use crate::kitchen::path::Path;

/// A safety limit loosened by more than this factor is taken for a typing slip.
const SLIP: f64 = 2.0;

/// A limit in minutes that is so many times off the shipped one is taken for hours or days: a day has 24 hours.
const UNIT_SLIP: f64 = 20.0;

/// Limits that are stricter when larger.
fn stricter_when_larger(id: &str) -> bool {
    id.ends_with("_min")
        || matches!(
            id,
            "raw_to_cooked_clean"
                | "slow_simmer_factor"
                | "slow_chill_factor"
                | "nitrite_hurdle"
                | "salt_hurdle"
                | "cover_cm"
                | "headroom_cm"
                | "guarded_brine_percent"
                | "core_celsius"
        )
}

impl Judge<'_> {
    /// Judges the kitchen's own limits, and puts those in force that are not refused.
    pub(super) fn overrides(&mut self) {
        let mut sound = Overrides::default();
        let shipped = Limits::shipped();
        let ids: Vec<String> = shipped.iter().map(|l| l.id.clone()).collect();
        for (id, own) in &self.kitchen.limits.0 {
            let at = Path::of("limits").key(id);
            if !shipped.contains(id) {
                let near = ids.iter().map(|k| (strsim::damerau_levenshtein(k, id), k)).min();
                let hint = near.filter(|(d, k)| *d <= k.len() / 3).map(|(_, k)| format!("did you mean `{k}`?"));
                let says = format!("there is no house limit called `{}`", crate::kitchen::read::printable(id));
                self.refuse(at, says).hint = hint;
                continue;
            }
            if own.source.trim().is_empty() {
                self.refuse(at.key("source"), format!("your own `{id}` names no source"))
                    .hint("say who gives it: an inspector, a book with its page, your own records");
            }
            if self.changed(&at, shipped.get(id), own.value) {
                sound.0.insert(id.clone(), own.clone());
            }
        }
        self.limits = Limits::with(&sound);
    }

    /// False when the value is refused.
    fn changed(&mut self, at: &Path, limit: &Limit, own: f64) -> bool {
        let id = &limit.id;
        let unit = &limit.unit;
        let to_from = format!("{} {unit}, shipped as {} {unit}", num(own), num(limit.value));
        let hint = if unit == "min" { format!("`{id}` counts minutes: {}", limit.says) } else { limit.says.clone() };
        if !(0.0..=1e6).contains(&own) {
            self.refuse(at.key("value"), format!("`{id}` cannot be {to_from}")).hint(hint);
            return false;
        }
        let (loose, ratio) = if stricter_when_larger(id) {
            (own < limit.value, limit.value / own.max(1e-9))
        } else {
            (own > limit.value, own / limit.value.max(1e-9))
        };
        // Somebody is at home while a pot is on; a lidded pot on an electric ring may be left half an hour at most.
        let slip = if id == "pot_alone" { own > 30.0 } else { ratio > SLIP };
        if limit.kind != Kind::Safety || !loose {
            let off = own / limit.value.max(1e-9);
            // Nothing at all is no slip of units, and of a limit of nothing no multiple can be told.
            let meant = own > 0.0 && limit.value > 0.0;
            if unit == "min" && meant && !(1.0 / UNIT_SLIP..=UNIT_SLIP).contains(&off) {
                let says = format!("`{id}` is far from what is usual: {to_from}");
                self.warn(at.key("value"), says).hint(hint);
            }
            return true;
        }
        if slip {
            let says = format!("`{id}` is loosened beyond belief: {to_from}");
            self.refuse(at.key("value"), says).hint(hint);
        } else {
            let says = format!("SAFETY LIMIT LOOSENED: `{id}` is {to_from}");
            self.warn(at.key("value"), says).hint(format!("{}; the plan will go by yours, on your word", limit.says));
        }
        !slip
    }
}
