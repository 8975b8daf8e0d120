//! Against scipy and CoolProp: `tests/reference/reference.json`, made by `tests/reference/make.py`, which names its command
//! and versions and shares no code with this program. `tests/reference/check.sh` makes it again where Python is present.

use crate::near;
use serde_json::Value;
use turnday::science::bath::{Limited, Stirred};
use turnday::science::lethality::equivalent_minutes;
use turnday::science::modes::{Coordinate, Modes, Surface};
use turnday::science::numeric::{erfcx, j0_zeros, j1_zeros};
use turnday::science::readings::Reading;
use turnday::science::shape::{Held, Shape};
use turnday::science::strength;
use turnday::units::*;

fn reference() -> Value {
    serde_json::from_str(include_str!("../reference/reference.json")).unwrap()
}

fn rows<'a>(v: &'a Value, key: &str) -> &'a Vec<Value> {
    let list = v[key].as_array().unwrap();
    assert!(!list.is_empty(), "{key}");
    list
}

fn f(v: &Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or_else(|| panic!("{key} in {v}"))
}

fn kind(v: &Value) -> Coordinate {
    match v["kind"].as_str().unwrap() {
        "slab" => Coordinate::Slab,
        "cylinder" => Coordinate::Cylinder,
        "sphere" => Coordinate::Sphere,
        other => panic!("{other}"),
    }
}

#[test]
fn names_its_command_and_versions() {
    let r = reference();
    assert!(r["command"].as_str().unwrap().contains("make.py"));
    for library in ["python", "scipy", "numpy", "CoolProp"] {
        assert!(r["versions"][library].is_string(), "{library}");
    }
}

#[test]
fn bessel_zeros_and_the_scaled_error_function() {
    let r = reference();
    for (i, n) in [0usize, 1, 9, 49, 199].into_iter().enumerate() {
        near("J0", j0_zeros()[n], r["j0_zeros"][i].as_f64().unwrap(), 1e-10);
        near("J1", j1_zeros()[n], r["j1_zeros"][i].as_f64().unwrap(), 1e-10);
    }
    for row in rows(&r, "erfcx") {
        near("erfcx", erfcx(f(row, "x")), f(row, "y"), 1e-9 * f(row, "y"));
    }
}

#[test]
fn held_surfaces() {
    for row in rows(&reference(), "held") {
        let m = Modes::new(kind(row), Surface::Held, 1e-4);
        near(&format!("centre {row}"), m.left_at(0.0, f(row, "fo")), f(row, "centre"), 1e-9);
        near(&format!("mean {row}"), m.left(f(row, "fo")), f(row, "mean"), 1e-5);
    }
}

#[test]
fn films() {
    for row in rows(&reference(), "film") {
        let m = Modes::new(kind(row), Surface::Film(f(row, "bi")), 1e-3);
        near(&format!("centre {row}"), m.left_at(0.0, f(row, "fo")), f(row, "centre"), 1e-9);
        near(&format!("mean {row}"), m.left(f(row, "fo")), f(row, "mean"), 1e-9);
    }
    for row in rows(&reference(), "film_roots") {
        let m = Modes::new(kind(row), Surface::Film(f(row, "bi")), 1e-3);
        for (got, want) in m.roots().zip(row["roots"].as_array().unwrap()) {
            near(&format!("root {row}"), got, want.as_f64().unwrap(), 1e-9);
        }
    }
}

// Method of lines in scipy, good to about 1e-4 itself.
#[test]
fn limited_baths() {
    for row in rows(&reference(), "limited") {
        let (alpha, fo) = (f(row, "alpha"), f(row, "fo"));
        near(&format!("exact {row}"), Limited::new(kind(row), alpha).uptake(fo), f(row, "uptake"), 3e-4);
    }
}

// Method of lines in two dimensions, good to about 1e-3 itself: the superposition that a joint is reckoned with.
#[test]
fn a_joint_in_a_limited_bath() {
    for case in rows(&reference(), "finite_cylinder") {
        let shape = Shape::FiniteCylinder { diameter: Length::cm(12.0), length: Length::cm(12.0 * f(case, "ratio")) };
        let d = 1.9e-10;
        let days = |fo: f64| fo * 0.06f64.powi(2) / d / 86_400.0;
        let s = Stirred::new(Held::new(shape, d).unwrap(), f(case, "alpha"), Elapsed::days(days(0.4)));
        for row in rows(case, "rows") {
            let t = Elapsed::days(days(f(row, "fo")));
            near(&format!("uptake {row}"), s.uptake(t), f(row, "uptake"), 2e-3);
            near(&format!("core {row}"), s.core(t), f(row, "core"), 4e-3);
        }
    }
}

#[test]
fn lethality_by_quadrature() {
    let r = &reference()["lethality"];
    let log: Vec<Reading> = rows(r, "temperatures")
        .iter()
        .enumerate()
        .map(|(i, t)| Reading {
            at: Elapsed::minutes(f(r, "every") * i as f64),
            temperature: Temperature::celsius(t.as_f64().unwrap()),
        })
        .collect();
    let got = equivalent_minutes(&log, Temperature::celsius(f(r, "reference")), f(r, "z"), None).unwrap();
    near("minutes", got.as_minutes(), f(r, "minutes"), 1e-9);
}

#[test]
fn brine_by_coolprop() {
    let r = reference();
    for row in rows(&r, "brine_density") {
        let got = strength::density(f(row, "percent"), Temperature::celsius(f(row, "t"))).unwrap();
        near(&format!("{row}"), got, f(row, "density"), 1.0);
    }
    for row in rows(&r, "water_density") {
        near(&format!("{row}"), strength::water_density(Temperature::celsius(f(row, "t"))), f(row, "density"), 0.06);
    }
}
