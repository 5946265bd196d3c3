// The ways out of the app and into it: the share sheet, the printer, the document picker, the camera. Each asks the system
// to do it, so that the app needs no permission of its own.
package hangtrue.app

import android.content.Context
import android.content.Intent
import android.net.Uri
import android.print.PrintAttributes
import android.print.PrintManager
import android.webkit.WebView
import android.webkit.WebViewClient
import androidx.core.content.FileProvider
import java.io.File

/** The authority under which files are handed to other apps, as in the manifest. */
fun authority(context: Context): String = "${context.packageName}.files"

/** A new file in the app's cache that another app may be handed; [folder] is one that `shared_files.xml` names. */
fun handedFile(context: Context, folder: String, name: String): File {
    val safe = name.map { if (it.isLetterOrDigit() || it in "-_. ") it else '-' }.joinToString("").trim().ifEmpty { "sheet" }
    return File(context.cacheDir, folder).apply { mkdirs() }.resolve(safe)
}

/** The system's share sheet for a file: whoever is chosen there may read this one file. */
fun shareIntent(context: Context, file: File, type: String, title: String): Intent {
    val uri: Uri = FileProvider.getUriForFile(context, authority(context), file)
    val send = Intent(Intent.ACTION_SEND)
        .setType(type)
        .putExtra(Intent.EXTRA_STREAM, uri)
        .putExtra(Intent.EXTRA_SUBJECT, title)
        .addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION)
    send.clipData = android.content.ClipData.newRawUri(title, uri)
    return Intent.createChooser(send, title)
}

/**
 * Prints a sheet: lays it out in a web view that nobody sees, then hands it to the system's print dialogue. Nothing else
 * holds the web view while it lays out, so it is held here; from then on the print dialogue holds it.
 */
class SheetPrinter(private val context: Context) {
    private var laying: WebView? = null

    /** [html] is one of the core's sheets, which fetch nothing. */
    fun print(title: String, html: String) {
        val web = WebView(context)
        laying = web
        web.settings.javaScriptEnabled = false
        web.settings.blockNetworkLoads = true
        web.webViewClient = object : WebViewClient() {
            override fun onPageFinished(view: WebView, url: String?) {
                if (laying !== view) return
                val manager = context.getSystemService(Context.PRINT_SERVICE) as PrintManager
                manager.print(title, view.createPrintDocumentAdapter(title), PrintAttributes.Builder().build())
                laying = null
            }
        }
        web.loadDataWithBaseURL(null, html, "text/html", "utf-8", null)
    }
}
