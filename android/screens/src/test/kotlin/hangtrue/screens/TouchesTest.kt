// How many touches a reading takes: every reading of the demo houses is typed on the pad of the real core and its touches are
// counted, beside the strokes that a system keyboard would take for the same text. Issue: mean at most 4, an opening of seven
// readings at most 30.
package hangtrue.screens

import hangtrue.core.Event
import hangtrue.core.HouseBook
import hangtrue.core.ReadingScreen
import hangtrue.core.Shown
import hangtrue.core.Touch
import java.io.File
import org.junit.jupiter.api.Assertions.assertEquals
import org.junit.jupiter.api.Assertions.assertTrue
import org.junit.jupiter.api.Test

class TouchesTest {
    private class Count(val touches: Int, val strokes: Int)

    @Test
    fun `touches over the demo houses`() {
        val houses = File("../../fixtures/houses").listFiles { file -> file.extension == "json" }!!.sorted()
        assertTrue(houses.size >= 2, "the demo houses are gone")
        println("%-22s %9s %6s %6s %15s %18s".format("house", "readings", "mean", "worst", "worst of seven", "system keyboard"))
        for (file in houses) {
            val openings = HouseBook.openSeeded(newFolder().path, 1u).use { book -> readAgain(book, file.readText()) }
            val all = openings.flatten()
            val mean = all.map { it.touches }.average()
            val seven = openings.filter { it.size >= 7 }.maxOf { it.take(7).sumOf { count -> count.touches } }
            println("%-22s %9d %6.2f %6d %15d %18.2f".format(file.name, all.size, mean, all.maxOf { it.touches }, seven, all.map { it.strokes }.average()))
            assertTrue(mean <= 4.0, "$mean touches a reading in ${file.name}")
            assertTrue(seven <= 30, "$seven touches for seven readings in ${file.name}")
            assertTrue(mean < all.map { it.strokes }.average(), "a system keyboard would be quicker in ${file.name}")
        }
    }

    /** Types every reading of the house again, opening by opening, and counts. */
    private fun readAgain(book: HouseBook, file: String): List<List<Count>> {
        book.takeInFile(file)
        val houses = book.act(Event.ShowHouses).shown as Shown.Houses
        val house = book.act(houses.screen.rows.single().open.event).shown as Shown.House
        return house.screen.rooms.flatMap { it.openings }.map { row ->
            val opening = book.act(row.open.event).shown as Shown.Opening
            opening.screen.readings.filter { it.stands }.map { taken ->
                val text = taken.figure.text.removeSuffix("\"").removeSuffix(" mm").removeSuffix(" in").trim()
                book.act(Event.GoTo(row.id, taken.place))
                Count(type(book, text), text.length + 1)
            }
        }
    }

    /** Types [text] in as few touches as the pad offers, keeps it, and says how many touches that were. */
    private fun type(book: HouseBook, text: String): Int {
        var touches = 0
        fun pad() = (book.screen().shown as Shown.Reading).screen
        fun touch(of: (ReadingScreen) -> Touch) {
            val key = of(pad())
            assertTrue(key.live, "${key.id} is not live for \"$text\"")
            book.act(key.event)
            touches += 1
        }
        var rest = text
        val pair = pad().quick.find { it.id.startsWith("pair_") && it.live && rest.length >= 4 && rest.startsWith(it.id.removePrefix("pair_")) }
        if (pair != null) {
            touch { screen -> screen.quick.first { it.id == pair.id } }
            rest = rest.drop(2)
        }
        val (digits, fraction) = if ('/' in rest) rest.substringBeforeLast(' ', "") to rest.substringAfterLast(' ') else rest to ""
        for (letter in digits) when (letter) {
            ' ' -> {}
            '.' -> touch { screen -> screen.edit.first { it.id == "point" } }
            '\'' -> touch { screen -> screen.edit.first { it.id == "feet" } }
            '-' -> touch { screen -> screen.edit.first { it.id == "sign" } }
            else -> touch { screen -> screen.digits.first { it.label == letter.toString() } }
        }
        if (fraction.isNotEmpty()) touch { screen -> screen.quick.first { it.label == fraction } }
        assertEquals(text, pad().typed)
        touch { it.accept }
        return touches
    }
}
