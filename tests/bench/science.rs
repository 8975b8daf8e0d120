//! Bounds to hold: any single answer under 1 ms; the salt profile of 100 joints under 50 ms.

use divan::{Bencher, black_box};
use turnday::science::brine::{Basis, Recipe, ScaleSteps, ice_split, weigh_out};
use turnday::science::chill::{self, ChillMeans};
use turnday::science::fit::{Subject, forecast};
use turnday::science::freezing::{Freezing, pham};
use turnday::science::nitrite::Bag;
use turnday::science::readings::{Log, Reading};
use turnday::science::salt::{Story, Tub};
use turnday::science::shape::Shape;
use turnday::science::size::Size;
use turnday::science::{cook, cooling, lethality};
use turnday::units::*;

fn main() {
    divan::main();
}

fn tub(kg: f64) -> Tub {
    Tub {
        shape: Size::reckon(Mass::kg(kg)).into(),
        meat: Mass::kg(4.7),
        water: Mass::kg(5.6),
        salt: Mass::kg(0.2575),
        temperature: Temperature::celsius(4.0),
    }
}

fn hams(n: u32) -> Vec<Reading> {
    let start =
        chill::course(Size::reckon(Mass::kg(2.6)), Temperature::celsius(75.0), &chill::stages(ChillMeans::Blast))
            .unwrap();
    (0..n)
        .map(|i| {
            let at = Elapsed::minutes(f64::from(i) * 30.0);
            Reading { at, temperature: start.core(at) }
        })
        .collect()
}

#[divan::bench]
fn weigh_out_one_tub(b: Bencher) {
    let r = Recipe {
        basis: Basis::Equilibrium,
        salt_percent: 2.5,
        sugar_percent: 1.0,
        bag: Some(Bag { nitrite_percent: 6.25, nitrate_percent: 0.0, target_mg_per_kg: 120.0 }),
    };
    b.bench(|| weigh_out(black_box(&r), Mass::kg(4.7), Mass::kg(5.6), ScaleSteps::default()));
}

#[divan::bench]
fn ice(b: Bencher) {
    b.bench(|| {
        ice_split(black_box(Mass::kg(5.6)), Mass::kg(0.26), 0.33, Temperature::celsius(4.0), Temperature::celsius(4.0))
    });
}

#[divan::bench]
fn salt_at_the_rule_and_days_to_80(b: Bencher) {
    b.bench(|| {
        Story::new(black_box(tub(2.6)), Elapsed::days(200.0))
            .map(|s| (s.at(Elapsed::days(15.6)), s.uptake_reaches(0.8)))
    });
}

#[divan::bench]
fn salt_today_in_one_joint(b: Bencher) {
    b.bench(|| Story::new(black_box(tub(2.6)), Elapsed::days(15.6)).map(|s| s.at(Elapsed::days(9.0))));
}

#[divan::bench]
fn salt_profile_of_100_joints(b: Bencher) {
    b.bench(|| {
        (0..100)
            .map(|i| {
                let s = Story::new(black_box(tub(1.0 + 0.04 * f64::from(i))), Elapsed::days(20.0)).unwrap();
                s.profile(Elapsed::days(12.0), 21).len()
            })
            .sum::<usize>()
    });
}

#[divan::bench(args = ChillMeans::ALL)]
fn chill_by_physics(b: Bencher, means: ChillMeans) {
    b.bench(|| chill::by_physics(black_box(means), Size::reckon(Mass::kg(2.6)), Temperature::celsius(75.0)));
}

#[divan::bench]
fn simmer_by_physics(b: Bencher) {
    b.bench(|| {
        cook::core_by_physics(
            black_box(Size::reckon(Mass::kg(2.6))),
            Temperature::celsius(4.0),
            Elapsed::minutes(60.0),
            Temperature::celsius(85.0),
            Temperature::celsius(70.0),
        )
    });
}

#[divan::bench(args = [1, 4, 12])]
fn forecast_from_readings(b: Bencher, n: u32) {
    let p = chill::cooked_ham();
    let subject = Subject {
        size: Some(Size::reckon(Mass::kg(2.6))),
        conductivity: p.conductivity,
        diffusivity: p.diffusivity(),
        stages: chill::stages(ChillMeans::IcedWater),
    };
    let readings = hams(n);
    b.bench(|| forecast(black_box(&subject), &readings, chill::COLD).map(|a| a.value.forecast.expected));
}

#[divan::bench]
fn lethality_and_cooling_of_a_long_log(b: Bencher) {
    let log: Vec<String> =
        (0..200).map(|i| format!("{:02}:{:02}={:.1}", i / 12, i % 12 * 5, 75.0 - 0.35 * f64::from(i))).collect();
    b.bench(|| {
        let log = Log::parse(black_box(&log)).unwrap();
        (lethality::cooked(&log.readings).is_ok(), cooling::judge(&log.readings, true).is_ok())
    });
}

#[divan::bench]
fn freezing_one_pack(b: Bencher) {
    let f = Freezing::pork(
        Shape::Slab { thickness: Length::cm(3.0) },
        Temperature::celsius(5.0),
        Temperature::celsius(-20.0),
        10.0,
    );
    b.bench(|| pham(black_box(&f)));
}
