// What the process has one of, whoever is there of it - the activity, a job in the background, or both: the book, the threads
// it is worked on, the exchange in the background.
package hangtrue.app

import android.app.Application
import hangtrue.core.HouseBook
import java.util.concurrent.ExecutorService

/** The process. */
class Hangtrue : Application() {
    /** The core's thread: touches. */
    val core: ExecutorService = OneThread.named("core")

    /** The thread of what takes long: every exchange, one after the other. */
    val exchange: ExecutorService = OneThread.named("exchange")

    /** The book in the app's own folder. */
    val book = OneBook { HouseBook.open(filesDir.path) }

    /** The exchange in the background. */
    val background by lazy { Background(this) }
}

/** One book: opened when the first takes it, closed when the last lets go of it, so that no two are ever open. */
class OneBook(private val open: () -> HouseBook) {
    private var book: HouseBook? = null
    private var holders = 0

    /** The book, held until [letGo]. Waits for one who opens it at this moment, and for nothing else. */
    @Synchronized
    fun take(): HouseBook {
        val taken = book ?: open().also { book = it }
        holders += 1
        return taken
    }

    /** The end of one [take]. */
    @Synchronized
    fun letGo() {
        holders -= 1
        if (holders > 0) return
        book?.destroy()
        book = null
    }

    /** Holds the book for as long as [work] takes. */
    fun <T> use(work: (HouseBook) -> T): T {
        val taken = take()
        try {
            return work(taken)
        } finally {
            letGo()
        }
    }
}
