//! Three inks on the terminal's own ground, and a fourth for danger that always comes with a word or a shape.
//!
//! Hours in which somebody can work are a lighter ground; a terminal of sixteen colours has no shade faint enough and
//! goes without, as does one without colour. Nothing is told by colour alone.

use ratatui::style::{Color, Modifier, Style};

use crate::app::Inks;

/// What is drawn with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ink {
    Plain,
    /// Steps back: axis, slack, what is not in hand.
    Quiet,
    /// Now, the selection, heat.
    Accent,
    /// Trouble.
    Danger,
    /// The texture of a bar: behind what is written or marked on it.
    Bar,
}

/// How many colours the terminal can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    Sixteen,
    /// The cube and the greys of 256.
    Many,
    /// Any.
    True,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    pub inks: Inks,
    pub depth: Depth,
}

/// One ink in the three depths.
struct Shade {
    sixteen: Color,
    many: u8,
    full: (u8, u8, u8),
}

const fn shade(sixteen: Color, many: u8, full: (u8, u8, u8)) -> Shade {
    Shade { sixteen, many, full }
}

impl Shade {
    const fn at(self, depth: Depth) -> Color {
        match depth {
            Depth::Sixteen => self.sixteen,
            Depth::Many => Color::Indexed(self.many),
            Depth::True => Color::Rgb(self.full.0, self.full.1, self.full.2),
        }
    }
}

impl Theme {
    /// The style of an ink.
    pub const fn ink(self, ink: Ink) -> Style {
        let s = Style::new();
        if let Inks::Mono = self.inks {
            return match ink {
                Ink::Plain => s,
                Ink::Quiet | Ink::Bar => s.add_modifier(Modifier::DIM),
                Ink::Accent => s.add_modifier(Modifier::BOLD),
                Ink::Danger => s.add_modifier(Modifier::BOLD.union(Modifier::UNDERLINED)),
            };
        }
        let shade = match (self.inks, ink) {
            // The terminal's own.
            (Inks::Dark | Inks::Light | Inks::Mono, Ink::Plain) => return s,
            (Inks::Contrast, Ink::Plain) => shade(Color::White, 231, (255, 255, 255)),
            (Inks::Dark, Ink::Quiet) => shade(Color::Gray, 247, (158, 160, 156)),
            (Inks::Dark, Ink::Bar) => shade(Color::DarkGray, 244, (134, 130, 122)),
            (Inks::Dark, Ink::Accent) => shade(Color::LightYellow, 179, (222, 178, 96)),
            (Inks::Dark, Ink::Danger) => shade(Color::LightRed, 210, (250, 138, 128)),
            (Inks::Light, Ink::Quiet) => shade(Color::DarkGray, 241, (96, 96, 92)),
            (Inks::Light, Ink::Bar) => shade(Color::DarkGray, 244, (128, 126, 120)),
            (Inks::Light, Ink::Accent) => shade(Color::Blue, 94, (130, 84, 8)),
            (Inks::Light | Inks::Mono, _) => shade(Color::Red, 124, (168, 22, 22)),
            (Inks::Contrast, Ink::Quiet) => shade(Color::Gray, 252, (208, 208, 208)),
            (Inks::Contrast, Ink::Bar) => shade(Color::Gray, 250, (188, 188, 188)),
            (Inks::Contrast, Ink::Accent) => shade(Color::LightYellow, 227, (255, 240, 80)),
            (Inks::Contrast, Ink::Danger) => shade(Color::LightRed, 217, (255, 176, 170)),
        };
        let style = s.fg(shade.at(self.depth));
        match ink {
            Ink::Danger => style.add_modifier(Modifier::BOLD),
            _ => style,
        }
    }

    /// What everything is drawn on: the terminal's own ground, but for high contrast, which brings its own.
    pub const fn base(self) -> Style {
        match self.inks {
            Inks::Contrast => self.ink(Ink::Plain).bg(shade(Color::Black, 16, (0, 0, 0)).at(self.depth)),
            _ => Style::new(),
        }
    }

    /// The ground of an hour in which somebody can work, or nobody.
    pub const fn ground(self, open: bool) -> Style {
        if !self.has_ground() {
            return Style::new();
        }
        let shade = match (self.inks, open) {
            (Inks::Dark, true) => shade(Color::Black, 236, (44, 45, 48)),
            (Inks::Contrast, true) => shade(Color::Black, 235, (38, 38, 38)),
            (Inks::Light, false) => shade(Color::White, 254, (232, 230, 224)),
            _ => return Style::new(),
        };
        Style::new().bg(shade.at(self.depth))
    }

    /// Whether the ground can be shown as a shade; if not, hours without anybody get a dot.
    pub const fn has_ground(self) -> bool {
        !matches!(self.inks, Inks::Mono) && !matches!(self.depth, Depth::Sixteen)
    }

    /// From what the environment says about the terminal. `NO_COLOR` set to anything but nothing means no colour
    /// (no-color.org); `TURNDAY_INKS` (dark, light, contrast, mono) is the person's own word; `COLORTERM` and `TERM` say how
    /// many colours there are; `COLORFGBG` is what some terminals tell about their ground.
    pub fn from_env(var: impl Fn(&str) -> Option<String>) -> Self {
        let set = |name: &str| var(name).filter(|v| !v.is_empty());
        let term = set("TERM").unwrap_or_default();
        let full = set("COLORTERM").is_some_and(|c| c == "truecolor" || c == "24bit") || term.contains("direct");
        let many = term.contains("256color")
            || ["xterm-kitty", "alacritty", "foot", "xterm-ghostty", "wezterm"].contains(&term.as_str());
        let light = set("COLORFGBG")
            .and_then(|v| v.rsplit(';').next().and_then(|bg| bg.parse::<u8>().ok()))
            .is_some_and(|bg| bg == 7 || (9..=15).contains(&bg));
        let inks = match set("TURNDAY_INKS").as_deref() {
            _ if set("NO_COLOR").is_some() || term == "dumb" => Inks::Mono,
            Some("dark") => Inks::Dark,
            Some("light") => Inks::Light,
            Some("contrast") => Inks::Contrast,
            Some("mono") => Inks::Mono,
            _ if light => Inks::Light,
            _ => Inks::Dark,
        };
        let depth = match (full, many) {
            (true, _) => Depth::True,
            (false, true) => Depth::Many,
            (false, false) => Depth::Sixteen,
        };
        Self { inks, depth }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn theme(vars: &[(&str, &str)]) -> Theme {
        Theme::from_env(|n| vars.iter().find(|v| v.0 == n).map(|v| v.1.to_owned()))
    }

    #[test]
    fn the_environment_is_heard() {
        assert_eq!(theme(&[("TERM", "xterm")]), Theme { inks: Inks::Dark, depth: Depth::Sixteen });
        assert_eq!(theme(&[("COLORTERM", "truecolor"), ("COLORFGBG", "0;15")]).inks, Inks::Light);
        assert_eq!(theme(&[("NO_COLOR", "1"), ("TURNDAY_INKS", "dark")]).inks, Inks::Mono);
        assert_eq!(theme(&[("NO_COLOR", ""), ("TURNDAY_INKS", "light")]).inks, Inks::Light);
        assert_eq!(theme(&[("TERM", "tmux-256color")]).depth, Depth::Many);
        assert_eq!(theme(&[("TERM", "tmux-256color"), ("COLORTERM", "truecolor")]).depth, Depth::True);
        assert_eq!(theme(&[("TURNDAY_INKS", "contrast")]).inks, Inks::Contrast);
    }

    /// Relative luminance and contrast ratio as WCAG 2.2 defines them.
    /// The 256-colour cube and grey ramp are xterm's: steps 0, 95, 135, 175, 215, 255 and 8 + 10 n.
    fn contrast(a: (u8, u8, u8), b: (u8, u8, u8)) -> f64 {
        let lum = |(r, g, b): (u8, u8, u8)| {
            let lin = |c: u8| {
                let c = f64::from(c) / 255.0;
                if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * lin(r) + 0.7152 * lin(g) + 0.0722 * lin(b)
        };
        let (x, y) = (lum(a).max(lum(b)), lum(a).min(lum(b)));
        (x + 0.05) / (y + 0.05)
    }

    /// The sixteen are the terminal's own and differ; these are xterm's.
    fn rgb(c: Color) -> (u8, u8, u8) {
        let step = |n: u8| [0, 95, 135, 175, 215, 255][usize::from(n)];
        match c {
            Color::Rgb(r, g, b) => (r, g, b),
            Color::Indexed(i @ 16..=231) => (step((i - 16) / 36), step((i - 16) / 6 % 6), step((i - 16) % 6)),
            Color::Indexed(i @ 232..) => (8 + 10 * (i - 232), 8 + 10 * (i - 232), 8 + 10 * (i - 232)),
            Color::Black => (0, 0, 0),
            Color::Red => (205, 0, 0),
            Color::Blue => (0, 0, 238),
            Color::Gray => (229, 229, 229),
            Color::DarkGray => (127, 127, 127),
            Color::LightRed => (255, 0, 0),
            Color::LightYellow => (255, 255, 0),
            Color::White => (255, 255, 255),
            other => panic!("{other:?} has no known value"),
        }
    }

    /// WCAG 2.2: 4.5 is level AA for text, 7 level AAA, 3 for graphics.
    #[test]
    fn every_ink_can_be_read_on_every_ground() {
        for inks in [Inks::Dark, Inks::Light, Inks::Contrast] {
            for depth in [Depth::Sixteen, Depth::Many, Depth::True] {
                let theme = Theme { inks, depth };
                // Black and white are the darkest and lightest ground a terminal has; the others the usual soft ones.
                let mut grounds = match inks {
                    Inks::Light => vec![(255, 255, 255), (250, 250, 245)],
                    Inks::Contrast => vec![rgb(theme.base().bg.unwrap())],
                    _ => vec![(0, 0, 0), (28, 28, 28)],
                };
                grounds.extend([true, false].into_iter().filter_map(|o| theme.ground(o).bg).map(rgb));
                let text = if inks == Inks::Contrast { 7.0 } else { 4.5 };
                let inked = [Ink::Plain, Ink::Quiet, Ink::Accent, Ink::Danger, Ink::Bar];
                for ink in inked {
                    let Some(colour) = theme.ink(ink).fg else { continue };
                    // Of sixteen colours a terminal has but two greys, and xterm's reds are dark: bold helps them, and so
                    // does the word that always comes with danger.
                    let least = match (depth, ink) {
                        (_, Ink::Bar) | (Depth::Sixteen, Ink::Quiet | Ink::Danger) => 3.0,
                        _ => text,
                    };
                    for ground in &grounds {
                        let ratio = contrast(rgb(colour), *ground);
                        assert!(ratio >= least, "{theme:?} {ink:?} on {ground:?}: {ratio:.2}");
                    }
                }
            }
        }
    }

    #[test]
    fn without_colour_every_ink_still_differs() {
        let mono = Theme { inks: Inks::Mono, depth: Depth::True };
        let inks = [Ink::Plain, Ink::Quiet, Ink::Accent, Ink::Danger];
        for (i, a) in inks.iter().enumerate() {
            assert_eq!((mono.ink(*a).fg, mono.ink(*a).bg), (None, None));
            assert!(inks[i + 1..].iter().all(|b| mono.ink(*a) != mono.ink(*b)), "{a:?}");
        }
    }
}
