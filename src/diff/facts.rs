//! What was decided, stated in a line each, so that it can be compared.

use crate::design::Design;
use crate::spec::{
    ButtonTo, ClockSource, Does, Flashing, Once, PatternId, Project, Sets, Show, Starts,
};
use crate::target::PortPin;
use crate::units::{Bytes, Hertz, Time};

use super::Fact;
use super::names::Names;

/// What the light does by itself, and what the button does to it.
pub(super) fn conduct(old: &Design, new: &Design, names: &Names) -> Vec<Fact> {
    changed(&conduct_of(old, names), &conduct_of(new, &Names::default()))
}

/// What the plan came to.
pub(super) fn plan(old: &Design, new: &Design, names: &Names) -> Vec<Fact> {
    changed(&plan_of(old, names), &plan_of(new, &Names::default()))
}

type Stated = Vec<(String, String)>;

/// What is stated differently, in the new order; what is no longer stated comes last.
fn changed(old: &Stated, new: &Stated) -> Vec<Fact> {
    let find = |facts: &Stated, what: &str| {
        let found = facts.iter().find(|(known, _)| known == what);
        found.map_or_else(String::new, |(_, is)| is.clone())
    };
    let gone = old
        .iter()
        .filter(|(what, _)| new.iter().all(|(known, _)| known != what));
    new.iter()
        .chain(gone)
        .map(|(what, _)| Fact {
            what: what.clone(),
            old: find(old, what),
            new: find(new, what),
        })
        .filter(|fact| fact.old != fact.new)
        .collect()
}

fn conduct_of(design: &Design, names: &Names) -> Stated {
    let project = &design.project;
    let mut facts = Stated::new();
    let mut say = |what: &str, is: String| facts.push((what.to_string(), is));
    for (at, one) in project.shows.iter().enumerate() {
        say(
            &format!("show {}", at + 1),
            show(project, &one.value, names),
        );
    }
    if project.change_fade.value > Time(0) {
        say(
            "fade between patterns",
            project.change_fade.value.to_string(),
        );
    }
    if let Some(button) = &project.button {
        if project.button_to_supply() {
            say("button connects to", "supply".to_string());
        }
        say("a press counts after", button.debounce.value.to_string());
        say("a press is a hold after", button.hold.value.to_string());
    }
    if let Some(start) = &project.start {
        say("when power comes, once", once(design, 0, start, names));
    }
    facts.extend(closing(design, names));
    facts.extend(measured(project));
    let mut say = |what: &str, is: String| facts.push((what.to_string(), is));
    if let Some(selector) = &project.selector {
        let what = |what: &str| format!("{} {what}", selector.name.value);
        say(
            &what("chooses"),
            "show 1 while open, show 2 while closed".to_string(),
        );
        say(&what("counts after"), selector.debounce.value.to_string());
        if selector.to == ButtonTo::Supply {
            say(&what("connects to"), "supply".to_string());
        }
    }
    if let Some(standby) = &project.standby {
        say("goes off when held for", standby.value.hold.to_string());
        let starts = match standby.value.starts {
            Starts::Lit => "on",
            Starts::Dark => "off",
        };
        say("when power comes it is", starts.to_string());
    }
    if let Some(evening) = &project.evening {
        say("an evening lasts", evening.value.on.to_string());
        if project.sensor.is_none() {
            say("from one to the next", evening.value.every.to_string());
        }
    }
    if let Some(memory) = &project.memory {
        say("remembered after", memory.value.after.to_string());
    }
    facts
}

/// What contacts and further buttons do.
fn closing(design: &Design, names: &Names) -> Stated {
    let project = &design.project;
    let mut facts = Stated::new();
    let mut say = |what: &str, is: String| facts.push((what.to_string(), is));
    let mut ranges = usize::from(project.start.is_some())..;
    for contact in &project.contacts {
        let what = |what: &str| format!("{} {what}", contact.name.value);
        match &contact.does {
            Does::Plays(plays) => {
                let range = ranges.next().unwrap_or_default();
                say(&what("plays once"), once(design, range, plays, names));
            }
            Does::Taps(tap) => say(
                &format!("a tap on {}", contact.name.value),
                tap.does().to_string(),
            ),
        }
        say(&what("counts after"), contact.debounce.value.to_string());
        if contact.to == ButtonTo::Supply {
            say(&what("connects to"), "supply".to_string());
        }
    }
    if let Some(dimmer) = design.firmware.dimmer {
        say("steps of brightness", dimmer.steps().to_string());
        say(
            "held, a step every",
            project.brightness.repeat.value.to_string(),
        );
    }
    facts
}

/// What knob, sensor and guard do.
fn measured(project: &Project) -> Stated {
    let mut facts = Stated::new();
    let mut say = |what: &str, is: String| facts.push((what.to_string(), is));
    if let Some(sensor) = &project.sensor {
        let name = &sensor.name.value;
        say(
            &format!("{name}: it comes on below"),
            sensor.dark.value.to_string(),
        );
        say(
            &format!("{name}: it goes off above"),
            sensor.bright.value.to_string(),
        );
        say(
            &format!("{name}: once so for"),
            sensor.steady.value.to_string(),
        );
    }
    if let Some(knob) = &project.knob {
        let sets = match knob.sets {
            Sets::Brightness => "the brightness of all light",
            Sets::Speed => "how fast patterns go",
        };
        say(&format!("{} sets", knob.name.value), sets.to_string());
    }
    if let (Some(guard), Some(battery)) = (&project.guard, &project.electrics.battery) {
        let dims = format!("{} a cell, to {}", guard.dim, guard.to);
        say("on low cells it dims at", dims);
        say(
            "on spent cells it goes at",
            format!("{} a cell", battery.cut_off),
        );
        if let Some(reference) = guard.reference {
            say("the chip's reference measures", reference.to_string());
        }
    }
    facts
}

/// What is played once, by its place in the score, and for how long.
fn once(design: &Design, range: usize, once: &Once, called: &Names) -> String {
    let pattern = design.project.pattern(once.pattern.value);
    let ticks = design.deck.image.score.once[range].ticks;
    let seconds = f64::from(ticks.0) * design.grid.tick_seconds();
    let time = Time((seconds * 1e3).round() as u64 * 1_000_000);
    format!("{}, for {time}", called.pattern(&pattern.name.value))
}

fn show(project: &Project, show: &Show, called: &Names) -> String {
    let names = |patterns: &[PatternId]| {
        let names = patterns
            .iter()
            .map(|&id| called.pattern(&project.pattern(id).name.value));
        names.collect::<Vec<_>>().join(", ")
    };
    match show {
        Show::Roam { dwell, patterns } => {
            format!("roam, {} to {}: {}", dwell.0, dwell.1, names(patterns))
        }
        Show::Steady { levels } => format!("steady, {levels} levels"),
        Show::Solo { patterns } => format!("solo: {}", names(patterns)),
    }
}

fn plan_of(design: &Design, names: &Names) -> Stated {
    let (project, plan) = (&design.project, &design.plan);
    let mut facts = Stated::new();
    let mut say = |what: &str, is: String| facts.push((what.to_string(), is));
    say("name", project.name.value.clone());
    say("chip", plan.chip.title.clone());
    say("clock", clock(plan.clock.frequency, plan.clock.source));
    say("least supply", plan.clock.least_supply.to_string());
    let pwm = plan.drive.pwm();
    say("PWM", format!("{}, {}", pwm.shape.word(), pwm.frequency));
    say("depth", format!("{} bits", 8 + pwm.extra_bits));
    say("slowest component", pwm.slowest.to_string());
    let tick = Time((plan.tick.seconds() * 1e9).round() as u64);
    say("tick", tick.to_string());
    for (what, is) in crate::curve::facts(design) {
        if ["curve", "largest step", "largest error"].contains(&what) {
            say(what, is);
        }
    }
    for (channel, place) in project.channels.iter().zip(plan.drive.channels()) {
        let trim = match channel.trim.value.0 {
            full if full >= 1.0 => String::new(),
            _ => format!(", trim {}", channel.trim.value),
        };
        let active = match place.active {
            crate::spec::Active::High => "high",
            crate::spec::Active::Low => "low",
        };
        let light = match channel.light {
            Some(light) => format!(", {}", light.value),
            None => String::new(),
        };
        let is = format!(
            "{} ({}), active {active}{trim}{light}",
            place.pin,
            place.driven_by()
        );
        say(&format!("channel {}", channel.name.value), is);
    }
    for (what, is) in super::strings::stated(design) {
        say(&what, is);
    }
    if let Some(button) = &plan.button {
        say("button", pin(button));
    }
    for (contact, place) in project.contacts.iter().zip(&plan.contacts) {
        say(&contact.name.value, pin(place));
    }
    for (selector, place) in project.selector.iter().zip(&plan.selector) {
        say(&selector.name.value, pin(place));
    }
    if let Some(pump) = plan.drive.pump() {
        let [first, second] = &pump.pins;
        let is = format!("{} and {}, {}", pin(first), pin(second), pump.clock);
        say("charge pump", is);
    }
    if let Some(watchdog) = &plan.watchdog {
        say("watchdog", watchdog.time.to_string());
    }
    let word = |flashing: Flashing| match flashing {
        Flashing::Accepted => "accepted",
        Flashing::Refused => "refused",
    };
    say("flashing", word(project.flashing).to_string());
    for pattern in &project.patterns {
        if let Some(own) = pattern.flashing {
            let called = names.pattern(&pattern.name.value);
            say(&format!("flashing of {called}"), word(own).to_string());
        }
    }
    for fuse in &plan.fuses {
        say(
            &format!("{} fuse", fuse.name),
            format!("0x{:02X}", fuse.value),
        );
    }
    let image = &design.deck.image;
    say("programs", Bytes(image.bytes.len() as u32).to_string());
    facts
}

fn clock(frequency: Hertz, source: ClockSource) -> String {
    let source = match source {
        ClockSource::Internal => "internal",
        ClockSource::Crystal => "crystal",
        ClockSource::External => "external",
    };
    format!("{frequency} {source}")
}

fn pin(plan: &PortPin) -> String {
    plan.pin.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_and_goes_is_told_with_an_empty_side() {
        let stated = |facts: &[(&str, &str)]| -> Stated {
            facts
                .iter()
                .map(|(what, is)| ((*what).to_string(), (*is).to_string()))
                .collect()
        };
        let old = stated(&[("tick", "4 ms"), ("button", "PD2")]);
        let new = stated(&[("tick", "4 ms"), ("watchdog", "1 s")]);
        let told: Vec<_> = changed(&old, &new)
            .into_iter()
            .map(|fact| (fact.what, fact.old, fact.new))
            .collect();
        let text = |a: &str, b: &str, c: &str| (a.to_string(), b.to_string(), c.to_string());
        assert_eq!(
            told,
            [text("watchdog", "", "1 s"), text("button", "PD2", "")]
        );
    }
}
