//! The desktop's notification server, over D-Bus (the freedesktop Desktop Notifications Specification).
//!
//! The bus is spoken to on a thread of its own, and every question has a deadline: a bus or a server that never answers
//! costs seconds, and the thread is left behind. The signals are subscribed to before the first popup is sent, on the
//! connection that sends it, so a click is not lost however quick it is.

use super::popup::{Answer, Door, Popup, escaped};
use std::collections::HashMap;
use std::pin::Pin;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::Duration;
use zbus::export::futures_core::Stream;
use zbus::{Connection, MatchRule, MessageStream, Variant, block_on};

const NAME: &str = "org.freedesktop.Notifications";
const PATH: &str = "/org/freedesktop/Notifications";

enum Ask {
    Show(Box<Popup>, Sender<Result<u32, String>>),
    Close(u32),
}

/// The way to the notification server.
pub struct Desktop {
    deadline: Duration,
    asks: Option<Sender<Ask>>,
    answers: Sender<Answer>,
}

impl Desktop {
    /// `answers` is told what a person clicks. Nothing is connected to before the first popup.
    pub fn new(deadline: Duration, answers: Sender<Answer>) -> Self {
        Self { deadline, asks: None, answers }
    }
}

impl Door for Desktop {
    fn show(&mut self, popup: &Popup) -> Result<u32, String> {
        let asks = match self.asks.take() {
            Some(a) => a,
            None => {
                let (tx, rx) = channel();
                let (answers, deadline) = (self.answers.clone(), self.deadline);
                let work = move || speak(&rx, &answers, deadline);
                let name = "notifications".to_owned();
                std::thread::Builder::new().name(name).stack_size(256 << 10).spawn(work).map_err(|e| e.to_string())?;
                tx
            }
        };
        let (tx, rx) = channel();
        asks.send(Ask::Show(Box::new(popup.clone()), tx))
            .map_err(|_| "the connection to the bus is gone".to_owned())?;
        match rx.recv_timeout(self.deadline + Duration::from_millis(500)) {
            Ok(Ok(id)) => {
                self.asks = Some(asks);
                Ok(id)
            }
            // The next popup begins with a fresh connection.
            Ok(Err(e)) => Err(e),
            Err(_) => Err(format!("the notification server does not answer within {} s", self.deadline.as_secs_f32())),
        }
    }

    fn close(&mut self, id: u32) {
        if let Some(asks) = &self.asks {
            let _ = asks.send(Ask::Close(id));
        }
    }
}

/// The thread that speaks with the bus, until the door has let go of it.
fn speak(asks: &Receiver<Ask>, answers: &Sender<Answer>, deadline: Duration) {
    let connected = block_on(connect(deadline));
    let connection = match connected {
        Ok((connection, signals)) => {
            let answers = answers.clone();
            let listen = move || block_on(listen(signals, &answers));
            let named = std::thread::Builder::new().name("clicks".to_owned()).stack_size(256 << 10);
            if let Err(e) = named.spawn(listen) {
                return refuse_all(asks, &e.to_string());
            }
            connection
        }
        Err(e) => return refuse_all(asks, &e.to_string()),
    };
    while let Ok(ask) = asks.recv() {
        match ask {
            Ask::Show(popup, reply) => {
                let shown = block_on(notify(&connection, &popup));
                let failed = shown.is_err();
                let _ = reply.send(shown.map_err(|e| e.to_string()));
                if failed {
                    break;
                }
            }
            Ask::Close(id) => {
                let _ = block_on(connection.call_method(Some(NAME), PATH, Some(NAME), "CloseNotification", &(id,)));
            }
        }
    }
    let _ = block_on(connection.close());
}

fn refuse_all(asks: &Receiver<Ask>, says: &str) {
    while let Ok(ask) = asks.recv() {
        if let Ask::Show(_, reply) = ask {
            let _ = reply.send(Err(says.to_owned()));
        }
    }
}

async fn connect(deadline: Duration) -> zbus::Result<(Connection, [MessageStream; 2])> {
    let connection = zbus::connection::Builder::session().method_timeout(deadline).build().await?;
    let clicks = MatchRule::builder().msg_type(zbus::message::Type::Signal).interface(NAME).path(PATH).build()?;
    let owner = MatchRule::builder()
        .msg_type(zbus::message::Type::Signal)
        .sender("org.freedesktop.DBus")
        .member("NameOwnerChanged")
        .arg(0, NAME)
        .build()?;
    let clicks = MessageStream::for_match_rule(clicks, &connection, None).await?;
    let owner = MessageStream::for_match_rule(owner, &connection, None).await?;
    Ok((connection, [clicks, owner]))
}

async fn notify(connection: &Connection, popup: &Popup) -> zbus::Result<u32> {
    let body: Vec<String> = popup.body.iter().map(|l| escaped(l)).collect();
    let actions: &[&str] = if popup.asks { &["done", "Done", "snooze", "Snooze"] } else { &[] };
    let mut hints: HashMap<&str, Variant> = HashMap::new();
    hints.insert("urgency", Variant::U8(if popup.urgent { 2 } else { 1 }));
    hints.insert("category", Variant::from("x-turnday.nudge"));
    hints.insert("desktop-entry", Variant::from("turnday"));
    for tag in ["x-dunst-stack-tag", "x-canonical-private-synchronous"] {
        hints.insert(tag, Variant::from(popup.tag.as_str()));
    }
    // 0: it stays until it is answered.
    let expires: i32 = if popup.brief { 1500 } else { 0 };
    let call =
        ("turnday", popup.replaces, "appointment-soon", popup.title.as_str(), body.join("\n"), actions, hints, expires);
    let reply = connection.call_method(Some(NAME), PATH, Some(NAME), "Notify", &call).await?;
    reply.body().deserialize()
}

/// Passes on what is clicked until the connection ends.
async fn listen(mut signals: [MessageStream; 2], answers: &Sender<Answer>) {
    loop {
        let next = std::future::poll_fn(|cx| {
            let mut ended = 0;
            for s in &mut signals {
                match Pin::new(s).poll_next(cx) {
                    std::task::Poll::Ready(Some(m)) => return std::task::Poll::Ready(Some(m)),
                    std::task::Poll::Ready(None) => ended += 1,
                    std::task::Poll::Pending => {}
                }
            }
            if ended > 0 { std::task::Poll::Ready(None) } else { std::task::Poll::Pending }
        });
        let Some(message) = next.await else { break };
        let Ok(message) = message else { continue };
        let header = message.header();
        let member = header.member().map(|m| m.as_str().to_owned()).unwrap_or_default();
        let body = message.body();
        let answer = match member.as_str() {
            "ActionInvoked" => match body.deserialize::<(u32, String)>() {
                Ok((id, key)) if key == "done" => Answer::Done { id },
                Ok((id, key)) if key == "snooze" => Answer::Snooze { id },
                _ => continue,
            },
            "NotificationClosed" => match body.deserialize::<(u32, u32)>() {
                Ok((id, _)) => Answer::Closed { id },
                Err(_) => continue,
            },
            "NameOwnerChanged" => match body.deserialize::<(String, String, String)>() {
                Ok((_, old, _)) if !old.is_empty() => Answer::Gone,
                _ => continue,
            },
            _ => continue,
        };
        if answers.send(answer).is_err() {
            return;
        }
    }
    let _ = answers.send(Answer::Gone);
}
