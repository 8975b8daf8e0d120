use crate::near;
use turnday::science::nitrite::*;
use turnday::units::Mass;

// N03 and N04: USDA FSIS Processing Inspectors' Calculations Handbook (Directive 7620.3, 1995), ch. 3, immersion; own
// arithmetic. One brine, two official methods, a factor of four between them.
#[test]
fn both_official_methods() {
    near("whole system", whole_system(2.4, 9000.0, 6000.0), 160.0, 0.05);
    near("pick-up", pick_up(2.4, 6000.0, 0.1), 40.0, 0.05);
}

// N15: definition, own arithmetic: 150 mg/kg on 1 kg.
#[test]
fn dose_by_strength() {
    for (percent, grams) in [(6.25, 2.4), (5.88, 2.551), (0.6, 25.0)] {
        let bag = Bag { nitrite_percent: percent, nitrate_percent: 0.0, target_mg_per_kg: 150.0 };
        near(&format!("{percent} %"), dose(&bag, Mass::kg(1.0)).unwrap().value.as_g(), grams, 0.001);
    }
}

#[test]
fn over_the_limit_and_pure_nitrite_are_refused() {
    let bag = |p, t| Bag { nitrite_percent: p, nitrate_percent: 0.0, target_mg_per_kg: t };
    assert!(dose(&bag(6.25, 201.0), Mass::kg(1.0)).is_err());
    assert!(dose(&bag(100.0, 120.0), Mass::kg(1.0)).is_err());
    assert!(dose(&bag(0.0, 120.0), Mass::kg(1.0)).is_err());
    assert!(dose(&bag(6.25, 180.0), Mass::kg(1.0)).unwrap().flags().any(|f| f.contains("over the 150")));
    assert!(dose(&bag(2.5, 120.0), Mass::kg(1.0)).unwrap().flags().any(|f| f.contains("read the label")));
}
