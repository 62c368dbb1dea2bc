//! The conversation with the editor: edits and questions come in order, findings go out when an edit comes to rest.

use super::actions::{self, Wanted};
use super::desk::{Desk, Disk, Kind, kind, path_of};
use super::findings::{self, Entries};
use super::study::{Study, job_faults};
use super::text::{Columns, Text};
use super::{hints, hover, links, outline};
use crate::source::SourceId;
use lsp_server::{Connection, ErrorCode, Message, Notification, Request, RequestId, Response};
use lsp_types::notification::{self as heard, Notification as _};
use lsp_types::request::{self as asked, Request as _};
use lsp_types::{
    ClientCapabilities, CodeActionKind, CodeActionOptions, CodeActionParams, CodeActionProviderCapability, Diagnostic,
    DidChangeWatchedFilesRegistrationOptions, DocumentLink, DocumentLinkOptions, DocumentSymbolResponse,
    FileSystemWatcher, FoldingRangeProviderCapability, GlobPattern, GotoDefinitionResponse, Hover, HoverContents,
    HoverProviderCapability, InitializeParams, InitializeResult, InlayHint, InlayHintParams, MarkupContent, MarkupKind,
    MessageType, OneOf, PublishDiagnosticsParams, Registration, RegistrationParams, SaveOptions, ServerCapabilities,
    ServerInfo, ShowMessageParams, TextDocumentPositionParams, TextDocumentSyncCapability, TextDocumentSyncKind,
    TextDocumentSyncOptions, Uri,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long no edit has to come before findings are worked out, and the longest that edits put it off. House values.
const REST: Duration = Duration::from_millis(15);
const LONGEST: Duration = Duration::from_millis(150);
/// What may change findings when it changes on disk.
const WATCHED: &str = "**/*.{toml,csv,nc,NC,cnc,tap,iso,eia,ngc}";

/// How a conversation ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parting {
    /// By `shutdown` and `exit`.
    Goodbye,
    /// Without them.
    Left,
}

/// Serves one editor until it says goodbye or is gone.
pub fn serve(connection: &Connection, disk: &dyn Disk) -> Parting {
    let Some((id, params)) = hello(connection) else { return Parting::Left };
    let params: InitializeParams = serde_json::from_value(params).unwrap_or_default();
    let general = params.capabilities.general.as_ref();
    let columns = Columns::agreed(general.and_then(|general| general.position_encodings.as_deref()));
    let _ = connection.sender.send(Response::new_ok(id, introduction(columns)).into());
    let mut server = Server {
        connection,
        desk: Desk::new(disk, columns),
        client: Client::of(&params.capabilities),
        studies: BTreeMap::new(),
        stale: BTreeSet::new(),
        since: None,
        said: BTreeMap::new(),
        shown: BTreeMap::new(),
    };
    server.converse()
}

/// Waits for `initialize`; nothing else is answered before it.
fn hello(connection: &Connection) -> Option<(RequestId, Value)> {
    loop {
        match connection.receiver.recv().ok()? {
            Message::Request(request) if request.method == asked::Initialize::METHOD => {
                return Some((request.id, request.params));
            }
            Message::Request(Request { id, .. }) => {
                let code = ErrorCode::ServerNotInitialized as i32;
                let _ = connection.sender.send(Response::new_err(id, code, "initialize comes first".to_owned()).into());
            }
            Message::Notification(note) if note.method == heard::Exit::METHOD => return None,
            Message::Notification(_) | Message::Response(_) => {}
        }
    }
}

fn introduction(columns: Columns) -> InitializeResult {
    let sync = TextDocumentSyncOptions {
        open_close: Some(true),
        change: Some(TextDocumentSyncKind::INCREMENTAL),
        save: Some(SaveOptions::default().into()),
        ..TextDocumentSyncOptions::default()
    };
    let kinds = vec![CodeActionKind::QUICKFIX, CodeActionKind::SOURCE_FIX_ALL];
    let actions = CodeActionOptions { code_action_kinds: Some(kinds), ..CodeActionOptions::default() };
    let links = DocumentLinkOptions { resolve_provider: Some(false), work_done_progress_options: Default::default() };
    let capabilities = ServerCapabilities {
        position_encoding: Some(columns.kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        inlay_hint_provider: Some(OneOf::Left(true)),
        code_action_provider: Some(CodeActionProviderCapability::Options(actions)),
        document_symbol_provider: Some(OneOf::Left(true)),
        definition_provider: Some(OneOf::Left(true)),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        document_link_provider: Some(links),
        ..ServerCapabilities::default()
    };
    let version = Some(env!("CARGO_PKG_VERSION").to_owned());
    InitializeResult { capabilities, server_info: Some(ServerInfo { name: "lastply".to_owned(), version }) }
}

/// What the editor can do.
struct Client {
    /// Takes edits with the version of the text they are for.
    versions: bool,
    /// Can be asked to watch files.
    watches: bool,
}

impl Client {
    fn of(capabilities: &ClientCapabilities) -> Self {
        let workspace = capabilities.workspace.as_ref();
        let edits = workspace.and_then(|workspace| workspace.workspace_edit.as_ref()?.document_changes);
        let watches = workspace.and_then(|workspace| workspace.did_change_watched_files?.dynamic_registration);
        Self { versions: edits.unwrap_or(false), watches: watches.unwrap_or(false) }
    }
}

/// One conversation.
struct Server<'c> {
    connection: &'c Connection,
    desk: Desk<'c>,
    client: Client,
    /// Open programs as last read.
    studies: BTreeMap<PathBuf, Study>,
    /// Open texts to be read again, and since when.
    stale: BTreeSet<PathBuf>,
    since: Option<Instant>,
    /// What each open text has to say, by the file it says it in.
    said: BTreeMap<PathBuf, Entries>,
    /// What the editor was last told, by file.
    shown: BTreeMap<PathBuf, Vec<Diagnostic>>,
}

/// An error as a response carries it.
type Refusal = (ErrorCode, String);

impl Server<'_> {
    fn converse(&mut self) -> Parting {
        loop {
            let message = match self.since.map(patience) {
                None => self.connection.receiver.recv().map_err(|_| false),
                Some(patience) => self.connection.receiver.recv_timeout(patience).map_err(|error| error.is_timeout()),
            };
            match message {
                Ok(Message::Request(Request { id, method, .. })) if method == asked::Shutdown::METHOD => {
                    self.send(Response::new_ok(id, ()));
                    return self.farewell();
                }
                Ok(Message::Notification(note)) if note.method == heard::Exit::METHOD => return Parting::Left,
                Ok(Message::Request(request)) => self.answer(request),
                Ok(Message::Notification(note)) => self.hear(note),
                Ok(Message::Response(_)) => {}
                Err(true) => self.refresh(),
                Err(false) => return Parting::Left,
            }
        }
    }

    /// Waits for `exit` behind `shutdown`; nothing is answered any more.
    fn farewell(&self) -> Parting {
        loop {
            match self.connection.receiver.recv() {
                Ok(Message::Notification(note)) if note.method == heard::Exit::METHOD => return Parting::Goodbye,
                Ok(Message::Request(Request { id, .. })) => {
                    let code = ErrorCode::InvalidRequest as i32;
                    self.send(Response::new_err(id, code, "nothing is answered behind shutdown".to_owned()));
                }
                Ok(_) => {}
                Err(_) => return Parting::Left,
            }
        }
    }

    /// Sends; whoever is gone is noticed when nothing can be received.
    fn send(&self, message: impl Into<Message>) {
        let _ = self.connection.sender.send(message.into());
    }

    fn tell<N: lsp_types::notification::Notification>(&self, params: N::Params) {
        self.send(Notification::new(N::METHOD.to_owned(), params));
    }

    fn warn(&self, message: String) {
        self.tell::<heard::ShowMessage>(ShowMessageParams { typ: MessageType::WARNING, message });
    }

    fn answer(&mut self, request: Request) {
        let Request { id, method, params } = request;
        self.refresh();
        let result = catch_unwind(AssertUnwindSafe(|| self.result(&method, params)));
        let fault = || Err((ErrorCode::InternalError, format!("a fault of lastply in {method}; please report it")));
        self.send(match result.unwrap_or_else(|_| fault()) {
            Ok(value) => Response::new_ok(id, value),
            Err((code, message)) => Response::new_err(id, code as i32, message),
        });
    }

    fn result(&self, method: &str, params: Value) -> Result<Value, Refusal> {
        match method {
            asked::HoverRequest::METHOD => {
                reply::<asked::HoverRequest>(params, |params| self.hover(&params.text_document_position_params))
            }
            asked::GotoDefinition::METHOD => {
                reply::<asked::GotoDefinition>(params, |params| self.definition(&params.text_document_position_params))
            }
            asked::InlayHintRequest::METHOD => {
                reply::<asked::InlayHintRequest>(params, |params| Some(self.hints(&params)))
            }
            asked::CodeActionRequest::METHOD => {
                reply::<asked::CodeActionRequest>(params, |params| Some(self.actions(&params)))
            }
            asked::DocumentSymbolRequest::METHOD => reply::<asked::DocumentSymbolRequest>(params, |params| {
                let (study, id, _) = self.program(&params.text_document.uri)?;
                Some(DocumentSymbolResponse::Nested(outline::symbols(study, id, &self.desk)))
            }),
            asked::FoldingRangeRequest::METHOD => reply::<asked::FoldingRangeRequest>(params, |params| {
                let (study, id, _) = self.program(&params.text_document.uri)?;
                Some(outline::folds(study, id, &self.desk))
            }),
            asked::DocumentLinkRequest::METHOD => {
                reply::<asked::DocumentLinkRequest>(params, |params| Some(self.links(&params.text_document.uri)))
            }
            _ => Err((ErrorCode::MethodNotFound, format!("there is no `{method}` here"))),
        }
    }

    /// The program of a text: itself, or the one that runs it as a subprogram; with the text.
    fn program(&self, uri: &Uri) -> Option<(&Study, SourceId, &Text)> {
        let path = path_of(uri);
        let text = &self.desk.document(&path)?.text;
        let own = self.studies.get(&path).filter(|_| !findings::is_part_of_another(&path, &self.studies));
        let study =
            own.or_else(|| self.studies.values().find(|study| study.path != path && study.source_of(&path).is_some()));
        let study = study?;
        Some((study, study.source_of(&path)?, text))
    }

    fn hover(&self, at: &TextDocumentPositionParams) -> Option<Hover> {
        let (study, id, text) = self.program(&at.text_document.uri)?;
        let line = text.line(at.position.line)?;
        let value = hover::of_line(study, id, line, &self.desk)?;
        let contents = HoverContents::Markup(MarkupContent { kind: MarkupKind::Markdown, value });
        Some(Hover { contents, range: Some(text.range(line, self.desk.columns)) })
    }

    fn definition(&self, at: &TextDocumentPositionParams) -> Option<GotoDefinitionResponse> {
        let (study, id, text) = self.program(&at.text_document.uri)?;
        let line = text.line(at.position.line)?;
        links::definition(study, id, line, &self.desk).map(GotoDefinitionResponse::Scalar)
    }

    fn hints(&self, params: &InlayHintParams) -> Vec<InlayHint> {
        let Some((study, id, text)) = self.program(&params.text_document.uri) else { return Vec::new() };
        let (within, _) = text.span(params.range, self.desk.columns);
        hints::of_range(study, id, within, &self.desk)
    }

    fn actions(&self, params: &CodeActionParams) -> Vec<lsp_types::CodeActionOrCommand> {
        let Some((study, id, text)) = self.program(&params.text_document.uri) else { return Vec::new() };
        let (within, _) = text.span(params.range, self.desk.columns);
        let within = crate::source::Span::new(text.line_at(within.start).start, text.line_at(within.end).end);
        let wanted = Wanted { only: params.context.only.as_deref(), versions: self.client.versions };
        actions::of_range(study, id, within, &wanted, &self.desk)
    }

    fn links(&self, uri: &Uri) -> Vec<DocumentLink> {
        let path = path_of(uri);
        let Some(document) = self.desk.document(&path) else { return Vec::new() };
        match (kind(&path), self.program(uri)) {
            (Kind::Program, Some((study, _, text))) => links::of_program(study, text, &self.desk),
            (Kind::Job, _) => links::of_job(&path, &document.text, &self.desk),
            (Kind::Program | Kind::Other, _) => Vec::new(),
        }
    }

    fn hear(&mut self, note: Notification) {
        let Notification { method, params } = note;
        let read = match method.as_str() {
            heard::Initialized::METHOD => {
                self.watch();
                Ok(())
            }
            heard::DidOpenTextDocument::METHOD => take::<heard::DidOpenTextDocument>(params).map(|params| {
                let item = params.text_document;
                let path = self.desk.open(item.uri, item.version, item.text);
                self.touch(&path);
            }),
            heard::DidChangeTextDocument::METHOD => take::<heard::DidChangeTextDocument>(params).map(|params| {
                let path = path_of(&params.text_document.uri);
                if let Err(why) = self.desk.edit(&path, params.text_document.version, params.content_changes) {
                    self.warn(why);
                }
                self.touch(&path);
            }),
            heard::DidCloseTextDocument::METHOD => take::<heard::DidCloseTextDocument>(params).map(|params| {
                let path = path_of(&params.text_document.uri);
                self.desk.close(&path);
                self.studies.remove(&path);
                self.said.remove(&path);
                self.touch_all();
            }),
            heard::DidSaveTextDocument::METHOD | heard::DidChangeWatchedFiles::METHOD => {
                self.touch_all();
                Ok(())
            }
            _ => Ok(()),
        };
        if let Err(why) = read {
            self.warn(format!("{method} could not be read: {why}"));
        }
    }

    /// Asks to hear of job files, libraries and subprograms that change on disk.
    fn watch(&self) {
        if !self.client.watches {
            return;
        }
        let watchers = vec![FileSystemWatcher { glob_pattern: GlobPattern::String(WATCHED.to_owned()), kind: None }];
        let options = serde_json::to_value(DidChangeWatchedFilesRegistrationOptions { watchers }).ok();
        let method = heard::DidChangeWatchedFiles::METHOD.to_owned();
        let registrations = vec![Registration { id: "files".to_owned(), method, register_options: options }];
        let id = RequestId::from("watch".to_owned());
        let params = RegistrationParams { registrations };
        self.send(Request::new(id, asked::RegisterCapability::METHOD.to_owned(), params));
    }

    /// Notes what an edit concerns: the text itself, programs that run it, and every program when it is a job's.
    fn touch(&mut self, path: &Path) {
        let kind = kind(path);
        let concerned = |study: &&Study| kind != Kind::Program || study.source_of(path).is_some();
        let others: Vec<PathBuf> = self.studies.values().filter(concerned).map(|study| study.path.clone()).collect();
        self.stale.extend(others);
        self.stale.insert(path.to_owned());
        self.since.get_or_insert_with(Instant::now);
    }

    fn touch_all(&mut self) {
        self.stale.extend(self.desk.paths().map(Path::to_owned));
        self.since.get_or_insert_with(Instant::now);
    }

    /// Reads again what changed, and tells the editor.
    fn refresh(&mut self) {
        if self.since.take().is_none() {
            return;
        }
        let stale = std::mem::take(&mut self.stale);
        for path in &stale {
            if catch_unwind(AssertUnwindSafe(|| self.read(path))).is_err() {
                self.studies.remove(path);
                self.said.remove(path);
                self.warn(format!(
                    "a fault of lastply in `{}`, which is not checked; please report it",
                    path.display()
                ));
            }
        }
        self.publish(&stale);
    }

    fn read(&mut self, path: &Path) {
        if self.desk.document(path).is_none() {
            return;
        }
        let entries = match kind(path) {
            Kind::Other => Entries::new(),
            Kind::Job => findings::of_job(&job_faults(path, &self.desk), &self.desk),
            Kind::Program => {
                let study = Study::of(path, &self.desk);
                let entries = findings::of_study(&study, &self.desk);
                self.studies.insert(path.to_owned(), study);
                entries
            }
        };
        self.said.insert(path.to_owned(), entries);
    }

    /// Sends what changed since it was last sent, and an answer for every text read again, be it the same.
    fn publish(&mut self, read: &BTreeSet<PathBuf>) {
        let mut now: BTreeMap<PathBuf, Vec<Diagnostic>> = BTreeMap::new();
        for (owner, entries) in &self.said {
            if findings::is_part_of_another(owner, &self.studies) {
                continue;
            }
            for (path, said) in entries {
                let list = now.entry(path.clone()).or_default();
                let new: Vec<Diagnostic> = said.iter().filter(|said| !list.contains(said)).cloned().collect();
                list.extend(new);
            }
        }
        let open = read.iter().filter(|path| self.desk.document(path).is_some());
        let files: BTreeSet<PathBuf> = now.keys().chain(self.shown.keys()).chain(open).cloned().collect();
        for path in files {
            let list = now.remove(&path).unwrap_or_default();
            let open = self.desk.document(&path);
            let same = self.shown.get(&path).unwrap_or(&Vec::new()) == &list;
            if same && !(open.is_some() && read.contains(&path)) {
                continue;
            }
            if let Some(uri) = self.desk.uri(&path) {
                let version = open.map(|document| document.version);
                self.tell::<heard::PublishDiagnostics>(PublishDiagnosticsParams {
                    uri,
                    diagnostics: list.clone(),
                    version,
                });
            }
            if list.is_empty() {
                self.shown.remove(&path);
            } else {
                self.shown.insert(path, list);
            }
        }
    }
}

/// How long to wait for the next message while something is stale since `since`.
fn patience(since: Instant) -> Duration {
    REST.min(LONGEST.saturating_sub(since.elapsed()))
}

fn take<N: lsp_types::notification::Notification>(params: Value) -> Result<N::Params, String> {
    serde_json::from_value(params).map_err(|error| error.to_string())
}

fn reply<R: lsp_types::request::Request>(
    params: Value,
    answer: impl FnOnce(R::Params) -> R::Result,
) -> Result<Value, Refusal>
where
    R::Params: DeserializeOwned,
    R::Result: Serialize,
{
    let params = serde_json::from_value(params).map_err(|error| (ErrorCode::InvalidParams, error.to_string()))?;
    serde_json::to_value(answer(params)).map_err(|error| (ErrorCode::InternalError, error.to_string()))
}
