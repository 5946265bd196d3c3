// What outlives a turned phone: the open book and the thread it is worked on. What outlives the process is the book's file.
package hangtrue.app

import android.app.Application
import androidx.core.content.ContextCompat
import androidx.lifecycle.ViewModel
import androidx.lifecycle.viewmodel.initializer
import androidx.lifecycle.viewmodel.viewModelFactory
import hangtrue.screens.WalkState

/** Holds the screens' state from the first start of the activity until it is finished. */
class Desk(private val process: Hangtrue) : ViewModel() {
    /** The core's thread. */
    val line = OneThread(ContextCompat.getMainExecutor(process), process.core)

    /** The thread of what takes long: the exchange. A person who exchanges does not wait for what the background does. */
    val slow = OneThread(ContextCompat.getMainExecutor(process), process.exchange, process.background::giveWay)

    /** The screens' state, over the one book of the process. */
    val state = WalkState(line, slow, letGo = { process.book.letGo() }) { process.book.take() }

    private val arrived = { state.again() }

    init {
        state.exchange.after = process.background::seen
        PickedPlace(process).last()?.let(state.exchange::choose)
        process.background.watchers += arrived
        process.background.look()
    }

    /** Waits until all touches are on the disk, but not for a core that is busy. Throws nothing. */
    fun rest() {
        line.finish { state.pause() }
    }

    override fun onCleared() {
        process.background.watchers -= arrived
        state.end()
        line.close()
        // an exchange that is under way has the book still: it is let go of after that
        slow.close { process.core.execute { state.close() } }
    }

    companion object {
        /**
         * Makes the desk of [application] itself. The system's own factory keeps the first application it ever saw for the
         * whole process, which is one too few where a process has several, as in tests.
         */
        fun of(application: Application) = viewModelFactory { initializer { Desk(application as Hangtrue) } }
    }
}
