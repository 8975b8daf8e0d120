//! The rules of thumb. Common practice, no source, unless a line says otherwise.

use crate::near;
use turnday::science::brine::Basis;
use turnday::science::{chill, cook, cure, size, yields};
use turnday::units::*;

#[test]
fn sizes_from_weight() {
    for (kg, d, l) in [(1.7, 11.3, 16.0), (2.1, 12.2, 17.0), (2.6, 13.1, 18.3), (3.4, 14.3, 20.0), (5.0, 16.2, 22.7)] {
        let s = size::from_weight(Mass::kg(kg)).unwrap().value;
        near(&format!("Ø of {kg} kg"), s.diameter.as_cm(), d, 0.07);
        near(&format!("length of {kg} kg"), s.length.as_cm(), l, 0.15);
    }
    assert!(size::from_weight(Mass::kg(26.0)).is_err());
    assert!(size::from_weight(Mass::kg(0.5)).unwrap().flags().count() == 1);
}

#[test]
fn days_in_the_brine() {
    let rule = cure::Rule::default();
    let days = |kg, bone| rule.time(Mass::kg(kg), bone, Length::cm(13.0)).as_days();
    near("2.6 kg", days(2.6, false), 15.6, 1e-9);
    near("floor", days(0.7, false), 6.0, 1e-9);
    near("bone", days(4.2, true), 27.72, 1e-9);
    near("thick", rule.time(Mass::kg(4.2), false, Length::cm(15.1)).as_days(), 27.72, 1e-9);
    // D23: USDA farm bulletin, 4 days a pound for 15 lb (published, read in a stored copy).
    let bulletin = cure::Rule { days_per_kg: 4.0 / 0.453_592_37, fewest_days: 0.0, bone_extra_percent: 0.0 };
    near("bulletin", bulletin.time(Mass::kg(15.0 * 0.453_592_37), true, Length::cm(20.0)).as_days(), 60.0, 1e-9);
}

#[test]
fn short_is_never_ready() {
    for basis in [Basis::Equilibrium, Basis::Excess] {
        assert!(cure::standing(Elapsed::days(8.9), Elapsed::days(10.0), basis).says.starts_with("short"));
        assert!(cure::standing(Elapsed::days(9.9), Elapsed::days(10.0), basis).says.contains("short"));
    }
    assert_eq!(cure::standing(Elapsed::days(13.0), Elapsed::days(10.0), Basis::Excess).soak_hours, 24.0);
}

#[test]
fn simmer() {
    for (kg, min) in [(2.6, 160.0), (3.4, 200.0), (4.2, 240.0), (1.2, 120.0)] {
        let s = cook::simmer(Mass::kg(kg));
        near("planned", s.planned.as_minutes(), min, 1e-9);
        near("slow", s.slow.as_minutes(), min * 1.35, 1e-9);
    }
}

#[test]
fn chill_by_the_planning_table() {
    use chill::ChillMeans::*;
    for (means, d, low, high) in [
        (Fridge, 13.0, 11.0, 13.0),
        (ColdRoom, 14.5, 9.5, 9.5),
        (IcedWater, 12.0, 5.0, 6.0),
        (Blast, 16.0, 8.0, 8.0),
        (IcedWater, 14.5, 8.0, 9.0),
    ] {
        let s = chill::by_rule(means, Length::cm(d));
        near("planned", s.planned.as_hours(), (low + high) / 2.0, 1e-9);
        near("slow", s.slow.as_hours(), high.max(1.1 * low), 1e-9);
    }
    // Rising with thickness, without a jump anywhere.
    for means in chill::ChillMeans::ALL {
        let mut last = chill::by_rule(means, Length::cm(5.0));
        for i in 51..250 {
            let s = chill::by_rule(means, Length::cm(f64::from(i) / 10.0));
            assert!(s.planned >= last.planned && s.slow >= last.slow && s.slow >= s.planned);
            assert!(s.planned.as_minutes() < 1.05 * last.planned.as_minutes());
            last = s;
        }
    }
    assert!(chill::by_rule_answer(Fridge, Length::cm(17.0)).unwrap().flags().count() == 1);
    assert!(chill::by_rule_answer(Fridge, Length::cm(40.0)).is_err());
}

#[test]
fn yields_both_ways() {
    let p = |kg, product, pack| yields::from_green(Mass::kg(kg), product, false, Mass::kg(pack)).unwrap().value;
    assert_eq!(p(2.6, yields::Product::HamSliced, 0.15).packs, 11);
    assert_eq!(p(2.1, yields::Product::GammonSteaks, 0.4).packs, 4);
    // 2.1 kg of gammon makes 1.995 kg: ten steaks only if the tenth is 195 g; counted down, nine of 200 g and a bit.
    near("packed", p(2.1, yields::Product::GammonSteaks, 0.4).packed.as_kg(), 1.995, 1e-9);
    let order = yields::to_order(Mass::kg(3.0), yields::Product::HamSliced, false).unwrap().value;
    near("to order", order.as_kg(), 4.922, 0.001);
    assert!(yields::from_green(Mass::kg(2.6), yields::Product::HamSliced, false, Mass::kg(0.0)).is_err());
}

#[test]
fn a_size_belongs_to_its_weight_or_is_refused() {
    let of = |kg, d, l| size::belongs(Mass::kg(kg), size::Size { diameter: Length::cm(d), length: Length::cm(l) });
    // Whatever the weight, its own reckoned size is nothing to speak of.
    for kg in [0.3, 1.0, 2.6, 4.2, 12.0] {
        let own = size::Size::reckon(Mass::kg(kg));
        assert_eq!(size::belongs(Mass::kg(kg), own).unwrap(), None);
    }
    // 2.6 kg is 2.453 L; a cylinder of 13 by 18.5 cm is 2.456 L. Half of the length is half of the volume.
    assert!(of(2.6, 13.0, 9.25).unwrap().is_some() && of(2.6, 13.0, 9.2).is_err());
    assert!(of(2.6, 13.0, 36.9).unwrap().is_some() && of(2.6, 13.0, 37.0).is_err());
    // A shank end on the bone, 17 by 26 cm and 4.2 kg: the trade notes' own, flagged and not refused.
    assert!(of(4.2, 17.0, 26.0).unwrap().is_some());
    for (d, l) in [(4.0, 5.6), (40.0, 56.0), (0.0, 18.0), (-13.0, 18.0), (13.0, -18.0)] {
        assert!(of(2.6, d, l).is_err(), "{d} by {l}");
    }
}

#[test]
fn a_core_target_under_seventy_is_flagged() {
    let says = |t: f64| cook::under_the_core_limit(Temperature::celsius(t)).map(|n| n.says().to_owned());
    assert_eq!(says(70.0), None);
    // ACMSF (secondary): 5,580 s at 60 °C, 840 s at 65 °C.
    assert!(says(60.0).unwrap().contains("93 minutes") && says(65.0).unwrap().contains("14 minutes"));
    assert!(says(55.0).unwrap().contains("no UK table"));
}

#[test]
fn usual_packs_lie_in_their_ranges() {
    for p in [
        yields::Product::HamSliced,
        yields::Product::HamWhole,
        yields::Product::GammonSteaks,
        yields::Product::GammonJoint,
    ] {
        let u = yields::usual(p);
        assert!(u.portions.0 <= u.portion && u.portion <= u.portions.1);
    }
}
