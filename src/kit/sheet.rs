//! The build sheet of a kit.

use super::KitFile;
use crate::body::Master;
use crate::casting::Day;
use crate::casting::sheet::{Picture, html};
use crate::mould::Mould;
use crate::spec::Design;

/// Pictures of a kit that the sheet shows: file, title, what is to be seen.
const SHOWN: [(&str, &str, &str); 3] = [
    (
        "views.png",
        "The master from the side, from above and from in front",
        "Three views of the master, first-angle projection",
    ),
    (
        "mould.png",
        "What is printed for the mould",
        "The printed parts of the mould, side by side",
    ),
    (
        "master.png",
        "The master",
        "The master, shaded, seen from the front and above",
    ),
];

/// The sheet, with those pictures among `files` that it shows.
pub(super) fn page(
    design: &Design,
    day: &Day,
    mould: &Mould,
    made: &Master,
    notes: &[String],
    files: &[KitFile],
) -> String {
    let pictures: Vec<Picture<'_>> = SHOWN
        .iter()
        .filter_map(|(path, title, alt)| {
            let file = files.iter().find(|f| f.path == *path)?;
            Some(Picture {
                title,
                alt,
                png: &file.bytes,
            })
        })
        .collect();
    let has_cores = !made.cores.is_empty();
    html(
        design,
        day,
        mould,
        made.overall,
        has_cores,
        &pictures,
        notes,
    )
}
