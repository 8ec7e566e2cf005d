//! While files are written, signals that would end us wait, so that nothing is left half done.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Signals wait while this lives; one that came has its effect when it goes.
pub(super) struct Calm {
    /// The number of the last signal; 0: none came.
    came: Arc<AtomicUsize>,
}

impl Calm {
    pub(super) fn new() -> Self {
        let came = Arc::default();
        listen(&came);
        Self { came }
    }
}

impl Drop for Calm {
    fn drop(&mut self) {
        obey(self.came.swap(0, Ordering::Relaxed));
    }
}

#[cfg(unix)]
fn listen(came: &Arc<AtomicUsize>) {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    for signal in [SIGHUP, SIGINT, SIGTERM] {
        // Where that is not possible, a signal ends us at once, as ever.
        let _ = signal_hook::flag::register_usize(signal, Arc::clone(came), signal as usize);
    }
}

#[cfg(unix)]
fn obey(signal: usize) {
    if signal != 0 {
        let _ = signal_hook::low_level::emulate_default_handler(signal as i32);
    }
}

#[cfg(not(unix))]
fn listen(_: &Arc<AtomicUsize>) {}

#[cfg(not(unix))]
fn obey(_: usize) {}
