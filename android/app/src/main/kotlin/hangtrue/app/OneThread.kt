// The core's own thread on a phone: the disk never holds up a frame, and touches reach the core in the order they were made.
package hangtrue.app

import hangtrue.screens.Line
import java.util.concurrent.Executor
import java.util.concurrent.Executors
import java.util.concurrent.TimeUnit
import java.util.concurrent.atomic.AtomicInteger

/** Runs the core's work on one thread, and tells what came of it through [screen], the executor of the thread that draws. */
class OneThread(private val screen: Executor) : Line {
    private val thread = Executors.newSingleThreadExecutor { Thread(it, "core") }
    private val pending = AtomicInteger()

    /** True when nothing is under way: what a test waits for. */
    val idle: Boolean get() = pending.get() == 0

    override fun <T> run(work: () -> T, tell: (T) -> Unit) {
        pending.incrementAndGet()
        thread.execute {
            val answer = work()
            screen.execute {
                tell(answer)
                pending.decrementAndGet()
            }
        }
    }

    /** Runs [work] after all that was handed in, and waits for it, at most [seconds]: the system may end the process next. */
    fun finish(seconds: Long = 2, work: () -> Unit) {
        thread.submit(work).get(seconds, TimeUnit.SECONDS)
    }

    /** Lets the thread end once all that was handed in is done. */
    fun close() = thread.shutdown()
}
