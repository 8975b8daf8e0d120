//! The Python that `tests/all.sh` sets up, when it is there.

use std::io::Write;
use std::process::{Command, Stdio};

/// The interpreter, if it has all of these modules; else says what is left out.
pub fn with(modules: &[&str], what: &str) -> Option<String> {
    let python = std::env::var("TURNDAY_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let import = format!("import {}", modules.join(", "));
    let found = Command::new(&python).args(["-c", &import]).stderr(Stdio::null()).status().is_ok_and(|s| s.success());
    if !found {
        println!("LEFT OUT: {what}: Python has no {} (tests/all.sh sets it up)", modules.join(", "));
    }
    found.then_some(python)
}

/// Runs a script with text on its standard input; returns its output.
pub fn run(python: &str, script: &str, args: &[&str], input: &str) -> String {
    let mut child = Command::new(python)
        .arg("-c")
        .arg(script)
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    let out = child.wait_with_output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}
