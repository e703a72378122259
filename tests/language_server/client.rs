//! A client of the language server: the program started, messages to it and from it.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use serde_json::{Value, json};

/// Nothing takes that long.
const PATIENCE: Duration = Duration::from_secs(60);

pub struct Client {
    child: Child,
    stdin: Option<ChildStdin>,
    incoming: Receiver<Value>,
    last_id: i64,
}

impl Client {
    /// A server that nothing was said to yet.
    pub fn silent(arguments: &[&str]) -> Client {
        let mut child = Command::new(env!("CARGO_BIN_EXE_groundrule"))
            .arg("language-server")
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let stdout = child.stdout.take().expect("it was piped");
        let (sender, incoming) = channel();
        std::thread::spawn(move || {
            let mut output = BufReader::new(stdout);
            while let Some(message) = read(&mut output) {
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        Client {
            stdin: child.stdin.take(),
            child,
            incoming,
            last_id: 0,
        }
    }

    /// A server whose folder is this one, told what the client can do.
    pub fn started(folder: Option<&str>, capabilities: Value) -> (Client, Value) {
        let mut client = Client::silent(&[]);
        let answer = client.request(
            "initialize",
            json!({ "processId": null, "rootUri": folder, "capabilities": capabilities }),
        );
        client.notify("initialized", json!({}));
        (client, answer["result"].clone())
    }

    /// A server of the library in this package's folder.
    pub fn of_library() -> Client {
        Client::started(Some(&library()), json!({})).0
    }

    pub fn raw(&mut self, text: &str) {
        let stdin = self.stdin.as_mut().expect("it is open");
        stdin.write_all(text.as_bytes()).expect("it reads");
        stdin.flush().expect("it reads");
    }

    pub fn send(&mut self, message: &Value) {
        let text = message.to_string();
        self.raw(&format!("Content-Length: {}\r\n\r\n{text}", text.len()));
    }

    pub fn notify(&mut self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// The answer to a request; what the server tells in between is passed over.
    pub fn request(&mut self, method: &str, params: Value) -> Value {
        self.last_id += 1;
        let id = self.last_id;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        self.wait_for(|message| message["id"] == id && message.get("method").is_none())
    }

    pub fn wait_for(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        loop {
            let message = self.incoming.recv_timeout(PATIENCE).expect("an answer");
            if wanted(&message) {
                return message;
            }
        }
    }

    pub fn open(&mut self, uri: &str, text: &str) {
        let document =
            json!({ "uri": uri, "languageId": "groundrule", "version": 1, "text": text });
        self.notify("textDocument/didOpen", json!({ "textDocument": document }));
    }

    pub fn change(&mut self, uri: &str, version: i32, text: &str) {
        self.notify(
            "textDocument/didChange",
            json!({
                "textDocument": { "uri": uri, "version": version },
                "contentChanges": [{ "text": text }],
            }),
        );
    }

    /// The mistakes that the server tells next of a state of a document.
    pub fn mistakes(&mut self, uri: &str, version: i32) -> Vec<Value> {
        let told = self.wait_for(|message| {
            message["method"] == "textDocument/publishDiagnostics"
                && message["params"]["uri"] == uri
                && message["params"]["version"] == version
        });
        told["params"]["diagnostics"]
            .as_array()
            .expect("a list")
            .clone()
    }

    /// What is asked of a place of a document.
    pub fn ask(&mut self, method: &str, uri: &str, (line, character): (usize, usize)) -> Value {
        let answer = self.request(
            method,
            json!({
                "textDocument": { "uri": uri },
                "position": { "line": line, "character": character },
            }),
        );
        assert_eq!(answer.get("error"), None, "{answer}");
        answer["result"].clone()
    }

    /// Closes the input and gives the exit status.
    pub fn end(mut self) -> Option<i32> {
        self.stdin = None;
        self.child.wait().expect("it ends").code()
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        self.stdin = None;
        // It ends by itself when its input does; a failed test need not wait for that.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn read(output: &mut impl BufRead) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim_end() {
            "" => break,
            header => {
                length = header.strip_prefix("Content-Length: ")?.parse().ok()?;
            }
        }
    }
    let mut bytes = vec![0; length];
    output.read_exact(&mut bytes).ok()?;
    serde_json::from_slice(&bytes).ok()
}

/// The document of this package's folder.
pub fn library() -> String {
    format!("file://{}", env!("CARGO_MANIFEST_DIR"))
}

/// A file of this package: its document and its text.
pub fn file(name: &str) -> (String, String) {
    let path = format!("{}/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("a file of the library");
    (format!("{}/{name}", library()), text)
}

/// The line and the unit of UTF-16 at which something first stands in a text, and so many units on.
pub fn place(text: &str, wanted: &str, on: usize) -> (usize, usize) {
    let at = text.find(wanted).expect("it stands there");
    let (line, unit) = position(&text[..at]);
    (line, unit + on)
}

/// Where something that first stands in a text ends.
pub fn end_of(text: &str, wanted: &str) -> (usize, usize) {
    let at = text.find(wanted).expect("it stands there");
    position(&text[..at + wanted.len()])
}

fn position(before: &str) -> (usize, usize) {
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    (
        before.matches('\n').count(),
        before[line_start..].encode_utf16().count(),
    )
}
