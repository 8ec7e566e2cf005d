//! The instruction core.

use duskloom::verify::machine::Moment;

use crate::machine::support::{machine, with_globals};

/// AVR Instruction Set Manual, cycles for AVRe and AVRe+ cores.
#[test_with::executable("avr-gcc")]
#[test]
fn instructions_take_their_documented_cycles() {
    let expected: &[(&str, u64)] = &[
        ("add", 1),
        ("movw", 1),
        ("adiw", 2),
        ("sbiw", 2),
        ("ldi", 1),
        ("ld_x", 2),
        ("ld_x_up", 2),
        ("ld_x_down", 2),
        ("ldd", 2),
        ("st_x", 2),
        ("std", 2),
        ("lds", 2),
        ("sts", 2),
        ("in", 1),
        ("out", 1),
        ("push", 2),
        ("pop", 2),
        ("sbi", 2),
        ("cbi", 2),
        ("sbis_no_skip", 1),
        ("nop", 1),
        ("sbic_skip", 2),
        ("sbrs_no_skip", 1),
        ("sbrc_skip", 2),
        ("sbrc_skip_two", 3),
        ("cpse_skip", 2),
        ("cpse_no_skip", 1),
        ("brne_taken", 1),
        ("brne", 2),
        ("breq_not_taken", 1),
        ("rjmp", 2),
        ("rcall", 3 + 4),
        ("icall", 3 + 4),
        ("lpm_z", 3),
        ("lpm_z_up", 3),
        ("swap", 1),
        ("bst", 1),
        ("wdr", 1),
        ("sleep", 1),
    ];
    for mcu in ["attiny2313a", "atmega328p"] {
        let mut machine = machine("cycles.S", mcu, &[]);
        let place = |name: &str| machine.symbol(&format!("at_{name}")).unwrap();
        let places: Vec<u32> = expected.iter().map(|(name, _)| place(name)).collect();
        let ends = places
            .iter()
            .skip(1)
            .copied()
            .chain([place("end")])
            .collect::<Vec<_>>();
        assert!(machine.run_to(places[0], Moment(10_000)).unwrap());
        for ((name, cycles), end) in expected.iter().zip(ends) {
            let start = machine.now();
            assert!(machine.run_to(end, Moment(10_000)).unwrap(), "{name}");
            assert_eq!(machine.now() - start, *cycles, "{mcu}: {name}");
        }
    }
}

#[test_with::executable("avr-gcc")]
#[test]
fn the_deepest_stack_is_measured() {
    let globals = "__attribute__((noinline)) void deep(unsigned char n) \
                   { if (n) deep(n - 1); asm volatile(\"\"); }";
    let mut shallow = with_globals("attiny2313a", globals, "deep(1)", "");
    let mut deep = with_globals("attiny2313a", globals, "deep(11)", "");
    shallow.run_for(2_000).unwrap();
    deep.run_for(2_000).unwrap();
    let per_call = (deep.deepest_stack().0 - shallow.deepest_stack().0) / 10;
    assert!(per_call >= 2 && shallow.deepest_stack().0 >= 2 + 2 * per_call);
}
