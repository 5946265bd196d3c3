// The palettes by the numbers: every ink on everything it stands on, before any screen is drawn.
package hangtrue.screens

import androidx.compose.ui.graphics.toArgb
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertTrue
import org.junit.jupiter.api.Test

class LookTest {
    @Test
    fun `contrast as WCAG 2 2 defines it`() {
        // black on white is 21:1 by definition; #777 on white is 4.48:1, the usual example just below 4.5
        assertEquals(21.0, contrast(0x000000, 0xffffff), 1e-9)
        assertEquals(4.48, contrast(0x777777, 0xffffff), 0.005)
    }

    @Test
    fun `every ink reaches 7 to 1, every edge 3 to 1`() {
        for ((name, look) in listOf("indoors" to Indoors, "outdoors" to Outdoors)) {
            val grounds = listOf("ground" to look.ground, "card" to look.card, "key" to look.key)
            val inks = listOf("ink" to look.ink, "quiet" to look.quiet, "know" to look.know, "decide" to look.decide, "again" to look.again)
            for ((on, ground) in grounds) {
                for ((ink, color) in inks) {
                    val ratio = contrast(color.toArgb(), ground.toArgb())
                    assertTrue(ratio >= 7, "$name: $ink on $on is %.2f".format(ratio))
                }
                for ((edge, color) in listOf("line" to look.line, "focus" to look.focus, "strong" to look.strong)) {
                    val ratio = contrast(color.toArgb(), ground.toArgb())
                    assertTrue(ratio >= 3, "$name: $edge on $on is %.2f".format(ratio))
                }
            }
            assertTrue(contrast(look.onStrong.toArgb(), look.strong.toArgb()) >= 7, "$name: on strong")
            assertTrue(contrast(look.ink.toArgb(), look.cloth.toArgb()) >= 7, "$name: on cloth")
        }
        assertEquals(21.0, contrast(Outdoors.ink.toArgb(), Outdoors.ground.toArgb()), 1e-6)
    }
}
