//! How good a plan is, in words that every door uses.

use super::Plan;
use super::words::length;

/// ` of all 36 ways of sharing`, with which the plan was compared; empty when it was with none.
pub fn sharings(plan: &Plan) -> String {
    match plan.compared.map_or(0, |c| c.sharings) {
        0 => String::new(),
        1 => " of the only way of sharing".to_owned(),
        2 => " of both ways of sharing".to_owned(),
        n => format!(" of all {n} ways of sharing"),
    }
}

/// What is kept in hand of the turns' tolerance, and what that costs.
pub fn in_hand(plan: &Plan) -> Option<String> {
    let h = plan.in_hand.as_ref()?;
    let mut out = format!("Every turn stands at least {} before its last moment.", length(i64::from(h.minutes)));
    let of = |label: &str| {
        let at = plan.levels.iter().position(|l| l.label == label);
        at.and_then(|i| h.without.as_ref()?.get(i).copied())
    };
    if let (Some(days), Some(visits)) = (of("cook days"), of("visits")) {
        let s = |n: i64| if n == 1 { "" } else { "s" };
        out += &format!(
            " A plan that keeps nothing in hand was found with {days} cook day{} and {visits} visit{}; turn_in_hand 0 among \
             the kitchen's limits asks for one.",
            s(days),
            s(visits)
        );
    }
    Some(out)
}
