//! Frames on PWM channels.

use embedded_hal::pwm::SetDutyCycle;

use super::{CHANNELS, Duty};

/// A PWM output for each channel, of any kind and resolution.
///
/// The outputs must be inverted where a string is lit while its pin is low.
#[derive(Debug)]
pub struct Outputs<A> {
    /// ch1
    pub ch1: A,
}

impl<A> Outputs<A>
where
    A: SetDutyCycle,
{
    /// Puts a frame out.
    ///
    /// # Errors
    /// What the first output that fails says.
    pub fn put(&mut self, frame: &[Duty; CHANNELS]) -> Result<(), A::Error> {
        let [a] = *frame;
        set(&mut self.ch1, a)?;
        Ok(())
    }
}

fn set<P: SetDutyCycle>(output: &mut P, duty: Duty) -> Result<(), P::Error> {
    let max = output.max_duty_cycle();
    output.set_duty_cycle(duty.of(max))
}
