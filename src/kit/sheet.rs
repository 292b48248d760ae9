//! The pictures on a kit's build sheet.

use std::sync::Arc;

use super::KitFile;
use crate::casting::sheet::{Image, Picture, Subject};
use crate::drawing::picture;
use crate::export::png;
use crate::mould::Mould;
use crate::spec::Route;

/// Pictures of a kit that the sheet shows: file, title, what is to be seen.
const SHOWN: [(&str, &str, &str); 7] = [
    (
        "drawing.svg",
        "The master, dimensioned; drawing.svg prints at 1:1",
        "The dimensioned drawing of the master in three views, with sections",
    ),
    (
        "wire.svg",
        "Wire and hook as they are cut and bent; wire.svg prints at 1:1",
        "The plan of wire and hook: cut lengths, marks, bent shapes",
    ),
    (
        "sink.svg",
        "How fast other sizes and weights sink",
        "The chart of sinking speed by size and weight",
    ),
    (
        "views.png",
        "The bait as it comes from the mould, from its sides",
        "The bait from the side, from above, from in front, and from below where that differs; \
         first-angle projection",
    ),
    (
        "casting.png",
        "The casting as it leaves the mould, on both its sides: red is what holds a half, blue where \
         air stays",
        "The casting with sprue and vents, seen from both sides",
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

/// Those of `files` that the sheet shows.
pub(super) fn pictures<'a>(mould: &Mould, files: &'a [KitFile]) -> Vec<Picture<'a>> {
    // Boxes hold the master's shape themselves: it need not be made.
    let shown = SHOWN
        .iter()
        .filter(|(path, ..)| mould.route != Route::Boxes || *path != "master.png");
    shown
        .filter_map(|&(path, title, alt)| {
            let file = files.iter().find(|f| f.path == path)?;
            Some(Picture {
                title,
                alt,
                file: &file.bytes,
                kind: if path.ends_with(".svg") {
                    Image::Svg
                } else {
                    Image::Png
                },
            })
        })
        .collect()
}

/// The pixels of a sheet's pictures; none for drawings, which have pages of their own.
pub(super) fn images(subject: &Subject<'_>) -> Vec<Option<Arc<picture::Image>>> {
    let pictures = subject.pictures.iter();
    pictures
        .map(|p| match p.kind {
            Image::Png => png::from_bytes(p.file).map(Arc::new),
            Image::Svg => None,
        })
        .collect()
}
