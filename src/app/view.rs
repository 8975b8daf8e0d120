//! Which view is on the screen, and where the person is in each.
//!
//! How a view is added or filled:
//!
//! 1. Its data is a file of its own in `src/app/views/`, built purely from kitchen, plan and record, so that the screen draws
//!    it and `turnday show` prints it.
//! 2. `views::shape` says how many lines the cursor can stand on, how far it goes across, and where it stands when the
//!    view is first opened; `views::about` says what a line is about, so that commands can act on it.
//! 3. Its drawing is a file in `src/tui/draw/views/`, called from the one `match` in `src/tui/draw/views/mod.rs`. It
//!    gets the area under the title and draws from the state alone; every line that can be clicked is given to
//!    `canvas.places` as `Target::Line`.
//! 4. A new view has a variant here and a row in the command table (`src/app/command.rs`); palette, list of views,
//!    help and key page follow from that row.

use super::command::Command;
use super::geometry::body;
use super::state::State;
use super::views;

/// Everything there is to look at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub enum View {
    #[default]
    Timeline,
    Day,
    Turns,
    Tubs,
    Joint,
    Brine,
    CookDay,
    Change,
    Freezer,
    Record,
    LastTime,
    Sheets,
    Kitchen,
}

impl View {
    pub const ALL: [Self; 13] = [
        Self::Timeline,
        Self::Day,
        Self::Turns,
        Self::Tubs,
        Self::Joint,
        Self::Brine,
        Self::CookDay,
        Self::Change,
        Self::Freezer,
        Self::Record,
        Self::LastTime,
        Self::Sheets,
        Self::Kitchen,
    ];

    /// Its name on the screen.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Timeline => "Timeline",
            Self::Day => "Day",
            Self::Turns => "Turns",
            Self::Tubs => "Tubs and cold",
            Self::Joint => "Joint",
            Self::Brine => "Brine",
            Self::CookDay => "Cook day",
            Self::Change => "Change",
            Self::Freezer => "Freezer",
            Self::Record => "Record",
            Self::LastTime => "Last time",
            Self::Sheets => "Sheets",
            Self::Kitchen => "Kitchen",
        }
    }

    /// What it answers, in a few words.
    pub const fn says(self) -> &'static str {
        match self {
            Self::Timeline => "all joints from delivery to freezer",
            Self::Day => "the day's jobs in time order",
            Self::Turns => "every tub against every day",
            Self::Tubs => "what is in each tub, shelf and pot; what is free",
            Self::Joint => "one joint: its story, salt, heat, limits",
            Self::Brine => "what to weigh out for each tub",
            Self::CookDay => "the running order, back from in the chill by",
            Self::Change => "old and new plan side by side",
            Self::Freezer => "packs, and what to eat first",
            Self::Record => "everything that was written down",
            Self::LastTime => "batches compared, tastes, what was changed",
            Self::Sheets => "shopping, the day the pork comes, tags, rota, a note, weeks",
            Self::Kitchen => "joints, kit, people, hours, cure, limits",
        }
    }

    /// The command that opens it.
    pub const fn command(self) -> Command {
        match self {
            Self::Timeline => Command::ShowTimeline,
            Self::Day => Command::ShowDay,
            Self::Turns => Command::ShowTurns,
            Self::Tubs => Command::ShowTubs,
            Self::Joint => Command::ShowJoint,
            Self::Brine => Command::ShowBrine,
            Self::CookDay => Command::ShowCookDay,
            Self::Change => Command::ShowChange,
            Self::Freezer => Command::ShowFreezer,
            Self::Record => Command::ShowRecord,
            Self::LastTime => Command::ShowLastTime,
            Self::Sheets => Command::ShowSheets,
            Self::Kitchen => Command::ShowKitchen,
        }
    }

    pub(super) fn of(command: Command) -> Option<Self> {
        Self::ALL.into_iter().find(|v| v.command() == command)
    }
}

/// Where the person is in a view. The timeline keeps its own: window and selection.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Spot {
    /// The line the cursor stands on.
    pub line: usize,
    /// The column, day, joint, tub or cook in hand: whatever left and right go through.
    pub across: usize,
    /// The first line in view.
    pub top: usize,
}

/// What the frame has to know of a view to move about in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shape {
    /// Lines the cursor can stand on; none when there is nothing to stand on.
    pub lines: usize,
    /// How many steps left and right go through; 0 or 1 when there is nowhere to go.
    pub across: usize,
    /// Where the cursor stands when the view is first opened, today for instance.
    pub start: Spot,
}

/// What a line is about; commands act on it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum About {
    #[default]
    Nothing,
    /// A task of the plan, by its number.
    Task(usize),
    /// A joint of the plan, by its number.
    Joint(usize),
    /// A tub, cold space, pot or other thing, by its name.
    Thing(String),
    /// An entry of the record, by its number.
    Entry(u64),
}

impl State {
    /// Where the person is in the view on the screen.
    pub fn spot(&self) -> Spot {
        self.spot_in(self.view)
    }

    /// Where the person is in a view, brought back within what is there now.
    pub fn spot_in(&self, view: View) -> Spot {
        let shape = views::shape(self, view);
        let kept = self.spots[view as usize].unwrap_or(shape.start);
        Spot {
            line: kept.line.min(shape.lines.saturating_sub(1)),
            across: kept.across.min(shape.across.saturating_sub(1)),
            top: kept.top.min(shape.lines.saturating_sub(1)),
        }
    }

    pub(super) fn set_spot(&mut self, spot: Spot) {
        self.spots[self.view as usize] = Some(spot);
    }

    /// What the cursor stands on in the view on the screen; the task in hand on the timeline.
    pub fn about(&self) -> About {
        match self.view {
            View::Timeline => self.selected_task().map_or(About::Nothing, About::Task),
            view => views::about(self, view, self.spot()),
        }
    }

    pub(super) fn show(&mut self, view: View) {
        // What is in hand stays in hand where the other view has it too.
        let about = self.about();
        self.view = view;
        if view == View::Timeline {
            if let (About::Task(t), Some(chart)) = (about, self.chart.clone())
                && t < chart.tasks.len()
                && self.selected_task() != Some(t)
            {
                self.touched = true;
                self.select_task(&chart, t);
            }
        } else if let Some(spot) = views::find(self, view, &about) {
            self.set_spot(spot);
            self.show_line();
        }
    }

    /// The commands that move the cursor of a view.
    pub(super) fn walk(&mut self, command: Command) {
        let shape = views::shape(self, self.view);
        let mut spot = self.spot();
        let last = shape.lines.saturating_sub(1);
        match command {
            Command::Up => spot.line = spot.line.saturating_sub(1),
            Command::Down => spot.line = (spot.line + 1).min(last),
            Command::PageUp => spot.line = self.page_from(spot.line, false),
            Command::PageDown => spot.line = self.page_from(spot.line, true).min(last),
            Command::First => spot.line = 0,
            Command::Last => spot.line = last,
            Command::LeftInView => spot.across = spot.across.saturating_sub(1),
            Command::RightInView => spot.across = (spot.across + 1).min(shape.across.saturating_sub(1)),
            Command::Now => spot = shape.start,
            _ => return,
        }
        self.set_spot(spot);
        self.show_line();
    }

    /// The line a page of rows away: a line may be taller than a row, and none is to be leapt over unread.
    fn page_from(&self, line: usize, down: bool) -> usize {
        let page = usize::from(body(self.screen).map_or(1, |b| b.height)).saturating_sub(1).max(1);
        let Some(laid) = views::laid(self, self.view) else {
            return if down { line + page } else { line.saturating_sub(page) };
        };
        let first = |l: usize| laid.stops.get(l).copied().unwrap_or(laid.page.lines.len());
        let lines = 0..laid.stops.len();
        match down {
            true => lines.rev().find(|l| first(l + 1) <= first(line + 1) + page).map_or(line, |l| l.max(line + 1)),
            false => {
                lines.into_iter().find(|l| first(*l) + page >= first(line)).map_or(0, |l| l.min(line.saturating_sub(1)))
            }
        }
    }

    /// Scrolls as little as it takes to see the cursor's line. Views whose lines are taller than a row see to the rest
    /// when they are drawn.
    pub(super) fn show_line(&mut self) {
        let Some(body) = body(self.screen) else { return };
        let mut spot = self.spot();
        let room = usize::from(body.height).max(1);
        spot.top = spot.top.clamp((spot.line + 1).saturating_sub(room), spot.line);
        self.set_spot(spot);
    }

    /// Scrolls by lines; the cursor stays in view.
    pub(super) fn scroll_view(&mut self, by: isize) {
        let Some(body) = body(self.screen) else { return };
        let lines = views::shape(self, self.view).lines;
        let room = usize::from(body.height).max(1);
        let mut spot = self.spot();
        spot.top = spot.top.saturating_add_signed(by).min(lines.saturating_sub(room));
        spot.line = spot.line.clamp(spot.top, spot.top + room - 1).min(lines.saturating_sub(1));
        self.set_spot(spot);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_view_has_its_place_and_its_command() {
        for (i, view) in View::ALL.into_iter().enumerate() {
            assert_eq!(view as usize, i);
            assert_eq!(View::of(view.command()), Some(view));
        }
    }
}
