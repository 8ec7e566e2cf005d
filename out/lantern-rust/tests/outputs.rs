//! Frames on PWM channels of another resolution.
#![cfg(feature = "embedded-hal")]

use core::convert::Infallible;

use embedded_hal::pwm::{ErrorType, SetDutyCycle};

use lantern::{CHANNELS, Duty, Outputs};

/// A PWM channel of 12 bits.
struct Pin(u16);

impl Pin {
    fn with_duty(duty: u16) -> Self {
        Self(duty)
    }
}

impl ErrorType for Pin {
    type Error = Infallible;
}

impl SetDutyCycle for Pin {
    fn max_duty_cycle(&self) -> u16 {
        4095
    }

    fn set_duty_cycle(&mut self, duty: u16) -> Result<(), Infallible> {
        self.0 = duty;
        Ok(())
    }
}

#[test]
fn dark_is_dark_and_full_is_full() {
    let mut outputs = Outputs {
        ch1: Pin::with_duty(1),
    };
    for (duty, expected) in [(Duty(0), 0), (Duty(0x7F80), 2048), (Duty::FULL, 4095)] {
        let Ok(()) = outputs.put(&[duty; CHANNELS]);
        assert_eq!(outputs.ch1.0, expected);
    }
}
