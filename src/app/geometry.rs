//! Where everything goes on a screen of a given size, as plain numbers. Used to scroll and to draw alike.

/// Columns and rows of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Screen {
    pub cols: u16,
    pub rows: u16,
}

/// Below this only a plain message is shown.
pub const SMALLEST: Screen = Screen { cols: 40, rows: 12 };

/// A stretch of screen rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rows {
    pub y: u16,
    pub height: u16,
}

impl Rows {
    pub const fn end(self) -> u16 {
        self.y + self.height
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Geometry {
    pub screen: Screen,
    /// Columns of the names at the left; the time axis has the rest.
    pub label: u16,
    /// The sentence.
    pub sentence: Rows,
    pub axis: Rows,
    /// The ruler on which the selected task may slide.
    pub ruler: u16,
    pub joints: Rows,
    pub strips: Rows,
    /// A blank row between joints and strips.
    pub gap: bool,
    pub standing: u16,
    pub panel: Rows,
    pub footer: u16,
}

impl Geometry {
    /// Columns of the time axis.
    pub const fn cols(&self) -> u16 {
        self.screen.cols - self.label
    }
}

/// Rows of every view but the timeline: under the sentence and the title, above the footer. Nothing when the screen is
/// too small.
pub fn body(screen: Screen) -> Option<Rows> {
    if screen.cols < SMALLEST.cols || screen.rows < SMALLEST.rows {
        return None;
    }
    let y = TITLE + 1;
    Some(Rows { y, height: screen.rows - 1 - y })
}

/// The row of a view's title, under the sentence.
pub const TITLE: u16 = 2;

/// Lays the screen out for so many joints and strips. Nothing when the screen is too small.
pub fn geometry(screen: Screen, joints: usize, strips: usize) -> Option<Geometry> {
    if screen.cols < SMALLEST.cols || screen.rows < SMALLEST.rows {
        return None;
    }
    let label = match screen.cols {
        ..60 => 12,
        60..80 => 15,
        80..110 => 18,
        110..160 => 22,
        _ => 26,
    };
    let lines = 2;
    let sentence = Rows { y: 0, height: lines };
    let axis = Rows { y: lines, height: 2 };
    let ruler = axis.end();
    let (footer, top) = (screen.rows - 1, ruler + 1);
    // What is left between the ruler and the footer is shared by chart, the standing line and the panel.
    let left = footer - top - 1;
    let panel_least = match screen.rows {
        ..16 => 2,
        16..20 => 3,
        20..30 => 6,
        30..45 => 9,
        _ => 12,
    };
    let (joints, strips) = (joints.clamp(1, 500) as u16, strips.min(500) as u16);
    let room = left - panel_least;
    let gap = room >= 9;
    let room_lines = room - u16::from(gap);
    let (j, s) = if joints + strips <= room_lines {
        (joints, strips)
    } else {
        // Strips keep a third; joints get what they need of the rest, and what they do not need goes back.
        let s = strips.min(room_lines / 3).max(room_lines.saturating_sub(joints).min(strips));
        (joints.min(room_lines - s), s)
    };
    let joints = Rows { y: top, height: j };
    let strips = Rows { y: top + j + u16::from(gap), height: s };
    // A chart that needs less leaves the rest to the panel, up to what a panel can use.
    let standing = strips.end().max(footer.saturating_sub(1 + panel_least.max(20)));
    let panel = Rows { y: standing + 1, height: footer - standing - 1 };
    Some(Geometry { screen, label, sentence, axis, ruler, joints, strips, gap, standing, panel, footer })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_overlaps_at_any_size_and_count() {
        for cols in [40, 59, 60, 79, 80, 120, 200, 300] {
            for rows in 12..=100 {
                for joints in [0, 1, 2, 7, 24, 60] {
                    for strips in [0, 1, 8, 20] {
                        let g = geometry(Screen { cols, rows }, joints, strips).unwrap();
                        assert!(g.axis.y == g.sentence.end() && g.ruler == g.axis.end() && g.joints.y == g.ruler + 1);
                        assert!(g.joints.height >= 1 && g.joints.end() <= g.strips.y, "{g:?}");
                        assert!(strips == 0 || g.strips.height >= 1, "{g:?}");
                        assert!(g.strips.end() <= g.standing && g.standing < g.panel.y, "{g:?}");
                        assert!(g.panel.height >= 2 && g.panel.end() == g.footer && g.footer == rows - 1, "{g:?}");
                        assert!(g.cols() >= 28);
                    }
                }
            }
        }
        assert_eq!(geometry(Screen { cols: 39, rows: 16 }, 1, 1), None);
        assert_eq!(geometry(Screen { cols: 60, rows: 11 }, 1, 1), None);
    }
}
