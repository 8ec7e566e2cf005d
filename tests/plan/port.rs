//! The port drive: which pins, how deep, and an interrupt that is timed to the cycle.

use duskloom::budget::Listing;
use duskloom::design::Design;
use duskloom::drive::port::PortDrive;
use duskloom::drive::{ChannelPlan, Drive, PumpBy, WAKING};
use duskloom::emit::{self, rust};
use duskloom::plan::plan;
use duskloom::spec::{ChannelDrive, ClockSource, DriveWish};
use duskloom::units::{Bytes, Hertz};

use crate::plan::project::{at, button, clock, project, pump};

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
        other => panic!("the port was asked for: {other:?}"),
    }
}

const EIGHT: [&str; 8] = ["PB0", "PB1", "PB2", "PB3", "PB4", "PB5", "PB6", "PB7"];

/// What the drive is to reach with eight channels at 8 MHz.
#[test]
fn eight_channels_at_eight_megahertz() {
    let eight = port("attiny4313", &EIGHT, 8e6);
    assert_eq!(eight.common.pwm.bits(), 12);
    assert_eq!(eight.common.pwm.slowest, Hertz(8e6 / 4096.0));
    assert!(
        eight.common.cost.size <= Bytes(130),
        "{}",
        eight.common.cost.size
    );
    let share = f64::from(eight.common.cost.with_waking().0) / f64::from(eight.common.pwm.length.0);
    assert!(share < 0.06, "{share}, waking by {WAKING} each time");
    let buffers = Drive::Port(Box::new(eight)).in_memory();
    assert_eq!(buffers, Bytes(24));
}

/// The instructions of a text from one mark to the end of another.
fn between(text: &str, from: &str, to: &str) -> Bytes {
    let start = text
        .find(from)
        .unwrap_or_else(|| panic!("{from} in {text}"));
    let length = text[start..].find(to).expect(to) + to.len();
    Listing::read(&text[start..start + length]).size()
}

/// Interrupt, what sets it up, what the player does for it, and the table of pins; and its two buffers.
#[test]
fn all_of_the_drive_is_small() {
    let mut trial = project("attiny4313", &EIGHT);
    trial.pwm.drive = at(DriveWish::Port);
    trial.clock = clock(8e6, ClockSource::Internal);
    let design = Design::new(trial).unwrap();
    let sources = emit::firmware(&design);
    let text = |path: &str| {
        let file = sources.iter().find(|source| source.path == path);
        file.unwrap().text.as_str()
    };
    let (pwm, player) = (text("pwm.S"), text("player.S"));
    let drive = &design.plan.drive;
    let parts = [
        ("interrupt", drive.cost().size),
        (
            "begins dark",
            between(pwm, "; The interrupt begins with", "brne    1b"),
        ),
        (
            "begins a buffer",
            between(player, "; The buffer that is not shown", "hi8(pins)"),
        ),
        (
            "fills it",
            between(player, "; the bits that count", "brne    slice"),
        ),
        ("gives it", Bytes(2)),
        ("pins", drive.in_tables()),
    ];
    let flash: u32 = parts.iter().map(|(_, size)| size.0).sum();
    assert!(flash <= 300, "{flash} B: {parts:?}");
    assert_eq!(drive.in_memory(), Bytes(24));
}

/// Some timer of every chip is cleared where it matches a register that an interrupt reaches by `out`: on the
/// ATtiny261A and its like, one that has no outputs (avr-libc's iotn261a.h).
#[test]
fn every_chip_times_a_port() {
    for chip in duskloom::chip::all() {
        let pins = chip.pins().filter(|pin| Some(*pin) != chip.reset);
        let pin = pins.last().unwrap().to_string();
        let mut trial = project(&chip.name, &[&pin]);
        trial.pwm.drive = at(DriveWish::Port);
        let plan = plan(&trial).unwrap();
        assert!(matches!(plan.drive, Drive::Port(_)), "{}", chip.name);
    }
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
        assert_eq!(one.common.pwm.bits(), bits, "{hertz}");
        assert_eq!(drive.common.pwm.bits(), bits - 1, "two ports, {hertz}");
        assert!(drive.common.pwm.slowest.0 >= 1250.0 && one.common.pwm.slowest.0 >= 1250.0);
    }
}

#[test]
fn timers_are_chosen_where_all_have_an_output() {
    let chosen = |pins: &[&str]| {
        let plan = plan(&project("attiny2313a", pins)).unwrap();
        plan.drive.why().unwrap_or("timers").to_string()
    };
    assert_eq!(chosen(&["PB2", "PD5"]), "timers");
    assert_eq!(chosen(&[""; 4]), "timers");
    assert_eq!(
        chosen(&["PB2", "PB0"]),
        "PB0 of ATtiny2313A has no PWM output"
    );
    assert_eq!(chosen(&[""; 5]), "no PWM pin is left for channel `string4`");
}

/// A plain channel takes no timer's output, and may be on any port.
#[test]
fn plain_channels_go_where_the_others_are_not() {
    let placed = |pins: &[&str], plain: &[usize]| {
        let mut trial = project("attiny4313", pins);
        for &channel in plain {
            trial.channels[channel].drive = at(ChannelDrive::Plain);
        }
        let plan = plan(&trial).unwrap();
        let channels = plan.drive.channels().iter();
        let place = |one: &ChannelPlan| format!("{} {:?}", one.pin, one.way);
        channels.map(place).collect::<Vec<String>>()
    };
    let timers = placed(&["PB2", "PD0", ""], &[1, 2]);
    assert_eq!(timers, ["PB2 Output(\"OC0A\")", "PD0 Latch", "PA0 Latch"]);
    let port = placed(&["PB0", "PB1", "PD0"], &[1, 2]);
    assert_eq!(port, ["PB0 Planes", "PB1 Planes", "PD0 Latch"]);
    let alone = placed(&["PB0", "PD1", "PA0"], &[0, 1, 2]);
    assert_eq!(alone, ["PB0 Planes", "PD1 Latch", "PA0 Planes"]);
}

/// Where channels are on three ports, an interrupt writes one, and the others are on timers.
#[test]
fn timers_and_a_port_are_mixed_where_neither_reaches_all() {
    let ways = |pins: &[&str]| {
        let plan = plan(&project("atmega328p", pins)).unwrap();
        let channels = plan.drive.channels().iter();
        let way = |one: &ChannelPlan| format!("{:?}", one.way);
        let mixed = matches!(plan.drive, Drive::Mixed(_));
        (mixed, channels.map(way).collect::<Vec<String>>())
    };
    let (mixed, three) = ways(&["PB1", "PD6", "PC0", "PC1"]);
    assert!(mixed);
    let output = |name: &str| format!("Output({name:?})");
    let planes = || "Planes".to_string();
    assert_eq!(three, [output("OC1A"), output("OC0A"), planes(), planes()]);
    let (mixed, two) = ways(&["PB1", "PC0", "PC1"]);
    assert!(!mixed && two == [planes(), planes(), planes()]);
}

/// What both together are to reach with four channels on timers and five on a port, at 8 MHz.
#[test]
fn four_and_five_channels_at_eight_megahertz() {
    let pins = [
        "PB2", "PD5", "PB3", "PB4", "PB0", "PB1", "PB5", "PB6", "PB7",
    ];
    let mut trial = project("attiny4313", &pins);
    trial.pwm.drive = at(DriveWish::Mixed);
    trial.clock = clock(8e6, ClockSource::Internal);
    let plan = plan(&trial).unwrap();
    let (drive, cost) = (&plan.drive, plan.drive.cost());
    assert_eq!(
        (drive.pwm().bits(), drive.pwm().slowest),
        (11, Hertz(8e6 / 4096.0))
    );
    assert_eq!(drive.pwm().frequency, Hertz(8e6 / 256.0));
    let share = f64::from(cost.with_waking().0) / f64::from(drive.pwm().length.0);
    assert!(share <= 0.20, "{share}");
    assert!(cost.size <= Bytes(260), "{}", cost.size);
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

/// A timer that the light leaves free clocks the pump, as near to the wish as its prescalers and modes allow
/// (DS40002061, 'Fast PWM Mode' and 'Phase Correct PWM Mode': f / (N · 256) and f / (N · 510)).
#[test]
fn a_pump_beside_a_port_is_clocked_by_a_timer() {
    let clocked = |chip: &str, pins: [&str; 2], wish: Option<f64>| {
        let mut trial = project(chip, &["PB0", "PB5"]);
        trial.pwm.drive = at(DriveWish::Port);
        trial.clock = clock(8e6, ClockSource::Internal);
        trial.charge_pump = pump(pins, wish);
        let plan = plan(&trial).unwrap();
        let pump = plan.drive.pump().unwrap();
        assert_eq!(pump.by, PumpBy::Timer);
        (plan.drive.set_up()[0].0.number, pump.clock.0)
    };
    let near = |(timer, hertz): (u8, f64), slots: u8, wanted: f64| {
        assert_eq!(timer, slots);
        assert!((hertz / wanted - 1.0).abs() < 1e-9, "{hertz}, not {wanted}");
    };
    near(clocked("attiny4313", ["PB3", "PB4"], None), 0, 8e6 / 510.0);
    near(
        clocked("attiny4313", ["PB4", "PB3"], Some(40e3)),
        0,
        8e6 / 256.0,
    );
    // With the first timer's pins, the second times the light.
    near(
        clocked("attiny4313", ["PB2", "PD5"], Some(3e3)),
        1,
        8e6 / 8.0 / 256.0,
    );
}

/// Where no free timer has both pins as outputs, the interrupt of one changes them; it comes between two of the light,
/// however long those are, and is over before the next. It changes both by one write to `PINx` (DS40002061, 'Toggling
/// the Pin').
#[test]
fn a_pump_on_any_two_pins_of_another_port_has_an_interrupt_of_its_own() {
    let eight_on_a = ["PA0", "PA1", "PA2", "PA3", "PA4", "PA5", "PA6", "PA7"];
    for (chip, channels, pins, wish, half) in [
        ("attiny2313a", &EIGHT[..], ["PD0", "PD1"], None, 256),
        ("attiny4313", &EIGHT[..], ["PA1", "PA0"], Some(5e3), 768),
        (
            "attiny84a",
            &eight_on_a[..],
            ["PB0", "PB1"],
            Some(31e3),
            128,
        ),
        (
            "atmega328p",
            &["PC0"][..],
            ["PD2", "PD7"],
            Some(100.0),
            2048,
        ),
        ("atmega32u4", &["PF0"][..], ["PB0", "PB4"], None, 256),
    ] {
        let mut trial = project(chip, channels);
        trial.pwm.drive = at(DriveWish::Port);
        if chip != "attiny84a" && pins[1] != "PA0" {
            trial.clock = clock(8e6, ClockSource::External);
        }
        trial.charge_pump = pump(pins, wish);
        let plan = plan(&trial).unwrap();
        let pump = plan.drive.pump().unwrap();
        assert!(matches!(pump.by, PumpBy::Spare(_)), "{chip}: {:?}", pump.by);
        assert_eq!(pump.half.0, half, "{chip}");
        let hertz = plan.clock.frequency.0 / 2.0 / f64::from(half);
        assert!((pump.clock.0 / hertz - 1.0).abs() < 1e-9, "{chip}");
        let (all, own) = (plan.drive.cost(), plan.drive.pumping().unwrap());
        let light = all.without(own);
        assert_eq!(own.size, Bytes(4), "{chip}");
        assert!(own.longest.0 <= 9 + 3, "{chip}: a jump at most");
        // Waking and an instruction that is under way may keep either waiting.
        let late = WAKING.0 + 3;
        let [slots, spare] = [0, 1].map(|at| plan.drive.presets()[at].value);
        assert_eq!(slots, 0);
        let after = 128 - 8 * u32::from(spare);
        assert!(light.longest.0 + late <= after, "{chip}: {light:?}");
        assert!(after + own.longest.0 + late <= 128, "{chip}: {own:?}");
    }
}

/// With timers beside the port, the overflows come evenly enough: also on a chip that has one port and one timer.
#[test]
fn a_pump_beside_timers_and_a_port_goes_with_their_interrupt() {
    for (chip, channels, pins, within) in [
        ("attiny4313", ["PB2", "PD0"], ["PB0", "PB1"], false),
        ("attiny4313", ["PB2", "PD0"], ["PD3", "PD6"], true),
        ("attiny13a", ["PB0", "PB2"], ["PB3", "PB4"], true),
    ] {
        let mut trial = project(chip, &channels);
        trial.charge_pump = pump(pins, None);
        // Where a timer is free, the port alone has it.
        if chip != "attiny13a" {
            trial.pwm.drive = at(DriveWish::Mixed);
        }
        let plan = plan(&trial).unwrap();
        let pump = plan.drive.pump().unwrap();
        assert!(matches!(plan.drive, Drive::Mixed(_)), "{chip}");
        let toggling = pump.toggling().unwrap();
        assert!(matches!(pump.by, PumpBy::Interrupt(_)));
        assert_eq!((toggling.within, pump.half.0), (within, 256));
    }
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
