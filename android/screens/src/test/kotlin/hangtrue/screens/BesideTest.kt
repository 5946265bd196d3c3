// A house beside what is open in it, on glass that has room for both; and the same glass turned, which has not.
@file:OptIn(ExperimentalTestApi::class)

package hangtrue.screens

import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.hasContentDescription
import androidx.compose.ui.test.hasTestTag
import androidx.compose.ui.test.isSelected
import hangtrue.core.Event
import hangtrue.core.Shown
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertFalse
import org.junit.jupiter.api.Assertions.assertNotNull
import org.junit.jupiter.api.Assertions.assertNull
import org.junit.jupiter.api.Assertions.assertSame
import org.junit.jupiter.api.Assertions.assertTrue
import org.junit.jupiter.api.Test

class BesideTest {
    private val wide = Glass("wide", 1280, 800)

    private fun SkikoComposeUiTest.twoWindows(state: WalkState) {
        begin()
        state.act(Event.Back)
        while (state.screen!!.shown !is Shown.House) state.back()
        waitForIdle()
        press("Add an opening: Kitchen")
        write("Name of the opening", "Door to the yard")
        press("Keep")
        while (state.screen!!.shown !is Shown.House) state.back()
        waitForIdle()
    }

    private fun SkikoComposeUiTest.marked() = onAllNodes(isSelected() and hasContentDescription("Window", substring = true)).fetchSemanticsNodes().size

    @Test
    fun `an opening is chosen and read beside its house`() = onGlass(newFolder(), wide) { state ->
        twoWindows(state)
        assertTrue(onAllNodes(hasTestTag("pad")).fetchSemanticsNodes().isEmpty())
        val rows = (state.screen!!.shown as Shown.House).screen.rooms.flatMap { it.openings }
        press(rows[0].measure.spoken, nth = 0)
        val pad = onNode(hasTestTag("pad")).fetchSemanticsNode().boundsInRoot
        assertTrue(pad.left / DENSITY > 361, "the pad lies over the list")
        assertEquals(1, marked())
        val before = state.beside
        assertNotNull(before)
        listOf("three", "four", "three eighths").forEach { press(it) }
        assertSame(before, state.beside, "the whole house was looked at for a digit")
        press(state.reading.accept.spoken)
        val row = (state.beside!!.shown as Shown.House).screen.rooms.flatMap { it.openings }.first { it.id == rows[0].id }
        assertEquals(1u, row.progress.done, "the list does not say what was read")
        // half typed, to the other opening and back
        press("five")
        press(rows[1].open.spoken, part = true)
        assertEquals(rows[1].id, (state.screen!!.shown as Shown.Opening).screen.id)
        assertEquals(0, marked())
        press(rows[0].measure.spoken, nth = 0)
        assertEquals("5", state.reading.typed)
        // what is said is said once
        state.tell("The file could not be read.")
        waitForIdle()
        assertEquals(1, onAllNodes(hasTestTag("notice")).fetchSemanticsNodes().size)
        // the list's own way back is to the houses, the walk's is its own
        press("to the list of houses")
        assertTrue(state.screen!!.shown is Shown.Houses)
    }

    @Test
    fun `sheets stand beside the house, and an opening takes their place`() = onGlass(newFolder(), wide) { state ->
        twoWindows(state)
        press("sheets to share or print")
        assertTrue(shows("share the sheets: Larch House"))
        val rows = (state.screen!!.shown as Shown.House).screen.rooms.flatMap { it.openings }
        press(rows[0].open.spoken, part = true)
        assertFalse(state.sheets)
        assertFalse(shows("share the sheets: Larch House"))
        // from beside the opening they take its place
        press("sheets to share or print")
        assertTrue(shows("share the sheets: Larch House"))
    }

    @Test
    fun `a phone on its side has the pad beside the place, and no house`() = onGlass(newFolder(), Glass("side", 891, 411)) { state ->
        twoWindows(state)
        press((state.screen!!.shown as Shown.House).screen.rooms[0].openings[0].measure.spoken, nth = 0)
        onNode(hasTestTag("pad")).assertExists()
        assertNull(state.beside)
        // turned to room for both, and back
        state.isWide(true)
        assertTrue(state.beside!!.shown is Shown.House)
        state.isWide(false)
        assertNull(state.beside)
    }
}
