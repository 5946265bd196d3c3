// The sync page over the real core: through a folder, and with the workroom's program itself, paired by digits that are typed
// there. Nothing is played: the hub is its own process, reached through this platform's HTTPS client.
@file:OptIn(ExperimentalTestApi::class)

package hangtrue.screens

import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import hangtrue.core.Event
import hangtrue.core.HouseBook
import hangtrue.core.HttpFault
import hangtrue.core.HubRequest
import hangtrue.core.Shown
import hangtrue.workroom.Hub
import hangtrue.workroom.PATIENCE_S
import hangtrue.workroom.ran
import java.io.File
import java.util.concurrent.LinkedBlockingQueue
import java.util.concurrent.TimeUnit
import kotlin.concurrent.thread
import org.junit.jupiter.api.AfterEach
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertFalse
import org.junit.jupiter.api.Assertions.assertNotNull
import org.junit.jupiter.api.Assertions.assertNull
import org.junit.jupiter.api.Assertions.assertThrows
import org.junit.jupiter.api.Assertions.assertTrue
import org.junit.jupiter.api.Test

class ExchangeTest {
    private val hubs = mutableListOf<Hub>()

    @AfterEach
    fun stop() = hubs.forEach { it.stop() }

    private fun hub() = Hub(newFolder()).also { hubs += it }

    private fun SkikoComposeUiTest.toSync(state: WalkState) {
        state.act(Event.ShowSync)
        waitForIdle()
    }

    /** Draws the page as it stands, for eyes, and looks it over for faults. */
    private fun SkikoComposeUiTest.look(name: String) {
        val picture = captureToImage()
        picture.write("exchange-$name")
        assertEquals(emptyList<String>(), faults(picture, emptyList()))
    }

    private fun counts(state: WalkState) = (state.screen!!.shown as Shown.Sync).screen

    @Test
    fun `a house goes through a folder`() {
        val key = newFolder().resolve("firm.key").also { ran("key", it.path) }.readText()
        val stick = newFolder().resolve("stick")
        val chooses = Chooses(stick)
        onGlass(newFolder(), outside = chooses) { state ->
            chooses.state = state
            begin()
            read(state, "34 3/8")
            toSync(state)
            val here = counts(state).here
            assertTrue(here > 0u)
            assertEquals(0uL, counts(state).withWorkroom)
            assertNull(counts(state).confirmedMs)
            write("The firm's key", "AGE-SECRET-KEY-1X")
            press("Take the key")
            assertTrue(state.exchange.refused!!.contains("key"), state.exchange.refused)
            write("The firm's key", key.trim())
            press("Take the key")
            assertNull(state.exchange.refused)
            press("choose a folder of exchange")
            // no drive: said, and nothing is begun there unasked
            press("exchange through the folder")
            look("no-folder")
            assertNotNull(state.exchange.report!!.stopped)
            assertFalse(stick.exists())
            press("make the folder a place of exchange")
            assertNull(state.exchange.report!!.stopped)
            assertEquals(here, counts(state).withWorkroom)
            assertNotNull(counts(state).confirmedMs)
        }
        onGlass(newFolder(), outside = chooses) { state ->
            chooses.state = state
            toSync(state)
            write("The firm's key", key.trim())
            press("Take the key")
            press("choose a folder of exchange")
            press("exchange through the folder")
            assertTrue(state.exchange.report!!.arrived > 0u)
            state.act(Event.ShowHouses)
            assertEquals("Larch House", (state.screen!!.shown as Shown.Houses).screen.rows.single().open.label)
        }
    }

    @Test
    fun `a phone is paired by digits typed at the workroom, and exchanges with it`() {
        val hub = hub()
        val slow = Beside()
        onGlass(newFolder(), slow = slow) { state ->
            fun settle(until: () -> Boolean) {
                slow.tellUntil(until)
                waitForIdle()
            }
            begin()
            read(state, "34 3/8")
            toSync(state)
            val here = counts(state).here

            // wrong digits: three tries
            write("Text of the code", hub.code())
            write("Name of this device at the workroom", "Ida's phone")
            press("pair with the workroom")
            settle { state.exchange.digits != null || state.exchange.refused != null }
            assertNull(state.exchange.refused)
            val digits = state.exchange.digits!!
            assertTrue(shows(digits.toList().joinToString(" ")), "the digits are not read out one by one")
            look("digits")
            hub.waitFor("Type the six digits")
            repeat(3) { hub.type(if (digits == "123456") "654321" else "123456") }
            settle { state.exchange.doing == null }
            assertNotNull(state.exchange.refused)
            assertNull(state.exchange.firm)

            write("Text of the code", hub.code())
            press("pair with the workroom")
            settle { state.exchange.digits != null || state.exchange.refused != null }
            hub.waitFor("Type the six digits")
            hub.type(state.exchange.digits!!)
            settle { state.exchange.doing == null }
            assertEquals(null, state.exchange.refused)
            assertEquals("Loft", state.exchange.firm!!.workroom!!.name)

            press("exchange with the workroom")
            // touches are taken meanwhile: the walk does not wait for the wire
            state.act(Event.ShowHouses)
            assertTrue(state.screen!!.shown is Shown.Houses)
            assertNotNull(state.exchange.doing)
            settle { state.exchange.doing == null }
            toSync(state)
            look("done")
            assertNull(state.exchange.report!!.stopped)
            assertTrue(state.exchange.report!!.allSent)
            assertEquals(here, counts(state).withWorkroom)
            assertTrue(counts(state).confirmedMs!! > 0)

            hub.stop()
            press("exchange with the workroom")
            settle { state.exchange.doing == null }
            val stopped = state.exchange.report!!.stopped!!
            look("stopped")
            assertTrue(shows(sentence(stopped)), "a workroom out of reach is not said: $stopped")
            assertEquals(here, counts(state).withWorkroom)
        }
    }

    @Test
    fun `the client sends nothing to another certificate, and nothing where nobody listens`() {
        val hub = hub()
        val code = hub.code()
        val at = code.substringAfter("at=").substringBefore('&')
        val certificate = code.substringAfter("cert=").substringBefore('&')
        fun get(address: String, sha256: String) =
            PinnedHttp().send(HubRequest("GET", "https://$address/no-such-thing", emptyList(), ByteArray(0), sha256, 1000u, 10u))
        // the hub itself answers, if only to refuse
        assertTrue(get(at, certificate).status.toInt() in 400..499)
        val other = assertThrows(HttpFault.NotReached::class.java) { get(at, certificate.reversed()) }
        assertTrue(other.reason.contains("another certificate"), other.reason)
        assertThrows(HttpFault.NotReached::class.java) { get("127.0.0.1:1", certificate) }
    }
}

/** A line beside the touches, whose answers wait until the test lets them be told. */
private class Beside : Line {
    private val answers = LinkedBlockingQueue<() -> Unit>()

    override fun <T> run(work: () -> T, tell: (T) -> Unit) {
        thread(isDaemon = true) {
            val answer = work()
            answers.put { tell(answer) }
        }
    }

    fun tellUntil(done: () -> Boolean) {
        val end = System.nanoTime() + TimeUnit.SECONDS.toNanos(PATIENCE_S)
        while (!done()) (answers.poll(end - System.nanoTime(), TimeUnit.NANOSECONDS) ?: throw AssertionError("no answer came")).invoke()
    }
}

/** A device on which a person chooses this folder. */
private class Chooses(private val folder: File) : Outside by Nowhere() {
    lateinit var state: WalkState

    override fun pickFolder() = state.exchange.choose(Place.at(folder.path))
}
