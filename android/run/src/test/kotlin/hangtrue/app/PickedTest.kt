// The folder of exchange that the system's picker hands out, over a keeper of documents of the test's own: picked once and kept,
// exchanged through, with each of its answers failing once, and read by the workroom's program by its path.
package hangtrue.app

import android.app.Activity
import android.content.Intent
import android.content.pm.ProviderInfo
import android.database.Cursor
import android.database.MatrixCursor
import android.net.Uri
import android.os.CancellationSignal
import android.os.ParcelFileDescriptor
import android.provider.DocumentsContract
import android.provider.DocumentsContract.Document
import android.provider.DocumentsProvider
import hangtrue.core.Event
import hangtrue.core.FolderFault
import hangtrue.core.Shown
import hangtrue.workroom.ran
import java.io.File
import java.io.FileNotFoundException
import java.nio.file.Files
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNotNull
import org.junit.Assert.assertNull
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Before
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.Robolectric
import org.robolectric.RobolectricTestRunner
import org.robolectric.Shadows.shadowOf
import org.robolectric.annotation.Config
import org.robolectric.annotation.GraphicsMode

@RunWith(RobolectricTestRunner::class)
@Config(sdk = [35], qualifiers = "w411dp-h891dp-xhdpi")
@GraphicsMode(GraphicsMode.Mode.NATIVE)
class PickedTest : OnPhone() {
    private val stick = Files.createTempDirectory("stick").toFile()
    private val key = Files.createTempDirectory("key").toFile().resolve("firm.key").also { ran("key", it.path) }
    private val tree: Uri = DocumentsContract.buildTreeDocumentUri(AUTHORITY, "root")
    private lateinit var keeper: Stick

    @Before
    fun plugIn() {
        val info = ProviderInfo().apply {
            authority = AUTHORITY
            exported = true
            grantUriPermissions = true
            readPermission = android.Manifest.permission.MANAGE_DOCUMENTS
            writePermission = android.Manifest.permission.MANAGE_DOCUMENTS
        }
        keeper = Robolectric.buildContentProvider(Stick::class.java).create(info).get()
        keeper.root = stick
    }

    /** The workroom's side of the stick: by its path. */
    private fun desk(book: File = Files.createTempDirectory("desk").toFile().resolve("desk.book")): String {
        ran("sync", stick.path, "--key", key.path, "--book", book.path)
        return ran("houses", "--json", "--book", book.path)
    }

    private fun withKey() {
        start()
        begin()
        listOf("three", "four", "three eighths").forEach { press(it) }
        press("keep thirty-four and three eighths inches")
        state.act(Event.ShowSync)
        settle()
        state.exchange.look()
        settle()
        state.exchange.key = key.readText().trim()
        state.exchange.takeKey()
        settle()
        assertNotNull(state.exchange.firm)
    }

    private fun pick() {
        press("choose a folder of exchange")
        val ask = shadowOf(activity).nextStartedActivityForResult
        assertEquals(Intent.ACTION_OPEN_DOCUMENT_TREE, ask.intent.action)
        shadowOf(activity).receiveResult(ask.intent, Activity.RESULT_OK, Intent().setData(tree))
        settle()
    }

    @Test
    fun `a picked folder is exchanged through, kept over the app's end, and read by a desk`() {
        withKey()
        pick()
        assertEquals("Blue stick", state.exchange.folder!!.called)
        press("exchange through the folder")
        val stopped = state.exchange.report!!.stopped!!
        assertTrue(stopped, "Blue stick" in stopped && "there is no hangtrue-exchange.json" in stopped)
        assertEquals("a place was begun unasked", 0, stick.list()!!.size)
        press("make the folder a place of exchange")
        assertNull(state.exchange.report!!.stopped)
        assertTrue(state.exchange.report!!.allSent)
        draw("app-picked")
        assertTrue("Larch House" in desk())
        assertFalse("something half written is left", stick.walk().any { it.name.endsWith(".new") })

        // the end of the app, and what the workroom wrote meanwhile
        app!!.pause().stop().destroy()
        app = null
        val book = Files.createTempDirectory("desk").toFile().resolve("desk.book")
        desk(book)
        ran("ask", "larch", "kitchen", "--place", "width_top", "--why", "an inch out?", "--book", book.path)
        desk(book)
        start()
        assertEquals("Blue stick", state.exchange.folder!!.called)
        assertEquals(listOf(tree), activity.contentResolver.persistedUriPermissions.map { it.uri })
        state.act(Event.ShowSync)
        settle()
        press("exchange through the folder")
        assertNull(state.exchange.report!!.stopped)
        assertTrue(state.exchange.report!!.arrived > 0u)
        state.act(Event.ShowHouses)
        settle()
        assertTrue((state.screen!!.shown as Shown.Houses).screen.rows.single().says.contains("measure again"))
        // what the system does not let the app use any more is not offered
        activity.contentResolver.releasePersistableUriPermission(tree, Intent.FLAG_GRANT_READ_URI_PERMISSION or Intent.FLAG_GRANT_WRITE_URI_PERMISSION)
        app!!.pause().stop().destroy()
        app = null
        start()
        assertNull(state.exchange.folder)
    }

    @Test
    fun `every answer of the folder fails once, and nothing is lost nor half there`() {
        withKey()
        val folder = PickedPlace(process).pick(tree)
        var strike = 0
        do {
            strike += 1
            stick.listFiles()!!.forEach { it.deleteRecursively() }
            keeper.arm(strike)
            process.book.use { folder.exchange(it, true, true) }
            val tried = keeper.struck
            keeper.arm(0)
            whole()
            val then = process.book.use { folder.exchange(it, true, true) }
            assertNull("answer $strike", then.stopped)
            assertTrue("answer $strike", then.allSent)
            whole()
            assertTrue("answer $strike", "Larch House" in desk())
        } while (tried)
        assertTrue("only $strike answers were tried", strike > 15)
    }

    /** What has the name of a segment hashes to what its name says. */
    private fun whole() = stick.walk().filter { it.isFile && Regex("[0-9]{10}-[0-9]{10}-[0-9a-f]{64}").matches(it.name) }.forEach {
        val hash = java.security.MessageDigest.getInstance("SHA-256").digest(it.readBytes()).joinToString("") { byte -> "%02x".format(byte) }
        assertTrue("${it.name} is there in part", it.name.endsWith(hash))
    }

    @Test
    fun `what is there is never changed, and a keeper that does otherwise than it is told is found out`() {
        val documents = Documents(process, tree)
        documents.create("segments/a/one", byteArrayOf(1, 2, 3))
        assertArrayEquals(byteArrayOf(1, 2, 3), stick.resolve("segments/a/one").readBytes())
        documents.create("segments/a/one", byteArrayOf(4))
        assertArrayEquals(byteArrayOf(4), stick.resolve("segments/a/one").readBytes())
        val aside = stick.resolve("segments/a").listFiles()!!.single { it.name.endsWith(".damaged") }
        assertArrayEquals(byteArrayOf(1, 2, 3), aside.readBytes())
        assertEquals(setOf("segments/a/one", "segments/a/${aside.name}"), Documents(process, tree).list("segments/").toSet())
        assertEquals(emptyList<String>(), documents.list("photos/"))
        assertNull(documents.read("segments/a/two", 9u))
        assertArrayEquals("more was read than may be", byteArrayOf(4), documents.read("segments/a/one", 0u))
        // another wrote in it since it was looked into
        stick.resolve("segments/b").mkdirs()
        stick.resolve("segments/b/three").writeBytes(byteArrayOf(5))
        assertArrayEquals(byteArrayOf(5), documents.read("segments/b/three", 9u))
        // and took it away
        stick.resolve("segments/b/three").delete()
        assertNull(documents.read("segments/b/three", 9u))

        keeper.renames = false
        documents.create("segments/a/four", byteArrayOf(6))
        assertArrayEquals(byteArrayOf(6), stick.resolve("segments/a/four").readBytes())
        keeper.renames = true
        keeper.adds = ".bin"
        assertThrows(FolderFault.Refused::class.java) { documents.create("segments/a/five", byteArrayOf(7)) }
        assertFalse(stick.walk().any { "five" in it.name })
        keeper.adds = ""
        keeper.full = true
        assertThrows(FolderFault.Full::class.java) { documents.create("segments/a/six", byteArrayOf(8)) }
        keeper.full = false
        keeper.pulled = true
        assertThrows(FolderFault.Away::class.java) { documents.list("segments/") }
    }

    /** Keeps documents in a folder of this machine, as a stick's do; the n-th answer fails, after the half of a write. */
    class Stick : DocumentsProvider() {
        lateinit var root: File
        var renames = true
        var adds = ""
        var full = false
        var pulled = false
        var struck = false
            private set
        private var asked = 0
        private var strike = 0

        fun arm(at: Int) {
            asked = 0
            strike = at
            struck = false
        }

        @Synchronized
        private fun ask(after: () -> Unit = {}) {
            asked += 1
            if (asked == strike) {
                struck = true
                after()
                throw FileNotFoundException("the stick was pulled")
            }
            if (pulled) throw FileNotFoundException("the stick was pulled")
        }

        private fun file(id: String) = if (id == "root") root else root.resolve(id.removePrefix("root/"))

        private fun id(file: File) = if (file == root) "root" else "root/${file.relativeTo(root).path}"

        override fun onCreate() = true

        override fun queryRoots(projection: Array<out String>?): Cursor = MatrixCursor(arrayOf())

        private fun rows(projection: Array<out String>?, files: List<File>) = MatrixCursor(projection ?: arrayOf()).apply {
            files.forEach { file ->
                newRow()
                    .add(Document.COLUMN_DOCUMENT_ID, id(file))
                    .add(Document.COLUMN_DISPLAY_NAME, if (file == root) "Blue stick" else file.name)
                    .add(Document.COLUMN_MIME_TYPE, if (file.isDirectory) Document.MIME_TYPE_DIR else "application/octet-stream")
                    .add(Document.COLUMN_FLAGS, if (renames) Document.FLAG_SUPPORTS_RENAME else 0)
            }
        }

        override fun queryDocument(id: String, projection: Array<out String>?): Cursor {
            ask()
            if (!file(id).exists()) throw FileNotFoundException(id)
            return rows(projection, listOf(file(id)))
        }

        override fun queryChildDocuments(id: String, projection: Array<out String>?, order: String?): Cursor {
            ask()
            return rows(projection, file(id).listFiles().orEmpty().toList())
        }

        override fun isChildDocument(parent: String, id: String) = id == parent || id.startsWith("$parent/")

        override fun openDocument(id: String, mode: String, signal: CancellationSignal?): ParcelFileDescriptor {
            ask { if ("w" in mode) file(id).writeBytes(byteArrayOf(1)) }
            if (full && "w" in mode) throw FileNotFoundException("open failed: ENOSPC (No space left on device)")
            return ParcelFileDescriptor.open(file(id), ParcelFileDescriptor.parseMode(mode))
        }

        override fun createDocument(parent: String, type: String, name: String): String {
            ask()
            val made = file(parent).resolve(name)
            if (type == Document.MIME_TYPE_DIR) check(made.mkdir()) else check(made.createNewFile())
            return id(made)
        }

        override fun renameDocument(id: String, name: String): String {
            ask()
            val to = file(id).resolveSibling(name + adds)
            check(!to.exists() && file(id).renameTo(to))
            return id(to)
        }

        override fun deleteDocument(id: String) {
            ask()
            check(file(id).delete())
        }
    }

    private companion object {
        const val AUTHORITY = "hangtrue.test.stick"
    }
}
