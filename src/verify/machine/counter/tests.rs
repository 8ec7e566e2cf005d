//! Periods and pulses against the formulas of the datasheets, for all shapes and values.

use proptest::prelude::*;

use super::*;
use crate::verify::machine::pins::{Period, Watch};
use crate::verify::machine::prescaler::Prescaler;

const PIN: &str = "PB2";

/// A counter with its one output at a driven pin.
struct Bench {
    counter: Counter,
    pins: Pins,
    prescaler: Prescaler,
}

impl Bench {
    fn new(shape: Shape, top: u16, on_match: OnMatch, division: u32) -> Self {
        let mut pins = Pins::new();
        let pin = PIN.parse().unwrap();
        let output = Some(pins.claim(pin));
        pins.flip_directions(1, 0xFF, Moment(0));
        pins.watch(
            pin,
            Watch {
                edges: true,
                periods: true,
            },
        );
        let channel = Channel {
            output,
            on_match,
            ..Channel::default()
        };
        let mut counter = Counter::new(0xFFFF, vec![channel]);
        counter.set_mode(shape, Top::Fixed(top));
        counter.division = division;
        counter.enabled = 0xFF;
        Self {
            counter,
            pins,
            prescaler: Prescaler::default(),
        }
    }

    /// Runs to a clock, as after any change of how the counter runs.
    fn run(&mut self, to: u64) {
        self.counter
            .settle(Moment(to), &self.prescaler, &mut self.pins);
    }

    fn periods(&mut self) -> Vec<Period> {
        self.pins.take_periods()
    }
}

fn pwm_shape() -> impl Strategy<Value = Shape> {
    prop_oneof![
        Just(Shape::Fast),
        Just(Shape::PhaseCorrect),
        Just(Shape::PhaseFrequencyCorrect)
    ]
}

fn shape() -> impl Strategy<Value = Shape> {
    prop_oneof![Just(Shape::Plain), pwm_shape()]
}

fn on_match() -> impl Strategy<Value = OnMatch> {
    prop_oneof![
        Just(OnMatch::Toggle),
        Just(OnMatch::Clear),
        Just(OnMatch::Set)
    ]
}

proptest! {
    /// The datasheets' formulas for on-time and period, whatever the numbers.
    #[test]
    fn steady_periods_follow_the_formulas(
        shape in pwm_shape(),
        top in 3u16..600,
        share in 0.0..1.0f64,
        inverting: bool,
        division in prop_oneof![Just(1u32), Just(8), Just(64)],
    ) {
        let compare = (share * f64::from(top + 1)) as u16;
        let on_match = if inverting { OnMatch::Set } else { OnMatch::Clear };
        let mut bench = Bench::new(shape, top, on_match, division);
        bench.counter.set_compare(0, compare);
        let (top, compare) = (u32::from(top), u32::from(compare));
        let (length, on) = match shape {
            Shape::Fast => (top + 1, compare + 1),
            _ => (2 * top, 2 * compare),
        };
        let on = if inverting { length - on } else { on };
        bench.run(u64::from(length * division) * 6);
        let periods = bench.periods();
        prop_assert!(periods.len() >= 4);
        for period in &periods[2..] {
            prop_assert_eq!(period.length, length * division);
            prop_assert_eq!(period.high, on * division);
            prop_assert!(period.edges <= 2);
        }
    }

    /// Skipping the ticks on which nothing happens changes nothing: one long advance is many
    /// short ones, whenever compare values and the count are rewritten.
    #[test]
    fn advancing_in_one_go_is_advancing_clock_by_clock(
        shape in shape(),
        top in 1u16..40,
        on_match in on_match(),
        division in prop_oneof![Just(1u32), Just(8)],
        writes in prop::collection::vec((1u64..300, 0u16..48, any::<bool>()), 1..12),
    ) {
        let mut at_once = Bench::new(shape, top, on_match, division);
        let mut by_clock = Bench::new(shape, top, on_match, division);
        let mut now = 0;
        for (wait, value, to_count) in writes {
            at_once.run(now + wait);
            (now..=now + wait).for_each(|clock| by_clock.run(clock));
            now += wait;
            for bench in [&mut at_once, &mut by_clock] {
                if to_count {
                    bench.counter.set_count(value);
                } else {
                    bench.counter.set_compare(0, value);
                }
            }
            prop_assert_eq!(at_once.counter.count(), by_clock.counter.count());
            prop_assert_eq!(at_once.counter.flags, by_clock.counter.flags);
            prop_assert_eq!(at_once.counter.missed, by_clock.counter.missed);
        }
        prop_assert_eq!(at_once.periods(), by_clock.periods());
        prop_assert_eq!(at_once.pins.take_edges(), by_clock.pins.take_edges());
    }

    /// No flag rises before the moment that was foretold.
    #[test]
    fn the_next_flag_is_never_late(
        shape in shape(),
        top in 1u16..200,
        compare in 0u16..220,
        enabled in prop_oneof![Just(flag::OVERFLOW), Just(flag::COMPARE[0])],
        start in 0u64..2000,
    ) {
        let mut bench = Bench::new(shape, top, OnMatch::Clear, 1);
        bench.counter.set_compare(0, compare);
        bench.counter.enabled = enabled;
        bench.run(start);
        bench.counter.flags = 0;
        bench.counter.look_ahead(&bench.prescaler);
        let next = bench.counter.next_flag();
        prop_assert!(next > Moment(start));
        bench.run((next.0 - 1).min(start + 70_000));
        prop_assert_eq!(bench.counter.flags & enabled, 0);
    }
}

/// 8-bit Timer/Counter0, 'Phase Correct PWM Mode': when the compare value leaves MAX, the output
/// falls at TOP without a match, so that the pulse stays symmetric around BOTTOM.
#[test]
fn leaving_the_top_value_keeps_the_pulse_symmetric() {
    let mut bench = Bench::new(Shape::PhaseCorrect, 255, OnMatch::Clear, 1);
    bench.counter.set_compare(0, 255);
    bench.run(510 * 3);
    bench.counter.set_compare(0, 100);
    bench.run(510 * 6);
    let periods = bench.periods();
    let highs: Vec<u32> = periods.iter().skip(1).map(|p| p.high).collect();
    // The way up still at 255, the way down at 100; then 100 on both.
    assert_eq!(highs, [510, 255 + 100, 200]);
}

/// A counter of two channels with both outputs at driven pins.
fn pair(setting: &Setting) -> Bench {
    let mut pins = Pins::new();
    let watch = Watch {
        edges: true,
        periods: true,
    };
    let channels = ["PB2", "PB3"].map(|pin| {
        let pin = pin.parse().unwrap();
        pins.watch(pin, watch);
        Channel {
            output: Some(pins.claim(pin)),
            on_match: setting.on_match,
            ..Channel::default()
        }
    });
    pins.flip_directions(1, 0xFF, Moment(0));
    let mut counter = Counter::new(0xFFFF, channels.to_vec());
    counter.limit = setting.top;
    let top = if setting.limited {
        Top::Limit
    } else {
        Top::Fixed(setting.top)
    };
    counter.set_mode(setting.shape, top);
    (counter.division, counter.enabled) = (setting.division, setting.enabled);
    counter.zero_is_off = setting.zero_is_off;
    let prescaler = Prescaler::default();
    counter.look_ahead(&prescaler);
    Bench {
        counter,
        pins,
        prescaler,
    }
}

#[derive(Debug, Clone)]
struct Setting {
    shape: Shape,
    top: u16,
    limited: bool,
    on_match: OnMatch,
    division: u32,
    enabled: u8,
    zero_is_off: bool,
}

fn setting() -> impl Strategy<Value = Setting> {
    let enabled = prop_oneof![Just(0), Just(flag::OVERFLOW), Just(flag::COMPARE[1])];
    let division = prop_oneof![Just(1), Just(8)];
    let free = (any::<bool>(), any::<bool>());
    (pwm_shape(), 3u16..40, on_match(), division, enabled, free).prop_map(
        |(shape, top, on_match, division, enabled, (limited, zero_is_off))| Setting {
            shape,
            top,
            limited,
            on_match,
            division,
            enabled,
            zero_is_off,
        },
    )
}

proptest! {
    /// A period at a time comes to the same as clock by clock: every edge, period, flag and count.
    #[test]
    fn looking_seldom_changes_nothing(
        setting in setting(),
        writes in prop::collection::vec((1u64..200, 0u8..2, 0u16..44), 1..40),
    ) {
        let (mut seldom, mut often) = (pair(&setting), pair(&setting));
        let mut now = 0;
        for (gap, channel, value) in writes {
            for clock in now + 1..=now + gap {
                often.run(clock);
            }
            now += gap;
            let Bench { counter, pins, prescaler } = &mut seldom;
            counter.advance(Moment(now), prescaler, pins);
            counter.set_compare(channel, value);
            often.counter.set_compare(channel, value);
            prop_assert_eq!(counter.flags & counter.enabled, often.counter.flags & counter.enabled);
            prop_assert_eq!(counter.next_flag(), often.counter.next_flag());
        }
        seldom.run(now);
        prop_assert_eq!(seldom.counter.count(), often.counter.count());
        prop_assert_eq!(seldom.counter.flags, often.counter.flags);
        prop_assert_eq!(seldom.counter.raised_at, often.counter.raised_at);
        prop_assert_eq!(seldom.counter.missed, often.counter.missed);
        let by_pin = |mut bench: Bench| {
            let (mut edges, mut periods) = (bench.pins.take_edges(), bench.pins.take_periods());
            edges.sort_by_key(|edge| (edge.pin, edge.at));
            periods.sort_by_key(|period| (period.pin, period.start));
            (edges, periods)
        };
        prop_assert_eq!(by_pin(seldom), by_pin(often));
    }
}
