//! The table of troubles against the trade's own rows, typed again from its notes (common practice, no source).

use super::support::{file, planned};
use std::collections::BTreeSet;
use std::fmt::Write;
use turnday::kitchen::limits::Override;
use turnday::kitchen::{Kitchen, Limits};
use turnday::plan::judge::judge;
use turnday::process::bridge;
use turnday::process::durations;
use turnday::process::trouble::{Effect, Known, Ruling, Table, Told, Verdict, apply, rule};
use turnday::units::{Elapsed, Mass, Temperature};

fn h(hours: f64) -> Option<Elapsed> {
    Some(Elapsed::hours(hours))
}

fn d(days: f64) -> Option<Elapsed> {
    Some(Elapsed::days(days))
}

fn c(celsius: f64) -> Option<Temperature> {
    Some(Temperature::celsius(celsius))
}

fn says(kind: &str, told: &Told, known: &Known) -> Ruling {
    rule(Limits::shipped(), kind, told, known).unwrap_or_else(|r| panic!("{kind}: {r}"))
}

fn extra_hours(r: &Ruling) -> f64 {
    r.effects.iter().map(|e| if let Effect::ExtraCure { hours, .. } = e { *hours } else { 0.0 }).sum()
}

fn has(r: &Ruling, wanted: impl Fn(&Effect) -> bool) -> bool {
    r.effects.iter().any(wanted)
}

fn guarded() -> Known {
    Known { nitrite: Some(true), start_percent: Some(4.0), ..Known::default() }
}

fn bare() -> Known {
    Known { nitrite: Some(false), start_percent: Some(4.0), ..Known::default() }
}

#[test]
fn turns() {
    // Turn now, stir; 5 days or more since the last: a day more; 7 or more: two days and look for pale patches.
    for (days, extra) in [(3.0, 0.0), (4.9, 0.0), (5.0, 24.0), (6.9, 24.0), (7.0, 48.0), (12.0, 48.0)] {
        let r = says("missed-turn", &Told { lasted: d(days), ..Told::default() }, &Known::default());
        assert_eq!(extra_hours(&r), extra, "{days} days: {r:?}");
        assert_eq!(r.deviation.is_some(), extra > 0.0, "{days} days");
        assert_eq!(r.verdict, Verdict::CarryOn);
    }
    let r = says("missed-turn", &Told { lasted: d(8.0), ..Told::default() }, &Known::default());
    assert!(r.says.contains("pale patches") && r.within_minutes == 0);
    // Nobody knows: the worst, unless there is a last good moment to count from.
    let r = says("missed-turn", &Told::default(), &Known::default());
    assert!(extra_hours(&r) == 48.0 && r.read_as[0].contains("worst"));
    let r = says("missed-turn", &Told::default(), &Known { since_good: d(5.5), ..Known::default() });
    assert!(extra_hours(&r) == 24.0 && r.read_as[0].contains("last good reading"));
}

/// Row by row: brine temperature, hours, with nitrite and 3 % or more, without.
#[test]
fn warm_brine() {
    use Verdict::*;
    let rows: [(f64, Option<f64>, Verdict, Verdict); 14] = [
        (5.0, Some(100.0), CarryOn, CarryOn),
        (5.1, Some(11.9), CarryOn, CarryOn),
        (8.0, Some(11.9), CarryOn, CarryOn),
        (8.0, Some(12.0), Renew, Renew),
        (6.0, Some(48.0), Renew, Renew),
        (6.0, Some(48.5), Bin, Bin),
        (8.1, Some(3.9), CarryOn, Renew),
        (8.5, Some(7.0), Decide, Bin),
        (12.0, Some(24.0), Decide, Bin),
        (12.0, Some(24.5), Bin, Bin),
        (12.5, Some(5.0), Bin, Bin),
        (12.5, Some(3.0), Decide, Bin),
        (8.5, None, Bin, Bin),
        (6.0, None, Bin, Bin),
    ];
    for kind in ["warm", "power-cut"] {
        for (t, hours, with, without) in rows {
            let told = Told { celsius: c(t), lasted: hours.map(Elapsed::hours), ..Told::default() };
            for (known, wanted) in [(guarded(), with), (bare(), without)] {
                let r = says(kind, &told, &known);
                assert_eq!(r.verdict, wanted, "{kind} {t} °C {hours:?} h, {known:?}: {}", r.says);
                assert_eq!(r.verdict == Bin, has(&r, |e| *e == Effect::JointLost), "{t} {hours:?}");
                assert_eq!(r.deviation.is_some(), t > 5.0, "{t}");
                // Under 3 % is as good as no nitrite, and so is a strength nobody knows.
                for start_percent in [Some(2.9), None] {
                    let weak = Known { start_percent, ..known.clone() };
                    assert_eq!(says(kind, &told, &weak).verdict, without, "{t} {hours:?} weak");
                }
            }
        }
    }
    // A business bins what a home renews.
    let told = Told { celsius: c(8.5), lasted: h(7.0), ..Told::default() };
    assert_eq!(says("warm", &told, &Known { business: true, ..guarded() }).verdict, Bin);
    let home = says("warm", &told, &guarded());
    assert!(has(&home, |e| matches!(e, Effect::CookAtOnce { .. })) && home.first.contains("bone"));
    // Clear brine at 5 to 8 °C for a day is not renewed, cooked promptly all the same.
    let told = Told { celsius: c(7.0), lasted: h(20.0), cloudy: Some(false), ..Told::default() };
    let r = says("warm", &told, &guarded());
    assert!(r.verdict == CarryOn && has(&r, |e| matches!(e, Effect::CookAtOnce { .. })));
    assert_eq!(says("warm", &told, &bare()).verdict, Renew);
    // How long is not known: since the last good reading.
    let told = Told { celsius: c(8.5), ..Told::default() };
    let r = says("power-cut", &told, &Known { since_good: h(7.0), ..guarded() });
    assert!(r.verdict == Decide && r.read_as.iter().any(|x| x.contains("last good reading")));
    // Not probed: nothing goes on until it is.
    let r = says("power-cut", &Told { lasted: h(7.0), ..Told::default() }, &guarded());
    assert!(r.verdict == Hold && r.first.contains("probe"));
}

#[test]
fn a_warmer_or_longer_spell_is_never_ruled_milder() {
    let rank = |v| match v {
        Verdict::CarryOn => 0,
        Verdict::Renew => 1,
        Verdict::Decide | Verdict::Hold => 2,
        Verdict::Bin => 3,
    };
    for known in [guarded(), bare()] {
        let of = |t: f64, hours: f64| {
            rank(says("warm", &Told { celsius: c(t), lasted: h(hours), ..Told::default() }, &known).verdict)
        };
        for t in 0..40 {
            for hours in 0..120 {
                let (t, hours) = (f64::from(t) / 2.0, f64::from(hours) / 2.0);
                assert!(of(t + 0.5, hours) >= of(t, hours), "{t} °C {hours} h");
                assert!(of(t, hours + 0.5) >= of(t, hours), "{t} °C {hours} h");
            }
        }
    }
}

#[test]
fn ropy_brine_is_renewed_by_how_far_the_cure_has_come() {
    // Medium, T3 with C 2.6 and D 2.4 kg: day 15 of 15.6 is past half, two thirds of the strength, the clock goes on.
    let k = file("tests/kitchen/good/medium.json");
    let recipe = bridge::recipe(&k.cure);
    let tub = Some((recipe, Mass::kg(5.0), Mass::kg(5.4)));
    let late = Known { in_brine: d(15.0), need: d(15.6), tub: tub.clone(), ..guarded() };
    let r = says("ropy", &Told::default(), &late);
    assert_eq!((r.verdict, extra_hours(&r)), (Verdict::Renew, 0.0));
    let Some(Effect::RenewBrine { share, weigh: Some(w) }) = r.effects.first() else { panic!("{r:?}") };
    assert!((share - 2.0 / 3.0).abs() < 1e-4);
    // By hand: (5.0 + 5.4) kg at 2.5 % and 120 mg/kg from a 6.25 % bag, two thirds of both.
    let cure = 10.4 * 120e-6 / 0.0625 * 2.0 / 3.0;
    assert!((w.curing_salt.as_kg() - cure).abs() < 2e-5, "{w:?}");
    assert!((w.salt_total.as_kg() - 10.4 * 0.025 * 2.0 / 3.0).abs() < 2e-4);
    assert!((w.plain_salt.as_kg() - (w.salt_total.as_kg() - cure * 0.9375)).abs() < 2e-4);
    // Before half, or nobody knows: full strength and up to two days.
    for known in [Known { in_brine: d(5.0), need: d(15.6), ..guarded() }, guarded()] {
        let r = says("ropy", &Told::default(), &known);
        assert_eq!(extra_hours(&r), 48.0);
        assert!(has(&r, |e| matches!(e, Effect::RenewBrine { share, weigh: None } if *share == 1.0)));
    }
    let r = says("ropy", &Told { smells: Some(true), ..Told::default() }, &late);
    assert_eq!((r.verdict, &r.effects[0]), (Verdict::Bin, &Effect::JointLost));
    assert_eq!(says("scum", &Told::default(), &guarded()).effects, []);
}

#[test]
fn meat_proud_of_the_brine() {
    let r = |lasted, celsius| says("proud", &Told { lasted, celsius, ..Told::default() }, &guarded());
    assert_eq!(extra_hours(&r(h(20.0), c(4.0))), 0.0);
    assert_eq!(extra_hours(&r(d(2.0), c(4.0))), 24.0);
    assert_eq!(r(d(4.0), c(4.0)).verdict, Verdict::CarryOn);
    assert_eq!(r(d(4.0), c(6.0)).verdict, Verdict::Decide);
    assert_eq!(r(None, None).verdict, Verdict::Decide);
}

#[test]
fn salt_left_out() {
    let r = |lasted, known: &Known| says("forgot-salt", &Told { lasted, ..Told::default() }, known);
    let early = r(d(1.0), &Known { in_brine: d(1.0), ..bare() });
    assert!(has(&early, |e| matches!(e, Effect::RestartClock { hours: Some(x), .. } if *x == 24.0)));
    assert_eq!(r(d(4.0), &bare()).verdict, Verdict::Bin);
    assert_eq!(r(None, &bare()).verdict, Verdict::Bin);
    assert_eq!(r(d(4.0), &guarded()).verdict, Verdict::Decide);
    assert_eq!(says("too-strong", &Told::default(), &guarded()).verdict, Verdict::Decide);
}

#[test]
fn curing_salt_weighed_wrong() {
    let known = Known { nitrite_target: Some(120.0), ..guarded() };
    let r = |ratio, lasted| says("misweighed-cure", &Told { ratio, lasted, ..Told::default() }, &known);
    for (ratio, verdict) in [
        (1.0, Verdict::CarryOn),
        (1.2, Verdict::CarryOn),
        (1.25, Verdict::Hold),
        (1.9, Verdict::Hold),
        (2.0, Verdict::Bin),
        (16.0, Verdict::Bin),
    ] {
        let one = r(Some(ratio), h(3.0));
        assert_eq!(one.verdict, verdict, "{ratio}");
        assert_eq!(one.deviation.is_some(), ratio != 1.0);
    }
    // Not known how much: not eaten.
    let unknown = r(None, h(3.0));
    assert!(unknown.verdict == Verdict::Bin && unknown.first.contains("DO NOT EAT"));
    // A recipe at 170 mg/kg and a fifth over is 204: over the hard limit before it is over a quarter.
    let high = Known { nitrite_target: Some(170.0), ..guarded() };
    let r2 = says("misweighed-cure", &Told { ratio: Some(1.2), lasted: h(3.0), ..Told::default() }, &high);
    assert!(r2.verdict == Verdict::Hold && r2.says.contains("204"), "{}", r2.says);
    // Under: the balance within 48 h, nothing after.
    assert!(has(&r(Some(0.5), h(47.0)), |e| matches!(e, Effect::AddCureBalance { .. })));
    assert!(has(&r(Some(0.5), h(49.0)), |e| *e == Effect::AsFreshPork));
    assert!(has(&r(Some(0.5), None), |e| *e == Effect::AsFreshPork), "nobody knows since when");
    let tub = Some((bridge::recipe(&file("tests/kitchen/good/small.json").cure), Mass::kg(4.7), Mass::kg(5.6)));
    let told = Told { ratio: Some(0.5), lasted: h(10.0), ..Told::default() };
    let r = says("misweighed-cure", &told, &Known { tub, ..known });
    // Half of 19.776 g.
    assert!(has(&r, |e| matches!(e, Effect::AddCureBalance { grams: Some(g) } if (g - 9.888).abs() < 1e-6)));
}

#[test]
fn cook_day_and_after() {
    let at = |kind, t, business| {
        says(kind, &Told { celsius: c(t), ..Told::default() }, &Known { business, ..guarded() }).verdict
    };
    assert_eq!((at("core-not-up", 69.9, false), at("core-not-up", 70.0, false)), (Verdict::Hold, Verdict::CarryOn));
    assert_eq!(says("core-not-up", &Told::default(), &guarded()).verdict, Verdict::Hold);
    assert_eq!((at("not-cold", 8.5, true), at("not-cold", 8.5, false)), (Verdict::Bin, Verdict::Decide));
    assert_eq!((at("not-cold", 6.0, true), at("not-cold", 5.0, true)), (Verdict::Decide, Verdict::CarryOn));
    assert_eq!(says("not-cold", &Told::default(), &Known { business: true, ..guarded() }).verdict, Verdict::Bin);
    for (kind, verdict) in [("bone-sour", Verdict::Bin), ("vermin", Verdict::Bin), ("burst-pack", Verdict::CarryOn)] {
        assert_eq!(says(kind, &Told::default(), &guarded()).verdict, verdict, "{kind}");
    }
    let cold = says("too-cold", &Told { lasted: d(2.0), ..Told::default() }, &guarded());
    assert!(has(&cold, |e| matches!(e, Effect::NotCounted { hours, .. } if *hours == 24.0)), "such days count half");
}

#[test]
fn rulings_go_into_the_kitchen_and_the_plan_follows() {
    let k = file("tests/kitchen/good/small.json");
    let plain = planned(&k, 400).unwrap();
    let j1 = ["J1".to_owned()];
    let late = says("missed-turn", &Told { lasted: d(5.0), ..Told::default() }, &guarded());
    let longer = apply(&k, &j1, &late);
    assert_eq!(
        durations::cure(&longer.joints[0], &longer.cure),
        durations::cure(&k.joints[0], &k.cure) + 1440,
        "a day more"
    );
    assert_eq!(longer.joints[1], k.joints[1]);
    let plan = planned(&longer, 400).unwrap();
    assert!((plan.joints[0].cure_days - plain.joints[0].cure_days - 1.0).abs() < 1e-9);
    assert!(judge(&longer, &plan).broken.is_empty());
    // The plan made before no longer has the days.
    let mut short = plain.clone();
    let lift = short.tasks.iter().position(|t| t.id == "lift J1").unwrap();
    assert!(judge(&longer, &short).broken.iter().any(|b| b.says.contains("J1") || b.tasks.contains(&"lift J1".into())));
    short.tasks.remove(lift);
    // It reads back as written, and is judged.
    let text = serde_json::to_string(&longer).unwrap();
    let read = turnday::kitchen::read("k", &text).judge(chrono::NaiveDate::from_ymd_opt(2026, 11, 25).unwrap());
    assert_eq!(read.kitchen.as_ref(), Some(&longer), "{:?}", read.findings);

    let warm = says("warm", &Told { celsius: c(8.5), lasted: h(7.0), ..Told::default() }, &guarded());
    let hurried = apply(&k, &j1, &warm);
    let plan = planned(&hurried, 400).unwrap();
    assert!(judge(&hurried, &plan).broken.is_empty());
    let stay = |p: &turnday::plan::Plan| (p.joints[0].lift - p.joints[0].cured).num_hours();
    assert!(stay(&plan) <= 48, "{} h over its days", stay(&plan));

    let lost = apply(&k, &j1, &says("bone-sour", &Told::default(), &guarded()));
    assert_eq!(lost.joints.len(), 1);
    let heavy = apply(&k, &j1, &says("heavier", &Told { weight: Some(Mass::kg(3.4)), ..Told::default() }, &guarded()));
    assert!(
        (durations::cure(&heavy.joints[0], &heavy.cure) - durations::cure(&k.joints[0], &k.cure) - 6912).abs() <= 1
    );
    let slid = apply(&k, &j1, &says("late-delivery", &Told { lasted: d(3.0), ..Told::default() }, &guarded()));
    assert_eq!((slid.joints[0].arrives.unwrap().0 - k.joints[0].arrives.unwrap().0).num_days(), 3);
}

#[test]
fn a_kitchen_lays_its_own_marks_over_the_table() {
    let mut own = Kitchen::clone(&file("tests/kitchen/good/small.json")).limits;
    let mark = Override { value: 96.0, source: "our records".into(), country: String::new(), as_of: String::new() };
    own.0.insert("turn_late_hours".into(), mark);
    let told = Told { lasted: d(4.5), ..Told::default() };
    let stricter = rule(&Limits::with(&own), "missed-turn", &told, &guarded()).unwrap();
    assert_eq!((extra_hours(&stricter), extra_hours(&says("missed-turn", &told, &guarded()))), (24.0, 0.0));
}

#[test]
fn the_table_is_whole() {
    let table = Table::shipped();
    let mut seen = BTreeSet::new();
    for t in &table.troubles {
        assert!(seen.insert(t.kind.clone()), "{} twice", t.kind);
        let rows = table.rows(t);
        // The last row has no bounds of its own, so there is always a ruling.
        assert!(rows.last().is_some_and(|r| r.when.is_empty()), "{}", t.kind);
        for r in rows {
            assert!(t.rows_of.is_some() || seen.insert(format!("row {}", r.id)), "{} twice", r.id);
            let text = format!("{r:?}").to_lowercase();
            assert!(!text.contains("safe to eat") && !text.contains("is safe"), "{}", r.id);
            assert!(r.verdict != Verdict::Bin || r.deviation.is_some(), "{}: binned without a record", r.id);
        }
        // Nothing known at all: a ruling, never a panic, and never the mildest where a fact is asked for and has a worst.
        says(&t.kind, &Told::default(), &Known::default());
    }
    assert!(seen.len() > 60, "{}", seen.len());
    assert!(rule(Limits::shipped(), "gremlins", &Told::default(), &Known::default()).is_err());
    for bad in [f64::NAN, f64::INFINITY, -1.0, 1e9] {
        let told = Told { lasted: h(bad), ratio: Some(bad), celsius: c(bad * 1e3), ..Told::default() };
        for kind in ["missed-turn", "misweighed-cure", "warm"] {
            assert!(rule(Limits::shipped(), kind, &told, &Known::default()).is_err(), "{kind} {bad}");
        }
    }
    for (id, value) in MARKS {
        assert!((Limits::shipped().value(id) - value).abs() < 1e-4, "{id}");
    }
}

/// The marks typed again from the trade's notes.
const MARKS: [(&str, f64); 20] = [
    ("warm_mild_celsius", 8.0),
    ("warm_celsius", 12.0),
    ("warm_mild_note_hours", 12.0),
    ("warm_mild_bin_hours", 48.0),
    ("warm_note_hours", 4.0),
    ("warm_bin_hours", 24.0),
    ("guarded_brine_percent", 3.0),
    ("turn_late_hours", 5.0 * 24.0),
    ("turn_very_late_hours", 7.0 * 24.0),
    ("turn_late_extra_hours", 24.0),
    ("turn_very_late_extra_hours", 48.0),
    ("proud_hours", 24.0),
    ("proud_long_hours", 72.0),
    ("renew_share", 2.0 / 3.0),
    ("salt_missing_hours", 48.0),
    ("cure_over_ratio", 1.25),
    ("cure_bin_ratio", 2.0),
    ("cure_under_hours", 48.0),
    ("core_celsius", 70.0),
    ("cold_discard_celsius", 8.0),
];

/// docs/trouble.md is made from the table.
#[test]
fn the_document_is_fresh() {
    const BEGIN: &str = "<!-- from here on made by TURNDAY_BLESS=1 cargo test --test plan trouble -->\n";
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/trouble.md");
    let kept = std::fs::read_to_string(&path).unwrap();
    let (by_hand, _) = kept.split_once(BEGIN).expect("the mark is there");
    let mut now = format!("{by_hand}{BEGIN}");
    let table = Table::shipped();
    for t in &table.troubles {
        let _ = write!(now, "\n### {}\n\n`turnday trouble {}`. ", capital(&t.what), t.kind);
        let asks: Vec<&str> = t.asks.iter().map(|a| a.says.as_str()).collect();
        let _ = writeln!(now, "Asks: {}.\n", if asks.is_empty() { "nothing".to_owned() } else { asks.join("; ") });
        if let Some(of) = &t.rows_of {
            let _ = writeln!(now, "As `{of}`.");
            continue;
        }
        now.push_str("| row | what the table says | first | ruling |\n|---|---|---|---|\n");
        for r in &t.rows {
            let verdict = serde_json::to_value(r.verdict).unwrap();
            let _ = writeln!(now, "| `{}` | {} | {} | {} |", r.id, r.says, r.first, verdict.as_str().unwrap());
        }
    }
    if std::env::var_os("TURNDAY_BLESS").is_some() {
        std::fs::write(&path, &now).unwrap();
    }
    assert!(std::fs::read_to_string(&path).unwrap() == now, "bless docs/trouble.md with TURNDAY_BLESS=1");
}

fn capital(text: &str) -> String {
    text[..1].to_uppercase() + &text[1..]
}
