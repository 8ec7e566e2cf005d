//! A linked AVR firmware, as its ELF file tells it: memory images, symbols and sizes.

use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};

use object::elf::{EM_AVR, PT_LOAD};
use object::read::elf::{ElfFile32, FileHeader, ProgramHeader};
use object::{Object, ObjectSection, ObjectSymbol, SectionKind};

use crate::units::Bytes;

/// Where avr-binutils places each memory in the one address space of an ELF file
/// (`bfd/elf32-avr.h` and the linker scripts `avr*.x` of GNU binutils).
const DATA_SPACE: u64 = 0x80_0000;
const EEPROM_SPACE: u64 = 0x81_0000;
const FUSE_SPACE: u64 = 0x82_0000;

/// The bits of the ELF header's flags that name the instruction set (`EF_AVR_MACH`).
const MACHINE_FLAGS: u32 = 0x7F;

/// A firmware ready to be put into a chip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Firmware {
    /// The program memory from address 0, up to the last byte used.
    pub flash: Vec<u8>,
    /// The EEPROM from address 0 as the firmware wants it programmed; empty if it does not care.
    pub eeprom: Vec<u8>,
    /// Instruction set: 25 for most tinies, 4 for megas up to 8 KB, 5 for larger ones.
    pub instruction_set: u32,
    /// Flash taken: code, constants and the initial values of variables.
    pub flash_use: Bytes,
    /// RAM taken by variables, without the stack.
    pub ram_use: Bytes,
    symbols: BTreeMap<String, u32>,
}

impl Firmware {
    /// Reads a linked ELF file.
    pub fn read(path: &Path) -> Result<Self, FirmwareError> {
        let fault = |reason: String| FirmwareError {
            path: path.to_path_buf(),
            reason,
        };
        let bytes = std::fs::read(path).map_err(|e| fault(e.to_string()))?;
        Self::parse(&bytes).map_err(fault)
    }

    fn parse(bytes: &[u8]) -> Result<Self, String> {
        let elf = ElfFile32::<object::Endianness>::parse(bytes).map_err(|e| e.to_string())?;
        let (endian, header) = (elf.endian(), elf.elf_header());
        if header.e_machine(endian) != EM_AVR {
            return Err("it is not built for an AVR".to_string());
        }
        let mut firmware = Self {
            flash: Vec::new(),
            eeprom: Vec::new(),
            instruction_set: header.e_flags(endian).0 & MACHINE_FLAGS,
            flash_use: Bytes(0),
            ram_use: Bytes(0),
            symbols: BTreeMap::new(),
        };
        for segment in elf.elf_program_headers() {
            if segment.p_type(endian) != PT_LOAD {
                continue;
            }
            let image = segment
                .data(endian, bytes)
                .map_err(|_| "a segment is cut off")?;
            match u64::from(segment.p_paddr(endian)) {
                at if at < DATA_SPACE => place(&mut firmware.flash, at, image),
                at if (EEPROM_SPACE..FUSE_SPACE).contains(&at) => {
                    place(&mut firmware.eeprom, at - EEPROM_SPACE, image)
                }
                _ => {}
            }
        }
        for section in elf.sections() {
            let in_ram = (DATA_SPACE..EEPROM_SPACE).contains(&section.address());
            if in_ram
                && matches!(
                    section.kind(),
                    SectionKind::Data | SectionKind::UninitializedData
                )
            {
                firmware.ram_use.0 += section.size() as u32;
            }
        }
        firmware.flash_use = Bytes(firmware.flash.len() as u32);
        firmware.symbols = elf
            .symbols()
            .filter_map(|s| Some((s.name().ok()?.to_string(), s.address() as u32)))
            .filter(|(name, _)| !name.is_empty())
            .collect();
        Ok(firmware)
    }

    /// The value of a symbol: for code its byte address in flash, for a variable its address in the
    /// data space, for an absolute symbol its value.
    pub fn symbol(&self, name: &str) -> Option<u32> {
        let value = *self.symbols.get(name)?;
        let in_data_space = (DATA_SPACE as u32..EEPROM_SPACE as u32).contains(&value);
        Some(if in_data_space {
            value - DATA_SPACE as u32
        } else {
            value
        })
    }
}

/// Puts `image` at `at`; what lies between is erased memory.
fn place(memory: &mut Vec<u8>, at: u64, image: &[u8]) {
    let (start, end) = (at as usize, at as usize + image.len());
    if memory.len() < end {
        memory.resize(end, 0xFF);
    }
    memory[start..end].copy_from_slice(image);
}

/// A file that could not be read as AVR firmware.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FirmwareError {
    pub path: PathBuf,
    pub reason: String,
}

impl fmt::Display for FirmwareError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "cannot read {} as AVR firmware: {}",
            self.path.display(),
            self.reason
        )
    }
}

impl std::error::Error for FirmwareError {}
