// What outlives a turned phone: the open book and the thread it is worked on. What outlives the process is the book's file.
package hangtrue.app

import android.app.Application
import androidx.core.content.ContextCompat
import androidx.lifecycle.AndroidViewModel
import hangtrue.core.HouseBook
import hangtrue.screens.WalkState

/** Holds the screens' state from the first start of the activity until it is finished. */
class Desk(application: Application) : AndroidViewModel(application) {
    /** The core's thread. */
    val line = OneThread(ContextCompat.getMainExecutor(application))

    /** The screens' state, over the book in the app's own folder. */
    val state = WalkState(line) { HouseBook.open(application.filesDir.path) }

    /** Waits until all touches are on the disk. */
    fun rest() = line.finish { state.pause() }

    override fun onCleared() {
        line.finish { state.close() }
        line.close()
    }
}
