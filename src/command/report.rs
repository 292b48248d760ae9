//! Problems, each with its line of the spec.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use baitwright::spec::{Problem, Problems};

/// All problems as text, coloured; whoever prints it strips colours where they are not wanted.
pub(super) fn of(problems: &Problems, text: &str, file: &str) -> String {
    let renderer = Renderer::styled();
    let mut out = String::new();
    for problem in &problems.0 {
        out.push_str(&renderer.render(&[group(problem, text, file)]));
        out.push_str("\n\n");
    }
    let count = problems.0.len();
    let them = if count == 1 {
        "one problem"
    } else {
        "problems"
    };
    if count == 1 {
        out.push_str(&format!("{file}: {them}; nothing was written\n"));
    } else {
        out.push_str(&format!("{file}: {count} {them}; nothing was written\n"));
    }
    out
}

fn group<'a>(problem: &'a Problem, text: &'a str, file: &'a str) -> annotate_snippets::Group<'a> {
    let mut title = String::new();
    if !problem.path.is_empty() {
        title.push_str(&problem.path);
        title.push_str(": ");
    }
    title.push_str(&problem.what);
    let mut group = Level::ERROR
        .primary_title(title)
        .elements(Vec::<Snippet<'_, annotate_snippets::Annotation<'_>>>::new());
    if let Some(place) = &problem.place {
        let found = problem.value.as_ref().map(|v| format!("found {v}"));
        let mark = AnnotationKind::Primary
            .span(place.span.clone())
            .label(found);
        group = group.element(Snippet::source(text).path(file).annotation(mark));
    } else if let Some(value) = &problem.value {
        group = group.element(Level::NOTE.message(format!("found {value}")));
    }
    if let Some(limit) = &problem.limit {
        group = group.element(Level::NOTE.with_name("accepted").message(limit.as_str()));
    }
    if let Some(hint) = &problem.hint {
        group = group.element(Level::HELP.with_name("hint").message(hint.as_str()));
    }
    group
}
