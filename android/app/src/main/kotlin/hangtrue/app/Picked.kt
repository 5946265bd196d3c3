// The folder of exchange that a person picked with the system's picker: on the device, a card, a stick, or in an app that keeps
// folders elsewhere. It has no path; its documents are listed, read and created through the system, and the core says which.
package hangtrue.app

import android.content.Context
import android.content.Intent
import android.database.Cursor
import android.net.Uri
import android.os.Bundle
import android.os.ParcelFileDescriptor
import android.provider.DocumentsContract
import android.provider.DocumentsContract.Document
import android.system.ErrnoException
import android.system.OsConstants
import androidx.core.content.edit
import hangtrue.core.FolderFault
import hangtrue.core.PickedFolder
import hangtrue.screens.Place
import java.io.ByteArrayOutputStream
import java.io.FileNotFoundException
import java.io.IOException
import java.util.UUID

/** Keeps which folder was picked, over the end of the process. */
class PickedPlace(private val context: Context) {
    private val kept = context.getSharedPreferences("folder", Context.MODE_PRIVATE)

    /** The folder that was picked last, while the system still lets the app use it. */
    fun last(): Place? {
        val tree = kept.getString(TREE, null)?.let(Uri::parse) ?: return null
        val allowed = context.contentResolver.persistedUriPermissions.any { it.uri == tree && it.isReadPermission && it.isWritePermission }
        return if (allowed) place(tree, kept.getString(CALLED, null).orEmpty()) else null
    }

    /** A person picked [tree]. Not on the main thread: its name is asked of whoever keeps it. */
    fun pick(tree: Uri): Place {
        val resolver = context.contentResolver
        resolver.takePersistableUriPermission(tree, BOTH)
        // one folder at a time: what was picked before is given back
        resolver.persistedUriPermissions.filter { it.uri != tree }.forEach { runCatching { resolver.releasePersistableUriPermission(it.uri, BOTH) } }
        val called = runCatching { Documents(context, tree).called() }.getOrNull() ?: "the folder"
        kept.edit(commit = true) {
            putString(TREE, tree.toString())
            putString(CALLED, called)
        }
        return place(tree, called)
    }

    private fun place(tree: Uri, called: String) = Place(called) { book, begin, photos ->
        book.exchangeWithPickedFolder(Documents(context, tree), called, begin, photos)
    }

    private companion object {
        const val TREE = "tree"
        const val CALLED = "called"
        const val BOTH = Intent.FLAG_GRANT_READ_URI_PERMISSION or Intent.FLAG_GRANT_WRITE_URI_PERMISSION
    }
}

/** The documents below [tree], for one exchange: which folder is where is asked once. */
class Documents(context: Context, private val tree: Uri) : PickedFolder {
    private class Found(val id: String, val folder: Boolean)

    private val resolver = context.contentResolver

    /** What lies in the folders that were looked into, by their names; the picked one has none. */
    private val known = HashMap<String, MutableMap<String, Found>>()

    /** What the one who keeps the folder calls it. */
    fun called(): String? = ask(document(root())) { if (it.moveToFirst()) it.getString(1) else null }

    override fun list(prefix: String): List<String> = told {
        val below = mutableListOf<String>()
        fun into(folder: String, deep: Int) {
            look(folder)?.forEach { (name, found) ->
                val whole = if (folder.isEmpty()) name else "$folder/$name"
                if (!found.folder) below += whole else if (deep + 1 < DEEPEST) into(whole, deep + 1)
            }
        }
        into(prefix.trimEnd('/'), prefix.count { it == '/' })
        below
    }

    override fun read(name: String, most: ULong): ByteArray? = told {
        val found = find(name)?.takeUnless { it.folder } ?: return@told null
        val stream = try {
            resolver.openInputStream(document(found.id)) ?: throw IOException("it cannot be opened")
        } catch (gone: FileNotFoundException) {
            // taken away since it was listed, or with all that is around it
            known.clear()
            if (find(name) == null) return@told null
            throw gone
        }
        stream.use { from ->
            val into = ByteArrayOutputStream()
            val piece = ByteArray(1 shl 16)
            val end = most.toLong() + 1
            while (into.size() < end) {
                val got = from.read(piece, 0, minOf(piece.size.toLong(), end - into.size()).toInt())
                if (got < 0) break
                into.write(piece, 0, got)
            }
            into.toByteArray()
        }
    }

    override fun create(name: String, bytes: ByteArray) = told {
        val folder = name.substringBeforeLast('/', "")
        val last = name.substringAfterLast('/')
        val parent = folderAt(folder)
        if (folder !in known) look(folder)
        // what has this name is not what it says, or it would not be created: it is left, under another name
        known[folder]?.get(last)?.let { rename(it.id, "$last.${UUID.randomUUID()}.damaged") }
        var whole = make(parent, FILE, "$last.${UUID.randomUUID()}.new")
        try {
            if (!canRename(whole)) {
                // written under its own name then; whoever reads it half holds it against its name
                DocumentsContract.deleteDocument(resolver, document(whole))
                whole = make(parent, FILE, last)
            }
            write(whole, bytes)
            if (canRename(whole)) whole = rename(whole, last)
        } catch (fault: Exception) {
            // it was made here and is nobody's yet; what cannot be taken away stays under a name that nobody reads
            runCatching { DocumentsContract.deleteDocument(resolver, document(whole)) }
            throw fault
        }
        val given = ask(document(whole)) { if (it.moveToFirst()) it.getString(1) else null }
        if (given != last) {
            runCatching { DocumentsContract.deleteDocument(resolver, document(whole)) }
            throw FolderFault.Refused("it gives a file another name than it is told")
        }
        known[folder]?.put(last, Found(whole, false))
        Unit
    }

    private fun write(id: String, bytes: ByteArray) {
        val open = resolver.openFileDescriptor(document(id), "w") ?: throw IOException("it cannot be written")
        ParcelFileDescriptor.AutoCloseOutputStream(open).use {
            it.write(bytes)
            // a pipe to another app has no disk below it; what came of it is read back, there as everywhere
            runCatching { it.fd.sync() }
        }
    }

    private fun canRename(id: String): Boolean = ask(document(id)) { it.moveToFirst() && it.getInt(3) and Document.FLAG_SUPPORTS_RENAME != 0 }

    private fun rename(id: String, to: String): String {
        val at = DocumentsContract.renameDocument(resolver, document(id), to)
        return if (at == null) id else DocumentsContract.getDocumentId(at)
    }

    private fun make(parent: String, type: String, name: String): String {
        val made = DocumentsContract.createDocument(resolver, document(parent), type, name) ?: throw IOException("nothing can be created there")
        return DocumentsContract.getDocumentId(made)
    }

    /** The folder called [name], made with those that lead to it where it is not there. */
    private fun folderAt(name: String): String {
        if (name.isEmpty()) return root()
        val above = name.substringBeforeLast('/', "")
        val last = name.substringAfterLast('/')
        find(name)?.let { return if (it.folder) it.id else throw FolderFault.Refused("$name is a file there and no folder") }
        val parent = folderAt(above)
        val made = make(parent, Document.MIME_TYPE_DIR, last)
        known[above]?.put(last, Found(made, true))
        known[name] = HashMap()
        return made
    }

    // what was not there when it was looked for is looked for again: another may have made it since
    private fun find(name: String): Found? {
        val folder = name.substringBeforeLast('/', "")
        val last = name.substringAfterLast('/')
        return known[folder]?.get(last) ?: look(folder)?.get(last)
    }

    /** Looks into a folder anew; nothing where it is not there. */
    private fun look(folder: String): Map<String, Found>? {
        val id = if (folder.isEmpty()) root() else (find(folder)?.takeIf { it.folder } ?: return null).id
        val children = HashMap<String, Found>()
        ask(DocumentsContract.buildChildDocumentsUriUsingTree(tree, id)) {
            while (it.moveToNext()) children[it.getString(1)] = Found(it.getString(0), it.getString(2) == Document.MIME_TYPE_DIR)
        }
        known[folder] = children
        return children
    }

    private fun <T> ask(of: Uri, read: (Cursor) -> T): T = (resolver.query(of, COLUMNS, Bundle.EMPTY, null) ?: throw IOException("it does not answer")).use(read)

    private fun root(): String = DocumentsContract.getTreeDocumentId(tree)

    private fun document(id: String): Uri = DocumentsContract.buildDocumentUriUsingTree(tree, id)

    /** What any of it may throw, in the words of the core. */
    private fun <T> told(work: () -> T): T = try {
        work()
    } catch (fault: FolderFault) {
        throw fault
    } catch (fault: Exception) {
        val causes = generateSequence<Throwable>(fault) { it.cause }
        val words = causes.mapNotNull { it.message }.firstOrNull() ?: fault.javaClass.simpleName
        throw when {
            causes.any { it is ErrnoException && it.errno == OsConstants.ENOSPC } || causes.any { it.message.orEmpty().contains("ENOSPC") } -> FolderFault.Full(words)
            fault is SecurityException -> FolderFault.Refused("this app may not use it any more; choose the folder again")
            fault is UnsupportedOperationException -> FolderFault.Refused(words)
            else -> FolderFault.Away(words)
        }
    }

    private companion object {
        /** Names have at most this many parts; what lies deeper is nobody's. */
        const val DEEPEST = 4
        const val FILE = "application/octet-stream"
        val COLUMNS = arrayOf(Document.COLUMN_DOCUMENT_ID, Document.COLUMN_DISPLAY_NAME, Document.COLUMN_MIME_TYPE, Document.COLUMN_FLAGS)
    }
}
