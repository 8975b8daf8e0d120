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

/// The same, where the whole name can mean one task only. A tub's first load is called by the tub's name alone: once that load's
/// task is settled the name may be a later load's, and [`find`] goes by the record.
pub(super) fn only_by_id<'s, 'a>(text: &'a str, state: &'s State) -> Option<(&'s PlanLine, &'a str)> {
    let by_tub = |l: &PlanLine| matches!(l.kind, Kind::Submerge | Kind::Turn);
    let several = |l: &PlanLine| by_tub(l) && stem(l).is_some_and(|s| loads_of(s, state).len() > 1);
    by_id(text, state).filter(|(l, _)| !(settled(l, state) && several(l)))
}

/// The tasks that put the loads of a tub into it, the first load first.
fn loads_of<'s>(tub: &str, state: &'s State) -> Vec<&'s PlanLine> {
    let its = |l: &&PlanLine| {
        let after = stem(l).and_then(|s| s.strip_prefix(tub));
        l.kind == Kind::Submerge && after.is_some_and(|r| r.is_empty() || r.starts_with(" (load "))
    };
    let mut loads: Vec<&PlanLine> = state.lines.planned().into_iter().filter(its).collect();
    loads.sort_by_key(|l| l.start);
    loads
}

fn settled(line: &PlanLine, state: &State) -> bool {
    state.tasks.get(&line.id).is_some_and(crate::book::TaskRecord::is_settled)
}

/// When a task was ended, or begun, by the record.
fn happened(line: &PlanLine, state: &State) -> Option<DateTime<Utc>> {
    let record = state.tasks.get(&line.id)?;
    record.finished.as_ref().or(record.started.as_ref()).map(|m| m.when)
}

/// Whether two tasks are of one load: a joint lies in one load only.
fn shares(line: &PlanLine, load: &PlanLine) -> bool {
    line.joints.iter().any(|j| load.joints.contains(j))
}

/// Whether every joint of a load was lifted before a moment, by the record.
fn is_out(load: &PlanLine, at: DateTime<Utc>, state: &State) -> bool {
    let lifts: Vec<&PlanLine> =
        state.lines.planned().into_iter().filter(|l| l.kind == Kind::Rinse && shares(l, load)).collect();
    !lifts.is_empty() && lifts.iter().all(|l| happened(l, state).is_some_and(|lifted| lifted <= at))
}

/// Of the loads of a tub the one that lay in it at a moment: the last put in before by the record, the first where none was. A
/// turn after that one's lift is of the next, whose putting in nobody wrote down.
fn lying<'s>(loads: &[&'s PlanLine], turn: bool, at: DateTime<Utc>, state: &State) -> Option<&'s PlanLine> {
    let before = |l: &&PlanLine| happened(l, state).is_some_and(|put_in| put_in <= at);
    let last = loads.iter().rposition(before).unwrap_or(0);
    let next = loads.get(last + 1).filter(|_| turn && is_out(loads[last], at, state));
    next.or(loads.get(last)).copied()
}

/// Of the tasks that fill a tub, load after load, the one that was recorded for about that moment, and else the first that is
/// still to be done.
///
/// # Errors
/// When that is long before it is due, and the load before it is not out: it may be the other that is meant.
fn filling<'s>(
    name: &str,
    mut tasks: Vec<&'s PlanLine>,
    loads: &[&PlanLine],
    at: DateTime<Utc>,
    state: &State,
) -> Result<&'s PlanLine, Unclear> {
    tasks.sort_by_key(|l| l.start);
    let twice = tasks.iter().find(|l| happened(l, state).is_some_and(|done| (done - at).abs() < SAME));
    if let Some(l) = twice {
        return Ok(l);
    }
    let open = tasks.iter().position(|l| !settled(l, state));
    let chosen = open.map_or(tasks.last(), |k| tasks.get(k)).copied();
    let chosen = chosen.ok_or_else(|| Unclear::new("there is nothing to do there"))?;
    let before = open.and_then(|k| tasks[..k].last());
    let still_in = |b: &PlanLine| loads.iter().any(|load| shares(b, load) && !is_out(load, at, state));
    if let Some(b) = before
        && chosen.start - at > EARLY
        && still_in(b)
    {
        let zone = state.kitchen.zone;
        let recorded = happened(b, state).map_or_else(String::new, |w| format!(" for {}", moment(w, zone)));
        return Err(Unclear {
            says: format!(
                "{} is on record{recorded}, and {name} is not due again before {}",
                b.id,
                moment(chosen.start, zone)
            ),
            choices: vec![format!("done {}  (due {})", chosen.id, moment(chosen.start, zone))],
        });
    }
    Ok(chosen)
}

/// The number of a turn at the start of a text, if there is one, and the moment that the rest says: "3" is the third turn,
/// "4 Mar 19:00" is a moment.
fn numbered<'t, M>(
    text: &'t str,
    turns: &[&PlanLine],
    when: impl Fn(&str) -> Result<M, Unclear>,
) -> Result<(Option<&'t str>, M), Unclear> {
    let is_turn = |n: &&str| turns.iter().any(|l| is_nth(l, n));
    let first = text.split([' ', ':']).next().filter(|w| !w.is_empty() && w.bytes().all(|b| b.is_ascii_digit()));
    let whole = when(text);
    let Some(n) = first.filter(is_turn) else { return whole.map(|m| (None, m)) };
    let rest = text[n.len()..].trim_start_matches([' ', ':']);
    match (whole, when(rest)) {
        (Ok(m), _) if !rest.is_empty() => Ok((None, m)),
        (_, Ok(m)) => Ok((Some(n), m)),
        (whole, Err(_)) => whole.map(|m| (None, m)),
    }
}

fn is_nth(line: &PlanLine, n: &str) -> bool {
    line.kind == Kind::Turn && line.id.ends_with(&format!(" {n}"))
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
    let (name, rest) = name_at(&format!("thing to {words}"), text, &names)?;
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
    // One load after another in the same tub: its name means whichever the record says.
    let its = loads_of(name, state);
    let several = its.len() > 1;
    if several {
        of_name = of_kind.iter().filter(|l| its.iter().any(|load| shares(l, load))).copied().collect();
    }
    let (number, (at, said)) = numbered(rest, &of_name, when)?;
    if several && kinds.iter().any(|k| matches!(k, Kind::BrineMake | Kind::Cool | Kind::Submerge)) {
        return filling(name, of_name, &its, at, state).map(|l| (l, said));
    }
    if several && let Some(load) = lying(&its, kinds.contains(&Kind::Turn), at, state) {
        of_name.retain(|l| shares(l, load));
    }
    let told = |l: &&PlanLine| format!("done {}  (due {})", l.id, moment(l.start, state.kitchen.zone));
    let ask = |says: String, lines: &[&PlanLine]| Unclear { says, choices: lines.iter().take(8).map(told).collect() };
    if let Some(n) = number {
        return match of_name.iter().find(|l| is_nth(l, n)) {
            Some(l) => Ok((l, said)),
            None => Err(ask(format!("what lay in {name} then has no turn {n}"), &of_name)),
        };
    }
    if let [one] = of_name.as_slice() {
        return Ok((one, said));
    }
    let record = |l: &&PlanLine| state.tasks.get(&l.id);
    // Said twice: the one that was recorded for about that moment.
    let twice = of_name.iter().find(|l| {
        record(l).and_then(|r| r.finished.as_ref()).is_some_and(|m| l.kind == Kind::Turn && (m.when - at).abs() < SAME)
    });
    if let Some(l) = twice {
        return Ok((l, said));
    }
    let mut open: Vec<&PlanLine> = of_name.iter().filter(|l| !settled(l, state)).copied().collect();
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
