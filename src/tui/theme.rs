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
    Many,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    pub inks: Inks,
    pub depth: Depth,
}

impl Theme {
    /// The style of an ink.
    pub const fn ink(self, ink: Ink) -> Style {
        let s = Style::new();
        match (self.inks, self.depth, ink) {
            (_, _, Ink::Plain) => s,
            (Inks::Mono, _, Ink::Quiet | Ink::Bar) => s.add_modifier(Modifier::DIM),
            (Inks::Mono, _, Ink::Accent) => s.add_modifier(Modifier::BOLD),
            (Inks::Mono, _, Ink::Danger) => s.add_modifier(Modifier::BOLD.union(Modifier::UNDERLINED)),
            (Inks::Dark, Depth::Many, Ink::Quiet) => s.fg(Color::Indexed(247)),
            (Inks::Dark, Depth::Many, Ink::Bar) => s.fg(Color::Indexed(244)),
            (Inks::Dark, Depth::Many, Ink::Accent) => s.fg(Color::Indexed(179)),
            (Inks::Dark, Depth::Many, Ink::Danger) => s.fg(Color::Indexed(210)).add_modifier(Modifier::BOLD),
            (Inks::Light, Depth::Many, Ink::Quiet) => s.fg(Color::Indexed(241)),
            (Inks::Light, Depth::Many, Ink::Bar) => s.fg(Color::Indexed(244)),
            (Inks::Light, Depth::Many, Ink::Accent) => s.fg(Color::Indexed(94)),
            (Inks::Light, Depth::Many, Ink::Danger) => s.fg(Color::Indexed(124)).add_modifier(Modifier::BOLD),
            (Inks::Dark, Depth::Sixteen, Ink::Quiet) => s.fg(Color::Gray),
            (_, Depth::Sixteen, Ink::Bar) => s.fg(Color::DarkGray),
            (Inks::Light, Depth::Sixteen, Ink::Quiet) => s.fg(Color::DarkGray),
            (Inks::Dark, Depth::Sixteen, Ink::Accent) => s.fg(Color::LightYellow),
            (Inks::Light, Depth::Sixteen, Ink::Accent) => s.fg(Color::Blue),
            (Inks::Dark, Depth::Sixteen, Ink::Danger) => s.fg(Color::LightRed).add_modifier(Modifier::BOLD),
            (Inks::Light, Depth::Sixteen, Ink::Danger) => s.fg(Color::Red).add_modifier(Modifier::BOLD),
        }
    }

    /// The ground of an hour in which somebody can work, or nobody.
    pub const fn ground(self, open: bool) -> Style {
        match (self.inks, self.depth, open) {
            (Inks::Dark, Depth::Many, true) => Style::new().bg(Color::Indexed(236)),
            (Inks::Light, Depth::Many, false) => Style::new().bg(Color::Indexed(254)),
            _ => Style::new(),
        }
    }

    /// Whether the ground can be shown as a shade; if not, hours without anybody get a dot.
    pub const fn has_ground(self) -> bool {
        matches!((self.inks, self.depth), (Inks::Dark | Inks::Light, Depth::Many))
    }

    /// From what the environment says about the terminal. `NO_COLOR` set to anything but nothing means no colour
    /// (no-color.org); `TURNDAY_INKS` (dark, light, mono) is the person's own word; `COLORFGBG` is what some terminals
    /// tell about their ground.
    pub fn from_env(var: impl Fn(&str) -> Option<String>) -> Self {
        let set = |name: &str| var(name).filter(|v| !v.is_empty());
        let term = set("TERM").unwrap_or_default();
        let many = set("COLORTERM").is_some_and(|c| c == "truecolor" || c == "24bit")
            || term.contains("256color")
            || term.contains("direct")
            || ["xterm-kitty", "alacritty", "foot", "xterm-ghostty", "wezterm"].contains(&term.as_str());
        let light = set("COLORFGBG")
            .and_then(|v| v.rsplit(';').next().and_then(|bg| bg.parse::<u8>().ok()))
            .is_some_and(|bg| bg == 7 || (9..=15).contains(&bg));
        let inks = match set("TURNDAY_INKS").as_deref() {
            _ if set("NO_COLOR").is_some() || term == "dumb" => Inks::Mono,
            Some("dark") => Inks::Dark,
            Some("light") => Inks::Light,
            Some("mono") => Inks::Mono,
            _ if light => Inks::Light,
            _ => Inks::Dark,
        };
        Self { inks, depth: if many { Depth::Many } else { Depth::Sixteen } }
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
    }

    /// Relative luminance and contrast ratio as WCAG 2.2 defines them; 4.5 is its AA level for text, 3 for
    /// graphics.
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

    fn rgb(c: Color) -> (u8, u8, u8) {
        let Color::Indexed(i) = c else { panic!("not indexed: {c:?}") };
        let step = |n: u8| [0, 95, 135, 175, 215, 255][usize::from(n)];
        match i {
            16..=231 => (step((i - 16) / 36), step((i - 16) / 6 % 6), step((i - 16) % 6)),
            232.. => (8 + 10 * (i - 232), 8 + 10 * (i - 232), 8 + 10 * (i - 232)),
            _ => panic!("{i} depends on the terminal"),
        }
    }

    #[test]
    fn every_ink_can_be_read_on_every_ground() {
        // Black and white are the darkest and lightest ground a terminal has; 234 and 253 the usual soft ones.
        let grounds =
            [(Inks::Dark, vec![(0, 0, 0), (28, 28, 28)]), (Inks::Light, vec![(255, 255, 255), (250, 250, 245)])];
        for (inks, mut own) in grounds {
            let theme = Theme { inks, depth: Depth::Many };
            own.extend([true, false].into_iter().filter_map(|o| theme.ground(o).bg).map(rgb));
            for (ink, least) in [(Ink::Quiet, 4.5), (Ink::Accent, 4.5), (Ink::Danger, 4.5), (Ink::Bar, 3.0)] {
                for ground in &own {
                    let ratio = contrast(rgb(theme.ink(ink).fg.unwrap()), *ground);
                    assert!(ratio >= least, "{inks:?} {ink:?} on {ground:?}: {ratio:.2}");
                }
            }
        }
    }
}
