//! Sheets: a line to type in, and under it lines to read that may be more than there is room for.

use super::key::Code;

/// How a line of a sheet is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Voice {
    Plain,
    Strong,
    Quiet,
    Warning,
}

/// Steps the first line in view by a key that does so; whether it was one. Drawing keeps it within what there is.
pub(super) fn page(top: &mut usize, code: Code) -> bool {
    *top = match code {
        Code::Up => top.saturating_sub(1),
        Code::Down => top.saturating_add(1),
        Code::PageUp => top.saturating_sub(8),
        Code::PageDown => top.saturating_add(8),
        _ => return false,
    };
    // Far past the end of any sheet is as good as its end.
    *top = (*top).min(500);
    true
}
