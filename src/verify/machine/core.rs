//! The simulator's instruction core, and the only `unsafe` code of the project.
//!
//! Of the simulator nothing is used but its decoder: no timer, port, EEPROM, interrupt controller
//! or sleep of its own is ever created (the part's `init` hook is removed before it runs). Each
//! register access of the firmware goes to a [`Bus`], which models the part's peripherals in plain
//! Rust. The simulator's cycle counter is the machine's clock: instructions move it, and the
//! machine adds what an instruction does not know about.

#![allow(unsafe_code)]

use std::cell::Cell;
use std::ffi::{c_char, c_int, c_void};
use std::ptr::NonNull;
use std::sync::Once;

use simavr_ffi::{
    avr_global_logger_set, avr_init, avr_io_addr_t, avr_logger_p, avr_make_mcu_by_name, avr_t,
    avr_terminate,
};

use super::moment::Moment;

/// The part whose core description is borrowed; its memory sizes are replaced by the real ones.
const BASE_PART: &std::ffi::CStr = c"atmega328p";
/// First data address that is a register behind the 32 working registers.
const FIRST_REGISTER: u16 = 0x20;
/// Registers that SBI, CBI, SBIC and SBIS reach.
const BIT_ADDRESSABLE: u16 = 32;

const SPL: u16 = 0x5D;
const SPH: u16 = 0x5E;
const INTERRUPT_FLAG: usize = 7;

/// `cpu_Running` of `sim_avr.h`.
const RUNNING: c_int = simavr_ffi::cpu_Running as c_int;
const CRASHED: c_int = simavr_ffi::cpu_Crashed as c_int;

unsafe extern "C" {
    /// Runs one instruction and returns the next program counter (`sim_core.h`).
    fn avr_run_one(avr: *mut avr_t) -> u32;
    /// The C library's `free`: the simulator allocates a part with `malloc` and never frees it.
    fn free(memory: *mut c_void);
}

/// What the firmware's register accesses reach.
pub(super) trait Bus {
    /// The firmware reads a watched register; `at` is the cycle in which the value is taken.
    fn read(&mut self, register: u16, at: Moment) -> u8;
    /// The firmware writes a watched register; `at` is when the write has taken effect.
    fn write(&mut self, register: u16, value: u8, at: Moment);
    /// SBI or CBI on a watched register.
    fn write_bit(&mut self, register: u16, bit: u8, set: bool, at: Moment);
}

/// Sizes of the part's memories.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Geometry {
    /// Last byte of flash.
    pub flash_end: u32,
    /// First byte of RAM, after the registers.
    pub ram_start: u16,
    /// Last byte of RAM.
    pub ram_end: u16,
    /// Bytes of EEPROM.
    pub eeprom_size: u16,
}

thread_local! {
    /// Set when the simulator logs an error or a warning (a wild address, an unknown opcode).
    static COMPLAINED: Cell<bool> = const { Cell::new(false) };
}

/// The simulator's logger: a format and a `va_list`, of which only the level is of interest.
type Logger = unsafe extern "C" fn(*mut avr_t, c_int, *const c_char, *mut c_void);

unsafe extern "C" fn on_log(_: *mut avr_t, level: c_int, _: *const c_char, _: *mut c_void) {
    if level <= simavr_ffi::LOG_WARNING as c_int {
        COMPLAINED.set(true);
    }
}

fn listen_to_complaints() {
    static LISTENING: Once = Once::new();
    LISTENING.call_once(|| {
        // SAFETY: only the type of the last parameter differs, a `va_list` that every platform
        // passes as a pointer and that is not looked at.
        unsafe {
            let logger = std::mem::transmute::<Option<Logger>, avr_logger_p>(Some(on_log));
            avr_global_logger_set(logger);
        }
    });
}

/// One processor with its memories, and the peripherals `B` that its registers reach.
pub(super) struct Core<B: Bus> {
    avr: NonNull<avr_t>,
    /// Allocated once and handed to the simulator as a raw pointer, so that its address and its
    /// provenance stay valid while the `Core` moves.
    bus: NonNull<B>,
    geometry: Geometry,
}

/// What one instruction was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Executed {
    /// First word of the instruction.
    pub opcode: u16,
    /// The simulator could not do it: unknown opcode, or an address outside memory.
    pub failed: bool,
}

impl<B: Bus> Core<B> {
    /// A processor with erased flash and zeroed memory, or `None` if the simulator was built
    /// without its base part.
    pub fn new(geometry: Geometry, bus: B) -> Option<Self> {
        listen_to_complaints();
        // SAFETY: the part is a fresh allocation owned by this `Core`; its sizes are set before
        // `avr_init` allocates by them.
        unsafe {
            let avr = NonNull::new(avr_make_mcu_by_name(BASE_PART.as_ptr()))?;
            let part = &mut *avr.as_ptr();
            part.init = None;
            part.reset = None;
            part.flashend = geometry.flash_end;
            part.ramend = geometry.ram_end;
            part.ioend = geometry.ram_start - 1;
            part.e2end = 0;
            avr_init(avr.as_ptr());
            let bus = NonNull::from(Box::leak(Box::new(bus)));
            Some(Self { avr, bus, geometry })
        }
    }

    /// Sends accesses to `register` to the bus instead of to memory.
    pub fn watch(&mut self, register: u16) {
        let slot = usize::from(register - FIRST_REGISTER);
        let bus = self.bus.as_ptr().cast::<c_void>();
        let avr = self.avr_mut();
        avr.io[slot].r.c = Some(on_read::<B>);
        avr.io[slot].r.param = bus;
        avr.io[slot].w.c = Some(on_write::<B>);
        avr.io[slot].w.param = bus;
        if register < FIRST_REGISTER + BIT_ADDRESSABLE {
            avr.bit_io[slot].c = Some(on_write_bit::<B>);
            avr.bit_io[slot].param = bus;
        }
    }

    /// Erases the flash and programs `image` from address 0.
    ///
    /// # Panics
    /// If the image is larger than the flash.
    pub fn program(&mut self, image: &[u8]) {
        let size = self.geometry.flash_end as usize + 1;
        // SAFETY: `avr_init` allocated `flash_end + 4` bytes, and nothing else refers to them.
        let flash = unsafe { std::slice::from_raw_parts_mut(self.avr_mut().flash, size) };
        flash.fill(0xFF);
        flash[..image.len()].copy_from_slice(image);
    }

    /// Executes one instruction.
    #[inline]
    pub fn step(&mut self) -> Executed {
        let opcode = self.opcode();
        let avr = self.avr.as_ptr();
        // SAFETY: `avr` is valid and owned. While the simulator runs, Rust holds no reference to it
        // or to the bus; the callbacks make theirs from the raw pointers.
        let state = unsafe {
            (*avr).run_cycle_count = 1;
            (*avr).pc = avr_run_one(avr);
            // Interrupts are the machine's: whatever the core noted about them is void.
            (*avr).interrupt_state = 0;
            std::mem::replace(&mut (*avr).state, RUNNING)
        };
        Executed {
            opcode,
            failed: COMPLAINED.take() || state == CRASHED,
        }
    }

    /// The first word of the instruction that comes next.
    #[inline]
    fn opcode(&self) -> u16 {
        let at = self.pc().min(self.geometry.flash_end - 1) as usize;
        // SAFETY: `flash` holds `flash_end + 1` bytes and two more.
        unsafe {
            let flash = self.avr().flash;
            u16::from_le_bytes([*flash.add(at), *flash.add(at + 1)])
        }
    }

    /// Byte address of the next instruction.
    #[inline]
    pub fn pc(&self) -> u32 {
        self.avr().pc
    }

    pub fn set_pc(&mut self, address: u32) {
        self.avr_mut().pc = address;
    }

    #[inline]
    pub fn now(&self) -> Moment {
        Moment(self.avr().cycle)
    }

    /// Moves the clock without executing anything.
    #[inline]
    pub fn set_now(&mut self, moment: Moment) {
        self.avr_mut().cycle = moment.0;
    }

    #[inline]
    pub fn interrupts_enabled(&self) -> bool {
        self.avr().sreg[INTERRUPT_FLAG] != 0
    }

    #[inline]
    pub fn disable_interrupts(&mut self) {
        self.avr_mut().sreg[INTERRUPT_FLAG] = 0;
    }

    pub fn status(&self) -> u8 {
        self.avr()
            .sreg
            .iter()
            .rev()
            .fold(0, |status, &bit| status << 1 | bit)
    }

    pub fn set_status(&mut self, status: u8) {
        self.avr_mut().sreg = std::array::from_fn(|bit| status >> bit & 1);
    }

    #[inline]
    pub fn stack_pointer(&self) -> u16 {
        u16::from_le_bytes([self.memory(SPL), self.memory(SPH)])
    }

    #[inline]
    pub fn set_stack_pointer(&mut self, address: u16) {
        let [low, high] = address.to_le_bytes();
        self.set_memory(SPL, low);
        self.set_memory(SPH, high);
    }

    /// The byte at a data address: a working register, an unwatched register, or RAM.
    ///
    /// # Panics
    /// If the address is outside the part's data space.
    #[inline]
    pub fn memory(&self, address: u16) -> u8 {
        assert!(
            address <= self.geometry.ram_end,
            "data address {address:#06x} is past the RAM"
        );
        // SAFETY: `avr_init` allocated `ram_end + 1` bytes.
        unsafe { *self.avr().data.add(usize::from(address)) }
    }

    /// See [`memory`](Self::memory).
    #[inline]
    pub fn set_memory(&mut self, address: u16, value: u8) {
        assert!(
            address <= self.geometry.ram_end,
            "data address {address:#06x} is past the RAM"
        );
        // SAFETY: as in `memory`; `&mut self` makes the access exclusive.
        unsafe { *self.avr_mut().data.add(usize::from(address)) = value }
    }

    #[inline]
    pub fn bus(&self) -> &B {
        // SAFETY: the bus lives as long as `self`; `&self` rules out a running `step`.
        unsafe { self.bus.as_ref() }
    }

    #[inline]
    pub fn bus_mut(&mut self) -> &mut B {
        // SAFETY: as in `bus`, and `&mut self` makes it exclusive.
        unsafe { self.bus.as_mut() }
    }

    #[inline]
    fn avr(&self) -> &avr_t {
        // SAFETY: valid for the life of `self`; `&self` rules out a running `step`.
        unsafe { self.avr.as_ref() }
    }

    #[inline]
    fn avr_mut(&mut self) -> &mut avr_t {
        // SAFETY: as in `avr`, and `&mut self` makes it exclusive.
        unsafe { self.avr.as_mut() }
    }
}

// SAFETY: the core owns all it points to, and the simulator keeps nothing per thread; the one
// thread-local here is set and taken within a single `step`.
unsafe impl<B: Bus + Send> Send for Core<B> {}

impl<B: Bus> Drop for Core<B> {
    fn drop(&mut self) {
        // SAFETY: both were allocated in `new` and are freed here only.
        unsafe {
            let avr = self.avr.as_ptr();
            free((*avr).data_names.cast());
            avr_terminate(avr);
            free(avr.cast());
            drop(Box::from_raw(self.bus.as_ptr()));
        }
    }
}

/// When an access of the current instruction happens, in cycles after the instruction's start:
/// `(read, write)`. IN and OUT take one cycle, SBIC and SBIS look in their first; loads, stores,
/// SBI and CBI take two (AVR Instruction Set Manual, cycle counts for AVRe cores).
///
/// # Safety
/// `avr` is valid and executing an instruction.
unsafe fn access_cycles(avr: *mut avr_t) -> (u64, u64) {
    // SAFETY: by the contract; the simulator has checked `pc` against the flash.
    let high = unsafe { *(*avr).flash.add((*avr).pc as usize + 1) };
    let in_or_out = high & 0xF0 == 0xB0;
    let skip_if_bit = high & 0xFD == 0x99;
    (
        u64::from(!in_or_out && !skip_if_bit),
        if in_or_out { 1 } else { 2 },
    )
}

unsafe extern "C" fn on_read<B: Bus>(
    avr: *mut avr_t,
    register: avr_io_addr_t,
    bus: *mut c_void,
) -> u8 {
    // SAFETY: `bus` is the pointer given in `watch`; `Core::step` holds no reference to it.
    unsafe {
        let at = Moment((*avr).cycle + access_cycles(avr).0);
        (*bus.cast::<B>()).read(register, at)
    }
}

unsafe extern "C" fn on_write<B: Bus>(
    avr: *mut avr_t,
    register: avr_io_addr_t,
    value: u8,
    bus: *mut c_void,
) {
    // SAFETY: as in `on_read`.
    unsafe {
        let at = Moment((*avr).cycle + access_cycles(avr).1);
        (*bus.cast::<B>()).write(register, value, at);
    }
}

unsafe extern "C" fn on_write_bit<B: Bus>(
    avr: *mut avr_t,
    bit: u8,
    set: u8,
    bus: *mut c_void,
) -> c_int {
    // SAFETY: as in `on_read`; the simulator passes the bit alone, the register is in the opcode.
    unsafe {
        let at = Moment((*avr).cycle + 2);
        let low = *(*avr).flash.add((*avr).pc as usize);
        let register = FIRST_REGISTER + u16::from(low >> 3);
        (*bus.cast::<B>()).write_bit(register, bit, set != 0, at);
    }
    1
}
