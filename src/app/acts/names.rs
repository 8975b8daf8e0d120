//! Finding names in what was typed: names may hold spaces, and nobody types capitals with wet fingers.

use super::Unclear;
use crate::kitchen::read::near;

/// What `name` is followed by in `text`, when `text` begins with it as whole words. Capitals and commas make no difference.
pub(super) fn after<'a>(text: &'a str, name: &str) -> Option<&'a str> {
    let letters = text.char_indices().filter(|(_, c)| *c != ',');
    let mut typed = letters.flat_map(|(i, c)| c.to_lowercase().map(move |l| (i + c.len_utf8(), l)));
    let mut end = 0;
    for letter in name.chars().filter(|c| *c != ',').flat_map(char::to_lowercase) {
        let (i, typed) = typed.next()?;
        if typed != letter {
            return None;
        }
        end = i;
    }
    let rest = text.get(end..)?;
    let whole = rest.chars().next().is_none_or(|c| c.is_whitespace() || c == ':' || c == ',');
    whole.then(|| rest.trim_start_matches([' ', ':', ',', '\t']))
}

/// The longest name that `text` begins with, whatever its capitals, and what follows it. A name may be cut short where only one begins so.
///
/// # Errors
/// When none fits, with the near ones, or several begin so.
pub(super) fn name_at<'a, 'n>(what: &str, text: &'a str, names: &'n [String]) -> Result<(&'n str, &'a str), Unclear> {
    let text = text.trim();
    let mut fits: Vec<(&String, &str)> = names.iter().filter_map(|n| after(text, n).map(|r| (n, r))).collect();
    fits.sort_by_key(|(n, _)| n.len());
    if let Some((name, rest)) = fits.pop() {
        return Ok((name, rest));
    }
    let first = text.split([' ', ':', ',']).next().unwrap_or_default();
    if first.is_empty() {
        return Err(Unclear { says: format!("which {what}?"), choices: names.to_vec() });
    }
    let low = first.to_lowercase();
    // "low 7" for the low shelf.
    let begins: Vec<&String> =
        names.iter().filter(|n| n.to_lowercase().split_whitespace().any(|w| w.starts_with(&low))).collect();
    match begins.as_slice() {
        [one] => Ok((one, text[first.len()..].trim_start_matches([' ', ':', ',']))),
        [] => {
            // The name may be of several words.
            let mut guesses: Vec<&str> = Vec::new();
            let words: Vec<&str> = text.split_whitespace().collect();
            for n in 1..=words.len().min(4) {
                guesses.extend(near(&words[..n].join(" "), names));
            }
            guesses.dedup();
            let choices: Vec<String> = if guesses.is_empty() {
                names.iter().take(12).cloned().collect()
            } else {
                guesses.iter().map(|g| (*g).to_owned()).collect()
            };
            Err(Unclear { says: format!("there is no {what} called \"{first}\""), choices })
        }
        several => Err(Unclear {
            says: format!("\"{first}\" begins the names of {} of them", several.len()),
            choices: several.iter().map(|n| (*n).clone()).collect(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_with_spaces_capitals_and_figures() {
        let names: Vec<String> =
            ["T1", "T12", "Big end", "low shelf", "Fridge, top", "Äpfel"].map(str::to_owned).to_vec();
        let at = |t| name_at("thing", t, &names).map_err(|e| e.to_string());
        assert_eq!(at("t1 3"), Ok(("T1", "3")));
        assert_eq!(at("T12"), Ok(("T12", "")));
        assert_eq!(at("big end: tied"), Ok(("Big end", "tied")));
        assert_eq!(at("fridge top 7"), Ok(("Fridge, top", "7")));
        assert_eq!(at("low 7"), Ok(("low shelf", "7")));
        assert_eq!(at("äpfel x"), Ok(("Äpfel", "x")));
        assert!(at("T").unwrap_err().contains("T1"));
        assert!(at("bgi end").unwrap_err().contains("Big end"));
        assert!(at("").unwrap_err().contains("which thing"));
        // A letter whose small form is two letters.
        assert!(at("İİİ").is_err());
    }
}
