//! The command line: every view in plain text and as JSON.
//!
//! Exit codes: 0 done; 1 refused or impossible, with the reasons; 2 unusable input or usage.

mod ask;
mod book;
mod calendar;
mod chance;
mod check;
mod days;
mod demo;
mod files;
mod keys;
mod pages;
mod plan;
mod remind;
mod replan;
mod screen;
mod show;
mod source;
mod starter;
mod sums;
pub mod text;
mod trouble;
mod why;

use clap::{CommandFactory, Parser, Subcommand};
use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    Done,
    /// Refused or impossible; the reasons have been printed.
    Refused,
    /// Unusable input; what is wrong has been printed.
    Unusable,
}

impl Ended {
    fn code(self) -> ExitCode {
        ExitCode::from(match self {
            Self::Done => 0,
            Self::Refused => 1,
            Self::Unusable => 2,
        })
    }
}

/// Plans a kitchen's bulk cure: several joints, each with its own clock, sharing tubs, cold space, pots, an oven and a
/// few hours at home.
#[derive(Debug, Parser)]
#[command(name = "turnday", version, max_term_width = 100)]
struct Args {
    /// Left out: the book there is, or the first run
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Plan a demo kitchen and open it on the timeline; as text when the output is no terminal
    Demo(demo::DemoArgs),
    /// Open a kitchen's plan on the timeline, planned live
    Open(demo::OpenArgs),
    /// Plan a kitchen and print the plan in day order
    Plan(plan::PlanArgs),
    /// Judge a plan, whoever made it, and list every limit it breaks
    Check(check::CheckArgs),
    /// Show which day each tub needs turning
    Turns(days::TurnsArgs),
    /// Show one day's jobs
    Today(days::TodayArgs),
    /// Plan again after what has happened, with the fewest changes, and say what changes and why
    Replan(replan::ReplanArgs),
    /// Ask what if, without committing: away, another tub, heavier, halved, one more joint or how many, a day lost
    Ask(ask::AskArgs),
    /// Show a view: day, turns, tubs, joint, brine, cook, freezer, record, last, week, tags, rota, shopping and more
    Show(show::ShowArgs),
    /// Show what holds a task where it is
    Why(why::WhyArgs),
    /// How likely a plan holds, what breaks it most often, and where a buffer helps
    Chance(chance::ChanceArgs),
    /// What the house's table says when something goes wrong, and what it does to the plan
    Trouble(trouble::TroubleArgs),
    /// Print the problem of a kitchen's plan in the solver's neutral terms, as JSON (see docs/planning.md)
    ExportProblem(why::ExportArgs),
    /// Write the plan as a calendar file for phone and other calendars
    Calendar(calendar::CalendarArgs),
    /// Begin a book with a kitchen: from then on it is the record of what was planned and done
    Start(book::start::StartArgs),
    /// Record what was done, in a few words: "turned T1", "weighed shank 3.4kg yesterday 19:00"
    Log(book::log::LogArgs),
    /// Take back the last act on record, or the one on a line
    Undo(book::undo::UndoArgs),
    /// Bring back what was last undone
    Redo(book::undo::UndoArgs),
    /// Show the record: everything that was done, corrections and all
    History(book::history::HistoryArgs),
    /// Where the book is; check, export, import it; close a batch
    Book(book::keep::BookArgs),
    /// Say when a task is due: on the desktop, or in this terminal
    Remind(remind::RemindArgs),
    /// Write a starter kitchen file that plans as it stands
    New(starter::NewArgs),
    /// Print the JSON Schema of a kitchen file or a plan
    Schema(starter::SchemaArgs),
    /// List the keys of the screen, and where to change them
    Keys(keys::KeysArgs),
    /// Print completions for a shell
    Completions(pages::CompletionsArgs),
    /// Write manual pages, one for each command
    Man(pages::ManArgs),
    /// Weigh out each tub: water, ice, salt, curing salt, sugar
    Brine(sums::brine::BrineArgs),
    /// How far the salt has got in each joint, by the rule and by diffusion
    CureCheck(sums::cure_check::CureCheckArgs),
    /// When a joint in the pot is hot at the core, from its size or from probe readings
    Cook(sums::cook::CookArgs),
    /// When a hot ham is cold, from its size or from probe readings, against each cooling limit
    Cool(sums::cool::CoolArgs),
    /// What a dose of curing salt comes to, against each limit; or what a wrong bag did
    Nitrite(sums::nitrite::NitriteArgs),
    /// How long a pack keeps
    Keep(sums::keep::KeepArgs),
    /// Packs from pork, or pork from packs
    Yield(sums::yields::YieldArgs),
}

/// Where a kitchen comes from and how hard to plan it.
#[derive(Debug, Clone, clap::Args)]
pub struct Planning {
    /// Kitchen file (JSON; comments are welcome); left out, kitchen and plan are the book's
    pub kitchen: Option<PathBuf>,
    #[command(flatten)]
    pub book: book::Which,
    /// Plan for this many seconds instead; the plan then depends on the machine's speed
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    pub seconds: Option<f64>,
    /// Search steps to take; the same number gives the same plan on every machine [default: by the number of joints]
    #[arg(long, value_name = "STEPS", conflicts_with = "seconds")]
    pub steps: Option<u64>,
    /// Seed for the search
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
}

/// A length of time that is one: `nan`, `inf` and less than nothing are usage errors.
fn seconds(text: &str) -> Result<f64, String> {
    let number = text.parse().ok().filter(|s: &f64| s.is_finite() && *s >= 0.0);
    number.ok_or_else(|| "expected a number of seconds, 0 or more".to_owned())
}

/// Runs the command line and returns the process's exit code.
pub fn main(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args = match Args::try_parse_from(args) {
        Ok(a) => a,
        Err(e) => {
            // Help and version are not errors; everything else is a usage error.
            let code = if e.use_stderr() { Ended::Unusable } else { Ended::Done };
            let _ = e.print();
            return code.code();
        }
    };
    let Some(command) = args.command else { return alone() };
    let ended = match command {
        Command::Demo(a) => demo::demo(&a),
        Command::Open(a) => demo::open(&a),
        Command::Plan(a) => plan::run(&a),
        Command::Check(a) => check::run(&a),
        Command::Turns(a) => days::turns(&a),
        Command::Today(a) => days::today(&a),
        Command::Replan(a) => replan::replan(&a),
        Command::Ask(a) => ask::ask(&a),
        Command::Show(a) => show::run(&a),
        Command::Why(a) => why::why(&a),
        Command::Chance(a) => chance::run(&a),
        Command::Trouble(a) => trouble::run(&a),
        Command::ExportProblem(a) => why::export(&a),
        Command::Calendar(a) => calendar::run(&a),
        Command::Start(a) => book::start::run(&a),
        Command::Log(a) => book::log::run(&a),
        Command::Undo(a) => book::undo::undo(&a),
        Command::Redo(a) => book::undo::redo(&a),
        Command::History(a) => book::history::run(&a),
        Command::Book(a) => book::keep::run(&a),
        Command::Remind(a) => remind::run(&a),
        Command::New(a) => starter::new(&a),
        Command::Schema(a) => starter::schema(&a),
        Command::Keys(a) => keys::run(&a),
        Command::Completions(a) => pages::completions(&a),
        Command::Man(a) => pages::man(&a),
        Command::Brine(a) => sums::brine::run(&a),
        Command::CureCheck(a) => sums::cure_check::run(&a),
        Command::Cook(a) => sums::cook::run(&a),
        Command::Cool(a) => sums::cool::run(&a),
        Command::Nitrite(a) => sums::nitrite::run(&a),
        Command::Keep(a) => sums::keep::run(&a),
        Command::Yield(a) => sums::yields::run(&a),
    };
    code_of(ended)
}

/// Without a command the screen opens; where there is no terminal for it, the help.
fn alone() -> ExitCode {
    code_of(screen::alone().and_then(|shown| match shown {
        Some(ended) => Ok(ended),
        None => {
            files::print(&Args::command().render_help().to_string())?;
            Ok(Ended::Unusable)
        }
    }))
}

fn code_of(ended: anyhow::Result<Ended>) -> ExitCode {
    match ended {
        Ok(e) => e.code(),
        Err(e) if is_broken_pipe(&e) => Ended::Done.code(),
        Err(e) => {
            eprintln!("turnday: {e:#}");
            Ended::Unusable.code()
        }
    }
}

/// Output that goes to `head` is nobody's fault.
fn is_broken_pipe(e: &anyhow::Error) -> bool {
    e.chain().any(|c| c.downcast_ref::<std::io::Error>().is_some_and(|io| io.kind() == std::io::ErrorKind::BrokenPipe))
}
