//! Help where it is needed: how to lay the tape at every place, the words, and how lengths and files are written. Plain
//! pages, led to from where a word stands.

use super::lengths::set;
use super::views::{Content, drawing};
use hangtrue_core::flag::sentence;
use hangtrue_core::house::Place;
use hangtrue_core::walk::place_drawing;
use maud::html;

/// Where the pages are.
pub(super) const MEASURING: &str = "/help/measuring";
pub(super) const WORDS: &str = "/help/words";
pub(super) const FORMATS: &str = "/help/formats";

/// The places by what a hand does one after the other.
const GROUPS: [(&str, &str, &[Place]); 5] = [
    (
        "Between the jambs",
        "Hook the tape on one jamb, pull it straight and level, and read it where it meets the other. Bend no tape into a corner: read to its case and add the case's length, or use a folding rule.",
        &[
            Place::WidthTop,
            Place::WidthUpper,
            Place::WidthMiddle,
            Place::WidthLower,
            Place::WidthBottom,
            Place::HeightLeft,
            Place::HeightCentre,
            Place::HeightRight,
            Place::DiagonalRising,
            Place::DiagonalFalling,
            Place::Depth,
            Place::PostFirst,
            Place::PostSecond,
            Place::DepthLeft,
            Place::DepthRight,
            Place::HeadRise,
            Place::SashTop,
            Place::SashIn,
        ],
    ),
    (
        "With a level",
        "Hold the level along the edge and measure the gap at its end. A minus sign says the other way.",
        &[Place::LevelHead, Place::LevelSill, Place::PlumbLeft, Place::PlumbRight],
    ),
    (
        "The trim and what stands out",
        "From outer edge to outer edge of the trim; what sticks out is measured off the wall, by a rule set against it.",
        &[
            Place::TrimWidth,
            Place::TrimHeight,
            Place::TrimLeg,
            Place::TrimThickness,
            Place::ProudMost,
            Place::ProudHeight,
            Place::FaceAbove,
            Place::FaceOut,
        ],
    ),
    (
        "The sill and below",
        "Down from the top of the sill.",
        &[Place::SillOut, Place::SillPast, Place::SillToApronFoot, Place::SillToFloor, Place::SillToStop],
    ),
    (
        "The wall around",
        "How much free wall there is. On a ladder: on firm ground, three points of hold, nobody reaching sideways.",
        &[Place::WallAbove, Place::WallLeft, Place::WallRight, Place::CeilingToSill],
    ),
];

/// How the tape is laid at every place, each with its drawing.
pub(super) fn measuring() -> Content {
    let markup = html! {
        section.pane {
            h1 { "How to lay the tape" }
            p.lead { "Left and right are as seen from the room. Read twice where it is hard to reach; write what the tape says, and leave every deduction to the sizes." }
            nav.leaves aria-label="On this page" { @for (n, (title, ..)) in GROUPS.iter().enumerate() { a href={ "#group-" (n) } { (title) } } }
        }
        @for (n, (title, says, places)) in GROUPS.iter().enumerate() {
            section.pane #{ "group-" (n) } {
                h2 { (title) }
                p { (says) }
                div.how {
                    @for place in *places {
                        article id=(place.code()) { h3 { (sentence(place.words()).trim_end_matches('.')) } (drawing(&place_drawing(*place))) p { (set(place.how())) } }
                    }
                }
            }
        }
    };
    Content::plain("How to lay the tape", markup)
}

/// The words, each in a sentence; in the order of the alphabet.
pub(super) const GLOSSARY: &[(&str, &str)] = &[
    ("Apron", "The trim under a sill."),
    (
        "Board",
        "The wood that the shade hangs from; cloth is stapled to it, and it is fixed to the opening, the wall or the ceiling.",
    ),
    ("Bottom bar", "A bar in the hem that keeps the bottom straight and heavy."),
    ("Bracket", "A metal angle that carries a board on a wall."),
    ("Clear width", "What a straight shade passes through all the way down, with the jambs as they lean."),
    ("Cleat", "A hook on the wall that a cord is wound on, out of a child's reach."),
    ("Decide", "A question that only a person can answer before cloth is cut."),
    ("Deduction", "What is taken off the opening so that the shade moves freely."),
    ("Depth", "From the front edge of the opening back to the first thing in the way."),
    ("Diagonal", "From one corner to the opposite one: two that differ tell an opening out of square."),
    (
        "Entry",
        "One thing written in the book: a reading, a choice, a name. It is never changed; a later one stands over it.",
    ),
    ("Face cloth", "The cloth that is seen from the room."),
    (
        "Finished size",
        "What the shade measures when it hangs: wide from edge to edge, long from the top of the board to the hem.",
    ),
    ("Flap", "From the lowest row of rings to the hem."),
    ("Fold", "The height of cloth between two rows of rings."),
    ("Half drop", "A pattern that stands half a repeat lower in the next width."),
    ("Head", "The top edge of an opening; of a shade, from the top of the board to the top row of rings."),
    ("Hem", "The bottom edge of a shade."),
    ("Inside mount", "Between the jambs, under the head."),
    ("Interlining", "A soft layer between face cloth and lining."),
    ("Jamb", "A side of the opening."),
    ("Join", "Where two widths of cloth are sewn to one."),
    ("Kerf", "What a saw turns to dust at every cut."),
    ("Level", "True to the horizon, as a spirit level shows."),
    ("Lift", "What raises the shade: cord, chain, spring or motor."),
    ("Lining", "The cloth behind the face; it takes the light."),
    ("Opening", "A window or a door that gets a shade."),
    ("Outside mount", "On the wall, the trim, brackets or the ceiling, over the opening."),
    ("Overlap", "How far an outside shade passes the trim or the opening."),
    ("Pilot hole", "A hole drilled before a screw, so that the wood does not split."),
    ("Plumb", "True to a hanging line, straight up and down."),
    ("Projection", "How far something stands out from the wall."),
    ("Raised height", "What the shade takes up when it is pulled all the way up."),
    ("Read again", "A reading that does not fit the others, or that the workroom asked for."),
    ("Repeat", "How far it is from one place in the pattern to the same place again."),
    ("Rib", "A stiff rod in a pocket that keeps a fold straight."),
    ("Ring", "What a lift cord runs through behind a fold."),
    ("Setting", "A number of the workroom: a deduction, an allowance, a limit, each with its reason."),
    ("Settled", "No reading is in doubt and no question open: it may be cut."),
    ("Sill", "The ledge at the bottom of an opening."),
    ("Stud", "An upright of a framed wall, behind the plasterboard."),
    ("Trim", "The frame of wood around an opening, on the wall."),
    ("Turning", "Cloth that is folded over at an edge."),
    ("Wedge of light", "What shows between a level board and a head that slopes."),
];

/// A word as the end of an address.
fn anchor(word: &str) -> String {
    word.to_lowercase().replace(' ', "-")
}

/// The words of the trade and of this page.
pub(super) fn words() -> Content {
    let markup = html! {
        section.pane {
            h1 { "Words" }
            dl.words { @for (word, means) in GLOSSARY { dt id=(anchor(word)) { (word) } dd { (means) } } }
        }
    };
    Content::plain("Words", markup)
}

/// How lengths and files are written.
pub(super) fn formats() -> Content {
    let lengths: [(&str, &str); 9] = [
        ("35 7/8", "inches and a fraction of a tape: halves to sixty-fourths; 35-7/8 is the same"),
        ("35.875", "the same as a decimal"),
        ("35 7/8 in, 35 7/8\"", "inches, wherever they are typed"),
        ("2' 11 7/8\"", "feet and inches"),
        ("911", "in a house in millimetres"),
        ("911 mm, 91.1 cm, 0.911 m", "metric, wherever it is typed; a comma serves as the point"),
        ("-1/4", "less than nothing, where a reading has two sides: level and plumb"),
        ("34 3/7", "refused: no tape has sevenths"),
        ("34 9/8", "refused: more than a whole inch"),
    ];
    let files: [(&str, &str); 4] = [
        (
            "Job file (.json)",
            "One house: rooms, openings, every reading, every choice. Out of each house's page, and back into any book; the same house taken in twice adds only what is new. Its form is fixtures/job-file.schema.json.",
        ),
        ("Sheets (.html)", "Each stands alone, with its drawings; any browser opens and prints it, on Letter and A4."),
        ("Photos", "JPEG, PNG or WebP, up to 25 MB each."),
        (
            "Backup",
            "A folder with every entry as a line of JSON and every photo as it was. hangtrue restore takes it into a book.",
        ),
    ];
    let markup = html! {
        section.pane {
            h1 { "Formats" }
            h2 { "Lengths" }
            p { "A bare number is in the unit of the house. Every length is exact: what is typed is kept as it is." }
            table.list { thead { tr { th { "Typed" } th { "Taken as" } } } tbody { @for (typed, means) in lengths { tr { td { (set(typed)) } td { (means) } } } } }
            h2 { "Files" }
            table.list { thead { tr { th { "File" } th { "Holds" } } } tbody { @for (file, holds) in files { tr { td { (file) } td { (holds) } } } } }
        }
    };
    Content::plain("Formats", markup)
}

#[cfg(test)]
mod tests {
    use super::*;
    use hangtrue_core::length::{Length, LengthUnit, Typed};

    #[test]
    fn every_place_is_shown_once_and_words_are_in_order() {
        let mut places: Vec<Place> = GROUPS.iter().flat_map(|(.., places)| places.iter().copied()).collect();
        places.sort_unstable();
        assert_eq!(places, Place::ALL);
        let words: Vec<String> = GLOSSARY.iter().map(|(word, _)| anchor(word)).collect();
        assert!(words.windows(2).all(|pair| pair[0] < pair[1]), "{words:?}");
    }

    #[test]
    fn what_the_page_of_formats_says_is_what_is_read() {
        let right = Length::inches(287, 8);
        for (typed, unit) in [
            ("35 7/8", LengthUnit::Inch),
            ("35-7/8", LengthUnit::Inch),
            ("35.875", LengthUnit::Inch),
            ("35 7/8 in", LengthUnit::Millimetre),
            ("35 7/8\"", LengthUnit::Millimetre),
            ("2' 11 7/8\"", LengthUnit::Inch),
        ] {
            assert_eq!(Typed::read(typed, unit).unwrap().value(), right, "{typed}");
        }
        for typed in ["911", "911 mm", "91.1 cm", "0.911 m", "91,1 cm"] {
            assert_eq!(Typed::read(typed, LengthUnit::Millimetre).unwrap().value(), Length::mm(911), "{typed}");
        }
        assert_eq!(Typed::read("-1/4", LengthUnit::Inch).unwrap().value(), -Length::inches(1, 4));
        for typed in ["34 3/7", "34 9/8"] {
            assert!(Typed::read(typed, LengthUnit::Inch).is_err(), "{typed}");
        }
        let shown = formats().markup.into_string();
        for typed in ["35 7/8", "34 3/7", "34 9/8", "-1/4"] {
            assert!(shown.contains(typed), "{typed}");
        }
    }
}
