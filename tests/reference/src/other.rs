//! simavr's core, with none of its peripherals.

use std::cell::Cell;
use std::ffi::{c_char, c_int, c_void};
use std::ptr::NonNull;

use simavr_ffi::{avr_global_logger_set, avr_init, avr_logger_p, avr_make_mcu_by_name, avr_t};

use crate::state::{Case, GEOMETRY, State};

unsafe extern "C" {
    /// Runs one instruction and returns the next program counter (`sim_core.h`).
    fn avr_run_one(avr: *mut avr_t) -> u32;
}

thread_local! {
    /// Set when it logs an error or a warning: a wild address, an unknown opcode.
    static COMPLAINED: Cell<bool> = const { Cell::new(false) };
}

type Logger = unsafe extern "C" fn(*mut avr_t, c_int, *const c_char, *mut c_void);

unsafe extern "C" fn on_log(_: *mut avr_t, level: c_int, _: *const c_char, _: *mut c_void) {
    if level <= simavr_ffi::LOG_WARNING as c_int {
        COMPLAINED.set(true);
    }
}

pub struct Other(NonNull<avr_t>);

impl Other {
    pub fn new() -> Self {
        // SAFETY: of the logger only the last parameter's type differs, a `va_list` that is passed
        // as a pointer and not looked at. The part is fresh, its sizes set before memory is taken.
        unsafe {
            let logger = std::mem::transmute::<Option<Logger>, avr_logger_p>(Some(on_log));
            avr_global_logger_set(logger);
            let avr = NonNull::new(avr_make_mcu_by_name(c"atmega328p".as_ptr()))
                .expect("simavr knows an ATmega328P");
            let part = &mut *avr.as_ptr();
            (part.init, part.reset) = (None, None);
            part.flashend = GEOMETRY.flash_end;
            part.ramend = GEOMETRY.ram_end;
            part.ioend = GEOMETRY.ram_start - 1;
            part.e2end = 0;
            // So that ELPM has its upper address bits where they are on the parts that have them.
            part.rampz = 0x5B;
            avr_init(avr.as_ptr());
            Self(avr)
        }
    }

    /// What it makes of a case; `None` if it complains.
    pub fn run(&mut self, case: &Case) -> Option<State> {
        let flash = case.flash();
        // SAFETY: the memories have the sizes given above, and nothing else refers to them.
        unsafe {
            let avr = self.0.as_ptr();
            std::ptr::copy_nonoverlapping(flash.as_ptr(), (*avr).flash, flash.len());
            let data = std::slice::from_raw_parts_mut((*avr).data, 0x200);
            data[..32].copy_from_slice(&case.state.registers);
            data[32..].copy_from_slice(&case.state.memory);
            (*avr).sreg = std::array::from_fn(|bit| case.state.status >> bit & 1);
            (*avr).pc = case.state.pc;
            (*avr).cycle = 0;
            (*avr).run_cycle_count = 1;
            (*avr).interrupt_state = 0;
            (*avr).state = simavr_ffi::cpu_Running as c_int;
            COMPLAINED.set(false);
            let pc = avr_run_one(avr);
            if COMPLAINED.get() || (*avr).state == simavr_ffi::cpu_Crashed as c_int {
                return None;
            }
            let sreg = (*avr).sreg;
            let status = sreg.iter().rev().fold(0, |status, bit| status << 1 | bit);
            let mut memory = data[32..].to_vec();
            // It keeps the status apart, and brings its byte up to date when that is read.
            memory[0x5F - 0x20] = status;
            Some(State {
                registers: data[..32].try_into().expect("32 registers"),
                stack: u16::from_le_bytes([data[0x5D], data[0x5E]]),
                memory,
                status,
                pc,
                cycles: (*avr).cycle,
            })
        }
    }
}
