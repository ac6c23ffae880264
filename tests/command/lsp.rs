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

    /// Changes a text and waits until something is said of it.
    async fn failing(&mut self, path: &Path, text: &str) -> PublishDiagnosticsParams {
        let mut said = self.change(path, text).await;
        let uri = Url::from_file_path(path).unwrap();
        while said.diagnostics.is_empty() {
            said = self.next(&uri).await;
        }
        said
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
        .find(|one| serde_json::to_value(&one.code).unwrap() == "staple-near-box" && one.message.contains("8 in max"));
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

const COUNTY: &str = "book/little/county/ruleset.toml";
const ENTRIES: &str = "book/little/edition/code/entries.toml";
const TRIALS: &str = "book/little/edition/trials/trials.toml";

#[tokio::test]
async fn a_manifest_has_help_places_and_offers() {
    let folder = Folder::little();
    let path = folder.path().join(COUNTY);
    let text = folder.read(COUNTY);
    let mut client = Client::start(&folder, "lsp").await;
    assert!(client.open(&path, &text).await.diagnostics.is_empty());
    // What is amended: the value in force, the chain behind it, the source.
    for at in ["entry = \"staple", "value = \"8"] {
        let help = client.hover(&path, &text, at).await;
        for says in
            ["**staple.from_box** = 8 in", "12 in (1.1", "Ord. 2, in force 2022-01-01", "invented for these tests"]
        {
            assert!(help.contains(says), "`{says}` is not in:\n{help}");
        }
    }
    assert!(client.hover(&path, &text, "checked = \"law").await.contains("the words of the law"));
    assert!(client.hover(&path, &text, "cite").await.contains("Where the law says so"));
    assert!(client.hover(&path, &text, "ruleset = \"little/ed").await.contains("Little edition"));
    // From the amendment to the entry, from the adoption to the edition.
    let places = client.places(&path, &text, "entry = \"staple").await;
    assert!(places.first().is_some_and(|(uri, line)| uri.ends_with("code/entries.toml") && *line < 2), "{places:?}");
    assert!(places.iter().any(|(uri, _)| uri.ends_with("county/ruleset.toml")), "{places:?}");
    let places = client.places(&path, &text, "ruleset = \"little/ed").await;
    assert!(places.first().is_some_and(|(uri, _)| uri.ends_with("edition/ruleset.toml")), "{places:?}");
    // While somebody types, the text is broken.
    for (typed, offered) in [
        ("\n[[amends]]\nen", "entry"),
        ("\n[[amends]]\nentry = \"sta", "staple.from_box"),
        ("\n[[amends]]\nentry = \"wire.breaker\"\nrow = \"", "14 AWG"),
        ("\n[[amends]]\nentry = \"staple.from_box\"\nvalue = ", "8 in"),
        ("\n[[amends]]\nomit = \"", "boxes-plumb"),
        ("\n[[amends]]\nreweigh = \"boxes-plumb\"\nweight = \"", "caution"),
        ("\n[[amends]]\nchecked = \"", "official_page"),
        ("\n[[adopts]]\nruleset = \"", "little/edition"),
        ("\n[[adopts]]\nby = \"", "application_date"),
        ("\n[[am", "amends"),
    ] {
        let whole = format!("{text}{typed}");
        let said = client.change(&path, &whole).await;
        assert!(!said.diagnostics.is_empty() || typed.ends_with("en"), "{typed}: {said:?}");
        let offers = client.offers(&path, &whole, typed).await;
        assert!(offers.contains(&String::from(offered)), "{typed}: {offers:?}");
    }
    client.change(&path, &format!("wit\n{text}")).await;
    assert!(client.offers(&path, &format!("wit\n{text}"), "wit").await.contains(&String::from("within")));
    client.end().await;
}

#[tokio::test]
async fn a_file_of_code_has_help_places_and_offers() {
    let folder = Folder::little();
    let path = folder.path().join(ENTRIES);
    let text = folder.read(ENTRIES);
    let mut client = Client::start(&folder, "lsp").await;
    assert!(client.open(&path, &text).await.diagnostics.is_empty());
    for at in ["[staple.from_", "value = \"12 i"] {
        let help = client.hover(&path, &text, at).await;
        assert!(help.contains("**staple.from_box** = 12 in") && help.contains("1.1; law_text"), "{at}: {help}");
    }
    let help = client.hover(&path, &text, "rows = { \"14 A").await;
    assert!(help.contains("**wire.breaker**") && help.contains("14 AWG: 15 A"), "{help}");
    assert!(client.hover(&path, &text, "checked = \"mem").await.contains("not verified"));
    let places = client.places(&path, &text, "value = \"12 i").await;
    assert!(places.first().is_some_and(|(uri, line)| uri.ends_with("code/entries.toml") && *line == 1), "{places:?}");
    for (typed, offered) in [
        ("\n[nm.hole]\nva", "value"),
        ("\n[nm.hole]\nvalue = \"1 in\"\nchecked = \"", "secondary"),
        ("\n[nm.hole]\ntype = \"", "length"),
        ("\n[[amends]]\nentry = \"", "height.switch_box"),
    ] {
        let whole = format!("{text}{typed}");
        client.change(&path, &whole).await;
        let offers = client.offers(&path, &whole, typed).await;
        assert!(offers.contains(&String::from(offered)), "{typed}: {offers:?}");
    }
    client.end().await;
}

#[tokio::test]
async fn a_trial_file_has_failing_trials_help_places_and_offers() {
    let folder = Folder::little();
    let path = folder.path().join(TRIALS);
    let text = folder.read(TRIALS);
    let mut client = Client::start(&folder, "lsp").await;
    assert!(client.open(&path, &text).await.diagnostics.is_empty());
    assert!(client.hover(&path, &text, "rule = \"staple").await.contains("A staple holds the cable close to its box"));
    assert!(client.hover(&path, &text, "expec").await.contains("worst outcome"));
    assert!(client.hover(&path, &text, "to = { at = \"B1\", first_sup").await.contains("length"));
    let places = client.places(&path, &text, "rule = \"staple").await;
    let (uri, line) = places.first().unwrap_or_else(|| panic!("{places:?}"));
    assert!(uri.ends_with("edition/rules/rules.rhai"), "{uri}");
    assert!(EDITION_RULES.lines().nth(*line as usize).unwrap().contains("rule \"staple-near-box\""));
    let places = client.places(&path, &text, "base = \"two").await;
    assert!(places.first().is_some_and(|(uri, line)| uri.ends_with("trials.toml") && *line == 0), "{places:?}");
    // A trial that does not come out as written is told at its line, with what came.
    let wrong = text.replacen("expect = \"correction\"", "expect = \"met\"", 1);
    let said = client.failing(&path, &wrong).await;
    let [one] = &said.diagnostics[..] else { panic!("{said:?}") };
    assert!(
        one.message.contains("“a staple at 13 in”") && one.message.contains("expected met, got correction"),
        "{one:?}"
    );
    assert!(wrong.lines().nth(one.range.start.line as usize).unwrap().contains("expect = \"met\""));
    for (typed, offered) in [
        ("\n[[trial]]\nrule = \"", "wire-fits-breaker"),
        ("\n[[trial]]\nrule = \"staple-near-box\"\nexpect = \"", "to_measure"),
        ("\n[[trial]]\nbase = \"", "two-boxes"),
        ("\n[[trial]]\nfou", "found"),
        ("\n[[trial]]\njob.box = [{ id = \"B9\", to", "top"),
        ("\n[[trial]]\njob.device = [{ id = \"D9\", box = \"", "B1"),
        ("\n[[trial]]\njob.device = [{ id = \"D9\", kind = \"", "receptacle"),
    ] {
        let whole = format!("{text}{typed}");
        client.change(&path, &whole).await;
        let offers = client.offers(&path, &whole, typed).await;
        assert!(offers.contains(&String::from(offered)), "{typed}: {offers:?}");
    }
    client.end().await;
}

#[tokio::test]
async fn a_value_that_is_typed_otherwise_fails_trials_in_a_file_that_nobody_opened() {
    let folder = Folder::little();
    let path = folder.path().join(ENTRIES);
    let text = folder.read(ENTRIES);
    let mut client = Client::start(&folder, "lsp").await;
    assert!(client.open(&path, &text).await.diagnostics.is_empty());
    let trials = Url::from_file_path(folder.path().join(TRIALS)).unwrap();
    client.change(&path, &text.replace("12 in", "15 in")).await;
    let said = client.next(&trials).await;
    assert!(said.diagnostics.iter().any(|one| one.message.contains("got met")), "{said:?}");
    client.change(&path, &text).await;
    assert!(client.next(&trials).await.diagnostics.is_empty());
    client.end().await;
}

#[tokio::test]
async fn findings_stay_with_their_lines_while_the_job_has_mistakes() {
    let folder = Folder::little();
    let path = folder.path().join("job.toml");
    let text = folder.read("job.toml");
    let mut client = Client::start(&folder, "lsp --rulesets book").await;
    client.open(&path, &text).await;
    let value = "first_support = \"13";
    assert!(client.hover(&path, &text, value).await.contains("staple-near-box"));
    // Lines come above it, one of them wrong, and one below it changes.
    let broken = text
        .replacen("[site]", "# a remark\n# another\n[site]\ncolour = \"red\"", 1)
        .replace("to = \"B2\"", "to = \"B22\"");
    let said = client.change(&path, &broken).await;
    assert!(said.diagnostics.iter().any(|one| one.message.contains("colour")), "{said:?}");
    let help = client.hover(&path, &broken, value).await;
    assert!(help.contains("staple-near-box") && help.contains("Little edition"), "{help}");
    // Where that value stood before, there is another thing now.
    let at = text.find(value).unwrap() + value.len();
    let line = text[..at].matches('\n').count();
    let there = broken.lines().nth(line).unwrap();
    assert!(!client.hover(&path, &broken, there).await.contains("staple-near-box"), "{there}");
    // The item that an id names is where it stands by now.
    let places = client.places(&path, &broken, "box = \"B1").await;
    let line = places.first().unwrap_or_else(|| panic!("{places:?}")).1 as usize;
    assert!(broken.lines().skip(line).take(2).any(|line| line.contains("id = \"B1\"")), "{line}");
    // A value that was changed itself has no finding until the job can be read.
    let changed = broken.replace("13 in", "14 in");
    client.change(&path, &changed).await;
    assert!(!client.hover(&path, &changed, "first_support = \"14").await.contains("staple-near-box"));
    client.end().await;
}

/// How long a keystroke takes in the files of a ruleset of the demo stack, with the demo dwelling open beside it.
#[tokio::test]
async fn an_edit_of_a_ruleset_is_answered_soon() {
    let folder = Folder::empty();
    assert_eq!(folder.run("ruleset export demo/harlow-county --dir own").status, 0);
    let job = examples().join("alder-row/dwelling.toml");
    let mut client = Client::start(&folder, "lsp --rulesets own").await;
    assert!(!client.open(&job, &std::fs::read_to_string(&job).unwrap()).await.diagnostics.is_empty());
    for (name, old, new) in [
        ("code/amendments.toml", "value = \"8 in\"", "value = \"9 in\""),
        ("ruleset.toml", "version = \"1\"", "version = \"2\""),
        ("rules/alarms.rhai", "///", "/// So:"),
        ("trials/ordinance.toml", "name = \"", "name = \"so: "),
    ] {
        let path = folder.path().join("own/demo/harlow-county").join(name);
        let text = std::fs::read_to_string(&path).unwrap();
        let dwelling = Url::from_file_path(&job).unwrap();
        let is_trial = name.starts_with("trials");
        client.open(&path, &text).await;
        if !is_trial {
            client.next(&dwelling).await;
        }
        let mut times = Vec::new();
        let mut later = Vec::new();
        for round in 0..6 {
            let edited = if round % 2 == 0 { text.replacen(old, new, 1) } else { text.clone() };
            let begun = Instant::now();
            client.change(&path, &edited).await;
            times.push(begun.elapsed());
            // Trials say nothing of a job.
            if !is_trial {
                client.next(&dwelling).await;
                later.push(begun.elapsed());
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
        times.sort();
        later.sort();
        eprintln!(
            "an edit of {name} beside the demo dwelling is answered in {:?}, the findings follow after {:?} (medians of {})",
            times[3],
            later.get(3),
            times.len()
        );
        assert!(times[3] < Duration::from_secs(10), "{times:?}");
    }
    client.end().await;
}
