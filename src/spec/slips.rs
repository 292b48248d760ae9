//! Slips of hand that a parser of TOML would answer in a parser's terms.
//!
//! They are looked for only in a text that does not parse. A slip whose meaning is plain is
//! mended in a copy of the text, every byte of which stays where it was, so that the rest
//! of the text is read and reported as well, each problem at its place. Brackets that do
//! not match are not mended: what follows them is guesswork.

use std::ops::Range;

use toml_parser::Source;
use toml_parser::lexer::{Token, TokenKind};

use super::text::{NEEDS_QUOTES, TextFault};

/// What the text was found to hold.
pub(super) struct Slips {
    pub(super) faults: Vec<TextFault>,
    /// The text with the plain slips mended, as long as it was.
    pub(super) mended: String,
    /// Bytes of lines that could not be mended, and of everything behind a lost bracket.
    pub(super) lost: Vec<Range<usize>>,
}

/// Finds slips in a text that does not parse.
pub(super) fn find(text: &str) -> Slips {
    let mut finder = Finder {
        faults: Vec::new(),
        mended: text.as_bytes().to_vec(),
        lost: Vec::new(),
    };
    finder.curly_quotes(text);
    let text = finder.text();
    finder.characters(&text);
    let text = finder.text();
    finder.brackets(&text);
    Slips {
        mended: finder.text(),
        faults: finder.faults,
        lost: finder.lost,
    }
}

struct Finder {
    faults: Vec<TextFault>,
    /// Bytes, so that mending one takes no time, however long the text.
    mended: Vec<u8>,
    lost: Vec<Range<usize>>,
}

/// Whether the quotes are those that word processors put in place of plain ones.
pub(super) fn is_curly(c: char) -> bool {
    matches!(c, '“' | '”' | '„' | '‟' | '‘' | '’' | '‚' | '‛' | '«' | '»')
}

/// What is said of them, wherever they stand.
pub(super) const CURLY: &str = "these are word-processor quotes";

/// The hint that goes with it.
pub(super) fn plain_quotes(inner: &str) -> String {
    let short: String = inner.chars().take(40).collect();
    if inner.contains('"') {
        format!("use plain quotes: write '{short}'")
    } else {
        format!("use plain quotes: write \"{short}\"")
    }
}

/// The tokens that mean something, each with whether space stands before it.
fn tokens(text: &str) -> Vec<(Token, bool)> {
    let mut out = Vec::new();
    let mut spaced = false;
    for token in Source::new(text).lex() {
        match token.kind() {
            TokenKind::Whitespace => spaced = true,
            TokenKind::Comment => {}
            _ => {
                out.push((token, spaced));
                spaced = false;
            }
        }
    }
    out
}

fn bytes(token: &Token) -> Range<usize> {
    token.span().start()..token.span().end()
}

fn is_text(kind: TokenKind) -> bool {
    matches!(kind, TokenKind::BasicString | TokenKind::LiteralString)
}

/// A name as keys have, without quotes.
fn is_word(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_alphabetic())
        && text
            .bytes()
            .all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-')
}

/// The whole line that a byte is on.
fn line_of(text: &str, at: usize) -> Range<usize> {
    let start = text[..at].rfind('\n').map_or(0, |i| i + 1);
    let end = text[at..].find('\n').map_or(text.len(), |i| at + i);
    start..end
}

impl Finder {
    /// Puts as many bytes in the place of whole characters.
    fn put(&mut self, at: Range<usize>, with: &str) {
        self.mended[at].copy_from_slice(with.as_bytes());
    }

    fn text(&self) -> String {
        String::from_utf8_lossy(&self.mended).into_owned()
    }

    /// Pairs of curly quotes outside plain ones become plain quotes.
    fn curly_quotes(&mut self, text: &str) {
        let mut open: Option<(usize, char)> = None;
        for token in Source::new(text).lex() {
            if token.kind() == TokenKind::Newline {
                open = None;
                continue;
            }
            let span = bytes(&token);
            for (i, c) in text[span.clone()].char_indices() {
                let at = span.start + i;
                let Some((start, with)) = open else {
                    // Behind a digit it is an inch mark, which stands for itself.
                    if is_curly(c) && i == 0 && token.kind() == TokenKind::Atom {
                        open = Some((at, c));
                        continue;
                    }
                    break;
                };
                let next = text[at + c.len_utf8()..].chars().next();
                let apostrophe = c == '’' && next.is_some_and(char::is_alphanumeric);
                let single = |c| matches!(c, '‘' | '’' | '‚' | '‛');
                let closes = (is_curly(c) && single(c) == single(with) && !apostrophe)
                    || (c == '"' && !single(with));
                if closes {
                    let end = at + c.len_utf8();
                    self.curly_pair(text, start..end, with, c);
                    open = None;
                }
            }
        }
    }

    fn curly_pair(&mut self, text: &str, span: Range<usize>, first: char, last: char) {
        let inner = &text[span.start + first.len_utf8()..span.end - last.len_utf8()];
        let quote = if inner.contains('"') { '\'' } else { '"' };
        let opening = format!("{quote:>width$}", width = first.len_utf8());
        let closing = format!("{quote:<width$}", width = last.len_utf8());
        self.put(span.start..span.start + first.len_utf8(), &opening);
        self.put(span.end - last.len_utf8()..span.end, &closing);
        let fault = TextFault::new(span, CURLY).hint(plain_quotes(inner));
        self.faults.push(fault);
    }

    /// Colons for equals signs, decimal commas, and marks of other languages.
    fn characters(&mut self, text: &str) {
        let tokens = tokens(text);
        let mut previous = TokenKind::Newline;
        let mut in_key = false;
        // Of colons one a line is told.
        let mut colon_told = false;
        let mut skip_line = false;
        for (i, (token, _)) in tokens.iter().enumerate() {
            let (kind, span) = (token.kind(), bytes(token));
            if kind == TokenKind::Newline {
                (colon_told, skip_line) = (false, false);
            }
            if skip_line {
                continue;
            }
            let found = &text[span.clone()];
            let starts_key = matches!(
                previous,
                TokenKind::Newline
                    | TokenKind::LeftCurlyBracket
                    | TokenKind::LeftSquareBracket
                    | TokenKind::Comma
            );
            in_key = starts_key || (in_key && previous == TokenKind::Dot);
            let next = tokens.get(i + 1).map(|(token, _)| token);
            if kind == TokenKind::Atom {
                let colon = if in_key {
                    found
                        .find(':')
                        .filter(|&colon| is_word(&found[..colon]))
                        .map(|colon| span.start + colon)
                } else {
                    let after_name = i > 0
                        && (is_text(previous) || is_word(&text[bytes(&tokens[i - 1].0)]))
                        && i > 1
                        && matches!(
                            tokens[i - 2].0.kind(),
                            TokenKind::Newline
                                | TokenKind::LeftCurlyBracket
                                | TokenKind::Comma
                                | TokenKind::Dot
                        );
                    (after_name && found.starts_with(':')).then_some(span.start)
                };
                let ends_line = next
                    .is_none_or(|next| matches!(next.kind(), TokenKind::Newline | TokenKind::Eof));
                if let Some(colon) = colon
                    && colon + 1 == span.end
                    && ends_line
                {
                    let line = line_of(text, colon);
                    let name = text[line.start..colon].trim();
                    let fault = TextFault::new(line.clone(), "a heading stands in brackets")
                        .hint(format!("write [{name}]"));
                    self.faults.push(fault);
                    self.lost.push(line);
                } else if let Some(colon) = colon {
                    let doubled = next.is_some_and(|next| next.kind() == TokenKind::Equals);
                    self.put(colon..colon + 1, if doubled { " " } else { "=" });
                    if !colon_told {
                        let what = "a name and its value are joined by =, not by a colon";
                        let fault =
                            TextFault::new(colon..colon + 1, what).hint("use = instead of :");
                        self.faults.push(fault);
                    }
                    colon_told = true;
                } else if starts_key && previous == TokenKind::Newline && found.starts_with("//") {
                    self.put(span.start..span.start + 2, "# ");
                    let fault = TextFault::new(span.clone(), "a remark does not start with //")
                        .hint("start it with #");
                    self.faults.push(fault);
                    skip_line = true;
                } else if found.ends_with(';') && ends_line {
                    self.put(span.end - 1..span.end, " ");
                    let fault = TextFault::new(span.end - 1..span.end, "a line does not end in ;")
                        .hint("take it out");
                    self.faults.push(fault);
                } else if previous == TokenKind::Equals {
                    self.decimal_comma(text, &tokens[i..]);
                }
            }
            previous = kind;
        }
    }

    /// `2,5` where a value starts.
    fn decimal_comma(&mut self, text: &str, tokens: &[(Token, bool)]) {
        let [(whole, _), (comma, false), (part, false), rest @ ..] = tokens else {
            return;
        };
        let digits = text[bytes(whole)].trim_start_matches(['+', '-']);
        let is_comma = comma.kind() == TokenKind::Comma
            && part.kind() == TokenKind::Atom
            && !digits.is_empty()
            && digits.bytes().all(|b| b.is_ascii_digit())
            && text[bytes(part)].starts_with(|c: char| c.is_ascii_digit());
        if !is_comma {
            return;
        }
        self.put(bytes(comma), ".");
        let span = bytes(whole).start..bytes(part).end;
        let number = text[span.clone()].replace(',', ".");
        let unit = rest
            .first()
            .filter(|(unit, _)| unit.kind() == TokenKind::Atom);
        let write = match unit {
            Some((unit, _)) => format!("decimal comma: write \"{number} {}\"", &text[bytes(unit)]),
            None => format!("decimal comma: write {number}"),
        };
        let what = "a number is written with a decimal point";
        self.faults.push(TextFault::new(span, what).hint(write));
    }

    /// Quotes and brackets that are not closed, and braces and commas that are missing.
    fn brackets(&mut self, text: &str) {
        let tokens = tokens(text);
        let mut open: Vec<Open> = Vec::new();
        let mut i = 0;
        while let Some((token, _)) = tokens.get(i) {
            let (kind, span) = (token.kind(), bytes(token));
            let previous = i.checked_sub(1).map(|i| tokens[i].0);
            let starts_line = previous.is_none_or(|p| p.kind() == TokenKind::Newline);
            if is_text(kind) && !is_closed(&text[span.clone()]) {
                self.open_quote(text, span.clone(), previous);
                if !open.is_empty() {
                    self.lost.push(span.start..text.len());
                    return;
                }
            }
            match (kind, open.last_mut()) {
                (TokenKind::LeftSquareBracket, None) if starts_line => {
                    // A heading; what is wrong with one the parser says well.
                    while tokens
                        .get(i)
                        .is_some_and(|(token, _)| token.kind() != TokenKind::Newline)
                    {
                        i += 1;
                    }
                    continue;
                }
                (TokenKind::LeftSquareBracket, Some(last))
                    if starts_line && is_heading(text, &tokens[i..]) =>
                {
                    let last = *last;
                    return self.unclosed(text, last, Some(span.start));
                }
                (TokenKind::LeftCurlyBracket, Some(last))
                    if last.brace && previous.is_none_or(|p| p.kind() != TokenKind::Equals) =>
                {
                    let last = *last;
                    return self.unclosed(text, last, Some(span.start));
                }
                (TokenKind::LeftSquareBracket | TokenKind::LeftCurlyBracket, last) => {
                    let brace = kind == TokenKind::LeftCurlyBracket;
                    if let Some(last) = last {
                        last.holds_table |= brace;
                    }
                    open.push(Open {
                        at: span.start,
                        brace,
                        has_equals: false,
                        holds_table: false,
                    });
                }
                (TokenKind::RightSquareBracket, Some(last)) if last.brace => {
                    let last = *last;
                    return self.unclosed(text, last, Some(span.start));
                }
                (TokenKind::RightSquareBracket | TokenKind::RightCurlyBracket, last) => {
                    let brace = kind == TokenKind::RightCurlyBracket;
                    if last.is_none_or(|last| last.brace != brace) {
                        let (this, other) = if brace { ("}", "{") } else { ("]", "[") };
                        let what = format!("this {this} closes nothing");
                        let hint = format!("take it out, or put the {other} that is missing");
                        let fault = TextFault::new(span.clone(), what).hint(hint);
                        self.faults.push(fault);
                        self.lost.push(span.start..text.len());
                        return;
                    }
                    open.pop();
                }
                (TokenKind::Comma, Some(last)) => last.has_equals = false,
                (TokenKind::Equals, Some(last)) => {
                    let Some(key) = key_before(&tokens, i) else {
                        i += 1;
                        continue;
                    };
                    let at = bytes(&tokens[key].0).start;
                    let key_starts_line =
                        key == 0 || tokens[key - 1].0.kind() == TokenKind::Newline;
                    if !last.brace {
                        let last = *last;
                        let run = run_of_pairs(&tokens, key);
                        return if key_starts_line && last.holds_table && !run.is_several {
                            self.unclosed(text, last, Some(at))
                        } else {
                            self.no_braces(text, &run)
                        };
                    }
                    if last.has_equals && key_starts_line {
                        let last = *last;
                        return self.unclosed(text, last, Some(at));
                    }
                    if last.has_equals && tokens[key].1 {
                        let what = "a comma is missing before this";
                        let name = &text[bytes(&tokens[key].0)];
                        let fault = TextFault::new(bytes(&tokens[key].0), what)
                            .hint(format!("write , {name} = …"));
                        self.faults.push(fault);
                        self.put(at - 1..at, ",");
                    }
                    last.has_equals = true;
                }
                _ => {}
            }
            i += 1;
        }
        if let Some(last) = open.last() {
            self.unclosed(text, *last, None);
        }
    }

    fn open_quote(&mut self, text: &str, span: Range<usize>, previous: Option<Token>) {
        let found = &text[span.clone()];
        let fault = if found.contains(is_curly) {
            let inner = found.trim_matches(|c: char| is_curly(c) || c == '"' || c == '\'');
            TextFault::new(
                span.clone(),
                "this quote is closed by a word-processor quote",
            )
            .hint(plain_quotes(inner))
        } else if previous.is_some_and(|p| p.kind() == TokenKind::Atom) {
            TextFault::new(span.clone(), NEEDS_QUOTES).hint("write '2 3/8\"' or \"2 3/8 in\"")
        } else {
            let quote = &found[..1];
            TextFault::new(span.clone(), "a quote is not closed on this line")
                .hint(format!("put {quote} at the end of the text"))
        };
        self.faults.push(fault);
        self.lost.push(line_of(text, span.start));
    }

    /// A bracket that has no partner up to `before`, or to the end of the text.
    fn unclosed(&mut self, text: &str, open: Open, before: Option<usize>) {
        let (this, other, whole) = if open.brace {
            ("{", "}", "values")
        } else {
            ("[", "]", "list")
        };
        let end = match whole {
            "list" => "the list ends",
            _ => "the values end",
        };
        let hint = match before.map(|at| text[line_of(text, at)].trim()) {
            Some(line) if text[line_of(text, open.at)].trim() != line => {
                let short: String = line.chars().take(40).collect();
                let cut = if short.len() < line.len() { "…" } else { "" };
                format!("put {other} where {end}, above the line `{short}{cut}`")
            }
            _ => format!("put {other} where {end}"),
        };
        let what = format!("this {this} is not closed");
        let fault = TextFault::new(open.at..open.at + 1, what).hint(hint);
        self.faults.push(fault);
        self.lost.push(open.at..text.len());
    }

    /// Values of a station that stand in the list without braces.
    fn no_braces(&mut self, text: &str, run: &Run) {
        let found = &text[run.span.clone()];
        let hint = if run.closed {
            "put { before them".to_owned()
        } else if found.contains('\n') || found.len() > 80 {
            "write { … } around each entry of the list".to_owned()
        } else {
            format!("write {{ {found} }}")
        };
        let what = "these values need { } around them";
        let fault = TextFault::new(run.span.clone(), what).hint(hint);
        self.faults.push(fault);
        self.lost.push(run.span.start..text.len());
    }
}

/// A bracket that waits for its partner.
#[derive(Clone, Copy)]
struct Open {
    at: usize,
    /// `{` rather than `[`.
    brace: bool,
    /// Whether there was an equals sign since the last comma.
    has_equals: bool,
    /// Whether the list already holds an entry in braces.
    holds_table: bool,
}

/// `key = value, key = value` without braces around it.
struct Run {
    span: Range<usize>,
    /// Whether there is more than one pair, or half a pair of braces: then it is an entry.
    is_several: bool,
    /// Whether only the opening brace is missing.
    closed: bool,
}

fn run_of_pairs(tokens: &[(Token, bool)], key: usize) -> Run {
    let start = bytes(&tokens[key].0).start;
    let mut run = Run {
        span: start..bytes(&tokens[key].0).end,
        is_several: false,
        closed: false,
    };
    let mut equals = 0;
    for (token, _) in &tokens[key..] {
        match token.kind() {
            TokenKind::Equals => equals += 1,
            TokenKind::RightCurlyBracket => {
                run.closed = true;
                break;
            }
            TokenKind::Comma => continue,
            TokenKind::Newline
            | TokenKind::Eof
            | TokenKind::LeftCurlyBracket
            | TokenKind::LeftSquareBracket
            | TokenKind::RightSquareBracket => break,
            _ => {}
        }
        run.span.end = bytes(token).end;
    }
    run.is_several = run.closed || equals > 1;
    run
}

/// The token that the key before this equals sign starts with.
fn key_before(tokens: &[(Token, bool)], equals: usize) -> Option<usize> {
    let is_name = |i: usize| {
        let kind = tokens[i].0.kind();
        kind == TokenKind::Atom || is_text(kind)
    };
    let mut key = equals.checked_sub(1).filter(|&i| is_name(i))?;
    while key >= 2 && tokens[key - 1].0.kind() == TokenKind::Dot && is_name(key - 2) {
        key -= 2;
    }
    Some(key)
}

/// Whether a line is `[word]`, `[word.word]` or `[[word]]`.
fn is_heading(text: &str, tokens: &[(Token, bool)]) -> bool {
    let line: Vec<&Token> = tokens
        .iter()
        .map(|(token, _)| token)
        .take_while(|token| !matches!(token.kind(), TokenKind::Newline | TokenKind::Eof))
        .collect();
    let words = line.iter().filter(|token| token.kind() == TokenKind::Atom);
    let (mut count, mut all) = (0, true);
    for word in words {
        count += 1;
        all &= is_word(&text[bytes(word)]);
    }
    let rest = line.iter().all(|token| {
        matches!(
            token.kind(),
            TokenKind::Atom
                | TokenKind::Dot
                | TokenKind::LeftSquareBracket
                | TokenKind::RightSquareBracket
        )
    });
    let closes = line
        .last()
        .is_some_and(|token| token.kind() == TokenKind::RightSquareBracket);
    count > 0 && all && rest && closes
}

/// Whether a string on one line ends in the quote it starts with.
fn is_closed(string: &str) -> bool {
    let Some(body) = string.get(1..string.len().saturating_sub(1)) else {
        return false;
    };
    if string.len() < 2 || !string.ends_with(&string[..1]) {
        return false;
    }
    let escapes = body.len() - body.trim_end_matches('\\').len();
    string.starts_with('\'') || escapes % 2 == 0
}
