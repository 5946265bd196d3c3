// The pad's inch of tape, looked at as a person does: the lines are found in the drawn pixels, and each must stand in the middle
// of its key, and where that fraction is on an inch, within one dp.
@file:OptIn(ExperimentalTestApi::class)

package hangtrue.screens

import androidx.compose.runtime.CompositionLocalProvider
import androidx.compose.ui.geometry.Rect
import androidx.compose.ui.graphics.ImageBitmap
import androidx.compose.ui.graphics.toPixelMap
import androidx.compose.ui.platform.LocalLayoutDirection
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.hasTestTag
import androidx.compose.ui.unit.LayoutDirection
import hangtrue.core.Event
import hangtrue.core.Hand
import hangtrue.core.Theme
import kotlin.math.abs
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertTrue
import org.junit.jupiter.api.Test

class TapeTest {
    private val folder = newFolder()

    @Test
    fun `every fraction key meets its own line`() {
        val wrong = mutableListOf<String>()
        for (glass in glasses) for (scale in listOf(1f, 2f)) onGlass(folder, glass, scale) { state ->
            if (scale == 1f && glass == glasses.first()) begin("Larch House")
            for (theme in Theme.entries) for (hand in Hand.entries) {
                state.act(Event.UseTheme(theme))
                state.act(Event.UseHand(hand))
                waitForIdle()
                wrong += offTheirLines().map { "${glass.name}, type $scale, $theme, $hand: $it" }
            }
        }
        assertEquals(emptyList<String>(), wrong)
    }

    @Test
    fun `the tape runs from the left where words run from the right`() {
        SkikoComposeUiTest(822, 1782, kotlin.coroutines.EmptyCoroutineContext, androidx.compose.ui.unit.Density(DENSITY)).runTest {
            val state = bookIn(folder, AtOnce)
            setContent { CompositionLocalProvider(LocalLayoutDirection provides LayoutDirection.Rtl) { App(state, Nowhere()) } }
            waitForIdle()
            begin("Larch House")
            assertEquals(emptyList<String>(), offTheirLines())
            state.close()
        }
    }

    @Test
    fun `a line beside its key is found`() {
        val keys = mapOf("1/2" to Rect(100f, 0f, 120f, 40f))
        assertEquals(emptyList<String>(), beside(keys, listOf(110f), Rect(0f, 0f, 220f, 10f)))
        assertEquals(1, beside(keys, listOf(113f), Rect(0f, 0f, 226f, 10f)).size)
        assertEquals(1, beside(keys, listOf(110f), Rect(0f, 0f, 226f, 10f)).size)
        assertEquals(1, beside(keys, listOf(110f, 150f), Rect(0f, 0f, 220f, 10f)).size)
    }

    private fun SkikoComposeUiTest.offTheirLines(): List<String> {
        val picture = captureToImage()
        val tape = onNode(hasTestTag("tape")).fetchSemanticsNode().boundsInRoot
        val keys = nodes().filter { it.tag().orEmpty().startsWith("sixteenths_") }
            .associate { val n = it.tag()!!.removePrefix("sixteenths_").toInt(); "$n/16" to it.boundsInRoot }
        assertEquals(15, keys.size)
        val (odd, even) = keys.entries.partition { it.key.substringBefore('/').toInt() % 2 == 1 }
        // in the quarter nearest to the keys, where no filling of the tape reaches
        val up = lines(picture, tape, tape.top + 1.5f * DENSITY)
        val down = lines(picture, tape, tape.bottom - 1.5f * DENSITY)
        assertTrue(down.size >= 2, "the inch has no ends")
        return beside(odd.associate { it.toPair() }, up, tape) + beside(even.associate { it.toPair() }, down.drop(1).dropLast(1), tape)
    }

    /** What is wrong with [lines] for these [keys] of fractions: in words. */
    private fun beside(keys: Map<String, Rect>, lines: List<Float>, tape: Rect): List<String> {
        if (keys.size != lines.size) return listOf("${lines.size} lines for ${keys.size} keys")
        return keys.entries.sortedBy { it.value.left }.zip(lines).mapNotNull { (key, line) ->
            val (over, under) = key.key.split('/').map { it.toFloat() }
            val inch = tape.left + tape.width * over / under
            if (abs(key.value.center.x - line) > DENSITY || abs(inch - line) > DENSITY) "${key.key} has its middle at ${key.value.center.x}, its line at $line, on an inch it is at $inch" else null
        }
    }

    /** The middles of the dark strokes that a row of pixels goes through. */
    private fun lines(picture: ImageBitmap, tape: Rect, y: Float): List<Float> {
        val (from, wide) = tape.left.toInt() to tape.width.toInt()
        val row = picture.toPixelMap(from, y.toInt(), wide, 1, IntArray(wide)).buffer
        val middles = mutableListOf<Float>()
        var began = -1
        for (x in 0..wide) {
            val dark = x < wide && luminance(row[x]) < 0.18
            if (dark && began < 0) began = x
            if (!dark && began >= 0) {
                middles += from + (began + x) / 2f
                began = -1
            }
        }
        return middles
    }
}
