// A person's hand in tests: presses by what a screen reader says, and by nothing else.
@file:OptIn(ExperimentalTestApi::class)

package hangtrue.screens

import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.runtime.CompositionLocalProvider
import androidx.compose.ui.Modifier
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.hasClickAction
import androidx.compose.ui.test.hasContentDescription
import androidx.compose.ui.test.hasScrollToNodeAction
import androidx.compose.ui.test.hasSetTextAction
import androidx.compose.ui.test.performClick
import androidx.compose.ui.test.performScrollTo
import androidx.compose.ui.test.performScrollToNode
import androidx.compose.ui.test.performTextReplacement
import androidx.compose.ui.text.TextLayoutResult
import androidx.compose.ui.unit.Density
import java.io.File
import hangtrue.core.HouseBook
import java.nio.file.Files
import java.util.concurrent.atomic.AtomicLong
import kotlin.coroutines.EmptyCoroutineContext

/** An empty folder for a book. */
fun newFolder(): File = Files.createTempDirectory("hangtrue").toFile()

private val seeds = AtomicLong(1)

/** A real book in [folder], with a clock that goes on by a second at every touch, so that no two are a bouncing thumb. */
fun bookIn(folder: File, slow: Line = AtOnce) = WalkState(AtOnce, slow) { HouseBook.openSeeded(folder.path, seeds.getAndIncrement().toULong()) }

/** The device around the screens, of which only what was asked is noted. */
class Nowhere : Outside {
    /** What was asked, in order. */
    val asked = mutableListOf<String>()

    override fun takePhoto(on: String, caption: String) { asked += "photo of $caption" }
    override fun share(name: String, type: String, text: String) { asked += "share $name: ${text.length}" }
    override fun print(name: String, html: String) { asked += "print $name: ${html.length}" }
    override fun pickHouse() { asked += "pick" }
    override fun pickFolder() { asked += "folder" }
    override fun saveHouse(house: String, name: String) { asked += "save $name" }
}

/** The screens over a real book in [folder], on glass of this size and with this font scale. */
fun onGlass(
    folder: File,
    glass: Glass = glasses[1],
    fontScale: Float = 1f,
    laid: MutableList<TextLayoutResult> = mutableListOf(),
    outside: Outside = Nowhere(),
    slow: Line = AtOnce,
    test: SkikoComposeUiTest.(WalkState) -> Unit,
) {
    val width = (glass.wide * DENSITY).toInt()
    val height = (glass.high * DENSITY).toInt()
    SkikoComposeUiTest(width, height, EmptyCoroutineContext, Density(DENSITY, fontScale)).runTest {
        val state = bookIn(folder, slow)
        setContent {
            CompositionLocalProvider(LocalLaid provides { laid += it }) { Box(Modifier.fillMaxSize()) { App(state, outside) } }
        }
        waitForIdle()
        test(state)
        state.close()
    }
}

/** Presses what a screen reader calls [name], scrolling to it if need be. */
fun SkikoComposeUiTest.press(name: String, part: Boolean = false, nth: Int? = null) {
    val what = hasContentDescription(name, substring = part, ignoreCase = true) and hasClickAction()
    if (onAllNodes(what).fetchSemanticsNodes().isEmpty()) {
        onNode(hasScrollToNodeAction()).performScrollToNode(what)
    }
    val node = if (nth == null) onNode(what) else onAllNodes(what)[nth]
    runCatching { node.performScrollTo() }
    node.performClick()
    waitForIdle()
}

/** Writes [text] on the line called [name]. */
fun SkikoComposeUiTest.write(name: String, text: String) {
    val what = hasContentDescription(name) and hasSetTextAction()
    if (onAllNodes(what).fetchSemanticsNodes().isEmpty()) onNode(hasScrollToNodeAction()).performScrollToNode(what)
    onNode(what).performTextReplacement(text)
    waitForIdle()
}

/** True when something is called [name]. */
fun SkikoComposeUiTest.shows(name: String, part: Boolean = false): Boolean =
    onAllNodes(hasContentDescription(name, substring = part)).fetchSemanticsNodes().isNotEmpty()

/** The keys that a person presses for a reading written like `34 3/8` or `873.5`. */
fun keysFor(written: String): List<String> {
    val (whole, fraction) = written.split(' ').let { parts ->
        if (parts.size == 2) parts[0] to parts[1] else if ('/' in written) "" to written else written to ""
    }
    val digits = whole.map { if (it == '.') "point" else if (it == '-') "the other side" else digitNames[it - '0'] }
    return digits + if (fraction.isEmpty()) emptyList() else listOf(fractionName(fraction))
}

private val digitNames = listOf("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

private fun fractionName(fraction: String): String {
    val (over, under) = fraction.split('/')
    val numbers = digitNames + listOf("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen")
    val name = mapOf("2" to "half", "4" to "quarter", "8" to "eighth", "16" to "sixteenth").getValue(under)
    return numbers[over.toInt()] + " " + name + if (over == "1") "" else "s"
}
