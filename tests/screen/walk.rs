//! The states a question is asked in, keys pressed in them as a person does, and words looked for on what is drawn.

use std::sync::Arc;

use turnday::app::{Deed, Effect, Inks, Key, Message, State, update};
use turnday::book::Book;
use turnday::kitchen::Kitchen;
use turnday::plan::ask::Answer;
use turnday::plan::question::Question;
use turnday::plan::replan::Again;
use turnday::plan::{History, Kind, Plan};

use crate::{fixture, frames, views};

/// When a question is asked, and of which kitchen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum At {
    /// Two joints for Twelfth Night, nothing bought yet: when to collect them was left open. Planned by the program and kept.
    Order,
    /// The pair on its third day in the brine, with a book.
    Curing,
    /// The pair on its cook day, with most of it on record.
    CookDay,
    /// Five joints for Easter, planned by the program and kept.
    Five,
}

impl At {
    pub const ALL: [Self; 4] = [Self::Order, Self::Curing, Self::CookDay, Self::Five];

    /// How the page tells it.
    pub const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Order => (
                "order",
                "the two joints of `turnday demo feast`, Tue 1 December, when to collect them left to the plan",
            ),
            Self::Curing => (
                "curing",
                "shank, 2.6 kg, and fillet, 2.1 kg, in one box since Fri 4 December 19:00, with a book; Mon 7 December 18:20",
            ),
            Self::CookDay => {
                ("cook day", "shank and fillet again, Tue 22 December 11:05: one packed, one in the pot since 08:30")
            }
            Self::Five => ("five", "the five joints of `turnday demo five`, Sat 20 February, before they come"),
        }
    }
}

/// What the program planned for [`feast`] and [`five`], kept: a better search then does not move the dates.
/// `turnday plan KITCHEN --steps 400 -o FILE` makes them anew.
pub const FEAST: &str = include_str!("feast.json");
pub const FIVE: &str = include_str!("five.json");

/// The screen as somebody finds it.
pub struct Walk {
    pub state: State,
    book: Option<(Book, tempfile::TempDir)>,
}

impl Walk {
    pub fn begin(at: At, cols: u16, rows: u16) -> Self {
        let k = fixture::pair_kitchen();
        let (state, book) = match at {
            At::Order => (frames::state(&feast(), Some(kept(FEAST)), cols, rows, "2026-12-01 09:00"), None),
            At::Curing => {
                let state = frames::state(&k, Some(fixture::pair_plan(&k)), cols, rows, "2026-12-07 18:20");
                let (state, book, folder) = frames::with_book(state, include_str!("pair.json"));
                let mut walk = Self { state, book: Some((book, folder)) };
                for key in ["r", "\"put in box 4 dec 19:00 by Sorrel\"", "enter"] {
                    walk.press(key);
                }
                return walk;
            }
            At::CookDay => {
                let plan = fixture::pair_plan(&k);
                let mut record = views::record(&k, &plan);
                // Its packs are in the freezer since last night; nobody has to wait for them to be hard.
                let freeze = plan.tasks.iter().find(|t| t.kind == Kind::Freeze).expect("steaks are frozen");
                record.finish(&freeze.id, freeze.start.to_utc(), "Sorrel");
                let mut state = frames::state(&k, Some(plan), cols, rows, "2026-12-22 11:05");
                state.record = Some(record);
                let now = state.now;
                (update(state, Message::Clock(now)).0, None)
            }
            At::Five => (frames::state(&five(), Some(kept(FIVE)), cols, rows, "2027-02-20 10:00"), None),
        };
        Self { state, book }
    }

    /// Presses a key, or types what stands in quotation marks, and does what is then to be done with the book.
    pub fn press(&mut self, key: &str) {
        let keys: Vec<Key> = match key.strip_prefix('"').and_then(|k| k.strip_suffix('"')) {
            Some(typed) => typed.chars().map(Key::char).collect(),
            None => vec![Key::parse(key).unwrap_or_else(|| panic!("{key} is no key"))],
        };
        for key in keys {
            let (state, effects) = update(self.state.clone(), Message::Key(key));
            self.state = state;
            for effect in effects {
                self.carry_out(effect);
            }
        }
    }

    fn carry_out(&mut self, effect: Effect) {
        if let Effect::Ask(question) = effect {
            let answer = self.planned_with(question);
            self.state = update(self.state.clone(), Message::Answer(self.state.asking.asked, answer)).0;
            return;
        }
        let Effect::Do(Deed::Record(acts)) = effect else { return };
        let (book, _) = self.book.as_mut().expect("something is recorded where there is a book");
        for (act, by) in acts {
            book.record(act, &by, turnday::app::time::instant(self.state.now)).expect("it is recorded");
        }
        self.state = frames::hold(self.state.clone(), book);
    }

    /// What a question comes to, planned with as the program does, in a number of steps that makes it the same each time.
    fn planned_with(&self, question: Question) -> Result<Arc<Answer>, String> {
        let chart = self.state.chart.as_deref().ok_or("no plan")?;
        let history = History::none(turnday::app::time::instant(self.state.now));
        let again = Again {
            kitchen: &self.state.kitchen,
            old: &chart.plan,
            history: &history,
            seed: 1,
            steps: 2_000,
            ways: 2,
            what: &[],
        };
        let never = turnday::schedule::NodeBudget(u64::MAX);
        turnday::plan::ask::ask(&again, &[question], &never).pop().map(Arc::new).ok_or("no answer".into())
    }

    pub fn text(&self) -> String {
        frames::text(&frames::draw(&self.state, Inks::Dark).0)
    }
}

/// How many presses the keys are: what is typed counts letter by letter.
pub fn presses(keys: &[&str]) -> usize {
    keys.iter().map(|k| if k.starts_with('"') { k.chars().count() - 2 } else { 1 }).sum()
}

pub fn five() -> Arc<Kitchen> {
    let text = include_str!("../../demo-data/five-and-a-weekend-away.json");
    Arc::new(serde_json::from_str(text).expect("the demo is a kitchen"))
}

/// The demo's pair, without a word of when the pork comes.
pub fn feast() -> Arc<Kitchen> {
    let text = include_str!("../../demo-data/feast-pair.json");
    let mut kitchen: Kitchen = serde_json::from_str(text).expect("the demo is a kitchen");
    kitchen.joints.iter_mut().for_each(|j| j.arrives = None);
    Arc::new(kitchen)
}

pub fn kept(text: &str) -> Plan {
    serde_json::from_str(text).expect("the kept plan is a plan")
}

/// Whether words stand on the screen, on one row or broken over rows that follow each other in one column.
pub fn stands(words: &str, text: &str) -> bool {
    let words: Vec<&str> = words.split_whitespace().collect();
    let rows: Vec<Vec<Token>> = text.lines().map(tokens).collect();
    (0..rows.len()).any(|row| (0..rows[row].len()).any(|at| from(&words, &rows, row, at, true)))
}

/// A word on a row, and whether a column begins and ends with it: text wraps only there.
struct Token<'a> {
    word: &'a str,
    begins: bool,
    ends: bool,
}

fn tokens(row: &str) -> Vec<Token<'_>> {
    let word = |word| Token { word, begins: false, ends: false };
    let mut out: Vec<Token> = Vec::new();
    for part in row.split("  ").filter(|p| !p.trim().is_empty()) {
        let first = out.len();
        out.extend(part.split_whitespace().map(word));
        out[first].begins = true;
        out.last_mut().expect("a part has a word").ends = true;
    }
    out
}

/// Whether words stand from a word of a row on. The first may be the end of what stands there, the last its beginning.
fn from(words: &[&str], rows: &[Vec<Token>], row: usize, at: usize, first: bool) -> bool {
    let Some(token) = rows[row].get(at) else { return false };
    let is = match (first, words.len()) {
        (true, 1) => token.word.contains(words[0]),
        (true, _) => token.word.ends_with(words[0]),
        (false, 1) => token.word.starts_with(words[0]),
        (false, _) => token.word == words[0],
    };
    if !is || words.len() == 1 {
        return is;
    }
    let rest = &words[1..];
    let wrapped = |next: &Vec<Token>| (0..next.len()).any(|i| next[i].begins && from(rest, rows, row + 1, i, false));
    from(rest, rows, row, at + 1, false) || (token.ends && rows.get(row + 1).is_some_and(wrapped))
}
