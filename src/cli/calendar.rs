//! `turnday calendar`: the plan for a phone, as a file or on a server.

use super::replan::put_by_phone;
use super::source::{self, Source};
use super::{Ended, Planning, book, files};
use crate::book::{Act, TaskAct, place};
use crate::kitchen::Kitchen;
use crate::plan::{Plan, PlannedTask};
use crate::publish::http::Collection;
use crate::publish::pull::{Wish, wishes};
use crate::publish::state::Published;
use crate::publish::sync::{Report, Round};
use crate::publish::{Fault, password};
use crate::remind::{Rung, Settings, due::ladder};
use crate::sheets::calendar::{Before, Entry, Form, Include, entries, file, follow, read_back};
use anyhow::{Context, Result, anyhow, bail};
use std::fmt::Write;
use std::io::{BufRead, IsTerminal};
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub struct CalendarArgs {
    #[command(flatten)]
    pub planning: Planning,
    /// Use this plan instead of planning anew
    #[arg(long, value_name = "FILE")]
    pub plan: Option<PathBuf>,
    /// What to include: `plan` (every task), `hands` (those that take hands)
    #[arg(long, value_name = "WHAT", default_value = "hands", value_parser = ["plan", "hands"])]
    pub include: String,
    /// Only this person's tasks
    #[arg(long, value_name = "NAME", conflicts_with = "include")]
    pub who: Option<String>,
    /// As to-dos, which can be ticked on the phone, instead of events
    #[arg(long)]
    pub todos: bool,
    /// Write to this file, following on from what is in it; standard output when left out
    #[arg(short, long, value_name = "FILE.ics")]
    pub output: Option<PathBuf>,
    /// Keep this collection on a CalDAV server in step with the plan; the password comes from
    /// TURNDAY_CALENDAR_PASSWORD, a file, or the system's keyring
    #[arg(long, value_name = "URL", conflicts_with = "output")]
    pub publish: Option<String>,
    #[command(flatten)]
    pub server: ServerArgs,
}

/// How the server is reached and what is asked of it.
#[derive(Debug, clap::Args)]
pub struct ServerArgs {
    /// Name to log in with
    #[arg(long, value_name = "NAME", requires = "publish", env = "TURNDAY_CALENDAR_USER", hide_env_values = true)]
    pub user: Option<String>,
    /// File with the password in its first line
    #[arg(long, value_name = "FILE", requires = "publish")]
    pub password_file: Option<PathBuf>,
    /// Certificates (PEM) to trust instead of the usual ones
    #[arg(long, value_name = "FILE", requires = "publish")]
    pub ca: Option<PathBuf>,
    /// Bring back what was moved or ticked on the phone, asking about each
    #[arg(long, requires = "publish")]
    pub pull: bool,
    /// With --pull: yes to every question
    #[arg(long, requires = "pull")]
    pub yes: bool,
    /// Take everything down that was published there
    #[arg(long, requires = "publish", conflicts_with = "pull")]
    pub take_down: bool,
    /// Seconds to wait at most before asking a silent server again; 0 asks once
    #[arg(long, value_name = "SECONDS", requires = "publish", default_value_t = 15, hide_default_value = true)]
    pub retry_seconds: u64,
    /// Where what was published is noted [default: a file of this kitchen's own in the state folder]
    #[arg(long, value_name = "FILE", requires = "publish")]
    pub state: Option<PathBuf>,
}

impl CalendarArgs {
    fn include(&self) -> Include {
        match (&self.who, self.include.as_str()) {
            (Some(name), _) => Include::Who(name.clone()),
            (_, "plan") => Include::Plan,
            _ => Include::Hands,
        }
    }

    fn form(&self) -> Form {
        if self.todos { Form::Todos } else { Form::Events }
    }
}

/// The entries of a plan with an alarm at each moment at which a nudge would come before it.
fn made(plan: &Plan, include: &Include, form: Form) -> Vec<Entry> {
    let settings = Settings { quiet: None, ..Settings::default() };
    let alarms = |t: &PlannedTask| {
        let rungs = if t.hands_minutes > 0 { ladder(plan, t, &settings) } else { Vec::new() };
        rungs.into_iter().filter(|r| r.0 <= Rung::Moment).map(|r| r.1).collect()
    };
    entries(plan, include, form, &alarms)
}

pub fn run(args: &CalendarArgs) -> Result<Ended> {
    let Source { kitchen, plan, .. } = match source::of(&args.planning, args.plan.as_ref(), false)? {
        Ok(s) => s,
        Err(e) => return Ok(e),
    };
    let include = args.include();
    if let Include::Who(name) = &include
        && !kitchen.people.iter().any(|p| p.name == *name)
    {
        let names: Vec<&str> = kitchen.people.iter().map(|p| p.name.as_str()).collect();
        bail!("nobody in this kitchen is called \"{name}\"; there are {}", names.join(", "));
    }
    let fresh = made(&plan, &include, args.form());
    match (&args.publish, &args.output) {
        (Some(url), _) => publish(args, &kitchen, &plan, url, fresh),
        (None, Some(path)) => to_file(&plan, path, fresh),
        (None, None) => {
            files::print(&file(&plan.kitchen, &fresh))?;
            Ok(Ended::Done)
        }
    }
}

fn to_file(plan: &Plan, path: &Path, fresh: Vec<Entry>) -> Result<Ended> {
    // What is there is followed on from: a file that is something else is not written over.
    let before: Before = match std::fs::read(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Before::new(),
        Err(e) => return Err(e).with_context(|| format!("cannot read {}", path.display())),
        Ok(bytes) if bytes.is_empty() => Before::new(),
        Ok(bytes) => {
            let read = String::from_utf8(bytes).ok().and_then(|t| read_back(&t).ok());
            read.with_context(|| format!("{} is there and is no calendar; it is not written over", path.display()))?
        }
    };
    let all = follow(fresh, &before);
    files::write(path, &file(&plan.kitchen, &all))?;
    let gone = all.iter().filter(|e| e.cancelled).count();
    let changed = all.iter().filter(|e| before.get(&e.uid).is_some_and(|b| b.sequence != e.sequence)).count();
    let new = all.iter().filter(|e| !before.contains_key(&e.uid)).count();
    files::print(&format!(
        "{}: {} entries, {new} new, {changed} changed, {gone} cancelled.\n",
        path.display(),
        all.len() - gone
    ))?;
    Ok(Ended::Done)
}

/// Where what was published is noted when nothing else is said: in the book the plan is from, or in the state folder.
fn state_file(args: &CalendarArgs, kitchen: &str, url: &str) -> Result<PathBuf> {
    let name = crate::sheets::calendar::uid(kitchen, url);
    let name = format!("{}.json", name.trim_end_matches("@turnday"));
    if args.planning.kitchen.is_none() {
        return Ok(place::find(args.planning.book.book.as_deref())?.join("published").join(name));
    }
    use etcetera::{BaseStrategy, choose_base_strategy};
    let home = choose_base_strategy().ok().and_then(|s| s.state_dir());
    let home = home.ok_or_else(|| anyhow!("no home folder to note what was published in; name a file with --state"))?;
    Ok(home.join("turnday/published").join(name))
}

fn publish(args: &CalendarArgs, kitchen: &Kitchen, plan: &Plan, url: &str, fresh: Vec<Entry>) -> Result<Ended> {
    let server = &args.server;
    let path = server.state.clone().map_or_else(|| state_file(args, &plan.kitchen, url), Ok)?;
    if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    }
    let lock_path = path.with_extension("lock");
    let lock = std::fs::File::create(&lock_path).with_context(|| format!("cannot write {}", lock_path.display()))?;
    if lock.try_lock().is_err() {
        bail!("this calendar is being published already");
    }
    let mut state = match std::fs::read_to_string(&path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Published::default(),
        Err(e) => return Err(e).with_context(|| format!("cannot read {}", path.display())),
        Ok(text) => Published::read(&text).map_err(|e| anyhow!("{}: {e}", path.display()))?,
    };
    if !state.url.is_empty() && state.url != url {
        bail!("{} notes what was published to {}", path.display(), state.url);
    }
    (state.format, state.url) = (1, url.to_owned());
    let ca = server.ca.as_ref().map(|p| std::fs::read(p).with_context(|| format!("cannot read {}", p.display())));
    let ca = ca.transpose()?;
    let password = match &server.user {
        Some(user) => password::find(url, user, server.password_file.as_deref()).map_err(|e| anyhow!(e))?,
        None => None,
    };
    let mut collection =
        Collection::at(url, server.user.as_deref(), password.as_ref(), ca.as_deref()).map_err(|e| anyhow!(e))?;
    let was = state.clone();
    let ended = if server.pull {
        pull(args, kitchen, plan, &mut collection, &mut state)
    } else {
        let title = plan.kitchen.clone();
        let mut round = Round {
            server: &mut collection,
            state: &mut state,
            zone: plan.zone,
            now: crate::clock::now(),
            wait: &mut |d| std::thread::sleep(d.min(std::time::Duration::from_secs(server.retry_seconds))),
        };
        if server.take_down { round.take_down() } else { round.run(&title, fresh) }.map(|r| told(&r))
    };
    // What was done before a fault is noted too.
    if state != was {
        files::write(&path, &state.write())?;
    }
    match ended {
        Ok(says) => {
            files::print(&format!("{says}Requests: {} to read, {} to write.\n", collection.reads, collection.writes))?;
            Ok(Ended::Done)
        }
        Err(Fault::Offline(says, _)) => {
            eprintln!("The calendar server cannot be reached ({says}). Nothing is lost: the next time catches up.");
            Ok(Ended::Done)
        }
        Err(fault) => Err(anyhow!(fault).context(format!("publishing to {url}"))),
    }
}

fn told(r: &Report) -> String {
    let mut out = format!(
        "{} new, {} changed, {} cancelled, {} deleted, {} as they were.\n",
        r.created, r.changed, r.cancelled, r.deleted, r.unchanged
    );
    for (task, what) in &r.edited {
        let _ = writeln!(out, "Edited by hand and left so: {task} ({}).", what.join(", "));
    }
    for task in &r.gone {
        let _ = writeln!(out, "Deleted by hand and left so: {task}.");
    }
    if r.again > 0 {
        let _ = writeln!(out, "{} changed there while this was written; publish again.", r.again);
    }
    out
}

/// Asks on the terminal; nothing when there is none.
fn ask(question: &str, yes: bool) -> Result<Option<bool>> {
    if yes {
        return Ok(Some(true));
    }
    if !std::io::stdin().is_terminal() {
        return Ok(None);
    }
    files::print(&format!("{question} [y/N] "))?;
    let mut answer = String::new();
    std::io::stdin().lock().read_line(&mut answer)?;
    Ok(Some(matches!(answer.trim().to_lowercase().as_str(), "y" | "yes")))
}

/// Tells what was done on the phone, and asks about each.
fn pull(
    args: &CalendarArgs,
    kitchen: &Kitchen,
    plan: &Plan,
    collection: &mut Collection,
    state: &mut Published,
) -> std::result::Result<String, Fault> {
    let found = wishes(collection, state, kitchen.zone)?;
    let mut out =
        if found.is_empty() { "Nothing was moved or ticked on the phone.\n".to_owned() } else { String::new() };
    for wish in found {
        let Some(task) = plan.tasks.iter().find(|t| t.id == wish.task()) else { continue };
        let what = crate::sheets::words::short(task);
        let local =
            |t: chrono::DateTime<chrono::Utc>| t.with_timezone(&kitchen.zone.0).format("%a %-d %b %H:%M").to_string();
        let (says, question) = match &wish {
            Wish::Done { when, .. } => {
                let when = when.map_or_else(String::new, |w| format!(", {}", local(w)));
                (format!("Ticked on the phone{when}: {what} ({}).", task.id), "Log it as done?")
            }
            Wish::Moved { from, to, .. } => {
                let fits = *to >= task.earliest && *to <= task.latest;
                let room =
                    if fits { "it fits with everything else where it is" } else { "other tasks have to move for it" };
                let says = format!(
                    "Moved on the phone: {what} ({}), from {} to {}; {room}.",
                    task.id,
                    local(*from),
                    local(*to)
                );
                (says, "Propose a plan with it there?")
            }
        };
        out += &format!("{says}\n");
        let answer = ask(&format!("{says} {question}"), args.server.yes).unwrap_or(None);
        match (answer, &wish) {
            (Some(true), Wish::Done { when, .. }) => out += &format!("  {}\n", log_done(args, &task.id, *when)),
            (Some(true), Wish::Moved { to, .. }) => {
                let mut agreed = |shown: &str| ask(&format!("{shown}Take it on?"), args.server.yes).unwrap_or(None);
                let by = args.who.as_deref().unwrap_or("phone");
                let put = (task.id.as_str(), *to);
                out += &match put_by_phone(&args.planning, args.plan.as_ref(), put, by, &mut agreed) {
                    Ok(says) => says,
                    Err(e) => format!("  Not planned: {e:#}.\n"),
                };
            }
            (Some(false), _) => out += "  Left as it is.\n",
            (None, _) => out += "  Not asked: there is no terminal. Say --yes to take it over.\n",
        }
    }
    Ok(out)
}

/// Logs a task as done, in the book that was named or is the only one.
fn log_done(args: &CalendarArgs, task: &str, when: Option<chrono::DateTime<chrono::Utc>>) -> String {
    let now = crate::clock::now();
    let act = Act::Task { id: task.to_owned(), what: TaskAct::Finished, when: when.unwrap_or(now).min(now) };
    let record = || -> Result<bool> {
        let mut book = book::open(&args.planning.book)?;
        Ok(book.record(act, args.who.as_deref().unwrap_or("phone"), now)?.already)
    };
    match record() {
        Ok(true) => "It was in the book already.".to_owned(),
        Ok(false) => "Logged in the book.".to_owned(),
        Err(e) => format!("Not logged: {e:#}."),
    }
}
