// The Android screens in a window on a desktop, over the real core: for a developer to try the walk by hand. See desktop.sh.
package hangtrue.desktop

import androidx.compose.ui.unit.DpSize
import androidx.compose.ui.unit.dp
import androidx.compose.ui.window.Window
import androidx.compose.ui.window.WindowState
import androidx.compose.ui.window.application
import hangtrue.core.HouseBook
import hangtrue.screens.App
import hangtrue.screens.Line
import hangtrue.screens.Outside
import hangtrue.screens.Place
import hangtrue.screens.WalkState
import java.awt.Desktop
import java.awt.EventQueue
import java.awt.FileDialog
import java.awt.Frame
import java.io.File
import java.nio.file.Files
import java.util.concurrent.ExecutorService
import java.util.concurrent.Executors
import javax.swing.JFileChooser

/** `Window FOLDER [WIDTHxHEIGHT]`: opens the book in FOLDER in a window of that many dp; a usual phone's size when left out. */
fun main(args: Array<String>) {
    val folder = File(args.firstOrNull() ?: error("usage: Window FOLDER [WIDTHxHEIGHT]")).apply { mkdirs() }
    val (wide, high) = args.getOrElse(1) { "411x891" }.split('x').map { it.toInt() }
    val line = OneThread("core")
    val state = WalkState(line, OneThread("exchange")) { HouseBook.open(folder.path) }
    application {
        Window(onCloseRequest = ::exitApplication, title = "Hangtrue", state = WindowState(size = DpSize(wide.dp, high.dp))) {
            App(state, Desk(state))
        }
    }
    line.thread.submit { state.close() }.get()
}

/** One thread, and its answers on the thread that draws. */
private class OneThread(name: String) : Line {
    val thread: ExecutorService = Executors.newSingleThreadExecutor { Thread(it, name).apply { isDaemon = true } }

    override fun <T> run(work: () -> T, tell: (T) -> Unit) = thread.execute {
        val answer = work()
        EventQueue.invokeLater { tell(answer) }
    }
}

/** A desktop's file dialogue stands in for camera and pickers, its browser for printing. */
private class Desk(private val state: WalkState) : Outside {
    override fun takePhoto(on: String, caption: String) {
        ask("A picture", FileDialog.LOAD)?.let { state.addPhoto(on, it.readBytes(), caption) }
    }

    override fun share(name: String, type: String, text: String) {
        ask("Write $name", FileDialog.SAVE, name)?.writeText(text)
    }

    override fun print(name: String, html: String) {
        val file = Files.createTempFile("sheet", ".html").toFile()
        file.writeText(html)
        if (Desktop.isDesktopSupported()) Desktop.getDesktop().browse(file.toURI()) else state.tell("The sheet is in $file.")
    }

    override fun pickHouse() {
        ask("A house file", FileDialog.LOAD)?.let { state.takeIn(it.readText()) }
    }

    override fun pickFolder() {
        val chooser = JFileChooser().apply { fileSelectionMode = JFileChooser.DIRECTORIES_ONLY }
        if (chooser.showOpenDialog(null) == JFileChooser.APPROVE_OPTION) state.exchange.choose(Place.at(chooser.selectedFile.path))
    }

    override fun saveHouse(house: String, name: String) {
        ask("Save the house", FileDialog.SAVE, "$name.json")?.let { file ->
            state.fetch({ it.houseFile(house) }) { text -> file.writeText(text) }
        }
    }

    private fun ask(title: String, mode: Int, name: String? = null): File? {
        val dialog = FileDialog(null as Frame?, title, mode)
        dialog.file = name
        dialog.isVisible = true
        return dialog.files.firstOrNull()
    }
}
