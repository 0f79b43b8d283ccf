//! Pieces of a column, and the columns they flow through.

use crate::svg::Ink;

/// Something that is set in one place: a heading, a paragraph, a row, a gauge.
#[derive(Clone, Debug, Default)]
pub(super) struct Piece {
    pub(super) height: f64,
    /// SVG elements with the piece's upper left corner at the origin.
    pub(super) elements: String,
    /// It is of no use at the foot of a column: headings, heads of tables.
    pub(super) keep_with_next: bool,
}

/// A place for pieces, from the top down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Region {
    pub(super) page: usize,
    pub(super) x: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
}

/// A piece in its place.
#[derive(Clone, Debug)]
pub(super) struct Placed<'a> {
    pub(super) page: usize,
    pub(super) at: [f64; 2],
    pub(super) piece: &'a Piece,
}

/// Fills the regions with the pieces in order. A region that cannot take a piece is
/// left for the next one; a piece too high for any empty region is set all the same, so that nothing is lost.
pub(super) fn fill(pieces: &[Piece], regions: impl Iterator<Item = Region>) -> Vec<Placed<'_>> {
    let mut placed = Vec::with_capacity(pieces.len());
    let mut at = 0;
    for region in regions {
        if at == pieces.len() {
            break;
        }
        let mut y = region.top;
        while at < pieces.len() {
            // No space above the first piece of a column.
            if y <= region.top && pieces[at].elements.is_empty() {
                at += 1;
                continue;
            }
            // What has to stay together is tried together.
            let mut end = at + 1;
            while end < pieces.len() && pieces[end - 1].keep_with_next {
                end += 1;
            }
            let height: f64 = pieces[at..end].iter().map(|p| p.height).sum();
            let fits = y + height <= region.bottom;
            if !fits && (y > region.top || region.bottom - region.top < 200.0) {
                break;
            }
            for piece in &pieces[at..end] {
                placed.push(Placed { page: region.page, at: [region.x, y], piece });
                y += piece.height;
            }
            at = end;
        }
    }
    placed
}

/// Writes placed pieces of a page.
pub(super) fn write(ink: &mut Ink, placed: &[Placed<'_>], page: usize) {
    for p in placed.iter().filter(|p| p.page == page) {
        ink.group("", p.at, &p.piece.elements);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(height: f64, keep_with_next: bool) -> Piece {
        Piece { height, elements: "x".to_owned(), keep_with_next }
    }

    fn columns() -> impl Iterator<Item = Region> {
        (0..).map(|n| Region { page: n / 2, x: 0.0, top: 0.0, bottom: 300.0 })
    }

    #[test]
    fn pieces_go_on_in_the_next_column() {
        let pieces = [piece(200.0, false), piece(200.0, false), piece(200.0, false)];
        let placed = fill(&pieces, columns());
        assert_eq!(placed.iter().map(|p| p.page).collect::<Vec<_>>(), [0, 0, 1]);
        assert!(placed.iter().all(|p| p.at[1] == 0.0));
    }

    #[test]
    fn a_heading_goes_with_what_it_heads() {
        let pieces = [piece(250.0, false), piece(30.0, true), piece(100.0, false)];
        let placed = fill(&pieces, columns());
        assert!(placed[1].at[1].abs() < 1e-9);
        assert!((placed[2].at[1] - 30.0).abs() < 1e-9);
    }

    #[test]
    fn space_at_the_head_of_a_column_is_dropped() {
        let pieces = [piece(280.0, false), Piece { height: 40.0, ..Piece::default() }, piece(30.0, false)];
        let placed = fill(&pieces, columns());
        assert_eq!(placed.len(), 2);
        assert!(placed[1].at[1].abs() < 1e-9);
    }

    #[test]
    fn nothing_is_lost_for_being_too_high() {
        let pieces = [piece(10.0, false), piece(900.0, false), piece(10.0, false)];
        assert_eq!(fill(&pieces, columns()).len(), 3);
    }
}
