//! The port drive: which pins, how deep, and an interrupt that is timed to the cycle.

use duskloom::design::Design;
use duskloom::drive::port::PortDrive;
use duskloom::drive::{Drive, WAKING};
use duskloom::emit::{self, rust};
use duskloom::plan::plan;
use duskloom::spec::{ClockSource, DriveWish};
use duskloom::units::{Bytes, Hertz};

use crate::plan::project::{at, button, clock, project};

fn port(chip: &str, pins: &[&str], hertz: f64) -> PortDrive {
    let mut trial = project(chip, pins);
    let chip = duskloom::chip::find(chip).unwrap();
    let known = chip.clocks.internal.iter().any(|one| one.hertz.0 == hertz);
    let source = if known {
        ClockSource::Internal
    } else {
        ClockSource::External
    };
    trial.clock = clock(hertz, source);
    trial.pwm.drive = at(DriveWish::Port);
    match plan(&trial).unwrap().drive {
        Drive::Port(port) => *port,
        Drive::Timer(_) => panic!("the port was asked for"),
    }
}

const EIGHT: [&str; 8] = ["PB0", "PB1", "PB2", "PB3", "PB4", "PB5", "PB6", "PB7"];

/// What the drive is to reach with eight channels at 8 MHz.
#[test]
fn eight_channels_at_eight_megahertz() {
    let eight = port("attiny4313", &EIGHT, 8e6);
    assert_eq!(eight.pwm.bits(), 12);
    assert_eq!(eight.pwm.slowest, Hertz(8e6 / 4096.0));
    assert!(eight.cost.size <= Bytes(130), "{}", eight.cost.size);
    let share = f64::from(eight.cost.with_waking().0) / f64::from(eight.pwm.length.0);
    assert!(share < 0.06, "{share}, waking by {WAKING} each time");
    let buffers = Drive::Port(Box::new(eight)).in_memory();
    assert_eq!(buffers, Bytes(24));
}

/// A slower clock has fewer planes, so that the light is never slower than it may be.
#[test]
fn depth_follows_the_clock() {
    let depths = [
        (1e6, 9),
        (2e6, 10),
        (4e6, 11),
        (8e6, 12),
        (16e6, 12),
        (20e6, 12),
    ];
    for (hertz, bits) in depths {
        let drive = port("attiny4313", &["PB0", "PD0"], hertz);
        let one = port("attiny4313", &["PB0"], hertz);
        assert_eq!(one.pwm.bits(), bits, "{hertz}");
        assert_eq!(drive.pwm.bits(), bits - 1, "two ports, {hertz}");
        assert!(drive.pwm.slowest.0 >= 1250.0 && one.pwm.slowest.0 >= 1250.0);
    }
}

#[test]
fn timers_are_chosen_where_all_have_an_output() {
    let chosen = |pins: &[&str]| match plan(&project("attiny2313a", pins)).unwrap().drive {
        Drive::Timer(_) => "timers".to_string(),
        Drive::Port(port) => port.why,
    };
    assert_eq!(chosen(&["PB2", "PD5"]), "timers");
    assert_eq!(chosen(&[""; 4]), "timers");
    assert_eq!(
        chosen(&["PB2", "PB0"]),
        "PB0 of ATtiny2313A has no PWM output"
    );
    assert_eq!(chosen(&[""; 5]), "no PWM pin is left for channel `string4`");
}

#[test]
fn pins_are_taken_from_one_port_as_long_as_it_has_any() {
    let mut trial = project("attiny44a", &[""; 8]);
    trial.button = button("PB0");
    let pins: Vec<String> = (plan(&trial).unwrap().drive.channels().iter())
        .map(|channel| channel.pin.to_string())
        .collect();
    assert_eq!(pins.len(), 8);
    assert!(pins.iter().all(|pin| pin.starts_with("PA")), "{pins:?}");
}

/// Cycles of the instructions that the interrupt has (instruction set manual, DS40002198).
fn cycles(mnemonic: &str) -> u32 {
    match mnemonic {
        "ldd" | "ld" | "lds" | "sts" | "adiw" | "push" | "pop" | "rjmp" => 2,
        "out" | "in" | "nop" | "movw" | "mov" | "ldi" | "tst" | "dec" => 1,
        other => panic!("{other}, which the interrupt did not have"),
    }
}

/// How long each plane is out that instructions time, from the text of the interrupt alone: the write at its
/// entry, the way to `burst`, and the writes there.
fn timed(text: &str, drive: &PortDrive) -> Vec<u32> {
    let lines = text
        .lines()
        .map(|line| line.split(';').next().unwrap_or_default());
    let mut lines = lines.skip_while(|line| !line.starts_with("pwm:"));
    let entry: Vec<&str> = lines
        .by_ref()
        .take_while(|line| !line.contains("breq"))
        .collect();
    let burst: Vec<&str> = (lines.skip_while(|line| !line.starts_with("burst:")))
        .take_while(|line| !line.contains("reti"))
        .collect();
    let mut writes = Vec::new();
    let mut now = 0;
    let mut rounds = 0;
    let own = format!("{},", drive.ports[0].register);
    let mut step = |line: &str| {
        let line = line.rsplit(':').next().unwrap_or_default().trim();
        let (mnemonic, operands) = line.split_once(' ').unwrap_or((line, ""));
        match mnemonic {
            "" => return,
            directive if directive.starts_with('.') => return,
            // Of the loop before it: taken but for the last time.
            "brne" => now += (rounds - 1) * 3 + 1,
            _ => now += cycles(mnemonic),
        }
        if let Some(number) = operands
            .trim()
            .strip_prefix("r30, ")
            .filter(|_| mnemonic == "ldi")
        {
            rounds = number.trim().parse().unwrap_or(0);
        }
        if mnemonic == "out" && operands.contains(&own) {
            writes.push(now);
        }
    };
    entry.iter().for_each(|line| step(line));
    step("rjmp    burst"); // `breq`, taken
    burst.iter().for_each(|line| step(line));
    writes.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

#[test]
fn the_shortest_planes_are_timed_to_the_cycle() {
    for (chip, pins) in [
        ("attiny4313", vec!["PB0"]),
        ("attiny4313", vec!["PB0", "PD1"]),
    ] {
        let drive = port(chip, &pins, 8e6);
        let mut trial = project(chip, &pins);
        trial.pwm.drive = at(DriveWish::Port);
        let design = Design::new(trial).unwrap();
        let wanted: Vec<u32> = drive.planes.order().map(|(_, cycles)| cycles.0).collect();
        for (sources, file) in [
            (emit::firmware(&design), "pwm.S"),
            (rust::firmware(&design), "firmware/src/pwm.s"),
        ] {
            let text = &sources
                .iter()
                .find(|source| source.path == file)
                .unwrap()
                .text;
            let found = timed(text, &drive);
            assert_eq!(found, wanted[..found.len()], "{file} with {pins:?}");
            assert_eq!(found.len(), usize::from(drive.planes.lead()) + 2);
        }
    }
}
