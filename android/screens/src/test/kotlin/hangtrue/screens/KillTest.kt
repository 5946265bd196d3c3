// A process that is killed in the midst of an exchange with the workroom, as a phone ends one in the background: its book has all
// that it had, and the next exchange brings the rest.
package hangtrue.screens

import hangtrue.core.Event
import hangtrue.core.HouseBook
import hangtrue.core.Shown
import hangtrue.workroom.Hub
import hangtrue.workroom.PATIENCE_S
import java.io.File
import java.util.concurrent.TimeUnit
import kotlin.random.Random
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertNull
import org.junit.jupiter.api.Assertions.assertTrue
import org.junit.jupiter.api.Test

/** What is killed: it exchanges once, with the book in the folder that is its one argument. */
object ExchangesOnce {
    @JvmStatic
    fun main(arguments: Array<String>) = HouseBook.open(arguments.single()).use { book ->
        println("begins")
        book.exchangeWithWorkroom(PinnedHttp(), null, true)
        println("ended")
    }
}

class KillTest {
    @Test
    fun `a kill in the midst of an exchange loses nothing`() {
        val hub = Hub(newFolder())
        try {
            val folder = newFolder()
            val houses = File("../../fixtures/houses").listFiles { file -> file.extension == "json" }!!.sorted()
            val digest = HouseBook.open(folder.path).use { book ->
                houses.forEach { book.takeInFile(it.readText()) }
                val house = (book.act(Event.ShowHouses).shown as Shown.Houses).screen.rows.first()
                val id = (book.act(house.open.event).shown as Shown.House).screen.id
                // photos, so that there is a midst: each goes in parts
                repeat(3) { n -> book.addPhoto(id, Random(n).nextBytes(700_000), "photo $n") }
                pair(book, hub)
                book.housesDigest()
            }
            val said = newFolder().resolve("said")
            var killed = 0
            val chance = Random(1)
            for (n in 1..KILLS) {
                val child = ProcessBuilder(
                    File(System.getProperty("java.home"), "bin/java").path, "-Djna.library.path=${System.getProperty("jna.library.path")}",
                    "-cp", System.getProperty("java.class.path"), ExchangesOnce::class.java.name, folder.path,
                ).redirectError(ProcessBuilder.Redirect.INHERIT).redirectOutput(said).start()
                val until = System.nanoTime() + TimeUnit.SECONDS.toNanos(PATIENCE_S)
                while ("begins" !in said.readText()) {
                    check((child.isAlive || "ended" in said.readText()) && System.nanoTime() < until) { "it does not begin" }
                    Thread.sleep(5)
                }
                Thread.sleep(chance.nextLong(5, 250))
                child.destroyForcibly().waitFor()
                if ("ended" !in said.readText()) killed += 1
                HouseBook.open(folder.path).use { assertEquals(digest, it.housesDigest(), "kill $n") }
            }
            assertTrue(killed > 0, "none was killed in the midst")
            println("killed in the midst: $killed of $KILLS")
            HouseBook.open(folder.path).use { book ->
                assertEquals(emptyList<String>(), book.openingNotices())
                val report = book.exchangeWithWorkroom(PinnedHttp(), null, true)
                assertNull(report.stopped)
                assertTrue(report.allSent)
                assertEquals(digest, book.housesDigest())
                // another device of the firm has all of it, photos too
                HouseBook.open(newFolder().path).use { other ->
                    pair(other, hub)
                    val came = other.exchangeWithWorkroom(PinnedHttp(), null, true)
                    assertNull(came.stopped)
                    assertEquals(digest, other.housesDigest())
                    assertEquals(3uL to 0uL, came.photosArrived to came.photosMissing)
                }
            }
        } finally {
            hub.stop()
        }
    }

    private fun pair(book: HouseBook, hub: Hub) {
        val digits = book.beginPairing(hub.code(), null, "Ida's phone", PinnedHttp())
        hub.waitFor("Type the six digits")
        hub.type(digits)
        val until = System.nanoTime() + TimeUnit.SECONDS.toNanos(PATIENCE_S)
        while (book.finishPairing(PinnedHttp()) == null) {
            check(System.nanoTime() < until) { "it is not paired" }
            Thread.sleep(100)
        }
    }

    private companion object {
        val KILLS = System.getenv("HANGTRUE_KILLS")?.toInt()?.coerceAtMost(50) ?: 8
    }
}
