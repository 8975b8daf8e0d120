//! The palette: any command of the table, found by a few letters of its words.

use super::command::{COMMANDS, Command, Entry, Group, On};
use super::field::Field;
use super::key::{Code, Key};
use super::state::{Overlay, State};
use super::update::Effect;
use super::view::View;

/// What is typed, and which offer the cursor is on.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Palette {
    pub field: Field,
    pub cursor: usize,
    /// Only commands of this group: the list of views is the palette of one group.
    pub only: Option<Group>,
}

/// A command that fits what is typed.
#[derive(Debug, Clone)]
pub struct Offer {
    pub entry: &'static Entry,
    /// Whether it would do anything now.
    pub open: bool,
    /// Which letters of its words were typed, by their number.
    pub hits: Vec<usize>,
}

/// The commands that fit what is typed, the best first; all in the table's order when nothing is.
pub fn offers(state: &State) -> Vec<Offer> {
    let palette = &state.palette;
    let typed = palette.field.text().to_lowercase();
    let tokens: Vec<&str> = typed.split_whitespace().collect();
    let mut found: Vec<(i32, Offer)> = COMMANDS
        .iter()
        .filter(|e| e.command != Command::Palette && e.on != On::Form && palette.only.is_none_or(|g| e.group == g))
        .filter_map(|entry| {
            let (mut score, mut hits) = (0, Vec::new());
            for token in &tokens {
                let (s, h) = fuzzy(token, entry.words)?;
                score += s;
                hits.extend(h);
            }
            let open = would_be_open(state, entry);
            Some((if open { score } else { score - 4 }, Offer { entry, open, hits }))
        })
        .collect();
    if !tokens.is_empty() {
        // A stable sort: what fits equally well stays in the table's order.
        found.sort_by_key(|f| -f.0);
    }
    found.into_iter().map(|f| f.1).collect()
}

/// Whether it does something from here: on this view, or on the one it is at home on.
fn would_be_open(state: &State, entry: &Entry) -> bool {
    entry.on.has(state.view) && (entry.allowed)(state) || !entry.on.has(state.view) && home(entry).is_some()
}

/// The view to go to for a command that is not at home on the present one.
fn home(entry: &Entry) -> Option<View> {
    View::ALL.into_iter().find(|v| entry.on.has(*v) && (*v == View::Timeline || !entry.on.has(View::Timeline)))
}

/// How well the letters of a token fit into words in their order, and where; more is better. Letters at the beginning
/// of a word and letters that stand together count for more.
pub fn fuzzy(token: &str, words: &str) -> Option<(i32, Vec<usize>)> {
    let letters: Vec<char> = words.to_lowercase().chars().collect();
    let token: Vec<char> = token.chars().collect();
    if token.is_empty() {
        return Some((0, Vec::new()));
    }
    // best[j]: the best score with the letter so far at j, and how it got there.
    let mut best: Vec<Option<(i32, usize)>> = vec![None; letters.len()];
    let mut ways: Vec<Vec<Option<(i32, usize)>>> = Vec::with_capacity(token.len());
    for (i, t) in token.iter().enumerate() {
        let mut next = vec![None; letters.len()];
        for (j, l) in letters.iter().enumerate().filter(|(_, l)| *l == t) {
            debug_assert_eq!(l, t);
            let starts = j == 0 || !letters[j - 1].is_alphanumeric();
            let here = if starts { 8 } else { 1 };
            let from = match i {
                0 => Some((0, usize::MAX)),
                _ => (0..j)
                    .filter_map(|p| {
                        let (score, _) = best[p]?;
                        let together = if p + 1 == j { 6 } else { -((j - p - 1).min(6) as i32) };
                        Some((score + together, p))
                    })
                    .max_by_key(|x| x.0),
            };
            next[j] = from.map(|(score, p)| (score + here, p));
        }
        best = next.clone();
        ways.push(next);
    }
    let (mut j, score) =
        (0..letters.len()).filter_map(|j| Some((j, best[j]?.0))).max_by_key(|x| (x.1, letters.len() - x.0))?;
    let mut hits = vec![j];
    for way in ways.iter().skip(1).rev() {
        j = way[j]?.1;
        hits.push(j);
    }
    hits.reverse();
    Some((score - i32::try_from(letters.len() / 12).unwrap_or(0), hits))
}

impl State {
    pub(super) fn open_palette(&mut self, only: Option<Group>) {
        let open = Overlay::Palette;
        self.palette = Palette { only, ..Palette::default() };
        if only == Some(Group::Views) {
            // The cursor starts on where the person is, so that down is the next view.
            let here = offers(self).iter().position(|o| o.entry.command == self.view.command());
            self.palette.cursor = here.unwrap_or(0);
        }
        self.overlay = open;
    }

    /// A key while the palette is open; nothing when the key means nothing to it.
    pub(super) fn palette_key(&mut self, key: Key) -> Option<Vec<Effect>> {
        let last = offers(self).len().saturating_sub(1);
        let cursor = &mut self.palette.cursor;
        match (key.ctrl, key.code) {
            (false, Code::Up | Code::BackTab) | (true, Code::Char('p' | 'k')) => *cursor = cursor.saturating_sub(1),
            (false, Code::Down | Code::Tab) | (true, Code::Char('n' | 'j')) => *cursor = (*cursor + 1).min(last),
            (false, Code::PageUp) => *cursor = cursor.saturating_sub(8),
            (false, Code::PageDown) => *cursor = (*cursor + 8).min(last),
            (false, Code::Enter) => {
                let chosen = offers(self).into_iter().nth(self.palette.cursor);
                self.overlay = Overlay::None;
                return Some(chosen.map_or_else(Vec::new, |o| self.run(o.entry)));
            }
            (false, Code::Escape) => self.overlay = Overlay::None,
            _ => {
                if !self.palette.field.key(key) {
                    return None;
                }
                self.palette.cursor = 0;
            }
        }
        Some(Vec::new())
    }

    /// Gives a command from the palette or by a click, going to the view it is at home on first.
    pub(super) fn run(&mut self, entry: &'static Entry) -> Vec<Effect> {
        if !entry.on.has(self.view)
            && let Some(view) = home(entry)
        {
            self.show(view);
        }
        if entry.is_open(self) {
            return self.command(entry.command);
        }
        self.notice = Some(format!("nothing to do for \"{}\" just now", entry.words));
        Vec::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_found_in_their_order_words_first() {
        assert_eq!(fuzzy("zi", "zoom in, as far as quarter hours").unwrap().1, [0, 5]);
        assert_eq!(fuzzy("xyz", "zoom in"), None);
        assert_eq!(fuzzy("oz", "zoom in"), None, "the order counts");
        let score = |t: &str, w: &str| fuzzy(t, w).unwrap().0;
        assert!(score("turn", "next turn") > score("turn", "the hour nearest now, u turn n"));
        assert!(score("wh", "the whole plan") > score("wh", "draw everything, hushed"));
        assert_eq!(fuzzy("ハ", "生ハム").unwrap().1, [1]);
    }
}
