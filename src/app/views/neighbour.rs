//! A note for whoever turns while everybody is away.

use chrono::NaiveDate;
use serde::Serialize;

use super::facts::{Asked, Facts, State, list, when};
use super::page::{Page, Voice, plain};
use crate::app::sentence::Sentence;
use crate::kitchen::Kitchen;
use crate::plan::{Kind, When};

/// A turn to ask somebody for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wanted {
    pub id: String,
    pub load: String,
    pub space: String,
    pub joints: Vec<String>,
    /// When it is best done, and between when and when it may be.
    pub at: When,
    pub from: When,
    pub to: When,
}

/// The note.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Neighbour {
    pub kitchen: String,
    /// Spells in which everybody is away.
    pub away: Vec<(NaiveDate, NaiveDate)>,
    /// Whether the turns fall into such a spell; if not the note is for the next one.
    pub needed: bool,
    pub turns: Vec<Wanted>,
}

impl Neighbour {
    pub fn new(facts: &Facts, asked: &Asked) -> Self {
        let away = everybody_away(facts.kitchen);
        let turn = |t: &&crate::plan::PlannedTask| t.kind == Kind::Turn;
        let open = |t: &&crate::plan::PlannedTask| matches!(facts.state(t), State::Due | State::Missed);
        let in_spell = |d: NaiveDate| away.iter().any(|(a, b)| *a <= d && d <= *b);
        let all = || facts.plan.tasks.iter().filter(turn).filter(open);
        let mut picked: Vec<_> = match asked.on {
            Some(d) => all().filter(|t| t.start.date_naive() == d).collect(),
            None => all().filter(|t| in_spell(t.start.date_naive()) && t.who.is_none()).collect(),
        };
        let needed = !picked.is_empty();
        if !needed {
            let first = all().next().map(|t| t.start.date_naive());
            picked = all().filter(|t| Some(t.start.date_naive()) == first).collect();
        }
        let turns = picked.into_iter().filter_map(|t| {
            let l = facts.load(t)?;
            // What has been lifted by then is not turned.
            let inside = |j: &&String| facts.plan.joints.iter().all(|s| s.name != **j || s.lift > t.start);
            Some(Wanted {
                id: t.id.clone(),
                load: l.id.clone(),
                space: l.space.clone(),
                joints: l.joints.iter().filter(inside).cloned().collect(),
                at: t.start,
                from: t.earliest,
                to: t.latest,
            })
        });
        Self { kitchen: facts.kitchen.name.clone(), needed, turns: turns.collect(), away }
    }

    fn sentence(&self) -> Sentence {
        plain(match (self.turns.as_slice(), self.needed) {
            ([], _) => "No turns are left, so nobody need be asked.".to_owned(),
            (_, true) => "A note to hand over, with the turns to be done.".to_owned(),
            (_, false) => {
                "Every turn of this plan has somebody at home; a note for the next one, should that change.".to_owned()
            }
        })
    }

    pub fn page(&self, columns: usize) -> Page {
        let mut p = Page::new(columns, self.sentence());
        for t in &self.turns {
            p.head(format!("{}, {}", t.load, t.at.format("%A %-d %B, about %H:%M")));
            if t.from < t.to {
                p.set_in(2, format!("Any time from {} to {} will do.", when(&t.from), when(&t.to)), Voice::Plain);
            }
            let pieces = match t.joints.len() {
                2 => "both pieces".to_owned(),
                n => format!("all {n} pieces"),
            };
            let place = if t.space.is_empty() { "the fridge".to_owned() } else { t.space.clone() };
            p.set_in(2, format!("It stands in {place}. In it: {}.", list(&t.joints)), Voice::Plain);
            for step in [
                "Clean hands. Lift the lid and the weight.".to_owned(),
                match t.joints.len() {
                    1 => "Turn the piece over. Stir the brine up from the bottom.".to_owned(),
                    _ => format!("Turn {pieces} over and change their places. Stir the brine up from the bottom."),
                },
                "Skim off froth. Nothing may stand out of the brine: weight back on.".to_owned(),
                "Lid on. Fridge shut.".to_owned(),
            ] {
                p.set_in(2, format!("☐ {step}"), Voice::Plain);
            }
            p.set_in(2, "Fridge thermometer ______ °C; time ______; name ____________", Voice::Plain);
        }
        if !self.turns.is_empty() {
            p.gap();
            p.say(
                "Stringy, milky or sour-smelling brine, or a fridge over 5 °C: leave it be and ring us. Taste nothing: it is raw, and there is curing salt in it.",
                Voice::Strong,
            );
            p.say("Telephone ____________________", Voice::Plain);
        }
        p
    }
}

/// Dates on which everybody is away, by each one's spells.
fn everybody_away(kitchen: &Kitchen) -> Vec<(NaiveDate, NaiveDate)> {
    let Some((first, rest)) = kitchen.people.split_first() else { return Vec::new() };
    let mut spells: Vec<_> = first.away.iter().map(|a| (a.from.0, a.to.0)).collect();
    for p in rest {
        let mut both = Vec::new();
        for (a, b) in &spells {
            for other in &p.away {
                let (from, to) = ((*a).max(other.from.0), (*b).min(other.to.0));
                if from < to {
                    both.push((from, to));
                }
            }
        }
        spells = both;
    }
    spells.into_iter().map(|(a, b)| (a.date(), b.date())).collect()
}
