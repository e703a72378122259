//! Messages from standard input and to standard output, each behind a header with its length.

use std::io::{BufRead, Read, Write};
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use lsp_server::{ErrorCode, Message, Response};
use serde_json::{Value, json};

/// The largest message that is read, in bytes.
const LARGEST: usize = 64 << 20;

/// What came in.
pub enum Incoming {
    /// A message.
    Message(Message),
    /// Something that is none.
    Unreadable(Refusal),
}

/// Why something is no message, and whose it was as far as can be told.
pub struct Refusal {
    id: Value,
    code: ErrorCode,
    why: String,
}

/// Both directions. A thread reads, so that it can be seen whether a message waits.
pub struct Messages {
    incoming: Receiver<Incoming>,
    seen: Option<Incoming>,
}

impl Messages {
    /// Begins to read.
    pub fn of_standard_input() -> Messages {
        let (sender, incoming) = channel();
        std::thread::spawn(move || {
            let mut input = std::io::stdin().lock();
            while let Some(one) = read(&mut input) {
                if sender.send(one).is_err() {
                    return;
                }
            }
        });
        Messages {
            incoming,
            seen: None,
        }
    }

    /// The next message, waited for; nothing when there will be none.
    pub fn next(&mut self) -> Option<Incoming> {
        match self.seen.take() {
            Some(seen) => Some(seen),
            None => self.incoming.recv().ok(),
        }
    }

    /// Whether a message is there without waiting.
    pub fn is_one_waiting(&mut self) -> bool {
        if self.seen.is_none() {
            match self.incoming.try_recv() {
                Ok(incoming) => self.seen = Some(incoming),
                Err(TryRecvError::Empty | TryRecvError::Disconnected) => {}
            }
        }
        self.seen.is_some()
    }

    /// Sends a response.
    pub fn answer(&self, response: Response) {
        self.send(Message::Response(response));
    }

    /// Sends a message. Where nobody reads, the end of the input follows.
    pub fn send(&self, message: Message) {
        let _ = message.write(&mut std::io::stdout().lock());
    }

    /// Answers what could not be read.
    pub fn refuse(&self, refusal: &Refusal) {
        let error = json!({ "code": refusal.code as i32, "message": refusal.why });
        let answer = json!({ "jsonrpc": "2.0", "id": refusal.id, "error": error }).to_string();
        let mut output = std::io::stdout().lock();
        let written = write!(output, "Content-Length: {}\r\n\r\n{answer}", answer.len());
        // As in `send`.
        let _ = written.and_then(|()| output.flush());
    }
}

/// The next message of a stream; nothing at its end, or where it is no longer known what a
/// message is.
fn read(input: &mut impl BufRead) -> Option<Incoming> {
    let length = header(input)?;
    if length > LARGEST {
        return None;
    }
    let mut bytes = Vec::new();
    let read = input.take(length as u64).read_to_end(&mut bytes);
    if read.ok()? < length {
        return None;
    }
    Some(message(&bytes))
}

/// The length that a header gives.
fn header(input: &mut impl BufRead) -> Option<usize> {
    let mut length = None;
    loop {
        let mut line = String::new();
        let read = input.by_ref().take(1024).read_line(&mut line).ok()?;
        if read == 0 {
            return None;
        }
        let line = line.trim_end();
        if line.is_empty() {
            return length;
        }
        let (name, value) = line.split_once(':')?;
        if name.eq_ignore_ascii_case("content-length") {
            length = Some(value.trim().parse().ok()?);
        }
    }
}

fn message(bytes: &[u8]) -> Incoming {
    let value: Value = match serde_json::from_slice(bytes) {
        Ok(value) => value,
        Err(error) => {
            return Incoming::Unreadable(Refusal {
                id: Value::Null,
                code: ErrorCode::ParseError,
                why: error.to_string(),
            });
        }
    };
    let id = value
        .get("id")
        .filter(|id| id.is_number() || id.is_string())
        .cloned();
    match serde_json::from_value(value) {
        Ok(message) => Incoming::Message(message),
        Err(_) => Incoming::Unreadable(Refusal {
            id: id.unwrap_or(Value::Null),
            code: ErrorCode::InvalidRequest,
            why: "this is no request, notification or response".to_owned(),
        }),
    }
}
