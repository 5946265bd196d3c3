// The workroom's program itself, for tests of the screens and of the app: `hangtrue hub` as a process, typed at and read from.
package hangtrue.workroom

import java.io.File
import java.util.concurrent.LinkedBlockingQueue
import java.util.concurrent.TimeUnit
import kotlin.concurrent.thread

/** The program of the workroom, which check.sh builds beside the core's library. */
val program = File(System.getProperty("jna.library.path"), "hangtrue")

/** A slow machine's patience. */
const val PATIENCE_S = 90L

/** Runs the workroom's program to its end. */
fun ran(vararg words: String): String {
    val process = ProcessBuilder(listOf(program.path) + words).redirectErrorStream(true).start()
    val said = process.inputStream.bufferedReader().readText()
    check(process.waitFor() == 0) { "hangtrue ${words.joinToString(" ")}: $said" }
    return said
}

/** The workroom, with a book of its own. What lies in [folder] is there again after [stop], for another on the same port. */
class Hub(private val folder: File, port: Int = 0) {
    private val process: Process
    private val lines = LinkedBlockingQueue<String>()

    /** The workroom's book. */
    val desk: String get() = folder.resolve("desk.book").path

    init {
        check(program.exists()) { "there is no $program: cargo build -p hangtrue makes it, and android/check.sh does" }
        val words = listOf("hub", "--folder", folder.resolve("hub").path, "--listen", "127.0.0.1:$port", "--name", "Loft", "--book", desk)
        process = ProcessBuilder(listOf(program.path) + words).redirectError(ProcessBuilder.Redirect.INHERIT).start()
        thread(isDaemon = true) { process.inputStream.bufferedReader().forEachLine { lines.put(it) } }
        waitFor("Type \"pair\"")
    }

    fun waitFor(words: String): String {
        val end = System.nanoTime() + TimeUnit.SECONDS.toNanos(PATIENCE_S)
        while (true) {
            val line = lines.poll(end - System.nanoTime(), TimeUnit.NANOSECONDS) ?: throw AssertionError("the hub did not say \"$words\"")
            if (words in line) return line
        }
    }

    fun type(line: String) = process.outputStream.run {
        write("$line\n".encodeToByteArray())
        flush()
    }

    fun code(): String {
        type("pair")
        return waitFor("hangtrue-pair:").trim()
    }

    /** Holds it up ("STOP") or lets it go on ("CONT"): connections are taken, and nothing is answered. */
    fun signal(name: String) {
        check(ProcessBuilder("kill", "-$name", "${process.pid()}").start().waitFor() == 0)
    }

    fun stop() {
        process.destroyForcibly().waitFor()
    }
}
