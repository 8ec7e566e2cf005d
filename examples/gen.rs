fn main() {
    let a: Vec<String> = std::env::args().collect();
    let p = duskloom::spec::read(std::path::Path::new(&a[1])).unwrap_or_else(|r| {
        eprintln!("{}", duskloom::diagnostic::render(&r, false));
        std::process::exit(1)
    });
    let src = p.sources.clone();
    let d = duskloom::design::Design::new(p).unwrap_or_else(|e| {
        eprintln!("{e:#?}");
        let _ = src;
        std::process::exit(1)
    });
    for f in duskloom::emit::firmware(&d) {
        std::fs::create_dir_all(&a[2]).unwrap();
        std::fs::write(format!("{}/{}", a[2], f.path), f.text).unwrap();
    }
}
