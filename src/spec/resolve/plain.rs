//! Channels that are only switched: what would dim them is an error.

use crate::diagnostic::{Diagnostic, Report, Span, Spanned};
use crate::spec::project::{Channel, ChannelId, Drawn, Pattern, Shape, Step};
use crate::units::Time;

/// Complains of fades, of waves that rise or fall, and of trims.
pub(super) fn check(channels: &[Channel], patterns: &[Pattern], report: &mut Report) {
    for channel in channels.iter().filter(|channel| channel.is_plain()) {
        if channel.trim.value.0 < 1.0 {
            let name = &channel.name.value;
            let message = format!("`{name}` is plain: there is no light of it to trim");
            report.push(
                Diagnostic::error("S060", channel.trim.span, message)
                    .label("expected no `trim`")
                    .hint("a plain channel is on or off"),
            );
        }
    }
    let tracks = patterns.iter().flat_map(|pattern| &pattern.tracks);
    for track in tracks {
        let mut check = Check { channels, report };
        check.steps(&track.steps, &track.channels);
    }
}

struct Check<'a> {
    channels: &'a [Channel],
    report: &'a mut Report,
}

impl Check<'_> {
    /// Steps that are played by these channels.
    fn steps(&mut self, steps: &[Spanned<Step>], by: &[ChannelId]) {
        for step in steps {
            match &step.value {
                Step::To { targets, over, .. } if *over != Drawn::Fixed(Time(0)) => {
                    for target in targets {
                        self.no_plain(&target.channels, target.span, "fade");
                    }
                }
                Step::Wave(wave) if wave.shape != Shape::Square => {
                    self.no_plain(by, step.span, "wave");
                }
                Step::Repeat { steps, .. } => self.steps(steps, by),
                Step::Pick { channels, steps } => self.steps(steps, channels),
                Step::Branch(branches) => branches.iter().for_each(|steps| self.steps(steps, by)),
                Step::To { .. } | Step::Wave(_) | Step::Rhythm { .. } => {}
                Step::Set { .. } | Step::Hold(_) | Step::Stay => {}
            }
        }
    }

    fn no_plain(&mut self, channels: &[ChannelId], span: Span, what: &str) {
        let known = |id: &ChannelId| self.channels.get(usize::from(id.0));
        let plain = channels.iter().filter_map(known).find(|one| one.is_plain());
        if let Some(channel) = plain {
            let name = &channel.name.value;
            let message = format!("`{name}` is plain, on or off, and this {what} would dim it");
            self.report.push(
                Diagnostic::error("S060", span, message)
                    .label("expected channels that are dimmed")
                    .hint(format!(
                        "`set`, `hold` and `rhythm` switch `{name}`; a track of its own keeps it apart"
                    )),
            );
        }
    }
}
