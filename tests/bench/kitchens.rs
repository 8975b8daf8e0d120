//! Our engine and OR-Tools CP-SAT side by side on the same neutral kitchen problems from the seeded generator, and how time and
//! memory grow with the number of joints.
//!
//! ```sh
//! cargo bench --bench kitchens -- --seconds 10 --joints 2,4,8,12,24,40,80,120 --rooms loose,tight,impossible --workers 1,2
//! ```
//!
//! `TURNDAY_PYTHON` names a Python that has `ortools` (tests/all.sh makes one); without it only our side is run. `--out FILE`
//! writes the rows as JSON, `--svg FILE` the growth as a picture. Every run is a process of its own, so that the peak of memory
//! is its own; CP-SAT's seconds begin when its model is being built, the interpreter's start and its imports not counted.

#[path = "../schedule/generator.rs"]
mod generator;
#[path = "../schedule/kitchen.rs"]
mod kitchen;

use kitchen::{Room, hurried, kitchen as problem};
use serde_json::{Value, json};
use std::fmt::Write;
use std::process::Command;
use std::time::{Duration, Instant};
use turnday::schedule::*;

const SEED: u64 = 1;

fn room(name: &str) -> Option<Room> {
    Some(match name {
        "loose" => Room::Loose,
        "tight" => Room::Tight,
        "impossible" => Room::Impossible,
        "crowded" => Room::Crowded,
        _ => return None,
    })
}

struct Asked {
    seconds: f64,
    joints: Vec<i32>,
    rooms: Vec<String>,
    workers: Vec<u32>,
    /// Our side alone, on so many kitchens of each size.
    seeds: Option<u64>,
    /// With seeds: lateness alone, or lateness and finish.
    only: Option<String>,
    out: Option<String>,
    svg: Option<String>,
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if let [one, joints, name, seconds] = args.iter().map(String::as_str).collect::<Vec<_>>()[..]
        && one == "--one"
    {
        let (Ok(j), Some(r), Ok(s)) = (joints.parse(), room(name), seconds.parse()) else { return };
        println!("{}", ours(problem(j, r, SEED), r, s));
        return;
    }
    let mut asked = Asked {
        seconds: 2.0,
        joints: vec![2, 4, 12],
        rooms: vec!["loose".into(), "tight".into(), "impossible".into()],
        workers: vec![1],
        seeds: None,
        only: None,
        out: None,
        svg: None,
    };
    let mut rest = args.iter();
    while let Some(flag) = rest.next() {
        let mut value = || rest.next().cloned().unwrap_or_default();
        match flag.as_str() {
            "--seconds" => asked.seconds = value().parse().unwrap_or(2.0),
            "--joints" => asked.joints = value().split(',').filter_map(|x| x.parse().ok()).collect(),
            "--rooms" => asked.rooms = value().split(',').map(str::to_owned).collect(),
            "--workers" => asked.workers = value().split(',').filter_map(|x| x.parse().ok()).collect(),
            "--seeds" => asked.seeds = value().parse().ok(),
            "--only" => asked.only = Some(value()),
            "--out" => asked.out = Some(value()),
            "--svg" => asked.svg = Some(value()),
            _ => {}
        }
    }
    if let Some(seeds) = asked.seeds {
        return each_proven(&asked, seeds);
    }
    let rows = compared(&asked);
    if let Some(path) = &asked.out {
        std::fs::write(path, serde_json::to_string_pretty(&rows).unwrap_or_default()).expect("the rows can be written");
    }
    if let Some(path) = &asked.svg {
        std::fs::write(path, growth(&rows)).expect("the picture can be written");
    }
}

/// How far proof gets on kitchens of many seeds.
fn each_proven(asked: &Asked, seeds: u64) {
    for name in &asked.rooms {
        let Some(r) = room(name).filter(|r| matches!(r, Room::Loose | Room::Tight)) else { continue };
        for &joints in &asked.joints {
            for seed in 1..=seeds {
                let p = problem(joints, r, seed);
                let p = match asked.only.as_deref() {
                    Some("lateness") => hurried(p, false),
                    Some("finish") => hurried(p, true),
                    _ => p,
                };
                let v = ours(p, r, asked.seconds);
                let (levels, took) = (&v["proven"], v["seconds"].as_f64().unwrap_or(0.0));
                println!("{joints} joints, {name}, seed {seed}: {levels} levels proven, {took:.3} s, {}", v["cost"]);
            }
        }
    }
}

/// Peak resident memory of this process, KiB.
fn peak() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    line.and_then(|l| l.split_whitespace().next()?.parse().ok()).unwrap_or(0)
}

/// Our side: each better answer as it comes, the last one's bounds, and the reasons when there is none.
fn ours(p: Problem, room: Room, seconds: f64) -> Value {
    let clock = Instant::now();
    if matches!(room, Room::Impossible | Room::Crowded) {
        let found = conflict(&p, &WallClock::after(Duration::from_secs_f64(seconds)));
        let took = clock.elapsed().as_secs_f64();
        // Which of them, left out alone, makes room for a plan: the ways out.
        let lifted = found.as_ref().map(|c| lifted_by(&p, c, 400).len());
        return json!({
            "seconds": took,
            "reasons": found.as_ref().map(|c| c.reasons.len()),
            "minimal": found.map(|c| c.minimal),
            "ways": lifted,
            "ways_seconds": clock.elapsed().as_secs_f64() - took,
            "peak_kib": peak(),
        });
    }
    let mut trace: Vec<Value> = Vec::new();
    // `--alone`, with `--seeds`: what one thread comes to.
    let alone = std::env::args().any(|a| a == "--alone");
    let second = if alone { Second::Never } else { Second::WhenLong };
    let options = Options { prove: true, second, ..Options::default() };
    let outcome = solve(&p, &options, &WallClock::after(Duration::from_secs_f64(seconds)), &mut |a| {
        trace.push(json!([clock.elapsed().as_secs_f64(), a.cost]));
    });
    let took = clock.elapsed().as_secs_f64();
    match outcome {
        Outcome::Found(a) => {
            assert_eq!(check(&p, &a.solution), vec![], "the independent checker");
            json!({ "seconds": took, "trace": trace, "cost": a.cost, "bound": a.bound, "proven": a.levels_proven(), "peak_kib": peak() })
        }
        other => {
            json!({ "seconds": took, "trace": trace, "none": format!("{other:?}").chars().take(40).collect::<String>(), "peak_kib": peak() })
        }
    }
}

fn run(command: &mut Command) -> Value {
    match command.output() {
        Ok(o) => serde_json::from_slice(&o.stdout).unwrap_or_else(
            |_| json!({ "error": String::from_utf8_lossy(&o.stderr).chars().rev().take(200).collect::<String>() }),
        ),
        Err(e) => json!({ "error": e.to_string() }),
    }
}

fn compared(asked: &Asked) -> Vec<Value> {
    let me = std::env::current_exe().expect("this program has a path");
    let python = std::env::var("TURNDAY_PYTHON").ok();
    let folder = std::env::temp_dir();
    let mut rows = Vec::new();
    for name in &asked.rooms {
        let Some(r) = room(name) else { continue };
        for joints in &asked.joints {
            let p = problem(*joints, r, SEED);
            let mine = run(Command::new(&me).args(["--one", &joints.to_string(), name, &asked.seconds.to_string()]));
            let mut row = json!({ "joints": joints, "room": name, "activities": p.activities.len(), "ours": mine });
            println!("{joints} joints, {name}, {} activities", p.activities.len());
            println!("  ours: {}", told(&row["ours"]));
            if let Some(python) = &python {
                let path = folder.join(format!("kitchens-{}-{joints}-{name}.json", std::process::id()));
                std::fs::write(&path, export::to_json(&p).expect("a problem can be written"))
                    .expect("there is room for it");
                for w in &asked.workers {
                    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/cpsat.py");
                    let args = [&asked.seconds.to_string(), &w.to_string(), "--total"].map(str::to_owned);
                    let mut theirs = run(Command::new(python).arg(script).arg(&path).args(args));
                    theirs["cost"] = reckoned(&p, &theirs);
                    theirs["matched_after"] = json!(matched(&row["ours"], &theirs["cost"]));
                    println!("  CP-SAT, {w} worker{}: {}", if *w == 1 { "" } else { "s" }, told(&theirs));
                    if let Some(s) = theirs["matched_after"].as_f64() {
                        println!("    ours is as good or better, level by level, from {s:.4} s on");
                    }
                    row[format!("cpsat_{w}")] = theirs;
                }
                let _ = std::fs::remove_file(&path);
            }
            rows.push(row);
        }
    }
    rows
}

/// The other side's answer on every level, by our cost, when our checker finds it sound.
fn reckoned(p: &Problem, answer: &Value) -> Value {
    let solution: Result<Solution, _> =
        serde_json::from_value(json!({ "starts": answer["starts"], "chosen": answer["chosen"] }));
    match solution {
        Ok(s) if check(p, &s).is_empty() => json!(cost(p, &s)),
        Ok(_) => json!("the checker refuses it"),
        Err(_) => Value::Null,
    }
}

/// Seconds after which our answer was as good as `cost`, in the order of the levels.
fn matched(ours: &Value, cost: &Value) -> Option<f64> {
    let wanted: Vec<i64> = serde_json::from_value(cost.clone()).ok()?;
    let trace: Vec<(f64, Vec<i64>)> = serde_json::from_value(ours["trace"].clone()).ok()?;
    trace.into_iter().find(|(_, c)| *c <= wanted).map(|t| t.0)
}

/// By level: seconds after which an answer was at its last cost on that level and on all before.
fn reached(v: &Value) -> Vec<f64> {
    let Some(trace) = v["trace"].as_array() else { return Vec::new() };
    if let (Ok(rows), Ok(last)) = (
        serde_json::from_value::<Vec<(f64, Vec<i64>)>>(v["trace"].clone()),
        serde_json::from_value::<Vec<i64>>(v["cost"].clone()),
    ) {
        let at = |l: usize| rows.iter().find(|(_, c)| c.get(..=l) == last.get(..=l)).map(|r| r.0);
        return (0..last.len()).map_while(at).collect();
    }
    // The other side works through the levels one after the other: `[seconds, level, value]`.
    let levels = v["levels"].as_array().map_or(0, Vec::len) as i64;
    let last = |l: i64| trace.iter().rev().find(|r| r[1].as_i64() == Some(l)).and_then(|r| r[0].as_f64());
    (0..levels).map_while(last).collect()
}

fn told(v: &Value) -> String {
    if let Some(e) = v["error"].as_str() {
        return format!("failed: {}", e.chars().rev().collect::<String>());
    }
    let first = v["trace"].as_array().and_then(|t| t.first()).and_then(|t| t[0].as_f64());
    let first = first.map_or("none".to_owned(), |s| format!("{s:.4} s"));
    let kib = v["peak_kib"].as_f64().unwrap_or(0.0) / 1024.0;
    let took = v["seconds"].as_f64().unwrap_or(0.0);
    if !v["reasons"].is_null() || v["status"] == "infeasible" {
        return format!("impossible shown in {took:.3} s ({} reasons), {kib:.0} MiB", v["reasons"]);
    }
    let proven = match (&v["proven"], v["levels"].as_array()) {
        (Value::Number(n), _) => n.to_string(),
        (_, Some(l)) => l.iter().take_while(|x| x["cost"] == x["bound"]).count().to_string(),
        _ => "0".to_owned(),
    };
    let reached: Vec<String> = reached(v).iter().map(|s| format!("{s:.3}")).collect();
    let reached = if reached.is_empty() { String::new() } else { format!("reached after {} s, ", reached.join(" ")) };
    format!("first {first}, levels {}, {reached}proven {proven}, {took:.1} s, {kib:.0} MiB", v["cost"])
}

/// What a picture shows of one side's row; nothing when it has none.
type Figure<'a> = &'a dyn Fn(&Value) -> Option<f64>;

/// Seconds to the first plan and peak memory against joints, on logarithmic axes.
fn growth(rows: &[Value]) -> String {
    let (w, h, left, top) = (720.0, 300.0, 70.0, 30.0);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" font-family=\"sans-serif\" font-size=\"12\">\n\
         <rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n",
        w + 20.0,
        2.0 * h
    );
    let first = |v: &Value| v["trace"].as_array().and_then(|t| t.first()).and_then(|t| t[0].as_f64());
    let memory = |v: &Value| v["peak_kib"].as_f64().filter(|_| v["error"].is_null()).map(|k| k / 1024.0);
    let plots: [(&str, f64, f64, Figure); 2] =
        [("seconds to the first plan", 1e-4, 100.0, &first), ("peak memory, MiB", 1.0, 10_000.0, &memory)];
    for (k, (title, low, high, of)) in plots.into_iter().enumerate() {
        let base = k as f64 * h;
        let x = |j: f64| left + (j / 2.0).log2() / 60f64.log2() * (w - left - 170.0);
        let y = |v: f64| base + h - 40.0 - (v.max(low) / low).ln() / (high / low).ln() * (h - 40.0 - top);
        let _ = writeln!(
            out,
            "<text x=\"{left}\" y=\"{}\" font-weight=\"bold\">{title}, by number of joints</text>",
            base + 18.0
        );
        let mut mark = low;
        while mark <= high * 1.001 {
            let _ = writeln!(
                out,
                "<line x1=\"{left}\" x2=\"{}\" y1=\"{1:.1}\" y2=\"{1:.1}\" stroke=\"#ddd\"/><text x=\"{2}\" y=\"{3:.1}\" text-anchor=\"end\">{mark}</text>",
                w - 170.0,
                y(mark),
                left - 6.0,
                y(mark) + 4.0
            );
            mark *= 10.0;
        }
        let mut joints: Vec<i64> = rows.iter().filter_map(|r| r["joints"].as_i64()).collect();
        joints.sort_unstable();
        joints.dedup();
        for j in joints {
            let _ = writeln!(
                out,
                "<text x=\"{:.1}\" y=\"{}\" text-anchor=\"middle\">{j}</text>",
                x(j as f64),
                base + h - 22.0
            );
        }
        let mut line = 0.0;
        for room in ["loose", "tight"] {
            for (side, name, colour) in [
                ("ours", "ours", "#1b6f3a"),
                ("cpsat_1", "CP-SAT, 1 worker", "#b3541e"),
                ("cpsat_2", "CP-SAT, 2 workers", "#6b4c9a"),
            ] {
                let points: Vec<(f64, f64)> = rows
                    .iter()
                    .filter(|r| r["room"] == room && !r[side].is_null())
                    .filter_map(|r| Some((x(r["joints"].as_f64()?), y(of(&r[side])?))))
                    .collect();
                if points.is_empty() {
                    continue;
                }
                let path: Vec<String> = points.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
                let dash = if room == "tight" { " stroke-dasharray=\"5 3\"" } else { "" };
                let _ = writeln!(
                    out,
                    "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\"{dash}/>",
                    path.join(" ")
                );
                for (px, py) in points {
                    let _ = writeln!(out, "<circle cx=\"{px:.1}\" cy=\"{py:.1}\" r=\"3\" fill=\"{colour}\"/>");
                }
                let at = base + top + 20.0 + line;
                line += 18.0;
                let _ = writeln!(
                    out,
                    "<line x1=\"{0}\" x2=\"{1}\" y1=\"{at}\" y2=\"{at}\" stroke=\"{colour}\" stroke-width=\"2\"{dash}/><text x=\"{2}\" y=\"{3}\">{name}, {room}</text>",
                    w - 160.0,
                    w - 136.0,
                    w - 130.0,
                    at + 4.0
                );
            }
        }
    }
    out + "</svg>\n"
}
