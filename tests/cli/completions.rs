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
