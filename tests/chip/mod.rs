//! The chip data against what others say: avr-libc's headers, the vendor's device files, and tables
//! typed from simulators, board files and drawing libraries.

mod data;
mod device_files;
mod headers;
mod macros;
mod second_sources;
