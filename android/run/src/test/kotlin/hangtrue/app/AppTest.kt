// The app itself on Android's own classes, with the real core in the same process: started, turned, sent to the background,
// killed and brought back, and sent out to other apps.
package hangtrue.app

import android.app.Activity
import android.content.Intent
import android.content.pm.ActivityInfo
import android.net.Uri
import android.os.Bundle
import android.os.Looper
import android.print.PrintDocumentAdapter
import android.print.PrintManager
import android.provider.MediaStore
import android.view.HapticFeedbackConstants
import android.view.View
import android.view.ViewGroup
import android.webkit.WebView
import androidx.compose.ui.test.onNodeWithTag
import androidx.core.view.WindowInsetsControllerCompat
import androidx.lifecycle.Lifecycle
import androidx.test.core.app.ApplicationProvider
import hangtrue.core.BookFault
import hangtrue.core.Event
import hangtrue.core.Severity
import hangtrue.core.Shown
import java.io.ByteArrayInputStream
import java.io.ByteArrayOutputStream
import java.io.File
import java.util.concurrent.CountDownLatch
import java.util.concurrent.TimeUnit
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNotNull
import org.junit.Assert.assertNotSame
import org.junit.Assert.assertNull
import org.junit.Assert.assertSame
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.Robolectric
import org.robolectric.RobolectricTestRunner
import org.robolectric.RuntimeEnvironment
import org.robolectric.Shadows.shadowOf
import org.robolectric.annotation.Config
import org.robolectric.annotation.GraphicsMode
import org.robolectric.annotation.Implementation
import org.robolectric.annotation.Implements
import org.robolectric.shadows.ShadowWebView
import org.xmlpull.v1.XmlPullParser

@RunWith(RobolectricTestRunner::class)
@Config(sdk = [35], qualifiers = "w411dp-h891dp-xhdpi")
@GraphicsMode(GraphicsMode.Mode.NATIVE)
class AppTest : OnPhone() {
    @Test
    fun `starts with an empty book and reads`() {
        start()
        assertEquals(Lifecycle.State.RESUMED, activity.lifecycle.currentState)
        draw("app-houses")
        begin()
        listOf("three", "four", "three eighths").forEach { press(it) }
        draw("app-walk")
        press("keep thirty-four and three eighths inches")
        assertEquals("Middle width", reading.prompt)
        assertTrue(state.screen!!.notice!!.kept)
        press("colours for bright light")
        draw("app-walk-outdoors")
    }

    @Test
    fun `turned on its side it is the same screen over the same book`() {
        start()
        begin()
        press("three")
        val before = state
        RuntimeEnvironment.setQualifiers("w891dp-h411dp-land-xhdpi")
        app!!.configurationChange().visible()
        settle()
        assertSame("the book was opened again", before, state)
        assertEquals("3", reading.typed)
        rule.onNodeWithTag("accept").assertExists()
        draw("app-turned")
        press("five")
        assertEquals("35", reading.typed)
    }

    @Test
    fun `goes to the background and comes back`() {
        start()
        begin()
        press("three")
        app!!.pause().stop()
        // what was typed is in the file already: another book over the same folder sees it
        app!!.restart().start().resume()
        settle()
        press("four")
        assertEquals("34", reading.typed)
    }

    @Test
    fun `comes back from the process's death to the same digits`() {
        start()
        begin()
        listOf("three", "four").forEach { press(it) }
        val before = state
        val saved = Bundle()
        app!!.pause().stop().saveInstanceState(saved).destroy()
        app = null
        start(saved)
        assertNotSame(before, state)
        assertEquals("Top width", reading.prompt)
        assertEquals("34", reading.typed)
        // also without what the system saved: all is in the book
        app!!.pause().stop().destroy()
        app = null
        start()
        assertEquals("34", reading.typed)
    }

    @Test
    fun `the back gesture leads back, and out of the first screen`() {
        start()
        begin()
        press("three")
        activity.onBackPressedDispatcher.onBackPressed()
        settle()
        assertTrue(state.screen!!.shown is Shown.House)
        while (state.screen!!.back != null) {
            activity.onBackPressedDispatcher.onBackPressed()
            settle()
        }
        assertTrue(state.screen!!.shown is Shown.Houses)
        assertFalse(activity.isFinishing)
        activity.onBackPressedDispatcher.onBackPressed()
        settle()
        assertTrue(activity.isFinishing)
    }

    @Test
    fun `shares a house through the system's share sheet`() {
        start()
        begin()
        toHouse()
        press("share the house file")
        val chooser = shadowOf(activity).nextStartedActivity
        assertEquals(Intent.ACTION_CHOOSER, chooser.action)
        val send = chooser.getParcelableExtra(Intent.EXTRA_INTENT, Intent::class.java)!!
        assertEquals(Intent.ACTION_SEND, send.action)
        assertEquals("application/json", send.type)
        assertTrue(send.flags and Intent.FLAG_GRANT_READ_URI_PERMISSION != 0)
        val uri = send.getParcelableExtra(Intent.EXTRA_STREAM, Uri::class.java)!!
        assertEquals("hangtrue.app.files", uri.authority)
        // what the other app would read is the house
        val text = activity.contentResolver.openInputStream(uri)!!.use { it.readBytes().decodeToString() }
        assertTrue(text, text.contains("Larch House"))
    }

    @Test
    fun `takes in a house that is picked, and says what is wrong with one that is none`() {
        start()
        press("Take in a house file")
        val ask = shadowOf(activity).nextStartedActivityForResult
        assertEquals(Intent.ACTION_OPEN_DOCUMENT, ask.intent.action)
        val good = Uri.parse("content://papers/heron-lane")
        shadowOf(activity.contentResolver).registerInputStream(good, ByteArrayInputStream(File("../../fixtures/houses/heron-lane.json").readBytes()))
        shadowOf(activity).receiveResult(ask.intent, Activity.RESULT_OK, Intent().setData(good))
        settle()
        assertEquals(1u, (state.screen!!.shown as Shown.Houses).screen.count)

        press("Take in a house file")
        val again = shadowOf(activity).nextStartedActivityForResult
        val bad = Uri.parse("content://papers/no-house")
        shadowOf(activity.contentResolver).registerInputStream(bad, ByteArrayInputStream("[]".toByteArray()))
        shadowOf(activity).receiveResult(again.intent, Activity.RESULT_OK, Intent().setData(bad))
        settle()
        assertNotNull(state.trouble)
        draw("app-trouble")
    }

    @Test
    fun `saves a house where a person chooses`() {
        start()
        begin()
        toHouse()
        press("save the house as a file")
        val ask = shadowOf(activity).nextStartedActivityForResult
        assertEquals(Intent.ACTION_CREATE_DOCUMENT, ask.intent.action)
        assertEquals("Larch House.json", ask.intent.getStringExtra(Intent.EXTRA_TITLE))
        val out = ByteArrayOutputStream()
        val place = Uri.parse("content://papers/new")
        shadowOf(activity.contentResolver).registerOutputStream(place, out)
        shadowOf(activity).receiveResult(ask.intent, Activity.RESULT_OK, Intent().setData(place))
        settle()
        assertNull(state.trouble)
        assertTrue(out.toString().contains("Larch House"))
    }

    @Test
    fun `a photo comes from the camera app, through this app's death too`() {
        start()
        begin()
        toHouse()
        press("add a photo of the house")
        val ask = shadowOf(activity).nextStartedActivityForResult
        assertEquals(MediaStore.ACTION_IMAGE_CAPTURE, ask.intent.action)
        val into = ask.intent.getParcelableExtra(MediaStore.EXTRA_OUTPUT, Uri::class.java)!!
        assertEquals("hangtrue.app.files", into.authority)
        // the camera app writes its photo, and meanwhile the system turned the phone and made the activity anew
        activity.contentResolver.openOutputStream(into)!!.use { it.write(byteArrayOf(-1, -40, -1, 1, 2, 3)) }
        app!!.recreate()
        shadowOf(activity).receiveResult(ask.intent, Activity.RESULT_OK, Intent())
        settle()
        assertNull(state.trouble)
        val house = state.screen!!.shown as Shown.House
        var file = ""
        state.fetch({ it.houseFile(house.screen.id) }) { file = it }
        settle()
        assertTrue(file, file.contains("sha256"))
        assertEquals("the camera's own copy stays behind", 0, File(activity.cacheDir, "camera").listFiles()!!.size)
    }

    @Test
    @Config(sdk = [35], shadows = [PaperWebView::class])
    fun `prints a sheet through the system's print service`() {
        start()
        activity.print("Making sheet", "<!doctype html><p>34 3/8")
        val web = PaperWebView.last!!
        val loaded = shadowOf(web).lastLoadDataWithBaseURL
        assertTrue(loaded.data.contains("34 3/8"))
        assertFalse(web.settings.javaScriptEnabled)
        assertTrue(web.settings.blockNetworkLoads)
        assertNull(PaperWebView.made)
        shadowOf(web).webViewClient.onPageFinished(web, null)
        assertEquals("Making sheet", PaperWebView.made)
        assertNotNull(activity.getSystemService(PrintManager::class.java))
    }

    @Test
    fun `the workroom's code from the camera app is written where it can be used`() {
        start()
        begin()
        app!!.newIntent(Intent(Intent.ACTION_VIEW, Uri.parse("hangtrue-pair:1?at=10.0.0.2:7443&cert=00&key=age1x&until=1")))
        settle()
        assertTrue(state.screen!!.shown is Shown.Sync)
        assertTrue(state.exchange.code.startsWith("hangtrue-pair:1?at=10.0.0.2"))
        press("pair with the workroom")
        draw("app-sync")
        // it is no code that the core takes: refused with what would be right, and nothing is paired
        assertNotNull(state.exchange.refused)
        assertNull(state.exchange.firm)
    }

    @Test
    fun `a label's code from the camera app opens its opening, and another's is refused in words`() {
        start()
        begin()
        val at = reading.opening
        app!!.newIntent(Intent(Intent.ACTION_VIEW, Uri.parse("hangtrue-label:1?house=${state.screen!!.house!!.event.let { (it as Event.ShowHouse).house }}&opening=$at&sizes=4f2a99c103de")))
        settle()
        assertEquals(at, (state.screen!!.shown as Shown.Opening).screen.id)
        app!!.newIntent(Intent(Intent.ACTION_VIEW, Uri.parse("hangtrue-label:1?house=0192a3b4-0000-7000-8000-0000000000ff&opening=$at&sizes=4f2a99c103de")))
        settle()
        assertTrue(state.trouble!!, state.trouble!!.contains("not on this device"))
    }

    private fun felt(): Int {
        fun views(view: View): List<View> = listOf(view) + ((view as? ViewGroup)?.let { group -> (0 until group.childCount).flatMap { views(group.getChildAt(it)) } } ?: emptyList())
        return views(activity.window.decorView).maxOf { shadowOf(it).lastHapticFeedbackPerformed() }
    }

    @Test
    fun `a reading that is kept is felt, and one that is in doubt otherwise`() {
        start()
        begin()
        listOf("three", "four").forEach { press(it) }
        assertEquals("digits are felt by nobody", -1, felt())
        press("keep", part = true)
        assertEquals(HapticFeedbackConstants.CONFIRM, felt())
        // an inch more than the top: the core asks for the tape again; a second touch within a moment counts as one
        Thread.sleep(700)
        listOf("three", "five").forEach { press(it) }
        press("keep", part = true)
        assertTrue(reading.flags.toString(), reading.flags.any { it.severity == Severity.TAKE_AGAIN })
        assertEquals(HapticFeedbackConstants.REJECT, felt())
        assertNull("it would be felt again when the phone is turned", state.felt)
    }

    @Test
    fun `a core that is busy does not keep the app from going to the background`() {
        start()
        begin()
        press("three")
        val busy = CountDownLatch(1)
        desk.line.run({ busy.await() }) {}
        val before = System.nanoTime()
        app!!.pause().stop()
        assertTrue("it waited for the core", TimeUnit.NANOSECONDS.toSeconds(System.nanoTime() - before) < 10)
        busy.countDown()
        app!!.restart().start().resume()
        settle()
        assertEquals("3", reading.typed)
    }

    @Test
    fun `going to the background throws nothing, whatever the core answers`() {
        start()
        begin()
        press("three")
        // the wait is interrupted
        val busy = CountDownLatch(1)
        desk.line.run({ busy.await() }) {}
        Thread.currentThread().interrupt()
        app!!.pause()
        assertTrue("that it was interrupted is not passed on", Thread.interrupted())
        busy.countDown()
        app!!.resume()
        settle()
        // the core fails, as a full disk makes it, or worse
        assertFalse(desk.line.finish { throw BookFault.NotKept("the disk is full", "make room", null) })
        assertFalse(desk.line.finish { throw OutOfMemoryError("planted") })
        // the book is let go of under it: what is left of the app pauses still
        val held = state
        process.core.submit { held.close() }.get()
        app!!.pause().stop()
        assertEquals(Lifecycle.State.CREATED, activity.lifecycle.currentState)
        // and a second end is one
        app!!.destroy()
        process.core.submit { held.close() }.get()
        app = null
        start()
        assertEquals("3", reading.typed)
    }

    @Test
    fun `after the end nothing is asked of the core, and what it answers late is told to nobody`() {
        start()
        begin()
        val (before, desk) = state to desk
        val busy = CountDownLatch(1)
        var told = false
        desk.line.run({ busy.await() }) { told = true }
        desk.slow.run({ busy.await() }) { told = true }
        app!!.pause().stop().destroy()
        app = null
        val screen = before.screen
        val waiting = before.waiting
        var asked = false
        before.fetch({ asked = true }) { told = true }
        desk.line.run({ asked = true }) { told = true }
        desk.slow.run({ asked = true }) { told = true }
        before.again()
        before.sheet("none", null) { told = true }
        before.exchange.look()
        before.exchange.withWorkroom()
        busy.countDown()
        repeat(3) {
            process.core.submit {}.get()
            process.exchange.submit {}.get()
            shadowOf(Looper.getMainLooper()).idle()
        }
        assertFalse("the core was asked after the end", asked)
        assertFalse("somebody was told after the end", told)
        assertSame(screen, before.screen)
        assertEquals(waiting, before.waiting)
        // the end came to the book too: nobody holds it
        assertThrows(IllegalStateException::class.java) { process.book.use { it }.screen() }
    }

    @Test
    fun `what comes after the end is dropped, and the book is opened again only when it is closed`() {
        start()
        begin()
        press("three")
        val (before, line, busy) = Triple(state, desk.line, CountDownLatch(1))
        line.run({ busy.await() }) {}
        // pressed, and on its way when the activity is finished
        before.act(reading.digits.first { it.label == "4" }.event)
        activity.finish()
        app!!.pause().stop().destroy()
        before.back()
        before.measure()
        assertTrue(line.finish { error("it is over") }.not())
        app = Robolectric.buildActivity(MainActivity::class.java).setup()
        shadowOf(Looper.getMainLooper()).idle()
        assertNull("a book was opened beside one that is open", state.screen)
        busy.countDown()
        settle()
        assertEquals("34", reading.typed)
        assertNull(state.trouble)
    }

    @Test
    fun `the shortcut leads to the tape from anywhere`() {
        start()
        val actions = mutableListOf<String>()
        activity.resources.getXml(activity.resources.getIdentifier("shortcuts", "xml", activity.packageName)).use { xml ->
            while (xml.next() != XmlPullParser.END_DOCUMENT) {
                if (xml.eventType == XmlPullParser.START_TAG && xml.name == "intent") actions += xml.getAttributeValue("http://schemas.android.com/apk/res/android", "action")
            }
        }
        val measure = Intent(actions.single())
        // with no house there is nothing to measure, and nothing is said to be wrong
        app!!.newIntent(measure)
        settle()
        assertTrue(state.screen!!.shown is Shown.Houses)
        assertNull(state.trouble)
        begin()
        press("three")
        for (leave in listOf(Event.ShowHouses, Event.ShowSync, Event.ShowLeaving)) {
            state.act(leave)
            settle()
            app!!.newIntent(measure)
            settle()
            assertEquals("3", reading.typed)
        }
        assertEquals(ActivityInfo.LAUNCH_SINGLE_TASK, activity.packageManager.getActivityInfo(activity.componentName, 0).launchMode)
    }

    @Test
    @Config(sdk = [35], qualifiers = "w411dp-h891dp-night-xhdpi")
    fun `the clock is dark on the light screen at night too`() {
        start()
        assertTrue(WindowInsetsControllerCompat(activity.window, activity.window.decorView).isAppearanceLightStatusBars)
    }

    @Test
    fun `asks for what the exchange needs and nothing else`() {
        val context = ApplicationProvider.getApplicationContext<android.app.Application>()
        val info = context.packageManager.getPackageInfo(context.packageName, android.content.pm.PackageManager.GET_PERMISSIONS)
        // and a permission of its own, that a library makes so that no other app reaches what listens only inside this one
        val wanted = listOf("INTERNET", "ACCESS_NETWORK_STATE", "RECEIVE_BOOT_COMPLETED", "POST_NOTIFICATIONS").map { "android.permission.$it" }
        assertEquals(wanted + "${context.packageName}.DYNAMIC_RECEIVER_NOT_EXPORTED_PERMISSION", info.requestedPermissions.orEmpty().toList())
    }

    /** Robolectric's web view lays nothing out: this one makes the adapter that the print service is handed. */
    @Implements(WebView::class)
    class PaperWebView : ShadowWebView() {
        @org.robolectric.annotation.RealObject
        lateinit var self: WebView

        @Implementation
        protected fun createPrintDocumentAdapter(name: String): PrintDocumentAdapter {
            made = name
            return object : PrintDocumentAdapter() {
                override fun onLayout(old: android.print.PrintAttributes?, new: android.print.PrintAttributes?, cancel: android.os.CancellationSignal?, callback: LayoutResultCallback?, extras: Bundle?) = Unit
                override fun onWrite(pages: Array<out android.print.PageRange>?, to: android.os.ParcelFileDescriptor?, cancel: android.os.CancellationSignal?, callback: WriteResultCallback?) = Unit
            }
        }

        @Implementation
        override fun loadDataWithBaseURL(base: String?, data: String?, type: String?, encoding: String?, history: String?) {
            last = self
            super.loadDataWithBaseURL(base, data, type, encoding, history)
        }

        companion object {
            var last: WebView? = null
            var made: String? = null
        }
    }
}
