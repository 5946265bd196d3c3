// The app's one activity: the shared screens, the system's back gesture, and the ways out of the app.
package hangtrue.app

import android.Manifest
import android.content.Intent
import android.graphics.Color
import android.net.Uri
import android.os.Build
import android.os.Bundle
import androidx.activity.ComponentActivity
import androidx.activity.SystemBarStyle
import androidx.activity.compose.BackHandler
import androidx.activity.compose.setContent
import androidx.activity.enableEdgeToEdge
import androidx.activity.result.contract.ActivityResultContracts
import androidx.lifecycle.ViewModelProvider
import hangtrue.core.Event
import hangtrue.screens.App
import hangtrue.screens.BackgroundExchange
import hangtrue.screens.Outside
import hangtrue.screens.Place
import java.io.File
import java.io.IOException

/** Starts the app, and hands what the screens ask of the system to the system. */
class MainActivity : ComponentActivity(), Outside {
    private lateinit var desk: Desk
    private val printer by lazy { SheetPrinter(this) }

    /** What a photo that the camera app is taking is for: kept while this app is away, and through its death. */
    private var photo: Pending? = null

    private val camera = registerForActivityResult(ActivityResultContracts.TakePicture()) { taken -> photoCame(taken) }
    private val picker = registerForActivityResult(ActivityResultContracts.OpenDocument()) { uri -> if (uri != null) picked(uri) }
    private val folders = registerForActivityResult(ActivityResultContracts.OpenDocumentTree()) { tree -> if (tree != null) folderPicked(tree) }
    private var saving: String? = null
    private val saver = registerForActivityResult(ActivityResultContracts.CreateDocument(JSON)) { uri -> if (uri != null) save(uri) }

    private val notifying = registerForActivityResult(ActivityResultContracts.RequestPermission()) { (application as Hangtrue).background.look() }

    override val background: BackgroundExchange by lazy {
        val own = (application as Hangtrue).background
        object : BackgroundExchange by own {
            override fun turn(on: Boolean) {
                own.turn(on)
                // here it is first needed, and the switch says what for
                if (on && !own.notifies && Build.VERSION.SDK_INT >= Build.VERSION_CODES.TIRAMISU) notifying.launch(Manifest.permission.POST_NOTIFICATIONS)
            }
        }
    }

    override fun onCreate(savedInstanceState: Bundle?) {
        super.onCreate(savedInstanceState)
        // the screens are light by day and by night: the clock above them is dark
        enableEdgeToEdge(SystemBarStyle.light(Color.TRANSPARENT, Color.TRANSPARENT), SystemBarStyle.light(Color.TRANSPARENT, Color.TRANSPARENT))
        desk = ViewModelProvider(this, Desk.of(application))[Desk::class.java]
        photo = savedInstanceState?.getStringArray(PHOTO)?.let { (on, caption, path) -> Pending(on, caption, File(path)) }
        saving = savedInstanceState?.getString(SAVING)
        val state = desk.state
        if (savedInstanceState == null) offered(intent)
        setContent {
            BackHandler(enabled = state.canGoBack) { state.back() }
            App(state, this)
        }
    }

    override fun onSaveInstanceState(outState: Bundle) {
        super.onSaveInstanceState(outState)
        photo?.let { outState.putStringArray(PHOTO, arrayOf(it.on, it.caption, it.file.path)) }
        saving?.let { outState.putString(SAVING, it) }
    }

    override fun onNewIntent(intent: Intent) {
        super.onNewIntent(intent)
        offered(intent)
    }

    /**
     * What the app was started for: to go on measuring; for a notification or a label's code, which opens its opening; or for the
     * workroom's code, which the camera app found: that is only written where it can be used.
     */
    private fun offered(intent: Intent) {
        if (intent.action == MEASURE) return desk.state.measure()
        if (intent.action == Requests.REQUESTED) {
            val house = intent.getStringExtra(Requests.HOUSE) ?: return
            return desk.state.open(house, intent.getStringExtra(Requests.OPENING) ?: return)
        }
        val code = intent.data ?: return
        if (code.scheme == "hangtrue-label") return desk.state.act(Event.OpenLabel(code.toString()))
        if (code.scheme != "hangtrue-pair") return
        desk.state.exchange.code = code.toString()
        desk.state.act(Event.ShowSync)
    }

    override fun onResume() {
        super.onResume()
        // notifications may have been switched on or off meanwhile
        (application as Hangtrue).background.look()
    }

    override fun onPause() {
        super.onPause()
        desk.rest()
    }

    override fun takePhoto(on: String, caption: String) {
        val file = handedFile(this, "camera", "$on.jpg")
        photo = Pending(on, caption, file)
        asking("There is no camera app on this device.") {
            camera.launch(androidx.core.content.FileProvider.getUriForFile(this, authority(this), file))
        }
    }

    override fun share(name: String, type: String, text: String) {
        val file = handedFile(this, "out", name)
        file.writeText(text)
        asking("There is nothing on this device to share with.") { startActivity(shareIntent(this, file, type, name)) }
    }

    override fun print(name: String, html: String) = asking("This device cannot print.") { printer.print(name, html) }

    override fun pickHouse() = asking("There is no file picker on this device.") { picker.launch(arrayOf(JSON, "text/plain", "application/octet-stream")) }

    override fun pickFolder() = try {
        folders.launch(null)
    } catch (_: android.content.ActivityNotFoundException) {
        // no picker: the app's own folders have a path, on a card where there is one, else where a cable reaches them
        val own = getExternalFilesDirs("exchange").filterNotNull().lastOrNull()
        if (own != null) desk.state.exchange.choose(Place.at(own.path)) else desk.state.tell("This device has no storage that a cable or a card reader reaches.")
    }

    override fun saveHouse(house: String, name: String) {
        saving = house
        asking("There is no file picker on this device.") { saver.launch("$name.json") }
    }

    private fun photoCame(taken: Boolean) {
        val of = photo ?: return
        photo = null
        if (!taken) return
        desk.line.run({ runCatching { of.file.readBytes() } }) { bytes ->
            bytes.onSuccess { desk.state.addPhoto(of.on, it, of.caption) }.onFailure { desk.state.tell("The camera left no photo. Take it again.") }
            // the core has its own copy by the time this runs
            desk.line.run({ of.file.delete() }) {}
        }
    }

    private fun picked(uri: Uri) =
        desk.line.run({ runCatching { contentResolver.openInputStream(uri)?.use { it.readBytes().decodeToString() } ?: throw IOException("it is gone") } }) { text ->
            text.onSuccess(desk.state::takeIn).onFailure { desk.state.tell("The file could not be read: ${it.message}. Pick it again.") }
        }

    private fun folderPicked(tree: Uri) = desk.line.run({ runCatching { PickedPlace(application).pick(tree) } }) { place ->
        place.onSuccess(desk.state.exchange::choose).onFailure { desk.state.tell("The folder cannot be used: ${it.message}. Choose another.") }
    }

    private fun save(uri: Uri) {
        val house = saving ?: return
        saving = null
        desk.state.fetch({ book ->
            val out = contentResolver.openOutputStream(uri, "wt") ?: throw IOException("The file could not be written. Choose another place.")
            out.use { it.write(book.houseFile(house).encodeToByteArray()) }
        }) {}
    }

    private fun asking(otherwise: String, what: () -> Unit) = try {
        what()
    } catch (_: android.content.ActivityNotFoundException) {
        desk.state.tell(otherwise)
    }

    private class Pending(val on: String, val caption: String, val file: File)

    private companion object {
        /** As in `shortcuts.xml`. */
        const val MEASURE = "hangtrue.app.MEASURE"
        const val JSON = "application/json"
        const val PHOTO = "photo"
        const val SAVING = "saving"
    }
}
