use duskloom::verify::{bench::*, *};
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let p = duskloom::spec::read(std::path::Path::new(&a[1])).ok().unwrap();
    let d = duskloom::design::Design::new(p).ok().unwrap();
    let f = compile(&d).unwrap();
    let s = Setup::new(&d, f).unwrap();
    let scene: usize = a[2].parse().unwrap();
    let mut b = s.power_up(&Start { scene: Some(scene), ..Start::default() }).unwrap();
    let r = b.next();
    println!("{r:?}");
    let t = s.firmware.symbol("tracks").unwrap() as u16;
    let n = d.firmware.track.size.0 as u16;
    for f in &d.firmware.track.fields { print!("{}@{} ", f.name, f.offset); }
    println!();
    for c in 0..d.plan.channels.len() as u16 {
        println!("{:?}", (0..n).map(|i| b.machine.memory(t + c * n + i)).collect::<Vec<_>>());
    }
    println!("{:#?}", b.model);
}
