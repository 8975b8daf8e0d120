//! Setting the nudger up to run for the logged-in person, and taking it away again.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Where it is set up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Places {
    /// `$XDG_CONFIG_HOME`, or what stands for it.
    pub config: PathBuf,
    /// Whether a systemd user manager runs.
    pub systemd: bool,
}

impl Places {
    /// # Errors
    /// When there is no home folder.
    pub fn find() -> Result<Self, String> {
        use etcetera::{BaseStrategy, choose_base_strategy};
        let config = choose_base_strategy().map_err(|_| "there is no home folder".to_owned())?.config_dir();
        Ok(Self { config, systemd: systemctl(&["show-environment"]) })
    }

    fn unit(&self, name: &str) -> PathBuf {
        self.config.join("systemd/user").join(format!("{name}.service"))
    }

    fn autostart(&self, name: &str) -> PathBuf {
        self.config.join("autostart").join(format!("{name}.desktop"))
    }
}

fn systemctl(args: &[&str]) -> bool {
    let mut c = Command::new("systemctl");
    c.arg("--user").args(args).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    c.status().is_ok_and(|s| s.success())
}

/// A word in a line of a unit file (systemd.service(5), "Command lines").
fn unit_word(word: &str) -> String {
    let plain = word.replace('\\', "\\\\").replace('"', "\\\"").replace('%', "%%").replace('$', "$$");
    format!("\"{plain}\"")
}

/// A word in the Exec key of a desktop entry (Desktop Entry Specification, "The Exec key").
fn exec_word(word: &str) -> String {
    // Backslashes are read twice: as a string of the entry, and inside the quotes.
    let quoted: String =
        word.chars().flat_map(|c| if matches!(c, '"' | '`' | '$' | '\\') { vec!['\\', c] } else { vec![c] }).collect();
    format!("\"{}\"", quoted.replace('\\', "\\\\").replace('%', "%%"))
}

fn unit_text(command: &[String]) -> String {
    let words: Vec<String> = command.iter().map(|w| unit_word(w)).collect();
    format!(
        "[Unit]\nDescription=Nudges of turnday\nPartOf=graphical-session.target\nAfter=graphical-session.target\n\n\
         [Service]\nExecStart={}\nRestart=on-failure\nRestartSec=30\n\n[Install]\nWantedBy=default.target\n",
        words.join(" ")
    )
}

fn desktop_text(command: &[String]) -> String {
    let words: Vec<String> = command.iter().map(|w| exec_word(w)).collect();
    format!(
        "[Desktop Entry]\nType=Application\nName=turnday nudges\nComment=Says when a task of the cure is due\nExec={}\nTerminal=false\n\
         NoDisplay=true\n",
        words.join(" ")
    )
}

/// Sets it up; what was done and how to undo it, in lines.
///
/// # Errors
/// A sentence.
pub fn install(places: &Places, name: &str, command: &[String]) -> Result<String, String> {
    if command.iter().any(|w| w.chars().any(char::is_control)) {
        return Err("a path with a line break in it cannot be set up".to_owned());
    }
    let (path, text) = if places.systemd {
        (places.unit(name), unit_text(command))
    } else {
        (places.autostart(name), desktop_text(command))
    };
    let folder = path.parent().unwrap_or(Path::new("."));
    std::fs::create_dir_all(folder).map_err(|e| format!("cannot make {}: {e}", folder.display()))?;
    crate::book::files::write_whole(&path, text.as_bytes())
        .map_err(|e| format!("cannot write {}: {e}", path.display()))?;
    let mut out = format!("Wrote {}.\n", path.display());
    if places.systemd {
        let service = format!("{name}.service");
        if !(systemctl(&["daemon-reload"]) && systemctl(&["enable", "--now", &service])) {
            return Err(format!(
                "{out}systemctl --user enable --now {service} did not work; run it by hand to see why"
            ));
        }
        out += &format!("Enabled and started {service}; it comes back with every login.\n");
    } else {
        out += "There is no systemd user manager here, so this is an autostart entry: nudges begin at the next login.\n\
                Until then: turnday remind, in a terminal.\n";
    }
    let undo: Vec<&str> = command.iter().skip(1).map(String::as_str).collect();
    Ok(out + &format!("To undo it: turnday {} --uninstall\n", undo.join(" ")))
}

/// Takes away what `install` made, in both places; what was done, in lines.
///
/// # Errors
/// A sentence.
pub fn uninstall(places: &Places, name: &str) -> Result<String, String> {
    let mut out = String::new();
    let unit = places.unit(name);
    if unit.exists() && places.systemd {
        let service = format!("{name}.service");
        systemctl(&["disable", "--now", &service]);
        out += &format!("Stopped and disabled {service}.\n");
    }
    for path in [unit.clone(), places.autostart(name)] {
        match std::fs::remove_file(&path) {
            Ok(()) => out += &format!("Removed {}.\n", path.display()),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {}
            Err(e) => return Err(format!("cannot remove {}: {e}", path.display())),
        }
    }
    if places.systemd {
        systemctl(&["daemon-reload"]);
    }
    Ok(if out.is_empty() { "Nothing was set up.\n".to_owned() } else { out })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_survive_both_kinds_of_file() {
        let c = ["/opt/my cure/turnday".to_owned(), "a\"b$c%d\\e".to_owned()];
        assert!(
            unit_text(&c).contains("ExecStart=\"/opt/my cure/turnday\" \"a\\\"b$$c%%d\\\\e\"\n"),
            "{}",
            unit_text(&c)
        );
        assert!(
            desktop_text(&c).contains("Exec=\"/opt/my cure/turnday\" \"a\\\\\"b\\\\$c%%d\\\\\\\\e\"\n"),
            "{}",
            desktop_text(&c)
        );
    }

    #[test]
    fn what_was_set_up_is_taken_away_again() {
        let t = tempfile::tempdir().unwrap();
        let places = Places { config: t.path().to_owned(), systemd: false };
        let said = install(&places, "turnday-nudges", &["/usr/bin/turnday".to_owned(), "remind".to_owned()]).unwrap();
        let path = t.path().join("autostart/turnday-nudges.desktop");
        assert!(path.exists() && said.contains(&path.display().to_string()) && said.contains("--uninstall"), "{said}");
        assert!(uninstall(&places, "turnday-nudges").unwrap().contains("Removed"));
        assert!(!path.exists());
        assert_eq!(uninstall(&places, "turnday-nudges").unwrap(), "Nothing was set up.\n");
        assert!(install(&places, "x", &["a\nb".to_owned()]).is_err());
    }
}
