//! Which task of the plan is meant by "turned T1" or "done simmer P1".

use super::Unclear;
use super::names::{after, name_at};
use super::tell::moment;
use crate::book::{PlanLine, State};
use crate::process::Kind;
use chrono::{DateTime, TimeDelta, Utc};

/// Words for kinds of tasks: as they are begun ("simmer"), and as they are told when done ("simmered").
pub(super) const KINDS: [(&[&str], &[Kind]); 16] = [
    (&["make brine", "made brine", "boil brine", "boiled brine", "brine made", "brine"], &[Kind::BrineMake]),
    (&["cool brine", "cooled brine", "brine cooled", "cool", "cooled"], &[Kind::Cool]),
    (&["put in", "submerge", "submerged", "put down"], &[Kind::Submerge]),
    (&["turn", "turned", "turns"], &[Kind::Turn]),
    (&["lift", "lifted", "rinse", "rinsed"], &[Kind::Rinse]),
    (&["soak", "soaked"], &[Kind::Soak]),
    (&["dry", "dried"], &[Kind::Dry]),
    (&["rest", "rested"], &[Kind::Rest]),
    (&["simmer", "simmered", "boil", "boiled"], &[Kind::Simmer]),
    (&["glaze", "glazed", "score", "scored"], &[Kind::ScoreAndGlaze]),
    (&["bake", "baked"], &[Kind::Bake]),
    (&["chill", "chilled"], &[Kind::Chill]),
    (&["firm", "firmed"], &[Kind::Firm]),
    (&["slice", "sliced", "cut"], &[Kind::Slice]),
    (&["pack", "packed", "vacuum-pack"], &[Kind::VacuumPack]),
    (&["freeze", "froze", "frozen"], &[Kind::Freeze]),
];

/// A turn logged again within this time of the last is the same one.
const SAME: TimeDelta = TimeDelta::hours(12);
/// Done earlier than this before it is due, a task has to be named by its whole name.
const EARLY: TimeDelta = TimeDelta::hours(40);
/// Two tasks nearly as near as one another: neither is guessed.
const AS_NEAR: TimeDelta = TimeDelta::hours(6);

/// The kind that `text` begins with, and what follows; the longest words first.
pub(super) fn kind_at(text: &str) -> Option<(&'static [Kind], &str)> {
    let words = KINDS.iter().flat_map(|(words, kinds)| words.iter().map(move |w| (*w, *kinds)));
    let found = words.filter_map(|(w, kinds)| after(text, w).map(|rest| (w.len(), kinds, rest)));
    found.max_by_key(|(n, ..)| *n).map(|(_, kinds, rest)| (kinds, rest))
}

/// A task that was named by its whole stable name, and what follows. Only a whole name counts here; a beginning may be the
/// beginning of something else.
pub(super) fn by_id<'s, 'a>(text: &'a str, state: &'s State) -> Option<(&'s PlanLine, &'a str)> {
    let found = state.lines.iter().filter_map(|(id, l)| after(text, id).map(|rest| (id.len(), &l.line, rest)));
    found.max_by_key(|(n, ..)| *n).map(|(_, line, rest)| (line, rest))
}

/// The things that tasks of some kinds are done to, by the names a person may use: joints, tubs and their loads, pots.
fn names_of(lines: &[&PlanLine], state: &State) -> Vec<String> {
    let kit = &state.kitchen.kit;
    let known = |n: &String| {
        kit.tubs.iter().any(|t| t.name == *n)
            || kit.pots.iter().any(|p| p.name == *n)
            || kit.cold.iter().any(|p| p.name == *n)
    };
    let mut names: Vec<String> =
        lines.iter().flat_map(|l| l.joints.iter().chain(l.things.iter().filter(|t| known(t)))).cloned().collect();
    // What stands in the stable name itself: "T1 (load 2)", "P1".
    names.extend(lines.iter().filter_map(|l| stem(l)).map(str::to_owned));
    names.sort();
    names.dedup();
    names
}

/// "T1" of "turn T1 3", "P1" of "simmer P1".
fn stem(line: &PlanLine) -> Option<&str> {
    let prefix = match line.kind {
        Kind::Turn => "turn ",
        Kind::Submerge => "put in ",
        Kind::Simmer => "simmer ",
        Kind::BrineMake => "brine ",
        Kind::Cool => "cool ",
        _ => return None,
    };
    let rest = line.id.strip_prefix(prefix)?;
    Some(match line.kind {
        Kind::Turn => rest.rsplit_once(' ').map_or(rest, |(s, _)| s),
        _ => rest,
    })
}

/// Finds the task that is meant: of a kind, of a thing named at the start of `text`, nearest to a moment that `when` reads from what
/// follows. Gives the task, the moment, and what is left unread.
pub(super) fn find<'s, T>(
    kinds: &[Kind],
    text: &str,
    state: &'s State,
    when: impl Fn(&str) -> Result<(DateTime<Utc>, T), Unclear>,
) -> Result<(&'s PlanLine, T), Unclear> {
    let all: Vec<&PlanLine> = state.lines.planned();
    if all.is_empty() {
        return Err(Unclear::new("the book has no plan yet, so it has no tasks; `turnday replan` makes one"));
    }
    let of_kind: Vec<&PlanLine> = all.iter().filter(|l| kinds.contains(&l.kind)).copied().collect();
    let words = kinds.first().map_or("task", |k| k.words());
    if of_kind.is_empty() {
        return Err(Unclear::new(format!("the plan has no task of the kind \"{words}\"")));
    }
    // A tub stands for what is in it: "lifted T1".
    let loads: Vec<(&str, &PlanLine)> =
        all.iter().filter(|l| l.kind == Kind::Submerge).filter_map(|l| stem(l).map(|s| (s, *l))).collect();
    let mut names = names_of(&of_kind, state);
    names.extend(loads.iter().map(|(s, _)| (*s).to_owned()).filter(|s| !names.contains(s)).collect::<Vec<_>>());
    let (name, mut rest) = name_at(&format!("thing to {words}"), text, &names)?;
    let exact: Vec<&PlanLine> = of_kind.iter().filter(|l| stem(l) == Some(name)).copied().collect();
    let mut of_name = exact;
    if of_name.is_empty() {
        let named = |l: &&&PlanLine| l.joints.iter().chain(&l.things).any(|n| n == name);
        of_name = of_kind.iter().filter(named).copied().collect();
    }
    if of_name.is_empty() {
        let inside: Vec<&String> = loads.iter().filter(|(s, _)| *s == name).flat_map(|(_, l)| &l.joints).collect();
        of_name = of_kind.iter().filter(|l| l.joints.iter().any(|j| inside.contains(&j))).copied().collect();
    }
    // "T1 3": the third turn.
    let number = rest.split([' ', ':']).next().filter(|w| !w.is_empty() && w.bytes().all(|b| b.is_ascii_digit()));
    if let Some(n) = number
        && let Some(l) = of_name.iter().find(|l| l.kind == Kind::Turn && l.id.ends_with(&format!(" {n}")))
    {
        rest = rest[n.len()..].trim_start_matches([' ', ':']);
        return when(rest).map(|(_, t)| (*l, t));
    }
    let (at, said) = when(rest)?;
    let told = |l: &&PlanLine| format!("done {}  (due {})", l.id, moment(l.start, state.kitchen.zone));
    let ask = |says: String, lines: &[&PlanLine]| Unclear { says, choices: lines.iter().take(8).map(told).collect() };
    if let [one] = of_name.as_slice() {
        return Ok((one, said));
    }
    let record = |l: &&PlanLine| state.tasks.get(&l.id);
    let settled = |l: &&PlanLine| record(l).is_some_and(crate::book::TaskRecord::is_settled);
    // Said twice: the one that was recorded for about that moment.
    let twice = of_name.iter().find(|l| {
        record(l).and_then(|r| r.finished.as_ref()).is_some_and(|m| l.kind == Kind::Turn && (m.when - at).abs() < SAME)
    });
    if let Some(l) = twice {
        return Ok((l, said));
    }
    let mut open: Vec<&PlanLine> = of_name.iter().filter(|l| !settled(l)).copied().collect();
    open.sort_by_key(|l| ((l.start - at).abs(), l.start));
    match open.as_slice() {
        [] => of_name.last().map(|l| (*l, said)).ok_or_else(|| Unclear::new("there is nothing to do there")),
        // Joints and tubs have one task of most kinds each; several mean that the name holds several.
        [_, _, ..] if open.iter().any(|l| l.kind != Kind::Turn) => {
            Err(ask(format!("{} tasks could be meant", open.len()), &open))
        }
        [first, rest @ ..] => {
            let off = (first.start - at).abs();
            let second = rest.first().map(|l| (l.start - at).abs());
            if first.start - at > EARLY {
                return Err(ask(
                    format!("{name} is not due before {}", moment(first.start, state.kitchen.zone)),
                    &open,
                ));
            }
            if off > SAME && second.is_some_and(|s| s - off < AS_NEAR) {
                return Err(ask(format!("two turns of {name} are as near"), &open[..2]));
            }
            Ok((first, said))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kind_and_what_follows_it() {
        assert_eq!(kind_at("Turned BOX 3"), Some((&[Kind::Turn][..], "BOX 3")));
        assert_eq!(kind_at("brine made: T1"), Some((&[Kind::BrineMake][..], "T1")));
        assert_eq!(kind_at("turning BOX"), None);
        // The sign for kelvin is three bytes long and its small letter is one: what follows begins where it was typed.
        assert_eq!(kind_at("Pac\u{212a}ed T1"), Some((&[Kind::VacuumPack][..], "T1")));
        assert_eq!(kind_at("soa\u{212a} Äpfel"), Some((&[Kind::Soak][..], "Äpfel")));
        // One letter whose small form is two.
        assert_eq!(kind_at("L\u{130}FT J1"), None);
    }
}
