//! `turnday cool`: when a hot ham is cold, from its size or from probe readings, against each cooling limit.

use super::super::Ended;
use super::cook::{Piece, Which, told};
use super::{bridge, length, log, notes, refused, show};
use crate::kitchen::{Kitchen, Times};
use crate::science::chill::{self, COLD, ChillMeans};
use crate::science::conduction::Course;
use crate::science::cooling::{Judged, Standing, by_time, judge, sampled};
use crate::science::fit::{Forecast, Subject, forecast};
use crate::science::readings::{Log, Reading};
use crate::science::size::Size;
use crate::science::{Note, Refused, Spread};
use crate::units::{Elapsed, Temperature};
use anyhow::Result;
use serde::Serialize;

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum By {
    IcedWater,
    Blast,
    ColdRoom,
    Fridge,
}

#[derive(Debug, clap::Args)]
pub struct CoolArgs {
    #[command(flatten)]
    pub which: Which,
    /// Chilling means; every means when left out and there are no readings
    #[arg(long, value_enum)]
    pub by: Option<By>,
    /// A probe reading at the core, such as 14:30=63.5; again for each, in order
    #[arg(long = "reading", value_name = "HH:MM=TEMP", allow_hyphen_values = true)]
    pub readings: Vec<String>,
    /// Core temperature at the start, when there are no readings
    #[arg(long, value_parser = Temperature::parse, default_value = "75")]
    pub start: Temperature,
    /// A joint in no file is nitrite-cured; without this the stricter limits hold
    #[arg(long, requires = "weight")]
    pub cured: bool,
    /// Print as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Serialize)]
struct ByMeans {
    means: ChillMeans,
    /// By the planning table and by conduction, to 5 °C at the core.
    by_rule: Spread,
    by_physics: Spread,
    /// Which of them this kitchen's plan goes by.
    #[serde(skip_serializing_if = "Option::is_none")]
    plan_goes_by: Option<Times>,
    /// House figures and limits that one keeps to and the other does not, each at its slow end.
    disagree_on: Vec<String>,
    /// The conduction curve against each standard, and its slow end.
    predicted: Vec<Judged>,
    predicted_slow: Vec<Judged>,
}

#[derive(Serialize)]
struct Answered {
    joint: String,
    size: Size,
    cured: bool,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    means: Vec<ByMeans>,
    #[serde(skip_serializing_if = "Option::is_none")]
    forecast: Option<Forecast>,
    /// The log as it stands.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    logged: Vec<Judged>,
    /// The log and the fitted curve after it, and the same at the late end of the band.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    predicted: Vec<Judged>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    predicted_late: Vec<Judged>,
    notes: Vec<Note>,
}

const fn means_of(by: By) -> ChillMeans {
    match by {
        By::IcedWater => ChillMeans::IcedWater,
        By::Blast => ChillMeans::Blast,
        By::ColdRoom => ChillMeans::ColdRoom,
        By::Fridge => ChillMeans::Fridge,
    }
}

fn standing(s: &Standing, clock: &dyn Fn(Elapsed) -> String) -> String {
    match s {
        Standing::Inside { .. } => "inside".to_owned(),
        Standing::Outside { since } => format!("OUTSIDE from {}", clock(*since)),
        Standing::Open { left, until } => format!("open, {} left, until {}", length(*left), clock(*until)),
        Standing::NotBegun => "not begun".to_owned(),
        Standing::NotKnown => "not known: the log begins too late to tell".to_owned(),
    }
}

fn table(all: &[Judged], clock: &dyn Fn(Elapsed) -> String) -> String {
    all.iter()
        .map(|j| {
            let kind = if j.standard.advice { "advice" } else { "limit" };
            // A window that is known and running is told beside one that is not.
            let open = j.windows.iter().find(|w| j.overall == Standing::NotKnown && matches!(w, Standing::Open { .. }));
            let open = open.map_or_else(String::new, |w| format!("; its later window {}", standing(w, clock)));
            format!("    {:<28} {kind:<7} {}{open}\n", j.standard.name, standing(&j.overall, clock))
        })
        .collect()
}

/// The same standards for a curve and its slow end: one word where they agree.
fn two_columns(middle: &[Judged], slow: &[Judged], slow_name: &str, clock: &dyn Fn(Elapsed) -> String) -> String {
    let mut out = String::new();
    for (m, s) in middle.iter().zip(slow) {
        let kind = if m.standard.advice { "advice" } else { "limit" };
        let (a, b) = (standing(&m.overall, clock), standing(&s.overall, clock));
        let both = if a == b { a } else { format!("{a}; {slow_name}: {b}") };
        out += &format!("    {:<28} {kind:<7} {both}\n", m.standard.name);
    }
    out
}

/// From the size alone.
fn reckoned(
    args: &CoolArgs,
    p: &Piece,
    cured: bool,
    all: &[ChillMeans],
    kitchen: Option<&Kitchen>,
) -> Result<(Answered, String), Refused> {
    let goes_by = kitchen.map(|k| k.cure.times);
    let mut out =
        format!("{}: {:.1} cm thick, {:.1} cm long\n", p.name, p.size.diameter.as_cm(), p.size.length.as_cm());
    let (mut means, mut said) = (Vec::new(), Vec::new());
    for m in all {
        let rule = chill::by_rule_answer(*m, p.size.diameter)?;
        let physics = chill::by_physics(*m, p.size, args.start)?;
        let course: Course = chill::course(p.size, args.start, &chill::stages(*m))?;
        let slow = chill::slow_course(p.size, args.start, &chill::stages(*m))?;
        // Far enough past 5 °C that every window is decided.
        let until = Elapsed::minutes(physics.value.slow.as_minutes() + 720.0);
        let predicted = judge(&sampled(|t| course.core(t), until), cured)?;
        let predicted_slow = judge(&sampled(|t| slow.core(t), until), cured)?;
        // Both against the house figures, which ask only for a time to 5 °C.
        let mut disagree_on = Vec::new();
        let mut by_house = String::new();
        for j in &predicted_slow.value {
            let Some(by_table) = by_time(&j.standard, rule.value.slow) else { continue };
            let by_conduction = matches!(j.overall, Standing::Inside { .. });
            let word = |inside: bool| if inside { "inside" } else { "OUTSIDE" };
            by_house += &format!(
                "    {:<28} {:<7} {} by the planning table, {} by conduction\n",
                j.standard.name,
                if j.standard.advice { "advice" } else { "limit" },
                word(by_table),
                word(by_conduction)
            );
            if by_table != by_conduction {
                disagree_on.push(j.standard.name.clone());
            }
        }
        let line = |name: &str, s: Spread, mine: bool| {
            let mark = if mine { "  this kitchen's plan goes by it" } else { "" };
            format!("    by {name:<19} {:<8} slow end {:<8}{mark}", length(s.planned), length(s.slow))
                .trim_end()
                .to_owned()
                + "\n"
        };
        out += &format!("  {}: to 5 °C at the core\n", m.words());
        out += &line("the planning table", rule.value, goes_by == Some(Times::Rule));
        out += &line("conduction", physics.value, goes_by == Some(Times::Physics));
        out += "  At the slow end of each\n";
        out += &by_house;
        out += "  By conduction, every standard\n";
        out += &two_columns(&predicted.value, &predicted_slow.value, "slow end", &|t| format!("{} on", length(t)));
        if !disagree_on.is_empty() {
            said.push(Note::flag(format!(
                "{}, {}: the planning table and conduction disagree about the {}; act on the stricter: more ice, a blast chiller, or halve it, and probe the core",
                p.name,
                m.words(),
                disagree_on.join(" and the ")
            )));
        }
        said.extend(rule.notes);
        said.extend(physics.notes);
        said.extend(predicted.notes);
        means.push(ByMeans {
            means: *m,
            by_rule: rule.value,
            by_physics: physics.value,
            plan_goes_by: goes_by,
            disagree_on,
            predicted: predicted.value,
            predicted_slow: predicted_slow.value,
        });
    }
    said.push(Note::assumes(
        "standards with more than one window are held against the conduction curve only; a limit counts at its slow end",
    ));
    said.extend(p.notes.iter().cloned());
    let a = Answered {
        joint: p.name.clone(),
        size: p.size,
        cured,
        means,
        forecast: None,
        logged: Vec::new(),
        predicted: Vec::new(),
        predicted_late: Vec::new(),
        notes: said,
    };
    Ok((a, out))
}

/// From readings.
fn logged(p: &Piece, cured: bool, means: ChillMeans, log: &Log) -> Result<(Answered, String), Refused> {
    let ham = chill::cooked_ham();
    let subject = Subject {
        size: Some(p.size),
        conductivity: ham.conductivity,
        diffusivity: ham.diffusivity(),
        stages: chill::stages(means),
    };
    let now = judge(&log.readings, cured)?;
    let last = log.readings[log.readings.len() - 1];
    let clock = |t: Elapsed| log.clock(t);
    let mut out = format!(
        "{}, {}, last read {} °C at {}\n",
        p.name,
        means.words(),
        last.temperature.tenths(),
        log.clock(last.at)
    );
    let mut said = now.notes;
    said.extend(p.notes.iter().cloned());
    // A log without a forecast still stands somewhere, and that is what has to be acted on.
    let f = match forecast(&subject, &log.readings, COLD) {
        Ok(f) => f,
        Err(r) => {
            said.push(Note::flag(format!("no forecast: {r}")));
            out += "  5 °C is not in sight\n  By the readings so far\n";
            out += &table(&now.value, &clock);
            let a = Answered {
                joint: p.name.clone(),
                size: p.size,
                cured,
                means: Vec::new(),
                forecast: None,
                logged: now.value,
                predicted: Vec::new(),
                predicted_late: Vec::new(),
                notes: said,
            };
            return Ok((a, out));
        }
    };
    let from = last.at.as_minutes();
    let cast = &f.value.forecast;
    // The curve after the last reading, its pace stretched so that it reaches 5 °C at the moment given.
    let onward = |reaches: Elapsed| {
        let pace = (cast.expected.as_minutes() - from).max(1.0) / (reaches.as_minutes() - from).max(1.0);
        let curve = |t: Elapsed| f.value.core(Elapsed::minutes(from + (t.as_minutes() - from) * pace));
        let mut all: Vec<Reading> = log.readings.clone();
        let ahead = sampled(curve, Elapsed::minutes(reaches.as_minutes() + 720.0));
        all.extend(ahead.into_iter().filter(|r| r.at.as_minutes() > from));
        judge(&all, cured)
    };
    let (then, late) = (onward(cast.expected)?, onward(cast.latest)?);
    out += &told(&f.value.forecast, "5", log);
    out += "  By the readings so far\n";
    out += &table(&now.value, &clock);
    if !f.value.forecast.reached {
        out += "  If it goes on like that\n";
        out += &two_columns(&then.value, &late.value, "at the late end", &clock);
    }
    said.extend(f.notes);
    let a = Answered {
        joint: p.name.clone(),
        size: p.size,
        cured,
        means: Vec::new(),
        forecast: Some(f.value.forecast),
        logged: now.value,
        predicted: then.value,
        predicted_late: late.value,
        notes: said,
    };
    Ok((a, out))
}

pub fn run(args: &CoolArgs) -> Result<Ended> {
    let readings = log(&args.readings)?;
    let found = match args.which.pieces(args.json)? {
        Ok(f) => f,
        Err(e) => return Ok(e),
    };
    let cured = found.kitchen.as_ref().map_or(args.cured, bridge::cured);
    let mut all: Vec<ChillMeans> = match (&args.by, &found.kitchen) {
        (Some(by), _) => vec![means_of(*by)],
        (None, Some(k)) => k.kit.chilling.iter().map(|c| bridge::means(c.means)).collect(),
        (None, None) => ChillMeans::ALL.to_vec(),
    };
    let mut once = Vec::new();
    all.retain(|m| {
        !once.contains(m) && {
            once.push(*m);
            true
        }
    });
    if readings.is_some() && found.pieces.len() > 1 {
        anyhow::bail!("readings belong to one joint: name it with --joint");
    }
    if readings.is_some() && all.len() != 1 {
        anyhow::bail!("say how it is being chilled: --by iced-water, blast, cold-room or fridge");
    }
    let (mut answers, mut out) = (Vec::new(), String::new());
    for p in &found.pieces {
        let done = match &readings {
            Some(log) => logged(p, cured, all[0], log),
            None => reckoned(args, p, cured, &all, found.kitchen.as_ref()),
        };
        match done {
            Ok((mut a, text)) => {
                if found.kitchen.is_none() && !args.cured {
                    a.notes.push(Note::flag(
                        "nothing says it is nitrite-cured, so the stricter limits are shown (--cured for the others)",
                    ));
                }
                out += &text;
                out.push('\n');
                answers.push(a);
            }
            Err(r) => return refused(args.json, &r),
        }
    }
    out += &notes(answers.iter().flat_map(|a| &a.notes));
    show(args.json, &answers, &out)
}
