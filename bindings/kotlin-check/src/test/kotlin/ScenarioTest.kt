// Runs the scenarios through the generated Kotlin and compares every screen and house with what the Rust test saw.

import com.google.gson.JsonObject
import com.google.gson.JsonParser
import hangtrue.core.BookFault
import hangtrue.core.Event
import hangtrue.core.HouseBook
import hangtrue.core.PadKey
import hangtrue.core.eventFromJson
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertThrows
import org.junit.jupiter.api.Assertions.assertTrue
import org.junit.jupiter.api.Test
import java.io.File
import java.nio.file.Files

class ScenarioTest {
    private val root = File(System.getProperty("repository")).canonicalFile

    private fun keys(number: String): List<PadKey> =
        number.split(" ").flatMap { word ->
            if ("/" in word) {
                val (part, of) = word.split("/").map { it.toInt() }
                listOf(PadKey.Sixteenths((part * 16 / of).toUByte()))
            } else {
                word.map { sign ->
                    when (sign) {
                        '.' -> PadKey.Point
                        '\'' -> PadKey.Feet
                        '-' -> PadKey.Sign
                        '<' -> PadKey.Erase
                        else -> PadKey.Digit(sign.digitToInt().toUByte())
                    }
                }
            }
        }

    private fun run(scenario: File): Int {
        val want = File(root, "target/scenarios/${scenario.nameWithoutExtension}.digests").readLines()
        val folder = Files.createTempDirectory("hangtrue-books").toFile()
        val books = mutableMapOf<String, HouseBook>()
        var now = ""
        val steps = JsonParser.parseString(scenario.readText()).asJsonObject.getAsJsonArray("steps")
        assertEquals(want.size, steps.size())
        steps.map { it as JsonObject }.forEachIndexed { n, step ->
            fun text(field: String) = step.get(field)?.asString
            val book by lazy { books.getValue(now) }
            when {
                step.has("open") -> {
                    now = step.get("open").asString
                    // The old one first: two at once would be two programs on one file.
                    books.remove(now)?.destroy()
                    books[now] = HouseBook.openSeeded(File(folder, now).path, step.get("seed").asLong.toULong())
                }
                step.has("book") -> now = step.get("book").asString
                step.has("touch") -> book.act(book.eventOf(step.get("touch").asString))
                step.has("type") -> keys(step.get("type").asString).forEach { book.act(Event.Press(it)) }
                step.has("words") -> book.act(Event.TypeWords(step.get("words").asString, text("text").orEmpty()))
                step.has("event") -> book.act(eventFromJson(step.get("event").toString()))
                step.has("refused") -> {
                    val event = eventFromJson(step.get("refused").toString())
                    val fault = assertThrows(BookFault.Refused::class.java) { book.act(event) }
                    assertTrue(fault.reason.isNotEmpty() && fault.advice.isNotEmpty())
                }
                step.has("clock_step") -> book.setClockStep(step.get("clock_step").asLong.toULong())
                step.has("merge_from") ->
                    book.mergeFacts(books.getValue(step.get("merge_from").asString).factsAfter(0, 10_000u).lines)
                step.has("merge") -> book.mergeFacts(step.get("merge").asString)
                step.has("same_houses") ->
                    assertEquals(
                        1,
                        step.getAsJsonArray("same_houses").map { books.getValue(it.asString).housesDigest() }.toSet().size,
                    )
                else -> error("${scenario.name}, step $n: there is no such step")
            }
            val after = books.getValue(now)
            val saw = "${after.screenDigest()} ${after.housesDigest()}"
            assertEquals(want[n], saw, "${scenario.name}, step $n: $step")
        }
        books.values.forEach { it.destroy() }
        folder.deleteRecursively()
        return steps.size()
    }

    @Test
    fun everyScenarioShowsWhatRustShows() {
        val scenarios = File(root, "fixtures/scenarios").listFiles { file -> file.extension == "json" }.orEmpty()
        assertTrue(scenarios.isNotEmpty())
        scenarios.sorted().forEach { println("${it.name}: ${run(it)} steps as in Rust") }
    }
}
