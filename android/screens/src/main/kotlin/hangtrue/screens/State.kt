// What stands between the screens and the core: the screen that is shown now, and the one line in which touches reach the
// core. Nothing is decided here, and nothing is kept here that the core does not have on the disk.
package hangtrue.screens

import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableIntStateOf
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.setValue
import hangtrue.core.BookFault
import hangtrue.core.Event
import hangtrue.core.HouseBook
import hangtrue.core.HubHttp
import hangtrue.core.Screen
import hangtrue.core.Severity
import hangtrue.core.SheetFile
import hangtrue.core.Shown
import java.time.LocalDate

/** Hands an event of a button back to the core. */
typealias Act = (Event) -> Unit

/**
 * Where calls into the core run: one after the other, in the order of the touches. The screens are told on the thread that
 * draws them.
 */
interface Line {
    /** Runs [work] after all that was handed in before, and then [tell] with what it gave, on the thread that draws. */
    fun <T> run(work: () -> T, tell: (T) -> Unit)
}

/** Runs at once, where it is called: for tests, and for programs with nothing to draw. */
object AtOnce : Line {
    override fun <T> run(work: () -> T, tell: (T) -> Unit) = tell(work())
}

/**
 * The screens' state: what the core shows now, and touches on their way to it. Kept for as long as the app's process. What
 * takes long runs on the line [slow], beside the touches. [letGo] is what becomes of the book at the end: where others hold
 * it too, they keep it.
 */
class WalkState(
    private val line: Line,
    slow: Line = line,
    http: HubHttp = PinnedHttp(),
    private val letGo: (HouseBook) -> Unit = HouseBook::destroy,
    private val open: () -> HouseBook,
) {
    /** What is shown; nothing until the book is open. */
    var screen: Screen? by mutableStateOf(null)
        private set

    /** What the core refused last, or the disk: what was wrong and what would be right. */
    var trouble: String? by mutableStateOf(null)
        private set

    /** What there was to say when the book was opened: damage that was mended, a full disk. */
    var opening: List<String> by mutableStateOf(emptyList())
        private set

    /** Touches that the core has not answered yet. */
    var waiting: Int by mutableIntStateOf(0)
        private set

    /** What the last touch did, for the hand that holds the device; until it was felt. */
    var felt: Felt? by mutableStateOf(null)
        private set

    /** True while the sheets of the open house are shown over it. */
    var sheets: Boolean by mutableStateOf(false)
        private set

    /** The house beside what is open in it; nothing while the glass has no room for both, or no house is open. */
    var beside: Screen? by mutableStateOf(null)
        private set

    private var wide = false

    /** True where [back] leads somewhere inside the app. */
    val canGoBack: Boolean get() = sheets || screen?.back != null

    /** The exchange with the workroom. */
    val exchange = Exchange(this, slow, http)

    private var book: HouseBook? = null

    /** True from [end] on: nothing more is asked of the core. */
    @Volatile
    internal var ended = false
        private set

    /** True from [close] on: nothing opens the book again. */
    @Volatile
    private var closed = false

    init {
        fetch({ it.openingNotices() to it.screen() }) { (notices, first) ->
            opening = notices
            screen = first
        }
    }

    /** Hands [event] to the core; its answer is shown when what it wrote is on the disk. */
    fun act(event: Event) = ask { it.act(event) }

    /** One screen back; nothing is lost by it. */
    fun back() {
        if (sheets) sheets = false else screen?.back?.let { act(it.event) }
    }

    /** To the tape in one touch: on at the reading that was begun, or where the open house, or else the first listed, goes on. */
    fun measure() = ask { book ->
        val now = book.screen()
        if (now.shown is Shown.Reading) return@ask now
        val house = when (val up = now.house) {
            null -> if (now.shown is Shown.House) now else (book.act(Event.ShowHouses).shown as Shown.Houses).screen.rows.firstOrNull()?.let { book.act(it.open.event) }
            else -> book.act(up.event)
        }
        val walk = (house?.shown as? Shown.House)?.screen?.walk
        if (walk?.live == true) book.act(walk.event) else book.screen()
    }

    /** To what [opening] of [house] says, from wherever this is: a notification was touched. */
    fun open(house: String, opening: String) = ask { book ->
        val there = book.act(Event.ShowHouse(house))
        // it may have been taken out since: then its house is shown
        runCatching { book.act(Event.ShowOpening(opening)) }.getOrDefault(there)
    }

    /** The hand felt it. */
    fun feltIt() {
        felt = null
    }

    /** Shows the sheets of the house that is open: in its own place, also from beside what is open in it. */
    fun showSheets() {
        sheets = true
        val house = (beside?.shown as? Shown.House)?.screen?.id
        if (screen?.shown !is Shown.House && house != null) act(Event.ShowHouse(house))
    }

    /** Makes a sheet - of one opening, or the summary of the house - dated today, and hands it to [then]. */
    fun sheet(house: String, opening: String?, then: (SheetFile) -> Unit) =
        fetch({ it.sheet(house, opening, LocalDate.now().toString()) }, then)

    /** Takes in a job file that a person picked. */
    fun takeIn(text: String) = ask { it.takeInFile(text) }

    /** Keeps a photo of the house or opening [on]. */
    fun addPhoto(on: String, bytes: ByteArray, caption: String) = ask { it.addPhoto(on, bytes, caption) }

    /** Puts words in front of a person that did not come from the core: a file that cannot be read, a camera that is missing. */
    fun tell(what: String) {
        trouble = what
    }

    /** Makes something out of the book, such as a file to hand out, and hands it to [then]. */
    fun <T> fetch(make: (HouseBook) -> T, then: (T) -> Unit) {
        if (ended) return
        waiting += 1
        line.run({ runCatching { make(opened()) } }) { answer ->
            waiting -= 1
            if (!ended) answer.onSuccess(then).onFailure { trouble = said(it) }
        }
    }

    /** Shows what is there now: something arrived that no touch brought. */
    fun again() = fetch({ it.screen() }) {
        screen = it
        if (wide) lookBeside()
    }

    /** The glass has room for the house beside what is open in it, or has no more. */
    fun isWide(now: Boolean) {
        if (wide == now) return
        wide = now
        if (now) lookBeside() else beside = null
    }

    // not with the touch: a digit does not wait until all openings of the house are looked at
    private fun lookBeside() = fetch({ it.houseBeside() }) { if (wide) beside = it }

    /** The notices of the opening are read. */
    fun read() {
        opening = emptyList()
    }

    /** Finishes writing before the app rests. To be run on the line's own thread. */
    fun pause() {
        book?.pause()
    }

    /** Nothing more is asked of the core: what was touched before is done, and what waits for the workroom waits no longer. */
    fun end() {
        ended = true
    }

    /** Lets go of the book, for good. What was acknowledged is on the disk. To be run on the line's own thread. */
    fun close() {
        end()
        closed = true
        book?.let(letGo)
        book = null
    }

    private fun ask(what: (HouseBook) -> Screen) = fetch(what) {
        val was = screen
        felt = felt(was, it) ?: felt
        screen = it
        trouble = null
        // beside the sheets an opening was touched
        if (it.shown !is Shown.House) sheets = false
        if (!wide) return@fetch
        // at once what was shown until now, so that the house does not blink
        if (was?.shown is Shown.House) beside = was
        if (placed(was) != placed(it)) lookBeside()
    }

    private fun opened(): HouseBook = if (closed) error("The book is closed.") else book ?: open().also { book = it }
}

/** What of a screen says that the house may be another since: where it is and what was written, and no digit. */
private fun placed(screen: Screen?): Any? = screen?.run {
    val at = (shown as? Shown.Reading)?.screen
    listOf(shown::class, title, notice, undo, redo, at?.opening, at?.place)
}

/** What a touch did, to be felt without looking: each a new one, so that two alike are felt twice. */
class Felt(
    /** True when a reading is to be taken again because of it. */
    val doubt: Boolean,
)

/** What is felt on the way from screen [was] to [now], at the tape: that something was kept, and whether it brought a doubt. */
private fun felt(was: Screen?, now: Screen): Felt? {
    if (was?.shown !is Shown.Reading || now.notice?.kept != true || now.notice == was.notice) return null
    val before = was.shown.screen.flags.map { it.code to it.says }
    val flags = (now.shown as? Shown.Reading)?.screen?.flags.orEmpty()
    return Felt(doubt = flags.any { it.severity == Severity.TAKE_AGAIN && (it.code to it.says) !in before })
}

/** A fault in words. The core's own say what was wrong and what would be right; anything else is shown as it is. */
internal fun said(fault: Throwable): String = when (fault) {
    is BookFault.Refused -> "${sentence(fault.reason)} ${sentence(fault.advice)}"
    is BookFault.NotKept -> "Not kept. ${sentence(fault.reason)} ${sentence(fault.advice)}"
    else -> fault.message ?: fault.toString()
}

internal fun sentence(words: String) = words.replaceFirstChar { it.uppercase() }.trimEnd('.') + "."
