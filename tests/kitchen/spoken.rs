//! What people type for moments, stretches of time, weights and temperatures.

use chrono::{DateTime, Utc};
use proptest::prelude::*;
use turnday::kitchen::spoken::{Here, Lean, moment, range, temperature, weight};
use turnday::kitchen::{Moment, Zone};
use turnday::units::Mass;

fn here(now: &str, lean: Lean) -> Here {
    let zone = Zone(chrono_tz::Europe::London);
    Here { now: zone.instant(Moment::parse(now).unwrap().0), zone, lean }
}

fn civil(at: DateTime<Utc>, h: Here) -> String {
    h.zone.civil(at).format("%a %Y-%m-%d %H:%M").to_string()
}

#[track_caller]
fn said(text: &str, h: Here) -> String {
    civil(moment(text, h).unwrap_or_else(|e| panic!("{e}")).at, h)
}

#[test]
fn moments_that_lie_behind() {
    let h = here("2026-12-05 12:00", Lean::Back);
    for (text, meant) in [
        ("now", "Sat 2026-12-05 12:00"),
        ("an hour ago", "Sat 2026-12-05 11:00"),
        ("20 min ago", "Sat 2026-12-05 11:40"),
        ("half an hour ago", "Sat 2026-12-05 11:30"),
        ("1h30min ago", "Sat 2026-12-05 10:30"),
        ("2 h ago", "Sat 2026-12-05 10:00"),
        ("two days ago", "Thu 2026-12-03 12:00"),
        ("a week ago", "Sat 2026-11-28 12:00"),
        ("09:15", "Sat 2026-12-05 09:15"),
        ("9.15am", "Sat 2026-12-05 09:15"),
        ("at 19:00", "Fri 2026-12-04 19:00"),
        ("12:10", "Sat 2026-12-05 12:10"),
        ("yesterday 19:00", "Fri 2026-12-04 19:00"),
        ("Yesterday at 7 pm", "Fri 2026-12-04 19:00"),
        ("19:00 yesterday", "Fri 2026-12-04 19:00"),
        ("yesterday", "Fri 2026-12-04 12:00"),
        ("yesterday evening", "Fri 2026-12-04 19:00"),
        ("last night", "Fri 2026-12-04 22:00"),
        ("this morning", "Sat 2026-12-05 08:00"),
        ("Sat 9:00", "Sat 2026-12-05 09:00"),
        ("Sat 19:00", "Sat 2026-11-28 19:00"),
        ("last Sat 9:00", "Sat 2026-11-28 09:00"),
        ("Thursday, 18:30", "Thu 2026-12-03 18:30"),
        ("on Thu", "Thu 2026-12-03 12:00"),
        ("4 Dec 19:00", "Fri 2026-12-04 19:00"),
        ("Dec 4th 19:00", "Fri 2026-12-04 19:00"),
        ("Fri 4 Dec 19:00", "Fri 2026-12-04 19:00"),
        ("12 Mar", "Thu 2026-03-12 12:00"),
        ("29 Feb 10:00", "Thu 2024-02-29 10:00"),
        ("2026-12-04 19:00", "Fri 2026-12-04 19:00"),
        ("2026-12-04T19:00", "Fri 2026-12-04 19:00"),
        ("2026-12-04", "Fri 2026-12-04 12:00"),
        ("4 Dec 24:00", "Sat 2026-12-05 00:00"),
    ] {
        assert_eq!(said(text, h), meant, "{text}");
    }
}

#[test]
fn moments_that_lie_ahead() {
    let h = here("2026-12-05 12:00", Lean::Ahead);
    for (text, meant) in [
        ("in 20 min", "Sat 2026-12-05 12:20"),
        ("in 3 days", "Tue 2026-12-08 12:00"),
        ("11:00", "Sun 2026-12-06 11:00"),
        ("tonight", "Sat 2026-12-05 19:00"),
        ("tonight 21:30", "Sat 2026-12-05 21:30"),
        ("tomorrow 7pm", "Sun 2026-12-06 19:00"),
        ("tomorrow noon", "Sun 2026-12-06 12:00"),
        ("Sat 9:00", "Sat 2026-12-12 09:00"),
        ("Sat 19:00", "Sat 2026-12-05 19:00"),
        ("next Sat", "Sat 2026-12-12 12:00"),
        ("12 Mar 8am", "Fri 2027-03-12 08:00"),
        ("12am", "Sun 2026-12-06 00:00"),
    ] {
        assert_eq!(said(text, h), meant, "{text}");
    }
}

// Clock changes for Europe/London from the IANA time zone database: 2026-10-25 02:00 BST back to 01:00, 2027-03-28 01:00 GMT on to 02:00.
#[test]
fn across_the_clock_changes() {
    let back = here("2026-10-25 12:00", Lean::Back);
    let twice = moment("01:30", back).unwrap();
    assert_eq!(twice.at.to_rfc3339(), "2026-10-25T00:30:00+00:00", "the first of the two");
    assert!(twice.note.unwrap().contains("came twice"));
    let on = here("2027-03-28 12:00", Lean::Back);
    let skipped = moment("1:30", on).unwrap();
    assert_eq!(civil(skipped.at, on), "Sun 2027-03-28 02:30");
    assert!(skipped.note.unwrap().contains("skipped 01:30; 02:30 is taken"));
    // Days go by the calendar, hours pass.
    assert_eq!(said("3 days ago", on), "Thu 2027-03-25 12:00");
    assert_eq!(said("12 h ago", on), "Sat 2027-03-27 23:00");
    assert_eq!(said("yesterday 12:00", on), "Sat 2027-03-27 12:00");
    let (from, to) = range("28 Mar", here("2027-03-26 12:00", Lean::Ahead)).unwrap();
    assert_eq!((to - from).num_hours(), 23);
}

#[test]
fn what_is_not_understood_is_named_with_examples() {
    let h = here("2026-12-05 12:00", Lean::Back);
    for (text, piece) in [
        ("", "nothing"),
        ("blursday", "\"blursday\" is no moment"),
        ("yesterday 25:00", "\"25:00\" is no time of day"),
        ("yesterday 19:61", "19:61"),
        ("24/12", "day/month"),
        ("31 Feb", "no such day"),
        ("2026-02-30", "2026-02-30"),
        ("Mon 4 Dec", "Friday"),
        ("midnight", "24:00 ends it"),
        ("7", "may be a day or an hour"),
        ("13pm", "13pm"),
        ("12 Mar 1850", "too far"),
        ("99999999 days ago", "length"),
        ("three moons ago", "three moons"),
        ("yesterday \u{0}\u{feff}", "time of day"),
    ] {
        let e = moment(text, h).unwrap_err();
        assert!(e.says.contains(piece), "{text}: {e}");
        assert!(e.to_string().contains("yesterday 19:00"), "{e}");
    }
}

#[test]
fn stretches() {
    let h = here("2027-03-10 12:00", Lean::Ahead);
    for (text, from, to) in [
        ("12-14 Mar", "Fri 2027-03-12 00:00", "Mon 2027-03-15 00:00"),
        ("12–14 March", "Fri 2027-03-12 00:00", "Mon 2027-03-15 00:00"),
        ("12 to 14 Mar", "Fri 2027-03-12 00:00", "Mon 2027-03-15 00:00"),
        ("12 Mar to 2 Apr", "Fri 2027-03-12 00:00", "Sat 2027-04-03 00:00"),
        ("30 Dec - 2 Jan", "Thu 2027-12-30 00:00", "Mon 2028-01-03 00:00"),
        ("Fri 15:00 to Sun 19:00", "Fri 2027-03-12 15:00", "Sun 2027-03-14 19:00"),
        ("from Fri 15:00 until Tue 16 Mar 20:00", "Fri 2027-03-12 15:00", "Tue 2027-03-16 20:00"),
        ("Fri-Sun", "Fri 2027-03-12 00:00", "Mon 2027-03-15 00:00"),
        ("2027-03-12 to 2027-03-14", "Fri 2027-03-12 00:00", "Mon 2027-03-15 00:00"),
        ("tomorrow", "Thu 2027-03-11 00:00", "Fri 2027-03-12 00:00"),
        ("today to tomorrow", "Wed 2027-03-10 00:00", "Fri 2027-03-12 00:00"),
        ("12 Mar", "Fri 2027-03-12 00:00", "Sat 2027-03-13 00:00"),
        ("Fri 15:00-19:00", "Fri 2027-03-12 15:00", "Fri 2027-03-12 19:00"),
        ("Fri 22:00 to 06:00", "Fri 2027-03-12 22:00", "Sat 2027-03-13 06:00"),
        ("the weekend", "Sat 2027-03-13 00:00", "Mon 2027-03-15 00:00"),
    ] {
        let (a, b) = range(text, h).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!((civil(a, h).as_str(), civil(b, h).as_str()), (from, to), "{text}");
    }
    for bad in ["", "soon", "12-40 Mar", "now", "2027-03-14 to 2027-03-12", "Fri to", "to Fri", "14-12 Mar 2027"] {
        let e = range(bad, h).unwrap_err();
        assert!(e.to_string().contains("12-14 Mar"), "{e}");
    }
}

// Factors: international yard and pound agreement, 1959 (1 lb = 0.45359237 kg, exact).
#[test]
fn weights() {
    let kg = |t: &str| weight(t, None).unwrap().value.as_kg();
    for (text, meant) in [
        ("3.4kg", 3.4),
        ("3400 g", 3.4),
        ("3.4", 3.4),
        ("3,4 kg", 3.4),
        ("7 lb 8 oz", 3.401_942_775),
        ("7lb", 3.175_146_59),
    ] {
        assert!((kg(text) - meant).abs() < 1e-9, "{text}");
    }
    for bad in ["", "heavy", "3 stone", "3,400 g", "3 kg 400", "0 kg", "-2 kg", "3.4.5"] {
        let e = weight(bad, None).unwrap_err();
        assert!(e.to_string().contains("7 lb 8 oz"), "{e}");
    }
    // Typed 26 for 2.6; pounds for kilograms (the surprises of the trade, common practice, no source).
    let expected = Some(Mass::kg(2.6));
    assert_eq!(weight("3.4", expected).unwrap().doubt, None, "heavier than labelled is no slip");
    let (says, gross) = weight("26", expected).unwrap().doubt.unwrap();
    assert!(gross && says.contains("did you mean 2.6 kg"), "{says}");
    let (says, gross) = weight("5.7", expected).unwrap().doubt.unwrap();
    assert!(!gross && says.contains("write 5.7 lb"), "{says}");
    let (says, _) = weight("2600", expected).unwrap().doubt.unwrap();
    assert!(says.contains("grams"), "{says}");
    assert!(weight("26", None).unwrap().doubt.is_some() && weight("2.6", None).unwrap().doubt.is_none());
}

#[test]
fn temperatures() {
    let c = |t: &str| temperature(t).unwrap().as_celsius();
    for (text, meant) in [
        ("7", 7.0),
        ("7 C", 7.0),
        ("7°", 7.0),
        ("68.5", 68.5),
        ("3,8 °C", 3.8),
        ("45F", 65.0 / 9.0),
        ("-18", -18.0),
        ("41 degrees F", 5.0),
    ] {
        assert!((c(text) - meant).abs() < 1e-9, "{text}");
    }
    for bad in ["", "warm", "7 K", "7 8"] {
        assert!(temperature(bad).unwrap_err().to_string().contains("45 F"), "{bad}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn nothing_typed_panics(words in proptest::collection::vec(
        prop_oneof![
            proptest::sample::select(vec![
                "now", "ago", "in", "a", "an", "hour", "min", "days", "week", "yesterday", "tomorrow", "today", "tonight", "Sat", "last",
                "next", "this", "on", "the", "at", "12", "31", "Feb", "29", "Mar", "19:00", "7pm", "24:00", "99", "-", "to", "2026-12-04",
                "9999-12-31", "1e308", "0001-01-01", "2027", "noon", "12-14", "kg", "lb", "oz", "g", "C", "°F", ",", ".", "99999999999999999999",
            ]).prop_map(str::to_owned),
            ".{0,8}",
        ], 0..7), now in 946_684_800i64..4_102_444_800, lean in proptest::bool::ANY, glue in proptest::bool::ANY)
    {
        let text = words.join(if glue { "" } else { " " });
        let lean = if lean { Lean::Back } else { Lean::Ahead };
        for zone in [chrono_tz::Europe::London, chrono_tz::Pacific::Apia, chrono_tz::UTC] {
            let h = Here { now: DateTime::from_timestamp(now, 0).unwrap(), zone: Zone(zone), lean };
            let _ = moment(&text, h);
            if let Ok((from, to)) = range(&text, h) {
                prop_assert!(from < to);
            }
        }
        let _ = weight(&text, Some(Mass::kg(2.6)));
        let _ = temperature(&text);
    }
}
