//! From what was written to what is meant: names resolved, defaults filled in, rules kept.

mod buttons;
mod duration;
mod electrics;
mod evening;
mod guard;
mod inputs;
mod patterns;
mod plain;
mod scope;
mod settings;
mod shows;
mod steps;
mod strings;
mod targets;
mod tracks;
mod transistor;

use std::path::Path;

use super::files::Loaded;
use super::project::{Flashing, Project};
use super::raw;
use super::read::sound_name;
use crate::diagnostic::{Report, Spanned};
use crate::units::Share;

/// The most channels of a project.
const CHANNELS: usize = 12;

/// The project that was meant. `None`, or a project not to be used, when the report has errors.
pub(super) fn project(path: &Path, loaded: &Loaded, report: &mut Report) -> Option<Project> {
    let raw = &loaded.project;
    let button = raw
        .button
        .as_ref()
        .map(|button| settings::button(button, report));
    let brightness = settings::brightness(raw.brightness.as_ref(), raw.span, report);
    buttons::check_least(raw, brightness.steps, brightness.levels, report);
    let pwm = settings::pwm(raw.pwm.as_ref(), raw.span, report);
    let standby = settings::standby(raw, button.as_ref(), report);
    let evening = evening::evening(raw, report);
    let memory = settings::memory(raw, standby.as_ref(), report);
    let charge_pump = raw
        .charge_pump
        .as_ref()
        .map(|pump| settings::charge_pump(pump, report));
    let watchdog = settings::watchdog(raw, report);
    let change_fade = settings::change_fade(raw, report);
    let tick = settings::tick(raw, report);

    let (channels, scope) = scope::channels(raw, report)?;
    let mut electrics = electrics::electrics(raw, &scope, report);
    let guard = guard::guard(raw, &mut electrics, report);
    let written = patterns::Written::collect(loaded, report);
    let mut resolver = patterns::Resolver {
        written: &written,
        scope: &scope,
        report,
        circles: Vec::new(),
        lowest: Share(1.0 / f64::from(brightness.levels.value.saturating_sub(1).max(1))),
        steps: 0,
    };
    let shown = shows::resolve(raw, &mut resolver);
    let inputs = inputs::resolve(raw, &shown.once, report);
    plain::check(&channels, &shown.patterns, report);
    Some(Project {
        sources: report.sources.clone(),
        name: name(raw, path),
        chip: raw.chip.0.clone()?.map(|chip| chip.0),
        package: raw
            .package
            .clone()
            .map(|package| package.map(|name| name.0)),
        clock: raw.clock.map(|clock| clock.map(|clock| clock.0)),
        channels,
        brightness,
        pwm,
        tick,
        patterns: shown.patterns,
        shows: shown.shows,
        change_fade,
        button,
        contacts: inputs.contacts,
        selector: inputs.selector,
        knob: inputs.knob,
        sensor: inputs.sensor,
        start: inputs.start,
        standby,
        evening,
        memory,
        charge_pump,
        electrics,
        guard,
        flashing: raw
            .flashing
            .map_or(Flashing::Refused, |flashing| flashing.value),
        watchdog,
        cautions: Vec::new(),
        brown_out: settings::brown_out(raw),
    })
}

/// The name given, or one made of the file's.
fn name(raw: &raw::Project, path: &Path) -> Spanned<String> {
    if let Some(name) = &raw.name {
        return name.clone().map(|name| name.0);
    }
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let name = Some(sound_name(&stem)).filter(|name| !name.is_empty());
    Spanned::new(name.unwrap_or_else(|| "light".into()), raw.span)
}
