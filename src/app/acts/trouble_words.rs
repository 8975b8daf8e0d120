//! The words of a trouble to a case, for every door: "missed turn T1 6 d", "warm T1 8.5 C for 7 h", "heavier shank 3.4 kg".

use super::names::after;
use super::{Case, Unclear};
use crate::kitchen::Kitchen;
use crate::kitchen::spoken::temperature;
use crate::process::trouble::{KindOf, kinds};
use crate::units::{Elapsed, Mass};

/// Words that say nothing by themselves.
const FILLERS: [&str; 12] = ["for", "at", "in", "of", "the", "a", "was", "is", "and", "it", "on", "with"];

/// What can be said beside the kind, a joint and a tub.
pub const FIGURES: [&str; 10] =
    ["7 h", "8.5 C", "3.4 kg", "x1.4", "smells", "no smell", "cloudy", "since good 7 h", "in brine 12 d", "starts 4 %"];

/// Reads a case. First the kind (it may be cut short where only one begins so), or joints and a tub and then the kind; then
/// in any order more names, how long ("7 h"), how warm ("8.5 C"), a weight ("3.4 kg"), how many times too much ("x1.4"), "smells" or "no smell",
/// "cloudy" or "clear", "since good 7 h" (the last reading inside the limit), "in brine 12 d", "starts 4 %" (salt in the brine). Names are
/// those of the kitchen, where there is one.
///
/// # Errors
/// What was not understood, with what could be said instead.
pub fn case_of<'k>(text: &str, kitchen: impl Into<Option<&'k Kitchen>>) -> Result<Case, Unclear> {
    let (all, kitchen) = (kinds(), kitchen.into());
    let mut case = Case::default();
    let mut rest = text.trim();
    while let Some(then) = name(rest, &mut case, kitchen) {
        rest = then;
    }
    let (kind, mut rest) = kind_at(rest, &all)?;
    case.kind.clone_from(&kind.kind);
    while !rest.is_empty() {
        rest = match name(rest, &mut case, kitchen) {
            Some(then) => then,
            None => said(rest, &mut case, kind)?,
        };
    }
    Ok(case)
}

/// Takes the name of a joint or a tub off the text; what follows it.
fn name<'t>(text: &'t str, case: &mut Case, kitchen: Option<&Kitchen>) -> Option<&'t str> {
    let kitchen = kitchen?;
    let longest = |names: &mut dyn Iterator<Item = &String>| {
        let found = names.filter_map(|n| after(text, n).map(|rest| (n.clone(), rest)));
        found.max_by_key(|(n, _)| n.len())
    };
    if let Some((joint, rest)) = longest(&mut kitchen.joints.iter().map(|j| &j.name)) {
        if !case.joints.contains(&joint) {
            case.joints.push(joint);
        }
        return Some(rest);
    }
    let (tub, rest) = longest(&mut kitchen.kit.tubs.iter().map(|t| &t.name))?;
    case.tub = Some(tub);
    Some(rest)
}

/// The kind that the text begins with, as whole words or cut short, and what follows it.
fn kind_at<'t, 'k>(text: &'t str, all: &'k [KindOf]) -> Result<(&'k KindOf, &'t str), Unclear> {
    let named = all.iter().filter_map(|k| {
        let spaced = k.kind.replace('-', " ");
        after(text, &k.kind).or_else(|| after(text, &spaced)).map(|rest| (k, rest))
    });
    if let Some(found) = named.max_by_key(|(k, _)| k.kind.len()) {
        return Ok(found);
    }
    let first = text.split_whitespace().next().unwrap_or_default();
    let low = first.to_lowercase();
    let begin: Vec<&KindOf> = all.iter().filter(|k| !low.is_empty() && k.kind.starts_with(&low)).collect();
    match begin.as_slice() {
        [one] => Ok((one, text[first.len()..].trim_start())),
        several => {
            let says = match (first, several.len()) {
                ("", _) => "what went wrong?".to_owned(),
                (_, 0) => format!("the house's table has no trouble called \"{first}\""),
                (_, n) => format!("\"{first}\" begins {n} of them"),
            };
            let choices = if several.is_empty() { all.iter().collect() } else { several.to_vec() };
            Err(Unclear { says, choices: choices.iter().map(|k| format!("{}: {}", k.kind, k.what)).collect() })
        }
    }
}

/// Takes one figure or word off the text; what follows it.
fn said<'t>(text: &'t str, case: &mut Case, kind: &KindOf) -> Result<&'t str, Unclear> {
    let cut = |n: usize| {
        let end = text.split_inclusive(char::is_whitespace).take(n).map(str::len).sum::<usize>();
        let (words, rest) = text.split_at(end);
        (words.trim().trim_end_matches([',', ';', '.']).to_lowercase(), rest.trim_start())
    };
    let (one, after_one) = cut(1);
    let (two, after_two) = cut(2);
    match (one.as_str(), two.as_str()) {
        (_, "since good") => return length(after_two, &mut case.since_good, "the time since the last good reading"),
        (_, "in brine") => return length(after_two, &mut case.in_brine, "the time in the brine"),
        ("starts", _) => return percent(after_one, &mut case.start_percent),
        _ => {}
    }
    let told = &mut case.told;
    if FILLERS.contains(&one.as_str()) {
        return Ok(after_one);
    }
    if ["no smell", "not smelling", "smells fine", "smells clean", "smells sweet"].contains(&two.as_str()) {
        return once(&mut told.smells, false, "whether it smells").map(|()| after_two);
    }
    let (smells, cloudy) = ("whether it smells", "whether it is cloudy");
    match one.as_str() {
        "smells" | "smell" | "smelly" | "stinks" | "sour" => once(&mut told.smells, true, smells)?,
        "cloudy" | "clouded" | "milky" => once(&mut told.cloudy, true, cloudy)?,
        "clear" => once(&mut told.cloudy, false, cloudy)?,
        _ => {
            // The most words that make a figure: "1 d 12 h" is one length, "7 lb 8 oz" one weight.
            for (words, rest) in (1..=4).rev().map(cut) {
                // A number alone says nothing of what it counts.
                let begins = |c: char| c.is_ascii_digit() || "-−x".contains(c);
                if !words.chars().any(char::is_alphabetic) || !words.starts_with(begins) {
                    continue;
                }
                let times = words.strip_prefix('x').or_else(|| words.strip_suffix('x'));
                let times = times.or_else(|| words.strip_suffix(" times"));
                if let Some(n) = times.and_then(|t| t.trim().parse().ok()) {
                    once(&mut told.ratio, n, "how many times too much")?;
                } else if let Ok(length) = Elapsed::parse(&words) {
                    once(&mut told.lasted, length, "how long")?;
                } else if let Ok(celsius) = temperature(&words) {
                    once(&mut told.celsius, celsius, "how warm")?;
                } else if let Ok(weight) = Mass::parse(&words) {
                    once(&mut told.weight, weight, "the weight")?;
                } else {
                    continue;
                }
                return Ok(rest);
            }
            let asks = if kind.asks.is_empty() { "a joint or a tub".to_owned() } else { kind.asks.join("; ") };
            return Err(Unclear {
                says: format!("\"{one}\" says nothing of {}; it asks: {asks}", kind.kind),
                choices: FIGURES.map(str::to_owned).to_vec(),
            });
        }
    }
    Ok(after_one)
}

/// The most words at the beginning of a text that something can be made of, and what follows them.
fn most<T>(text: &str, read: impl Fn(&str) -> Option<T>) -> Option<(T, &str)> {
    (1..=4).rev().find_map(|n| {
        let end = text.split_inclusive(char::is_whitespace).take(n).map(str::len).sum::<usize>();
        let (words, rest) = text.split_at(end);
        read(words.trim().trim_end_matches([',', ';', '.'])).map(|found| (found, rest.trim_start()))
    })
}

/// Takes a length off the text; what follows it.
fn length<'t>(text: &'t str, place: &mut Option<Elapsed>, what: &str) -> Result<&'t str, Unclear> {
    // A number alone says nothing of what it counts.
    let read = |t: &str| Elapsed::parse(t).ok().filter(|_| t.chars().any(char::is_alphabetic));
    let (found, rest) = most(text, read)
        .ok_or_else(|| Unclear { says: format!("{what} is not said"), choices: vec!["7 h".into(), "12 d".into()] })?;
    once(place, found, what).map(|()| rest)
}

/// Takes a share of salt off the text; what follows it.
fn percent<'t>(text: &'t str, place: &mut Option<f64>) -> Result<&'t str, Unclear> {
    let read = |t: &str| t.strip_suffix('%')?.trim().parse().ok().filter(|p: &f64| p.is_finite());
    let (found, rest) = most(text, read).ok_or_else(|| Unclear {
        says: "how much salt the brine started with is not said".to_owned(),
        choices: vec!["starts 4 %".into()],
    })?;
    once(place, found, "the salt of the brine").map(|()| rest)
}

/// Adds what a door was told in another way than in words.
///
/// # Errors
/// What is said both ways, and differently.
pub fn and_told(mut case: Case, more: Case) -> Result<Case, Unclear> {
    fn also<T: PartialEq>(place: &mut Option<T>, more: Option<T>, what: &str) -> Result<(), Unclear> {
        more.map_or(Ok(()), |value| once(place, value, what))
    }
    let (told, with) = (&mut case.told, more.told);
    also(&mut told.lasted, with.lasted, "how long")?;
    also(&mut told.celsius, with.celsius, "how warm")?;
    also(&mut told.ratio, with.ratio, "how many times too much")?;
    also(&mut told.weight, with.weight, "the weight")?;
    also(&mut told.smells, with.smells, "whether it smells")?;
    also(&mut told.cloudy, with.cloudy, "whether it is cloudy")?;
    also(&mut case.tub, more.tub, "the tub")?;
    also(&mut case.in_brine, more.in_brine, "the time in the brine")?;
    also(&mut case.since_good, more.since_good, "the time since the last good reading")?;
    also(&mut case.start_percent, more.start_percent, "the salt of the brine")?;
    for joint in more.joints {
        if !case.joints.contains(&joint) {
            case.joints.push(joint);
        }
    }
    Ok(case)
}

/// Takes a figure that was not said before: of two that differ nobody knows which is meant.
fn once<T: PartialEq>(place: &mut Option<T>, value: T, what: &str) -> Result<(), Unclear> {
    if place.as_ref().is_some_and(|had| *had != value) {
        return Err(Unclear { says: format!("{what} is said twice, and differently"), choices: Vec::new() });
    }
    *place = Some(value);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Temperature;

    fn kitchen() -> Kitchen {
        let text = crate::kitchen::starter(chrono::NaiveDate::from_ymd_opt(2026, 12, 1).expect("a date"));
        crate::kitchen::read::read("starter", &text).kitchen.expect("the starter is good")
    }

    #[test]
    fn troubles_as_people_type_them() {
        let k = kitchen();
        let (joint, tub) = (k.joints[0].name.clone(), k.kit.tubs[0].name.clone());
        let case = case_of(&format!("missed turn {tub} 6 d"), &k).expect("a case");
        assert_eq!((case.kind.as_str(), case.tub.as_deref()), ("missed-turn", Some(tub.as_str())));
        assert_eq!(case.told.lasted.map(Elapsed::as_days), Some(6.0));
        let case = case_of(&format!("Warm, {tub} was at 47 F for 7h"), &k).expect("a case");
        assert!((case.told.celsius.map_or(0.0, Temperature::as_celsius) - 8.333).abs() < 0.001);
        assert_eq!(case.told.lasted.map(Elapsed::as_hours), Some(7.0));
        let case = case_of(&format!("heavier {joint} 3.4kg"), &k).expect("a case");
        assert_eq!((case.joints, case.told.weight.map(Mass::as_kg)), (vec![joint], Some(3.4)));
        let case = case_of(&format!("{tub} ropy"), &k).expect("the name first");
        assert_eq!((case.kind.as_str(), case.tub), ("ropy", Some(tub)));
        let case = case_of("ropy no smell", &k).expect("a case");
        assert_eq!(case.told.smells, Some(false));
        assert_eq!(case_of("ropy smells cloudy", &k).expect("a case").told.smells, Some(true));
        assert_eq!(case_of("misweighed-cure x1.4", &k).expect("a case").told.ratio, Some(1.4));
        let more = case_of("power 8 C in brine 1 d 12 h, since good 7 h starts 4 %", &k).expect("a case");
        assert_eq!(more.in_brine.map(Elapsed::as_hours), Some(36.0));
        assert_eq!((more.since_good.map(Elapsed::as_hours), more.start_percent), (Some(7.0), Some(4.0)));
        assert_eq!(more.told.lasted, None);
        assert_eq!(case_of("missed-turn 6 d", None).expect("without a kitchen").kind, "missed-turn");
        let long = case_of("warm 8 C 1 d 12 h", &k).expect("one length");
        assert_eq!(long.told.lasted.map(Elapsed::as_hours), Some(36.0));
        let heavy = case_of(&format!("heavier {} 7 lb 8 oz", k.joints[0].name), &k).expect("one weight");
        // 0.45359237 kg a pound: international yard and pound agreement, 1959.
        assert!((heavy.told.weight.map_or(0.0, Mass::as_kg) - 7.5 * 0.453_592_37).abs() < 1e-9);
        assert_eq!(case_of("power 7 h", &k).expect("cut short").kind, "power-cut");
    }

    #[test]
    fn what_is_not_understood_is_said() {
        let k = kitchen();
        for (text, says) in [
            ("", "what went wrong?"),
            ("gremlins", "no trouble called"),
            ("warm 7", "\"7\" says nothing"),
            ("late-delivery soon", "\"soon\" says nothing"),
            ("warm in brine 8", "the time in the brine is not said"),
            ("warm starts strong", "started with is not said"),
        ] {
            let unclear = case_of(text, &k).expect_err(text);
            assert!(unclear.says.contains(says) && !unclear.choices.is_empty(), "{text}: {}", unclear.says);
        }
        for twice in ["warm 8 C 7 h and 9 C", "warm 7 h 8 C 3 h", "ropy smells no smell", "ropy cloudy clear"] {
            let unclear = case_of(twice, &k).expect_err(twice);
            assert!(unclear.says.contains("said twice"), "{twice}: {}", unclear.says);
        }
    }
}
