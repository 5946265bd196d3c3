// What outlives a turned phone: the open book and the thread it is worked on. What outlives the process is the book's file.
package hangtrue.app

import android.app.Application
import androidx.core.content.ContextCompat
import androidx.lifecycle.ViewModel
import androidx.lifecycle.viewmodel.initializer
import androidx.lifecycle.viewmodel.viewModelFactory
import hangtrue.core.HouseBook
import hangtrue.screens.WalkState

/** Holds the screens' state from the first start of the activity until it is finished. */
class Desk(application: Application) : ViewModel() {
    /** The core's thread. */
    val line = OneThread(ContextCompat.getMainExecutor(application), core)

    /** The thread of what takes long: the exchange. */
    val slow = OneThread(ContextCompat.getMainExecutor(application), exchange)

    /** The screens' state, over the book in the app's own folder. */
    val state = WalkState(line, slow) { HouseBook.open(application.filesDir.path) }

    /** Waits until all touches are on the disk, but not for a core that is busy. */
    fun rest() {
        line.finish { state.pause() }
    }

    override fun onCleared() {
        line.close { state.close() }
        slow.close()
    }

    companion object {
        // One of each in a process: the book of a desk that comes after another is opened when the other's is closed.
        private val core = OneThread.named("core")
        private val exchange = OneThread.named("exchange")

        /**
         * Makes the desk of [application] itself. The system's own factory keeps the first application it ever saw for the
         * whole process, which is one too few where a process has several, as in tests.
         */
        fun of(application: Application) = viewModelFactory { initializer { Desk(application) } }
    }
}
