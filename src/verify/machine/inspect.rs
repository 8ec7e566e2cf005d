//! What can be seen of a machine, and set.

use super::bus::Access;
use super::core::{Bus, Reg};
use super::doubt::Doubted;
use super::eeprom::Programming;
use super::meters::Meters;
use super::moment::Moment;
use super::pin::Pin;
use super::pins::{Edge, Level, Period, Watch};
use super::reset::Reset;
use super::run::Machine;
use super::silicon::Silicon;
use crate::units::{Bytes, Hertz};
use crate::verify::Firmware;

impl Machine {
    pub fn part(&self) -> &Silicon {
        &self.part
    }

    pub fn clock(&self) -> Hertz {
        self.clock
    }

    pub fn firmware(&self) -> &Firmware {
        &self.firmware
    }

    /// The value of a symbol of the firmware: see [`Firmware::symbol`].
    pub fn symbol(&self, name: &str) -> Option<u32> {
        self.firmware.symbol(name)
    }

    pub fn now(&self) -> Moment {
        self.core.now()
    }

    /// Seconds of a count of cycles.
    pub fn seconds(&self, cycles: u64) -> f64 {
        cycles as f64 / self.clock.0
    }

    /// Byte address of the next instruction.
    pub fn pc(&self) -> u32 {
        self.core.pc()
    }

    pub fn set_pc(&mut self, address: u32) {
        self.core.set_pc(address);
    }

    /// Returns from a function at its first instruction, as if it had done nothing.
    pub fn skip_call(&mut self) {
        let back = self.return_address();
        self.core.set_stack_pointer(self.stack_pointer() + 2);
        self.core.set_pc(back);
    }

    /// Where the function at whose first instruction it stands will return to.
    pub fn return_address(&self) -> u32 {
        let stack = self.stack_pointer();
        let [high, low] = [1, 2].map(|offset| self.core.memory(stack + offset));
        u32::from(u16::from_be_bytes([high, low])) * 2
    }

    pub fn is_asleep(&self) -> bool {
        self.asleep.is_some()
    }

    /// Whether it sleeps with its clock stopped.
    pub fn is_powered_down(&self) -> bool {
        self.asleep.is_some_and(|asleep| asleep.powered_down)
    }

    /// Working register `r0` to `r31`.
    pub fn register(&self, number: u8) -> u8 {
        assert!(number < 32, "there is no r{number}");
        self.core.register(Reg(number))
    }

    pub fn set_register(&mut self, number: u8, value: u8) {
        assert!(number < 32, "there is no r{number}");
        self.core.set_register(Reg(number), value);
    }

    pub fn status(&self) -> u8 {
        self.core.status()
    }

    pub fn set_status(&mut self, status: u8) {
        self.core.set_status(status);
    }

    pub fn stack_pointer(&self) -> u16 {
        self.core.stack_pointer()
    }

    /// The byte at an address of the data space; a peripheral's register as the firmware would read
    /// it now, without the side effects of a read.
    pub fn memory(&mut self, address: u16) -> u8 {
        let now = self.now();
        if self.core.bus().answers(address) {
            self.sync();
            return self.core.bus().peek(address, now);
        }
        self.core.memory(address)
    }

    /// Sets a byte of RAM, of a working register or of a register without a peripheral.
    pub fn set_memory(&mut self, address: u16, value: u8) {
        self.core.set_memory(address, value);
    }

    /// Writes a peripheral's register, as the firmware would.
    pub fn write_register(&mut self, address: u16, value: u8) {
        let now = self.now();
        self.core.bus_mut().write(address, value, now);
    }

    /// The address of a register by its name in the part's header.
    pub fn address_of(&self, register: &str) -> Option<u16> {
        self.part.value(&[register])
    }

    /// What the EEPROM holds; a byte being programmed shows its old value.
    pub fn eeprom(&mut self) -> &[u8] {
        self.sync();
        self.core.bus().eeprom.cells()
    }

    pub fn eeprom_mut(&mut self) -> &mut [u8] {
        self.core.bus_mut().eeprom.cells_mut()
    }

    /// How often each EEPROM cell has been programmed.
    pub fn eeprom_wear(&self) -> &[u32] {
        self.core.bus().eeprom.wear()
    }

    /// Puts a voltage, as a share of the supply, at a pin of the converter.
    ///
    /// # Panics
    /// If the converter has no channel at that pin.
    pub fn apply(&mut self, pin: Pin, share: f64) {
        self.sync();
        let known = self.core.bus_mut().converter.apply(pin, share);
        assert!(known, "{pin} has no channel of a converter");
    }

    /// The chip's own reference, as a share of the supply.
    pub fn set_bandgap(&mut self, share: f64) {
        self.sync();
        self.core.bus_mut().converter.set_bandgap(share);
    }

    /// What the firmware has read last of a channel of the converter: the high eight bits.
    pub fn converted(&self, channel: u8) -> Option<u8> {
        self.core.bus().converter.read.get(&channel).copied()
    }

    /// The EEPROM byte that is being programmed now.
    pub fn programming(&self) -> Option<Programming> {
        self.core
            .bus()
            .eeprom
            .programming()
            .filter(|p| p.done > self.now())
    }

    /// The EEPROM byte whose programming was begun last, whether or not it has ended.
    pub fn latest_programming(&self) -> Option<Programming> {
        self.core.bus().eeprom.latest()
    }

    /// The watchdog's oscillator runs so many times as fast as its table says, from its next period on.
    pub fn set_watchdog_pace(&mut self, pace: f64) {
        self.core.bus_mut().watchdog.set_pace(pace);
    }

    /// Cycles of the watchdog's period, as it is set now.
    pub fn watchdog_period(&self) -> u64 {
        self.core.bus().watchdog.period()
    }

    /// Puts a level on a pin from outside (a pressed button pulls it low), or lets go of it.
    pub fn drive(&mut self, pin: Pin, level: Option<bool>) {
        let now = self.now();
        self.core.bus_mut().drive(pin, level, now);
    }

    /// What a pin puts out now.
    pub fn level(&mut self, pin: Pin) -> Level {
        self.sync();
        self.core.bus().pins.level(pin)
    }

    /// Cycles for which a pin has been driven high since power was first applied.
    pub fn high_cycles(&mut self, pin: Pin) -> u64 {
        self.sync();
        let now = self.now();
        self.core.bus().pins.high_cycles(pin, now)
    }

    /// Chooses what is recorded of a pin from now on.
    pub fn watch(&mut self, pin: Pin, watch: Watch) {
        self.sync();
        self.core.bus_mut().pins.watch(pin, watch);
    }

    /// The edges recorded since this was last asked, in order for each pin.
    pub fn take_edges(&mut self) -> Vec<Edge> {
        self.sync();
        self.core.bus_mut().pins.take_edges()
    }

    /// The timer periods that ended since this was last asked, in order for each pin.
    pub fn take_periods(&mut self) -> Vec<Period> {
        self.sync();
        self.core.bus_mut().pins.take_periods()
    }

    /// Whether a peripheral answers to a data address.
    pub fn is_peripheral(&self, address: u16) -> bool {
        self.core.bus().answers(address)
    }

    /// Records the firmware's accesses to peripherals' registers from now on, or stops.
    pub fn watch_accesses(&mut self, wanted: bool) {
        self.core.bus_mut().accesses = wanted.then(Vec::new);
    }

    pub fn take_accesses(&mut self) -> Vec<Access> {
        let accesses = &mut self.core.bus_mut().accesses;
        accesses.as_mut().map(std::mem::take).unwrap_or_default()
    }

    /// The accounts so far, with the events missed since power-up.
    pub fn meters(&self) -> Meters {
        let mut meters = self.meters.clone();
        meters.lowest_stack = self.core.lowest_stack;
        meters.instructions = self.core.executed;
        if let Some(asleep) = self.asleep {
            let slept = self.now() - asleep.since;
            if asleep.powered_down {
                meters.powered_down += slept;
            } else {
                meters.asleep += slept;
            }
        }
        for timer in &self.core.bus().timers {
            for (flag, vector) in &timer.vectors {
                let missed = timer.counter.missed[flag.trailing_zeros() as usize];
                if missed > 0 {
                    meters.interrupts.entry(*vector).or_default().missed = missed;
                }
            }
        }
        meters
    }

    /// Instructions executed, as in [`Meters`].
    pub fn executed(&self) -> u64 {
        self.core.executed
    }

    /// Begins the accounts anew.
    pub fn clear_meters(&mut self) {
        let now = self.now();
        if let Some(asleep) = &mut self.asleep {
            asleep.since = now;
        }
        self.meters = Meters::new(now);
        self.core.lowest_stack = self.core.stack_pointer();
        self.core.executed = 0;
        for timer in &mut self.core.bus_mut().timers {
            timer.counter.missed = Default::default();
        }
    }

    /// The most RAM the stack has taken.
    pub fn deepest_stack(&self) -> Bytes {
        Bytes(u32::from(
            self.part.geometry.ram_end - self.core.lowest_stack,
        ))
    }

    /// Every start of the firmware, the first included.
    pub fn resets(&self) -> &[Reset] {
        &self.resets
    }

    /// What the firmware did that the machine cannot vouch for.
    pub fn doubts(&self) -> &[Doubted] {
        &self.core.bus().doubts
    }
}
