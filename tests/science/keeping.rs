use crate::near;
use turnday::science::cost::{self, Line};
use turnday::science::excursion::{Action, Table, act_by};
use turnday::science::keeping::*;
use turnday::units::*;

fn c(t: f64) -> Temperature {
    Temperature::celsius(t)
}

// S01: USDA/HHS ham storage chart (published, read in a stored copy). Freezer times are quality.
#[test]
fn usda_lives() {
    for (product, at, days, kind) in [
        (Kept::FreshPork, 4.0, (3, 5), DateKind::Safety),
        (Kept::GammonRaw, 4.0, (5, 7), DateKind::Safety),
        (Kept::GammonRaw, -18.0, (90, 120), DateKind::Quality),
        (Kept::HamWhole, 4.0, (3, 5), DateKind::Safety),
        (Kept::HamSliced, 4.0, (3, 5), DateKind::Safety),
        (Kept::HamSliced, -20.0, (30, 60), DateKind::Quality),
    ] {
        let a = life(product, Pack::Loose, c(at)).unwrap().value;
        assert_eq!((a.days, a.kind), (days, kind), "{product:?} at {at}");
    }
}

#[test]
fn chilled_is_safety_and_frozen_is_quality_throughout() {
    for l in lives() {
        assert_eq!(l.kind == DateKind::Safety, l.store == Store::Chilled, "{l:?}");
        assert!(!l.source.is_empty() && l.days.0 <= l.days.1);
    }
    assert!(life(Kept::HamSliced, Pack::Vacuum, c(9.0)).is_err());
    assert!(life(Kept::HamSliced, Pack::Vacuum, c(-8.0)).is_err());
    assert!(life(Kept::HamSliced, Pack::Vacuum, c(7.0)).unwrap().flags().count() == 1);
}

// S03: UK FSA factsheet Vac Pack 07/08: ten days at 3 to 8 °C without other controls; hurdles but the heat from memory.
#[test]
fn ten_days() {
    assert_eq!(life(Kept::HamSliced, Pack::Vacuum, c(5.0)).unwrap().value.days, (10, 10));
    assert_eq!(ten_day_rule(c(5.0), Hurdles::default()).unwrap().value, None);
    let salt = |s| ten_day_rule(c(5.0), Hurdles { salt_in_water: Some(s), ..Hurdles::default() }).unwrap().value;
    assert!(salt(3.49).is_none() && salt(3.5).is_some());
    assert!(ten_day_rule(c(10.0), Hurdles::default()).is_err());
}

// S04: formula of Ontario's fish plant guidelines FB1414, own arithmetic.
#[test]
fn water_phase() {
    near("salt", salt_in_water_phase(2.5, 68.0).unwrap(), 3.5461, 0.001);
    assert!(salt_in_water_phase(f64::NAN, 68.0).is_err());
}

// The house table of warm brines: conservative judgement, no source.
#[test]
fn warm_brine() {
    let act = |t, h: Option<f64>, guarded, business| {
        act_by(&Table::default(), c(t), h.map(Elapsed::hours), guarded, business)
    };
    let a = |t, h, guarded, business| act(t, h, guarded, business).unwrap().value;
    assert_eq!(a(5.0, None, false, true), Action::Fine);
    assert_eq!(a(7.0, Some(6.0), true, false), Action::Note);
    assert_eq!(a(7.0, Some(20.0), true, false), Action::RenewIfCloudy);
    assert_eq!(a(7.0, Some(20.0), false, false), Action::Renew);
    assert_eq!(a(10.0, Some(3.0), true, false), Action::Note);
    assert_eq!(a(10.0, Some(3.0), false, false), Action::Renew);
    assert_eq!(a(10.0, Some(10.0), true, false), Action::RenewHomeOnly);
    assert_eq!(a(10.0, Some(10.0), true, true), Action::Bin);
    assert_eq!(a(10.0, Some(10.0), false, false), Action::Bin);
    assert_eq!(a(14.0, Some(5.0), true, false), Action::Bin);
    // A short time passes at home up to 20 °C, and none above; what no brine in a kitchen reaches is taken for a slip.
    assert_eq!(a(20.0, Some(1.0), true, false), Action::RenewHomeOnly);
    assert_eq!(a(20.5, Some(1.0), true, false), Action::Bin);
    assert_eq!(a(30.0, Some(0.2), true, false), Action::Bin);
    assert!(act(47.0, Some(3.0), true, false).is_err());
    assert_eq!(a(7.0, None, true, false), Action::Bin, "a time not known is the worst");
    // Warmer or longer is never kinder; without nitrite is never kinder than with.
    for t in 0..30 {
        for h in 0..60 {
            let at = |t: i32, h: i32, g| a(f64::from(t), Some(f64::from(h)), g, false);
            assert!(at(t + 1, h, true) >= at(t, h, true) || t == 8 && h >= 12, "{t} °C {h} h");
            assert!(at(t, h + 1, true) >= at(t, h, true));
            assert!(at(t, h, false) >= at(t, h, true));
        }
    }
}

// Common practice, no source: a 15 L pot takes about 1.6 kWh to heat and 3 kWh in all with 3.3 h at a simmer.
#[test]
fn energy_and_cost() {
    let up = cost::heat_up_kwh(Volume::litres(15.0), c(10.0), c(85.0), 0.8).unwrap();
    near("heat-up", up, 1.63, 0.05);
    near("pot day", cost::batch_energy(up, Elapsed::hours(3.3), 0, 0.0, 0.0).total(), 3.0, 0.1);
    let line = |what: &str, amount, unit_price| Line { what: what.into(), amount, unit_price };
    let a = cost::cost(&[line("pork", 2.6, 8.0), line("bags", 11.0, 0.1)], 1.66).unwrap().value;
    near("total", a.total, 21.9, 1e-9);
    assert!(cost::cost(&[line("pork", -1.0, 8.0)], 1.66).is_err());
    assert!(cost::cost(&[], 0.0).is_err());
    near("a kilogram", a.per_kg, 21.9 / 1.66, 1e-9);
    // Two joints of one batch bear it as their green weights are.
    near("a share", a.of(1.3, 2.6), 21.9 / 2.0, 1e-9);
}
