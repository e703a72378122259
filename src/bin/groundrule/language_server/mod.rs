//! `language-server`: the Language Server Protocol on standard input and output.
//!
//! Messages are answered one after another; the library is checked when none is waiting, so that
//! fast typing is checked once.

mod answers;
mod documents;
mod messages;
mod notices;

use std::io::IsTerminal;

use groundrule::editing::Workspace;
use groundrule::editing::position::Encoding;
use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response};
use lsp_types::{
    CompletionOptions, HoverProviderCapability, InitializeParams, InitializeResult, OneOf,
    PositionEncodingKind, ServerCapabilities, ServerInfo, TextDocumentSyncCapability,
    TextDocumentSyncKind, TextDocumentSyncOptions,
};
use serde_json::Value;

use crate::args::LanguageServer;
use crate::input::{self, Failure};
use documents::{Documents, Home};
use messages::{Incoming, Messages};

/// The editor went away without asking for the end.
const LEFT: u8 = 1;

/// Serves until the editor says `exit`, or is gone.
pub fn run(server: &LanguageServer) -> Result<u8, Failure> {
    if std::io::stdin().is_terminal() {
        return Err(Failure::Option {
            what: "language-server: nobody speaks the protocol here".to_owned(),
            mend: "an editor starts it; the README says how to set one up".to_owned(),
        });
    }
    if let Some(folder) = &server.library {
        input::texts(Some(folder))?;
    }
    let mut messages = Messages::of_standard_input();
    let Some(start) = initialized(&mut messages) else {
        return Ok(LEFT);
    };
    let home = Home::of(server.library.as_deref(), &start);
    let mut session = Session {
        encoding: encoding(&start),
        workspace: Workspace::new(home.texts().unwrap_or_default()),
        documents: Documents::new(home),
        published: notices::Published::default(),
        changed: true,
        shut_down: false,
    };
    if watches(&start) {
        messages.send(notices::watch());
    }
    Ok(session.serve(&mut messages))
}

/// The client's first request, answered; nothing if it goes away before.
fn initialized(messages: &mut Messages) -> Option<InitializeParams> {
    loop {
        match messages.next()? {
            Incoming::Message(Message::Request(request)) if request.method == "initialize" => {
                match serde_json::from_value::<InitializeParams>(request.params) {
                    Ok(params) => {
                        let answer = serde_json::to_value(capabilities(&params));
                        messages.answer(answered(request.id, answer));
                        return Some(params);
                    }
                    Err(error) => messages.answer(answered(request.id, Err(error))),
                }
            }
            Incoming::Message(Message::Request(request)) => messages.answer(failed(
                request.id,
                ErrorCode::ServerNotInitialized,
                "the first request must be `initialize`",
            )),
            Incoming::Message(Message::Notification(notification)) => {
                if notification.method == "exit" {
                    return None;
                }
            }
            Incoming::Message(Message::Response(_)) => {}
            Incoming::Unreadable(refusal) => messages.refuse(&refusal),
        }
    }
}

fn encoding(params: &InitializeParams) -> Encoding {
    let general = params.capabilities.general.as_ref();
    let offered = general.and_then(|general| general.position_encodings.as_ref());
    match offered {
        Some(offered) if offered.contains(&PositionEncodingKind::UTF8) => Encoding::Utf8,
        Some(_) | None => Encoding::Utf16,
    }
}

/// Whether the client can tell of files that change beside it.
fn watches(params: &InitializeParams) -> bool {
    let workspace = params.capabilities.workspace.as_ref();
    workspace
        .and_then(|workspace| workspace.did_change_watched_files.as_ref())
        .and_then(|watching| watching.dynamic_registration)
        .unwrap_or(false)
}

fn capabilities(params: &InitializeParams) -> InitializeResult {
    let encoding = match encoding(params) {
        Encoding::Utf8 => PositionEncodingKind::UTF8,
        Encoding::Utf16 => PositionEncodingKind::UTF16,
    };
    InitializeResult {
        capabilities: ServerCapabilities {
            position_encoding: Some(encoding),
            text_document_sync: Some(TextDocumentSyncCapability::Options(
                TextDocumentSyncOptions {
                    open_close: Some(true),
                    change: Some(TextDocumentSyncKind::FULL),
                    save: Some(true.into()),
                    ..TextDocumentSyncOptions::default()
                },
            )),
            hover_provider: Some(HoverProviderCapability::Simple(true)),
            definition_provider: Some(OneOf::Left(true)),
            completion_provider: Some(CompletionOptions {
                trigger_characters: Some(vec![".".to_owned(), " ".to_owned()]),
                ..CompletionOptions::default()
            }),
            document_formatting_provider: Some(OneOf::Left(true)),
            ..ServerCapabilities::default()
        },
        server_info: Some(ServerInfo {
            name: "groundrule".to_owned(),
            version: Some(env!("CARGO_PKG_VERSION").to_owned()),
        }),
    }
}

/// What the server knows between two messages.
struct Session {
    encoding: Encoding,
    documents: Documents,
    workspace: Workspace,
    published: notices::Published,
    /// Whether something changed since the library was last checked.
    changed: bool,
    shut_down: bool,
}

impl Session {
    fn serve(&mut self, messages: &mut Messages) -> u8 {
        loop {
            if self.changed && !messages.is_one_waiting() {
                self.changed = false;
                self.publish(messages);
            }
            let Some(incoming) = messages.next() else {
                return LEFT;
            };
            match incoming {
                Incoming::Message(Message::Request(request)) => {
                    let answer = self.answer(request);
                    messages.answer(answer);
                }
                Incoming::Message(Message::Notification(notification)) => {
                    if notification.method == "exit" {
                        return if self.shut_down { 0 } else { LEFT };
                    }
                    self.note(notification);
                }
                Incoming::Message(Message::Response(_)) => {}
                Incoming::Unreadable(refusal) => messages.refuse(&refusal),
            }
        }
    }

    fn answer(&mut self, request: Request) -> Response {
        let Request { id, method, params } = request;
        if self.shut_down {
            let why = "the server has been shut down";
            return failed(id, ErrorCode::InvalidRequest, why);
        }
        let value = match method.as_str() {
            "shutdown" => {
                self.shut_down = true;
                Ok(Value::Null)
            }
            "initialize" => {
                let why = "the server is initialized already";
                return failed(id, ErrorCode::InvalidRequest, why);
            }
            "textDocument/hover" => self.asked(params, Session::hover),
            "textDocument/definition" => self.asked(params, Session::definition),
            "textDocument/completion" => self.asked(params, Session::completion),
            "textDocument/formatting" => self.asked(params, Session::formatting),
            _ => {
                let why = format!("the server has no `{method}`");
                return failed(id, ErrorCode::MethodNotFound, &why);
            }
        };
        answered(id, value)
    }

    fn asked<P: serde::de::DeserializeOwned, R: serde::Serialize>(
        &self,
        params: Value,
        answer: impl Fn(&Session, P) -> R,
    ) -> serde_json::Result<Value> {
        serde_json::to_value(answer(self, serde_json::from_value(params)?))
    }

    /// Takes up what the client tells; what can't be read is passed over, as no answer is due.
    fn note(&mut self, notification: Notification) {
        let Notification { method, params } = notification;
        let taken = match method.as_str() {
            "textDocument/didOpen" => serde_json::from_value(params).map(|told| self.opened(told)),
            "textDocument/didChange" => {
                serde_json::from_value(params).map(|told| self.edited(told))
            }
            "textDocument/didClose" => serde_json::from_value(params).map(|told| self.closed(told)),
            "textDocument/didSave" | "workspace/didChangeWatchedFiles" => {
                if let Some(texts) = self.documents.home.texts() {
                    self.workspace.save(texts);
                }
                Ok(())
            }
            _ => return,
        };
        match taken {
            Ok(()) => self.changed = true,
            Err(error) => crate::output::complain(&format!("{method}: {error}")),
        }
    }
}

fn answered(id: RequestId, value: serde_json::Result<Value>) -> Response {
    match value {
        Ok(value) => Response {
            id,
            response_result: Ok(value),
        },
        Err(error) => failed(id, ErrorCode::InvalidParams, &error.to_string()),
    }
}

fn failed(id: RequestId, code: ErrorCode, why: &str) -> Response {
    Response::new_err(id, code as i32, why.to_owned())
}
