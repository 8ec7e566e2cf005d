//! Who asks for an interrupt, and who is first.

use super::devices::Devices;
use super::moment::Moment;

/// What asks for an interrupt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    Timer { index: usize, flag: u8 },
    EepromReady,
    Watchdog,
    External,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Request {
    pub vector: u8,
    pub source: Source,
    /// When it was first asked for, where that is known.
    pub since: Option<Moment>,
}

impl Devices {
    /// The interrupt with the lowest vector among those asked for.
    #[inline]
    pub(super) fn pending(&self) -> Option<Request> {
        self.pending
    }

    /// The processor begins to serve a request: its flag clears.
    pub(super) fn acknowledge(&mut self, request: Request) {
        match request.source {
            Source::Timer { index, flag } => {
                self.timers[index].counter.flags &= !flag;
                return self.refresh_timers();
            }
            Source::EepromReady => {}
            Source::Watchdog => self.watchdog.acknowledge(),
            Source::External => self.external.acknowledge(request.vector),
        }
        self.refresh();
    }

    /// Works out anew what is asked for and what comes next.
    pub(super) fn refresh(&mut self) {
        let mut pending = None;
        let mut ask = |vector, source| {
            let request = Request {
                vector,
                source,
                since: None,
            };
            pending = first(pending, request);
        };
        if let Some(vector) = self.eeprom_vector.filter(|_| self.eeprom.interrupts()) {
            ask(vector, Source::EepromReady);
        }
        if let Some(vector) = self.watchdog_vector.filter(|_| self.watchdog.interrupts()) {
            ask(vector, Source::Watchdog);
        }
        for vector in self.external.requests(&self.pins, &self.control) {
            ask(vector, Source::External);
        }
        self.others_pending = pending;
        self.others_next = self.eeprom.next_event().min(self.watchdog.next_event());
        self.refresh_timers();
    }

    /// As [`refresh`](Self::refresh), where nothing but timers has moved.
    #[inline]
    pub(super) fn refresh_timers(&mut self) {
        let (mut pending, mut next) = (self.others_pending, self.others_next);
        for (index, timer) in self.timers.iter().enumerate() {
            if self.stopped.is_none() {
                next = next.min(timer.counter.next_flag());
            }
            let raised = timer.counter.flags & timer.counter.enabled;
            if raised == 0 {
                continue;
            }
            for &(flag, vector) in timer.vectors.iter().filter(|(flag, _)| raised & flag != 0) {
                let request = Request {
                    vector,
                    source: Source::Timer { index, flag },
                    since: Some(timer.counter.raised_at[flag.trailing_zeros() as usize]),
                };
                pending = first(pending, request);
            }
        }
        (self.pending, self.next) = (pending, next);
        self.attention = if pending.is_some() { Moment(0) } else { next };
    }
}

/// The one of two requests that is served first: the lower vector has priority.
fn first(known: Option<Request>, request: Request) -> Option<Request> {
    match known {
        Some(known) if known.vector <= request.vector => Some(known),
        _ => Some(request),
    }
}
