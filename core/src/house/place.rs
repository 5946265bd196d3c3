//! Places: where on an opening a tape was laid.

use serde::{Deserialize, Serialize};

macro_rules! places {
    ( $( $variant:ident $code:literal $words:literal $how:literal ; )* ) => {
        /// Where on an opening a reading is taken. Left and right are as seen from inside the room.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
        pub enum Place {
            $( #[doc = $how] #[serde(rename = $code)] $variant, )*
        }

        impl Place {
            /// Every place, in the order of a sheet.
            pub const ALL: &'static [Self] = &[ $( Self::$variant, )* ];

            /// Its name in job files and calculators.
            pub const fn code(self) -> &'static str {
                match self { $( Self::$variant => $code, )* }
            }

            /// Its name in a sentence: "the top width".
            pub const fn words(self) -> &'static str {
                match self { $( Self::$variant => $words, )* }
            }

            /// How the tape is laid there.
            pub const fn how(self) -> &'static str {
                match self { $( Self::$variant => $how, )* }
            }
        }
    };
}

places! {
    WidthTop "width_top" "top width" "Jamb to jamb near the front, just below the head.";
    WidthUpper "width_upper" "upper width" "Jamb to jamb, a quarter of the height down: only where more than three widths help.";
    WidthMiddle "width_middle" "middle width" "Jamb to jamb at half height.";
    WidthLower "width_lower" "lower width" "Jamb to jamb, a quarter of the height up: only where more than three widths help.";
    WidthBottom "width_bottom" "bottom width" "Jamb to jamb just above the sill.";
    HeightLeft "height_left" "left height" "Hook on the sill, run up to the head, at the left jamb.";
    HeightCentre "height_centre" "centre height" "Hook on the sill, run up to the head, in the middle.";
    HeightRight "height_right" "right height" "Hook on the sill, run up to the head, at the right jamb.";
    DiagonalRising "diagonal_rising" "rising diagonal" "From the bottom left corner to the top right one.";
    DiagonalFalling "diagonal_falling" "falling diagonal" "From the top left corner to the bottom right one.";
    LevelHead "level_head" "level of the head" "A level held under the head: how much higher the right end is (a minus sign: lower).";
    LevelSill "level_sill" "level of the sill" "A level laid on the sill: how much higher the right end is (a minus sign: lower).";
    PlumbLeft "plumb_left" "plumb of the left jamb" "A level held to the left jamb: how far the top stands to the right of the foot (a minus sign: to the left).";
    PlumbRight "plumb_right" "plumb of the right jamb" "A level held to the right jamb: how far the top stands to the right of the foot (a minus sign: to the left).";
    Depth "depth" "depth" "Front edge back to the first obstruction (sash, handle, screen), at the shallowest place.";
    PostFirst "post_first" "first post" "From the left jamb to the middle of the post between two shades side by side.";
    PostSecond "post_second" "second post" "From the left jamb to the middle of the second post, where three shades hang side by side.";
    DepthLeft "depth_left" "depth at the left" "As the depth, at the left jamb: a sash or a screen need not stand parallel to the front.";
    DepthRight "depth_right" "depth at the right" "As the depth, at the right jamb: a sash or a screen need not stand parallel to the front.";
    HeadRise "head_rise" "rise of the arch" "From where the arch begins, which the heights at the jambs are read up to, to its highest point.";
    SashTop "sash_top" "top of the sash" "From the sill up to the top of a sash that opens into the room.";
    SashIn "sash_in" "sash into the room" "How far a sash that opens into the room comes inward, from where it is when shut.";
    TrimWidth "trim_width" "trim width" "Over the trim, outside to outside.";
    TrimHeight "trim_height" "trim height" "Top of the trim down to the sill.";
    TrimLeg "trim_leg" "trim leg" "Width of one leg of the trim.";
    TrimThickness "trim_thickness" "trim thickness" "How far the trim stands off the wall.";
    ProudMost "proud_most" "deepest projection" "How far whatever stands out most under the shade (handle, crank, catch) stands off the wall.";
    ProudHeight "proud_height" "top of the handle" "From the sill up to the top of the handle or crank that has to be reached.";
    SillOut "sill_out" "sill projection" "How far the sill or apron sticks out from the wall.";
    SillPast "sill_past" "sill past the trim" "How far the sill runs out to the side past the trim, each side.";
    SillToApronFoot "sill_to_apron_foot" "sill to apron foot" "From the sill down to the foot of the apron.";
    SillToFloor "sill_to_floor" "sill to floor" "From the sill down to the floor.";
    SillToStop "sill_to_stop" "sill to what is below" "From the sill down to a radiator, hearth or shelf below it.";
    WallAbove "wall_above" "wall above" "Free wall above the trim, up to a ceiling or cornice.";
    WallLeft "wall_left" "wall at the left" "Free wall to the left of the trim, up to a corner, a post or a pipe.";
    WallRight "wall_right" "wall at the right" "Free wall to the right of the trim, up to a corner, a post or a pipe.";
    CeilingToSill "ceiling_to_sill" "ceiling to sill" "Hook on the sill, run up to the ceiling where the board will be, at the lowest place.";
    FaceAbove "face_above" "face above the opening" "Height of the flat face of the beam or frame above the opening, from its lower edge up.";
    FaceOut "face_out" "face off the wall" "How far the face of the beam or frame stands off the wall (0 when it is flush).";
}

impl Place {
    /// True where a reading has a side, so that a minus sign means something.
    pub const fn has_sign(self) -> bool {
        matches!(self, Self::LevelHead | Self::LevelSill | Self::PlumbLeft | Self::PlumbRight)
    }

    /// The widths between the jambs, top first, each with its height as a part of the whole (in quarters from
    /// the sill).
    pub const WIDTHS: [(Self, i64); 5] = [
        (Self::WidthTop, 4),
        (Self::WidthUpper, 3),
        (Self::WidthMiddle, 2),
        (Self::WidthLower, 1),
        (Self::WidthBottom, 0),
    ];

    /// The heights, left first.
    pub const HEIGHTS: [Self; 3] = [Self::HeightLeft, Self::HeightCentre, Self::HeightRight];

    /// The diagonals.
    pub const DIAGONALS: [Self; 2] = [Self::DiagonalRising, Self::DiagonalFalling];

    /// The depths: what is shallowest counts.
    pub const DEPTHS: [Self; 3] = [Self::Depth, Self::DepthLeft, Self::DepthRight];

    /// True for a width between the jambs.
    pub const fn is_width(self) -> bool {
        matches!(self, Self::WidthTop | Self::WidthUpper | Self::WidthMiddle | Self::WidthLower | Self::WidthBottom)
    }

    /// True for a height between sill and head.
    pub const fn is_height(self) -> bool {
        matches!(self, Self::HeightLeft | Self::HeightCentre | Self::HeightRight)
    }

    /// True for a diagonal.
    pub const fn is_diagonal(self) -> bool {
        matches!(self, Self::DiagonalRising | Self::DiagonalFalling)
    }

    /// The place of this code.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|place| place.code() == code)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_one_to_one_and_the_same_in_json() {
        for place in Place::ALL {
            assert_eq!(Place::from_code(place.code()), Some(*place));
            assert_eq!(serde_json::to_string(place).unwrap(), format!("\"{}\"", place.code()));
        }
    }
}
