fn main() {
    let a: Vec<String> = std::env::args().collect();
    let p = duskloom::spec::read(std::path::Path::new(&a[1])).unwrap_or_else(|r| {
        eprintln!("{}", duskloom::diagnostic::render(&r, false));
        std::process::exit(1)
    });
    let d = duskloom::design::Design::new(p).unwrap_or_else(|e| {
        eprintln!("{e:#?}");
        std::process::exit(1)
    });
    let files = if a.get(3).is_some_and(|l| l == "rust") {
        duskloom::emit::rust::firmware(&d)
    } else {
        duskloom::emit::firmware(&d)
    };
    for f in files {
        let path = std::path::Path::new(&a[2]).join(f.path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, f.text).unwrap();
    }
}
