// The core's own thread on a phone: the disk never holds up a frame, and touches reach the core in the order they were made.
package hangtrue.app

import hangtrue.screens.Line
import java.util.concurrent.ExecutionException
import java.util.concurrent.Executor
import java.util.concurrent.ExecutorService
import java.util.concurrent.Executors
import java.util.concurrent.TimeUnit
import java.util.concurrent.TimeoutException
import java.util.concurrent.atomic.AtomicInteger

/**
 * Runs the core's work on [thread], and tells what came of it through [screen], the executor of the thread that draws. The
 * thread is the process's own: what a new line does comes after all that an earlier one began, its end too. [first] is called
 * before anything is handed to the thread.
 */
class OneThread(private val screen: Executor, private val thread: ExecutorService, private val first: () -> Unit = {}) : Line {
    private val pending = AtomicInteger()

    @Volatile
    private var closed = false

    /** True when nothing is under way: what a test waits for. */
    val idle: Boolean get() = pending.get() == 0

    override fun <T> run(work: () -> T, tell: (T) -> Unit) {
        if (closed) return
        pending.incrementAndGet()
        first()
        thread.execute {
            val answer = work()
            screen.execute {
                if (!closed) tell(answer)
                pending.decrementAndGet()
            }
        }
    }

    /**
     * Runs [work] after all that was handed in, and waits for it, at most [seconds]: the system may end the process next. False
     * where it is not done by then, failed, or the wait was interrupted: it goes on if it can, and nothing that was acknowledged
     * depends on it.
     */
    fun finish(seconds: Long = 2, work: () -> Unit): Boolean {
        if (closed) return false
        return try {
            thread.submit(work).get(seconds, TimeUnit.SECONDS)
            true
        } catch (_: TimeoutException) {
            false
        } catch (_: ExecutionException) {
            false
        } catch (_: InterruptedException) {
            Thread.currentThread().interrupt()
            false
        }
    }

    /** Takes nothing more. What was handed in is done, and [last] after it; nobody is told and nobody waits. */
    fun close(last: () -> Unit = {}) {
        if (closed) return
        closed = true
        thread.execute(last)
    }

    companion object {
        /** A thread called [name] that does not keep the process alive. */
        fun named(name: String): ExecutorService = Executors.newSingleThreadExecutor { Thread(it, name).apply { isDaemon = true } }
    }
}
