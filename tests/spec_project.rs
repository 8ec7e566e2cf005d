//! What can be written, and what it comes to.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::io;
use std::path::Path;

use duskloom::diagnostic::{self, Report};
use duskloom::spec::{
    self, Active, ButtonTo, ChannelId, ClockSource, Curve, Draw, Drawn, Ease, PatternId, Project,
    PwmMode, Shape, Show, Step, Times, Track,
};
use duskloom::units::{Hertz, Share, Time};

fn try_read(text: &str) -> Result<Project, Report> {
    let text = Cell::new(text.as_bytes().to_vec());
    spec::read_with(Path::new("here/Harbour Lights.yaml"), &|_| Ok(text.take()))
}

fn read(text: &str) -> Project {
    try_read(text).unwrap_or_else(|report| panic!("{}", diagnostic::render(&report, false)))
}

/// A project of four channels with these further lines.
fn with(lines: &str) -> Project {
    read(&format!(
        "chip: attiny2313a\nchannels: [quay, houses, boats, tower]\n{lines}"
    ))
}

/// The only track of a pattern, written as it would stand under its name.
fn track(pattern: &str) -> Track {
    let indented = pattern.trim_start_matches('\n').replace('\n', "\n    ");
    let project = with(&format!(
        "groups: {{shore: [quay, houses]}}\npatterns:\n  evening:\n    {indented}\n"
    ));
    let [pattern] = project.patterns.as_slice() else {
        panic!("one pattern")
    };
    let [track] = pattern.tracks.as_slice() else {
        panic!("one track")
    };
    track.clone()
}

/// The steps of a pattern that is one line of step each.
fn steps(lines: &str) -> Vec<Step> {
    track(lines)
        .steps
        .into_iter()
        .map(|step| step.value)
        .collect()
}

fn ids(ids: &[u8]) -> Vec<ChannelId> {
    ids.iter().copied().map(ChannelId).collect()
}

const fn ms(ms: u64) -> Time {
    Time::from_millis(ms)
}

#[test]
fn a_minimum_is_four_lines_and_has_every_default() {
    let project = read("chip: ATtiny2313A\nchannels: 2\npatterns:\n  glow: [{hold: 1 s}]\n");
    assert_eq!(project.name.value, "harbour-lights");
    assert_eq!(project.chip.value, "attiny2313a");
    assert!(project.clock.is_none() && project.tick.is_none());
    let names: Vec<_> = project
        .channels
        .iter()
        .map(|channel| &channel.name.value)
        .collect();
    assert_eq!(names, ["ch1", "ch2"]);
    let channel = &project.channels[1];
    assert!(channel.pin.is_none() && channel.groups.is_empty());
    assert_eq!(
        (channel.trim.value, channel.active.value),
        (Share(1.0), Active::High)
    );
    assert_eq!(project.brightness.curve.value, Curve::Lightness);
    assert_eq!(project.brightness.levels.value, 256);
    assert_eq!(project.brightness.floor.value, Share(0.0));
    assert_eq!(project.brightness.ceiling.value, Share(1.0));
    assert_eq!(project.brightness.error.value, 0.5);
    assert!(project.pwm.frequency.is_none());
    assert_eq!(project.pwm.slowest.value, Hertz(1250.0));
    assert_eq!(project.pwm.mode.value, PwmMode::Auto);
    assert_eq!(
        project.shows[0].value,
        Show::Solo {
            patterns: vec![PatternId(0)]
        }
    );
    assert_eq!(project.change_fade.value, Time(0));
    assert!(project.button.is_none() && project.memory.is_none());
    assert!(project.charge_pump.is_none());
    assert_eq!(
        project.watchdog.map(|watchdog| watchdog.value),
        Some(ms(1000))
    );
}

#[test]
fn everything_around_the_patterns_can_be_said() {
    let project = read(
        "name: reading-lantern
chip: attiny2313a
clock: 16MHz crystal
channels:
  page:  {pin: pb2, group: [near, warm], trim: 80 %, active: low}
  shade: {group: warm}
  base:
groups: {far: [shade, base]}
brightness: {curve: {power: 2.2}, levels: 64, floor: 5 %, ceiling: 90 %, error: 1}
pwm: {frequency: 31.25 kHz, slowest: 2 kHz, mode: phase-correct}
tick: 5 ms
patterns: {glow: [{hold: 1 s}]}
change_fade: 0 s
button: {pin: PD2, hold: 1 s, debounce: 10 ms}
memory: {after: 5 s}
charge_pump: {pins: [PD0, PD1], clock: 15 kHz}
watchdog: off
",
    );
    assert_eq!(project.name.value, "reading-lantern");
    let clock = project.clock.expect("a clock").value;
    assert_eq!(
        (clock.frequency, clock.source),
        (Hertz(16e6), ClockSource::Crystal)
    );
    let page = &project.channels[0];
    assert_eq!(page.pin.as_ref().map(|pin| pin.value.as_str()), Some("PB2"));
    assert_eq!(
        (page.trim.value, page.active.value),
        (Share(0.8), Active::Low)
    );
    let groups = |index: usize| -> Vec<&str> {
        project.channels[index]
            .groups
            .iter()
            .map(|group| group.value.as_str())
            .collect()
    };
    assert_eq!(
        (groups(0), groups(1), groups(2)),
        (vec!["near", "warm"], vec!["warm", "far"], vec!["far"])
    );
    let brightness = &project.brightness;
    assert_eq!(brightness.curve.value, Curve::Power(2.2));
    assert_eq!((brightness.levels.value, brightness.error.value), (64, 1.0));
    assert_eq!(
        (brightness.floor.value, brightness.ceiling.value),
        (Share(0.05), Share(0.9))
    );
    assert_eq!(project.pwm.frequency.map(|f| f.value), Some(Hertz(31250.0)));
    assert_eq!(
        (project.pwm.slowest.value, project.pwm.mode.value),
        (Hertz(2000.0), PwmMode::PhaseCorrect)
    );
    assert_eq!(project.tick.map(|tick| tick.value), Some(ms(5)));
    assert_eq!(project.change_fade.value, Time(0));
    let button = project.button.expect("a button");
    assert_eq!(
        (
            button.pin.value.as_str(),
            button.hold.value,
            button.debounce.value
        ),
        ("PD2", ms(1000), ms(10))
    );
    assert_eq!(
        project.memory.map(|memory| memory.value.after),
        Some(ms(5000))
    );
    let pump = project.charge_pump.expect("a charge pump");
    assert_eq!(pump.pins.map(|pin| pin.value), ["PD0", "PD1"]);
    assert_eq!(pump.clock.map(|clock| clock.value), Some(Hertz(15e3)));
    assert!(project.watchdog.is_none());
}

#[test]
fn each_curve_has_its_words() {
    let curve = |text: &str| {
        let lines = format!("brightness: {{curve: {text}}}\npatterns: {{glow: [{{hold: 1 s}}]}}\n");
        with(&lines).brightness.curve.value
    };
    assert_eq!(curve("lightness"), Curve::Lightness);
    assert_eq!(curve("logarithmic"), Curve::Logarithmic);
    assert_eq!(curve("square"), Curve::Square);
    assert_eq!(curve("linear"), Curve::Linear);
    assert_eq!(curve("{power: 3}"), Curve::Power(3.0));
    let points = [(0.0, 0.0), (0.5, 0.18), (1.0, 1.0)].map(|(x, y)| (Share(x), Share(y)));
    assert_eq!(
        curve("{points: [[0 %, 0 %], [50 %, 18 %], [100 %, 100 %]]}"),
        Curve::Points(points.to_vec())
    );
}

#[test]
fn a_fade_goes_to_one_level_or_to_several() {
    let all = ids(&[0, 1, 2, 3]);
    let found = steps(
        "- {to: 40 %, over: 2 s, ease: soft-out}\n- {to: 20 % .. 100 %, over: 100 ms .. 800 ms}",
    );
    let [
        Step::To {
            targets,
            over,
            ease,
        },
        Step::To {
            targets: drawn,
            over: drawn_over,
            ..
        },
    ] = found.as_slice()
    else {
        panic!("{found:?}")
    };
    assert_eq!(
        (&targets[0].channels, targets[0].level),
        (&all, Drawn::Fixed(Share(0.4)))
    );
    assert_eq!((*over, *ease), (Drawn::Fixed(ms(2000)), Ease::SoftOut));
    assert_eq!(drawn[0].level, Drawn::Between(Share(0.2), Share(1.0)));
    assert_eq!(*drawn_over, Drawn::Between(ms(100), ms(800)));

    let found = steps("- {to: {rest: 10 %, shore: 50 %, houses: 70 %}, over: 3 s}");
    let [Step::To { targets, .. }] = found.as_slice() else {
        panic!("{found:?}")
    };
    let targets: Vec<_> = targets
        .iter()
        .map(|to| (to.channels.clone(), to.level))
        .collect();
    assert_eq!(
        targets,
        [
            (ids(&[2, 3]), Drawn::Fixed(Share(0.1))),
            (ids(&[0]), Drawn::Fixed(Share(0.5))),
            (ids(&[1]), Drawn::Fixed(Share(0.7))),
        ]
    );
}

#[test]
fn a_jump_may_hold_and_a_rhythm_has_its_levels() {
    let found = steps(
        "- {set: {tower: 100 %}, hold: 250 ms}\n- {set: 0 %}\n- {rhythm: [150 ms, 2 s], low: 5 %}",
    );
    let [
        Step::Set { targets },
        Step::Hold(hold),
        Step::Set { .. },
        Step::Rhythm { times, high, low },
    ] = found.as_slice()
    else {
        panic!("{found:?}")
    };
    assert_eq!(
        (&targets[0].channels, *hold),
        (&ids(&[3]), Drawn::Fixed(ms(250)))
    );
    let times: Vec<_> = times.iter().map(|time| time.value).collect();
    assert_eq!(
        (times, *high, *low),
        (vec![ms(150), ms(2000)], Share(1.0), Share(0.05))
    );
}

#[test]
fn light_may_stay_for_ever_and_jumps_alone_do() {
    let found = steps("- {to: 60 %, over: 2 s}\n- {hold: forever}");
    assert!(matches!(found[..], [Step::To { .. }, Step::Stay]));
    let found = steps("- {set: 60 %, hold: forever}");
    assert!(matches!(found[..], [Step::Set { .. }, Step::Stay]));
    let found = steps("- {set: {tower: 60 %}}\n- {set: {quay: 20 % .. 40 %}}");
    assert!(matches!(
        found[..],
        [Step::Set { .. }, Step::Set { .. }, Step::Stay]
    ));
}

#[test]
fn a_drawn_number_of_rounds_is_one_of_several() {
    let found = steps("- {repeat: 2 .. 4, steps: [{hold: 1 s}]}");
    let [Step::Branch(branches)] = found.as_slice() else {
        panic!("{found:?}")
    };
    let times = |branch: &Vec<duskloom::diagnostic::Spanned<Step>>| match branch[0].value {
        Step::Repeat { times, .. } => times,
        ref other => panic!("{other:?}"),
    };
    let times: Vec<_> = branches.iter().map(times).collect();
    assert_eq!(times, [2, 3, 4].map(Times::Count));
}

#[test]
fn a_pattern_that_no_show_names_is_left_out_with_a_caution() {
    let project = with(
        "patterns: {evening: [{hold: 1 s}], night: [{hold: 2 s}]}\nshows: [solo: {patterns: night}]",
    );
    assert_eq!(project.patterns.len(), 1);
    let [caution] = project.cautions.as_slice() else {
        panic!("{:?}", project.cautions)
    };
    assert_eq!(
        (caution.code, caution.message.as_str()),
        ("S048", "pattern `evening` is never shown")
    );
}

#[test]
fn a_button_goes_to_ground_or_to_the_supply() {
    let to = |button: &str| {
        let text = format!("{button}\npatterns: {{evening: [{{hold: 1 s}}]}}");
        with(&text).button.map(|button| button.to)
    };
    assert_eq!(to("button: {pin: PD2}"), Some(ButtonTo::Ground));
    assert_eq!(to("button: {pin: PD2, to: supply}"), Some(ButtonTo::Supply));
}

#[test]
fn steps_repeat_and_branch_and_pick() {
    let found = steps(
        "- {repeat: 3, steps: [{repeat: 2, steps: [{hold: 1 s}]}]}
- {branch: [[{hold: 1 s}], [{to: 0 %, over: 1 s}, {hold: 2 s}]]}
- {pick: shore, steps: [{to: 0 % .. 100 %, over: 1 s}]}
- {repeat: forever, steps: [{hold: 1 s}]}",
    );
    let [
        Step::Repeat { times, steps },
        Step::Branch(branches),
        Step::Pick {
            channels,
            steps: picked,
        },
        Step::Repeat {
            times: Times::Forever,
            ..
        },
    ] = found.as_slice()
    else {
        panic!("{found:?}")
    };
    assert_eq!(*times, Times::Count(3));
    assert!(matches!(
        steps[0].value,
        Step::Repeat {
            times: Times::Count(2),
            ..
        }
    ));
    assert_eq!(branches.iter().map(Vec::len).collect::<Vec<_>>(), [1, 2]);
    assert_eq!(*channels, ids(&[0, 1]));
    assert!(
        matches!(&picked[0].value, Step::To { targets, .. } if targets[0].channels == ids(&[0, 1]))
    );
}

#[test]
fn a_wave_goes_on_for_ever_unless_told() {
    let found = steps(
        "- {wave: saw, period: 6 s, low: 10 %, high: 90 %, spread: 25 %, cycles: 3}\n- {wave: sine, period: 1.5 min}",
    );
    let [Step::Wave(saw), Step::Wave(sine)] = found.as_slice() else {
        panic!("{found:?}")
    };
    assert_eq!(
        (saw.shape, saw.period.value, saw.cycles),
        (Shape::Saw, ms(6000), Times::Count(3))
    );
    assert_eq!(
        (saw.low, saw.high, saw.spread),
        (Share(0.1), Share(0.9), Share(0.25))
    );
    assert_eq!(
        (sine.shape, sine.period.value, sine.cycles),
        (Shape::Sine, ms(90_000), Times::Forever)
    );
    assert_eq!(
        (sine.low, sine.high, sine.spread),
        (Share(0.0), Share(1.0), Share(0.0))
    );
}

#[test]
fn a_track_has_its_settings() {
    let found = track(
        "channels: [tower, shore]
stagger: 250 ms
each: true
ahead: 1 s
draw: {seed: 7, rounds: 4}
steps: [{hold: 1 s .. 2 s}]",
    );
    assert_eq!(found.channels, ids(&[3, 0, 1]));
    assert_eq!(
        (found.stagger.value, found.each, found.ahead.value),
        (ms(250), true, ms(1000))
    );
    assert_eq!(
        found.draw.map(|draw| draw.value),
        Some(Draw { seed: 7, rounds: 4 })
    );
    let plain = track("- {hold: 1 s}");
    assert_eq!(plain.channels, ids(&[0, 1, 2, 3]));
    assert_eq!(
        (plain.stagger.value, plain.each, plain.ahead.value),
        (Time(0), false, Time(0))
    );
    assert!(plain.draw.is_none());
}

#[test]
fn playing_takes_the_steps_and_the_settings_that_are_not_given() {
    let project = with(
        "patterns:
  twinkle: {each: true, stagger: 100 ms, channels: [quay, houses], steps: [{to: 0 % .. 9 %, over: 1 s}]}
  again: {play: twinkle, stagger: 2 s}
  duet:
    tracks:
      - {channels: tower, play: again}
      - {channels: [boats], steps: [{hold: 1 s}]}
",
    );
    let again = &project.patterns[1].tracks[0];
    assert_eq!(
        (again.channels.clone(), again.each, again.stagger.value),
        (ids(&[0, 1]), true, ms(2000))
    );
    let duet = &project.patterns[2].tracks;
    assert_eq!(
        (duet[0].channels.clone(), duet[0].stagger.value),
        (ids(&[3]), ms(2000))
    );
    assert!(
        matches!(&duet[0].steps[0].value, Step::To { targets, .. } if targets[0].channels == ids(&[3]))
    );
    assert_eq!(duet[1].channels, ids(&[2]));
}

#[test]
fn libraries_bring_the_patterns_that_are_named() {
    let files = BTreeMap::from([
        (
            "here/light.yaml",
            "chip: attiny85\nchannels: 2\nuse: [../coast.yaml, shared/town.yaml]
patterns:\n  evening: {play: night}
shows: [roam: {patterns: [quick, evening]}]\n",
        ),
        (
            "here/../coast.yaml",
            "patterns:\n  quick: [{hold: 1 s}]\n  unused: [{to: {nobody: 0 %}, over: 1 s}]\n",
        ),
        (
            "here/shared/town.yaml",
            "use: ../../coast.yaml\npatterns:\n  night: [{hold: 2 s}]\n",
        ),
    ]);
    let open = |path: &Path| -> io::Result<Vec<u8>> {
        let name = path.to_str().expect("a test's path");
        files
            .get(name)
            .map(|text| text.as_bytes().to_vec())
            .ok_or(io::ErrorKind::NotFound.into())
    };
    let project = spec::read_with(Path::new("here/light.yaml"), &open)
        .unwrap_or_else(|report| panic!("{}", diagnostic::render(&report, false)));
    let names: Vec<_> = project
        .patterns
        .iter()
        .map(|pattern| &pattern.name.value)
        .collect();
    assert_eq!(names, ["evening", "quick"]);
    assert!(
        matches!(&project.shows[0].value, Show::Roam { patterns, .. } if *patterns == [PatternId(1), PatternId(0)])
    );
    assert_eq!(project.sources.iter().count(), 3);
    let steps = project.patterns[0].tracks[0].steps[0].span;
    assert_eq!(project.sources.quote(steps), "{hold: 2 s}");
}

#[test]
fn shows_have_their_defaults() {
    let two = "patterns: {a: [{hold: 1 s}], b: [{hold: 1 s}]}\n";
    let shows = |lines: &str| -> Vec<Show> {
        with(&format!("{two}{lines}"))
            .shows
            .into_iter()
            .map(|show| show.value)
            .collect()
    };
    let roam = |low, high| Show::Roam {
        dwell: (ms(low), ms(high)),
        patterns: vec![PatternId(0), PatternId(1)],
    };
    assert_eq!(shows(""), [roam(20_000, 60_000)]);
    assert_eq!(
        shows("button: {pin: PD2}\n"),
        [Show::Solo {
            patterns: vec![PatternId(0), PatternId(1)]
        }]
    );
    assert_eq!(
        shows(
            "button: {pin: PD2}\nshows:\n  - solo: {patterns: [b, a]}\n  - roam: {dwell: 9 s}\n  - steady:\n"
        ),
        [
            Show::Solo {
                patterns: vec![PatternId(1), PatternId(0)]
            },
            roam(9000, 9000),
            Show::Steady { levels: 6 }
        ]
    );
}

#[test]
fn memory_comes_with_the_button() {
    let memory = |lines: &str| {
        with(&format!("patterns: {{a: [{{hold: 1 s}}]}}\n{lines}"))
            .memory
            .map(|memory| memory.value.after)
    };
    assert_eq!(memory(""), None);
    assert_eq!(memory("button: {pin: PD2}\n"), Some(ms(3000)));
    assert_eq!(memory("button: {pin: PD2}\nmemory: off\n"), None);
    assert_eq!(memory("memory: {}\n"), Some(ms(3000)));
}

#[test]
fn anchors_and_aliases_repeat_steps() {
    let found = steps("- &fade {to: 100 %, over: 2 s}\n- {hold: 1 s}\n- *fade");
    assert!(matches!(
        found.as_slice(),
        [Step::To { .. }, Step::Hold(_), Step::To { .. }]
    ));
}

#[test]
fn block_style_quotes_comments_and_line_ends_make_no_difference() {
    let flow = steps("- {to: {tower: 100 %, rest: 10 %}, over: 3 s}");
    let block = with(
        "patterns:\r\n  evening: # at dusk, µ\r\n    - to:\r\n        tower: '100 %'\r\n        \"rest\": 10%\r\n      over: 3s\r\n",
    );
    let block = &block.patterns[0].tracks[0].steps[0];
    let levels = |step: &Step| match step {
        Step::To { targets, over, .. } => {
            let levels = targets
                .iter()
                .map(|to| (to.channels.clone(), to.level))
                .collect::<Vec<_>>();
            (levels, *over)
        }
        _ => panic!("{step:?}"),
    };
    assert_eq!(levels(&flow[0]), levels(&block.value));
}

#[test]
fn a_byte_order_mark_is_no_text() {
    assert!(
        try_read("\u{feff}chip: attiny85\nchannels: 1\npatterns: {a: [{hold: 1 s}]}\n").is_ok()
    );
}

#[test]
fn places_are_where_they_were_written() {
    let text = "# ☾\nchip: attiny85\nchannels: [quay]\npatterns: {a: [{to: 40 %, over: 2 s}]}\n";
    let project = read(text);
    assert_eq!(project.sources.quote(project.chip.span), "attiny85");
    let step = &project.patterns[0].tracks[0].steps[0];
    assert_eq!(project.sources.quote(step.span), "{to: 40 %, over: 2 s}");
    let Step::To { targets, .. } = &step.value else {
        panic!("{step:?}")
    };
    assert_eq!(project.sources.quote(targets[0].span), "40 %");
    let place = project.sources.position(targets[0].span);
    assert_eq!((place.line, place.column), (4, 21));
}

#[test]
fn the_schema_describes_every_key() {
    let schema = spec::schema();
    let keys = schema
        .get("properties")
        .and_then(|keys| keys.as_object())
        .expect("properties");
    for (key, value) in keys {
        assert!(value.to_string().contains("description"), "{key}: {value}");
    }
    for key in ["chip", "channels", "patterns", "use", "charge_pump"] {
        assert!(keys.contains_key(key), "{key}");
    }
    assert_eq!(
        schema.get("required"),
        Some(&serde_json::json!(["chip", "channels"]))
    );
    insta::assert_snapshot!(serde_json::to_string_pretty(&schema).expect("a schema is JSON"));
}
