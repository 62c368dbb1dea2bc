//! An editor in this process: it opens, edits and asks over the same messages as one at the other end of a pipe.

use lastply::editor::{Disk, Parting, serve};
use lastply::job::Date;
use lsp_server::{Connection, Message, Notification, Request, Response};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

/// How long an answer may take on a busy machine before the test gives up.
const PATIENCE: Duration = Duration::from_secs(120);

/// Files that exist for one test only.
#[derive(Clone, Default)]
pub struct Shelf(Arc<Mutex<BTreeMap<PathBuf, Vec<u8>>>>);

impl Shelf {
    pub fn put(&self, path: &str, text: &str) {
        self.0.lock().unwrap().insert(path.into(), text.as_bytes().to_vec());
    }
}

impl Disk for Shelf {
    fn read(&self, path: &Path) -> Result<Vec<u8>, String> {
        self.0.lock().unwrap().get(path).cloned().ok_or("there is no such file".to_owned())
    }

    fn job_of(&self, program: &Path) -> Option<PathBuf> {
        let job = program.with_extension("job.toml");
        self.0.lock().unwrap().contains_key(&job).then_some(job)
    }

    fn subprograms(&self, main: &Path) -> Vec<(u32, PathBuf)> {
        let beside = |path: &&PathBuf| path.parent() == main.parent();
        let number =
            |path: &PathBuf| Some((path.file_stem()?.to_str()?.strip_prefix('O')?.parse().ok()?, path.clone()));
        self.0.lock().unwrap().keys().filter(beside).filter_map(number).collect()
    }

    fn today(&self) -> Option<Date> {
        None
    }
}

/// The editor's end of the conversation.
pub struct Client {
    connection: Option<Connection>,
    server: Option<JoinHandle<Parting>>,
    asked: i32,
    /// What was last said of each file.
    pub said: BTreeMap<String, Vec<Value>>,
    /// Warnings shown.
    pub warnings: Vec<String>,
    /// What the server said of itself.
    pub capabilities: Value,
}

pub fn uri(path: &str) -> String {
    format!("file://{path}")
}

impl Client {
    /// Says hello with `capabilities`.
    pub fn hello(shelf: &Shelf, capabilities: Value) -> Self {
        let mut client = Self::silent(shelf);
        let told =
            client.ask("initialize", json!({ "processId": null, "rootUri": null, "capabilities": capabilities }));
        client.capabilities = told.unwrap()["capabilities"].clone();
        client.tell("initialized", json!({}));
        client
    }

    /// A client that has not said hello yet.
    pub fn silent(shelf: &Shelf) -> Self {
        let (there, here) = Connection::memory();
        let shelf = shelf.clone();
        let server = std::thread::spawn(move || serve(&there, &shelf));
        let (said, warnings, capabilities) = Default::default();
        Self { connection: Some(here), server: Some(server), asked: 0, said, warnings, capabilities }
    }

    fn here(&self) -> &Connection {
        self.connection.as_ref().unwrap()
    }

    pub fn tell(&self, method: &str, params: Value) {
        self.here().sender.send(Notification::new(method.to_owned(), params).into()).unwrap();
    }

    /// Asks, and takes note of what is told meanwhile.
    pub fn ask(&mut self, method: &str, params: Value) -> Result<Value, String> {
        self.asked += 1;
        let id = self.asked.into();
        self.here().sender.send(Request::new(id, method.to_owned(), params).into()).unwrap();
        loop {
            match self.here().receiver.recv_timeout(PATIENCE).expect("an answer") {
                Message::Response(Response { id, response_result }) => {
                    assert_eq!(id, self.asked.into());
                    return response_result.map_err(|error| error.message);
                }
                message => _ = self.note(message),
            }
        }
    }

    /// The file that something was said of.
    fn note(&mut self, message: Message) -> Option<String> {
        let Message::Notification(Notification { method, params }) = message else { return None };
        match method.as_str() {
            "textDocument/publishDiagnostics" => {
                let file = params["uri"].as_str().unwrap().to_owned();
                self.said.insert(file.clone(), params["diagnostics"].as_array().unwrap().clone());
                Some(file)
            }
            "window/showMessage" => {
                self.warnings.push(params["message"].as_str().unwrap().to_owned());
                None
            }
            other => panic!("not expected: {other}"),
        }
    }

    /// Waits until something is said of a file.
    pub fn findings(&mut self, path: &str) -> &[Value] {
        loop {
            let message = self.here().receiver.recv_timeout(PATIENCE).expect("findings");
            if self.note(message).is_some_and(|file| file == uri(path)) {
                return &self.said[&uri(path)];
            }
        }
    }

    pub fn open(&self, path: &str, text: &str) {
        let document = json!({ "uri": uri(path), "languageId": "nc", "version": 1, "text": text });
        self.tell("textDocument/didOpen", json!({ "textDocument": document }));
    }

    pub fn change(&self, path: &str, version: i32, changes: Value) {
        let document = json!({ "uri": uri(path), "version": version });
        self.tell("textDocument/didChange", json!({ "textDocument": document, "contentChanges": changes }));
    }

    /// Asks for what lies at a place.
    pub fn at(&mut self, method: &str, path: &str, line: u32, character: u32) -> Value {
        let position = json!({ "line": line, "character": character });
        self.ask(method, json!({ "textDocument": { "uri": uri(path) }, "position": position })).unwrap()
    }

    /// Asks about a whole text.
    pub fn of(&mut self, method: &str, path: &str) -> Value {
        self.ask(method, json!({ "textDocument": { "uri": uri(path) } })).unwrap()
    }

    /// Asks for the actions on a line.
    pub fn actions(&mut self, path: &str, line: u32, only: Option<&str>) -> Vec<Value> {
        let place = json!({ "line": line, "character": 0 });
        let context = json!({ "diagnostics": [], "only": only.map(|only| [only]) });
        let params = json!({ "textDocument": { "uri": uri(path) }, "range": { "start": place, "end": place }, "context": context });
        self.ask("textDocument/codeAction", params).unwrap().as_array().unwrap().clone()
    }

    /// Goes away, in good order or not, and hears how the server took it.
    pub fn leave(mut self, order: &[&str]) -> Parting {
        for method in order {
            match *method {
                "shutdown" => assert_eq!(self.ask("shutdown", Value::Null), Ok(Value::Null)),
                note => self.tell(note, Value::Null),
            }
        }
        self.connection = None;
        self.server.take().unwrap().join().expect("no panic")
    }
}

/// The codes of findings, sorted.
pub fn codes(findings: &[Value]) -> Vec<String> {
    let mut codes: Vec<String> = findings.iter().map(|one| one["code"].as_str().unwrap().to_owned()).collect();
    codes.sort();
    codes
}

/// A text with the edits of an action, whose columns count bytes.
pub fn applied(text: &str, edits: &Value) -> String {
    let starts: Vec<usize> = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
    let at = |place: &Value| {
        let [line, character] = ["line", "character"].map(|key| place[key].as_u64().unwrap() as usize);
        starts[line] + character
    };
    let mut edits: Vec<(usize, usize, &str)> = edits
        .as_array()
        .unwrap()
        .iter()
        .map(|edit| {
            let range = &edit["range"];
            (at(&range["start"]), at(&range["end"]), edit["newText"].as_str().unwrap())
        })
        .collect();
    edits.sort_by_key(|(start, ..)| std::cmp::Reverse(*start));
    let mut text = text.to_owned();
    for (start, end, new) in edits {
        text.replace_range(start..end, new);
    }
    text
}
