//! Fick's law. Series: Crank, The Mathematics of Diffusion, 2nd ed. 1975; the numbers are own arithmetic on the published
//! formulas unless a line says otherwise.

use crate::near;
use proptest::prelude::*;
use turnday::science::bath::{Limited, Stirred, limited_roots};
use turnday::science::modes::{Coordinate, Modes, Surface};
use turnday::science::salt::{self, Story, Tub};
use turnday::science::shape::{Held, Shape};
use turnday::science::size::Size;
use turnday::units::*;

const ALL: [Coordinate; 3] = [Coordinate::Slab, Coordinate::Cylinder, Coordinate::Sphere];
const FO: [f64; 9] = [0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0, 2.0];

fn held(c: Coordinate) -> Modes {
    Modes::new(c, Surface::Held, 1e-4)
}

// D01, D03: eq. 4.18 and 6.20 as documented by the polykin library's own examples (published, read in a stored copy).
#[test]
fn polykin_examples() {
    let fo = 1e-10 * 100.0 / 0.0002f64.powi(2);
    near("slab", 1.0 - held(Coordinate::Slab).left(fo), 0.562_233_541_762_138, 1e-9);
    near("sphere", 1.0 - held(Coordinate::Sphere).left(0.25), 0.948_436_897_865_828_4, 1e-9);
}

// D05, D06, D07: eq. 4.18, 5.23, 6.20.
#[test]
fn uptake() {
    let want = [
        [
            0.1128379167,
            0.1595769122,
            0.2523132522,
            0.3568234005,
            0.5040878202,
            0.6132360706,
            0.7639503307,
            0.9312596785,
            0.9941704789,
        ],
        [
            0.2154739382,
            0.2985639088,
            0.452120998,
            0.605824194,
            0.7821475525,
            0.8779715301,
            0.9616212949,
            0.9978704537,
            0.9999934434,
        ],
        [
            0.3085137501,
            0.4187307365,
            0.6069397567,
            0.770478738,
            0.9154955661,
            0.9685245351,
            0.9956278588,
            0.9999685561,
            0.9999999984,
        ],
    ];
    for (c, row) in ALL.into_iter().zip(want) {
        for (fo, w) in FO.into_iter().zip(row) {
            near(&format!("{c:?} at Fo {fo}"), 1.0 - held(c).left(fo), w, 1e-7);
        }
    }
}

// D08, D09: eq. 4.17 and 5.22, at the centre.
#[test]
fn centre() {
    for (fo, w) in
        [(0.05, 0.0031308045), (0.1, 0.0506946373), (0.2, 0.2276883931), (0.5, 0.6292225702), (1.0, 0.8920229556)]
    {
        near(&format!("slab at {fo}"), 1.0 - held(Coordinate::Slab).left_at(0.0, fo), w, 1e-8);
    }
    for (fo, w) in [(0.1, 0.1516448867), (0.2, 0.4985131394), (0.5, 0.9111102839), (1.0, 0.9950676953)] {
        near(&format!("cylinder at {fo}"), 1.0 - held(Coordinate::Cylinder).left_at(0.0, fo), w, 1e-7);
    }
}

// D10: Fo at half uptake. For the slab on its full thickness that is 0.04918; Crank prints 0.049.
#[test]
fn half_time() {
    for (c, w) in ALL.into_iter().zip([0.196730739524, 0.063058194192, 0.030546524498]) {
        let m = held(c);
        assert!(m.left(w - 1e-9) > 0.5 && m.left(w + 1e-9) < 0.5, "{c:?}: half uptake is not at Fo {w} ± 1e-9");
    }
}

// D11, D13: Crank's tables 4.1 and 6.1, roots for a limited bath, α = 1.
#[test]
fn limited_bath_roots() {
    for (q, w) in
        limited_roots(Coordinate::Slab, 1.0, 6).into_iter().zip([2.0288, 4.9132, 7.9787, 11.0855, 14.2074, 17.3364])
    {
        near("slab", q, w, 5e-5);
    }
    for (q, w) in limited_roots(Coordinate::Sphere, 1.0, 3).into_iter().zip([3.7264, 6.6814, 9.7156]) {
        near("sphere", q, w, 5e-5);
    }
}

// D14, D16: eq. 4.37 and 6.30, α = 1.
#[test]
fn limited_bath_uptake() {
    let slab = Limited::new(Coordinate::Slab, 1.0);
    let ball = Limited::new(Coordinate::Sphere, 1.0);
    for (fo, a, b) in [
        (0.05, 0.41924647, 0.7905187),
        (0.1, 0.55284072, 0.90391653),
        (0.2, 0.71162848, 0.97656121),
        (0.5, 0.91646666, 0.99963668),
    ] {
        near(&format!("slab {fo}"), slab.uptake(fo), a, 2e-7);
        near(&format!("sphere {fo}"), ball.uptake(fo), b, 2e-7);
    }
}

// D20: D08 with D18's 1.9e-10 m²/s: an endless slab of 10 cm, 80 % at the centre.
#[test]
fn a_slab_takes_months() {
    let slab = Held::new(Shape::Slab { thickness: Length::cm(10.0) }, 1.9e-10).unwrap();
    near("core", 1.0 - slab.core(Elapsed::days(114.246)), 0.8, 2e-4);
}

// D22: product solution, R 7 cm, H 30 cm, 30 days.
#[test]
fn finite_cylinder() {
    let shape = Shape::FiniteCylinder { diameter: Length::cm(14.0), length: Length::cm(30.0) };
    let body = Held::new(shape, 1.9e-10).unwrap();
    near("uptake", 1.0 - body.mean(Elapsed::days(30.0)), 0.6726525, 1e-5);
    near("centre", 1.0 - body.core(Elapsed::days(30.0)), 0.1535175, 1e-5);
}

// D18: 1.90 ± 0.28 e-10 m²/s at 5 °C (published, read in a stored copy).
#[test]
fn diffusivity_at_its_anchor() {
    let d = salt::diffusivity(Temperature::celsius(5.0)).unwrap();
    near("middle", d.middle, 1.9e-10, 1e-15);
    near("high", d.high, 2.18e-10, 1e-15);
    assert!(salt::diffusivity(Temperature::celsius(20.0)).is_err());
    let cold = salt::diffusivity(Temperature::celsius(1.0)).unwrap();
    assert!(cold.middle < d.middle && (cold.high - cold.low) / cold.middle > (d.high - d.low) / d.middle);
}

// D24: water-phase partition: 10 kg of meat with 72 % water in 10 kg of 15 % brine.
#[test]
fn salt_in_the_end() {
    let tub = Tub {
        shape: Size::reckon(Mass::kg(2.0)).into(),
        meat: Mass::kg(10.0),
        water: Mass::kg(8.5),
        salt: Mass::kg(1.5),
        temperature: Temperature::celsius(5.0),
    };
    near("final", tub.final_percent(), 6.436, 0.005);
}

// D19: J. Food Eng. 149 (2015) 188–194: nitrite in pork 1.02 and 4.58 e-12 m²/s at 2 and 12 °C, activation energy 60.32
// kJ/mol (published, read in a stored copy). A conflict, shown: those two figures at those two temperatures would need
// 98 kJ/mol, so the abstract's range may not belong to its end temperatures. Only the order of size is used.
#[test]
fn nitrite_is_slow() {
    let [(t1, d1), (t2, d2)] = salt::NITRITE;
    let energy = 8.314_46 * (d2 / d1).ln() / (1.0 / (t1 + 273.15) - 1.0 / (t2 + 273.15));
    near("J/mol that the two figures need", energy, 97_975.0, 500.0);
    assert!(energy > 1.5 * 60_320.0, "the conflict is gone: use the energy");
    let at = |t| salt::diffusivity(Temperature::celsius(t)).unwrap().middle;
    for ratio in [at(t1) / d1, at(t2) / d2] {
        assert!((40.0..200.0).contains(&ratio), "{ratio}");
    }
}

/// A 2.6 kg joint in the worked tub.
fn worked() -> Tub {
    Tub {
        shape: Size::reckon(Mass::kg(2.6)).into(),
        meat: Mass::kg(4.7),
        water: Mass::kg(5.6),
        salt: Mass::kg(0.2575),
        temperature: Temperature::celsius(5.0),
    }
}

// Common practice, no source: at six days a kilogram real salt lands around 70 to 90 % of target. Diffusion with the
// measured figure says less than that; the two are shown side by side, and this test holds the gap where it is.
#[test]
fn six_days_a_kilo_against_diffusion() {
    let story = Story::new(worked(), Elapsed::days(200.0)).unwrap();
    let reached = story.at(Elapsed::days(15.6));
    let u = reached.uptake;
    assert!(u.low < u.middle && u.middle < u.high);
    assert!((0.5..0.9).contains(&u.middle), "{u:?}");
    assert!(reached.core.middle < 0.2, "{:?}", reached.core);
    let target = reached.mean_percent.middle / 2.5;
    assert!((0.4..0.9).contains(&target), "{target}");
    let [soonest, middle, _] = story.uptake_reaches(0.8);
    assert!(soonest < middle);
    // A stay that is short for the salt is said to be, by whoever shows it.
    assert!(salt::rule_against(u.middle).is_some_and(|n| n.says().contains("short")));
}

#[test]
fn superposition_agrees_with_the_exact_bath() {
    for (c, shape) in ALL.into_iter().zip([
        Shape::Slab { thickness: Length::cm(10.0) },
        Shape::Cylinder { diameter: Length::cm(10.0) },
        Shape::Sphere { diameter: Length::cm(10.0) },
    ]) {
        for alpha in [0.5, 1.0, 3.0, 20.0] {
            let exact = Limited::new(c, alpha);
            let stirred = Stirred::new(Held::new(shape, 2e-10).unwrap(), alpha, Elapsed::days(80.0));
            for days in [1.0, 3.0, 10.0, 30.0, 80.0] {
                let fo = 2e-10 * days * 86_400.0 / 0.05f64.powi(2);
                near(
                    &format!("{c:?} α {alpha} day {days}"),
                    stirred.uptake(Elapsed::days(days)),
                    exact.uptake(fo),
                    2e-3,
                );
                if let Some(core) = exact.at(0.0, fo) {
                    near(&format!("core {c:?} α {alpha} day {days}"), stirred.core(Elapsed::days(days)), core, 4e-3);
                }
            }
        }
    }
}

#[test]
fn short_times_join_up() {
    for c in ALL {
        let fine = Modes::new(c, Surface::Held, 1e-4);
        let coarse = Modes::new(c, Surface::Held, 0.05);
        for fo in [1e-4, 3e-4, 1e-3, 3e-3] {
            near(&format!("mean {c:?} {fo}"), coarse.left(fo), fine.left(fo), 1e-4);
            near(&format!("near the surface {c:?} {fo}"), coarse.left_at(0.95, fo), fine.left_at(0.95, fo), 3e-3);
        }
        near("at once", Limited::new(c, 1.0).uptake(1e-12), 0.0, 1e-5);
    }
}

fn coordinate() -> impl Strategy<Value = Coordinate> {
    prop::sample::select(ALL.to_vec())
}

proptest! {
    #[test]
    fn monotone_and_bounded(c in coordinate(), fo in 1e-7..3.0f64, more in 1.0..3.0f64, xi in 0.0..1.0f64) {
        let m = held(c);
        let (a, b) = (m.left(fo), m.left(fo * more));
        prop_assert!((0.0..=1.0).contains(&a) && b <= a + 1e-9);
        let (p, q) = (m.left_at(xi, fo), m.left_at(xi, fo * more));
        prop_assert!((0.0..=1.0).contains(&p) && q <= p + 1e-6);
        prop_assert!(m.left_at(xi, fo) <= m.left_at(0.0, fo) + 1e-9, "the core is last");
    }

    // A bath without end is a held surface.
    #[test]
    fn a_large_bath_holds_the_surface(c in coordinate(), fo in 1e-3..2.0f64) {
        let limited = Limited::new(c, 1e6).uptake(fo);
        prop_assert!((limited - (1.0 - held(c).left(fo))).abs() < 1e-5);
    }

    // A film without resistance is a held surface; a thick film empties the body as one lump, exp(−k·Bi·Fo).
    #[test]
    fn biot_limits(c in coordinate(), fo in 0.02..1.5f64) {
        let large = Modes::new(c, Surface::Film(1e7), 1e-3);
        prop_assert!((large.left(fo) - held(c).left(fo)).abs() < 1e-5);
        prop_assert!((large.left_at(0.0, fo) - held(c).left_at(0.0, fo)).abs() < 1e-5);
        let bi = 1e-5;
        let small = Modes::new(c, Surface::Film(bi), 1e-3);
        prop_assert!((small.left(fo) - (-c.surface() * bi * fo).exp()).abs() < 1e-7);
    }

    // What the meat took is what the brine lost: the mean of the profile, integrated, against the brine's balance.
    #[test]
    fn salt_is_conserved(alpha in 0.4..4.0f64, days in 2.0..60.0f64, cm in 6.0..18.0f64) {
        let shape = Shape::Cylinder { diameter: Length::cm(cm) };
        let s = Stirred::new(Held::new(shape, 1.9e-10).unwrap(), alpha, Elapsed::days(60.0));
        let t = Elapsed::days(days);
        let n = 60;
        let mean: f64 = (0..n).map(|i| {
            let xi = (f64::from(i) + 0.5) / f64::from(n);
            2.0 * xi * s.at(xi, t) / f64::from(n)
        }).sum();
        prop_assert!((mean - s.uptake(t)).abs() < 0.01, "{} {}", mean, s.uptake(t));
        // brine + meat is what was put in.
        prop_assert!((alpha * s.brine(t) + alpha / (1.0 + alpha) * s.uptake(t) - alpha).abs() < 1e-9);
    }

    #[test]
    fn a_joint_takes_salt_monotonely(kg in 0.5..6.0f64, days in 1.0..40.0f64, ratio in 0.5..3.0f64) {
        let tub = Tub { shape: Size::reckon(Mass::kg(kg)).into(), meat: Mass::kg(kg), water: Mass::kg(kg * ratio),
            salt: Mass::kg(0.03 * kg * (1.0 + ratio)), temperature: Temperature::celsius(4.0) };
        let s = Story::new(tub, Elapsed::days(80.0)).unwrap();
        let (a, b) = (s.at(Elapsed::days(days)), s.at(Elapsed::days(days * 1.5)));
        prop_assert!(a.uptake.middle < b.uptake.middle && a.core.middle <= b.core.middle + 1e-6);
        prop_assert!(a.uptake.middle > a.core.middle && a.brine_percent > b.brine_percent);
        prop_assert!(a.mean_percent.middle < tub.final_percent() + 1e-9);
    }

    #[test]
    fn any_input_is_answered_or_refused(kg in prop::num::f64::ANY, w in prop::num::f64::ANY, s in prop::num::f64::ANY, t in prop::num::f64::ANY, d in prop::num::f64::ANY) {
        let tub = Tub { shape: Size::reckon(Mass::kg(kg)).into(), meat: Mass::kg(kg), water: Mass::kg(w), salt: Mass::kg(s), temperature: Temperature::celsius(t) };
        let _ = Story::new(tub, Elapsed::days(d));
    }
}
