use duskloom::score::*;
use duskloom::units::*;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let p = duskloom::spec::read(std::path::Path::new(&a[1]))
        .ok()
        .unwrap();
    let d = duskloom::design::Design::new(p).ok().unwrap();
    let s = &d.deck.image.score;
    let f = &d.deck.image.format;
    println!(
        "{f:?} bytes {} before {:?}",
        d.deck.image.bytes.len(),
        duskloom::budget::before_tables(&d.plan)
    );
    for p in &s.programs {
        println!(
            "{}: {}",
            p.name,
            p.lines.iter().map(|l| f.size(&l.op).0).sum::<u32>()
        );
        for l in &p.lines {
            if l.from.is_none() {
                println!("   {:?}", l)
            }
        }
    }
}
