//! File formats: each turns what other rooms made into bytes, and writes nothing.

pub mod svg;
