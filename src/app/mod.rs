//! Every act a person can do, once, for every door: the state of the program, the messages that change it, and
//! the one table of commands.
//!
//! Nothing here touches a terminal, a file or the clock. A door turns what it hears into a [`Message`], hands it to
//! [`update`], and carries out the [`Effect`]s that come back; what is on the screen is drawn from the [`State`] alone.

pub mod acts;
mod asking;
mod axis;
mod change;
mod chart;
mod command;
mod field;
pub mod form;
pub mod from_book;
mod geometry;
mod ground;
mod hear;
mod heat;
mod held;
mod key;
mod keymap;
mod moving;
mod navigate;
mod news;
mod palette;
mod picture;
mod pointer;
pub mod record;
mod salt;
mod search;
mod sentence;
mod sheet;
mod state;
mod telling;
pub mod text;
pub mod time;
mod typing;
mod update;
mod view;
pub mod views;

pub use asking::{Asking, Reply};
pub use axis::{Axis, Label, ZOOMS};
pub use change::{Change, changes};
pub use chart::{Chart, Hold, Mark, Row, RowKind, Story, Task};
pub use command::{COMMANDS, Command, Entry, Group, On, entry};
pub use field::Field;
pub use geometry::{Geometry, Rows, SMALLEST, Screen, TITLE, body, geometry};
pub use ground::{Ground, Spans, share};
pub use heat::Heat;
pub use held::{Deed, Held};
pub use key::{Code, Key};
pub use keymap::Keymap;
pub use moving::Moving;
pub use news::{News, PlanNews, Planning, Progress};
pub use palette::{Offer, Palette, offers};
pub use picture::{Curve, Figures, Grain, Picture, figures, heat_picture, picture, salt_picture};
pub use record::Record;
pub use salt::Salt;
pub use search::matches;
pub use sentence::{
    Sentence, Tone, cautions, sentence, short, standing_line, standing_notes, standing_table, upcoming,
};
pub use sheet::Voice;
pub use state::{Inks, Overlay, Selection, State};
pub use telling::Telling;
pub use update::{Effect, Gesture, Message, Target, next_wake, update};
pub use view::{About, Shape, Spot, View};
