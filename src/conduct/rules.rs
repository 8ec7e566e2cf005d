//! What follows from what.

use serde::Serialize;

use super::Once;
use super::fade::FadeStep;
use crate::input::Event;
use crate::score::{Image, ShowKind};
use crate::spec::{Contact, Project, Tap};

/// Why the light goes on to something else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// Power has come, or it was woken.
    Begin,
    Input(Event),
    /// What is played once has been on for its time.
    OnceOver,
    /// A scene of the show that roams has been on for its time.
    DwellOver,
    /// It has been on for an evening, or it is bright.
    EveningOver,
    /// The cells that feed it are spent.
    CellsSpent,
}

/// What follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// The light goes on to another scene.
    Go(Onward),
    /// A scene plays for a while.
    Play(Once),
    /// The scene of the show comes back.
    Back,
    /// Off: dark and still, until the button is pressed; then all starts as when power comes.
    StandBy,
    /// All light a step brighter.
    Brighter,
    /// The same darker.
    Darker,
    /// Dark and still until the next evening, or until the button is pressed; then all starts as when power comes.
    Rest,
    /// Dark and still until the cells were changed.
    RestForGood,
}

/// What the light goes on to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Onward {
    /// The next scene of the show.
    NextScene,
    /// The scene before, round from the first to the last.
    PreviousScene,
    /// The next show.
    NextShow,
    /// That show.
    Show(u8),
    /// Another scene of the show, each as likely.
    AnotherScene,
}

/// The table of causes and actions: nothing follows from a cause that it lacks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rules(Vec<(Cause, Action)>);

impl Rules {
    /// `fade`: that of a change of scene.
    pub fn new(project: &Project, image: &Image, fade: Option<FadeStep>) -> Self {
        let shows = &image.score.shows;
        let button = project.button.is_some();
        let switch = project.selector.is_some();
        let several = shows.iter().any(|show| show.count > 1);
        let to = |show| Action::Go(Onward::Show(show));
        let all = [
            (
                button && several,
                Cause::Input(Event::Tap),
                Action::Go(Onward::NextScene),
            ),
            (
                button && shows.len() > 1 && !switch,
                Cause::Input(Event::Hold),
                Action::Go(Onward::NextShow),
            ),
            (switch, Cause::Input(Event::Turned(false)), to(0)),
            (switch, Cause::Input(Event::Turned(true)), to(1)),
            (
                project.standby.is_some(),
                Cause::Input(Event::LongHold),
                Action::StandBy,
            ),
            (
                roaming(image).is_some(),
                Cause::DwellOver,
                Action::Go(Onward::AnotherScene),
            ),
            (project.has_nights(), Cause::EveningOver, Action::Rest),
            (
                project.guard.is_some(),
                Cause::CellsSpent,
                Action::RestForGood,
            ),
        ];
        let there = all.into_iter().filter(|(there, ..)| *there);
        let told = there.map(|(_, cause, action)| (cause, action));
        let told = told.chain(tapped(project));
        Self(told.chain(played_once(project, image, fade)).collect())
    }

    /// What follows from a cause.
    pub fn action(&self, cause: Cause) -> Option<Action> {
        let mut rules = self.0.iter();
        let found = rules.find(|(known, _)| *known == cause);
        found.map(|(_, action)| *action)
    }

    /// Whether anything follows from any of these.
    pub fn act_on(&self, causes: &[Cause]) -> bool {
        causes.iter().any(|cause| self.action(*cause).is_some())
    }

    pub fn taps(&self) -> bool {
        self.act_on(&[Cause::Input(Event::Tap)])
    }

    pub fn holds(&self) -> bool {
        self.act_on(&[Cause::Input(Event::Hold)])
    }

    pub fn roams(&self) -> bool {
        self.act_on(&[Cause::DwellOver])
    }

    /// What is played at the beginning.
    pub fn begins_with(&self) -> Option<Once> {
        match self.action(Cause::Begin) {
            Some(Action::Play(once)) => Some(once),
            _ => None,
        }
    }

    /// Whatever is played once.
    pub fn once(&self) -> impl Iterator<Item = Once> {
        self.0.iter().filter_map(|(_, action)| match action {
            Action::Play(once) => Some(*once),
            _ => None,
        })
    }

    pub fn plays_once(&self) -> bool {
        self.once().next().is_some()
    }

    /// Whether scenes ever change.
    pub fn changes(&self) -> bool {
        self.hops() || self.plays_once()
    }

    /// Whether it ever goes off.
    pub fn stands_by(&self) -> bool {
        self.leads_to(|action| action == Action::StandBy)
    }

    /// Whether buttons make it brighter and darker.
    pub fn dims(&self) -> bool {
        self.leads_to(|action| matches!(action, Action::Brighter | Action::Darker))
    }

    /// Whether the light ever goes on to another scene.
    pub fn hops(&self) -> bool {
        self.leads_to(|action| matches!(action, Action::Go(_)))
    }

    /// Whether it ever goes on to a scene that a restart would not lead to: a switch is where it was.
    pub fn chooses(&self) -> bool {
        self.leads_to(|action| match action {
            Action::Go(to) => !matches!(to, Onward::Show(_)),
            _ => false,
        })
    }

    fn leads_to(&self, wanted: impl Fn(Action) -> bool) -> bool {
        self.0.iter().any(|(_, action)| wanted(*action))
    }
}

/// What is played when power comes and by each contact, and what ends it.
fn played_once(project: &Project, image: &Image, fade: Option<FadeStep>) -> Vec<(Cause, Action)> {
    let begin = project.start.iter().map(|_| Cause::Begin);
    let contacts = closed(project).filter(|(contact, _)| contact.plays().is_some());
    let causes = begin.chain(contacts.map(|(_, cause)| cause));
    let ranges = image.score.once.iter().map(|range| Once::new(*range, fade));
    let mut rules: Vec<(Cause, Action)> = causes.zip(ranges.map(Action::Play)).collect();
    if !rules.is_empty() {
        rules.push((Cause::OnceOver, Action::Back));
    }
    rules
}

/// Contacts in the order of the project, each with its closing.
fn closed(project: &Project) -> impl Iterator<Item = (&Contact, Cause)> {
    let contacts = project.contacts.iter().enumerate();
    contacts.map(|(index, contact)| (contact, Cause::Input(Event::Closed(index as u8))))
}

/// What further buttons do.
fn tapped(project: &Project) -> impl Iterator<Item = (Cause, Action)> {
    closed(project).filter_map(|(contact, cause)| {
        let action = match contact.taps()? {
            Tap::Next => Action::Go(Onward::NextScene),
            Tap::Previous => Action::Go(Onward::PreviousScene),
            Tap::Brighter => Action::Brighter,
            Tap::Darker => Action::Darker,
        };
        Some((cause, action))
    })
}

/// The show that roams, by its index.
pub fn roaming(image: &Image) -> Option<usize> {
    let mut shows = image.score.shows.iter();
    shows.position(|show| show.kind == ShowKind::Roam)
}
