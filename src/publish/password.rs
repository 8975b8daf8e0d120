//! Where a password comes from: the environment, a file, the system's keyring. It is never written anywhere.

use std::fmt;
use std::path::Path;
use std::process::{Command, Stdio};

/// A password; printing it shows none of it.
#[derive(Clone, PartialEq, Eq)]
pub struct Password(String);

impl Password {
    pub fn new(text: String) -> Self {
        Self(text)
    }

    pub(super) fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Password {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("(a password)")
    }
}

/// The environment variable that is looked at first.
pub const VARIABLE: &str = "TURNDAY_CALENDAR_PASSWORD";

/// The keyring's own command and how it is asked; nothing where none is known.
fn keyring(url: &str, user: &str) -> Option<Command> {
    if cfg!(target_os = "macos") {
        let mut c = Command::new("security");
        c.args(["find-generic-password", "-w", "-s", url, "-a", user]);
        Some(c)
    } else if cfg!(unix) {
        let mut c = Command::new("secret-tool");
        c.args(["lookup", "service", "turnday", "url", url, "user", user]);
        Some(c)
    } else {
        None
    }
}

/// Looks in the environment, then in the file if one is named, else in the keyring.
///
/// # Errors
/// A sentence when the file cannot be read.
pub fn find(url: &str, user: &str, file: Option<&Path>) -> Result<Option<Password>, String> {
    if let Some(p) = std::env::var(VARIABLE).ok().filter(|p| !p.is_empty()) {
        return Ok(Some(Password(p)));
    }
    if let Some(path) = file {
        let text = std::fs::read_to_string(path).map_err(|e| format!("cannot read {}: {e}", path.display()))?;
        let line = text.lines().next().unwrap_or_default();
        return Ok(Some(line).filter(|l| !l.is_empty()).map(|l| Password(l.to_owned())));
    }
    let Some(mut command) = keyring(url, user) else { return Ok(None) };
    let output = command.stdin(Stdio::null()).stderr(Stdio::null()).output();
    let found = output.ok().filter(|o| o.status.success()).and_then(|o| String::from_utf8(o.stdout).ok());
    Ok(found.map(|p| p.trim_end_matches(['\r', '\n']).to_owned()).filter(|p| !p.is_empty()).map(Password))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_password_is_not_printed() {
        assert!(!format!("{:?}", Password::new("hunter".to_owned())).contains("hunter"));
    }
}
