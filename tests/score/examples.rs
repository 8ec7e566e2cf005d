//! Numbers worked out by hand, for the intent and for the player beside it. Ticks are 5 ms.

use duskloom::score::intent::{Moment, Stretch};
use duskloom::spec::{ChannelId, PatternId};

use crate::score::rig::{self, Rig};

const MS: f64 = 1e6;

fn rig_of(pattern: &str) -> Rig {
    let text = format!(
        "chip: attiny2313a\nchannels: [quay, houses, boats, tower]\ntick: 5 ms\npatterns:\n  \
         shown: {pattern}\n"
    );
    Rig::new(&rig::read(&text)).unwrap()
}

fn stretches(rig: &Rig, channel: u8, seconds: f64) -> Vec<Stretch> {
    let course = rig.intent.course(PatternId(0), ChannelId(channel), &[]);
    course
        .take_while(|stretch| stretch.begin.seconds() < seconds)
        .collect()
}

/// The share that is meant at a time in milliseconds, of a pattern without draws.
fn meant(rig: &Rig, channel: u8, ms: f64) -> f64 {
    let now = Moment(ms * MS);
    let mut course = rig.intent.course(PatternId(0), ChannelId(channel), &[]);
    let stretch = course.find(|stretch| stretch.end > now).unwrap();
    stretch.share(now).0
}

/// The level shown at a time in milliseconds.
fn shown(rig: &Rig, channel: usize, ms: u32) -> u8 {
    let ticks = ms / 5;
    rig.play(0, 1, ticks).levels[channel][ticks as usize - 1].0
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[test]
fn a_fade_of_a_second_is_a_straight_line_of_200_ticks() {
    let rig = rig_of("[{to: 100 %, over: 1 s}, {to: 0 %, over: 1 s}]");
    // 255 levels in 200 ticks: 51 every 40 ticks.
    for (ms, share, level) in [
        (200, 0.2, 51),
        (400, 0.4, 102),
        (1000, 1.0, 255),
        (1800, 0.2, 51),
    ] {
        assert!(close(meant(&rig, 0, f64::from(ms)), share));
        assert_eq!(shown(&rig, 0, ms), level);
    }
    // 1.275 levels after the first tick.
    assert!(close(meant(&rig, 0, 5.0), 0.005));
    assert_eq!(shown(&rig, 0, 5), 1);
}

#[test]
fn eases_are_half_way_where_their_formulas_say() {
    for (ease, share) in [
        ("linear", 0.25),
        ("soft", 0.156_25),
        ("soft-in", 0.0625),
        ("soft-out", 0.4375),
    ] {
        let rig = rig_of(&format!(
            "[{{to: 100 %, over: 1 s, ease: {ease}}}, {{set: 0 %, hold: 1 s}}]"
        ));
        assert!(close(meant(&rig, 0, 250.0), share), "{ease}");
        let level = f64::from(shown(&rig, 0, 250));
        assert!((level - share * 255.0).abs() <= 1.25, "{ease}: {level}");
    }
}

#[test]
fn a_chase_lights_four_channels_one_after_the_other() {
    let rig = rig_of(
        "{channels: all, stagger: 250 ms, steps: [{set: 100 %, hold: 250 ms}, {set: 0 %, hold: 750 ms}]}",
    );
    for ms in [
        5, 245, 250, 495, 500, 745, 750, 995, 1000, 1245, 1250, 60_995,
    ] {
        let lit = ms / 250 % 4;
        for channel in 0..4 {
            let on = channel == lit as usize;
            assert!(close(
                meant(&rig, channel as u8, f64::from(ms)),
                f64::from(u8::from(on))
            ));
            assert_eq!(shown(&rig, channel, ms) == 255, on, "{channel} at {ms} ms");
        }
    }
}

#[test]
fn a_travelling_wave_is_a_quarter_turn_apart() {
    let rig = rig_of("[{wave: sine, period: 6 s, spread: 25 %}]");
    for (ms, shares) in [
        (0.0, [0.0, 0.5, 1.0, 0.5]),
        (1500.0, [0.5, 0.0, 0.5, 1.0]),
        (3000.0, [1.0, 0.5, 0.0, 0.5]),
        // An eighth of a turn: (1 ± √½) / 2.
        (
            750.0,
            [
                0.146_446_609_406_726_2,
                0.146_446_609_406_726_2,
                0.853_553_390_593_273_8,
                0.853_553_390_593_273_8,
            ],
        ),
    ] {
        for (channel, share) in shares.into_iter().enumerate() {
            assert!(
                close(meant(&rig, channel as u8, ms), share),
                "{channel} at {ms} ms"
            );
            if ms > 0.0 {
                let level = f64::from(shown(&rig, channel, ms as u32));
                assert!((level - share * 255.0).abs() <= 1.25);
            }
        }
    }
}

/// Morse A is a dot and a dash; a dash is three dots, and a dot parts them (ITU-R M.1677-1).
#[test]
fn a_rhythm_jumps_at_its_times() {
    let rig = rig_of("[{rhythm: [200 ms, 200 ms, 600 ms, 2 s]}]");
    let jumps: Vec<f64> = stretches(&rig, 0, 6.0)
        .iter()
        .filter(|stretch| stretch.jump)
        .map(|stretch| stretch.begin.seconds())
        .collect();
    assert_eq!(jumps, [0.0, 0.2, 0.4, 1.0, 3.0, 3.2, 3.4, 4.0]);
    let lit = rig.play(0, 1, 600).levels[0]
        .iter()
        .map(|level| level.0 == 255)
        .collect::<Vec<_>>();
    // Tick n is the n-th of the take; the last tick is already the next round's first.
    let edges: Vec<usize> = (1..600)
        .filter(|tick| lit[tick - 1] != lit[*tick])
        .map(|tick| tick + 1)
        .collect();
    assert_eq!(edges, [40, 80, 200, 600]);
}

#[test]
fn a_loop_is_as_if_it_had_run_for_ever() {
    // Ends at 40 %, so its first fade comes from there.
    let rig = rig_of("[{to: 100 %, over: 1 s}, {to: 40 %, over: 1 s}]");
    assert!(close(meant(&rig, 0, 500.0), 0.7));
    assert!((f64::from(shown(&rig, 0, 500)) - 178.5).abs() <= 1.0);
    // The second channel is 500 ms behind: in the middle of the way down.
    let rig = rig_of(
        "{channels: all, stagger: 500 ms, steps: [{to: 100 %, over: 1 s}, {to: 40 %, over: 1 s}]}",
    );
    assert!(close(meant(&rig, 1, 0.0), 0.7) && close(meant(&rig, 1, 250.0), 0.55));
    // Ahead by as much is before it.
    let rig = rig_of(
        "{channels: all, ahead: 500 ms, steps: [{to: 100 %, over: 1 s}, {to: 40 %, over: 1 s}]}",
    );
    assert!(close(meant(&rig, 1, 250.0), 0.85));
}

#[test]
fn what_never_ends_starts_once_from_dark() {
    let rig = rig_of(
        "{channels: all, stagger: 1 s, steps: [{to: 80 %, over: 2 s}, {wave: triangle, period: 2 s, low: 80 %}]}",
    );
    assert!(close(meant(&rig, 0, 1000.0), 0.4));
    assert!(close(meant(&rig, 1, 1000.0), 0.0) && close(meant(&rig, 1, 2000.0), 0.4));
    assert!(close(meant(&rig, 0, 3000.0), 1.0) && close(meant(&rig, 0, 4000.0), 0.8));
    assert_eq!(shown(&rig, 1, 1000), 0);
    assert_eq!(shown(&rig, 0, 3000), 255);
}

#[test]
fn light_that_stays_stays_for_ever_in_a_few_bytes() {
    let rig = rig_of("[{set: {quay: 40 %, rest: 0 %}}]");
    for (ms, level) in [(5, 102), (600_000, 102)] {
        assert_eq!((shown(&rig, 0, ms), shown(&rig, 1, ms)), (level, 0));
    }
    assert!(close(meant(&rig, 0, 1.0), 0.4) && close(meant(&rig, 0, 1e9), 0.4));
    // Two programs, each a line of two bytes and the way back.
    assert!(!rig.deck.image.format.jump);
    let rig = rig_of("[{to: 80 %, over: 2 s}, {hold: forever}]");
    assert_eq!((shown(&rig, 2, 1000), shown(&rig, 2, 400_000)), (102, 204));
    assert!(close(meant(&rig, 2, 1000.0), 0.4) && close(meant(&rig, 2, 1e9), 0.8));
}

#[test]
fn the_first_round_is_like_the_later_ones_with_draws_and_without() {
    for hold in ["150 ms", "100 ms .. 200 ms"] {
        let rig = rig_of(&format!(
            "[{{hold: {hold}}}, {{to: 0 %, over: 1 s}}, {{to: 100 %, over: 1 s}}]"
        ));
        assert_eq!(shown(&rig, 0, 100), 255, "{hold}");
    }
    // Where the end is only drawn on the chip, and where nothing comes round, it begins dark.
    for pattern in [
        "[{hold: 100 ms}, {to: 30 % .. 90 %, over: 1 s}]",
        "[{hold: 100 ms}, {to: 30 %, over: 1 s}, {hold: forever}]",
    ] {
        assert_eq!(shown(&rig_of(pattern), 0, 95), 0, "{pattern}");
    }
}

#[test]
fn compiled_draws_keep_stagger_and_spread() {
    let rig = rig_of(
        "{channels: all, each: true, stagger: 500 ms, draw: {seed: 3, rounds: 1}, steps: \
         [{set: 100 %, hold: 1 s}, {set: 0 %, hold: 3 s}]}",
    );
    assert_eq!((shown(&rig, 1, 250), shown(&rig, 1, 750)), (0, 255));
}

/// Every boundary within half a tick after ten thousand rounds: 73 ms are 14.6 ticks.
#[test]
fn loops_do_not_drift() {
    let rig = rig_of("[{set: 100 %, hold: 36 ms}, {set: 0 %, hold: 37 ms}]");
    let ticks = 146_000;
    let take = rig.play(0, 1, ticks);
    let mut rounds = 0;
    for stretch in stretches(&rig, 0, f64::from(ticks) * 0.005 - 1.0) {
        let ideal = stretch.begin.0 / rig.tick;
        let after = take.begins[0].partition_point(|tick| f64::from(*tick) < ideal - 0.501);
        let begin = f64::from(take.begins[0][after]);
        assert!((begin - ideal).abs() <= 0.501, "{begin} for {ideal}");
        rounds += 1;
    }
    assert!(rounds > 19_000);
}

#[test]
fn a_fade_that_does_nothing_is_a_caution_at_its_place() {
    let cautions = |pattern: &str| {
        let rig = rig_of(pattern);
        let found = rig.deck.image.score.cautions.iter();
        found
            .map(|found| (found.code, found.span.unwrap().start))
            .collect::<Vec<_>>()
    };
    let [(code, _)] = cautions("[{to: 40 %, over: 500 ms}, {hold: 8 s}]")[..] else {
        panic!("one caution")
    };
    assert_eq!(code, "P007");
    for sound in [
        "[{to: 40 %, over: 500 ms}, {hold: 8 s}, {set: 0 %}]",
        "[{to: 40 %, over: 500 ms}, {hold: forever}]",
        // One channel moves, the others keep their light.
        "[{to: {quay: 100 %, rest: 10 %}, over: 1 s}, {to: 10 %, over: 1 s}]",
        "[{to: 10 % .. 90 %, over: 1 s}, {to: 40 %, over: 1 s}]",
    ] {
        assert_eq!(cautions(sound), [], "{sound}");
    }
}
