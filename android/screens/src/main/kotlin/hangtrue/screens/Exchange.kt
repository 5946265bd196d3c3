// The exchange with the workroom or a folder, as the sync page shows it: what is typed there, what is under way, what came of
// it. The core does all of it on a line of its own, so that readings are kept meanwhile.
package hangtrue.screens

import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.setValue
import hangtrue.core.BookFault
import hangtrue.core.ExchangeReport
import hangtrue.core.FirmCard
import hangtrue.core.HouseBook
import hangtrue.core.HubHttp

/** Works on [slow], beside the touches, and sends through [http]; [state] has the book and is told when something arrived. */
class Exchange(private val state: WalkState, private val slow: Line, private val http: HubHttp) {
    /** The firm and workroom of this book; nothing while there is none, or while nobody has looked. */
    var firm: FirmCard? by mutableStateOf(null)
        private set

    /** What is under way, in words; nothing when nothing is. */
    var doing: String? by mutableStateOf(null)
        private set

    /** The digits to type at the workroom, while a pairing waits for them. */
    var digits: String? by mutableStateOf(null)
        private set

    /** What the last exchange did. */
    var report: ExchangeReport? by mutableStateOf(null)
        private set

    /** What was refused last, with what would be right. */
    var refused: String? by mutableStateOf(null)
        private set

    /** The text of the code that the workroom shows. */
    var code: String by mutableStateOf("")

    /** An address of the workroom typed by hand; empty where the code's are good. */
    var address: String by mutableStateOf("")

    /** What the workroom's list will call this device. */
    var device: String by mutableStateOf("Phone")

    /** The firm's key as text, for a firm that exchanges through folders. */
    var key: String by mutableStateOf("")

    /** The folder of exchange that was chosen. */
    var folder: Place? by mutableStateOf(null)
        private set

    /** True where photos that others took are fetched too. */
    var photos: Boolean by mutableStateOf(true)

    /** Run on the slow line after an exchange that a person started, with the book. */
    var after: (HouseBook) -> Unit = {}

    /** Looks whether the book has a firm. */
    fun look() = state.fetch({ it.firm() }) { firm = it }

    /** Asks the workroom to pair, and then, until the digits were typed there or the time is over, whether it did. */
    fun pair() = run("Asking the workroom", { it.beginPairing(code, address.trim().ifEmpty { null }, device.trim().ifEmpty { "Phone" }, http) }) {
        digits = it
        run("Waiting for the digits", ::awaitDigits) { card ->
            firm = card
            digits = null
            code = ""
        }
    }

    private fun awaitDigits(book: HouseBook): FirmCard {
        while (!state.ended) {
            book.finishPairing(http)?.let { return it }
            Thread.sleep(ASK_MS)
        }
        // nobody is told: it only ends the wait
        error("The screens are closed.")
    }

    /** Exchanges with the paired workroom. */
    fun withWorkroom() = run("Exchanging with the workroom", { book -> book.exchangeWithWorkroom(http, address.trim().ifEmpty { null }, photos).also { after(book) } }) {
        if (it.stopped == null) address = ""
        came(it)
    }

    /** Exchanges through the chosen folder; [begin] makes it a place of exchange first. */
    fun withFolder(begin: Boolean) {
        val at = folder ?: return
        run("Exchanging through the folder", { book -> at.exchange(book, begin, photos).also { after(book) } }, ::came)
    }

    /** Takes the firm's key that was typed. */
    fun takeKey() = run("Taking the key", { it.takeFirmKey(key) }) {
        firm = it
        key = ""
    }

    /** A person chose a folder. */
    fun choose(folder: Place) {
        this.folder = folder
        report = null
        refused = null
    }

    private fun came(report: ExchangeReport) {
        this.report = report
        state.again()
    }

    private fun <T> run(what: String, work: (HouseBook) -> T, then: (T) -> Unit) {
        // a second press of the same button is no second exchange
        if (doing != null) return
        doing = what
        refused = null
        report = null
        state.fetch({ it }) { book ->
            slow.run({ runCatching { work(book) } }) { answer ->
                doing = null
                answer.onSuccess(then).onFailure {
                    digits = null
                    refused = said(it)
                    if (it !is BookFault) state.tell(said(it))
                }
            }
        }
    }

    private companion object {
        /** Between two questions whether the digits were typed. */
        const val ASK_MS = 1500L
    }
}

/** A folder of exchange: what a person calls it, and how the core exchanges through it. */
class Place(
    /** Its name or its path. */
    val called: String,
    /** Exchanges, with the book: makes it a place of exchange first or not, fetches photos or not. */
    val exchange: (book: HouseBook, begin: Boolean, photos: Boolean) -> ExchangeReport,
) {
    companion object {
        /** The folder at [path]. */
        fun at(path: String) = Place(path) { book, begin, photos -> book.exchangeWithFolder(path, begin, photos) }
    }
}
