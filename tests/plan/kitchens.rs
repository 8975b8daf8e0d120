//! Random kitchens for property tests: 1 to 8 joints, kit of any size, people with hours, away spells, due dates, with and
//! without nitrite; most can be planned, some cannot.

use proptest::prelude::*;
use proptest::sample::select;
use serde_json::{Value, json};
use turnday::kitchen::Kitchen;

/// Starts of all random kitchens; a Tuesday.
pub const STARTS: &str = "2026-12-01 08:00";

fn moment(day: i64, hour: i64) -> String {
    let first = chrono::NaiveDate::from_ymd_opt(2026, 12, 1).unwrap();
    format!("{} {hour:02}:00", first + chrono::TimeDelta::days(day))
}

fn put(v: &mut Value, key: &str, value: impl Into<Value>) {
    v.as_object_mut().unwrap().insert(key.to_owned(), value.into());
}

/// `Some` in so many of a hundred.
fn some<T: Clone + std::fmt::Debug>(percent: u32, of: impl Strategy<Value = T>) -> impl Strategy<Value = Option<T>> {
    (0u32..100, of).prop_map(move |(dice, x)| (dice < percent).then_some(x))
}

fn joint() -> impl Strategy<Value = Value> {
    let outcome = select(vec!["ham-sliced", "ham-whole", "gammon-steaks", "gammon-joint"]);
    let arrives = some(40, (0i64..4, 8i64..20));
    let due = some(60, (18i64..60, 9i64..21));
    let size = some(20, (11u32..19, 10u32..18));
    (outcome, 8u32..42, 0u32..100, arrives, due, size, some(15, any::<bool>())).prop_map(
        |(outcome, hectograms, bone, arrives, due, size, freeze)| {
            let mut j = json!({ "name": "", "weight": f64::from(hectograms) / 10.0, "outcome": outcome });
            put(&mut j, "bone_in", bone < 20);
            if let Some((d, h)) = arrives {
                put(&mut j, "arrives", moment(d, h));
            }
            if let Some((d, h)) = due {
                put(&mut j, "ready_by", moment(d, h));
            }
            if let Some((diameter, tenths)) = size {
                put(&mut j, "diameter", diameter);
                put(&mut j, "length", f64::from(diameter * tenths) / 10.0);
            }
            if let Some(f) = freeze {
                put(&mut j, "freeze", f);
            }
            j
        },
    )
}

fn tub() -> impl Strategy<Value = Value> {
    let shape = prop_oneof![
        (28u32..46, 20u32..34, 21u32..32)
            .prop_map(|(l, w, h)| json!({ "box": { "length": l, "width": w, "height": h } })),
        (26u32..36, 26u32..40).prop_map(|(d, h)| json!({ "round": { "diameter": d, "height": h } })),
    ];
    (shape, some(20, 1u32..4)).prop_map(|(inner, filler)| {
        let mut t = json!({ "name": "", "inner": inner });
        if let Some(f) = filler {
            put(&mut t, "filler", f);
        }
        t
    })
}

fn cold() -> impl Strategy<Value = Value> {
    (50u32..110, 40u32..60, 28u32..48, 0u32..100).prop_map(|(w, d, h, dice)| {
        let mut c = json!({ "name": "", "width": w, "depth": d, "height": h });
        // Now and then nobody has put a thermometer in, or it is too warm: never read as cold enough.
        match dice {
            0..=3 => {}
            4..=6 => put(&mut c, "temperature", 7),
            _ => put(&mut c, "temperature", 4),
        }
        c
    })
}

fn person() -> impl Strategy<Value = Value> {
    let busy = select(vec![
        json!([]),
        json!([{ "days": "Mon-Fri", "from": "08:00", "to": "17:00" }]),
        json!([{ "days": "Mon-Fri", "from": "08:15", "to": "09:00" }, { "days": "Mon-Fri", "from": "15:00", "to": "15:45" }]),
        json!([{ "days": "Wed", "from": "05:30", "to": "15:00" }]),
        json!([{ "days": "every day", "from": "21:00", "to": "07:00" }]),
        json!([{ "days": "every day", "from": "09:00", "to": "19:00" }]),
    ]);
    let away = prop::collection::vec((2i64..40, 6i64..20, 12i64..90), 0..3);
    let works = some(15, select(vec![("Mon-Fri", "07:00", "16:00"), ("Tue,Thu,Sat", "08:00", "14:00")]));
    (busy, away, works, any::<bool>()).prop_map(|(busy, away, works, lives)| {
        let mut p = json!({ "name": "", "busy": busy });
        let away: Vec<Value> = away
            .into_iter()
            .map(|(day, hour, hours)| {
                let to = hour + hours;
                json!({ "from": moment(day, hour), "to": moment(day + to / 24, to % 24) })
            })
            .collect();
        put(&mut p, "away", away);
        if let Some((days, from, to)) = works {
            put(&mut p, "works", json!([{ "days": days, "from": from, "to": to }]));
            put(&mut p, "lives_here", lives);
        }
        p
    })
}

fn cure() -> impl Strategy<Value = Value> {
    let salt = select(vec![Some(120), Some(120), Some(150), Some(80), None]);
    (salt, 0u32..100, 4u32..8, 4u32..9, any::<bool>()).prop_map(|(nitrite, excess, days, halves, ice)| {
        let strong = excess < 25;
        let mut c = json!({
            "basis": if strong { "excess" } else { "equilibrium" },
            "salt_percent": if strong { 18.0 } else { 2.5 },
            "days_per_kg": if strong { 3 } else { days },
            "turn_every_days": f64::from(halves) / 2.0,
            "brine_cooling": if ice { "ice" } else { "overnight" },
        });
        if let Some(target) = nitrite {
            put(&mut c, "curing_salt", json!({ "nitrite_percent": 6.25, "target_mg_per_kg": target }));
        }
        c
    })
}

fn kit(tubs: usize) -> impl Strategy<Value = Value> {
    let pots = prop::collection::vec((26u32..38, 24u32..34), 1..3);
    let chilling = prop::collection::vec(
        (select(vec!["iced-water", "iced-water", "iced-water", "blast", "cold-room", "fridge"]), 1u32..4),
        1..3,
    );
    let raw = prop::collection::vec(cold(), 2..5);
    (
        prop::collection::vec(tub(), tubs / 2..=tubs),
        raw,
        (prop::bool::weighted(0.9), any::<bool>()),
        (pots, 1u32..4, 1u32..3, 21u32..27),
        chilling,
        (some(96, 3u32..15), some(20, 4u32..40), any::<bool>()),
    )
        .prop_map(|(tubs, raw, (cooked, one_door), (pots, rings, hams, oven), chilling, (per_day, free, chamber))| {
            let named = |mut v: Value, what: &str, i: usize| {
                put(&mut v, "name", format!("{what} {}", i + 1));
                v
            };
            let mut cold: Vec<Value> = raw.into_iter().enumerate().map(|(i, v)| named(v, "shelf", i)).collect();
            if cooked {
                let mut top = json!({ "name": "top", "width": 60, "depth": 45, "height": 25, "temperature": 4, "side": "cooked" });
                if one_door {
                    put(&mut top, "fridge", "fridge");
                    cold.iter_mut().for_each(|c| put(c, "fridge", "fridge"));
                }
                cold.push(top);
            }
            let space = cold.last().unwrap()["name"].clone();
            let chilling: Vec<Value> = chilling
                .into_iter()
                .enumerate()
                .map(|(i, (means, hams))| {
                    let mut c = json!({ "name": format!("chill {}", i + 1), "means": means, "hams": hams });
                    if means == "fridge" || means == "cold-room" {
                        put(&mut c, "space", space.clone());
                    }
                    c
                })
                .collect();
            let mut kit = json!({
                "tubs": tubs.into_iter().enumerate().map(|(i, v)| named(v, "tub", i)).collect::<Vec<_>>(),
                "cold": cold,
                "pots": pots.into_iter().enumerate()
                    .map(|(i, (d, h))| json!({ "name": format!("pot {}", i + 1), "diameter": d, "height": h }))
                    .collect::<Vec<_>>(),
                "hob": { "rings": rings + 1, "big_rings": rings.min(2) },
                "oven": { "hams": hams, "height": oven },
                "chilling": chilling,
                "packer": if chamber { json!({ "packs_per_hour": 80.0, "rest_after": null }) } else { json!({}) },
            });
            if let Some(kg) = per_day {
                let mut freezer = json!({ "per_day": kg });
                if let Some(free) = free {
                    put(&mut freezer, "free", free);
                }
                put(&mut kit, "freezer", freezer);
            }
            kit
        })
}

/// A kitchen with up to so many joints and tubs.
pub fn kitchen(joints: usize, tubs: usize) -> impl Strategy<Value = Kitchen> {
    let people = prop::collection::vec(person(), 1..4);
    let batch = (0u32..72, some(20, (4i64..30, 0i64..4)), some(15, select(vec!["together", "apart"])));
    (prop::collection::vec(joint(), 1..=joints), kit(tubs), people, cure(), batch).prop_map(
        |(mut joints, kit, mut people, cure, (spare, alone, group))| {
            joints.iter_mut().enumerate().for_each(|(i, j)| put(j, "name", format!("joint {}", i + 1)));
            people.iter_mut().enumerate().for_each(|(i, p)| put(p, "name", format!("person {}", i + 1)));
            let mut batch = json!({ "starts": STARTS, "spare_hours": spare });
            if let Some((day, more)) = alone {
                put(&mut batch, "leave_alone", json!([{ "from": moment(day, 0), "to": moment(day + more, 0) }]));
            }
            if let (Some(g), true) = (group, joints.len() >= 2) {
                put(&mut batch, g, json!([["joint 1", "joint 2"]]));
            }
            let all = json!({
                "format": 1, "name": "a random kitchen", "zone": "Europe/London",
                "joints": joints, "kit": kit, "people": people, "cure": cure, "batch": batch,
            });
            serde_json::from_value(all).expect("a random kitchen is a kitchen")
        },
    )
}
