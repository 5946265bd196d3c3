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
import hangtrue.screens.WalkState
import java.awt.Desktop
import java.awt.EventQueue
import java.awt.FileDialog
import java.awt.Frame
import java.io.File
import java.nio.file.Files
import java.util.concurrent.Executors

/** `Window FOLDER [WIDTHxHEIGHT]`: opens the book in FOLDER in a window of that many dp; a usual phone's size when left out. */
fun main(args: Array<String>) {
    val folder = File(args.firstOrNull() ?: error("usage: Window FOLDER [WIDTHxHEIGHT]")).apply { mkdirs() }
    val (wide, high) = args.getOrElse(1) { "411x891" }.split('x').map { it.toInt() }
    val thread = Executors.newSingleThreadExecutor { Thread(it, "core").apply { isDaemon = true } }
    val line = object : Line {
        override fun <T> run(work: () -> T, tell: (T) -> Unit) = thread.execute {
            val answer = work()
            EventQueue.invokeLater { tell(answer) }
        }
    }
    val state = WalkState(line) { HouseBook.open(folder.path) }
    application {
        Window(onCloseRequest = ::exitApplication, title = "Hangtrue", state = WindowState(size = DpSize(wide.dp, high.dp))) {
            App(state, Desk(state))
        }
    }
    thread.submit { state.close() }.get()
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
