use crate::near;
use proptest::prelude::*;
use turnday::science::brine::*;
use turnday::science::nitrite::Bag;
use turnday::science::strength::*;
use turnday::units::*;

fn house(percent: f64) -> Recipe {
    Recipe {
        basis: Basis::Equilibrium,
        salt_percent: 2.5,
        sugar_percent: 1.0,
        bag: Some(Bag { nitrite_percent: percent, nitrate_percent: 0.0, target_mg_per_kg: 120.0 }),
    }
}

// B01: definition of the salometer, 100° = 26.395 % at 60 °F; own arithmetic.
#[test]
fn salometer() {
    for (deg, percent) in
        [(10.0, 2.639), (40.0, 10.558), (50.0, 13.197), (60.0, 15.837), (80.0, 21.116), (100.0, 26.395)]
    {
        near("salometer", salometer_from_percent(percent).unwrap(), deg, 0.02);
    }
    assert!(salometer_from_percent(26.4).is_err() && salometer_from_percent(f64::NAN).is_err());
}

// B02: Poradnik fizykochemiczny, WNT Warszawa 1974, sodium chloride density table (published, read in a stored copy).
#[test]
fn density_at_20_by_the_printed_table() {
    for (p, rho) in
        [(1.0, 1005.3), (4.0, 1026.8), (6.0, 1041.3), (10.0, 1070.7), (12.0, 1085.7), (16.0, 1116.2), (18.0, 1131.9)]
    {
        near(&format!("{p} % at 20 °C"), density(p, Temperature::celsius(20.0)).unwrap(), rho, 0.6);
    }
}

// A conflict, shown: the notes to B02 give these as the same table's column at 15 °C. The formula here and CoolProp (see
// reference.rs) agree with each other at 15 °C and put these figures at 10 °C instead, so they are held there.
#[test]
fn density_of_the_column_marked_15() {
    for (p, rho) in
        [(1.0, 1007.1), (4.0, 1029.2), (6.0, 1044.1), (10.0, 1074.2), (12.0, 1089.5), (16.0, 1120.6), (18.0, 1136.4)]
    {
        near(&format!("{p} % at 10 °C"), density(p, Temperature::celsius(10.0)).unwrap(), rho, 0.6);
        let at15 = density(p, Temperature::celsius(15.0)).unwrap();
        assert!(rho - at15 > 0.8, "{p} %: the conflict is gone, hold it at 15 °C: {at15} against {rho}");
    }
}

// B03: the same table. A 10 % brine is not 100 g of salt a litre. Held as tightly as the density is: 0.6 kg/m³ times the
// strength.
#[test]
fn grams_a_litre() {
    for (p, g) in [(4.0, 41.07), (10.0, 107.07), (20.0, 229.56)] {
        near(&format!("{p} %"), density(p, Temperature::celsius(20.0)).unwrap() * p / 100.0, g, 0.6 * p / 100.0);
    }
}

// B07: interpolated from the B02 table over water at 60 °F, 999.017 kg/m³; own arithmetic. Printed salometer tables (from
// memory) lie about 0.002 under it.
#[test]
fn specific_gravity_at_60_f() {
    let t = Temperature::celsius(15.5556);
    for (deg, sg) in [(20.0, 1.0395), (40.0, 1.0791), (60.0, 1.1199), (80.0, 1.1622), (100.0, 1.2065)] {
        let rho = density(deg / 100.0 * SATURATED_PERCENT, t).unwrap();
        near(&format!("{deg}°"), rho / water_density(t), sg, 0.003);
    }
}

// The worked tub of the trade notes: 4.7 kg meat, 5.6 kg water, 2.5 % salt, 1 % sugar, 120 mg/kg, a 6.25 % bag.
// Own arithmetic on the definition.
#[test]
fn worked_tub() {
    let a = weigh_out(&house(6.25), Mass::kg(4.7), Mass::kg(5.6), ScaleSteps::default()).unwrap().value;
    near("salt in all", a.salt_total.as_g(), 257.5, 0.01);
    near("plain salt", a.plain_salt.as_g(), 238.96, 0.01);
    near("curing salt", a.curing_salt.as_g(), 19.776, 0.001);
    near("sugar", a.sugar.as_g(), 103.0, 0.01);
    near("start", a.start_percent, 4.32, 0.02);
    near("nitrite", a.nitrite_mg_per_kg, 120.0, 1e-9);
}

// The same system with other bags: own arithmetic on the definition.
#[test]
fn other_bags() {
    for (strength, grams) in [(5.88, 21.02), (5.0, 24.72), (0.6, 206.0)] {
        let a = weigh_out(&house(strength), Mass::kg(4.7), Mass::kg(5.6), ScaleSteps::default()).unwrap().value;
        near(&format!("{strength} %"), a.curing_salt.as_g(), grams, 0.01);
        near("total holds", a.plain_salt.as_g() + a.curing_salt.as_g() * (1.0 - strength / 100.0), 257.5, 1e-9);
    }
    // A weak bag that would itself oversalt the tub is refused, not clipped.
    let mut mild = house(0.6);
    mild.salt_percent = 1.9;
    assert!(weigh_out(&mild, Mass::kg(4.7), Mass::kg(5.6), ScaleSteps::default()).is_err());
}

// Displacement: invented tubs worked by hand, meat at 1.06 kg/L (common practice, no source).
#[test]
fn cover() {
    let litres = |floor: f64, fill, kg, filler| {
        cover_volume(floor, Length::cm(fill), Mass::kg(kg), Volume::litres(filler)).as_litres()
    };
    near("box", litres(38.0 * 28.0, 18.5, 6.5, 0.0), 13.55, 0.01);
    near("bucket", litres(std::f64::consts::FRAC_PI_4 * 28.0 * 28.0, 30.0, 4.2, 4.0), 10.51, 0.01);
    // 6 kg take 5.66 L, and 78.5 cm² at 5 cm hold 0.39 L.
    near("no room for any", litres(78.54, 5.0, 6.0, 0.0), -5.27, 0.01);
}

#[test]
fn a_coarse_scale_is_named() {
    let tiny =
        weigh_out(&house(6.25), Mass::kg(0.2), Mass::kg(0.3), ScaleSteps { salt_g: 1.0, curing_salt_g: 1.0 }).unwrap();
    assert!(tiny.flags().any(|f| f.contains("cannot weigh") && f.contains("curing salt")), "{:?}", tiny.notes);
    let usual = weigh_out(&house(6.25), Mass::kg(4.7), Mass::kg(5.6), ScaleSteps::default()).unwrap();
    assert!(!usual.flags().any(|f| f.contains("scale")), "{:?}", usual.notes);
}

#[test]
fn weak_and_bare_brines_are_flagged() {
    let mut r = house(6.25);
    r.bag = None;
    let a = weigh_out(&r, Mass::kg(4.7), Mass::kg(5.6), ScaleSteps::default()).unwrap();
    assert!(a.flags().any(|f| f.contains("no nitrite")));
    for bad in [f64::NAN, -1.0, 0.0, 1e9] {
        assert!(weigh_out(&r, Mass::kg(bad), Mass::kg(5.6), ScaleSteps::default()).is_err());
    }
}

proptest! {
    // The total salt is the target on its basis, and nothing is lost between plain and curing salt.
    #[test]
    fn salt_is_conserved(meat in 0.5..60.0f64, ratio in 0.4..3.0f64, salt in 2.0..4.0f64, strength in 4.0..7.0f64, ppm in 50.0..200.0f64) {
        let r = Recipe { basis: Basis::Equilibrium, salt_percent: salt, sugar_percent: 1.0,
            bag: Some(Bag { nitrite_percent: strength, nitrate_percent: 0.0, target_mg_per_kg: ppm }) };
        let w = weigh_out(&r, Mass::kg(meat), Mass::kg(meat * ratio), ScaleSteps::default()).unwrap().value;
        let carried = w.curing_salt.as_kg() * (1.0 - strength / 100.0);
        prop_assert!((w.plain_salt.as_kg() + carried - w.salt_total.as_kg()).abs() < 1e-9);
        prop_assert!((w.salt_on_system - salt).abs() < 1e-9);
        prop_assert!((w.nitrite_mg_per_kg - ppm).abs() < 1e-6);
    }

    // Water for a volume of brine, and the volume of that brine, are each other's inverse.
    #[test]
    fn water_and_volume_agree(meat in 0.5..60.0f64, litres in 1.0..80.0f64) {
        prop_assume!(litres > 0.3 * meat);
        let r = house(6.25);
        let w = water_for(&r, Mass::kg(meat), Volume::litres(litres)).unwrap();
        let back = weigh_out(&r, Mass::kg(meat), w, ScaleSteps::default()).unwrap().value.brine;
        prop_assert!((back.as_litres() - litres).abs() < 1e-6);
    }

    // Mixed together, the parts hold exactly the heat of the whole at its target: energy balance checked the long way.
    #[test]
    fn ice_balances(water in 1.0..60.0f64, share in 0.1..0.36f64, fridge in 2.0..6.0f64, to in 2.0..5.0f64) {
        let s = ice_split(Mass::kg(water), Mass::kg(0.2), share, Temperature::celsius(fridge), Temperature::celsius(to)).unwrap().value;
        let (b, i, c) = (s.boil.as_kg(), s.ice.as_kg(), s.cold.as_kg());
        prop_assert!((b + i + c - water).abs() < 1e-9);
        prop_assert!(b > 0.0 && i >= 0.0 && c >= 0.0);
        let before = b * 4.18 * 100.0 + c * 4.18 * fridge - i * 334.0;
        prop_assert!((before / (4.18 * water) - to).abs() < 1e-6 || i == 0.0);
    }

    #[test]
    fn density_rises_with_salt_and_falls_with_warmth(p in 0.0..25.0f64, t in 5.0..55.0f64) {
        let at = |p, t| density(p, Temperature::celsius(t)).unwrap();
        prop_assert!(at(p + 1.0, t) > at(p, t));
        prop_assert!(at(p, t + 2.0) < at(p, t));
    }
}
