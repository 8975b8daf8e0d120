use turnday::science::cooling::*;
use turnday::science::readings::Reading;
use turnday::units::*;

fn log(points: &[(f64, f64)]) -> Vec<Reading> {
    points.iter().map(|&(m, t)| Reading { at: Elapsed::minutes(m), temperature: Temperature::celsius(t) }).collect()
}

fn by(points: &[(f64, f64)], cured: bool, id: &str) -> Judged {
    judge(&log(points), cured).unwrap().value.into_iter().find(|j| j.standard.id == id).unwrap()
}

// C01, C03: FSIS Appendix B (1999) as Ohio State prints it; C04: FDA Food Code 3-501.14(A); C05: UK advice. Published, read
// in stored copies. C03's second stage is in conflict (40 °F there, 45 °F from memory); the stricter stands.
#[test]
fn the_windows_are_the_published_ones() {
    let s = |id: &str| standards().iter().find(|s| s.id == id).unwrap().windows.clone();
    let f = |deg: f64| (deg - 32.0) / 1.8;
    let one = s("us-appendix-b-1");
    assert_eq!((one[0].hours, one[1].hours), (1.5, 5.0));
    let three = s("us-appendix-b-3");
    assert_eq!((three[0].hours, three[1].hours), (5.0, 10.0));
    for w in [&one, &three] {
        for (got, deg) in [(w[0].upper, 130.0), (w[0].lower, 80.0), (w[1].upper, 80.0), (w[1].lower, 40.0)] {
            assert!((got - f(deg)).abs() < 1e-5);
        }
    }
    let code = s("us-food-code");
    assert_eq!((code[0].lower, code[0].hours, code[1].lower, code[1].hours), (21.0, 2.0, 5.0, 6.0));
    assert_eq!((s("uk-advice")[0].lower, s("uk-advice")[0].hours), (8.0, 1.5));
}

// C07: Food Code, "within": 21.0 °C at exactly 2 h is inside, a second later is not. Own reading of the wording.
#[test]
fn within_means_within() {
    let at = |m: f64| by(&[(0.0, 57.0), (m, 21.0)], true, "us-food-code").windows[0];
    assert!(matches!(at(120.0), Standing::Inside { .. }));
    assert!(matches!(at(120.0 + 1.0 / 60.0), Standing::Outside { .. }));
}

// C04's note: six hours in all, time saved in the first stage may be used in the second.
#[test]
fn time_saved_may_be_used() {
    let j = by(&[(0.0, 57.0), (60.0, 21.0), (359.0, 5.0)], true, "us-food-code");
    assert!(matches!(j.overall, Standing::Inside { .. }), "{j:?}");
    let j = by(&[(0.0, 57.0), (119.0, 21.0), (361.0, 5.0)], true, "us-food-code");
    assert_eq!(j.overall, Standing::Outside { since: j.windows[1].since() });
}

trait Since {
    fn since(&self) -> Elapsed;
}

impl Since for Standing {
    fn since(&self) -> Elapsed {
        match self {
            Standing::Outside { since } => *since,
            other => panic!("not outside: {other:?}"),
        }
    }
}

#[test]
fn the_first_moment_outside_and_what_is_left() {
    let slow = by(&[(0.0, 70.0), (60.0, 63.0), (700.0, 20.0), (900.0, 12.0)], true, "house-cured-limit");
    assert!((slow.windows[0].since().as_minutes() - 750.0).abs() < 0.01);
    let open = by(&[(0.0, 63.0), (300.0, 20.0)], true, "house-cured-limit");
    let Standing::Open { left, until } = open.overall else { panic!("{open:?}") };
    assert!((left.as_hours() - 7.5).abs() < 0.01 && (until.as_hours() - 12.5).abs() < 0.01);
    // Reached, but too late, is outside all the same.
    assert!(matches!(by(&[(0.0, 63.0), (900.0, 4.0)], true, "house-cured-limit").overall, Standing::Outside { .. }));
}

// Appendix B, option 1: 54.4 to 26.7 °C in 1.5 h. Two minutes left of the first window count for more than a second one that
// has not begun.
#[test]
fn the_window_with_least_left_is_the_one_told() {
    let j = by(&[(0.0, 68.0), (60.0, 55.0), (150.0, 30.0)], true, "us-appendix-b-1");
    let Standing::Open { left, .. } = j.overall else { panic!("{j:?}") };
    assert!(left.as_minutes() < 5.0 && j.windows[1] == Standing::NotBegun);
}

#[test]
fn cured_and_uncured_are_kept_apart() {
    let ids = |cured| {
        judge(&log(&[(0.0, 70.0)]), cured).unwrap().value.into_iter().map(|j| j.standard.id).collect::<Vec<_>>()
    };
    assert!(ids(true).iter().all(|i| !i.contains("uncured")) && ids(true).contains(&"us-appendix-b-3".to_owned()));
    assert!(
        !ids(false).contains(&"us-appendix-b-3".to_owned()) && ids(false).contains(&"house-uncured-limit".to_owned())
    );
    let nine = [(0.0, 63.0), (660.0, 5.0)];
    assert!(matches!(by(&nine, true, "house-cured-limit").overall, Standing::Inside { .. }));
    assert!(matches!(by(&nine, false, "house-uncured-limit").overall, Standing::Outside { .. }));
}

#[test]
fn what_is_missing_is_not_read_as_fine() {
    assert!(judge(&[], true).is_err());
    let hot = by(&[(0.0, 80.0)], true, "us-food-code");
    assert_eq!(hot.overall, Standing::NotBegun);
    // From 30 °C on: the first window and the whole six hours began before the log; the second stage did not.
    let cold = by(&[(0.0, 30.0)], true, "us-food-code");
    assert_eq!(cold.windows, [Standing::NotKnown, Standing::NotKnown]);
    let stage = by(&[(0.0, 30.0), (60.0, 25.0)], true, "us-appendix-b-3");
    assert_eq!((stage.windows[0], stage.overall), (Standing::NotKnown, Standing::NotKnown));
    assert!(matches!(stage.windows[1], Standing::Open { .. }));
    assert_eq!(by(&[(0.0, 30.0), (300.0, 4.0)], true, "house-cured-limit").overall, Standing::NotKnown);
    // What the log alone overruns is outside whatever came before it.
    assert!(matches!(by(&[(0.0, 30.0), (800.0, 6.0)], true, "house-cured-limit").overall, Standing::Outside { .. }));
    let late = judge(&log(&[(0.0, 30.0), (60.0, 25.0)]), true).unwrap();
    assert!(late.flags().any(|f| f.contains("begins at 30.0")));
    let hole = judge(&log(&[(0.0, 70.0), (400.0, 4.0)]), true).unwrap();
    assert!(hole.flags().any(|f| f.contains("without a reading")));
}

#[test]
fn a_time_alone_tells_only_the_house_figures() {
    let of = |id: &str, h: f64| by_time(standards().iter().find(|s| s.id == id).unwrap(), Elapsed::hours(h));
    assert_eq!((of("house-cured-limit", 12.5), of("house-cured-limit", 12.6)), (Some(true), Some(false)));
    assert_eq!((of("us-food-code", 1.0), of("uk-advice", 1.0)), (None, None));
}
