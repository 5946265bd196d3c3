// A whole house, from an empty book to the list before leaving, pressed through by what a screen reader says and by nothing
// else, on the real core; with a slip, an undo, a place left out, and the app's death in the middle.
@file:OptIn(ExperimentalTestApi::class)

package hangtrue.screens

import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import hangtrue.core.ReadingScreen
import hangtrue.core.Screen
import hangtrue.core.Shown
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertFalse
import org.junit.jupiter.api.Assertions.assertNull
import org.junit.jupiter.api.Assertions.assertTrue
import org.junit.jupiter.api.Test

/** What is read at a window of an invented house, by the prompt that asks for it. */
val window = mapOf(
    "Top width" to "34 3/8",
    "Middle width" to "34 7/16",
    "Bottom width" to "34 3/8",
    "Left height" to "58 1/4",
    "Right height" to "58 1/4",
    "Rising diagonal" to "67 5/8",
    "Falling diagonal" to "67 5/8",
    "Depth" to "3 1/2",
)

/** The reading that is asked for. */
val WalkState.reading: ReadingScreen get() = (screen!!.shown as Shown.Reading).screen

/** Presses the keys of [written] and the key that keeps it. */
fun SkikoComposeUiTest.read(state: WalkState, written: String) {
    keysFor(written).forEach { press(it) }
    assertEquals(written, state.reading.typed)
    press(state.reading.accept.spoken)
}

/** Begins a house with one room and one window, and leaves the screen at its first reading. */
fun SkikoComposeUiTest.begin(name: String = "Larch House", room: String = "Kitchen", unit: String = "inches") {
    if (!shows("Name of the house")) press("Begin a house")
    write("Name of the house", name)
    press("Begin in $unit")
    press("add $room")
    press("add Window")
}

/** Reads on until nothing is asked for; what [readings] lacks - asked for to settle a doubt - is put off. */
fun SkikoComposeUiTest.readAll(state: WalkState, readings: Map<String, String> = window) {
    while (state.screen!!.shown is Shown.Reading) {
        val written = readings[state.reading.prompt]
        if (written != null) read(state, written) else press("read it later")
    }
}

class WholeHouseTest {
    @Test
    fun `a whole house by what a screen reader says`() = onGlass(newFolder()) { state ->
        assertTrue(state.screen!!.shown is Shown.Houses)
        begin()
        assertEquals("Kitchen, Window", state.screen!!.title)

        // a slip: two digits swapped. The core doubts it while the tape is in hand; it is taken back and read again
        assertEquals("Top width", state.reading.prompt)
        read(state, "34 3/8")
        keysFor("43 7/16").forEach { press(it) }
        press(state.reading.accept.spoken)
        assertTrue(state.screen!!.notice!!.kept)
        press("undo", part = true)
        assertEquals("Middle width", state.reading.prompt)
        readAll(state)

        val result = state.screen!!.shown as Shown.Opening
        assertEquals(8u, result.screen.progress.done)
        assertTrue(result.screen.ways.isNotEmpty())
        press("Inside")
        assertTrue((state.screen!!.shown as Shown.Opening).screen.ways.first().choose.chosen)

        // a second window, of which one place cannot be read
        press("back")
        while (state.screen!!.shown !is Shown.House) press("back")
        press("Add an opening: Kitchen")
        press("add Left window")
        press("Leave out")
        press("leave out: ", part = true, nth = 0)
        readAll(state)
        press("back")
        while (state.screen!!.shown !is Shown.House) press("back")
        press("Before leaving")
        val leaving = (state.screen!!.shown as Shown.Leaving).screen
        assertEquals(2u, leaving.progress.of)
        assertEquals(2u, leaving.progress.done)

        press("back")
        press("With the workroom")
        assertTrue((state.screen!!.shown as Shown.Sync).screen.here > 16u)
        press("back")
        press("Settings")
        press("Outdoors")
        assertEquals(hangtrue.core.Theme.OUTDOORS, state.screen!!.theme)
    }

    @Test
    fun `the app's death at any key brings back the same screen`() {
        val folder = newFolder()
        var last: Screen? = null
        // every key in another life of the app; what it left on the disk is all that the next one has
        fun life(act: SkikoComposeUiTest.(WalkState) -> Unit) = onGlass(folder) { state ->
            last?.let { assertEquals(it.copy(notice = null), state.screen!!.copy(notice = null)) }
            act(state)
            last = state.screen
        }
        life { begin() }
        for (key in keysFor("34 3/8")) life { press(key) }
        life {
            assertEquals("34 3/8", it.reading.typed)
            press(it.reading.accept.spoken)
        }
        life { assertEquals("Middle width", it.reading.prompt) }
        life { press("Leave out"); write("Why it is left out", "behind a pian") }
        life { assertEquals("behind a pian", it.reading.skipWords.typed) }
    }

    @Test
    fun `what the core refuses is said in its words and changes nothing`() = onGlass(newFolder()) { state ->
        begin()
        val before = state.screen
        state.act(hangtrue.core.Event.GoTo("00000000-0000-7000-8000-000000000000", "width_top"))
        waitForIdle()
        assertEquals(before, state.screen)
        assertTrue(state.trouble!!.contains("not in the house"), state.trouble)
        assertFalse(state.trouble!!.contains("BookFault"), state.trouble)
        press("one")
        assertNull(state.trouble)
    }

    @Test
    fun `a house file goes out and comes in again`() {
        var file = ""
        val outside = object : Outside by Nowhere() {
            override fun share(name: String, type: String, text: String) {
                file = text
            }
        }
        onGlass(newFolder(), outside = outside) { state ->
            begin()
            readAll(state)
            while (state.screen!!.shown !is Shown.House) press("back")
            press("share the house file")
        }
        assertTrue(file.contains("34 7/16"), file)
        onGlass(newFolder()) { state ->
            state.takeIn(file)
            waitForIdle()
            press("Larch House", part = true)
            assertEquals(1u, (state.screen!!.shown as Shown.House).screen.progress.done)
            // a file that is none is refused with its line
            state.takeIn("not a house")
            waitForIdle()
            assertTrue(state.trouble!!.contains("line 1", ignoreCase = true), state.trouble)
        }
    }
}
