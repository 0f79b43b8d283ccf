//! Writes every fixture's documents to the folder named by `DRAWING_LOOK`, to be looked at.

#![allow(clippy::unwrap_used, reason = "a failing look is a failing test")]

mod fixture;

use drawing::{picture, sheet, sheet_pdf};
use quantity::print::Units;
use stand::answer::Pose;

#[test]
fn every_document_is_made() {
    let folder = std::env::var_os("DRAWING_LOOK").map(std::path::PathBuf::from);
    for (name, answer) in fixture::all() {
        let svg = picture::svg(&answer, Pose::Unladen, Units::Metric).unwrap();
        let png = picture::png(&answer, Pose::Unladen, Units::Metric, 1200).unwrap();
        let page = sheet::sheet(&answer, Units::Metric, None);
        assert!(page.len() < 200_000, "{name}: {} bytes", page.len());
        let pdf = sheet_pdf::sheet_pdf(&answer, Units::Metric, None).unwrap();
        assert!(pdf.starts_with(b"%PDF"));
        assert!(svg.starts_with("<svg") && png.starts_with(b"\x89PNG"));
        if let Some(folder) = &folder {
            std::fs::write(folder.join(format!("{name}.svg")), svg).unwrap();
            std::fs::write(folder.join(format!("{name}.png")), png).unwrap();
            std::fs::write(folder.join(format!("{name}.pdf")), pdf).unwrap();
            std::fs::write(folder.join(format!("{name}.html")), page).unwrap();
            std::fs::write(folder.join(format!("{name}.in.html")), sheet::sheet(&answer, Units::Imperial, None)).unwrap();
        }
    }
}
