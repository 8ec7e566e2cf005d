//! simavr's core, with none of its peripherals.

use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::ffi::{c_char, c_int, c_void};
use std::ptr::NonNull;

use simavr_ffi::{
    avr_global_logger_set, avr_init, avr_io_addr_t, avr_logger_p, avr_make_mcu_by_name,
    avr_register_io_bit_write, avr_register_io_read, avr_register_io_write, avr_t,
};

use crate::state::{Case, State};
use crate::verify::machine::{AccessKind, Geometry};

unsafe extern "C" {
    /// Runs one instruction and returns the next program counter (`sim_core.h`).
    fn avr_run_one(avr: *mut avr_t) -> u32;
}

thread_local! {
    /// Set when it logs an error or a warning: a wild address, an unknown opcode.
    static COMPLAINED: Cell<bool> = const { Cell::new(false) };
    static PERIPHERALS: RefCell<Peripherals> = RefCell::default();
}

/// Register, kind of access, value.
pub type Touch = (u16, AccessKind, u8);

/// What stands for its peripherals: values to be read, and what it did.
#[derive(Default)]
struct Peripherals {
    values: VecDeque<u8>,
    touched: Vec<Touch>,
}

fn touch(register: u16, kind: AccessKind, value: u8) {
    PERIPHERALS.with_borrow_mut(|peripherals| peripherals.touched.push((register, kind, value)));
}

type Logger = unsafe extern "C" fn(*mut avr_t, c_int, *const c_char, *mut c_void);

unsafe extern "C" fn on_log(_: *mut avr_t, level: c_int, _: *const c_char, _: *mut c_void) {
    if level <= simavr_ffi::LOG_WARNING as c_int {
        COMPLAINED.set(true);
    }
}

unsafe extern "C" fn on_read(_: *mut avr_t, register: avr_io_addr_t, _: *mut c_void) -> u8 {
    // A read too many has no value, and shows up as one.
    let value = PERIPHERALS
        .with_borrow_mut(|p| p.values.pop_front())
        .unwrap_or(0);
    touch(register, AccessKind::Read, value);
    value
}

unsafe extern "C" fn on_write(_: *mut avr_t, register: avr_io_addr_t, value: u8, _: *mut c_void) {
    touch(register, AccessKind::Write, value);
}

unsafe extern "C" fn on_bit(_: *mut avr_t, bit: u8, set: u8, register: *mut c_void) -> c_int {
    let kind = if set == 0 {
        AccessKind::ClearBit
    } else {
        AccessKind::SetBit
    };
    touch(register as usize as u16, kind, 1 << bit);
    1
}

pub struct Other {
    avr: NonNull<avr_t>,
    geometry: Geometry,
}

impl Other {
    /// A part with memories of these sizes, of at most 64 K words.
    pub fn new(geometry: Geometry) -> Self {
        // SAFETY: of the logger only the last parameter's type differs, a `va_list` that is passed
        // as a pointer and not looked at. The part is fresh, its sizes set before memory is taken.
        let avr = unsafe {
            let logger = std::mem::transmute::<Option<Logger>, avr_logger_p>(Some(on_log));
            avr_global_logger_set(logger);
            let avr = NonNull::new(avr_make_mcu_by_name(c"atmega328p".as_ptr()))
                .expect("simavr knows an ATmega328P");
            let part = &mut *avr.as_ptr();
            (part.init, part.reset) = (None, None);
            part.flashend = geometry.flash_end;
            part.ramend = geometry.ram_end;
            part.ioend = geometry.ram_start - 1;
            part.e2end = 0;
            // So that ELPM has its upper address bits where they are on the parts that have them.
            part.rampz = 0x5B;
            avr_init(avr.as_ptr());
            avr
        };
        Self { avr, geometry }
    }

    /// What it makes of a case; `None` if it complains.
    pub fn run(&mut self, case: &Case) -> Option<State> {
        self.program(&case.flash());
        let data = self.data();
        data[..32].copy_from_slice(&case.state.registers);
        data[32..].copy_from_slice(&case.state.memory);
        self.set_status(case.state.status);
        self.set_pc(case.state.pc);
        let cycles = self.step()?;
        let status = self.status();
        let mut memory = self.data()[32..].to_vec();
        // It keeps the status apart, and brings its byte up to date when that is read.
        memory[0x5F - 0x20] = status;
        Some(State {
            registers: self.registers(),
            stack: self.stack(),
            memory,
            status,
            pc: self.pc(),
            cycles,
        })
    }

    /// Has a register answered for from outside.
    pub fn watch(&mut self, register: u16) {
        // SAFETY: simavr keeps the function and the number, which is not used as an address.
        unsafe {
            let avr = self.avr.as_ptr();
            avr_register_io_read(avr, register, Some(on_read), std::ptr::null_mut());
            avr_register_io_write(avr, register, Some(on_write), std::ptr::null_mut());
            if register < 0x40 {
                let number = usize::from(register) as *mut c_void;
                avr_register_io_bit_write(avr, register, Some(on_bit), number);
            }
        }
    }

    /// One instruction, which finds these values where it reads a watched register; the cycles that
    /// it took and all that it did to such registers. `None` if it complains.
    pub fn step_with(&mut self, values: impl Iterator<Item = u8>) -> Option<(u64, Vec<Touch>)> {
        PERIPHERALS.with_borrow_mut(|peripherals| {
            peripherals.values = values.collect();
            peripherals.touched.clear();
        });
        let cycles = self.step()?;
        let touched = PERIPHERALS.with_borrow_mut(|p| std::mem::take(&mut p.touched));
        Some((cycles, touched))
    }

    /// The cycles of the instruction that comes next; `None` if it complains.
    fn step(&mut self) -> Option<u64> {
        // SAFETY: the part was set up by `new`, and nothing else refers to it.
        unsafe {
            let avr = self.avr.as_ptr();
            (*avr).cycle = 0;
            (*avr).run_cycle_count = 1;
            (*avr).interrupt_state = 0;
            (*avr).state = simavr_ffi::cpu_Running as c_int;
            COMPLAINED.set(false);
            (*avr).pc = avr_run_one(avr);
            let crashed = (*avr).state == simavr_ffi::cpu_Crashed as c_int;
            (!COMPLAINED.get() && !crashed).then_some((*avr).cycle)
        }
    }

    /// Pushes the program counter, clears the I flag and goes to a byte address.
    pub fn interrupt(&mut self, vector: u32) {
        let stack = usize::from(self.stack());
        let [low, high] = ((self.pc() / 2) as u16).to_le_bytes();
        let data = self.data();
        (data[stack], data[stack - 1]) = (low, high);
        [data[0x5D], data[0x5E]] = (stack as u16 - 2).to_le_bytes();
        self.set_status(self.status() & 0x7F);
        self.set_pc(vector);
    }

    /// As any reset leaves it.
    pub fn reset(&mut self) {
        let Geometry {
            ram_start, ram_end, ..
        } = self.geometry;
        let data = self.data();
        data[0x20..usize::from(ram_start)].fill(0);
        [data[0x5D], data[0x5E]] = ram_end.to_le_bytes();
        self.set_status(0);
        self.set_pc(0);
    }

    pub fn program(&mut self, image: &[u8]) {
        let length = self.geometry.flash_end as usize + 1;
        // SAFETY: the flash has the size that `new` gave it.
        let flash = unsafe { std::slice::from_raw_parts_mut((*self.avr.as_ptr()).flash, length) };
        flash.fill(0xFF);
        flash[..image.len()].copy_from_slice(image);
    }

    /// Working registers, I/O registers and RAM.
    pub fn data(&mut self) -> &mut [u8] {
        let length = usize::from(self.geometry.ram_end) + 1;
        // SAFETY: the memory has the size that `new` gave it.
        unsafe { std::slice::from_raw_parts_mut((*self.avr.as_ptr()).data, length) }
    }

    pub fn registers(&mut self) -> [u8; 32] {
        self.data()[..32].try_into().expect("32 registers")
    }

    pub fn stack(&mut self) -> u16 {
        let data = self.data();
        u16::from_le_bytes([data[0x5D], data[0x5E]])
    }

    pub fn status(&self) -> u8 {
        // SAFETY: the part was set up by `new`.
        let sreg = unsafe { (*self.avr.as_ptr()).sreg };
        sreg.iter().rev().fold(0, |status, bit| status << 1 | bit)
    }

    pub fn set_status(&mut self, status: u8) {
        // SAFETY: the part was set up by `new`.
        unsafe {
            (*self.avr.as_ptr()).sreg = std::array::from_fn(|bit| status >> bit & 1);
        }
    }

    /// In bytes.
    pub fn pc(&self) -> u32 {
        // SAFETY: the part was set up by `new`.
        unsafe { (*self.avr.as_ptr()).pc }
    }

    fn set_pc(&mut self, address: u32) {
        // SAFETY: the part was set up by `new`.
        unsafe { (*self.avr.as_ptr()).pc = address }
    }
}
