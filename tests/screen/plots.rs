//! The plot of the detail pane: whose it is, what it says, and that its curves are sums that hang together.

use turnday::app::{Chart, Inks, Picture, State, figures, picture};
use turnday::kitchen::Kitchen;
use turnday::plan::{Kind, Plan};
use turnday::units::Length;

use crate::{fixture, frames};

fn opened(kitchen: Kitchen, plan: impl Fn(&Kitchen) -> Plan, cols: u16, rows: u16) -> State {
    let plan = plan(&kitchen);
    frames::state(&std::sync::Arc::new(kitchen), Some(plan), cols, rows, "2026-12-07 18:20")
}

fn pair() -> Kitchen {
    (*fixture::pair_kitchen()).clone()
}

/// The first task of a kind in hand, on the first line that has it.
fn hold(state: &mut State, kind: Kind) {
    let chart = state.chart.clone().expect("a plan");
    let task = chart.tasks.iter().position(|t| t.kind == kind).expect("such a task");
    let row = chart.row_of(task).expect("a line");
    state.selected = Some(turnday::app::Selection { row, task: Some(task) });
}

fn shown(state: &State) -> (Option<Picture>, String) {
    let chart: &Chart = state.chart.as_deref().expect("a plan");
    (picture(state, chart), figures(state, chart).map_or(String::new(), |f| f.text))
}

#[test]
fn salt_before_the_cook_day_and_heat_on_it() {
    let mut state = opened(pair(), fixture::pair_plan, 120, 40);
    for (kind, title) in [
        (Kind::Submerge, "Salt by sum: shank, least of 2"),
        (Kind::Turn, "Salt by sum: shank, least of 2"),
        (Kind::Rest, "Salt by sum: fillet"),
        (Kind::Simmer, "Core reckoned: shank"),
        (Kind::Bake, "Core reckoned: shank"),
        (Kind::Chill, "Core reckoned: shank"),
    ] {
        hold(&mut state, kind);
        let (plot, words) = shown(&state);
        assert_eq!(plot.expect("a plot").title, title, "{kind:?}");
        assert!(words.starts_with(if title.starts_with("Salt") { "salt" } else { "sum, probe it" }), "{words}");
    }
    hold(&mut state, Kind::BrineMake);
    assert_eq!(shown(&state), (None, String::new()), "nothing is in that brine yet");
}

/// Of one tub the thickest joint lags, as thickness alone sets the pace (Crank, The Mathematics of Diffusion, 2nd ed. 1975:
/// time goes with the square of the size).
#[test]
fn the_salt_curve_rises_and_keeps_inside_its_band() {
    let state = opened(pair(), fixture::pair_plan, 120, 40);
    let chart = state.chart.as_deref().unwrap();
    let curve = |j| chart.salt_curve(&state.kitchen, j).expect("a sum");
    for j in 0..2 {
        let c = curve(j);
        assert_eq!((c[0].0, c[c.len() - 1].0), (chart.stories[j].put_in, chart.stories[j].lift));
        for p in c.windows(2) {
            assert!(
                p[0].1.uptake.middle <= p[1].1.uptake.middle + 1e-9 && p[0].1.core.middle <= p[1].1.core.middle + 1e-9
            );
        }
        for (_, r) in c {
            for b in [r.uptake, r.core] {
                assert!(
                    -1e-9 <= b.low && b.low <= b.middle + 1e-9 && b.middle <= b.high + 1e-9 && b.high <= 1.0 + 1e-9,
                    "{b:?}"
                );
            }
            assert!(r.core.middle <= r.uptake.middle + 1e-9);
        }
    }
    let [shank, fillet] =
        [0, 1].map(|j| chart.salt(&state.kitchen, j).unwrap().at(chart.stories[1].lift).uptake.middle);
    assert!(shank < fillet, "{shank} {fillet}");
}

#[test]
fn the_heat_curve_starts_cold_and_has_no_gap_where_stages_meet() {
    let state = opened(pair(), fixture::pair_plan, 120, 40);
    let chart = state.chart.as_deref().unwrap();
    let heat = chart.heat(&state.kitchen, 0).expect("a sum");
    assert!((heat.curve[0].1 - 5.0).abs() < 1e-6);
    // A core of 13 cm cannot change faster than this; a restart at a stage would.
    for p in heat.curve.windows(2) {
        let minutes = (p[1].0 - p[0].0) as f64;
        assert!((p[1].1 - p[0].1).abs() < 1.0 * minutes && (p[1].2 - p[0].2).abs() < 1.0 * minutes, "{p:?}");
    }
    // The largest value is the oven's to give, and it comes after the oven: heat under way still comes in.
    let top = heat.curve.iter().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    assert!(top.1 > 75.0 && top.1 < 100.0 && top.0 > heat.bake.unwrap(), "{top:?}");
    let (hot, cold, slow) = (heat.hot.unwrap(), heat.cold.unwrap(), heat.cold_slow.unwrap());
    assert!(heat.pot_up < hot && hot < heat.chill && heat.chill < cold && cold < slow);
}

/// A sum that is refused says why in its line, and there is no plot of it.
#[test]
fn what_cannot_be_reckoned_says_why() {
    let mut k = pair();
    k.kit.cold[0].temperature = None;
    k.joints[0].diameter = Some(Length::cm(45.0));
    let mut state = opened(k, fixture::one_plan, 120, 40);
    hold(&mut state, Kind::Turn);
    assert_eq!(shown(&state), (None, "salt not reckoned: nobody says how cold fridge is".into()));
    hold(&mut state, Kind::Simmer);
    let (plot, words) = shown(&state);
    assert!(plot.is_none() && words.starts_with("heat not reckoned: diameter is 45 cm, outside"), "{words}");
    assert!(frames::text(&frames::draw(&state, Inks::Mono).0).contains("heat not reckoned"));
}

/// The two curves can be told apart without colour, and both are named.
#[test]
fn curves_differ_by_grain_and_name() {
    let mut state = opened(pair(), fixture::one_plan, 120, 40);
    hold(&mut state, Kind::Rinse);
    let text = frames::text(&frames::draw(&state, Inks::Mono).0);
    for word in ["taken up", "core", "put in", "lift", "rule's day", "now", "100 %", "day 0", "not a measurement"] {
        assert!(text.contains(word), "{word} is not in\n{text}");
    }
    let (plot, _) = shown(&state);
    let curves = plot.unwrap().curves;
    assert_ne!(curves[0].grain, curves[1].grain);
}

#[test]
fn a_small_screen_has_the_figures_in_a_line() {
    let mut state = opened(pair(), fixture::one_plan, 60, 16);
    hold(&mut state, Kind::Turn);
    let text = frames::text(&frames::draw(&state, Inks::Dark).0);
    assert!(text.contains("salt: ") && text.contains("core ") && !text.contains("Salt by sum"), "{text}");
}
