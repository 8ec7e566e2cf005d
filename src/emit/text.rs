//! The template engine, with what all languages share.

use minijinja::syntax::SyntaxConfig;
use minijinja::{Environment, UndefinedBehavior};

/// An environment with these templates. A template that uses what its context lacks is an error.
pub fn environment(templates: &[(&'static str, &'static str)]) -> Environment<'static> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    let syntax = SyntaxConfig::builder().keep_trailing_newline(true).build();
    environment.set_syntax(syntax.expect("the usual delimiters"));
    environment.set_auto_escape_callback(|_| minijinja::AutoEscape::None);
    for (name, text) in templates {
        environment
            .add_template(name, text)
            .expect("templates are tested with every demo");
    }
    environment
}
