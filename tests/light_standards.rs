//! Brightness against published standards and a general-purpose colour library.

use duskloom::light::{Depth, FULL, cie};
use duskloom::spec::project::Curve;
use duskloom::units::{Duty, Lightness, Luminance, Share};
use palette::convert::FromColorUnclamped;
use palette::white_point::D65;
use palette::{Lab, LinSrgb, Srgb, Xyz};

/// CIE 15 and ISO/CIE 11664-4: the constants are these fractions, and meet at L* = 8.
#[test]
fn the_constants_are_the_exact_ones_of_the_standard() {
    assert_eq!(cie::EPSILON, 216.0 / 24389.0);
    assert_eq!(cie::KAPPA, 24389.0 / 27.0);
    assert_eq!(cie::KAPPA * cie::EPSILON, 8.0);
}

/// CIE 15, both branches, worked by hand: L* = 903.296… Y below 0.008856…, and 116 Y^(1/3) - 16
/// above. 18.4 % grey, the photographer's middle grey, is L* 50 (common practice, no source).
#[test]
fn lightness_follows_both_branches() {
    for (y, l) in [
        (0.0, 0.0),
        (0.001, 0.903_296_296),
        (0.008, 7.226_370_370),
        (0.027, 116.0 * 0.3 - 16.0),
        (0.125, 116.0 * 0.5 - 16.0),
        (0.512, 116.0 * 0.8 - 16.0),
        (1.0, 100.0),
    ] {
        assert!((cie::lightness(Luminance(y)).0 - l).abs() < 1e-8, "Y = {y}");
        assert!(
            (cie::luminance(Lightness(l)).0 - y).abs() < 1e-10,
            "L* = {l}"
        );
    }
    assert!((cie::lightness(Luminance(0.184)).0 - 50.0).abs() < 0.1);
}

/// The crate `palette`, a general-purpose colour library.
#[test]
fn lightness_agrees_with_a_colour_library() {
    for step in 0..=5000 {
        let y = f64::from(step) / 5000.0;
        let lab: Lab<D65, f64> = Lab::from_color_unclamped(Xyz::new(0.3 * y, y, 0.2 * y));
        assert!(
            (cie::lightness(Luminance(y)).0 - lab.l).abs() < 1e-9,
            "Y = {y}"
        );
    }
}

#[test]
fn lightness_and_luminance_undo_each_other() {
    for step in 0..=10_000 {
        let l = f64::from(step) / 100.0;
        let there_and_back = cie::lightness(cie::luminance(Lightness(l)));
        assert!((there_and_back.0 - l).abs() < 1e-9, "L* = {l}");
    }
}

/// The luminance that the IEC 62386-102 curve gives for one of its 254 levels, in percent.
fn logarithmic(level: u8) -> f64 {
    Curve::Logarithmic
        .luminance(Share(f64::from(level) / 254.0))
        .0
        * 100.0
}

/// IEC 62386-102: level 1 is 0.1 %, 85 is 1 %, 170 is 10 %, 254 is 100 %, to rounding.
#[test]
fn the_logarithmic_curve_passes_the_standard_s_points() {
    for (level, percent, rounding) in [
        (1, 0.1, 0.0005),
        (85, 1.0, 0.05),
        (170, 10.0, 0.5),
        (254, 100.0, 0.0005),
    ] {
        let found = logarithmic(level);
        assert!(
            (found - percent).abs() < rounding,
            "level {level}: {found} %"
        );
    }
    assert_eq!(Curve::Logarithmic.luminance(Share(0.0)).0, 0.0);
}

/// Rows of the table in IEC 62386-102, from memory, to the decimals it gives.
#[test]
fn the_logarithmic_curve_agrees_with_the_table() {
    for (level, percent, rounding) in [
        (2, 0.103, 0.0005),
        (3, 0.106, 0.0005),
        (126, 3.035, 0.0005),
        (170, 10.091, 0.0005),
        (229, 50.53, 0.005),
    ] {
        let found = logarithmic(level);
        assert!(
            (found - percent).abs() <= rounding,
            "level {level}: {found} %"
        );
    }
}

/// IEC 62386-102: a level is the same share brighter than the one before everywhere, 2.77 %.
#[test]
fn steps_of_the_logarithmic_curve_are_equal_ratios() {
    let ratio = 1000f64.powf(1.0 / 253.0);
    for level in 2..=254 {
        assert!((logarithmic(level) / logarithmic(level - 1) - ratio).abs() < 1e-9);
    }
}

/// The luminance that IEC 61966-2-1 (sRGB) gives for a signal, from the crate `palette`.
fn srgb(signal: f64) -> f64 {
    let linear: LinSrgb<f64> = Srgb::new(signal, signal, signal).into_linear();
    linear.green
}

/// IEC 61966-2-1 describes its transfer function as close to a plain power of 2.2; it is so within
/// one percent of full light, while 1.8 and 2.6 are not within five.
#[test]
fn a_power_of_2_2_is_close_to_srgb_and_others_are_not() {
    let distance = |exponent| {
        (0..=1000)
            .map(|step| f64::from(step) / 1000.0)
            .map(|x| (Curve::Power(exponent).luminance(Share(x)).0 - srgb(x)).abs())
            .fold(0.0, f64::max)
    };
    assert!(distance(2.2) < 0.01, "{}", distance(2.2));
    assert!(distance(1.8) > 0.05 && distance(2.6) > 0.05);
}

/// A curve given by 17 points of sRGB follows it everywhere, well under what an eye can tell.
#[test]
fn points_describe_a_law_of_vision_well() {
    let points = (0..=16)
        .map(|i| f64::from(i) / 16.0)
        .map(|x| (Share(x), Share(srgb(x))));
    let curve = Curve::Points(points.collect());
    for step in 0..=1000 {
        let x = f64::from(step) / 1000.0;
        let found = cie::lightness(curve.luminance(Share(x))).0;
        let wanted = cie::lightness(Luminance(srgb(x))).0;
        assert!((found - wanted).abs() < 0.4, "at {x}: {found}, {wanted}");
    }
}

/// A square law makes 1 % 0.01 %, 10 % 1 %, 50 % 25 % (common practice, no source).
#[test]
fn a_square_law_keeps_the_rule_of_thumb() {
    for (share, light) in [(0.01, 0.0001), (0.1, 0.01), (0.5, 0.25), (1.0, 1.0)] {
        let found = Curve::Square.luminance(Share(share)).0;
        assert!((found - light).abs() < 1e-12);
        assert!((Curve::Power(2.0).luminance(Share(share)).0 - found).abs() < 1e-12);
    }
}

/// ATmega328P datasheet, 8-bit timer: a period of fast PWM has 256 clocks, and one of
/// phase-correct PWM goes through TOP = 255 twice, so 255 counts are all of it.
#[test]
fn full_light_is_255_counts_of_the_mode_s_period() {
    assert_eq!(FULL.on_share(256).0, 255.0 / 256.0);
    assert_eq!(FULL.on_share(255).0, 1.0);
    assert_eq!(FULL.luminance().0, 1.0);
}

/// 1/256 of the light is already L* 3.5: why duty is extended in time at all.
#[test]
fn eight_bits_are_too_coarse_at_the_low_end() {
    let step = |extra| {
        Depth::new(extra)
            .quantise(Luminance(1.0 / 255.0))
            .luminance()
    };
    assert!((cie::lightness(step(0)).0 - 3.54).abs() < 0.01);
    let finest = Duty(Depth::new(4).step()).luminance();
    assert!((cie::lightness(finest).0 - 0.22).abs() < 0.01);
}

/// The codes and sentences about the levels of a project with this brightness.
fn doubts(brightness: &str) -> Vec<String> {
    let text = format!(
        "chip: attiny2313a\nclock: 8 MHz internal\nchannels: 1\nbrightness: {brightness}\n\
         patterns: {{glow: [{{to: 100 %, over: 2 s}}, {{to: 0 %, over: 2 s}}]}}\n"
    );
    let open = |_: &std::path::Path| Ok(text.clone().into_bytes());
    let project = duskloom::spec::read_with(std::path::Path::new("light.yaml"), &open).unwrap();
    let design = duskloom::design::Design::new(project).unwrap();
    let levels = design.plan.cautions.iter();
    levels
        .filter(|caution| caution.code == "C042")
        .map(|caution| format!("{}; {}", caution.message, caution.hint.clone().unwrap()))
        .collect()
}

/// With 12 bits the least light is 1/4080 of full: a power of 2.8 falls below half of that, which is
/// dark, at (1/8160)^(1/2.8), 4 % of the scale. A form that errs within what is allowed may be dark
/// on a few levels more.
#[test]
fn lit_levels_that_come_out_dark_are_a_caution_whose_hint_lights_them() {
    let least = (1.0_f64 / 8160.0).powf(1.0 / 2.8);
    let dark = (1..256)
        .filter(|level| f64::from(*level) / 255.0 < least)
        .count();
    let [said] = doubts("{curve: {power: 2.8}}").try_into().unwrap();
    let (count, rest) = said.split_once(" of 255 lit levels are dark").unwrap();
    let count: usize = count.parse().unwrap();
    assert!((dark..dark + 8).contains(&count), "{said}");
    let (_, hint) = rest.split_once("`floor: ").unwrap();
    let floor = hint.split('`').next().unwrap();
    let lit = doubts(&format!("{{curve: {{power: 2.8}}, floor: {floor}}}"));
    assert!(lit.iter().all(|said| !said.contains("dark")), "{lit:?}");
    assert!(doubts("{curve: {power: 2.8}, levels: 64, floor: 8 %}").is_empty());
    assert!(doubts("{levels: 128}").is_empty());
}

/// At 1 MHz the lowest of 256 levels, 0.39 L*, comes out dark, which no one sees in a fade; a pattern
/// that goes to it asks for light.
#[test]
fn the_lowest_level_in_the_dark_is_a_caution_where_a_pattern_goes_to_it() {
    let said = |pattern: &str| {
        let text = format!(
            "chip: attiny2313a\nclock: 1 MHz internal\nchannels: 1\npatterns: {{glow: {pattern}}}\n"
        );
        let open = |_: &std::path::Path| Ok(text.clone().into_bytes());
        let project = duskloom::spec::read_with(std::path::Path::new("l.yaml"), &open).unwrap();
        let design = duskloom::design::Design::new(project).unwrap();
        let cautions = design.plan.cautions.iter();
        cautions.filter(|caution| caution.code == "C042").count()
    };
    assert_eq!(said("[{to: 100 %, over: 2 s}, {to: 0 %, over: 2 s}]"), 0);
    assert_eq!(said("[{to: 0.1 %, over: 2 s}, {to: 0 %, over: 2 s}]"), 1);
}

/// What is asked to be lit is lit, however little.
#[test]
fn the_least_share_is_the_lowest_lit_level() {
    let text = "chip: attiny2313a\nchannels: 1\npatterns: {glow: [{set: 0.1 %}]}\n";
    let open = |_: &std::path::Path| Ok(text.as_bytes().to_vec());
    let project = duskloom::spec::read_with(std::path::Path::new("light.yaml"), &open).unwrap();
    let design = duskloom::design::Design::new(project).unwrap();
    let mut player =
        duskloom::player::Player::playing(&design.deck, duskloom::player::Generator::new(1), 0);
    player.step();
    let level = player.levels().next().unwrap();
    assert_eq!(level, duskloom::units::Level(1));
    assert!(design.deck.duty(0, level).0 > 0);
}
