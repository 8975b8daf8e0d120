//! What goes on paper and to other calendars, made from the plan.

pub mod calendar;
pub mod lines;
pub mod words;
