//! How much faster than real time a chip is simulated: four dithered channels at 8 MHz, every
//! period of every channel reconstructed, on one core. `cargo bench --bench simulator`.

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use duskloom::units::Hertz;
use duskloom::verify::machine::{Machine, Watch};

const CLOCK: Hertz = Hertz(8e6);
const SECONDS: u64 = 60;

fn main() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let elf = folder.path().join("dither.elf");
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/machine/dither.S");
    let status = Command::new("avr-gcc")
        .args(["-mmcu=attiny2313a", "-nostartfiles", "-DSTART_LAG=1"])
        .arg(source)
        .arg("-o")
        .arg(&elf)
        .status()
        .expect("avr-gcc (Debian package gcc-avr) runs");
    assert!(status.success());

    for (what, watch) in [
        (
            "every period and edge recorded",
            Watch {
                edges: true,
                periods: true,
            },
        ),
        (
            "every period recorded",
            Watch {
                edges: false,
                periods: true,
            },
        ),
        ("totals only", Watch::default()),
    ] {
        let mut machine = Machine::load(&elf, "attiny2313a", CLOCK).expect("the fixture loads");
        for pin in ["PB2", "PD5", "PB3", "PB4"] {
            machine.watch(pin.parse().expect("a pin"), watch);
        }
        let start = Instant::now();
        let mut recorded = 0;
        for _ in 0..SECONDS * 10 {
            machine
                .run_for(CLOCK.0 as u64 / 10)
                .expect("the fixture runs");
            recorded += machine.take_periods().len() + machine.take_edges().len();
        }
        let elapsed = start.elapsed().as_secs_f64();
        let meters = machine.meters();
        println!(
            "{what}: {:.1} times real time ({recorded} records, {:.1} million instructions/s, \
             {:.0} % asleep)",
            SECONDS as f64 / elapsed,
            meters.instructions as f64 / elapsed / 1e6,
            100.0 * meters.asleep as f64 / (SECONDS as f64 * CLOCK.0),
        );
    }
}
