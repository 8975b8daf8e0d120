//! `turnday keys`: the table of commands with their keys, and the file that changes them.

use super::{Ended, files};
use crate::app::{COMMANDS, Group, Keymap, On};
use crate::kitchen::read::told;
use anyhow::Result;
use std::fmt::Write;
use std::io::IsTerminal;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub struct KeysArgs {
    /// Print as JSON
    #[arg(long, conflicts_with = "markdown")]
    pub json: bool,
    /// Print the page docs/keys.md, without what your key file changes
    #[arg(long)]
    pub markdown: bool,
}

/// Where a person's key file is looked for: `$XDG_CONFIG_HOME/turnday/keys.json`, in `~/.config` without that.
pub fn path() -> Option<PathBuf> {
    let absolute = |name: &str| std::env::var_os(name).map(PathBuf::from).filter(|p| p.is_absolute());
    let config = absolute("XDG_CONFIG_HOME").or_else(|| absolute("HOME").map(|h| h.join(".config")))?;
    Some(config.join("turnday").join("keys.json"))
}

/// The keys to go by. A key file with a fault in it is told of and nothing opens: half a key file would be a surprise
/// under wet hands.
pub fn keymap() -> Result<std::result::Result<Keymap, Ended>> {
    let Some(path) = path().filter(|p| p.exists()) else { return Ok(Ok(Keymap::default())) };
    let text = files::text_of(&path)?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    Ok(Keymap::read(text).map_err(|found| {
        let colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
        let means = "put the key file right, or move it away";
        eprint!("{}", told(&found, &path.display().to_string(), text, colour, means));
        Ended::Unusable
    }))
}

pub fn run(args: &KeysArgs) -> Result<Ended> {
    if args.markdown {
        files::print(&page())?;
        return Ok(Ended::Done);
    }
    let map = match keymap()? {
        Ok(map) => map,
        Err(ended) => return Ok(ended),
    };
    let file = path();
    if args.json {
        let row = |e: &crate::app::Entry| {
            let keys: Vec<String> = map.keys(e.command).iter().map(ToString::to_string).collect();
            serde_json::json!({
                "command": e.command.name(), "group": e.group.words(), "on": on(e.on), "does": e.words, "keys": keys,
            })
        };
        let all = serde_json::json!({
            "file": file, "there": file.as_ref().is_some_and(|f| f.exists()),
            "commands": COMMANDS.iter().map(row).collect::<Vec<_>>(),
        });
        files::print(&(serde_json::to_string_pretty(&all)? + "\n"))?;
        return Ok(Ended::Done);
    }
    let mut out = String::new();
    for group in Group::ALL {
        let _ = writeln!(out, "{}", group.words());
        for e in COMMANDS.iter().filter(|e| e.group == group) {
            let _ = writeln!(out, "  {:<22}{:<36}{:<20}{}", map.words(e.command), e.words, e.command.name(), on(e.on));
        }
        out.push('\n');
    }
    match file {
        Some(f) if f.exists() => {
            let _ = writeln!(out, "Keys are changed by {}.", f.display());
        }
        Some(f) => {
            let _ = writeln!(out, "To change keys, write {}, for example: {EXAMPLE}", f.display());
        }
        None => out.push_str("There is no home folder for a key file.\n"),
    }
    files::print(&out)?;
    Ok(Ended::Done)
}

const EXAMPLE: &str = "{ \"next-turn\": \"t\", \"zoom-in\": [\"+\", \"=\"] }";

fn on(on: On) -> &'static str {
    match on {
        On::Any => "",
        On::Timeline => "on the timeline",
        On::Views => "on the other views",
        On::Listed => "on the views of the plan",
        On::Plan => "on the plan",
        On::Form => "in a form",
        On::One(view) => match view {
            crate::app::View::Kitchen => "on the kitchen",
            crate::app::View::Change => "on the change",
            other => other.title(),
        },
    }
}

/// The page of keys in docs/, made from the table.
fn page() -> String {
    let mut out = String::from(
        "# Keys\n\nEvery command of the screen with its keys. `turnday keys` prints the same with your own changes; a test \
         keeps this page fresh (`turnday keys --markdown`).\nIn the program `?` lists them, and `:` finds any command by a \
         few letters of its words.\n",
    );
    let map = Keymap::default();
    for group in Group::ALL {
        let _ = writeln!(
            out,
            "\n## {}\n\n| keys | what it does | where | name in the key file |\n|---|---|---|---|",
            group.words()
        );
        for e in COMMANDS.iter().filter(|e| e.group == group) {
            let keys: Vec<String> = map.keys(e.command).iter().map(|k| format!("`{k}`")).collect();
            let place = if on(e.on).is_empty() { "everywhere" } else { on(e.on) };
            let _ = writeln!(out, "| {} | {} | {place} | `{}` |", keys.join(" "), e.words, e.command.name());
        }
    }
    let _ = write!(
        out,
        "\n## Your own keys\n\nWrite `$XDG_CONFIG_HOME/turnday/keys.json` (`~/.config/turnday/keys.json` without that). \
         It is JSON; comments are welcome:\n\n```json\n{EXAMPLE}\n```\n\nKeys named for a command take the place of the \
         table's; an empty list `[]` takes its keys away. A key is a letter or sign, `ctrl-` and a letter,\nor one of \
         `up down left right home end page-up page-down enter esc tab shift-tab space backspace delete`. An unknown \
         command, a key that is none, and\none key for two commands on the same view are refused, with the line; the \
         screen does not open with half a key file. `help`, `palette` and `quit` keep at\nleast one key.\n"
    );
    out
}
