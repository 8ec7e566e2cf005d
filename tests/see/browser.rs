//! A headless Chromium (Debian's `chromium`), driven over the DevTools protocol.

use std::io::{BufRead, BufReader};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tempfile::TempDir;
use tungstenite::stream::MaybeTlsStream;
use tungstenite::{Message, WebSocket};

/// A browser with one page.
pub(super) struct Browser {
    process: Child,
    socket: WebSocket<MaybeTlsStream<TcpStream>>,
    session: String,
    last: u64,
    /// What the page complained of: exceptions, errors on the console, requests.
    pub complaints: Vec<String>,
    _profile: TempDir,
}

const PATIENCE: Duration = Duration::from_secs(30);

impl Browser {
    /// # Panics
    /// If there is no Chromium.
    pub(super) fn start() -> Self {
        let profile = tempfile::tempdir().expect("a temporary folder");
        let process = Command::new("chromium")
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--remote-debugging-port=0",
                "--force-prefers-reduced-motion",
                "--window-size=1100,900",
            ])
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn();
        let mut process = process.expect("chromium runs");
        let mut lines = BufReader::new(process.stderr.take().expect("piped")).lines();
        let address = lines
            .by_ref()
            .map_while(Result::ok)
            .find_map(|line| {
                line.strip_prefix("DevTools listening on ")
                    .map(str::to_string)
            })
            .expect("Chromium says where it listens");
        // It goes on writing, and must find a reader.
        std::thread::spawn(move || lines.for_each(drop));
        let (socket, _) = tungstenite::connect(address).expect("a connection");
        if let MaybeTlsStream::Plain(stream) = socket.get_ref() {
            stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        }
        let mut browser = Self {
            process,
            socket,
            session: String::new(),
            last: 0,
            complaints: Vec::new(),
            _profile: profile,
        };
        let target = browser.call("Target.createTarget", json!({"url": "about:blank"}));
        let attached = browser.call(
            "Target.attachToTarget",
            json!({"targetId": target["targetId"], "flatten": true}),
        );
        browser.session = attached["sessionId"]
            .as_str()
            .expect("a session")
            .to_string();
        for domain in ["Page", "Runtime", "Log", "Network"] {
            browser.call(&format!("{domain}.enable"), json!({}));
        }
        browser
    }

    /// Calls a method of the protocol; returns its result.
    pub(super) fn call(&mut self, method: &str, parameters: Value) -> Value {
        self.last += 1;
        let mut message = json!({"id": self.last, "method": method, "params": parameters});
        if !self.session.is_empty() {
            message["sessionId"] = json!(self.session);
        }
        self.socket
            .send(Message::text(message.to_string()))
            .expect("the browser listens");
        loop {
            let answer = self.read();
            if answer["id"] == json!(self.last) {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].clone();
            }
        }
    }

    fn read(&mut self) -> Value {
        let text = self.socket.read().expect("the browser answers").into_text();
        let event: Value = serde_json::from_str(&text.expect("text")).expect("JSON");
        let complaint = match event["method"].as_str() {
            Some("Runtime.exceptionThrown") => true,
            Some("Log.entryAdded") => event["params"]["entry"]["level"] == "error",
            Some("Network.requestWillBeSent") => {
                let url = event["params"]["request"]["url"].as_str().unwrap_or("");
                !url.starts_with("file:") && !url.starts_with("data:") && !url.starts_with("about:")
            }
            _ => false,
        };
        if complaint {
            self.complaints.push(event.to_string());
        }
        event
    }

    /// Loads a page and waits until it says that it is ready.
    pub(super) fn open(&mut self, path: &std::path::Path) {
        self.call(
            "Page.navigate",
            json!({"url": format!("file://{}", path.display())}),
        );
        self.wait("document.body && document.body.dataset.ready === 'yes'");
    }

    /// The value of an expression.
    pub(super) fn value(&mut self, expression: &str) -> Value {
        let answer = self.call(
            "Runtime.evaluate",
            json!({"expression": expression, "returnByValue": true, "userGesture": true}),
        );
        assert!(
            answer["exceptionDetails"].is_null(),
            "{expression}: {answer}"
        );
        answer["result"]["value"].clone()
    }

    pub(super) fn text(&mut self, expression: &str) -> String {
        self.value(expression)
            .as_str()
            .unwrap_or_else(|| panic!("{expression}: no text"))
            .to_string()
    }

    /// Waits until an expression is true.
    pub(super) fn wait(&mut self, expression: &str) {
        let start = Instant::now();
        while self.value(expression) != json!(true) {
            assert!(start.elapsed() < PATIENCE, "never: {expression}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    pub(super) fn press(&mut self, key: &str) {
        for kind in ["keyDown", "keyUp"] {
            self.call(
                "Input.dispatchKeyEvent",
                json!({"type": kind, "key": key, "text": if kind == "keyDown" { key } else { "" }}),
            );
        }
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}
