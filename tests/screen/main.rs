//! The screen: what it draws, what it hears, and that it survives anything.

mod fixture;
mod live;
