// The look: two palettes (indoors, and outdoors for sun on the glass), type sizes and measures. Nothing else names a colour.
package hangtrue.screens

import androidx.compose.foundation.LocalIndication
import androidx.compose.runtime.Composable
import androidx.compose.runtime.CompositionLocalProvider
import androidx.compose.runtime.Immutable
import androidx.compose.runtime.staticCompositionLocalOf
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.unit.Dp
import androidx.compose.ui.unit.TextUnit
import androidx.compose.ui.unit.dp
import androidx.compose.ui.unit.sp

/** Every colour and line of one palette. Text colours reach 7:1 on [ground], [card] and [key]; lines that carry meaning 3:1. */
@Immutable
class Look(
    /** Behind everything. */
    val ground: Color,
    /** Behind things that stand on the ground. */
    val card: Color,
    /** Words and digits. */
    val ink: Color,
    /** Words that matter less; still 7:1. */
    val quiet: Color,
    /** Edges of cards, keys and fields. */
    val line: Color,
    /** A key that is live. */
    val key: Color,
    /** The key that accepts, what is selected, and the place that is being read. */
    val strong: Color,
    /** On [strong]. */
    val onStrong: Color,
    /** The cloth in the drawing and the shade of what is done. */
    val cloth: Color,
    /** Worth knowing. */
    val know: Color,
    /** To be decided. */
    val decide: Color,
    /** To be read again. */
    val again: Color,
    /** The edge of what a keyboard would press. */
    val focus: Color,
    /** Thickness of an edge. */
    val edge: Dp,
)

/** Linen, ink and brass: for rooms. */
val Indoors = Look(
    ground = Color(0xFFF6F3EC),
    card = Color(0xFFFFFFFF),
    ink = Color(0xFF14262C),
    quiet = Color(0xFF3D4C52),
    line = Color(0xFF7D8686),
    key = Color(0xFFFFFFFF),
    strong = Color(0xFF17424E),
    onStrong = Color(0xFFFFFFFF),
    cloth = Color(0xFFE9D3A8),
    know = Color(0xFF34484F),
    decide = Color(0xFF6B4300),
    again = Color(0xFF8A1C10),
    focus = Color(0xFFB35C00),
    edge = 1.dp,
)

/** Black on white and nothing between: what can be read against the sun. Shapes tell apart what colours tell apart indoors. */
val Outdoors = Look(
    ground = Color.White,
    card = Color.White,
    ink = Color.Black,
    quiet = Color.Black,
    line = Color.Black,
    key = Color.White,
    strong = Color.Black,
    onStrong = Color.White,
    cloth = Color(0xFFFFE08A),
    know = Color.Black,
    decide = Color.Black,
    again = Color(0xFF7A0000),
    focus = Color(0xFFB35C00),
    edge = 2.dp,
)

internal val LocalLook = staticCompositionLocalOf { Indoors }

/** The palette in force. */
val look: Look
    @Composable get() = LocalLook.current

/** Puts a palette in force. */
@Composable
fun WithLook(outdoors: Boolean, content: @Composable () -> Unit) {
    val palette = if (outdoors) Outdoors else Indoors
    CompositionLocalProvider(LocalLook provides palette, LocalIndication provides Pressed(palette.focus), content = content)
}

/** Sizes of words. */
object Type {
    val digits: TextUnit = 44.sp
    val title: TextUnit = 22.sp
    val prompt: TextUnit = 20.sp
    val body: TextUnit = 16.sp
    val small: TextUnit = 14.sp
    val key: TextUnit = 28.sp
    val fraction: TextUnit = 17.sp
}

/** Measures that tests hold the screens to. */
object Reach {
    /** The least width and height of a digit key. */
    val digit: Dp = 64.dp

    /** The least space between two keys. */
    val gap: Dp = 8.dp

    /** The least width and height of anything else that can be touched. */
    val touch: Dp = 48.dp

    /** A screen this wide keeps its words to a column of this width. */
    val column: Dp = 640.dp
}
