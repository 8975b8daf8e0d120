//! The loop: drain what was heard, change the state, draw once when something changed, sleep until the next thing.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::time::Duration;

use anyhow::Context;
use chrono::{DateTime, Utc};
use crossterm::event::Event;
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP};
use signal_hook::iterator::Signals;
use signal_hook::low_level::emulate_default_handler;

use super::draw::frame;
use super::input::Pointer;
use super::places::Places;
use super::terminal::{Screen, panic_elsewhere};
use super::theme::Theme;
use crate::app::form::Paper;
use crate::app::{
    Chart, Deed, Effect, Held, Keymap, Message, News, PlanNews, Planning, State, next_wake, time, update,
};
use crate::kitchen::Kitchen;
use crate::plan::Plan;
use crate::plan::ask::Answer;
use crate::plan::question::Question;

/// Starts planning what the state asks on a thread of its own; the news carry its revision, and the flag asks it to stop.
pub type Planner = Box<dyn FnMut(&State, Arc<AtomicBool>) -> std::io::Result<Receiver<PlanNews>>>;

/// Makes ready to answer a question about what the state shows; what it gives back is run on a thread of its own.
pub type Asker = Box<dyn FnMut(&State, Question, Arc<AtomicBool>) -> Work>;
pub type Work = Box<dyn FnOnce() -> Result<Answer, String> + Send>;

/// What lasts of a session: a file, a book, or nothing.
pub trait Keeper {
    /// Does it, so that it lasts.
    ///
    /// # Errors
    /// When it does not fit what is there, or could not be kept.
    fn deed(&mut self, deed: &Deed) -> anyhow::Result<Kept>;

    /// What a book holds, as last read: an act that could not be kept is not on the screen either.
    ///
    /// # Errors
    /// What the system says.
    fn held(&self) -> anyhow::Result<Option<Box<Held>>>;

    /// What is held now, when others have changed it since it was last asked.
    ///
    /// # Errors
    /// What the system says.
    fn catch_up(&mut self) -> anyhow::Result<Option<Box<Held>>>;

    /// The folder in which others change it.
    fn watched(&self) -> Option<PathBuf>;
}

/// How something was kept.
#[derive(Debug, Default)]
pub struct Kept {
    /// What a book holds after it.
    pub held: Option<Box<Held>>,
    /// A word for the person.
    pub says: Option<String>,
}

/// What the screen is opened with.
pub struct Session {
    pub kitchen: Arc<Kitchen>,
    /// The text the kitchen was read from.
    pub text: Option<String>,
    /// A plan to show at once.
    pub first: Option<Plan>,
    /// The book that is opened.
    pub held: Option<Box<Held>>,
    /// Nothing is there yet: the first form opens.
    pub fresh: bool,
    /// Where better plans come from; nothing when nobody plans.
    pub planner: Option<Planner>,
    /// Who answers what-ifs; nothing when nobody does.
    pub asker: Option<Asker>,
    /// A book can be begun of what is opened.
    pub from_file: bool,
    pub keeper: Box<dyn Keeper>,
    /// Which key gives which command.
    pub keymap: Arc<Keymap>,
    /// What time it is.
    pub now: fn() -> DateTime<Utc>,
}

/// Everything the loop hears.
enum Heard {
    Terminal(Event),
    Signal(i32),
    News(PlanNews),
    Answer(u64, Result<Arc<Answer>, String>),
    /// The book's folder has changed.
    Book,
    /// The terminal is gone.
    Gone(String),
}

/// Opens the screen and stays until the person quits.
///
/// The terminal is given back however it ends; the planner is asked to stop. After SIGTERM, SIGHUP or SIGINT from
/// outside the process ends by that signal once the terminal is given back.
///
/// # Errors
/// When standard output is no terminal, or it goes away.
pub fn run(session: Session) -> anyhow::Result<()> {
    if let Some(signal) = watch(session)? {
        // The terminal is already given back: `watch` dropped its screen.
        emulate_default_handler(signal).context("ending by the signal received")?;
    }
    Ok(())
}

fn watch(mut session: Session) -> anyhow::Result<Option<i32>> {
    let theme = Theme::from_env(|name| std::env::var(name).ok());
    let (cols, rows) = crossterm::terminal::size().context("asking the terminal for its size")?;
    let now = || time::minute_utc((session.now)());
    let mut state = State::new(session.kitchen, now());
    state.inks = theme.inks;
    state.keymap = session.keymap;
    state.progress.revision = 1;
    if let Some(text) = session.text.take() {
        state.paper = Paper::new(text);
    }
    if session.planner.is_some() && !session.fresh {
        state.progress.state = Planning::Running;
    }
    let resize = Message::Resize(crate::app::Screen { cols, rows });
    state = update(state, resize).0;
    if let Some(plan) = session.first {
        let chart = Chart::new(&state.kitchen, plan, state.now);
        state.adopt(chart);
    }

    if let Some(held) = session.held.take() {
        state = update(state, Message::Held(held)).0;
    }
    state.fresh = session.fresh;
    state.from_file = session.from_file;
    if session.fresh {
        state = update(state, Message::Fresh).0;
    }

    // Signals are caught before the terminal is taken: from here on it will be given back.
    let signals = Signals::new([SIGTERM, SIGHUP, SIGINT, SIGTSTP, SIGCONT]).context("catching signals")?;
    let close = signals.handle();
    let mut screen = Screen::take(state.mouse).context("taking the terminal over")?;
    let (tell, heard) = mpsc::channel();
    listen(&tell, signals);
    let mut lp = Loop {
        pointer: Pointer::default(),
        places: Places::default(),
        theme,
        stop: Arc::default(),
        planner: session.planner,
        asker: session.asker,
        stop_asking: Arc::default(),
        keeper: session.keeper,
        tell,
        watcher: None,
        ended: None,
    };
    if !state.fresh {
        lp.plan(&state).context("starting to plan")?;
    }
    lp.watch();
    let mut dirty = true;
    let result = loop {
        if dirty {
            lp.theme.inks = state.inks;
            match screen.draw(|buf| frame(&state, lp.theme, buf)) {
                Ok(places) => lp.places = places,
                Err(e) => break Err(e).context("drawing"),
            }
            dirty = false;
        }
        // Nothing to do until something is heard, or the clock changes what is drawn.
        let due = time::instant(next_wake(&state)) - (session.now)();
        let wait = due.to_std().unwrap_or_default().clamp(Duration::from_millis(50), Duration::from_secs(3600));
        let mut next = match heard.recv_timeout(wait) {
            Ok(h) => Some(h),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => break Ok(()),
        };
        let minute = now();
        if minute != state.now {
            state = update(state, Message::Clock(minute)).0;
            dirty = true;
        }
        let mut quit = false;
        while let Some(h) = next {
            let (after, flow) = lp.take(state, h, &mut screen)?;
            state = after;
            dirty = true;
            if flow == Flow::Quit {
                quit = true;
                break;
            }
            next = heard.try_recv().ok();
        }
        if let Some(said) = panic_elsewhere() {
            state = update(state, Message::Notice(format!("a fault in the background: {said}"))).0;
            dirty = true;
        }
        if quit {
            break Ok(());
        }
    };
    lp.stop.store(true, Ordering::SeqCst);
    lp.stop_asking.store(true, Ordering::SeqCst);
    drop(screen);
    close.close();
    result.map(|()| lp.ended)
}

#[derive(PartialEq, Eq)]
enum Flow {
    On,
    Quit,
}

/// What the loop keeps beside the state.
struct Loop {
    pointer: Pointer,
    places: Places,
    theme: Theme,
    /// Asks the planner at work to stop.
    stop: Arc<AtomicBool>,
    planner: Option<Planner>,
    asker: Option<Asker>,
    /// Asks whoever answers a question to stop.
    stop_asking: Arc<AtomicBool>,
    keeper: Box<dyn Keeper>,
    tell: Sender<Heard>,
    /// Hears when others write into the book's folder; costs nothing while nobody does.
    watcher: Option<notify::RecommendedWatcher>,
    /// The signal that ended it.
    ended: Option<i32>,
}

impl Loop {
    fn take(&mut self, state: State, heard: Heard, screen: &mut Screen) -> anyhow::Result<(State, Flow)> {
        let message = match heard {
            Heard::Terminal(event) => self.pointer.message(&event, &self.places),
            Heard::News(news) => Some(Message::News(news)),
            Heard::Answer(number, answer) => Some(Message::Answer(number, answer)),
            Heard::Book => match self.keeper.catch_up() {
                Ok(held) => held.map(Message::Held),
                Err(e) => Some(Message::Notice(format!("the book cannot be read: {e:#}"))),
            },
            Heard::Signal(SIGTSTP) => {
                suspend(screen)?;
                None
            }
            Heard::Signal(SIGCONT) => {
                screen.resume().context("taking the terminal over again")?;
                None
            }
            Heard::Signal(signal) => {
                self.ended = Some(signal);
                return Ok((state, Flow::Quit));
            }
            Heard::Gone(why) => anyhow::bail!("the terminal is gone: {why}"),
        };
        let Some(message) = message else { return Ok((state, Flow::On)) };
        let (mut state, effects) = update(state, message);
        let mut effects = VecDeque::from(effects);
        while let Some(effect) = effects.pop_front() {
            let more = self.carry_out(effect, &mut state, screen)?;
            match more {
                Some(more) => effects.extend(more),
                None => return Ok((state, Flow::Quit)),
            }
        }
        Ok((state, Flow::On))
    }

    /// Carries an effect out; what follows from it, or nothing when it is the end.
    fn carry_out(
        &mut self,
        effect: Effect,
        state: &mut State,
        screen: &mut Screen,
    ) -> anyhow::Result<Option<Vec<Effect>>> {
        match effect {
            Effect::Quit => return Ok(None),
            Effect::Suspend => suspend(screen)?,
            Effect::StopPlanning => self.stop.store(true, Ordering::SeqCst),
            Effect::Ask(question) => self.ask(state, question),
            Effect::StopAsking => self.stop_asking.store(true, Ordering::SeqCst),
            Effect::Redraw => screen.redraw()?,
            Effect::Mouse(on) => screen.mouse(on)?,
            Effect::Plan => self.plan(state).context("starting to plan")?,
            Effect::Do(deed) => {
                let kept = self.keeper.deed(&deed);
                let Kept { held, says } = match kept {
                    Ok(kept) => kept,
                    Err(e) => {
                        let held = self.keeper.held().ok().flatten();
                        Kept { held, says: Some(format!("not done: {e:#}")) }
                    }
                };
                let mut more = Vec::new();
                for message in held.map(Message::Held).into_iter().chain(says.map(Message::Notice)) {
                    let (after, effects) = update(state.clone(), message);
                    *state = after;
                    more.extend(effects);
                }
                if matches!(deed, Deed::Begin { .. }) {
                    self.watch();
                }
                return Ok(Some(more));
            }
        }
        Ok(Some(Vec::new()))
    }

    /// Hears of others' changes from now on, when there is something that others can change.
    fn watch(&mut self) {
        use notify::Watcher;
        let Some(folder) = self.keeper.watched() else { return };
        let tell = self.tell.clone();
        let watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
            // Being opened and read is no change.
            if event.is_ok_and(|e| !e.kind.is_access()) {
                let _ = tell.send(Heard::Book);
            }
        });
        // A system that cannot watch is no reason not to open: the next act catches up all the same.
        self.watcher = watcher.ok().and_then(|mut w| {
            w.watch(&folder, notify::RecursiveMode::NonRecursive).ok()?;
            Some(w)
        });
    }
}

impl Loop {
    /// Plans the kitchen as it is now, in the place of whatever was being planned.
    fn plan(&mut self, state: &State) -> std::io::Result<()> {
        self.stop.store(true, Ordering::SeqCst);
        self.stop = Arc::default();
        let Some(planner) = &mut self.planner else { return Ok(()) };
        let revision = state.progress.revision;
        let news = planner(state, self.stop.clone())?;
        let to = self.tell.clone();
        std::thread::spawn(move || {
            for n in news {
                if to.send(Heard::News(n)).is_err() {
                    return;
                }
            }
            // The planner is gone without a word, or after its last one: either way nobody looks any more.
            let _ = to.send(Heard::News(PlanNews { revision, news: News::Finished }));
        });
        Ok(())
    }
}

impl Loop {
    /// Answers a question on a thread of its own, in the place of the one before.
    fn ask(&mut self, state: &State, question: Question) {
        self.stop_asking.store(true, Ordering::SeqCst);
        self.stop_asking = Arc::default();
        let Some(asker) = &mut self.asker else { return };
        let work = asker(state, question, self.stop_asking.clone());
        let (to, number) = (self.tell.clone(), state.asking.asked);
        std::thread::spawn(move || {
            let answer = std::panic::catch_unwind(std::panic::AssertUnwindSafe(work));
            let answer = answer.unwrap_or_else(|_| Err("planning with it stopped on a fault of its own".to_owned()));
            drop(to.send(Heard::Answer(number, answer.map(Arc::new))));
        });
    }
}

/// Gives the terminal back, stops, and takes it over again when the shell lets us go on.
fn suspend(screen: &mut Screen) -> anyhow::Result<()> {
    screen.rest();
    emulate_default_handler(SIGTSTP).context("suspending")?;
    screen.resume().context("taking the terminal over again")
}

/// A thread for each thing that can be heard; each ends with its source.
fn listen(tell: &Sender<Heard>, mut signals: Signals) {
    let to = tell.clone();
    std::thread::spawn(move || {
        loop {
            let heard = match crossterm::event::read() {
                Ok(event) => Heard::Terminal(event),
                Err(e) => Heard::Gone(e.to_string()),
            };
            let gone = matches!(heard, Heard::Gone(_));
            if to.send(heard).is_err() || gone {
                return;
            }
        }
    });
    let to = tell.clone();
    std::thread::spawn(move || {
        for signal in signals.forever() {
            if to.send(Heard::Signal(signal)).is_err() {
                return;
            }
        }
    });
}
