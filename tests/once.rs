//! What is played once, by a contact and when power comes, in the model. That the chip does the same, `verify`
//! proves.

use duskloom::design::Design;
use duskloom::firmware::{Begin, Light};
use duskloom::input::Sensed;
use duskloom::player::{Generator, Player};
use duskloom::spec::Show;
use duskloom::units::Duty;

use crate::common::designs;

const OPEN: Sensed = Sensed {
    button: false,
    contacts: 0,
    switch: false,
    ..Sensed::REST
};
const CLOSED: Sensed = Sensed {
    button: false,
    contacts: 1,
    switch: false,
    ..Sensed::REST
};
const PRESSED: Sensed = Sensed {
    button: true,
    contacts: 0,
    switch: false,
    ..Sensed::REST
};

/// A toll bridge: two patterns to show, a round of 1.5 s to play once, and whatever else is said.
fn bridge(more: &str) -> Design {
    let text = format!(
        "name: bridge\nchip: attiny2313a\nclock: 8 MHz internal\ntick: 5 ms\nchannels: 2\n\
         patterns:\n  low: [{{to: 20 %, over: 1 s}}, {{to: 30 %, over: 1 s}}]\n  \
         high: [{{to: 80 %, over: 1 s}}, {{to: 70 %, over: 1 s}}]\n  \
         barrier: [{{to: 100 %, over: 500 ms}}, {{to: 0 %, over: 1 s}}]\n\
         inputs: {{gate: {{pin: PD3, plays: barrier}}}}\n{more}"
    );
    designs::from_text("bridge.yaml", &text)
}

fn new_light(design: &Design) -> Light<'_> {
    let erased = vec![0xFF; design.plan.chip.eeprom.size.0 as usize];
    Light::power_up(design.works(), &erased, Generator::new(7))
}

fn scene(design: &Design, name: &str) -> usize {
    let mut scenes = design.deck.image.score.scenes.iter();
    scenes
        .position(|scene| scene.name == name)
        .expect("it is played")
}

/// Plays on for so many ticks; what was put out, and each scene that started, with its tick.
fn play(light: &mut Light, ticks: usize, sensed: Sensed) -> (Vec<Vec<Duty>>, Vec<(usize, usize)>) {
    let (mut frames, mut started) = (Vec::new(), Vec::new());
    for tick in 1..=ticks {
        frames.push(light.play());
        let turn = light.turn(sensed);
        started.extend(turn.started.map(|scene| (tick, scene)));
    }
    (frames, started)
}

/// What a scene puts out from its start.
fn alone(design: &Design, scene: usize, ticks: usize) -> Vec<Vec<Duty>> {
    let mut player = Player::playing(&design.deck, Generator::new(7), scene);
    let frame = |_| {
        player.step();
        let levels = player.levels().enumerate();
        levels
            .map(|(channel, level)| design.deck.duty(channel, level))
            .collect()
    };
    (0..ticks).map(frame).collect()
}

/// A round of the barrier, and the ticks that a contact must be open or closed: 25 ms are five ticks and a part.
const ROUND: usize = 300;
const COUNTS: usize = 6;

#[test]
fn a_contact_plays_one_whole_round_and_then_the_scene_before_begins() {
    let design = bridge("shows: [{solo: {patterns: [low, high]}}]\nbutton: {pin: PD2}\n");
    let (low, barrier) = (scene(&design, "low"), scene(&design, "barrier"));
    let mut light = new_light(&design);
    play(&mut light, 100, OPEN);
    let (_, started) = play(&mut light, COUNTS, CLOSED);
    assert_eq!(started, [(COUNTS, barrier)]);
    let (frames, started) = play(&mut light, ROUND + 200, CLOSED);
    assert_eq!(started, [(ROUND, low)], "it stays closed, and plays once");
    assert_eq!(frames[..ROUND], alone(&design, barrier, ROUND)[..]);
    assert_eq!(
        frames[ROUND - 1],
        [Duty(0), Duty(0)],
        "the round has come to its end"
    );
    assert_eq!(frames[ROUND..], alone(&design, low, 200)[..]);
}

#[test]
fn closed_again_it_begins_anew() {
    let design = bridge("");
    let mut light = new_light(&design);
    play(&mut light, 100, OPEN);
    play(&mut light, COUNTS, CLOSED);
    play(&mut light, 200, OPEN);
    let (_, started) = play(&mut light, COUNTS, CLOSED);
    assert_eq!(started, [(COUNTS, scene(&design, "barrier"))]);
    let (_, started) = play(&mut light, ROUND, OPEN);
    assert_eq!(started.last().map(|(tick, _)| *tick), Some(ROUND));
}

#[test]
fn a_tap_goes_on_with_the_next_scene_and_nothing_comes_back() {
    let design = bridge("shows: [{solo: {patterns: [low, high]}}]\nbutton: {pin: PD2}\n");
    let mut light = new_light(&design);
    play(&mut light, 100, OPEN);
    play(&mut light, COUNTS, CLOSED);
    play(&mut light, 20, PRESSED);
    let (_, started) = play(&mut light, 2 * ROUND, OPEN);
    assert_eq!(started, [(COUNTS, scene(&design, "high"))]);
    assert!(!light.plays_once());
}

#[test]
fn a_show_that_roams_waits() {
    let design = bridge("shows: [{roam: {dwell: 1 s, patterns: [low, high]}}]\n");
    let mut light = new_light(&design);
    play(&mut light, 100, OPEN);
    play(&mut light, COUNTS, CLOSED);
    let (_, started) = play(&mut light, ROUND, OPEN);
    assert_eq!(started.len(), 1, "a round is longer than a dwell");
    assert_eq!(started[0].0, ROUND);
}

#[test]
fn with_a_fade_it_has_gone_when_its_round_is_over() {
    let design = bridge("change_fade: 400 ms\n");
    let mut light = new_light(&design);
    play(&mut light, 200, OPEN);
    let (_, started) = play(&mut light, 200, CLOSED);
    let barrier = scene(&design, "barrier");
    let begun = 200 - started[0].0;
    assert_eq!(started[0].1, barrier);
    let (frames, started) = play(&mut light, 2 * ROUND, OPEN);
    let lasts = begun + started[0].0;
    assert!(lasts.abs_diff(ROUND) <= 2, "{lasts} ticks");
    // Of 200 ms, in which it goes, the light was never up again.
    let end = started[0].0;
    let light = |frame: &Vec<Duty>| frame[0].0;
    assert!(
        frames[end - 30..end]
            .iter()
            .map(light)
            .is_sorted_by(|a, b| a >= b)
    );
}

#[test]
fn what_power_brings_plays_for_as_long_as_is_said() {
    let design = bridge("start: {plays: high, for: 700 ms}\n");
    let mut light = new_light(&design);
    assert_eq!(light.scene(), scene(&design, "high"));
    let (frames, started) = play(&mut light, 300, OPEN);
    assert_eq!(started[0], (140, scene(&design, "low")));
    assert_eq!(
        frames[..140],
        alone(&design, scene(&design, "high"), 140)[..]
    );
}

#[test]
fn a_pattern_that_is_only_played_once_is_in_no_show_unless_named() {
    let shown = |more: &str| {
        let design = bridge(more);
        let (Show::Roam { patterns, .. } | Show::Solo { patterns }) =
            &design.project.shows[0].value
        else {
            panic!("a show of patterns")
        };
        let names = patterns
            .iter()
            .map(|id| design.project.pattern(*id).name.value.clone());
        names.collect::<Vec<_>>()
    };
    assert_eq!(shown(""), ["low", "high"]);
    assert_eq!(shown("start: {plays: low}\n"), ["high"]);
    assert_eq!(
        shown("shows: [{roam: {patterns: [barrier, low]}}]\nstart: {plays: high}\n"),
        ["barrier", "low"]
    );
}

const TURNED: Sensed = Sensed {
    button: false,
    contacts: 0,
    switch: true,
    ..Sensed::REST
};

/// The same with a switch, and a contact.
fn switched(more: &str) -> Design {
    let text = format!(
        "name: bridge\nchip: attiny2313a\nclock: 8 MHz internal\ntick: 5 ms\nchannels: 2\n\
         patterns:\n  low: [{{to: 20 %, over: 1 s}}, {{to: 30 %, over: 1 s}}]\n  \
         high: [{{to: 80 %, over: 1 s}}, {{to: 70 %, over: 1 s}}]\n{more}"
    );
    designs::from_text("bridge.yaml", &text)
}

#[test]
fn a_switch_chooses_from_the_first_tick_on_and_each_time_it_is_turned() {
    let design = switched("inputs: {choice: {pin: PD4, selects: [low, high]}}\n");
    let (low, high) = (scene(&design, "low"), scene(&design, "high"));
    let erased = vec![0xFF; design.plan.chip.eeprom.size.0 as usize];
    let begin = |switch| Begin {
        chance: Generator::new(7),
        switch,
    };
    let closed = Light::power_up(design.works(), &erased, begin(true));
    assert_eq!(closed.scene(), high);
    let mut light = Light::power_up(design.works(), &erased, begin(false));
    assert_eq!(light.scene(), low);
    let (_, started) = play(&mut light, 100, OPEN);
    assert_eq!(started, []);
    let (_, started) = play(&mut light, 100, TURNED);
    assert_eq!(started, [(COUNTS, high)]);
    let (_, started) = play(&mut light, COUNTS - 1, OPEN);
    assert_eq!(started, [], "too short to count");
    let (_, started) = play(&mut light, 100, TURNED);
    assert_eq!(started, []);
    let (_, started) = play(&mut light, 100, OPEN);
    assert_eq!(started, [(COUNTS, low)]);
}

#[test]
fn with_a_switch_a_tap_goes_on_within_its_show_and_a_hold_does_nothing() {
    let design = switched(
        "shows: [{solo: {}}, {steady: {levels: 3}}]\nbutton: {pin: PD2}\n\
         inputs: {choice: {pin: PD4, selects: shows}}\n",
    );
    let mut light = new_light(&design);
    play(&mut light, 100, OPEN);
    play(&mut light, 400, PRESSED);
    assert_eq!(light.show(), 0, "a hold");
    play(&mut light, 100, OPEN);
    play(&mut light, 20, PRESSED);
    let (_, started) = play(&mut light, 100, OPEN);
    assert_eq!(started.len(), 1, "a tap");
    play(&mut light, 100, TURNED);
    assert_eq!(light.show(), 1);
}
