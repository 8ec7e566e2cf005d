//! The schema as an editor uses it: in a YAML language server (npm's `yaml-language-server`), which completes keys
//! and complains while a person types.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use duskloom::spec;
use serde_json::{Value, json};
use tempfile::TempDir;

/// Where `tests/run.sh` puts it.
const PROGRAM: &str = "target/yaml-language-server/node_modules/.bin/yaml-language-server";

/// The Language Server Protocol, over the server's standard streams.
struct Server {
    process: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    schema: String,
    last: u64,
    _folder: TempDir,
}

impl Server {
    fn start() -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let schema = folder.path().join("schema.json");
        let text = serde_json::to_string(&spec::schema()).expect("plain data");
        std::fs::write(&schema, text).expect("a file");
        let mut process = Command::new(PROGRAM)
            .arg("--stdio")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the language server");
        let to = process.stdin.take().expect("a pipe");
        let from = BufReader::new(process.stdout.take().expect("a pipe"));
        let mut server = Self {
            process,
            to,
            from,
            schema: format!("file://{}", schema.display()),
            last: 0,
            _folder: folder,
        };
        let capable = json!({ "workspace": { "configuration": true } });
        server.ask(
            "initialize",
            &json!({ "processId": null, "rootUri": null, "capabilities": capable }),
        );
        server.tell("initialized", &json!({}));
        server
    }

    fn send(&mut self, message: &Value) {
        let text = message.to_string();
        write!(self.to, "Content-Length: {}\r\n\r\n{text}", text.len()).expect("it listens");
        self.to.flush().expect("it listens");
    }

    fn tell(&mut self, method: &str, params: &Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// The answer, past all that the server says before it.
    fn ask(&mut self, method: &str, params: &Value) -> Value {
        self.last += 1;
        let id = self.last;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        self.until(|message| message["id"] == id && message.get("method").is_none())["result"]
            .take()
    }

    /// The next message that is wanted. What the server asks for meanwhile, it gets.
    fn until(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        loop {
            let message = self.receive();
            if message.get("method").is_some() && message.get("id").is_some() {
                let yaml = json!({ "schemas": { &self.schema: "*.yaml" }, "validate": true, "completion": true });
                let items = message["params"]["items"].as_array();
                let answers =
                    items
                        .into_iter()
                        .flatten()
                        .map(|item| match item["section"].as_str() {
                            Some("yaml") => yaml.clone(),
                            _ => Value::Null,
                        });
                let result: Value = match message["method"].as_str() {
                    Some("workspace/configuration") => answers.collect(),
                    _ => Value::Null,
                };
                self.send(&json!({ "jsonrpc": "2.0", "id": message["id"], "result": result }));
            } else if wanted(&message) {
                return message;
            }
        }
    }

    fn receive(&mut self) -> Value {
        let mut length = 0;
        loop {
            let mut line = String::new();
            self.from.read_line(&mut line).expect("it speaks");
            match line.trim().split_once(": ") {
                Some(("Content-Length", number)) => length = number.parse().expect("a number"),
                Some(_) => {}
                None => break,
            }
        }
        let mut text = vec![0; length];
        self.from.read_exact(&mut text).expect("it speaks");
        serde_json::from_slice(&text).expect("JSON")
    }

    /// Opens a text; gives its name and what is said of it, by line.
    fn open(&mut self, text: &str) -> (String, Vec<(u64, String)>) {
        self.last += 1;
        let uri = format!("file:///lights/{}.yaml", self.last);
        let document = json!({ "uri": uri, "languageId": "yaml", "version": 1, "text": text });
        self.tell("textDocument/didOpen", &json!({ "textDocument": document }));
        let about = |message: &Value| {
            message["method"] == "textDocument/publishDiagnostics"
                && message["params"]["uri"] == uri
        };
        let told = self.until(about);
        let all = told["params"]["diagnostics"].as_array().expect("a list");
        let said = |one: &Value| {
            let line = one["range"]["start"]["line"].as_u64().expect("a number") + 1;
            (line, one["message"].as_str().expect("a text").to_string())
        };
        let said = all.iter().map(said).collect();
        (uri, said)
    }

    /// What is offered at the end of a text.
    fn offers(&mut self, text: &str) -> Vec<String> {
        let (uri, _) = self.open(text);
        let last = text.lines().last().expect("a line");
        let position = json!({ "line": text.lines().count() - 1, "character": last.len() });
        let asked = json!({ "textDocument": { "uri": uri }, "position": position });
        let answer = self.ask("textDocument/completion", &asked);
        let items = answer["items"].as_array().expect("a list");
        items
            .iter()
            .map(|item| item["label"].as_str().expect("a label").to_string())
            .collect()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

const HEAD: &str = "chip: attiny85\nchannels: [quay]\n";

#[test_with::executable("target/yaml-language-server/node_modules/.bin/yaml-language-server")]
#[test]
fn an_editor_offers_keys_and_says_what_is_wrong() {
    let mut server = Server::start();
    // Keys, each once, and no names of types.
    let steps = server.offers(&format!("{HEAD}patterns:\n  glow:\n    - "));
    for key in [
        "to", "over", "ease", "set", "hold", "repeat", "wave", "rhythm",
    ] {
        assert_eq!(
            steps.iter().filter(|one| *one == key).count(),
            1,
            "{key}: {steps:?}"
        );
    }
    let is_word = |one: &String| {
        one.chars()
            .all(|c| c.is_ascii_lowercase() || "_-".contains(c))
    };
    assert!(steps.iter().all(is_word), "{steps:?}");
    assert_eq!(server.offers("shows:\n  - "), ["roam", "steady", "solo"]);
    assert_eq!(
        server.offers("brightness:\n  "),
        [
            "curve", "levels", "floor", "ceiling", "error", "steps", "repeat"
        ]
    );
    let curves = server.offers("brightness:\n  curve: ");
    assert!(curves.contains(&"lightness".to_string()) && !curves.contains(&"null".to_string()));

    // What is wrong is told where it is, and nothing else.
    let mut said = |steps: &str| {
        server
            .open(&format!("{HEAD}patterns:\n  glow:\n    - {steps}\n"))
            .1
    };
    assert_eq!(said("{to: 100 %, over: 2 s}"), []);
    assert_eq!(said("{set: 100 %, hold: 200 ms .. 900 ms}"), []);
    assert_eq!(
        said("{too: 100 %, over: 2 s}"),
        [(5, "Property too is not allowed.".to_string())]
    );
    let told = said("{set: 100 %, hold: 200 .. 900 ms}");
    assert_eq!((told.len(), told[0].0), (1, 5));
    let message = "String does not match the pattern";
    assert!(told[0].1.starts_with(message), "{told:?}");

    // Switched off as YAML 1.1 and 1.2 have it.
    for off in ["off", "\"off\""] {
        let text =
            format!("{HEAD}watchdog: {off}\nmemory: {off}\npatterns: {{glow: [{{hold: 1 s}}]}}\n");
        assert_eq!(server.open(&text).1, [], "{off}");
    }
    for demo in crate::see::support::projects("patterns") {
        let text = std::fs::read_to_string(&demo).expect("a demo");
        if text.contains("\nchip:") {
            assert_eq!(server.open(&text).1, [], "{}", demo.display());
        }
    }
}
