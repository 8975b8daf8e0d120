use crate::near;
use proptest::prelude::*;
use turnday::science::lethality::*;
use turnday::science::readings::Reading;
use turnday::units::*;

fn log(points: &[(f64, f64)]) -> Vec<Reading> {
    points.iter().map(|&(m, t)| Reading { at: Elapsed::minutes(m), temperature: Temperature::celsius(t) }).collect()
}

fn minutes(points: &[(f64, f64)]) -> f64 {
    equivalent_minutes(&log(points), Temperature::celsius(70.0), 7.5, None).unwrap().as_minutes()
}

// L06: closed form m·z/(ln10·ΔT)·(L₂ − L₁), own arithmetic.
#[test]
fn ramp_hold_ramp() {
    near("minutes", minutes(&[(0.0, 55.0), (40.0, 75.0), (50.0, 75.0), (70.0, 55.0)]), 91.674041, 1e-4);
}

// L07: general method over seven readings, own arithmetic; trapezoid 28.72 and Simpson 29.59 overstate it.
#[test]
fn seven_readings() {
    let t = [50.0, 58.0, 64.0, 68.0, 70.0, 70.0, 66.0];
    let points: Vec<(f64, f64)> = t.iter().enumerate().map(|(i, t)| (10.0 * i as f64, *t)).collect();
    near("exact", minutes(&points), 27.164452, 1e-4);
    assert!(minutes(&points) < 28.722872);
}

// L01: USDA FSIS Appendix A (64 FR 732, 1999). L03: UK FSA advice. L04: ACMSF revision. Published, read in stored copies
// (the UK ones secondary); the 65 and 80 °C rows of the FSA table are from the trade notes.
#[test]
fn published_tables() {
    let table = |id: &str| tables().iter().find(|t| t.id == id).unwrap();
    for (t, a, b) in [
        (54.4, 6720.0, 7260.0),
        (60.0, 720.0, 720.0),
        (62.8, 240.0, 240.0),
        (65.0, 85.0, 91.0),
        (68.3, 22.0, 23.0),
        (70.0, 0.0, 0.0),
    ] {
        assert_eq!(table("us-appendix-a-6.5").seconds(Temperature::celsius(t)), Some(a));
        assert_eq!(table("us-appendix-a-7").seconds(Temperature::celsius(t)), Some(b));
    }
    for (t, s) in [(60.0, 2700.0), (70.0, 120.0), (75.0, 30.0)] {
        assert_eq!(table("uk-fsa").seconds(Temperature::celsius(t)), Some(s));
    }
    for (t, s) in [(60.0, 5580.0), (65.0, 840.0)] {
        assert_eq!(table("uk-acmsf").seconds(Temperature::celsius(t)), Some(s));
    }
    // Between rows the colder row holds; under the first there is no answer.
    assert_eq!(table("uk-fsa").seconds(Temperature::celsius(69.9)), Some(600.0));
    assert_eq!(table("uk-fsa").seconds(Temperature::celsius(59.9)), None);
}

// L05: z between rows of the FSA table, own arithmetic. No one z gives them all.
#[test]
fn z_from_the_fsa_table() {
    let fsa = tables().iter().find(|t| t.id == "uk-fsa").unwrap();
    for ((a, b), want) in
        [((60.0, 70.0), 7.4), ((60.0, 65.0), 7.65), ((65.0, 70.0), 7.15), ((70.0, 75.0), 8.3), ((75.0, 80.0), 7.15)]
    {
        let s = |t| fsa.seconds(Temperature::celsius(t)).unwrap();
        near(&format!("{a} to {b}"), (b - a) / (s(a) / s(b)).log10(), want, 0.01);
    }
}

// L04's note: the stricter table; 2 min at 70 °C with z 6 is 92.8 min at 60 °C and 13.6 at 65 °C (own arithmetic).
#[test]
fn the_house_takes_the_stricter() {
    let held = |t: f64, m: f64| cooked(&log(&[(0.0, t), (m, t)])).unwrap().value.inside;
    assert!(!held(60.0, 92.7) && held(60.0, 92.9));
    assert!(!held(65.0, 13.6) && held(65.0, 13.7));
    assert!(held(70.0, 2.0) && !held(70.0, 1.99));
    assert!(!held(59.9, 10_000.0), "nothing under 60 °C is counted");
    assert!(cooked(&log(&[(0.0, 75.0)])).is_err());
    // L09: McMinn et al.: published times wanting for ham near 54 °C.
    assert!(cooked(&log(&[(0.0, 55.0), (20.0, 55.0)])).unwrap().flags().any(|f| f.contains("60 °C")));
}

// The published rows themselves (L01, L03, L04 above): a steady hold for a row's time is just inside, a second less is not.
#[test]
fn a_hold_of_a_rows_time_is_just_inside() {
    for t in tables() {
        for &(at, seconds) in t.points.iter().filter(|p| p.1 > 0.0) {
            let held = |s: f64| against(t, &log(&[(0.0, at), (s / 60.0, at)]));
            assert!(held(seconds).inside && !held(seconds - 1.0).inside, "{} at {at}", t.id);
            // Between rows the colder row holds, up to the next.
            assert!(!against(t, &log(&[(0.0, at + 0.05), ((seconds - 1.0) / 60.0, at + 0.05)])).inside);
        }
        assert_eq!(against(t, &log(&[(0.0, 50.0), (9000.0, 54.0)])).share, Some(0.0));
    }
    // A ramp from 60 to 70 °C in 20 min by the FSA rows: 10 min of 45 and 10 of 10, own arithmetic.
    let fsa = tables().iter().find(|t| t.id == "uk-fsa").unwrap();
    near("ramp", against(fsa, &log(&[(0.0, 60.0), (20.0, 70.0)])).share.unwrap(), 10.0 / 45.0 + 1.0, 1e-9);
    let fsis = tables().iter().find(|t| t.id == "us-appendix-a-7").unwrap();
    assert!(against(fsis, &log(&[(0.0, 60.0), (1.0, 70.0)])).inside);
}

proptest! {
    // The exact integral is the limit of ever finer trapezoids, never over the trapezoid of its own readings, and a reading
    // put in on the line changes nothing.
    #[test]
    fn exact_integral(t in prop::collection::vec(40.0..95.0f64, 2..12), cut in 0.05..0.95f64, z in 5.0..12.0f64) {
        let points: Vec<(f64, f64)> = t.iter().enumerate().map(|(i, t)| (7.0 * i as f64, *t)).collect();
        let at = |p: &[(f64, f64)]| equivalent_minutes(&log(p), Temperature::celsius(70.0), z, None).unwrap().as_minutes();
        let exact = at(&points);
        let rate = |t: f64| 10f64.powf((t - 70.0) / z);
        let coarse: f64 = points.windows(2).map(|p| 7.0 * 0.5 * (rate(p[0].1) + rate(p[1].1))).sum();
        prop_assert!(exact <= coarse * (1.0 + 1e-12));
        let n = 4000;
        let fine: f64 = points.windows(2).map(|p| (0..n).map(|i| {
            rate(p[0].1 + (p[1].1 - p[0].1) * (f64::from(i) + 0.5) / f64::from(n)) * 7.0 / f64::from(n)
        }).sum::<f64>()).sum();
        prop_assert!((exact - fine).abs() <= 1e-4 * fine);
        let mut more = points.clone();
        let (a, b) = (points[0], points[1]);
        more.insert(1, (a.0 + cut * (b.0 - a.0), a.1 + cut * (b.1 - a.1)));
        prop_assert!((at(&more) - exact).abs() <= 1e-9 * exact.max(1.0));
        // A floor takes away, never adds.
        let floored = equivalent_minutes(&log(&points), Temperature::celsius(70.0), z, Some(Temperature::celsius(60.0))).unwrap();
        prop_assert!(floored.as_minutes() <= exact * (1.0 + 1e-12));
    }
}
