//! The desktop's notifications where there is no D-Bus: shown by notify-rust, without buttons.

use super::popup::{Answer, Door, Popup};
use std::sync::mpsc::{Sender, channel};
use std::time::Duration;

/// The way to the notification server.
pub struct Desktop {
    deadline: Duration,
}

impl Desktop {
    pub fn new(deadline: Duration, _: Sender<Answer>) -> Self {
        Self { deadline }
    }
}

impl Door for Desktop {
    fn show(&mut self, popup: &Popup) -> Result<u32, String> {
        let (tx, rx) = channel();
        let (title, body) = (popup.title.clone(), popup.body.join("\n"));
        let work = move || {
            let shown = notify_rust::Notification::new().summary(&title).body(&body).show();
            let _ = tx.send(shown.map(|_| 0).map_err(|e| e.to_string()));
        };
        std::thread::Builder::new().spawn(work).map_err(|e| e.to_string())?;
        rx.recv_timeout(self.deadline).unwrap_or_else(|_| Err("the notification server does not answer".to_owned()))
    }

    fn close(&mut self, _: u32) {}
}
