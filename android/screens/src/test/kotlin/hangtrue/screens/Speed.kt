// Prints how long things take through Kotlin on this machine: a key press when warm, a reading that is kept, and the first
// screen of a book with a thousand houses. Figures, not a test: see speed.sh.
package hangtrue.screens

import hangtrue.core.Event
import hangtrue.core.HouseBook
import hangtrue.core.Shown
import java.io.File
import java.util.UUID

fun main(args: Array<String>) {
    val houses = args.firstOrNull()?.toInt() ?: 1000
    val folder = newFolder()
    HouseBook.openSeeded(folder.path, 1u).use { book ->
        val fixture = File("../../fixtures/houses/heron-lane.json").readText()
        repeat(houses) { n ->
            // each a house of its own: every id in it made another
            val file = Regex("[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}").replace(fixture) { another(it.value, n) }
            book.takeInFile(file)
        }
    }
    // the library and the classes are warm; the book is opened from its file
    val first = (1..5).map {
        val from = System.nanoTime()
        val book = HouseBook.openSeeded(folder.path, (it + 1).toULong())
        val screen = book.screen()
        val ms = (System.nanoTime() - from) / 1e6
        check((screen.shown as Shown.Houses).screen.count.toInt() == houses) { "the book has ${screen.shown}" }
        book.close()
        ms
    }
    println("first screen of $houses houses: %.1f ms median, %.1f ms worst of 5".format(first.sorted()[2], first.max()))

    val book = HouseBook.openSeeded(folder.path, 99u)
    val house = book.act((book.screen().shown as Shown.Houses).screen.rows.first().open.event).shown as Shown.House
    book.act(house.screen.rooms.first().openings.first().measure.event)
    val opening = house.screen.rooms.first().openings.first()
    book.act(Event.GoTo(opening.id, "width_top"))
    fun pad() = (book.screen().shown as Shown.Reading).screen
    val key = pad().digits.first()
    val erase = pad().edit.first { it.id == "erase" }
    val presses = (1..2000).map { n ->
        val event = if (n % 2 == 1) key.event else erase.event
        val from = System.nanoTime()
        book.act(event)
        (System.nanoTime() - from) / 1e6
    }.drop(400).sorted()
    println("a key press, kept and drawn: %.3f ms median, %.3f ms at 99 %%".format(presses[presses.size / 2], presses[presses.size * 99 / 100]))
    val screens = (1..2000).map {
        val from = System.nanoTime()
        book.screen()
        (System.nanoTime() - from) / 1e6
    }.drop(400).sorted()
    println("a screen out of the core, without the disk: %.3f ms median".format(screens[screens.size / 2]))
    val kept = (1..100).map {
        book.act(key.event)
        val from = System.nanoTime()
        book.act(pad().accept.event)
        book.act(Event.GoTo(opening.id, "width_top"))
        (System.nanoTime() - from) / 1e6
    }.sorted()
    println("a reading kept, on the disk: %.3f ms median, %.3f ms worst".format(kept[50], kept.last()))
    book.close()
}

private fun another(id: String, n: Int): String {
    val made = UUID.nameUUIDFromBytes("$id/$n".encodeToByteArray()).toString()
    return made.replaceRange(14, 15, "7")
}
