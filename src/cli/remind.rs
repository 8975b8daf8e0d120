//! `turnday remind`: nudges on this machine, from the book.

use super::{Ended, book, files};
use crate::app::acts::plan_of;
use crate::book::{Act, Book, place};
use crate::kitchen::Zone;
use crate::plan::Plan;
use crate::remind::desktop::Desktop;
use crate::remind::due::ladder;
use crate::remind::popup::on_terminal;
use crate::remind::run::Nudger;
use crate::remind::store::{Store, file_name};
use crate::remind::wake::{Wake, timer, watch};
use crate::remind::{Settings, install};
use anyhow::{Context, Result, anyhow, bail};
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::mpsc::channel;
use std::time::Duration;

/// How long the notification server may take to answer.
const DEADLINE: Duration = Duration::from_secs(5);

#[derive(Debug, clap::Args)]
pub struct RemindArgs {
    #[command(flatten)]
    pub which: book::Which,
    /// Nudge only about this person's tasks
    #[arg(long, value_name = "NAME")]
    pub who: Option<String>,
    /// Lead times and quiet hours [default: nudges.json in turnday's settings folder, if it is there]
    #[arg(long, value_name = "FILE")]
    pub settings: Option<PathBuf>,
    /// Print the nudges to come and stop
    #[arg(long)]
    pub list: bool,
    /// With --list: as JSON
    #[arg(long, requires = "list")]
    pub json: bool,
    /// Put off the nudges of a task (by its id, or a piece of it that fits only one)
    #[arg(long, value_name = "TASK", conflicts_with_all = ["list", "install", "uninstall"])]
    pub snooze: Option<String>,
    /// With --snooze: for so many minutes
    #[arg(long, value_name = "MINUTES", requires = "snooze", value_parser = clap::value_parser!(u32).range(1..=10_080))]
    pub minutes: Option<u32>,
    /// Set it up to run whenever you are logged in
    #[arg(long, conflicts_with = "uninstall")]
    pub install: bool,
    /// Undo --install
    #[arg(long)]
    pub uninstall: bool,
}

fn settings(args: &RemindArgs) -> Result<Settings> {
    let mut out = settings_at(args.settings.as_deref())?;
    if args.who.is_some() {
        out.who.clone_from(&args.who);
    }
    Ok(out)
}

/// The nudger's settings in this file, or in the usual place.
pub(super) fn settings_at(path: Option<&Path>) -> Result<Settings> {
    use etcetera::{BaseStrategy, choose_base_strategy};
    let usual = || choose_base_strategy().ok().map(|s| s.config_dir().join("turnday/nudges.json"));
    match (path, usual()) {
        (Some(path), _) => read_settings(path),
        (None, Some(path)) if path.exists() => read_settings(&path),
        _ => Ok(Settings::default()),
    }
}

fn read_settings(path: &Path) -> Result<Settings> {
    let text = files::text_of(path)?;
    Settings::read(&text).map_err(|e| anyhow!("{}: {e}", path.display()))
}

/// The name of the unit or entry: one a book and person.
fn service(book: &Path, who: Option<&str>) -> String {
    let book = place::slug(&book.file_name().unwrap_or_default().to_string_lossy());
    who.map_or_else(|| format!("turnday-{book}"), |w| format!("turnday-{book}-{}", place::slug(w)))
}

pub fn run(args: &RemindArgs) -> Result<Ended> {
    let settings = settings(args)?;
    let folder = place::find(args.which.book.as_deref())?;
    let who = settings.who.as_deref();
    if args.install || args.uninstall {
        let places = install::Places::find().map_err(|e| anyhow!(e))?;
        let name = service(&folder, who);
        let said = if args.install {
            install::install(&places, &name, &command(args, &folder)?)
        } else {
            install::uninstall(&places, &name)
        };
        files::print(&said.map_err(|e| anyhow!(e))?)?;
        return Ok(Ended::Done);
    }
    let mut book = book::open(&args.which)?;
    if let Some(name) = who
        && !book.state().kitchen.people.iter().any(|p| p.name == name)
    {
        let names: Vec<&str> = book.state().kitchen.people.iter().map(|p| p.name.as_str()).collect();
        bail!("nobody in this kitchen is called \"{name}\"; there are {}", names.join(", "));
    }
    if let Some(task) = &args.snooze {
        files::print(&format!("{}\n", snooze(&mut book, task, args.minutes, &settings)?))?;
        return Ok(Ended::Done);
    }
    if args.list {
        return list(&book, &settings, args.json);
    }
    // One nudger a person and book: a second would say everything twice.
    let store = folder.join(file_name(who));
    let lock_path = store.with_extension("lock");
    let lock = std::fs::File::create(&lock_path).with_context(|| format!("cannot write {}", lock_path.display()))?;
    if lock.try_lock().is_err() {
        eprintln!("A nudger for this book is running already.");
        return Ok(Ended::Refused);
    }
    watch_over(book, Store::open(&store), settings, &folder)
}

/// The command line that a login starts.
fn command(args: &RemindArgs, folder: &Path) -> Result<Vec<String>> {
    let text = |p: PathBuf| p.into_os_string().into_string().map_err(|p| anyhow!("{} is not text", p.display()));
    let whole = |p: &Path| std::path::absolute(p).with_context(|| format!("cannot tell where {} is", p.display()));
    let mut out = vec![text(std::env::current_exe()?)?, "remind".to_owned()];
    out.extend(["--book".to_owned(), text(whole(folder)?)?]);
    if let Some(who) = &args.who {
        out.extend(["--who".to_owned(), who.clone()]);
    }
    if let Some(path) = &args.settings {
        out.extend(["--settings".to_owned(), text(whole(path)?)?]);
    }
    Ok(out)
}

fn watch_over(book: Book, store: Store, settings: Settings, folder: &Path) -> Result<Ended> {
    let (tx, rx) = channel();
    let mut signals = signal_hook::iterator::Signals::new([signal_hook::consts::SIGTERM, signal_hook::consts::SIGINT])?;
    let stop = tx.clone();
    std::thread::Builder::new().name("signals".to_owned()).stack_size(64 << 10).spawn(move || {
        if signals.forever().next().is_some() {
            let _ = stop.send(Wake::Stop);
        }
    })?;
    watch(folder, "journal", &tx);
    let (answers_tx, answers) = channel();
    let pass_on = tx.clone();
    std::thread::Builder::new().name("answers".to_owned()).stack_size(64 << 10).spawn(move || {
        while let Ok(a) = answers.recv() {
            if pass_on.send(Wake::Answer(a)).is_err() {
                return;
            }
        }
    })?;
    let mut timer = timer(&tx);
    let terminal = std::io::stdout().is_terminal();
    if terminal {
        files::print(&format!("Nudges for {}. Stop with Ctrl-C.\n", book.state().kitchen.name))?;
    }
    let mut nudger = Nudger::new(book, store, settings, Box::new(Desktop::new(DEADLINE, answers_tx)));
    nudger.terminal = Box::new(move |p| terminal && on_terminal(p, &mut std::io::stdout().lock()).is_ok());
    nudger.say = Box::new(|says| eprintln!("turnday remind: {says}"));
    nudger.here = Box::new(|| iana_time_zone::get_timezone().ok().and_then(|z| z.parse().ok()).map(Zone));
    nudger.run(&rx, timer.as_mut());
    Ok(Ended::Done)
}

fn plan_in(book: &Book) -> Result<Plan> {
    let plan = plan_of(book.state()).context("the plan in the book cannot be read")?;
    plan.context("there is no plan in the book yet")
}

/// Nothing is said of a task for a while; what was done, in words.
pub(super) fn snooze(book: &mut Book, task: &str, minutes: Option<u32>, settings: &Settings) -> Result<String> {
    let plan = plan_in(book)?;
    let t = crate::plan::why::find(&plan, task).map_err(|e| anyhow!(e))?;
    if book.state().tasks.get(&t.id).is_some_and(|s| s.finished.is_some() || s.skipped.is_some()) {
        bail!("done or left out already, nothing more is said of it: {}", t.id);
    }
    let now = crate::clock::now();
    let length = minutes.map_or_else(|| settings.snooze(t.kind), |m| chrono::TimeDelta::minutes(i64::from(m)));
    let until = now + length;
    let first = ladder(&plan, t, settings).into_iter().map(|r| r.1).min();
    if let Some(first) = first.filter(|&first| until <= first) {
        let first = first.with_timezone(&plan.zone.0).format("%a %-d %b %H:%M");
        bail!("no nudge till {first}: {}", t.id);
    }
    let by = settings.who.clone().unwrap_or_default();
    book.record(Act::Snoozed { task: t.id.clone(), until }, &by, now)?;
    let local = until.with_timezone(&plan.zone.0).format("%a %-d %b %H:%M");
    let late = if until > t.latest { ", after its last moment by the plan" } else { "" };
    Ok(format!("put off until {local}{late}: {}", t.id))
}

fn list(book: &Book, settings: &Settings, json: bool) -> Result<Ended> {
    let plan = plan_in(book)?;
    let now = crate::clock::now();
    let record = Store::open(&book.folder().join(file_name(settings.who.as_deref()))).record(book.state());
    let mut rows = Vec::new();
    for t in plan.tasks.iter().filter(|t| t.hands_minutes > 0 && !record.settled.contains(&t.id)) {
        if settings.who.as_ref().is_some_and(|w| t.who.as_ref().is_some_and(|o| o != w)) {
            continue;
        }
        // Overdue is not foretold.
        let leads = ladder(&plan, t, settings).into_iter().filter(|r| r.0 <= crate::remind::Rung::Moment && r.1 > now);
        rows.extend(leads.map(|(rung, at)| (at, rung, t)));
    }
    rows.sort_by(|a, b| (a.0, &a.2.id).cmp(&(b.0, &b.2.id)));
    let local = |t: chrono::DateTime<chrono::Utc>| t.with_timezone(&plan.zone.0);
    if json {
        let data: Vec<_> = rows
            .iter()
            .map(|(at, rung, t)| {
                serde_json::json!({ "at": local(*at).to_rfc3339(), "nudge": format!("{rung:?}").to_lowercase(), "task": t.id, "who": t.who,
                    "says": crate::sheets::words::short(t) })
            })
            .collect();
        files::print(&(serde_json::to_string_pretty(&data)? + "\n"))?;
        return Ok(Ended::Done);
    }
    let mut out = String::new();
    for (at, rung, t) in &rows {
        let lead = match rung {
            crate::remind::Rung::Evening => "the evening before: ",
            crate::remind::Rung::Hour => "an hour before: ",
            _ => "",
        };
        out += &format!("{}  {lead}{}\n", local(*at).format("%a %-d %b %H:%M"), crate::sheets::words::short(t));
    }
    if rows.is_empty() {
        out += "No nudges are to come.\n";
    }
    files::print(&out)?;
    Ok(Ended::Done)
}
