//! Why a command did not do what was asked.

use std::fmt;
use std::io;
use std::path::Path;
use std::process::ExitCode;

use duskloom::diagnostic::{self, Data, Report};
use duskloom::escape::shown;

/// Why a command failed.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Something is wrong with the project.
    Project(Report),
    /// Something else is.
    Other(Complaint),
    /// Something is wrong with one of two projects, so that they cannot be compared.
    Incomparable(Report),
    /// Two projects differ; the report says in what.
    Differs,
    /// Nobody reads the report any more, as in `duskloom chips | head`.
    Unread,
}

/// A failure that is not the project's.
#[derive(Debug)]
pub(crate) struct Complaint {
    cause: Cause,
    /// A sentence without a full stop.
    message: String,
    /// What to do about it.
    hint: Option<String>,
}

/// Who is at fault; decides the exit status.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Cause {
    /// A file, or a comparison.
    World,
    /// The command line.
    Usage,
    /// A tool that is not there.
    Missing,
}

impl Failure {
    /// A file cannot be used, or a check fails.
    pub(crate) fn world(message: impl Into<String>) -> Self {
        Self::other(Cause::World, message.into())
    }

    /// The command line asks for something that is not there.
    pub(crate) fn usage(message: impl Into<String>) -> Self {
        Self::other(Cause::Usage, message.into())
    }

    /// A tool that is needed is not there; says how to get it.
    pub(crate) fn missing(message: impl Into<String>) -> Self {
        Self::other(Cause::Missing, message.into())
    }

    /// A file or folder that the system refuses.
    pub(crate) fn file(what: &str, path: &Path, error: &io::Error) -> Self {
        Self::world(format!("cannot {what} {}: {error}", path.display()))
    }

    fn other(cause: Cause, message: String) -> Self {
        Self::Other(Complaint {
            cause,
            message,
            hint: None,
        })
    }

    /// What to do about it.
    pub(crate) fn hint(mut self, text: impl Into<String>) -> Self {
        if let Self::Other(complaint) = &mut self {
            complaint.hint = Some(text.into());
        }
        self
    }

    /// As data; `None`: the report has said it all.
    pub(crate) fn data(&self) -> Option<Data<'_>> {
        match self {
            Self::Unread | Self::Differs => None,
            Self::Project(report) | Self::Incomparable(report) => Some(Data::of(report)),
            Self::Other(complaint) => {
                Some(Data::bare(&complaint.message, complaint.hint.as_deref()))
            }
        }
    }

    /// What the shell is told.
    pub(crate) fn status(&self) -> ExitCode {
        ExitCode::from(match self {
            Self::Unread => 0,
            Self::Project(_) | Self::Differs => 1,
            Self::Incomparable(_) => 2,
            Self::Other(complaint) => match complaint.cause {
                Cause::World => 1,
                Cause::Usage => 2,
                Cause::Missing => 3,
            },
        })
    }
}

/// With colour; the screen takes it out where there is none. Ends with a line break unless empty.
impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unread | Self::Differs => Ok(()),
            Self::Project(report) | Self::Incomparable(report) => {
                f.write_str(&diagnostic::render(report, true))
            }
            Self::Other(complaint) => complaint.fmt(f),
        }
    }
}

impl fmt::Display for Complaint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const RED: &str = "\u{1b}[1;91m";
        const BOLD: &str = "\u{1b}[1m";
        const PLAIN: &str = "\u{1b}[0m";
        writeln!(
            f,
            "{RED}error{PLAIN}{BOLD}: {}{PLAIN}",
            shown(&self.message)
        )?;
        match self.hint.as_deref().map(shown) {
            Some(hint) => writeln!(f, "  = {BOLD}hint{PLAIN}: {hint}"),
            None => Ok(()),
        }
    }
}
