//! The sheet as one HTML file.

use std::fmt::Write;

use base64::Engine;
use base64::prelude::BASE64_STANDARD;

use super::{Block, Image, Page, Picture, Table};

const STYLE: &str = include_str!("sheet.css");

impl Page<'_> {
    /// The sheet as one HTML file that needs no other.
    #[must_use]
    pub fn to_html(&self) -> String {
        let mut out = String::new();
        // Writing into a string cannot fail.
        let _ = page(&mut out, self);
        out
    }
}

fn page(out: &mut String, page: &Page<'_>) -> std::fmt::Result {
    let title = escape(&page.title);
    write!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n\
         <h1>{title}</h1>\n"
    )?;
    for b in &page.blocks {
        block(out, b)?;
    }
    writeln!(out, "</main>\n</body>\n</html>")
}

fn block(out: &mut String, block: &Block<'_>) -> std::fmt::Result {
    match block {
        Block::Heading(text) => writeln!(out, "<h2>{}</h2>", escape(text)),
        Block::Text(text) => writeln!(out, "<p>{}</p>", escape(text)),
        Block::Caution(text) => writeln!(
            out,
            "<p class=\"caution\"><strong>Caution:</strong> {}</p>",
            escape(text)
        ),
        Block::Table(t) => table(out, t),
        Block::Pictures(shown) => pictures(out, shown),
        Block::Steps(first, steps) => {
            writeln!(out, "<ol class=\"steps\" start=\"{first}\">")?;
            for (i, step) in steps.iter().enumerate() {
                writeln!(
                    out,
                    "<li><label><input type=\"checkbox\"> <span>{}. {}</span></label></li>",
                    first + i,
                    escape(step)
                )?;
            }
            writeln!(out, "</ol>")
        }
        Block::List(items) => {
            writeln!(out, "<ul>")?;
            for item in items {
                writeln!(out, "<li>{}</li>", escape(item))?;
            }
            writeln!(out, "</ul>")
        }
        Block::Measured(rows) => measured(out, rows),
        Block::Room(what) => writeln!(
            out,
            "<p><label for=\"notes\">{}</label></p>\n<textarea id=\"notes\"></textarea>",
            escape(what)
        ),
    }
}

/// Text as it stands in HTML, within quotes too.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() && c != '\n' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

fn table(out: &mut String, table: &Table) -> std::fmt::Result {
    writeln!(out, "<table><caption>{}</caption>", escape(&table.caption))?;
    for [head, amount, more] in &table.rows {
        writeln!(
            out,
            "<tr><th scope=\"row\">{}</th><td class=\"amount\">{}</td><td>{}</td></tr>",
            escape(head),
            escape(amount),
            escape(more)
        )?;
    }
    writeln!(out, "</table>")
}

fn pictures(out: &mut String, pictures: &[Picture<'_>]) -> std::fmt::Result {
    writeln!(out, "<div class=\"pictures\">")?;
    for picture in pictures {
        let (class, mime) = match picture.kind {
            Image::Png => ("", "png"),
            // Lettering is small: a drawing is shown across the page.
            Image::Svg => (" class=\"drawing\"", "svg+xml"),
        };
        writeln!(
            out,
            "<figure{class}><img alt=\"{}\" src=\"data:image/{mime};base64,{}\"><figcaption>{}\
             </figcaption></figure>",
            escape(picture.alt),
            BASE64_STANDARD.encode(picture.file),
            escape(picture.title)
        )?;
    }
    writeln!(out, "</div>")
}

fn measured(out: &mut String, rows: &[[String; 2]]) -> std::fmt::Result {
    writeln!(
        out,
        "<table><caption>What came out</caption>\n<tr><th scope=\"col\">What</th>\
         <th scope=\"col\">Reckoned</th><th scope=\"col\">Measured</th></tr>"
    )?;
    for [what, reckoned] in rows {
        let what = escape(what);
        writeln!(
            out,
            "<tr><th scope=\"row\">{what}</th><td>{}</td><td><input class=\"measured\" \
             aria-label=\"{what}, measured\"></td></tr>",
            escape(reckoned)
        )?;
    }
    writeln!(out, "</table>")
}
