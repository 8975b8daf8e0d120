//! Every act a person can do, once, for every door: the state of the program, the messages that change it, and
//! the one table of commands.
//!
//! Nothing here touches a terminal, a file or the clock. A door turns what it hears into a [`Message`], hands it to
//! [`update`], and carries out the [`Effect`]s that come back; what is on the screen is drawn from the [`State`] alone.

pub mod acts;
mod axis;
mod chart;
mod command;
mod geometry;
mod ground;
mod heat;
mod key;
mod navigate;
mod news;
mod picture;
mod salt;
mod search;
mod sentence;
mod state;
pub mod time;
mod update;

pub use axis::{Axis, Label, ZOOMS};
pub use chart::{Chart, Hold, Mark, Row, RowKind, Story, Task};
pub use command::{COMMANDS, Command, Entry, Group, command_for};
pub use geometry::{Geometry, Rows, SMALLEST, Screen, geometry};
pub use ground::{Ground, Spans, share};
pub use heat::Heat;
pub use key::{Code, Key};
pub use news::{News, PlanNews, Planning, Progress};
pub use picture::{Curve, Figures, Grain, Picture, figures, picture};
pub use salt::Salt;
pub use search::matches;
pub use sentence::{Sentence, Tone, sentence, short, standing_line, standing_table, upcoming};
pub use state::{Inks, Overlay, Record, Selection, State};
pub use update::{Effect, Gesture, Message, Target, next_wake, update};
