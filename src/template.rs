//! The template engine, with what sources, pages and pictures share.

use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, UndefinedBehavior, Value};
use serde::Serialize;

/// An environment with these templates. A template that uses what its context lacks is an error.
/// Values are escaped in pictures and pages, by the ends of the templates' names.
pub(crate) fn environment(templates: &[(&'static str, &'static str)]) -> Environment<'static> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    let syntax = SyntaxConfig::builder().keep_trailing_newline(true).build();
    environment.set_syntax(syntax.expect("the usual delimiters"));
    environment.set_auto_escape_callback(|name| match name.rsplit_once('.') {
        Some((_, "svg" | "html")) => AutoEscape::Html,
        _ => AutoEscape::None,
    });
    for (name, text) in templates {
        environment
            .add_template(name, text)
            .expect("templates are tested with every demo");
    }
    environment
}

/// A template filled in.
pub(crate) fn rendered(environment: &Environment, name: &str, context: &impl Serialize) -> String {
    let template = environment.get_template(name).expect("registered");
    template
        .render(Value::from(Serde(context)))
        .unwrap_or_else(|error| {
            panic!("the template {name} asks for what its context lacks: {error:#}")
        })
}
