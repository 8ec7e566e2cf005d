//! Completion scripts.

use crate::cli::support::Desk;

#[test]
fn every_shell_gets_a_script_that_knows_the_commands() {
    let desk = Desk::new();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let answer = desk.run(&format!("completions {shell}"));
        assert_eq!((answer.status, answer.err.as_str()), (0, ""));
        for word in ["duskloom", "preview", "player-only"] {
            assert!(answer.out.contains(word), "{shell}: {word}");
        }
    }
    assert_eq!(desk.run("completions tcsh").status, 2);
}

/// The other two shells' scripts have no values of options.
#[test]
fn words_of_new_are_completed() {
    let desk = Desk::new();
    for shell in ["bash", "fish", "zsh"] {
        let script = desk.run(&format!("completions {shell}")).out;
        for word in ["sensor", "standby", "evening"] {
            assert!(script.contains(word), "{shell}: {word}");
        }
    }
}

/// The script is one that the shell itself takes.
#[test_with::executable("bash")]
#[test]
fn the_bash_script_is_bash() {
    let desk = Desk::new();
    let script = desk.run("completions bash").out;
    desk.write("script", &script);
    let status = std::process::Command::new("bash")
        .arg("-n")
        .arg(desk.path("script"))
        .status()
        .expect("bash runs");
    assert!(status.success());
}

/// A page for the program and for each of its commands, and a script for each shell; the pages are roff.
#[test]
fn the_manual_has_a_page_a_command() {
    let desk = Desk::new();
    let answer = desk.run("manual pages");
    assert_eq!(
        (answer.status, answer.out.as_str(), answer.err.as_str()),
        (0, "", "")
    );
    let help = desk.run("--help").out;
    let commands = help.lines().skip_while(|line| *line != "Commands:").skip(1);
    let commands = commands.take_while(|line| !line.is_empty());
    let commands: Vec<&str> = commands
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(commands.len() > 10, "{commands:?}");
    for command in commands.iter().filter(|command| **command != "help") {
        let page = desk.read(&format!("pages/duskloom-{command}.1"));
        assert!(
            page.contains(&format!(".TH duskloom-{command} 1")),
            "{page}"
        );
        assert!(page.contains(".SH OPTIONS"), "{command}");
    }
    assert!(desk.read("pages/duskloom.1").contains(".TH duskloom 1"));
    assert!(desk.read("pages/duskloom.bash").contains("complete"));
}
