//! Where the demos are, and how they are read.

use std::path::{Path, PathBuf};

use duskloom::design::Design;
use duskloom::diagnostic::{self, Report};
use duskloom::spec;

/// The top folder of the repository.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The project files, by name, relative to the top folder.
pub fn demos() -> Vec<PathBuf> {
    yaml_files("patterns")
}

/// The libraries that they share.
pub fn libraries() -> Vec<PathBuf> {
    yaml_files("patterns/library")
}

fn yaml_files(folder: &str) -> Vec<PathBuf> {
    let entries = root().join(folder).read_dir().expect("the folder is there");
    let mut files: Vec<PathBuf> = entries
        .map(|entry| Path::new(folder).join(entry.expect("an entry").file_name()))
        .filter(|path| {
            path.extension()
                .is_some_and(|extension| extension == "yaml")
        })
        .collect();
    files.sort();
    files
}

/// A demo taken through all stages.
pub fn design(demo: &Path) -> Design {
    let project = spec::read(&root().join(demo)).unwrap_or_else(|report| complain(&report));
    compile(project)
}

/// A project that is not on disk, but whose libraries are; their paths start at the top folder.
pub fn design_of(text: &str) -> Design {
    let path = root().join("test.yaml");
    let open = |asked: &Path| {
        if asked == path {
            Ok(text.as_bytes().to_vec())
        } else {
            std::fs::read(asked)
        }
    };
    compile(spec::read_with(&path, &open).unwrap_or_else(|report| complain(&report)))
}

fn compile(project: spec::Project) -> Design {
    let sources = project.sources.clone();
    Design::new(project).unwrap_or_else(|errors| {
        let mut report = Report::new(sources);
        for error in errors {
            report.push(error);
        }
        complain(&report)
    })
}

fn complain(report: &Report) -> ! {
    panic!("{}", diagnostic::render(report, false))
}
