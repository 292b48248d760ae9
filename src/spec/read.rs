//! From a text to a spec and a design, with every problem at its place.

use std::collections::BTreeSet;
use std::ops::Range;

use serde::Deserialize;

use super::rules;
use super::slips;
use super::structure;
use super::text::{NEEDS_QUOTES, Parsed, TextFault, parse_json, parse_toml};
use super::tree::{Entry, Fault, Node, ReadError, Value};
use super::{Design, Place, Problem, Problems, Spec};

/// How a spec is written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// TOML 1.1, for writing by hand.
    Toml,
    /// JSON, for other programs. Strict: no comments, no trailing commas.
    Json,
}

/// A spec is a page of text; anything larger is some other file.
pub const MAX_BYTES: usize = 1 << 20;
/// More than this many problems help no one, and bound the work that a bad text makes.
const MAX_PROBLEMS: usize = 64;

/// A spec together with the text it was read from.
#[derive(Clone, Debug)]
pub struct Source<'t> {
    /// What the text says. It may be changed; problems are then still placed by field path.
    pub spec: Spec,
    text: &'t str,
    root: Node,
}

impl Source<'_> {
    /// Where a field path such as `body.outline[1].height` stands in the text, or the
    /// nearest thing around it that the text holds.
    #[must_use]
    pub fn place(&self, path: &str) -> Place {
        place(self.text, self.root.locate(path).0)
    }

    /// Checks the spec by every rule.
    ///
    /// # Errors
    /// Everything that is wrong, each with its place, in the order of the text.
    pub fn design(&self) -> Result<Design, Problems> {
        Design::from_spec(&self.spec).map_err(|problems| self.placed(problems))
    }

    /// Problems found later, such as those of a mould, with their places, in the order of
    /// the text.
    #[must_use]
    pub fn placed(&self, problems: Problems) -> Problems {
        let found = problems.0.into_iter();
        let found = found.map(|problem| located(problem, &self.root)).collect();
        in_order(found, self.text)
    }
}

/// Reads a spec; its rules are not checked yet.
///
/// # Errors
/// Everything that keeps the text from being read, each with its place, in the order of
/// the text. Where the text's own grammar is broken so that the rest is guesswork, only
/// that is reported.
pub fn read(text: &str, format: Format) -> Result<Source<'_>, Problems> {
    let reading = Reading::new(text, format);
    match (reading.spec, reading.root) {
        (Some(spec), Some(root)) if reading.found.is_empty() => Ok(Source { spec, text, root }),
        _ => Err(in_order(reading.found, text)),
    }
}

/// Reads a spec and checks it by every rule.
///
/// # Errors
/// Everything that is wrong, unreadable values and broken rules alike, each with its place,
/// in the order of the text. Rules that hang on an unreadable value wait until it is mended.
///
/// # Example
/// ```
/// use baitwright::spec::{self, Format};
/// let text = "
/// [body]
/// length = 90
/// outline = [{ at = 30, height = 19 }, { at = 30, hieght = 12 }]
/// section = 9
/// ";
/// let problems = spec::design(text, Format::Toml).unwrap_err();
/// assert_eq!(problems.0.len(), 3);
/// assert_eq!(problems.0[2].path, "body.section");
/// assert_eq!(problems.0[2].place.as_ref().unwrap().line, 5);
/// ```
pub fn design(text: &str, format: Format) -> Result<Design, Problems> {
    let mut reading = Reading::new(text, format);
    let (Some(spec), Some(root)) = (&reading.spec, &reading.root) else {
        return Err(in_order(reading.found, text));
    };
    match rules::check(spec, &reading.broken, None) {
        Ok(design) if reading.found.is_empty() => Ok(design),
        Ok(_) => Err(in_order(reading.found, text)),
        Err(more) => {
            let more = more.into_iter().map(|problem| located(problem, root));
            reading.found.extend(more);
            Err(in_order(reading.found, text))
        }
    }
}

/// A problem and the bytes it stands at.
type Found = (Range<usize>, Problem);

/// What could be made of a text.
struct Reading {
    /// `None` if the text is no use.
    root: Option<Node>,
    /// With stand-ins for what could not be read.
    spec: Option<Spec>,
    found: Vec<Found>,
    /// Paths that stand-ins are at.
    broken: BTreeSet<String>,
}

impl Reading {
    fn new(text: &str, format: Format) -> Self {
        let mut reading = Reading {
            root: None,
            spec: None,
            found: Vec::new(),
            broken: BTreeSet::new(),
        };
        if text.len() > MAX_BYTES {
            let problem = Problem::new("", "this text is too long to be a spec")
                .value(format_args!("{} bytes", text.len()))
                .limit(format_args!("up to {MAX_BYTES} bytes"));
            reading.found.push((0..0, problem));
            return reading;
        }
        if text.trim_start_matches('\u{feff}').trim().is_empty() {
            let problem = Problem::new("", "the spec is empty")
                .hint("a spec needs at least a body with its length and outline");
            reading.found.push((0..0, problem));
            return reading;
        }
        let Parsed { faults, root } = match format {
            Format::Toml => parse_toml(text),
            Format::Json => parse_json(text),
        };
        for TextFault {
            span,
            what,
            limit,
            hint,
        } in faults.into_iter().take(MAX_PROBLEMS + 1)
        {
            let mut problem = Problem::new("", what);
            problem.limit = limit;
            problem.hint = hint;
            let path = root.as_ref().and_then(|root| path_at(root, &span));
            if let Some((path, Value::Broken)) = &path {
                problem.value = Some(excerpt(text, &span));
                reading.broken.insert(path.clone());
            }
            problem.path = path.map(|(path, _)| path).unwrap_or_default();
            reading.found.push((span, problem));
        }
        if let Some(mut root) = root {
            reading.deserialize(text, &mut root);
            reading.root = Some(root);
        }
        reading
    }

    /// Reads the tree, mending it wherever that fails so that the next fault shows.
    fn deserialize(&mut self, text: &str, root: &mut Node) {
        while self.found.len() < MAX_PROBLEMS {
            match Spec::deserialize(&*root) {
                Ok(spec) => {
                    self.spec = Some(spec);
                    return;
                }
                Err(error) => self.mend(text, root, error),
            }
        }
        self.found.push(too_many(text));
    }

    /// If a key that is not known here is one of another table, says so, and reads on as if
    /// it stood there: most often a heading was forgotten.
    fn rehome(&mut self, text: &str, root: &mut Node, steps: &[usize], known: &[&str]) -> bool {
        let Some((&last, upto)) = steps.split_last() else {
            return false;
        };
        let owner = path_text(root, upto);
        let mut node = &*root;
        for &step in upto {
            match node.child(step) {
                Some(child) => node = child,
                None => return false,
            }
        }
        // The entries of a list have no headings.
        let (false, Value::Table(entries)) = (owner.contains('['), &node.value) else {
            return false;
        };
        let entry = &entries[last];
        // `[[eye]]` is a heading misspelt, though a hook has an eye too.
        if is_headed(&entry.node.value) && nearest(&entry.key, known).is_some() {
            return false;
        }
        let schema = super::schema();
        let homes = structure::homes(&schema, &entry.key, &owner);
        let Some(home) = homes.first() else {
            return false;
        };
        // Those that share its fate.
        let strays: Vec<usize> = (0..entries.len())
            .filter(|&i| {
                let key = entries[i].key.as_str();
                i == last
                    || (!known.contains(&key) && structure::homes(&schema, key, &owner) == homes)
            })
            .collect();
        let has_home = match &root.value {
            Value::Table(entries) => entries.iter().any(|entry| entry.key == *home),
            _ => false,
        };
        let under_heading = node.span.is_empty() || text[node.span.clone()].starts_with('[');
        let mut hint = if !under_heading {
            format!("write it inside `{home}`")
        } else if has_home {
            format!("move it under [{home}]")
        } else {
            format!("put [{home}] on a line of its own above it")
        };
        if strays.len() > 1 {
            let others: Vec<String> = strays
                .iter()
                .filter(|&&i| i != last)
                .map(|&i| format!("`{}`", entries[i].key))
                .collect();
            hint.push_str(&format!("; the same holds for {}", others.join(", ")));
        }
        let all: Vec<String> = homes.iter().map(|home| format!("[{home}]")).collect();
        let what = format!("this belongs under {}", all.join(" or "));
        let problem = Problem::new(path_text(root, steps), what).hint(hint);
        let span = entry.span.clone();
        self.found.push((span.clone(), problem));

        let movable = homes.len() == 1 && !home.contains('.');
        let mut moved = Vec::new();
        let mut node = &mut *root;
        for &step in upto {
            match node.child_mut(step) {
                Some(child) => node = child,
                None => return true,
            }
        }
        if let Value::Table(entries) = &mut node.value {
            for &stray in strays.iter().rev() {
                moved.insert(0, entries.remove(stray));
            }
        }
        if let (true, Value::Table(top)) = (movable, &mut root.value) {
            match top.iter_mut().find(|entry| entry.key == *home) {
                Some(entry) => {
                    if let Value::Table(there) = &mut entry.node.value {
                        moved.retain(|m| there.iter().all(|entry| entry.key != m.key));
                        there.extend(moved);
                    }
                }
                None => top.push(Entry {
                    key: home.clone(),
                    span: span.clone(),
                    node: Node {
                        span,
                        value: Value::Table(moved),
                    },
                }),
            }
        }
        true
    }

    /// Records the error and changes the tree so that it will not come again.
    fn mend(&mut self, text: &str, root: &mut Node, error: ReadError) {
        let steps: Vec<usize> = error.path.into_iter().rev().collect();
        let path = path_text(root, &steps);
        if let Fault::UnknownKey(known) = error.kind
            && self.rehome(text, root, &steps, known)
        {
            return;
        }
        let of_key = matches!(error.kind, Fault::UnknownKey(_) | Fault::Twice(_));
        let (upto, last) = match steps.split_last() {
            Some((&last, upto)) if of_key => (upto, last),
            _ => (&steps[..], 0),
        };
        let mut node = root;
        for &step in upto {
            match node.child_mut(step) {
                Some(child) => node = child,
                None => unreachable!("an error's path leads through the tree that made it"),
            }
        }
        match (error.kind, &mut node.value) {
            (Fault::UnknownKey(known), Value::Table(entries)) => {
                let key = entries[last].key.clone();
                let mut problem =
                    Problem::new(path, "there is no such key").limit(known.join(", "));
                let mut near = nearest(&key, known);
                // At the top a key may lack its heading, and be misspelt besides.
                let own = near.map_or(2, |near| strsim::damerau_levenshtein(&key, near));
                let elsewhere = if upto.is_empty() && key.len() <= 40 && own > 0 {
                    structure::nearest_key(&super::schema(), &key, own - 1)
                } else {
                    None
                };
                let headed = is_headed(&entries[last].node.value);
                let elsewhere = elsewhere.filter(|_| !(headed && near.is_some()));
                if let Some((_, table, meant)) = elsewhere {
                    near = None;
                    problem = problem.hint(format_args!(
                        "did you mean `{meant}` under [{table}]? keys stand below their heading"
                    ));
                } else if let Some(near) = near {
                    problem = problem.hint(format_args!("did you mean `{near}`?"));
                } else if ["name", "units", "scale", "sizes"].contains(&key.as_str()) {
                    // In TOML a key belongs to whatever heading stands above it.
                    problem =
                        problem.hint("it belongs at the top of the spec, outside every table");
                }
                self.found.push((entries[last].span.clone(), problem));
                match near {
                    // Read on as if it had been written right.
                    Some(near) if !entries.iter().any(|entry| entry.key == near) => {
                        near.clone_into(&mut entries[last].key);
                    }
                    _ => {
                        entries.remove(last);
                    }
                }
            }
            (Fault::Twice(field), Value::Table(entries)) => {
                let entry = entries.remove(last);
                let what = format!("`{}` says again what `{field}` says", entry.key);
                let problem = Problem::new(path, what).hint("keep one of them");
                self.found.push((entry.span, problem));
            }
            (Fault::Missing(field), Value::Table(entries)) => {
                let path = if path.is_empty() {
                    field.to_owned()
                } else {
                    format!("{path}.{field}")
                };
                let problem = Problem::new(&path, format!("`{field}` is missing"));
                self.found.push((node.span.clone(), problem));
                self.broken.insert(path);
                entries.push(Entry {
                    key: field.to_owned(),
                    span: node.span.clone(),
                    node: Node {
                        span: node.span.clone(),
                        value: Value::Broken,
                    },
                });
            }
            (_, Value::Text(written)) if is_curly_quoted(written) => {
                // Read on as if the quotes were not there.
                let inner = written.trim().trim_matches(slips::is_curly).to_owned();
                let problem = Problem::new(&path, slips::CURLY)
                    .value(excerpt(text, &node.span))
                    .hint(slips::plain_quotes(&inner));
                self.found.push((node.span.clone(), problem));
                node.value = Value::Text(inner);
            }
            (fault, value) => {
                // In quotes it would not fit either: the one answer is enough.
                self.found
                    .retain(|(span, told)| *span != node.span || told.what != NEEDS_QUOTES);
                let mut problem = Problem::new(&path, "");
                problem.value = Some(match value {
                    Value::List(_) => "a list".to_owned(),
                    Value::Table(_) => "a table".to_owned(),
                    _ => excerpt(text, &node.span),
                });
                match fault {
                    Fault::UnknownWord(known) => {
                        problem.what = "this word is not known here".into();
                        problem.limit = Some(
                            known
                                .iter()
                                .map(|word| format!("\"{word}\""))
                                .collect::<Vec<_>>()
                                .join(", "),
                        );
                        if let Value::Text(word) = value
                            && let Some(near) = nearest(word, known)
                        {
                            problem.hint = Some(format!("did you mean \"{near}\"?"));
                        }
                    }
                    Fault::Wrong(what, limit) => {
                        problem.what = what;
                        problem.limit = limit;
                    }
                    _ => problem.what = "this cannot be read".into(),
                }
                self.found.push((node.span.clone(), problem));
                self.broken.insert(path);
                node.value = Value::Broken;
            }
        }
    }
}

/// Whether a value stands under a heading of its own, or could.
fn is_headed(value: &Value) -> bool {
    match value {
        Value::Table(_) => true,
        Value::List(items) => {
            let first = items.first().map(|item| &item.value);
            matches!(first, Some(Value::Table(_)))
        }
        _ => false,
    }
}

/// Whether a text within plain quotes has curly ones around it besides.
fn is_curly_quoted(text: &str) -> bool {
    let text = text.trim();
    text.starts_with(slips::is_curly) && text.ends_with(slips::is_curly)
}

/// The known word that was most likely meant.
fn nearest<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    // Long keys are no near miss of anything, and the comparison is quadratic.
    if word.len() > 40 {
        return None;
    }
    let word = word.to_lowercase();
    known
        .iter()
        .map(|known| (strsim::damerau_levenshtein(&word, known), *known))
        .filter(|(distance, known)| *distance <= (known.len() / 3).max(1))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, known)| known)
}

/// The value as written, cut short if it is long.
fn excerpt(text: &str, span: &Range<usize>) -> String {
    let written = &text[span.clone()];
    let line = written.lines().next().unwrap_or_default();
    let mut short: String = line.chars().take(40).collect();
    if short.len() < written.len() {
        short.push('…');
    }
    short
}

/// The field path of child numbers from the root.
fn path_text(root: &Node, steps: &[usize]) -> String {
    let (mut node, mut path) = (root, String::new());
    for &step in steps {
        match &node.value {
            Value::Table(entries) => {
                if !path.is_empty() {
                    path.push('.');
                }
                path.extend(entries[step].key.chars().take(40));
            }
            _ => path.push_str(&format!("[{step}]")),
        }
        match node.child(step) {
            Some(child) => node = child,
            None => break,
        }
    }
    path
}

/// The path and value of the smallest node whose value or key stands around these bytes.
fn path_at<'n>(root: &'n Node, span: &Range<usize>) -> Option<(String, &'n Value)> {
    let holds = |outer: &Range<usize>| outer.start <= span.start && span.end <= outer.end;
    let (mut steps, mut node) = (Vec::new(), root);
    // A table's own span is only its heading, so every child has to be asked.
    fn seek(node: &Node, holds: &dyn Fn(&Range<usize>) -> bool, steps: &mut Vec<usize>) -> bool {
        let children: Vec<(&Node, bool)> = match &node.value {
            Value::List(items) => items.iter().map(|item| (item, false)).collect(),
            Value::Table(entries) => entries
                .iter()
                .map(|entry| (&entry.node, holds(&entry.span)))
                .collect(),
            _ => return false,
        };
        for (index, (child, by_key)) in children.into_iter().enumerate() {
            steps.push(index);
            if seek(child, holds, steps) || by_key || holds(&child.span) {
                return true;
            }
            steps.pop();
        }
        false
    }
    if !seek(root, &holds, &mut steps) {
        return None;
    }
    for &step in &steps {
        node = node.child(step)?;
    }
    Some((path_text(root, &steps), &node.value))
}

/// A rule's problem with the bytes it stands at.
fn located(mut problem: Problem, root: &Node) -> Found {
    let (span, path) = root.locate(&problem.path);
    problem.path = path;
    (span, problem)
}

fn too_many(text: &str) -> Found {
    let problem = Problem::new("", "there are more problems than are listed")
        .hint("mend these first, then check again");
    (text.len()..text.len(), problem)
}

fn in_order(mut found: Vec<Found>, text: &str) -> Problems {
    found.sort_by_key(|(span, _)| span.start);
    if found.len() > MAX_PROBLEMS {
        found.truncate(MAX_PROBLEMS);
        found.push(too_many(text));
    }
    let placed = found.into_iter().map(|(span, mut problem)| {
        problem.place = Some(place(text, span));
        problem
    });
    Problems(placed.collect())
}

fn place(text: &str, span: Range<usize>) -> Place {
    let before = &text[..span.start];
    let line_start = before.rfind('\n').map_or(0, |i| i + 1);
    Place {
        line: before.matches('\n').count() + 1,
        column: before[line_start..]
            .trim_start_matches('\u{feff}')
            .chars()
            .count()
            + 1,
        span,
    }
}
