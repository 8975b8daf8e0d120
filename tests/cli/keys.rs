//! The key page, and a person's key file.

use super::support::{Bench, compare_or_bless, root};

#[test]
fn the_key_page_is_made_from_the_table() {
    let page = Bench::new().run(&["keys", "--markdown"]).ends(0).out;
    compare_or_bless(&root().join("docs/keys.md"), &page);
}

#[test]
fn a_key_file_is_found_and_shown() {
    let b = Bench::new();
    let before = b.run(&["keys"]).ends(0).out;
    assert!(before.contains("To change keys, write") && before.contains(".config/turnday/keys.json"), "{before}");
    std::fs::create_dir_all(b.path(".config/turnday")).unwrap();
    b.write(".config/turnday/keys.json", "// mine\n{ \"zoom-in\": \"z\", }");
    let after = b.run(&["keys"]).ends(0).out;
    assert!(after.contains("Keys are changed by"), "{after}");
    assert!(after.lines().any(|l| l.trim_start().starts_with("z  ") && l.contains("zoom-in")), "{after}");
    let json = b.run(&["keys", "--json"]).ends(0).json();
    let row = json["commands"].as_array().unwrap().iter().find(|c| c["command"] == "zoom-in").unwrap();
    assert_eq!(row["keys"], serde_json::json!(["z"]));
    assert_eq!(json["there"], true);
    // The folder the standard names goes before the home folder.
    let other = b.command(&["keys"]).env("XDG_CONFIG_HOME", b.path("elsewhere")).output().unwrap();
    assert!(String::from_utf8(other.stdout).unwrap().contains("elsewhere/turnday/keys.json"));
}

#[test]
fn a_key_file_with_a_fault_is_refused_with_its_line() {
    let b = Bench::new();
    std::fs::create_dir_all(b.path(".config/turnday")).unwrap();
    b.write(".config/turnday/keys.json", "{\n  \"zoom-in\": \"z\",\n  \"fit\": \"z\",\n  \"zoom-out\": \"q\"\n}\n");
    let said = b.run(&["keys"]).ends(2);
    for words in ["keys.json:3:", "keys.json:4:", "z is given to", "\"quit\" has it already", "2 errors"] {
        assert!(said.err.contains(words), "{words} is not in\n{}", said.err);
    }
}

#[test]
fn completions_and_manual_pages_know_every_command() {
    let b = Bench::new();
    let help = b.run(&["--help"]).ends(0).out;
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|l| !l.starts_with("Commands:"))
        .skip(1)
        .take_while(|l| l.starts_with("  "))
        .filter(|l| !l.starts_with("   "))
        .filter_map(|l| l.split_whitespace().next())
        .filter(|c| *c != "help")
        .collect();
    assert!(commands.len() > 20, "{commands:?}");
    for shell in ["bash", "zsh", "fish"] {
        let script = b.run(&["completions", shell]).ends(0).out;
        for command in &commands {
            assert!(script.contains(command), "{shell} does not know {command}");
        }
    }
    b.run(&["man", "pages"]).ends(0);
    for command in &commands {
        let page = std::fs::read_to_string(b.path(&format!("pages/turnday-{command}.1"))).unwrap();
        assert!(page.contains(".SH NAME") && page.contains(".SH OPTIONS"), "{command}: {page}");
    }
    assert!(std::fs::read_to_string(b.path("pages/turnday.1")).unwrap().contains("turnday"));
    b.run(&["completions", "tcsh"]).ends(2);
}

#[test]
fn alone_and_without_a_terminal_it_prints_its_help() {
    let said = Bench::new().run(&[]).ends(2);
    assert!(said.out.contains("Usage: turnday"), "{}", said.out);
}
