//! How long reading takes: patterns of a thousand, ten thousand and a hundred thousand steps, and
//! hostile files. `cargo bench --bench spec` prints one line each.

use std::cell::Cell;
use std::path::Path;
use std::time::Instant;

use duskloom::spec;

const HEAD: &str = "chip: attiny2313a\nchannels: [quay, houses, boats, tower]\npatterns:\n  a:\n";
const STEP: &str = "    - {to: {tower: 100 %, rest: 10 %}, over: 3 s, ease: soft}\n";

/// Reads a text once and prints how it went.
fn measure(name: &str, text: String) {
    let bytes = text.len();
    let text = Cell::new(text.into_bytes());
    let open = |_: &Path| Ok(text.take());
    let start = Instant::now();
    let outcome = match spec::read_with(Path::new("bench.yaml"), &open) {
        Ok(project) => format!("{} pattern", project.patterns.len()),
        Err(report) => report.diagnostics[0].code.to_string(),
    };
    println!(
        "{name:<24} {bytes:>9} bytes {:>9.1?}  {outcome}",
        start.elapsed()
    );
}

fn main() {
    for steps in [1_000, 10_000, 100_000] {
        measure(
            &format!("{steps} steps"),
            format!("{HEAD}{}", STEP.repeat(steps)),
        );
    }
    const BIG: usize = 15 << 20;
    let many = |item: &str| item.repeat(BIG / item.len());
    measure("brackets", format!("a: {}", "[".repeat(BIG)));
    measure("a list in brackets", format!("a: [{}]", many("{a: b}, ")));
    measure(
        "a list of lines",
        format!("a:\n{}", many("- a: b\n  c: d\n")),
    );
    measure("a comment", format!("# {}", "x".repeat(BIG)));
    let laughs: String = (1..20)
        .map(|n| {
            format!(
                "a{n}: &a{n} [{}]\n",
                vec![format!("*a{}", n - 1); 10].join(", ")
            )
        })
        .collect();
    measure(
        "aliases of aliases",
        format!("a0: &a0 [x, x, x, x, x]\n{laughs}"),
    );
}
