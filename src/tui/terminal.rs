//! The terminal taken over and given back: on quit, on panic, on a signal, and for a while on suspend.

use std::io::{self, Stdout, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, Once, OnceLock};
use std::thread::ThreadId;

use crossterm::event::{DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture};
use crossterm::terminal::{
    BeginSynchronizedUpdate, DisableLineWrap, EnableLineWrap, EndSynchronizedUpdate, EnterAlternateScreen,
    LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use crossterm::{cursor, execute, queue};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Whether the terminal is ours; the panic hook asks it.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// The thread that draws, and what a panic on another thread said.
static OWNER: Mutex<Option<ThreadId>> = Mutex::new(None);
static ELSEWHERE: OnceLock<Mutex<Option<String>>> = OnceLock::new();

/// The terminal while it is ours. Dropping it gives it back.
pub struct Screen {
    terminal: Terminal<CrosstermBackend<Stdout>>,
    mouse: bool,
}

impl Screen {
    /// Takes the terminal over.
    ///
    /// # Errors
    /// When standard output is no terminal or cannot be written.
    pub fn take(mouse: bool) -> io::Result<Self> {
        hook();
        *OWNER.lock().unwrap_or_else(|e| e.into_inner()) = Some(std::thread::current().id());
        // With NO_COLOR set crossterm would write resets that wipe bold and reverse; the theme decides, not it.
        crossterm::style::force_color_output(true);
        enter(mouse)?;
        let terminal = Terminal::new(CrosstermBackend::new(io::stdout()));
        match terminal {
            Ok(terminal) => Ok(Self { terminal, mouse }),
            Err(e) => {
                give_back();
                Err(e)
            }
        }
    }

    /// Draws one frame, shown all at once where the terminal can.
    pub fn draw<T>(&mut self, draw: impl FnOnce(&mut Buffer) -> T) -> io::Result<T> {
        let mut drawn = None;
        queue!(io::stdout(), BeginSynchronizedUpdate)?;
        self.terminal.draw(|frame| drawn = Some(draw(frame.buffer_mut())))?;
        execute!(io::stdout(), EndSynchronizedUpdate)?;
        drawn.ok_or_else(|| io::Error::other("nothing was drawn"))
    }

    /// Forgets what is on the terminal, so that the next frame is drawn whole.
    pub fn redraw(&mut self) -> io::Result<()> {
        // Not `clear`, which asks the terminal where the cursor is and can wait for the answer in vain.
        let (cols, rows) = crossterm::terminal::size()?;
        queue!(io::stdout(), crossterm::terminal::Clear(crossterm::terminal::ClearType::All))?;
        self.terminal.resize(Rect::new(0, 0, cols, rows))
    }

    pub fn mouse(&mut self, on: bool) -> io::Result<()> {
        self.mouse = on;
        if on { execute!(io::stdout(), EnableMouseCapture) } else { execute!(io::stdout(), DisableMouseCapture) }
    }

    /// Gives the terminal back until [`Self::resume`].
    pub fn rest(&mut self) {
        give_back();
    }

    /// Takes it over again and draws everything anew.
    pub fn resume(&mut self) -> io::Result<()> {
        enter(self.mouse)?;
        self.redraw()
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        give_back();
    }
}

/// What a panic on another thread said since it was last asked.
pub fn panic_elsewhere() -> Option<String> {
    ELSEWHERE.get_or_init(Default::default).lock().ok()?.take()
}

fn enter(mouse: bool) -> io::Result<()> {
    enable_raw_mode()?;
    TAKEN.store(true, Ordering::SeqCst);
    let mut out = io::stdout();
    queue!(out, EnterAlternateScreen, cursor::Hide, DisableLineWrap, EnableBracketedPaste)?;
    if mouse {
        queue!(out, EnableMouseCapture)?;
    }
    out.flush()
}

/// Undoes everything [`enter`] did, once; errors are of no use to anybody here.
fn give_back() {
    if TAKEN.swap(false, Ordering::SeqCst) {
        let mut out = io::stdout();
        let _ = execute!(
            out,
            EndSynchronizedUpdate,
            DisableMouseCapture,
            DisableBracketedPaste,
            EnableLineWrap,
            LeaveAlternateScreen,
            cursor::Show
        );
        let _ = disable_raw_mode();
    }
}

/// Before a panic says its word the terminal is given back. A panic on another thread does not tear the screen: it is
/// kept for [`panic_elsewhere`].
fn hook() {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let before: Arc<dyn Fn(&std::panic::PanicHookInfo<'_>) + Send + Sync> = std::panic::take_hook().into();
        std::panic::set_hook(Box::new(move |info| {
            let ours = OWNER.lock().is_ok_and(|o| *o == Some(std::thread::current().id()));
            if ours || !TAKEN.load(Ordering::SeqCst) {
                give_back();
                before(info);
            } else if let Ok(mut kept) = ELSEWHERE.get_or_init(Default::default).lock() {
                *kept = Some(info.to_string());
            }
        }));
    });
}
