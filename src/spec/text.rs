//! TOML and JSON texts to a tree of values with their places.

use std::collections::BTreeSet;
use std::ops::Range;

use jsonc_parser::ast;
use toml::de::{DeTable, DeValue};
use toml_parser::lexer::TokenKind;

use super::slips::{self, Slips};
use super::tree::{Entry, Node, Value};

/// A fault of the text itself.
pub(super) struct TextFault {
    pub(super) span: Range<usize>,
    pub(super) what: String,
    pub(super) limit: Option<String>,
    pub(super) hint: Option<String>,
}

/// What is said of words without quotes.
pub(super) const NEEDS_QUOTES: &str = "text needs quotes around it";

impl TextFault {
    pub(super) fn new(span: Range<usize>, what: impl Into<String>) -> Self {
        TextFault {
            span,
            what: what.into(),
            limit: None,
            hint: None,
        }
    }
    pub(super) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// What came of a text.
pub(super) struct Parsed {
    pub(super) faults: Vec<TextFault>,
    /// The values, unless the faults make them doubtful.
    pub(super) root: Option<Node>,
}

impl Parsed {
    fn refused(fault: TextFault) -> Self {
        Parsed {
            faults: vec![fault],
            root: None,
        }
    }
}

/// Brackets within brackets. A spec needs four; the limit keeps readers off the stack's end.
const MAX_DEPTH: usize = 24;
/// Dots in one key. A spec needs two; each is a level as a bracket is.
const MAX_DOTS: usize = 8;

fn too_deep(span: Range<usize>) -> Parsed {
    Parsed::refused(
        TextFault::new(span, "brackets or dotted keys are nested too deeply here")
            .hint("look for brackets that were not closed"),
    )
}

/// What is said of a number that no length can be.
fn not_finite(span: Range<usize>) -> TextFault {
    TextFault {
        limit: Some("an ordinary number such as 60 or 2.5".into()),
        ..TextFault::new(span, "this is not a number that can be worked with")
    }
}

pub(super) fn parse_toml(text: &str) -> Parsed {
    let (mut depth, mut dots) = (0_usize, 0_usize);
    for token in toml_parser::Source::new(text).lex() {
        match token.kind() {
            TokenKind::Dot => dots += 1,
            TokenKind::LeftSquareBracket | TokenKind::LeftCurlyBracket => {
                depth += 1;
                dots = 0;
            }
            TokenKind::RightSquareBracket | TokenKind::RightCurlyBracket => {
                depth = depth.saturating_sub(1);
                dots = 0;
            }
            TokenKind::Equals | TokenKind::Comma | TokenKind::Newline => dots = 0,
            _ => {}
        }
        if depth > MAX_DEPTH || dots > MAX_DOTS {
            return too_deep(token.span().start()..token.span().end());
        }
    }

    if text
        .trim_start_matches('\u{feff}')
        .trim_start()
        .starts_with('{')
    {
        let start = text.find('{').unwrap_or(0);
        return Parsed::refused(
            TextFault::new(start..start + 1, "this text is JSON, not TOML")
                .hint("rename the file so that its name ends in .json"),
        );
    }

    let (table, errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        return toml_parsed(table.into_inner(), Vec::new());
    }
    let Slips {
        mut faults,
        mended,
        lost,
    } = slips::find(text);
    // Where characters were mended, bytes within one may have become tokens.
    for fault in &mut faults {
        fault.span = clamp(fault.span.clone(), text);
    }
    let known: Vec<Range<usize>> = faults.iter().map(|fault| fault.span.clone()).collect();
    let (table, errors) = DeTable::parse_recoverable(&mended);
    let mut doubtful = !lost.is_empty();
    let mut last_line = None;
    // Explaining one means counting lines: a text that is all mistakes is not worth it.
    const MOST_EXPLAINED: usize = 200;
    doubtful |= errors.len() > MOST_EXPLAINED;
    for error in errors.into_iter().take(MOST_EXPLAINED) {
        let span = clamp(error.span().unwrap_or(0..0), text);
        let (fault, harmless) = explain_toml(text, span, error.message());
        doubtful |= !harmless;
        // What a slip brought about has been told.
        let touches =
            |other: &Range<usize>| other.start <= fault.span.end && fault.span.start <= other.end;
        if lost.iter().any(touches) || known.iter().any(touches) {
            continue;
        }
        // One slip often upsets the rest of its line.
        let line = text[..fault.span.start].matches('\n').count();
        if last_line != Some(line) || harmless {
            faults.push(fault);
        }
        last_line = Some(line);
    }
    if doubtful {
        return Parsed { faults, root: None };
    }
    let mut parsed = toml_parsed(table.into_inner(), faults);
    if let Some(root) = &mut parsed.root {
        clamp_all(root, text);
    }
    parsed
}

fn clamp_all(node: &mut Node, text: &str) {
    node.span = clamp(node.span.clone(), text);
    match &mut node.value {
        Value::List(items) => items.iter_mut().for_each(|item| clamp_all(item, text)),
        Value::Table(entries) => {
            for entry in entries {
                entry.span = clamp(entry.span.clone(), text);
                clamp_all(&mut entry.node, text);
            }
        }
        _ => {}
    }
}

fn toml_parsed(table: DeTable<'_>, mut faults: Vec<TextFault>) -> Parsed {
    let entries = toml_table(table, &mut faults);
    let root = Some(Node {
        span: 0..0,
        value: Value::Table(entries),
    });
    Parsed { faults, root }
}

/// The span within the text and on character boundaries, whatever a parser says.
fn clamp(span: Range<usize>, text: &str) -> Range<usize> {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

/// The parser's message in a maker's words, and whether what it recovered can be trusted.
fn explain_toml(text: &str, span: Range<usize>, message: &str) -> (TextFault, bool) {
    let found = &text[span.clone()];
    if message.starts_with("duplicate key") {
        let fault = TextFault::new(span.clone(), format!("`{found}` is given twice"))
            .hint("keep one of them");
        return (fault, true);
    }
    if message.starts_with("string values must be quoted") {
        let fault = TextFault::new(span.clone(), NEEDS_QUOTES).hint(format!("write \"{found}\""));
        return (fault, true);
    }
    if message.starts_with("missing opening quote") {
        let fault = TextFault::new(span, NEEDS_QUOTES).hint("write '2 3/8\"' or \"2 3/8 in\"");
        return (fault, false);
    }
    if let Some(number) = before_inch_mark(text, span.start) {
        let fault = TextFault::new(span, NEEDS_QUOTES).hint(format!("write \"{number} in\""));
        return (fault, false);
    }
    if let Some((number, written)) = bare_point(text, span.start) {
        let fault = TextFault::new(span, "a number has digits on both sides of its point")
            .hint(format!("write {written} in place of {number}"));
        return (fault, false);
    }
    if text[span.start..].trim_start().starts_with(',') && message.starts_with("unexpected key") {
        let fault = TextFault::new(span, "a comma does not belong here")
            .hint("a number is written with a decimal point, not a comma");
        return (fault, false);
    }
    if let Some((_, what, hint)) = PLAIN_WORDS
        .iter()
        .find(|(start, ..)| message.starts_with(start))
    {
        let fault = TextFault::new(span, *what);
        let fault = match *hint {
            "" => fault,
            hint => fault.hint(hint),
        };
        return (fault, false);
    }
    let (what, limit) = match message.split_once(", expected ") {
        Some((what, limit)) => (what, Some(limit.to_owned())),
        None => (message, None),
    };
    let fault = TextFault {
        limit,
        ..TextFault::new(span, format!("this is not TOML: {what}"))
    };
    (fault, false)
}

/// A bare number that a quote stands behind, as an inch mark would, at a byte or just before.
fn before_inch_mark(text: &str, at: usize) -> Option<&str> {
    let start = text[..at].rfind('\n').map_or(0, |i| i + 1);
    let line = text[start..].lines().next()?;
    let value = line.split_once('=')?.1.trim();
    let end = value.find(|c: char| !(c.is_ascii_digit() || " ./".contains(c)))?;
    let (number, rest) = (value[..end].trim(), &value[end..]);
    let mark = rest.starts_with('"') || rest.starts_with("''");
    (mark && number.starts_with(|c: char| c.is_ascii_digit())).then_some(number)
}

/// A number that starts or ends with its decimal point, at a byte or just before, and as it is to be
/// written.
fn bare_point(text: &str, at: usize) -> Option<(&str, String)> {
    let part_of = |c: char| c.is_ascii_digit() || "+-.".contains(c);
    let start = text[..at].rfind(|c| !part_of(c)).map_or(0, |i| {
        i + text[i..].chars().next().map_or(1, char::len_utf8)
    });
    let end = text[start..]
        .find(|c| !part_of(c))
        .map_or(text.len(), |i| start + i);
    let number = &text[start..end];
    let digits = number.trim_start_matches(['+', '-']);
    let sign = &number[..number.len() - digits.len()];
    let (whole, part) = digits.split_once('.')?;
    let plain = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    let lacks = whole.is_empty() != part.is_empty();
    let or_nought = |s: &str| {
        if s.is_empty() {
            "0".to_owned()
        } else {
            s.to_owned()
        }
    };
    (sign.len() < 2 && lacks && plain(whole) && plain(part)).then(|| {
        (
            number,
            format!("{sign}{}.{}", or_nought(whole), or_nought(part)),
        )
    })
}

/// How the parser's commonest messages start, what a maker is told instead, and the hint.
const PLAIN_WORDS: [(&str, &str, &str); 13] = [
    (
        "key with no value",
        "this name has no value",
        "write name = value; a heading stands in brackets, such as [body]",
    ),
    (
        "missing assignment",
        "an = is missing here",
        "write name = value",
    ),
    (
        "unclosed table",
        "a ] is missing here",
        "a heading stands in brackets, such as [body]",
    ),
    ("unclosed array table", "]] is missing here", ""),
    (
        "unclosed array",
        "a [ is not closed",
        "put ] where the list ends",
    ),
    (
        "unclosed inline table",
        "a { is not closed",
        "put } where the values end",
    ),
    (
        "missing comma",
        "a comma is missing before this",
        "entries of a list have commas between them",
    ),
    (
        "extra comma",
        "there is a comma too many here",
        "take it out",
    ),
    ("extra `=`", "there is an = too many here", "take it out"),
    (
        "invalid unquoted key",
        "a name cannot hold this character",
        "names are letters, digits, - and _",
    ),
    (
        "unexpected key or value",
        "this does not belong on this line",
        "each name = value has a line of its own; a remark starts with #",
    ),
    (
        "unexpected leading zero",
        "a number does not start with 0",
        "",
    ),
    (
        "invalid basic string",
        "this text cannot be read",
        "put text that holds \\ or \" between single quotes: '…'",
    ),
];

fn toml_table(table: DeTable<'_>, faults: &mut Vec<TextFault>) -> Vec<Entry> {
    let mut entries: Vec<Entry> = table
        .into_iter()
        .map(|(key, value)| Entry {
            span: key.span(),
            key: key.into_inner().into_owned(),
            node: toml_node(value, faults),
        })
        .collect();
    entries.sort_by_key(|entry| entry.span.start);
    entries
}

fn toml_node(spanned: toml::Spanned<DeValue<'_>>, faults: &mut Vec<TextFault>) -> Node {
    let span = spanned.span();
    let value = match spanned.into_inner() {
        DeValue::String(text) => Value::Text(text.into_owned()),
        DeValue::Integer(integer) if integer.radix() == 10 => {
            number(integer.as_str(), &span, faults)
        }
        // 2^53 and more is beyond any count or length.
        DeValue::Integer(integer) => match u32::from_str_radix(integer.as_str(), integer.radix()) {
            Ok(value) => Value::Number(f64::from(value)),
            Err(_) => {
                faults.push(not_finite(span.clone()));
                Value::Broken
            }
        },
        DeValue::Float(float) => number(float.as_str(), &span, faults),
        DeValue::Boolean(value) => Value::Bool(value),
        DeValue::Datetime(_) => Value::Date,
        DeValue::Array(items) => Value::List(
            items
                .into_iter()
                .map(|item| toml_node(item, faults))
                .collect(),
        ),
        DeValue::Table(table) => Value::Table(toml_table(table, faults)),
    };
    Node { span, value }
}

fn number(text: &str, span: &Range<usize>, faults: &mut Vec<TextFault>) -> Value {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Value::Number(value),
        _ => {
            faults.push(not_finite(span.clone()));
            Value::Broken
        }
    }
}

pub(super) fn parse_json(text: &str) -> Parsed {
    let (mut depth, mut in_text, mut escaped) = (0_usize, false, false);
    for (at, byte) in text.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_text => escaped = true,
            b'"' => in_text = !in_text,
            b'[' | b'{' if !in_text => depth += 1,
            b']' | b'}' if !in_text => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > MAX_DEPTH {
            return too_deep(at..at + 1);
        }
    }

    let strict = jsonc_parser::ParseOptions {
        allow_comments: false,
        allow_loose_object_property_names: false,
        allow_trailing_commas: false,
        allow_missing_commas: false,
        allow_single_quoted_strings: false,
        allow_hexadecimal_numbers: false,
        allow_unary_plus_numbers: false,
        allow_bare_decimal_point_numbers: false,
        allow_non_finite_numbers: false,
        allow_extended_string_escapes: false,
    };
    // A text editor's byte order mark is no part of the spec.
    let skipped = if text.starts_with('\u{feff}') { 3 } else { 0 };
    let parsed = jsonc_parser::parse_to_ast(&text[skipped..], &Default::default(), &strict);
    match parsed {
        Err(error) => {
            let range = error.range();
            let span = clamp(range.start + skipped..range.end + skipped, text);
            if looks_like_toml(text) {
                return Parsed::refused(
                    TextFault::new(span, "this text is TOML, not JSON")
                        .hint("rename the file so that its name ends in .toml"),
                );
            }
            if let Some(curly) = text[span.start..].chars().next()
                && slips::is_curly(curly)
            {
                return Parsed::refused(
                    TextFault::new(span, slips::CURLY).hint("use plain quotes: \""),
                );
            }
            Parsed::refused(TextFault::new(
                span,
                format!(
                    "this is not JSON: {}",
                    lower_first(&error.kind().to_string())
                ),
            ))
        }
        Ok(parsed) => {
            let mut faults = Vec::new();
            let root = parsed
                .value
                .map(|value| json_node(value, skipped, &mut faults));
            Parsed { faults, root }
        }
    }
}

/// Whether the first line that says something is a remark, a heading or a value of TOML.
fn looks_like_toml(text: &str) -> bool {
    let mut lines = text.trim_start_matches('\u{feff}').lines().map(str::trim);
    let first = lines.find(|line| !line.is_empty()).unwrap_or_default();
    let heading = first
        .trim_start_matches('[')
        .starts_with(|c: char| c.is_ascii_alphabetic());
    first.starts_with('#')
        || (first.starts_with('[') && heading)
        || (heading && first.contains('='))
}

fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|first| first.to_lowercase().chain(chars).collect())
        .unwrap_or_default()
}

fn json_node(value: ast::Value<'_>, skipped: usize, faults: &mut Vec<TextFault>) -> Node {
    let range = jsonc_parser::common::Ranged::range(&value);
    let span = range.start + skipped..range.end + skipped;
    let value = match value {
        ast::Value::NullKeyword(_) => Value::Null,
        ast::Value::BooleanLit(literal) => Value::Bool(literal.value),
        ast::Value::NumberLit(literal) => number(literal.value, &span, faults),
        ast::Value::StringLit(literal) => Value::Text(literal.value.into_owned()),
        ast::Value::Array(array) => Value::List(
            array
                .elements
                .into_iter()
                .map(|item| json_node(item, skipped, faults))
                .collect(),
        ),
        ast::Value::Object(object) => {
            let mut keys = BTreeSet::new();
            let mut entries = Vec::new();
            for property in object.properties {
                let range = jsonc_parser::common::Ranged::range(&property.name);
                let span = range.start + skipped..range.end + skipped;
                let key = property.name.into_string();
                if keys.insert(key.clone()) {
                    let node = json_node(property.value, skipped, faults);
                    entries.push(Entry { key, span, node });
                } else {
                    faults.push(
                        TextFault::new(span, format!("`{key}` is given twice"))
                            .hint("keep one of them"),
                    );
                }
            }
            Value::Table(entries)
        }
    };
    Node { span, value }
}
