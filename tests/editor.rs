//! The language server as an editor meets it, in this process; `tests/editor/run.sh` does the same with a real one.

mod client;

use client::{Client, Shelf, applied, codes, uri};
use lastply::editor::Parting;
use serde_json::{Value, json};
use std::path::Path;

const PROGRAM: &str = "/shop/root_plate_op20.nc";
const JOB: &str = "/shop/root_plate_op20.job.toml";
/// Offered by an editor that counts bytes.
const BYTES: &str = r#"{ "general": { "positionEncodings": ["utf-16", "utf-8"] } }"#;

fn sample(name: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("programs/root_plate").join(name)).unwrap()
}

fn shelf() -> Shelf {
    let shelf = Shelf::default();
    shelf.put(JOB, &sample("root_plate_op20.job.toml"));
    shelf
}

fn bytes() -> Value {
    serde_json::from_str(BYTES).unwrap()
}

fn line_of(text: &str, part: &str) -> u32 {
    text.lines().position(|line| line.contains(part)).unwrap() as u32
}

fn whole(text: &str) -> Value {
    json!([{ "text": text }])
}

/// A finding by its code.
fn one<'a>(findings: &'a [Value], code: &str) -> &'a Value {
    findings.iter().find(|one| one["code"] == code).unwrap_or_else(|| panic!("no {code} in {findings:#?}"))
}

#[test]
fn a_fault_typed_in_is_found_and_its_proved_edit_takes_it_out_again() {
    let mut client = Client::hello(&shelf(), bytes());
    let good = sample("root_plate_op20.nc");
    client.open(PROGRAM, &good);
    let before = codes(client.findings(PROGRAM));
    assert!(!before.contains(&"not-through".to_owned()), "{before:?}");

    let line = line_of(&good, "N420 Z-43.8");
    let range = json!({ "start": { "line": line, "character": 5 }, "end": { "line": line, "character": 11 } });
    client.change(PROGRAM, 2, json!([{ "range": range, "text": "Z-40." }]));
    let bad = good.replace("N420 Z-43.8", "N420 Z-40.");
    let found = client.findings(PROGRAM).to_vec();
    let through = one(&found, "not-through");
    assert_eq!(
        through["range"],
        json!({ "start": { "line": line, "character": 5 }, "end": { "line": line, "character": 10 } })
    );
    assert!(through["message"].as_str().unwrap().contains("needs Z-43.78"), "{through}");
    assert_eq!(through["severity"], 1);

    let actions = client.actions(PROGRAM, line, None);
    let cure = actions.iter().find(|action| action["title"].as_str().unwrap().contains("not-through")).unwrap();
    let patched = applied(&bad, &cure["edit"]["changes"][uri(PROGRAM)]);
    assert_eq!(patched, good.replace("N420 Z-43.8", "N420 Z-43.78"));
    client.change(PROGRAM, 3, whole(&patched));
    assert_eq!(codes(client.findings(PROGRAM)), before);
    assert_eq!(client.leave(&["shutdown", "exit"]), Parting::Goodbye);
}

#[test]
fn all_proved_edits_together_leave_only_what_no_edit_cures() {
    let capabilities = json!({
        "general": { "positionEncodings": ["utf-8"] }, "workspace": { "workspaceEdit": { "documentChanges": true } },
    });
    let mut client = Client::hello(&shelf(), capabilities);
    let faulty = sample("root_plate_op20_faulty.nc");
    client.open(PROGRAM, &faulty);
    let before = codes(client.findings(PROGRAM));
    let actions = client.actions(PROGRAM, 0, Some("source.fixAll"));
    let [action] = actions.as_slice() else { panic!("{actions:#?}") };
    let change = &action["edit"]["documentChanges"][0];
    assert_eq!(change["textDocument"], json!({ "uri": uri(PROGRAM), "version": 1 }));
    client.change(PROGRAM, 2, whole(&applied(&faulty, &change["edits"])));
    let after = codes(client.findings(PROGRAM));
    for gone in ["not-through", "exit-feed-high"] {
        assert!(before.contains(&gone.to_owned()) && !after.contains(&gone.to_owned()), "{gone}: {after:?}");
    }
    assert!(after.iter().all(|code| before.contains(code)), "new: {after:?}, before {before:?}");
}

#[test]
fn one_cause_is_one_entry_with_its_further_places() {
    let mut client = Client::hello(&shelf(), json!({}));
    let good = sample("root_plate_op20.nc");
    client.open(PROGRAM, &good.replace("N420 Z-43.8", "N420 Z-40.").replace("N470 Z-43.8", "N470 Z-40."));
    let found = client.findings(PROGRAM).to_vec();
    assert_eq!(codes(&found).iter().filter(|code| *code == "not-through").count(), 1, "{found:#?}");
    let through = one(&found, "not-through");
    assert!(through["message"].as_str().unwrap().contains("(2 holes)"), "{through}");
    assert_eq!(through["range"]["start"]["line"], line_of(&good, "N420 "));
    let [further] = through["relatedInformation"].as_array().unwrap().as_slice() else { panic!("{through}") };
    assert_eq!(further["location"]["range"]["start"]["line"], line_of(&good, "N470 "));
    assert_eq!(further["message"], "hole H8");
}

#[test]
fn columns_count_what_was_agreed_on() {
    let good = sample("root_plate_op20.nc");
    let comment = "(Ø12 孔 𝅘𝅥)";
    let bad = good.replace("N420 Z-43.8", &format!("N420 {comment} Z-40."));
    let line = line_of(&bad, comment);
    for (offered, agreed, width) in
        [(json!({}), "utf-16", comment.encode_utf16().count()), (bytes(), "utf-8", comment.len())]
    {
        let mut client = Client::hello(&shelf(), offered);
        assert_eq!(client.capabilities["positionEncoding"], agreed);
        client.open(PROGRAM, &bad);
        let range = one(client.findings(PROGRAM), "not-through")["range"].clone();
        let column = 5 + width as u64 + 1;
        assert_eq!(range["start"], json!({ "line": line, "character": column }), "{agreed}");
        // The word is typed over, by columns that stand behind the comment.
        let range = json!({ "start": range["start"], "end": { "line": line, "character": column + 5 } });
        client.change(PROGRAM, 2, json!([{ "range": range, "text": "Z-43.8" }]));
        assert!(!codes(client.findings(PROGRAM)).contains(&"not-through".to_owned()), "{agreed}");
    }
}

#[test]
fn what_is_in_force_at_a_block_is_shown() {
    let mut client = Client::hello(&shelf(), bytes());
    let program = sample("root_plate_op20.nc");
    client.open(PROGRAM, &program);
    let line = line_of(&program, "N420 ");
    let hover = client.at("textDocument/hover", PROGRAM, line, 8);
    insta::assert_snapshot!("hover", hover["contents"]["value"].as_str().unwrap());
    let range = json!({ "start": { "line": line - 1, "character": 0 }, "end": { "line": line, "character": 20 } });
    let hints =
        client.ask("textDocument/inlayHint", json!({ "textDocument": { "uri": uri(PROGRAM) }, "range": range }));
    let hints: Vec<String> = hints
        .unwrap()
        .as_array()
        .unwrap()
        .iter()
        .map(|hint| {
            format!(
                "{}:{} {}",
                hint["position"]["line"],
                hint["position"]["character"],
                hint["label"].as_str().unwrap()
            )
        })
        .collect();
    insta::assert_snapshot!("hints", hints.join("\n"));
    assert_eq!(client.at("textDocument/hover", PROGRAM, 9_999_999, 0), Value::Null);
}

#[test]
fn the_outline_names_tools_operations_and_holes() {
    let mut client = Client::hello(&shelf(), bytes());
    client.open(PROGRAM, &sample("root_plate_op20.nc"));
    let outline = client.of("textDocument/documentSymbol", PROGRAM);
    let mut text = String::new();
    list(&outline, 0, &mut text);
    insta::assert_snapshot!("outline", text);
    let folds = client.of("textDocument/foldingRange", PROGRAM);
    let tools = outline.as_array().unwrap();
    assert_eq!(folds.as_array().unwrap().len(), tools.len());
    for (fold, tool) in folds.as_array().unwrap().iter().zip(tools) {
        assert_eq!(fold["startLine"], tool["range"]["start"]["line"]);
    }
    let link = &client.of("textDocument/documentLink", PROGRAM)[0];
    assert_eq!(link["target"], uri(JOB));
}

/// An outline as text; of the holes of one operation the first two.
fn list(symbols: &Value, depth: usize, text: &mut String) {
    for symbol in symbols.as_array().into_iter().flatten().take(if depth > 1 { 2 } else { usize::MAX }) {
        let [from, to] = ["start", "end"].map(|end| symbol["range"][end]["line"].as_u64().unwrap() + 1);
        let detail = symbol["detail"].as_str().map(|detail| format!(", {detail}")).unwrap_or_default();
        text.push_str(&format!(
            "{}{}{detail}: lines {from} to {to}\n",
            "  ".repeat(depth),
            symbol["name"].as_str().unwrap()
        ));
        list(&symbol["children"], depth + 1, text);
    }
}

#[test]
fn a_call_leads_to_its_subprogram_and_findings_stand_where_their_text_is() {
    let shelf = Shelf::default();
    shelf.put(
        "/shop/main.job.toml",
        &std::fs::read_to_string(format!("{}/tests/jobs/plate.toml", env!("CARGO_MANIFEST_DIR"))).unwrap(),
    );
    let beside = "O8001\nG1 Z-3.\nG0 Z5.\nQQ\nM99\n";
    shelf.put("/shop/O8001.nc", beside);
    let main = "O1\nG21 G90 G17 G40 G94 G54\nT6 M6\nG43 H6 Z5.\nS3000 M3\nG0 X10. Y10.\nF100.\nM98 P8001\nM98 P7\nM30\nO7\nG0 X20.\nM99\n";
    let mut client = Client::hello(&shelf, json!({}));
    client.open("/shop/main.nc", main);
    assert!(!client.findings("/shop/O8001.nc").is_empty());
    let way = client.at("textDocument/definition", "/shop/main.nc", 7, 6);
    assert_eq!((&way["uri"], &way["range"]["start"]["line"]), (&json!(uri("/shop/O8001.nc")), &json!(0)));
    let way = client.at("textDocument/definition", "/shop/main.nc", 8, 6);
    assert_eq!((&way["uri"], &way["range"]["start"]["line"]), (&json!(uri("/shop/main.nc")), &json!(10)));
    let folds = client.of("textDocument/foldingRange", "/shop/main.nc");
    assert!(
        folds
            .as_array()
            .unwrap()
            .iter()
            .any(|fold| (fold["startLine"].as_u64(), fold["endLine"].as_u64()) == (Some(10), Some(12))),
        "{folds}"
    );

    // Open beside its caller it is judged as part of it, and an edit of it reaches the caller's findings.
    client.open("/shop/O8001.nc", beside);
    let as_part = client.findings("/shop/O8001.nc").to_vec();
    let told = codes(&as_part);
    assert!(told.contains(&"text-unreadable".to_owned()), "{told:?}");
    for alone in ["feed-missing", "speed-missing", "power-up-relied-on", "not-checked"] {
        assert!(!told.contains(&alone.to_owned()), "{alone} is of a text judged alone: {as_part:#?}");
    }
    client.change("/shop/O8001.nc", 2, whole(&beside.replace("QQ\n", "")));
    assert!(client.findings("/shop/O8001.nc").len() < as_part.len());
    let hover = client.at("textDocument/hover", "/shop/O8001.nc", 1, 0);
    assert!(hover["contents"]["value"].as_str().unwrap().contains("F100"), "{hover}");
}

#[test]
fn mistakes_of_the_job_file_stand_in_it_and_the_program_says_that_nothing_was_checked() {
    let mut client = Client::hello(&shelf(), json!({}));
    client.open(PROGRAM, &sample("root_plate_op20.nc"));
    let clean = codes(client.findings(PROGRAM));
    let job = sample("root_plate_op20.job.toml");
    client.open(JOB, &job);
    assert_eq!(client.findings(JOB), &[] as &[Value]);
    client.change(JOB, 2, whole(&job.replacen("[machine]", "[machne]", 1)));
    let found = client.findings(JOB).to_vec();
    let line = line_of(&job, "[machine]");
    assert_eq!((&found[0]["range"]["start"]["line"], &found[0]["code"]), (&json!(line), &json!("job-file")));
    assert!(found[0]["message"].as_str().unwrap().contains("machine"), "{found:#?}");
    let told = client.findings(PROGRAM).to_vec();
    assert_eq!(codes(&told), ["not-checked"]);
    assert_eq!(told[0]["relatedInformation"][0]["location"]["uri"], uri(JOB));
    client.change(JOB, 3, whole(&job));
    assert_eq!(client.findings(JOB), &[] as &[Value]);
    assert_eq!(codes(client.findings(PROGRAM)), clean);
}

#[test]
fn a_program_without_a_job_says_what_was_not_checked() {
    let mut client = Client::hello(&Shelf::default(), json!({}));
    client.open("/else/part.nc", "%\nO1\nG21 G90\nM30\n%\n");
    assert!(codes(client.findings("/else/part.nc")).contains(&"not-checked".to_owned()));
    // A job file that comes later is taken without a word from the user.
    let shelf = Shelf::default();
    let mut client = Client::hello(&shelf, json!({}));
    client.open(PROGRAM, &sample("root_plate_op20.nc"));
    let before = client.findings(PROGRAM).len();
    shelf.put(JOB, &sample("root_plate_op20.job.toml"));
    client.tell("workspace/didChangeWatchedFiles", json!({ "changes": [] }));
    assert!(client.findings(PROGRAM).len() < before);
}

#[test]
fn broken_messages_are_told_and_survived() {
    let mut client = Client::hello(&shelf(), json!({}));
    client.open(PROGRAM, &sample("root_plate_op20.nc"));
    client.findings(PROGRAM);
    let place = |line: u64, character: u64| json!({ "line": line, "character": character });
    for range in [
        json!({ "start": place(9, 0), "end": place(2, 0) }),
        json!({ "start": place(5_000_000, 7), "end": place(4_294_967_295, 4_294_967_295) }),
        json!({ "start": place(0, 4_294_967_295), "end": place(3, 4_294_967_295) }),
    ] {
        client.change(PROGRAM, 2, json!([{ "range": range, "text": "X" }]));
        client.findings(PROGRAM);
    }
    client.change("/shop/never_opened.nc", 1, whole("G0"));
    client.tell("textDocument/didChange", json!({ "textDocument": 5 }));
    assert!(client.ask("textDocument/hover", json!(["no", "place"])).is_err());
    assert!(client.ask("textDocument/sing", json!({})).unwrap_err().contains("textDocument/sing"));
    assert_eq!(client.at("textDocument/hover", "/shop/never_opened.nc", 0, 0), Value::Null);
    assert_eq!(client.warnings.len(), 4, "{:#?}", client.warnings);
    // Opened again it is whole again.
    client.tell("textDocument/didClose", json!({ "textDocument": { "uri": uri(PROGRAM) } }));
    assert_eq!(client.findings(PROGRAM), &[] as &[Value]);
    client.open(PROGRAM, &sample("root_plate_op20_faulty.nc"));
    assert!(codes(client.findings(PROGRAM)).contains(&"not-through".to_owned()));
}

#[test]
fn whoever_leaves_early_is_let_go() {
    let open = |client: &Client| client.open(PROGRAM, &sample("root_plate_op20_faulty.nc"));
    assert_eq!(Client::silent(&shelf()).leave(&[]), Parting::Left);
    assert_eq!(Client::silent(&shelf()).leave(&["exit"]), Parting::Left);
    let mut early = Client::silent(&shelf());
    assert_eq!(early.ask("textDocument/hover", json!({})), Err("initialize comes first".to_owned()));
    let client = Client::hello(&shelf(), json!({}));
    open(&client);
    assert_eq!(client.leave(&[]), Parting::Left);
    let client = Client::hello(&shelf(), json!({}));
    open(&client);
    assert_eq!(client.leave(&["exit"]), Parting::Left);
    assert_eq!(Client::hello(&shelf(), json!({})).leave(&["shutdown"]), Parting::Left);
}
