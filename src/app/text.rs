//! Text measured in columns, in any script.

use unicode_width::UnicodeWidthStr;

/// Columns that a text takes.
pub fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// The text cut to so many columns, with an ellipsis in the last one where something is left out. Control characters
/// become spaces.
pub fn fit(text: &str, columns: usize) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if width(&clean) <= columns {
        return clean;
    }
    if columns == 0 {
        return String::new();
    }
    let mut out = take(&clean, columns - 1);
    out.push('…');
    out
}

/// As many whole characters from the start as fit, kept together with what combines with them.
fn take(text: &str, columns: usize) -> String {
    let mut end = 0;
    for (i, c) in text.char_indices() {
        let next = i + c.len_utf8();
        if width(&text[..next]) > columns {
            break;
        }
        end = next;
    }
    text[..end].to_owned()
}

/// The text in lines of at most so many columns, broken between words, or within a word that is longer than a line.
pub fn wrap(text: &str, columns: usize) -> Vec<String> {
    let columns = columns.max(1);
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let mut word = word.to_owned();
        if !line.is_empty() && width(&line) + 1 + width(&word) <= columns {
            line.push(' ');
            line.push_str(&word);
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        while width(&word) > columns {
            let mut head = take(&word, columns);
            if head.is_empty() {
                // A character wider than the line: nothing can be done but leave it out.
                head = word.chars().next().map(String::from).unwrap_or_default();
                word = word[head.len()..].to_owned();
                continue;
            }
            word = word[head.len()..].to_owned();
            lines.push(head);
        }
        line = word;
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// `1 pack`, `2 packs`.
pub fn count(n: usize, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wide_scripts_are_measured_in_columns() {
        // Unicode UAX #11: ideographs are two columns wide, a combining mark none.
        assert_eq!(width("ハム"), 4);
        assert_eq!(width("cafe\u{301}"), 4);
        assert_eq!(fit("生ハム三号", 7), "生ハム…");
        assert_eq!(fit("生ハム三号", 6), "生ハ…");
        assert_eq!(fit("shank", 5), "shank");
        assert_eq!(fit("a\tb\u{1b}[2J", 10), "a b [2J");
        for columns in 0..12 {
            assert!(width(&fit("생햄 shank 生ハム", columns)) <= columns);
        }
    }

    #[test]
    fn wrapped_lines_keep_to_their_width() {
        assert_eq!(wrap("turn the box today", 9), ["turn the", "box today"]);
        assert_eq!(wrap("生ハム三号", 4), ["生ハ", "ム三", "号"]);
        for columns in 1..20 {
            assert!(
                wrap("a fairly ordinary sentence 生ハム三号 x", columns).iter().all(|l| width(l) <= columns.max(2))
            );
        }
    }
}
