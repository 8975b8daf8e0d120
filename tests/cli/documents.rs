//! README and docs show what the program prints now, name files that are there, and commands that exist.
//!
//! A fenced block ```` ```console ```` whose lines begin with `$ turnday ` is made again by running the command from the package's
//! folder; `| head -N` and `| sed -n A,Bp` are done here. `TURNDAY_BLESS=1` writes the documents anew.

use super::support::{Bench, Said, compare_or_bless, root};
use std::fmt::Write;

const DOCUMENTS: [&str; 7] = [
    "README.md",
    "DEVELOPERS.md",
    "docs/architecture.md",
    "docs/planning.md",
    "docs/book.md",
    "docs/kitchen-file.md",
    "docs/CHANGELOG.md",
];

fn shown(line: &str) -> String {
    let command = line.strip_prefix("$ turnday ").unwrap();
    let (args, pipe) = command.split_once(" | ").map_or((command, None), |(a, p)| (a, Some(p)));
    let args: Vec<&str> = args.split_whitespace().collect();
    let bench = Bench::new();
    let said = Said::from(bench.command(&args).current_dir(root()).output().unwrap());
    let all = said.out + &said.err;
    let lines: Vec<&str> = all.lines().collect();
    let (from, to) = match pipe.map(|p| p.split_whitespace().collect::<Vec<_>>()).as_deref() {
        None => (1, lines.len()),
        Some(["head", n]) => (1, n.trim_start_matches('-').parse().unwrap()),
        Some(["sed", "-n", range]) => {
            let (a, b) = range.trim_end_matches('p').split_once(',').unwrap();
            (a.parse().unwrap(), b.parse().unwrap())
        }
        other => panic!("{other:?} is not done here"),
    };
    let kept: Vec<&str> = lines.iter().skip(from - 1).take(to + 1 - from).copied().collect();
    assert!(!kept.is_empty(), "{line} prints nothing there");
    kept.join("\n") + "\n"
}

fn fresh(text: &str) -> (String, usize) {
    let (mut out, mut inside, mut made) = (String::new(), false, 0);
    for line in text.lines() {
        if line == "```console" {
            inside = true;
        } else if line == "```" {
            inside = false;
        }
        if inside && line.starts_with("$ turnday ") {
            made += 1;
            let _ = write!(out, "{line}\n{}", shown(line));
        } else if !inside || line == "```console" {
            let _ = writeln!(out, "{line}");
        }
    }
    (out, made)
}

#[test]
fn examples_are_what_the_program_prints() {
    let mut all = 0;
    for name in DOCUMENTS {
        let path = root().join(name);
        let text = std::fs::read_to_string(&path).unwrap();
        let (now, made) = fresh(&text);
        all += made;
        if made > 0 {
            compare_or_bless(&path, &now);
        }
    }
    assert!(all >= 4, "{all} examples");
}

#[test]
fn links_lead_to_files_that_are_there() {
    for name in DOCUMENTS {
        let text = std::fs::read_to_string(root().join(name)).unwrap();
        let folder = root().join(name).parent().unwrap().to_owned();
        for piece in text.split("](").skip(1) {
            let target = piece.split(')').next().unwrap().split('#').next().unwrap();
            if target.is_empty() || target.starts_with("http") {
                continue;
            }
            assert!(folder.join(target).exists(), "{name} names {target}, which is not there");
        }
    }
}

#[test]
fn paths_in_backticks_are_there() {
    for name in ["README.md", "DEVELOPERS.md", "docs/architecture.md", "docs/planning.md"] {
        let text = std::fs::read_to_string(root().join(name)).unwrap();
        for piece in text.split('`').skip(1).step_by(2) {
            let a_path = ["src/", "tests/", "docs/", "demo-data/", ".ci/"].iter().any(|p| piece.starts_with(p));
            if a_path && !piece.contains([' ', '*', '{', '<']) {
                assert!(root().join(piece).exists(), "{name} names {piece}, which is not there");
            }
        }
    }
}

#[test]
fn the_readme_tells_of_every_command() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    for command in
        ["demo", "open", "plan", "check", "turns", "today", "start", "log", "undo", "history", "book", "new", "schema"]
    {
        assert!(readme.contains(&format!("turnday {command}")), "{command}");
    }
    assert!(readme.contains("cargo run --release -- demo") && readme.contains("bash tests/all.sh"));
    for caution in ["nitrite", "label", "throw it out", "Local rules"] {
        assert!(readme.contains(caution), "no caution about {caution}");
    }
    assert!(!readme.to_lowercase().contains("safe to eat") || readme.contains("never says that food is safe to eat"));
}
