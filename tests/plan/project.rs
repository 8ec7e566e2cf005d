//! Projects built in code, for tests of the planner.

use duskloom::diagnostic::{Sources, Span, Spanned};
use duskloom::spec::PatternId;
use duskloom::spec::*;
use duskloom::units::{Hertz, Share, Time};

/// A value without a place.
pub(super) fn at<T>(value: T) -> Spanned<T> {
    Spanned::new(value, Span::default())
}

/// A project for a chip, with channels on these pins (`""`: the planner's choice).
pub(super) fn project(chip: &str, pins: &[&str]) -> Project {
    Project {
        sources: Sources::default(),
        name: at("trial".to_string()),
        chip: at(chip.to_string()),
        package: None,
        clock: None,
        channels: pins
            .iter()
            .enumerate()
            .map(|(index, pin)| channel(index, pin))
            .collect(),
        brightness: Brightness {
            curve: at(Curve::Lightness),
            levels: at(64),
            floor: at(Share(0.0)),
            ceiling: at(Share(1.0)),
            error: at(0.5),
            steps: at(8),
            repeat: at(Time::from_millis(400)),
        },
        pwm: Pwm {
            frequency: None,
            slowest: at(Hertz(1250.0)),
            mode: at(PwmMode::Auto),
            drive: at(DriveWish::Auto),
        },
        tick: None,
        patterns: vec![holds(&[Time::from_millis(500)])],
        shows: vec![at(Show::Solo {
            patterns: vec![PatternId(0)],
        })],
        change_fade: at(Time::default()),
        button: None,
        contacts: Vec::new(),
        selector: None,
        knob: None,
        sensor: None,
        start: None,
        standby: None,
        evening: None,
        memory: None,
        charge_pump: None,
        electrics: Electrics::default(),
        guard: None,
        flashing: Flashing::Refused,
        brown_out: None,
        watchdog: None,
        cautions: Vec::new(),
    }
}

fn channel(index: usize, pin: &str) -> Channel {
    Channel {
        name: at(format!("string{index}")),
        pin: (!pin.is_empty()).then(|| at(pin.to_string())),
        groups: Vec::new(),
        trim: at(Share(1.0)),
        drive: at(ChannelDrive::Dimmed),
        active: at(Active::High),
        light: None,
    }
}

/// A pattern that takes these times, one after the other.
pub(super) fn holds(times: &[Time]) -> Pattern {
    let hold = |&time: &Time| at(Step::Hold(Drawn::Fixed(time)));
    Pattern {
        name: at("wait".to_string()),
        tracks: vec![Track {
            span: Span::default(),
            channels: vec![ChannelId(0)],
            each: false,
            stagger: at(Time::default()),
            ahead: at(Time::default()),
            draw: None,
            steps: times.iter().map(hold).collect(),
        }],
        flashing: None,
    }
}

pub(super) fn clock(hertz: f64, source: ClockSource) -> Option<Spanned<Clock>> {
    Some(at(Clock {
        frequency: Hertz(hertz),
        source,
    }))
}

pub(super) fn button(pin: &str) -> Option<Button> {
    let ms = |ms| at(Time::from_millis(ms));
    Some(Button {
        pin: at(pin.to_string()),
        to: duskloom::spec::ButtonTo::Ground,
        hold: ms(700),
        debounce: ms(30),
    })
}

pub(super) fn pump(pins: [&str; 2], clock: Option<f64>) -> Option<ChargePump> {
    Some(ChargePump {
        pins: pins.map(|pin| at(pin.to_string())),
        clock: clock.map(|hertz| at(Hertz(hertz))),
        span: Span::default(),
    })
}
