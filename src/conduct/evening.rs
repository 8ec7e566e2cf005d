//! The evening: how long it is, and how the night after it is counted.
//!
//! On, ticks are counted, which are the processor's clock, and the watchdog's periods meanwhile. Dark, only the
//! watchdog runs; for each `lit` of its periods that were counted it is dark for `dark` of them. So it is the
//! processor's clock that says how long a day is: the watchdog's oscillator, which may be a tenth off and more, is
//! measured by it every evening.

use serde::Serialize;

use super::fade::FadeStep;
use crate::plan::Tick;
use crate::spec::Evening;
use crate::units::{Bytes, Ticks, Time};

/// An evening and its night, as the firmware counts them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct EveningTicks {
    /// From the start to where the light goes: with that, `lit` shares of a day.
    pub on: Ticks,
    /// Until all is dark.
    pub goes: Ticks,
    /// What the night then is by the same clock.
    pub night: Ticks,
    /// A day has `lit` shares on and `dark` shares dark.
    pub lit: u8,
    pub dark: u8,
}

impl EveningTicks {
    /// The day is exact; what is on of it is the nearest that two bytes say.
    pub fn new(evening: &Evening, fade: Option<FadeStep>, tick: &Tick) -> Self {
        let ticks = |time: Time| time.seconds() / tick.seconds();
        let every = ticks(evening.every);
        let goes = fade.map_or(0, |fade| fade.ticks() as u32);
        let wanted = ticks(evening.on) + f64::from(goes);
        let share =
            |(lit, dark): (u8, u8)| every * f64::from(lit) / (f64::from(lit) + f64::from(dark));
        let error = |shares: &(u8, u8)| (share(*shares) - wanted).abs();
        let nearest = (1..=u8::MAX).map(|lit| {
            let dark = f64::from(lit) * (every - wanted) / wanted;
            (lit, dark.round().clamp(1.0, 255.0) as u8)
        });
        let (lit, dark) = nearest
            .min_by(|a, b| error(a).total_cmp(&error(b)))
            .unwrap_or((1, 1));
        let awake = share((lit, dark)).round() as u32;
        Self {
            on: Ticks(awake.saturating_sub(goes).max(1)),
            goes: Ticks(goes),
            night: Ticks((every.round() as u32).saturating_sub(awake)),
            lit,
            dark,
        }
    }
}

/// What the ticks of an evening are counted in.
pub fn counted_in(on: Ticks) -> Bytes {
    Bytes(if on.0 < 1 << 24 { 3 } else { 4 })
}

#[cfg(test)]
mod tests {
    use crate::design::Design;
    use crate::spec;

    fn design(on: &str, every: &str) -> Design {
        let text = format!(
            "chip: attiny85\nchannels: 1\nevening: {{on: {on}, every: {every}}}\npatterns: {{p: [{{hold: forever}}]}}\n"
        );
        let open = |_: &std::path::Path| Ok(text.clone().into_bytes());
        let project = spec::read_with("evening.yaml".as_ref(), &open).expect("sound");
        Design::new(project).expect("one that fits")
    }

    #[test]
    fn five_hours_of_a_day_are_five_to_nineteen() {
        let evening = design("5 h", "24 h").firmware.evening.expect("it has one");
        assert_eq!((evening.lit, evening.dark), (5, 19));
    }

    /// The day is what it was asked to be, whatever the evening.
    #[test]
    fn shares_make_up_a_day() {
        let evenings = [
            ("5 h", "24 h"),
            ("6 min", "24 h"),
            ("337 min", "25 h"),
            ("1 min", "2 min"),
            ("23 h", "24 h"),
            ("3.7 h", "24 h"),
            ("95 h", "168 h"),
        ];
        for (on, every) in evenings {
            let design = design(on, every);
            let evening = design.firmware.evening.expect("it has one");
            let tick = design.plan.tick.seconds();
            let awake = f64::from(evening.on.0 + evening.goes.0);
            let night = f64::from(evening.night.0);
            let asked = design.project.evening.expect("it has one").value;
            let day = (awake + night) * tick;
            assert!((day - asked.every.seconds()).abs() < tick, "{on}: {day}");
            let shares = f64::from(evening.dark) / f64::from(evening.lit);
            assert!((night / awake / shares - 1.0).abs() < 1e-4, "{on}");
            let error = f64::from(evening.on.0) * tick / asked.on.seconds() - 1.0;
            assert!(error.abs() < 0.005, "{on}: {error}");
            assert!(
                f64::from(evening.on.0) < 256f64.powi(super::counted_in(evening.on).0 as i32),
                "{on}"
            );
        }
    }
}
