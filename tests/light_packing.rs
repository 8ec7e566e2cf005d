//! Packed brightness tables: what the issue asks of them, the laws they keep, and the forms that
//! common settings get, so that a change of firmware shows.

use std::fmt::Write;

use duskloom::diagnostic::{Span, Spanned};
use duskloom::light::{
    Argument, Depth, FULL, Figures, Form, Packed, Scale, Surroundings, alternatives, cie, pack,
    rows,
};
use duskloom::spec::project::{Brightness, Curve};
use duskloom::units::{Duty, Level, Share, Time};
use proptest::prelude::*;

fn scale(curve: Curve, levels: u16, lit: (f64, f64), error: f64) -> Scale {
    let span = Span::default();
    Scale::new(&Brightness {
        curve: Spanned::new(curve, span),
        levels: Spanned::new(levels, span),
        floor: Spanned::new(Share(lit.0), span),
        ceiling: Spanned::new(Share(lit.1), span),
        error: Spanned::new(error, span),
        steps: Spanned::new(8, span),
        repeat: Spanned::new(Time::from_millis(400), span),
    })
}

fn default_scale() -> Scale {
    scale(Curve::Lightness, 256, (0.0, 1.0), 0.5)
}

mod default {
    use super::*;

    #[test]
    fn all_256_levels_differ_at_12_bits_within_half_a_step_of_lightness() {
        for has_mul in [false, true] {
            let scale = default_scale();
            let packed = pack(&scale, Depth::new(4), Surroundings::bare(has_mul));
            assert!(packed.passes);
            assert!(matches!(packed.form, Form::Polynomial { .. }), "{packed:?}");
            let duties: Vec<Duty> = scale.levels().map(|level| packed.duty(level)).collect();
            assert_eq!(duties[0], Duty(0));
            assert!(duties.windows(2).all(|pair| pair[0] < pair[1]));
            for (level, duty) in scale.levels().zip(duties) {
                let real = cie::lightness(duty.luminance()).0;
                assert!((real - f64::from(level.0) / 2.55).abs() <= 0.5, "{level:?}");
            }
        }
    }

    /// The rounding to 12 bits alone: half of 1/4080 of the light, on the steep branch.
    #[test]
    fn rounding_to_12_bits_alone_costs_a_ninth_of_a_step() {
        let scale = default_scale();
        let depth = Depth::new(4);
        let figures = Figures::of(&scale, |level| depth.quantise(scale.luminance(level)));
        let bound = cie::KAPPA * f64::from(depth.rounding()) / f64::from(FULL.0);
        assert!((bound - 0.11).abs() < 0.005);
        assert!(figures.largest_error.0.0 <= bound && figures.largest_error.0.0 > 0.9 * bound);
    }

    #[test]
    fn full_is_full() {
        for extra in 0..=8 {
            let duty = pack(
                &default_scale(),
                Depth::new(extra),
                Surroundings::bare(false),
            )
            .duty(Level(255));
            assert!(duty.0 >= FULL.0 - 16, "{extra}: {duty:?}");
        }
    }

    #[test]
    fn rows_say_what_the_chip_puts_out() {
        let scale = default_scale();
        let packed = pack(&scale, Depth::new(4), Surroundings::bare(false));
        let rows = rows(&scale, |level| packed.duty(level), 256);
        assert_eq!(rows.len(), 256);
        assert_eq!(
            (rows[0].duty, rows[0].real.0, rows[0].on.0),
            (Duty(0), 0.0, 0.0)
        );
        assert_eq!(rows[51].share.0, 0.2);
        assert!((rows[51].ideal.0 - 20.0).abs() < 1e-9);
        assert!((rows[255].on.0 - 255.0 / 256.0).abs() < 1e-3);
    }
}

/// The chip's arithmetic without `MUL`, register by register: shift the sum right, carry first, and
/// add `a` for each bit of x. 16 bits and the carry hold it; `fraction` + 1 rounds leave the point
/// where it belongs.
fn product_by_shifting(a: u16, x: u8, fraction: u8) -> u16 {
    let (mut sum, mut carry, mut x) = (0u16, false, x);
    for _ in 0..=fraction {
        sum = (sum >> 1) | (u16::from(carry) << 15);
        carry = false;
        if x & 1 == 1 {
            (sum, carry) = sum.overflowing_add(a);
        }
        x >>= 1;
    }
    assert!(!carry, "the result is within 16 bits");
    sum
}

fn polynomial_on_chip(argument: Argument, coefficients: &[i32], level: u8) -> u16 {
    let x = level << argument.shift;
    let (last, rest) = coefficients.split_last().expect("coefficients");
    rest.iter().rev().fold(*last as u16, |y, &c| {
        let y = product_by_shifting(y, x, argument.fraction);
        if c < 0 {
            y.saturating_sub(-c as u16)
        } else {
            y.wrapping_add(c as u16)
        }
    })
}

/// What a chip makes of a packed table, written down a second time, in the chip's 16 bits.
fn duty_on_chip(packed: &Packed, level: u8) -> u16 {
    if packed.gated && level == 0 {
        return 0;
    }
    let raw = match &packed.form {
        Form::Plain8(duties) => u16::from(duties[usize::from(level)]) << 8,
        Form::Plain16(duties) => duties[usize::from(level)],
        Form::Interpolated { shift, knots } => {
            let knot = usize::from(level >> shift);
            let rise = knots[knot + 1].wrapping_sub(knots[knot]);
            let along = level << (8 - shift);
            knots[knot].wrapping_add(product_by_shifting(rise, along, 8))
        }
        Form::Polynomial {
            argument,
            coefficients,
        } => polynomial_on_chip(*argument, coefficients, level),
        Form::Kneed {
            argument,
            knee,
            line,
            ..
        } if level < knee.0 => polynomial_on_chip(*argument, line, level),
        Form::Kneed {
            argument,
            coefficients,
            ..
        } => polynomial_on_chip(*argument, coefficients, level),
    };
    raw & packed.depth.mask()
}

fn curves() -> impl Strategy<Value = Curve> {
    let points = prop::collection::vec((0.01..0.99f64, 0.0..1.0f64), 0..6).prop_map(|inner| {
        let (mut at, mut light): (Vec<f64>, Vec<f64>) = inner.into_iter().unzip();
        at.sort_by(f64::total_cmp);
        light.sort_by(f64::total_cmp);
        at.insert(0, 0.0);
        light.insert(0, 0.0);
        at.push(1.0);
        light.push(1.0);
        Curve::Points(
            at.into_iter()
                .map(Share)
                .zip(light.into_iter().map(Share))
                .collect(),
        )
    });
    prop_oneof![
        3 => Just(Curve::Lightness),
        2 => (0.4..4.0f64).prop_map(Curve::Power),
        1 => Just(Curve::Logarithmic),
        1 => Just(Curve::Square),
        1 => Just(Curve::Linear),
        2 => points,
    ]
}

fn scales() -> impl Strategy<Value = Scale> {
    let levels = prop_oneof![Just(256u16), Just(64), 2..=256u16];
    let floor = prop_oneof![Just(0.0), 0.0..0.5f64];
    let ceiling = prop_oneof![Just(1.0), 0.5..1.0f64];
    (curves(), levels, floor, ceiling, 0.02..2.0f64).prop_map(
        |(curve, levels, floor, ceiling, error)| scale(curve, levels, (floor, ceiling), error),
    )
}

/// What every table that passes must be, whatever its form.
fn keeps_the_laws(scale: &Scale, packed: &Packed) -> Result<(), TestCaseError> {
    let depth = packed.depth;
    let duties: Vec<Duty> = scale.levels().map(|level| packed.duty(level)).collect();
    prop_assert_eq!(duties[0], Duty(0));
    prop_assert!(duties.is_sorted());
    prop_assert!(
        duties
            .iter()
            .all(|duty| *duty <= FULL && duty.0 & !depth.mask() == 0)
    );
    let finest = Figures::of(scale, |level| depth.quantise(scale.luminance(level)));
    let limit = scale.allowed().0.max(1.25 * finest.largest_error.0.0);
    for (level, &duty) in scale.levels().zip(&duties) {
        let error = (cie::lightness(duty.luminance()).0 - scale.lightness(level).0).abs();
        prop_assert!(error <= limit, "{:?}: {} of {}", level, error, limit);
    }
    if finest.distinct == scale.count() {
        prop_assert_eq!(packed.figures.distinct, scale.count());
    }
    prop_assert_eq!(
        packed.figures,
        Figures::of(scale, |level| packed.duty(level))
    );
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn a_packed_table_is_dark_at_0_rising_and_close(
        scale in scales(), extra in 0..=8u8, has_mul: bool,
    ) {
        let packed = pack(&scale, Depth::new(extra), Surroundings::bare(has_mul));
        prop_assert!(packed.passes);
        keeps_the_laws(&scale, &packed)?;
    }

    #[test]
    fn every_form_is_what_the_chip_computes(scale in scales(), extra in 0..=8u8, has_mul: bool) {
        for packed in alternatives(&scale, Depth::new(extra), Surroundings::bare(has_mul)) {
            for level in scale.levels() {
                prop_assert_eq!(packed.duty(level).0, duty_on_chip(&packed, level.0));
            }
            if packed.passes {
                keeps_the_laws(&scale, &packed)?;
            }
        }
    }

    #[test]
    fn the_smallest_that_passes_is_taken(scale in scales(), extra in 0..=8u8, has_mul: bool) {
        let depth = Depth::new(extra);
        let taken = pack(&scale, depth, Surroundings::bare(has_mul));
        let all = alternatives(&scale, depth, Surroundings::bare(has_mul));
        let smallest = all.iter().find(|packed| packed.passes).expect("a table at least");
        prop_assert_eq!(taken.size.total(), smallest.size.total());
        prop_assert!(all.is_sorted_by_key(|packed| packed.size.total()));
    }

    #[test]
    fn a_curve_rises_from_dark_to_full(curve in curves(), a in 0.0..=1.0f64, b in 0.0..=1.0f64) {
        let (low, high) = (a.min(b), a.max(b));
        prop_assert!(curve.luminance(Share(low)).0 <= curve.luminance(Share(high)).0 + 1e-12);
        prop_assert_eq!(curve.luminance(Share(0.0)).0, 0.0);
        prop_assert!((curve.luminance(Share(1.0)).0 - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_ideal_of_a_share_is_within_half_a_level(scale in scales(), share in 0.0..=1.0f64) {
        let nearest = scale.nearest(Share(share));
        let ideal = scale.ideal(Share(share)).0;
        let (below, above) = (nearest.0.saturating_sub(1), nearest.0.saturating_add(1));
        let below = scale.lightness(Level(below)).0;
        let above = scale.lightness(Level(above.min(scale.top().0))).0;
        if nearest == Level(0) {
            prop_assert_eq!(ideal, 0.0);
        } else if nearest > Level(1) {
            prop_assert!((below - 1e-9..=above + 1e-9).contains(&ideal));
        }
    }
}

/// One line for a person: what it is, its numbers, its size, how good it is.
fn line(packed: &Packed) -> String {
    let form = match &packed.form {
        Form::Plain8(duties) => format!("plain, {} bytes", duties.len()),
        Form::Plain16(duties) => format!("plain, {} words", duties.len()),
        Form::Interpolated { shift, knots } => {
            format!("every {}th of {} knots", 1 << shift, knots.len())
        }
        Form::Polynomial {
            argument,
            coefficients,
        } => {
            format!("polynomial /{} {coefficients:?}", argument.fraction)
        }
        Form::Kneed {
            argument,
            knee,
            line,
            coefficients,
        } => {
            format!(
                "below {} {line:?}, then /{} {coefficients:?}",
                knee.0, argument.fraction
            )
        }
    };
    let gate = if packed.gated { ", gated" } else { "" };
    let figures = packed.figures;
    format!(
        "{:>6}  error {} at {:>3}, step {}, {:>3} distinct, {}  {form}{gate}",
        packed.size.total().to_string(),
        figures.largest_error.0,
        figures.largest_error.1.0,
        figures.largest_step.0,
        figures.distinct,
        if packed.passes { "passes" } else { "no use" },
    )
}

#[test]
fn what_each_form_of_the_default_costs_and_brings() {
    let mut text = String::new();
    for packed in alternatives(&default_scale(), Depth::new(4), Surroundings::bare(false)) {
        writeln!(text, "{}", line(&packed)).unwrap();
    }
    insta::assert_snapshot!(text);
}

#[test]
fn the_form_each_curve_gets() {
    let curves = [
        Curve::Lightness,
        Curve::Power(2.2),
        Curve::Power(2.8),
        Curve::Logarithmic,
        Curve::Square,
        Curve::Linear,
    ];
    let mut text = String::new();
    for curve in curves {
        for (levels, lit) in [
            (256, (0.0, 1.0)),
            (64, (0.0, 0.9)),
            (256, (0.1, 1.0)),
            (16, (0.0, 1.0)),
        ] {
            let scale = scale(curve.clone(), levels, lit, 0.5);
            let packed = pack(&scale, Depth::new(4), Surroundings::bare(false));
            writeln!(
                text,
                "{curve:?}, {levels} levels, {lit:?}\n  {}",
                line(&packed)
            )
            .unwrap();
        }
    }
    insta::assert_snapshot!(text);
}

#[test]
fn where_the_depth_is_too_coarse_the_best_is_made_of_it() {
    for extra in 0..=2 {
        let scale = default_scale();
        let packed = pack(&scale, Depth::new(extra), Surroundings::bare(false));
        assert!(
            packed.passes && packed.size.total().0 < 128,
            "{}",
            line(&packed)
        );
    }
}

#[test]
fn where_no_error_is_allowed_the_depth_s_own_is_nearly_kept() {
    for curve in [Curve::Lightness, Curve::Power(1.5)] {
        let scale = scale(curve, 256, (0.0, 1.0), 0.0);
        let depth = Depth::new(4);
        let finest = Figures::of(&scale, |level| depth.quantise(scale.luminance(level)));
        let packed = pack(&scale, depth, Surroundings::bare(false));
        assert!(packed.passes && packed.size.total().0 <= 530);
        assert!(packed.figures.largest_error.0.0 <= 1.25 * finest.largest_error.0.0);
    }
}
