//! Fits a project to its chip: from which clock it runs, which drive makes its light, how long a tick is, and
//! what is programmed into the fuses.

mod latch;
mod pins;
mod tick;
mod times;

use crate::chip::{self, BrownOut, Chip, Package};
use crate::diagnostic::{Diagnostic, Notes, short};
use crate::drive::{Drive, Handler};
use crate::spec::Project;
use crate::target::{
    self, Claims, ClockPlan, ConverterPlan, FusePlan, Measured, PortPin, PowerDown, Target,
    WatchdogPlan, Write,
};
use crate::units::{Bytes, Seconds, Time};

pub use latch::{HighPin, Latch};
pub use tick::{MOST_OVERFLOWS, Tick};

/// A project fitted to its chip.
#[derive(Debug, Clone)]
pub struct Plan {
    pub chip: &'static Chip,
    /// The one that is wired.
    pub package: &'static Package,
    pub clock: ClockPlan,
    pub drive: Drive,
    pub tick: Tick,
    pub button: Option<PortPin>,
    /// In the order of the project.
    pub contacts: Vec<PortPin>,
    /// The switch that chooses between shows.
    pub selector: Option<PortPin>,
    /// `None`: no voltage is measured.
    pub converter: Option<ConverterPlan>,
    /// What ports put out before anything runs, by port.
    pub latches: Vec<Latch>,
    pub watchdog: Option<WatchdogPlan>,
    /// How it sleeps in standby and at night. `None`: it is never dark while it has power.
    pub power_down: Option<PowerDown>,
    /// `None`: the detector is off.
    pub brown_out: Option<&'static BrownOut>,
    /// The shortest bit of a programmer's clock that suits the chip as delivered and as planned.
    pub bit_time: Time,
    /// Low byte first. What to program, and why.
    pub fuses: Vec<FusePlan>,
    /// What the person should know although it can be built.
    pub cautions: Vec<Diagnostic>,
}

/// Overflows are counted in a byte.
const COUNTED: f64 = 256.0;

/// Chips with so much flash have room for what only disturbances call for.
const ROOMY: Bytes = Bytes(4096);

impl Plan {
    /// How the chip's family does things.
    pub fn target(&self) -> Target {
        Target::of(self.chip)
    }

    /// The pins that something is read from: button, contacts, switch.
    pub fn inputs(&self) -> impl Iterator<Item = &PortPin> {
        let button = self.button.iter();
        button.chain(&self.contacts).chain(&self.selector)
    }

    /// The pin at which something is measured.
    pub fn measured_at(&self, what: Measured) -> Option<&PortPin> {
        self.converter.as_ref()?.measure(what)?.pin.as_ref()
    }

    /// The pins at which a voltage is measured.
    pub fn measured(&self) -> impl Iterator<Item = &PortPin> {
        let measures = self.converter.iter().flat_map(|one| &one.measures);
        measures.filter_map(|measure| measure.pin.as_ref())
    }

    /// The interrupts that the firmware handles, by vector.
    pub fn handlers(&self) -> &[Handler] {
        self.drive.handlers()
    }

    /// What the count of overflows spans: after a longer time nobody knows how long it was.
    pub fn counted(&self) -> Seconds {
        Seconds(COUNTED * f64::from(self.drive.pwm().cycles().0) / self.clock.frequency.0)
    }

    /// All that is written into registers of the drive and of what is switched off before the light begins.
    pub fn written(&self) -> impl Iterator<Item = Write> {
        let written = self.drive.written().into_iter();
        let converter = self.converter.iter();
        let measured = converter.flat_map(|converter| converter.set_up.clone());
        written
            .cloned()
            .chain([self.target().rest()])
            .chain(measured)
    }

    /// What ends the light: nothing of it goes on, its strings are dark, and no voltage is measured.
    pub fn quiet(&self) -> Vec<Write> {
        let converter = self.converter.iter().map(|converter| converter.off.clone());
        let drive = self.drive.quiet(self.target()).into_iter();
        drive.chain(converter).collect()
    }

    /// What is written again at each tick, in case that a disturbance changes it: all that makes the
    /// timers run and their interrupt come. Nothing on chips where every byte counts.
    pub fn refreshed(&self) -> impl Iterator<Item = &Write> {
        let roomy = self.chip.flash >= ROOMY;
        let lasting = self.drive.lasting().into_iter();
        lasting.filter(move |_| roomy)
    }

    /// Whether any fuse of a delivered chip must change.
    pub fn needs_fuses(&self) -> bool {
        self.fuses.iter().any(FusePlan::must_change)
    }

    /// Those that must be programmed; all, where a delivered chip's are not certain.
    pub fn fuses_to_write(&self) -> impl Iterator<Item = &FusePlan> {
        let uncertain = self.chip.fuses_vary.is_some();
        self.fuses
            .iter()
            .filter(move |fuse| uncertain || fuse.must_change())
    }
}

/// Fits the project to its chip.
///
/// # Errors
/// All that cannot be built, with codes C001 to C0xx. Cautions come with the plan.
pub fn plan(project: &Project) -> Result<Plan, Vec<Diagnostic>> {
    plan_with_tick(project, Time(0))
}

/// The same, with a tick of `least` or more where the person asks for none.
///
/// # Errors
/// As [`plan`].
pub fn plan_with_tick(project: &Project, least: Time) -> Result<Plan, Vec<Diagnostic>> {
    let chip = find_chip(project).map_err(|diagnostic| vec![diagnostic])?;
    let target = Target::of(chip);
    let mut notes = Notes::default();
    let package = find_package(project, chip, &mut notes);

    let clock = target::clock(chip, project, &mut notes);
    let mut claims = Claims::new(chip, project, &mut notes);
    let drive = Drive::choose(target, project, clock.as_ref(), &mut claims, &mut notes);
    let watchdog = target::watchdog(target, project, &mut notes);
    let (Some(clock), Some(drive)) = (clock, drive) else {
        return Err(notes.into_errors());
    };
    let tick = tick::choose(project, &clock, drive.pwm(), least, &mut notes);
    let Some(tick) = tick.filter(|_| !notes.failed()) else {
        return Err(notes.into_errors());
    };
    if let Some(watchdog) = &watchdog {
        target::outlasts(watchdog, project, Seconds(tick.seconds()), &mut notes);
    }
    let button = claims.button.map(|pin| target.pin(pin));
    let contacts = claims.contacts.iter().flatten();
    let contacts = contacts.map(|pin| target.pin(*pin)).collect();
    let brown_out = target::brown_out(chip, project, &clock, &mut notes);
    let power_down = target::power_down(target, project, button.as_ref(), brown_out, &mut notes);
    let others = others(power_down.as_ref(), watchdog.as_ref());
    let drive = drive.among(target, others.into_iter());
    let converter = target::converter(target, project, &clock, brown_out, &claims, &mut notes);
    let fuses = target.fuses(project, &clock, brown_out, &claims, &mut notes);
    if notes.failed() {
        return Err(notes.into_errors());
    }
    let plan = Plan {
        chip,
        package,
        brown_out,
        bit_time: target.bit_time(&fuses),
        fuses,
        clock,
        drive,
        tick,
        button,
        contacts,
        selector: claims.selector.map(|pin| target.pin(pin)),
        converter,
        latches: Vec::new(),
        watchdog,
        power_down,
        cautions: notes.into_cautions(),
    };
    let latches = plan.latches(project);
    let mut drive = plan.drive.clone();
    for latch in &latches {
        drive.rest(&latch.register, latch.value);
    }
    Ok(Plan {
        latches,
        drive,
        ..plan
    })
}

/// The chip's first, where the one asked for does not exist.
fn find_package(project: &Project, chip: &'static Chip, notes: &mut Notes) -> &'static Package {
    let first = &chip.packages[0];
    let Some(wanted) = &project.package else {
        return first;
    };
    let plain = |name: &str| name.replace('-', "").to_lowercase();
    let mut all = chip.packages.iter();
    let found = all.find(|one| plain(&one.name) == plain(&wanted.value));
    if found.is_none() {
        let message = format!("there is no {} in `{}`", chip.title, short(&wanted.value));
        let names: Vec<String> = chip
            .packages
            .iter()
            .map(|one| format!("`{}`", one.name))
            .collect();
        notes.add(
            Diagnostic::error("C009", wanted.span, message)
                .label("expected a package that duskloom knows")
                .hint(format!("known is {}", names.join(" or "))),
        );
    }
    found.unwrap_or(first)
}

/// The numbers of the vectors that others than the drive use.
fn others(power_down: Option<&PowerDown>, watchdog: Option<&WatchdogPlan>) -> Vec<u8> {
    let button = power_down.and_then(|power_down| power_down.button.as_ref());
    let button = button.map(|button| button.waking.number);
    let counting = watchdog.and_then(|watchdog| watchdog.counting.as_ref());
    let counting = counting.map(|counting| counting.number);
    button.into_iter().chain(counting).collect()
}

fn find_chip(project: &Project) -> Result<&'static Chip, Diagnostic> {
    let name = &project.chip;
    chip::find(&name.value).map_err(|nearest| {
        let hint = match nearest.as_slice() {
            [] => "`duskloom chips` lists them".to_string(),
            names => {
                let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
                format!(
                    "did you mean {}? `duskloom chips` lists all",
                    names.join(" or ")
                )
            }
        };
        Diagnostic::error(
            "C001",
            name.span,
            format!("there is no chip `{}`", short(&name.value)),
        )
        .label("expected a supported chip")
        .hint(hint)
    })
}
