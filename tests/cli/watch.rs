//! `preview --watch`: again at every save, with errors in place.

use std::io::Read;
use std::process::{Child, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use crate::cli::support::{Desk, scenario};

/// A tool that runs until it is dropped.
struct Running {
    child: Child,
    said: Arc<Mutex<String>>,
}

impl Running {
    fn start(desk: &Desk, arguments: &str) -> Self {
        let mut child = desk
            .command(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the tool runs");
        let said = Arc::new(Mutex::new(String::new()));
        let streams: [Box<dyn Read + Send>; 2] = [
            Box::new(child.stdout.take().expect("piped")),
            Box::new(child.stderr.take().expect("piped")),
        ];
        for mut stream in streams {
            let said = Arc::clone(&said);
            std::thread::spawn(move || {
                let mut bytes = [0; 4096];
                while let Ok(count @ 1..) = stream.read(&mut bytes) {
                    let text = String::from_utf8_lossy(&bytes[..count]).into_owned();
                    said.lock().expect("nobody panics").push_str(&text);
                }
            });
        }
        Self { child, said }
    }

    /// Waits until it has said this so many times.
    fn wait(&self, text: &str, times: usize) {
        let start = Instant::now();
        loop {
            let said = self.said.lock().expect("nobody panics").clone();
            if said.matches(text).count() >= times {
                return;
            }
            assert!(
                start.elapsed() < Duration::from_secs(20),
                "not said: {text}\n{said}"
            );
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_save_shows_the_new_version_or_what_is_wrong_with_it() {
    let desk = Desk::with(&scenario("platform.yaml"));
    let running = Running::start(&desk, "preview light.yaml --watch");
    running.wait("night: a round of 4 s", 1);
    running.wait("watching light.yaml", 1);
    desk.write(
        "light.yaml",
        &scenario("platform.yaml").replace("{hold: 2 s}", "{hold: 3 s}"),
    );
    running.wait("night: a round of 5 s", 1);
    desk.write(
        "light.yaml",
        &scenario("platform.yaml").replace("{hold: 2 s}", "{hold: 2}"),
    );
    running.wait("error[", 1);
    running.wait("watching light.yaml", 3);
    desk.write("light.yaml", &scenario("platform.yaml"));
    running.wait("night: a round of 4 s", 2);
}

#[test]
fn a_wrong_project_can_be_watched_until_it_is_right() {
    let desk = Desk::with("chip: attiny13a\n");
    let running = Running::start(&desk, "preview light.yaml --watch");
    running.wait("error[", 1);
    desk.write("light.yaml", &scenario("platform.yaml"));
    running.wait("night: a round of 4 s", 1);
}

/// Whatever is shown of a project, and what is built from it.
#[test]
fn every_report_can_be_watched() {
    for (command, says) in [
        ("budget", "platform on"),
        ("curve", "levels"),
        ("wiring", "from above"),
        ("build --out built", "wrote"),
    ] {
        let desk = Desk::with(&scenario("platform.yaml"));
        let running = Running::start(&desk, &format!("{command} light.yaml --watch"));
        running.wait("watching light.yaml", 1);
        running.wait(says, 1);
        let text = scenario("platform.yaml").replace("{hold: 2 s}", "{hold: 3 s}");
        desk.write("light.yaml", &text);
        running.wait("watching light.yaml", 2);
        running.wait(says, 2);
    }
}

#[test]
fn a_picture_follows_a_library() {
    let desk = Desk::with(
        "chip: attiny13a\nchannels: [lamp]\nuse: shades.yaml\n\
         patterns:\n  dusk:\n    tracks: [{channels: lamp, play: shade}]\n",
    );
    desk.write(
        "shades.yaml",
        "patterns: {shade: [{to: 80 %, over: 1 s}, {to: 5 %, over: 1 s}]}\n",
    );
    let running = Running::start(&desk, "preview light.yaml --watch --svg light.svg");
    running.wait("watching", 1);
    let first = desk.read("light.svg");
    desk.write(
        "shades.yaml",
        "patterns: {shade: [{to: 80 %, over: 2 s}, {to: 5 %, over: 1 s}]}\n",
    );
    running.wait("watching", 2);
    assert_ne!(desk.read("light.svg"), first);
}

#[test]
fn a_live_preview_needs_a_terminal() {
    let desk = Desk::with(&scenario("platform.yaml"));
    insta::assert_snapshot!(
        "live_without_a_terminal",
        desk.run("preview light.yaml --live").shown()
    );
}
