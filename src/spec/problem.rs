//! What is wrong with a spec, and where.

use std::fmt;
use std::ops::Range;

/// Where in the maker's text a problem lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Bytes of the text.
    pub span: Range<usize>,
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Problem {
    /// Field path such as `body.outline[1].height`; empty for the whole spec.
    pub path: String,
    /// Where it stands, if the spec came from a text.
    pub place: Option<Place>,
    /// What is wrong, as a short sentence without a full stop.
    pub what: String,
    /// The value found, as written.
    pub value: Option<String>,
    /// What would be accepted.
    pub limit: Option<String>,
    /// What to try.
    pub hint: Option<String>,
}

impl Problem {
    /// A problem at a field path.
    pub fn new(path: impl Into<String>, what: impl Into<String>) -> Self {
        Problem {
            path: path.into(),
            place: None,
            what: what.into(),
            value: None,
            limit: None,
            hint: None,
        }
    }

    /// States the value found; of one that is long, such as 1e300 in figures, the beginning.
    #[must_use]
    pub fn value(mut self, value: impl fmt::Display) -> Self {
        const LONG: usize = 60;
        let mut value = value.to_string();
        if let Some((cut, _)) = value.char_indices().nth(LONG) {
            value.truncate(cut);
            value.push('…');
        }
        self.value = Some(value);
        self
    }

    /// States what would be accepted.
    #[must_use]
    pub fn limit(mut self, limit: impl fmt::Display) -> Self {
        self.limit = Some(limit.to_string());
        self
    }

    /// States what to try.
    #[must_use]
    pub fn hint(mut self, hint: impl fmt::Display) -> Self {
        self.hint = Some(hint.to_string());
        self
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "line {}, column {}: ", place.line, place.column)?;
        }
        if !self.path.is_empty() {
            write!(f, "{}: ", self.path)?;
        }
        f.write_str(&self.what)?;
        if let Some(value) = &self.value {
            write!(f, "; found {value}")?;
        }
        if let Some(limit) = &self.limit {
            write!(f, "; accepted: {limit}")?;
        }
        if let Some(hint) = &self.hint {
            write!(f, "; hint: {hint}")?;
        }
        Ok(())
    }
}

/// Everything that is wrong with a spec, in the order of its text. Never empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problems(pub Vec<Problem>);

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Problems(vec![problem])
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, problem) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Problems {}
