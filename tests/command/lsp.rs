//! The language server, driven over its pipes by a client that is not ours (crate `async-lsp`).

#![allow(clippy::print_stderr, reason = "a test that measures tells what it measured")]

use std::ops::ControlFlow;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

use async_lsp::lsp_types::notification::{
    DidChangeTextDocument, DidOpenTextDocument, Exit, Initialized, PublishDiagnostics,
};
use async_lsp::lsp_types::request::{Completion, GotoDefinition, HoverRequest, Initialize, Shutdown};
use async_lsp::lsp_types::{PublishDiagnosticsParams, Url};
use async_lsp::router::Router;
use async_lsp::{MainLoop, ServerSocket};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use tokio::sync::mpsc::{UnboundedReceiver, unbounded_channel};
use tokio_util::compat::{TokioAsyncReadCompatExt, TokioAsyncWriteCompatExt};

use crate::support::{EDITION_RULES, Folder, examples};

struct Stop;

struct Client {
    server: ServerSocket,
    said: UnboundedReceiver<PublishDiagnosticsParams>,
    child: tokio::process::Child,
    main: tokio::task::JoinHandle<()>,
}

fn from<T: DeserializeOwned>(value: Value) -> T {
    serde_json::from_value(value).unwrap()
}

impl Client {
    async fn start(folder: &Folder, words: &str) -> Client {
        let mut command = tokio::process::Command::from(folder.command());
        command.args(words.split_whitespace()).stdin(Stdio::piped()).stdout(Stdio::piped()).kill_on_drop(true);
        let mut child = command.spawn().unwrap();
        let (send, said) = unbounded_channel();
        let (main, server) = MainLoop::new_client(|_| {
            let mut router = Router::new(());
            router
                .notification::<PublishDiagnostics>(move |(), params| {
                    let _ = send.send(params);
                    ControlFlow::Continue(())
                })
                .event(|(), _: Stop| ControlFlow::Break(Ok(())));
            router
        });
        let (output, input) = (child.stdout.take().unwrap().compat(), child.stdin.take().unwrap().compat_write());
        let main = tokio::spawn(async move {
            let _ = main.run_buffered(output, input).await;
        });
        let answer = server.request::<Initialize>(from(json!({ "capabilities": {} }))).await.unwrap();
        assert!(answer.capabilities.hover_provider.is_some());
        server.notify::<Initialized>(from(json!({}))).unwrap();
        Client { server, said, child, main }
    }

    async fn open(&mut self, path: &Path, text: &str) -> PublishDiagnosticsParams {
        let uri = Url::from_file_path(path).unwrap();
        let document = json!({ "uri": uri, "languageId": "toml", "version": 1, "text": text });
        self.server.notify::<DidOpenTextDocument>(from(json!({ "textDocument": document }))).unwrap();
        self.next(&uri).await
    }

    async fn change(&mut self, path: &Path, text: &str) -> PublishDiagnosticsParams {
        let uri = Url::from_file_path(path).unwrap();
        let params = json!({ "textDocument": { "uri": uri, "version": 2 }, "contentChanges": [{ "text": text }] });
        self.server.notify::<DidChangeTextDocument>(from(params)).unwrap();
        self.next(&uri).await
    }

    async fn next(&mut self, uri: &Url) -> PublishDiagnosticsParams {
        loop {
            let next = tokio::time::timeout(Duration::from_secs(90), self.said.recv()).await;
            let said = next.expect("the server says something").unwrap();
            if said.uri == *uri {
                return said;
            }
        }
    }

    fn at(path: &Path, text: &str, of: &str) -> Value {
        let byte = text.find(of).unwrap_or_else(|| panic!("`{of}` is not there")) + of.len();
        let line = text[..byte].matches('\n').count();
        let column = text[..byte].rsplit('\n').next().unwrap().encode_utf16().count();
        json!({ "textDocument": { "uri": Url::from_file_path(path).unwrap() }, "position": { "line": line, "character": column } })
    }

    async fn hover(&self, path: &Path, text: &str, of: &str) -> String {
        let answer = self.server.request::<HoverRequest>(from(Self::at(path, text, of))).await.unwrap();
        serde_json::to_value(answer).unwrap()["contents"]["value"].as_str().unwrap_or_default().to_owned()
    }

    async fn places(&self, path: &Path, text: &str, of: &str) -> Vec<(String, u64)> {
        let answer = self.server.request::<GotoDefinition>(from(Self::at(path, text, of))).await.unwrap();
        let places = serde_json::to_value(answer).unwrap();
        let place =
            |one: &Value| (one["uri"].as_str().unwrap().to_owned(), one["range"]["start"]["line"].as_u64().unwrap());
        places.as_array().map(|all| all.iter().map(place).collect()).unwrap_or_default()
    }

    async fn offers(&self, path: &Path, text: &str, of: &str) -> Vec<String> {
        let answer = self.server.request::<Completion>(from(Self::at(path, text, of))).await.unwrap();
        let offers = serde_json::to_value(answer).unwrap();
        offers.as_array().unwrap().iter().map(|one| one["label"].as_str().unwrap().to_owned()).collect()
    }

    async fn end(mut self) {
        self.server.request::<Shutdown>(()).await.unwrap();
        self.server.notify::<Exit>(()).unwrap();
        let status = self.child.wait().await.unwrap();
        assert_eq!(status.code(), Some(0));
        let _ = self.server.emit(Stop);
        let _ = self.main.await;
    }
}

#[tokio::test]
async fn a_job_file_has_findings_help_places_and_offers() {
    let folder = Folder::little();
    let path = folder.path().join("job.toml");
    let text = folder.read("job.toml");
    let mut client = Client::start(&folder, "lsp --rulesets book").await;
    let said = client.open(&path, &text).await;
    let staple = said
        .diagnostics
        .iter()
        .find(|one| serde_json::to_value(&one.code).unwrap() == "staple-near-box" && one.message.contains("at most"));
    let staple = staple.unwrap_or_else(|| panic!("{said:?}"));
    let line = text.lines().nth(staple.range.start.line as usize).unwrap();
    assert!(line.contains("first_support"), "{line}");
    // On the value: what is in force and why, and the line that says so.
    let value = line.split("first_support = \"").nth(1).unwrap().split('"').next().unwrap();
    let before = format!("first_support = \"{}", &value[..1]);
    let at = text.find(line).unwrap() + line.find(&before).unwrap();
    let prefix = &text[..at + before.len()];
    let help = client.hover(&path, &text, prefix).await;
    assert!(help.contains("staple-near-box") && help.contains("Little edition"), "{help}");
    let places = client.places(&path, &text, prefix).await;
    assert!(places.iter().any(|(uri, _)| uri.contains("/book/little/")), "{places:?}");
    // A field's own help, and where an id leads.
    assert!(client.hover(&path, &text, "first_supp").await.contains("length"), "help of a field");
    // Half-written lines.
    let typed = format!("{text}\n[[device]]\nid = \"NEW\"\nki");
    client.change(&path, &typed).await;
    assert!(client.offers(&path, &typed, "id = \"NEW\"\nki").await.contains(&String::from("kind")));
    let typed = format!("{text}\n[[device]]\nid = \"NEW\"\nkind = \"");
    let said = client.change(&path, &typed).await;
    assert!(said.diagnostics.iter().any(|one| one.severity.is_some()), "{said:?}");
    assert!(client.offers(&path, &typed, "NEW\"\nkind = \"").await.contains(&String::from("receptacle")));
    client.end().await;
}

#[tokio::test]
async fn a_rule_file_has_errors_help_places_and_offers() {
    let folder = Folder::little();
    let path = folder.path().join("book/little/edition/rules/rules.rhai");
    let mut client = Client::start(&folder, "lsp --rulesets book").await;
    let said = client.open(&path, EDITION_RULES).await;
    assert!(said.diagnostics.is_empty(), "{said:?}");
    let wrong = EDITION_RULES.replacen("/// A staple", "/// ½𝄞 A staple", 1).replacen(
        "code.staple.from_box",
        "code.staple.form_box",
        1,
    );
    let said = client.change(&path, &wrong).await;
    let fault = said.diagnostics.first().unwrap_or_else(|| panic!("{said:?}"));
    assert!(fault.message.contains("from_box"), "{fault:?}");
    let line = wrong.lines().nth(fault.range.start.line as usize).unwrap();
    assert!(line.contains("form_box"), "{line}");
    client.change(&path, EDITION_RULES).await;
    let help = client.hover(&path, EDITION_RULES, "code.staple.fr").await;
    assert!(help.contains("12 in") && help.contains("law_text"), "{help}");
    let places = client.places(&path, EDITION_RULES, "code.staple.fr").await;
    assert!(places.first().is_some_and(|(uri, _)| uri.ends_with("little/edition/code/entries.toml")), "{places:?}");
    assert!(
        client
            .offers(&path, EDITION_RULES, "keep end.first_support at_most code.")
            .await
            .contains(&String::from("staple.from_box"))
    );
    assert!(client.offers(&path, EDITION_RULES, "keep end.").await.contains(&String::from("first_support")));
    assert!(client.offers(&path, EDITION_RULES, "keep cable.circuit.").await.contains(&String::from("rating")));
    // A value is changed in an open file that nobody saved: the rules are held against it.
    let entries = folder.path().join("book/little/edition/code/entries.toml");
    let text = folder.read("book/little/edition/code/entries.toml").replace("[staple.from_box]", "[staple.from_boxes]");
    client.open(&entries, &text).await;
    let said = client.next(&Url::from_file_path(&path).unwrap()).await;
    assert!(said.diagnostics.iter().any(|one| one.message.contains("from_box")), "{said:?}");
    client.end().await;
}

#[tokio::test]
async fn a_place_in_a_shipped_ruleset_is_a_copy_that_opens() {
    let folder = Folder::empty();
    let path = examples().join("alder-row/dwelling.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    let mut client = Client::start(&folder, "lsp").await;
    assert!(!client.open(&path, &text).await.diagnostics.is_empty());
    let prefix = text.find("id = \"30-2\"").and_then(|at| Some(at + text[at..].find("first_support = \"1")?)).unwrap();
    let prefix = &text[..prefix + "first_support = \"1".len()];
    let places = client.places(&path, &text, prefix).await;
    let (uri, line) =
        places.iter().find(|(uri, _)| uri.contains("demo/harlow-county")).unwrap_or_else(|| panic!("{places:?}"));
    let copy = Url::parse(uri).unwrap().to_file_path().unwrap();
    assert!(copy.starts_with(folder.path().join(".cache")), "{}", copy.display());
    let line = std::fs::read_to_string(&copy).unwrap().lines().nth(*line as usize).unwrap().to_owned();
    assert!(line.contains("8 in"), "{line}");
    assert!(std::fs::metadata(&copy).unwrap().permissions().readonly());
    // An id leads to its item.
    let at = text.find("at = \"MB-1\"").unwrap();
    let places = client.places(&path, &text, &text[..at + "at = \"MB".len()]).await;
    let (_, line) = places.first().unwrap_or_else(|| panic!("{places:?}"));
    assert!(text.lines().skip(*line as usize).take(3).any(|line| line.contains("id = \"MB-1\"")), "{places:?}");
    // How long a keystroke takes: printed; asserted only so far that a hang shows in a debug build on a busy machine.
    let mut times = Vec::new();
    for round in 0..5 {
        let edited = text.replacen("floor_area = \"2760 ft2\"", &format!("floor_area = \"276{round} ft2\""), 1);
        let begun = Instant::now();
        client.change(&path, &edited).await;
        times.push(begun.elapsed());
    }
    times.sort();
    eprintln!("an edit of the demo dwelling is answered in {:?} (median of {})", times[2], times.len());
    assert!(times[2] < Duration::from_secs(10), "{times:?}");
    client.end().await;
}

#[test]
fn nonsense_on_the_wire_is_answered_and_survived() {
    use std::io::{Read, Write};
    let folder = Folder::empty();
    let mut child = folder.command().arg("lsp").stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let mut input = child.stdin.take().unwrap();
    let mut send = |body: &str| write!(input, "Content-Length: {}\r\n\r\n{body}", body.len()).unwrap();
    send("{ this is no JSON");
    send("[]");
    send(r#"{"jsonrpc":"2.0","id":1,"method":"textDocument/hover","params":{}}"#);
    send(r#"{"jsonrpc":"2.0","id":2,"method":"initialize","params":{"capabilities":{}}}"#);
    send(r#"{"jsonrpc":"2.0","id":3,"method":"no/such","params":{}}"#);
    send(r#"{"jsonrpc":"2.0","id":4,"method":"textDocument/hover","params":{"position":7}}"#);
    send(r#"{"jsonrpc":"2.0","method":"textDocument/didChange","params":{"contentChanges":[]}}"#);
    send(
        r#"{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{"textDocument":{"uri":"untitled:1","text":"format = 1\n"}}}"#,
    );
    send(
        r#"{"jsonrpc":"2.0","id":5,"method":"textDocument/completion","params":{"textDocument":{"uri":"untitled:1"},"position":{"line":99999,"character":99999}}}"#,
    );
    send(r#"{"jsonrpc":"2.0","id":6,"method":"shutdown"}"#);
    send(r#"{"jsonrpc":"2.0","method":"exit"}"#);
    let mut out = String::new();
    child.stdout.take().unwrap().read_to_string(&mut out).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(0), "{out}");
    for (id, says) in [(1, "-32002"), (3, "-32601"), (4, "-32602")] {
        let answer = out.split("Content-Length").find(|one| one.contains(&format!("\"id\":{id}"))).unwrap_or_default();
        assert!(answer.contains(says), "{id}: {out}");
    }
    assert_eq!(out.matches("-32700").count(), 2, "{out}");
    assert!(out.contains("\"id\":5,\"result\""), "{out}");
}
