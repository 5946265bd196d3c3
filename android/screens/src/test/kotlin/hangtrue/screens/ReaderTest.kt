// What a screen reader is told and in which order, and what a keyboard with real keys does.
@file:OptIn(ExperimentalTestApi::class)

package hangtrue.screens

import androidx.compose.ui.input.key.Key
import androidx.compose.ui.semantics.LiveRegionMode
import androidx.compose.ui.semantics.SemanticsProperties
import androidx.compose.ui.semantics.getOrNull
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.hasTestTag
import androidx.compose.ui.test.isRoot
import androidx.compose.ui.test.performKeyInput
import androidx.compose.ui.test.pressKey
import hangtrue.core.Shown
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertTrue
import org.junit.jupiter.api.Test

class ReaderTest {
    @Test
    fun `fractions are spoken, and what is typed is announced`() = onGlass(newFolder()) { state ->
        begin()
        listOf("three", "four", "three eighths").forEach { press(it) }
        val typed = onNode(hasTestTag("typed")).fetchSemanticsNode()
        assertEquals("thirty-four and three eighths inches", typed.said())
        assertEquals(LiveRegionMode.Polite, typed.config[SemanticsProperties.LiveRegion])
        press("keep thirty-four and three eighths inches")
        val notice = onNode(hasTestTag("notice")).fetchSemanticsNode()
        assertEquals(LiveRegionMode.Polite, notice.config[SemanticsProperties.LiveRegion])
        assertTrue(notice.said().contains("kept"), notice.said())
        val prompt = onNode(hasTestTag("prompt")).fetchSemanticsNode()
        assertEquals(LiveRegionMode.Polite, prompt.config[SemanticsProperties.LiveRegion])
        assertTrue(prompt.said().startsWith("Middle width"), prompt.said())
    }

    @Test
    fun `nothing on the pad is named by its looks alone`() = onGlass(newFolder()) { state ->
        begin()
        val named = state.reading.run { digits + quick + edit + accept + later }.associate { it.id to it.spoken }
        val seen = nodes().filter { it.tag() in named }.associate { it.tag()!! to it.said() }
        assertEquals(named.toSortedMap(), seen.toSortedMap())
        assertTrue(named.values.none { '/' in it || '⌫' in it }, named.toString())
    }

    @Test
    fun `the order is title, prompt, number, pad`() = onGlass(newFolder()) { _ ->
        begin()
        val order = nodes().mapNotNull { it.tag() }
        val wanted = listOf("back", "prompt", "typed", "digit_1", "digit_0", "sixteenths_1", "sixteenths_2", "erase", "accept")
        assertEquals(wanted, order.filter { it in wanted })
    }

    @Test
    fun `every screen has a heading`() = onGlass(newFolder()) { state ->
        fun heading() = nodes().any { SemanticsProperties.Heading in it.config }
        assertTrue(heading())
        begin()
        assertTrue(heading())
        readAll(state)
        assertTrue(heading())
        assertTrue(state.screen!!.shown is Shown.Opening)
    }

    @Test
    fun `real keys type, keep and take off`() = onGlass(newFolder()) { state ->
        begin()
        fun keys(keys: List<Key>) = onAllNodes(isRoot())[0].performKeyInput { keys.forEach { pressKey(it) } }.also { waitForIdle() }
        keys(listOf(Key.Three, Key.Five, Key.Backspace, Key.Four, Key.Spacebar, Key.Three, Key.Slash, Key.Eight))
        assertEquals("34 3/8", state.reading.typed)
        keys(listOf(Key.Enter))
        assertEquals("Middle width", state.reading.prompt)
        // a fraction that is begun and taken off again leaves the inches as they are
        keys(listOf(Key.Three, Key.Four, Key.Spacebar, Key.One, Key.Backspace))
        assertEquals("34", state.reading.typed)
        keys(listOf(Key.Spacebar, Key.One, Key.Slash, Key.One, Key.Six))
        assertEquals("34 1/16", state.reading.typed)
        keys(listOf(Key.Enter))
        assertEquals("34 3/8", (state.screen!!.shown as Shown.Reading).screen.places.first { it.go.label == "Top width" }.text.removeSuffix(" in").removeSuffix("\""))
        // a laser writes its unit; an inch pad takes the point
        keys(listOf(Key.Eight, Key.Seven, Key.Three, Key.Spacebar, Key.M, Key.M, Key.Enter))
        assertEquals("Bottom width 873 mm, kept.", state.screen!!.notice!!.says)
        keys(listOf(Key.Three, Key.Four, Key.Period, Key.Three, Key.Seven, Key.Five))
        assertEquals("34.375", state.reading.typed)
    }
}
