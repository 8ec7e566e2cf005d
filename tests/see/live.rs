//! The live preview: on the model, drawn cell by cell, and gone without a trace.

use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Duration;

use duskloom::design::Design;
use duskloom::firmware::Light;
use duskloom::light::Tint;
use duskloom::live::{Colours, Session, State, Wish, draw};
use duskloom::picture::tint;
use duskloom::player::Generator;
use duskloom::preview;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::style::Color;

use crate::see::support::{HALT, demo, design};

/// Lets time go by in frames of a sixtieth of a second.
fn wait(session: &mut Session, seconds: f64) {
    for _ in 0..(seconds * 60.0).round() as usize {
        session.advance(Duration::from_micros(16_667));
    }
}

fn screen(session: &Session, width: u16, height: u16, colours: Colours) -> Terminal<TestBackend> {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).expect("a terminal");
    terminal
        .draw(|frame| draw(frame, session, colours, None))
        .expect("drawn");
    terminal
}

fn scene(design: &Design, name: &str) -> usize {
    let pattern = design.project.pattern_named(name);
    preview::scene(design, pattern.expect("a pattern")).expect("it is played")
}

#[test]
fn a_session_does_what_the_model_does() {
    let design = demo("harbour.yaml");
    let mut session = Session::new(&design);
    let mut light = Light::power_up(
        design.works(),
        &[0xFF; 128],
        Generator::new(Generator::FIRST),
    );
    light.play();
    light.turn(false);
    let start = session.ticks;
    wait(&mut session, 40.0);
    let mut duties = Vec::new();
    for _ in start..session.ticks {
        duties = light.play();
        light.turn(false);
    }
    assert!((session.time() - 40.0).abs() < 0.02, "{}", session.time());
    assert_eq!(session.duties(), duties);
}

#[test]
fn taps_and_holds_act_as_on_the_chip() {
    let design = design(HALT);
    let mut session = Session::new(&design);
    assert_eq!(
        (session.show(), session.scene().as_str()),
        ("roam", "night")
    );
    // A press counts after a gap, as at power-up the button may be down.
    wait(&mut session, 0.1);
    session.obey(Wish::Tap);
    assert!(session.is_pressed());
    wait(&mut session, 0.5);
    assert_eq!(session.scene(), "warning");
    session.obey(Wish::Hold);
    wait(&mut session, 1.2);
    assert_eq!(session.show(), "steady");
    assert!(
        session.scene().starts_with("steady at L* "),
        "{}",
        session.scene()
    );
}

#[test]
fn further_buttons_are_tapped_by_their_keys() {
    let design = demo("observatory.yaml");
    let mut session = Session::new(&design);
    wait(&mut session, 1.5);
    assert_eq!(session.scene(), "reading");
    let full = session.duties().to_vec();
    session.obey(Wish::Dim(true));
    wait(&mut session, 0.3);
    assert_eq!(session.duties(), full, "it is at full already");
    let mut last = full.clone();
    for _ in 0..9 {
        session.obey(Wish::Dim(false));
        wait(&mut session, 0.3);
        let darker = session.duties().iter().zip(&last);
        assert!(darker.clone().all(|(now, before)| now < before), "{last:?}");
        last = session.duties().to_vec();
    }
    session.obey(Wish::Dim(false));
    wait(&mut session, 0.3);
    assert_eq!(session.duties(), last, "the least step lights");
    assert!(last.iter().all(|duty| duty.0 > 0));
    // The second contact goes back, round to the last pattern.
    session.obey(Wish::Close(1));
    wait(&mut session, 1.0);
    assert_eq!(session.scene(), "clouds");
}

#[test]
fn pause_speed_tick_and_step() {
    let design = design(HALT);
    let mut session = Session::new(&design);
    session.obey(Wish::Pause);
    wait(&mut session, 1.0);
    assert_eq!((session.ticks, session.state), (0, State::Paused));
    session.obey(Wish::Tick);
    assert_eq!(session.ticks, 1);
    // From the fade to the hold, a second after the start.
    session.obey(Wish::Step);
    assert!((session.time() - 1.0).abs() < 0.02, "{}", session.time());
    assert_eq!(session.step(0), "{hold: 2 s}");
    session.obey(Wish::Pause);
    session.obey(Wish::Slower);
    let before = session.time();
    wait(&mut session, 1.0);
    assert!((session.time() - before - 0.5).abs() < 0.02);
}

#[test]
fn the_next_pattern_is_by_itself_until_told_otherwise() {
    let design = design(HALT);
    let mut session = Session::new(&design);
    let mut seen = Vec::new();
    for _ in 0..4 {
        session.obey(Wish::Next);
        seen.push(session.scene());
    }
    assert_eq!(seen, ["warning", "candles", "night", "warning"]);
    wait(&mut session, 60.0);
    assert_eq!(session.scene(), "warning");
    session.obey(Wish::Shows);
    assert_eq!(session.pinned, None);
}

#[test]
fn what_flashes_too_often_waits_for_a_word() {
    let design = design(
        "name: siren\nchip: attiny13a\nchannels: [lamp]\n\
         patterns: {alarm: [{rhythm: [100 ms, 100 ms]}]}\n",
    );
    let mut session = Session::new(&design);
    assert_eq!(session.state, State::Asks(5));
    wait(&mut session, 1.0);
    session.obey(Wish::Pause);
    assert_eq!((session.ticks, session.state), (0, State::Asks(5)));
    insta::assert_snapshot!(
        "live_asks",
        screen(&session, 80, 14, Colours::None).backend()
    );
    session.obey(Wish::Agree);
    wait(&mut session, 0.5);
    assert!(session.ticks > 0);
    // Faster is another question.
    session.obey(Wish::Faster);
    assert_eq!(session.state, State::Asks(10));
}

#[test]
fn screens_of_all_sizes() {
    let design = demo("harbour.yaml");
    let mut session = Session::new(&design);
    session.pin(scene(&design, "evening"));
    wait(&mut session, 6.0);
    for (name, width, height) in [
        ("live", 96, 20),
        ("live_narrow", 44, 12),
        ("live_tiny", 12, 3),
    ] {
        insta::assert_snapshot!(
            name,
            screen(&session, width, height, Colours::None).backend()
        );
    }
    for width in 1..60 {
        for height in 1..16 {
            screen(&session, width, height, Colours::True);
        }
    }
}

/// A wave is one step, which is followed by none.
#[test]
fn where_no_other_step_comes_it_stays() {
    let design = design(&HALT.replace(
        "patterns:",
        "patterns:\n  swell: [{wave: sine, period: 4 s}]",
    ));
    let mut session = Session::new(&design);
    session.pin(scene(&design, "swell"));
    wait(&mut session, 1.0);
    let (time, duties) = (session.time(), session.duties().to_vec());
    session.obey(Wish::Step);
    assert_eq!(
        (session.time(), session.duties()),
        (time, duties.as_slice())
    );
    assert_eq!(session.news, "no other step within 600 s");
    assert_eq!(session.state, State::Paused);
}

/// Where all does not fit, what matters stays, and what is missing is counted.
#[test]
fn a_small_screen_says_what_it_leaves_out() {
    let design = demo("guesthouse.yaml");
    let mut session = Session::new(&design);
    wait(&mut session, 12.0);
    session.obey(Wish::Pause);
    let small = screen(&session, 40, 12, Colours::None)
        .backend()
        .to_string();
    let first = small.lines().next().expect("a line");
    assert!(first.contains("paused"), "{small}");
    assert!(small.contains("more, in a taller window"), "{small}");
    let names = design
        .project
        .channels
        .iter()
        .map(|one| one.name.value.as_str());
    let shown = names
        .filter(|name| small.contains(&format!("  {name} ")))
        .count();
    let more = format!("  {} more", design.project.channels.len() - shown);
    assert!(small.contains(&more), "{small}");
    let large = screen(&session, 100, 30, Colours::None)
        .backend()
        .to_string();
    assert!(
        large.contains("guesthouse") && !large.contains("more, in"),
        "{large}"
    );
}

#[test]
fn lamps_glow_in_the_light_of_the_model() {
    let design = demo("harbour.yaml");
    let mut session = Session::new(&design);
    session.pin(scene(&design, "dusk"));
    wait(&mut session, 5.0);
    let terminal = screen(&session, 96, 20, Colours::True);
    let buffer = terminal.backend().buffer();
    let lamps: Vec<(u16, Color)> = (0..buffer.area.height)
        .filter_map(|y| {
            let lamp = (0..buffer.area.width).find(|&x| buffer[(x, y)].symbol() == "●")?;
            Some((y, buffer[(lamp, y)].fg))
        })
        .collect();
    let lit: Vec<Color> = session
        .duties()
        .iter()
        .enumerate()
        .filter(|(_, duty)| duty.0 > 0)
        .map(|(channel, duty)| {
            let Tint([red, green, blue]) = tint(&design, channel).dimmed(duty.luminance());
            Color::Rgb(red, green, blue)
        })
        .collect();
    assert_eq!(lit.len(), 3, "the tower is dark");
    assert_eq!(
        lamps
            .into_iter()
            .map(|(_, colour)| colour)
            .collect::<Vec<_>>(),
        lit
    );
}

#[test]
fn without_colour_characters_tell_the_light() {
    let design = demo("harbour.yaml");
    let mut session = Session::new(&design);
    session.pin(scene(&design, "dusk"));
    wait(&mut session, 5.0);
    let terminal = screen(&session, 96, 20, Colours::None);
    let buffer = terminal.backend().buffer();
    assert!(buffer.content.iter().all(|cell| cell.fg == Color::Reset));
    assert!(buffer.content.iter().any(|cell| cell.symbol() == "▅"));
}

/// Runs lines of a shell in a terminal of its own (`script`, Debian's bsdutils), and types; returns
/// what was written to the terminal.
fn in_a_terminal(lines: &str, keys: &str) -> String {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("lines.sh");
    std::fs::write(&file, format!("stty rows 30 cols 100\n{lines}")).expect("a file");
    let child = Command::new("script")
        .args([
            "--quiet",
            "--command",
            &format!("bash -m {}", file.display()),
            "/dev/null",
        ])
        .env("TERM", "xterm-256color")
        .env("TOOL", env!("CARGO_BIN_EXE_duskloom"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn();
    let mut child = child.expect("script runs");
    let mut stdin = child.stdin.take().expect("piped");
    for key in keys.chars() {
        std::thread::sleep(Duration::from_millis(400));
        stdin
            .write_all(key.to_string().as_bytes())
            .expect("it reads");
        stdin.flush().expect("it reads");
    }
    let output = child.wait_with_output().expect("it ends");
    drop(stdin);
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// The other screen was left, the cursor shows, and the settings are those of a person who types.
fn assert_clean(seen: &str) {
    let (played, after) = seen
        .split_once("ended")
        .unwrap_or_else(|| panic!("it did not end: {seen}"));
    for (begins, ends) in [
        ("\u{1b}[?1049h", "\u{1b}[?1049l"),
        ("\u{1b}[?25l", "\u{1b}[?25h"),
    ] {
        let (first, last) = (played.find(begins), played.rfind(ends));
        assert!(first.is_some() && first < last, "{begins:?}: {played}");
    }
    let settings: Vec<&str> = after.split_whitespace().collect();
    for setting in ["icanon", "echo", "isig", "opost"] {
        assert!(settings.contains(&setting), "{setting}: {after}");
    }
}

#[test_with::executable("script")]
#[test]
fn the_terminal_is_as_before_when_the_person_leaves() {
    for (keys, arguments) in [
        (" .nthq", ""),
        ("\u{3}", "--pattern swell --watch"),
        ("+\u{1b}", "--pattern storm"),
    ] {
        let lines = format!(
            "$TOOL preview patterns/harbour.yaml --live {arguments}; echo \"ended $?\"; stty -a"
        );
        let seen = in_a_terminal(&lines, keys);
        assert!(
            seen.contains("harbour-diorama") && seen.contains("ended 0"),
            "{seen}"
        );
        assert_clean(&seen);
    }
}

#[test_with::executable("script")]
#[test]
fn the_terminal_is_as_before_when_the_system_ends_it() {
    for signal in ["TERM", "HUP", "INT"] {
        let lines = format!(
            "(sleep 1; kill -{signal} $(cat $0.pid)) &\n\
             sh -c 'echo $$ > '$0'.pid; exec $TOOL preview patterns/lantern.yaml --live'\n\
             echo \"ended $?\"; stty -a"
        );
        let seen = in_a_terminal(&lines, "");
        assert_clean(&seen);
    }
}
