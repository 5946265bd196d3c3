// The app itself on Android's own classes, with the real core in the same process, and a person's hand on it: what the tests of
// the app share.
package hangtrue.app

import android.graphics.Bitmap
import android.graphics.Canvas
import android.os.Bundle
import android.os.Looper
import androidx.compose.ui.test.SemanticsMatcher
import androidx.compose.ui.test.hasContentDescription
import androidx.compose.ui.test.hasScrollToNodeAction
import androidx.compose.ui.test.hasSetTextAction
import androidx.compose.ui.test.junit4.v2.createEmptyComposeRule
import androidx.compose.ui.test.performClick
import androidx.compose.ui.test.performScrollTo
import androidx.compose.ui.test.performScrollToNode
import androidx.compose.ui.test.performTextReplacement
import androidx.core.content.FileProvider
import androidx.lifecycle.Lifecycle
import androidx.lifecycle.ViewModelProvider
import androidx.test.core.app.ApplicationProvider
import hangtrue.core.ReadingScreen
import hangtrue.core.Shown
import hangtrue.screens.WalkState
import java.io.File
import java.io.FileOutputStream
import org.junit.After
import org.junit.Assert.assertTrue
import org.junit.Rule
import org.robolectric.Robolectric
import org.robolectric.Shadows.shadowOf
import org.robolectric.android.controller.ActivityController

/** A phone with the app on it. */
abstract class OnPhone {
    protected val process: Hangtrue get() = ApplicationProvider.getApplicationContext()

    @get:Rule
    val rule = createEmptyComposeRule()

    protected var app: ActivityController<MainActivity>? = null

    protected val activity: MainActivity get() = app!!.get()
    protected val desk: Desk get() = ViewModelProvider(activity)[Desk::class.java]
    protected val state: WalkState get() = desk.state
    protected val reading: ReadingScreen get() = (state.screen!!.shown as Shown.Reading).screen

    // the core works on its own thread: a test goes on when it has answered and the answer is drawn
    protected fun settle() {
        val until = System.nanoTime() + 30_000_000_000
        do {
            shadowOf(Looper.getMainLooper()).idle()
            if (desk.line.idle && desk.slow.idle && state.exchange.doing == null) break
            Thread.sleep(2)
        } while (System.nanoTime() < until)
        assertTrue("the core did not answer", desk.line.idle)
        rule.waitForIdle()
    }

    @After
    fun end() {
        app?.let { if (it.get().lifecycle.currentState != Lifecycle.State.DESTROYED) it.pause().stop().destroy() }
        // it keeps the folders of a process's first application, and every test's application has folders of its own
        val kept = FileProvider::class.java.getDeclaredField("sCache").apply { isAccessible = true }.get(null) as MutableMap<*, *>
        synchronized(kept) { kept.clear() }
    }

    protected fun start(saved: Bundle? = null) {
        val fresh = Robolectric.buildActivity(MainActivity::class.java)
        app = if (saved == null) fresh.setup() else fresh.setup(saved)
        settle()
    }

    protected fun press(name: String, part: Boolean = false, by: SemanticsMatcher? = null) {
        val what = by ?: hasContentDescription(name, substring = part)
        if (rule.onAllNodes(what).fetchSemanticsNodes().isEmpty()) rule.onNode(hasScrollToNodeAction()).performScrollToNode(what)
        runCatching { rule.onNode(what).performScrollTo() }
        rule.onNode(what).performClick()
        settle()
    }

    protected fun begin() {
        rule.onNode(hasContentDescription("Name of the house") and hasSetTextAction()).performTextReplacement("Larch House")
        settle()
        press("Begin in inches")
        press("add Kitchen")
        press("add Window")
    }

    protected fun draw(name: String) {
        val view = activity.window.decorView
        val picture = Bitmap.createBitmap(view.width, view.height, Bitmap.Config.ARGB_8888)
        rule.runOnIdle { view.draw(Canvas(picture)) }
        val file = File("target/pictures/$name.png").apply { parentFile!!.mkdirs() }
        FileOutputStream(file).use { picture.compress(Bitmap.CompressFormat.PNG, 100, it) }
        // something is drawn: more than one colour, and not the ground alone
        val colours = (0 until picture.height step 8).flatMap { y -> (0 until picture.width step 8).map { picture.getPixel(it, y) } }.toSet()
        assertTrue("$name is blank", colours.size > 4)
    }

    protected fun toHouse() {
        while (state.screen!!.shown !is Shown.House) {
            activity.onBackPressedDispatcher.onBackPressed()
            settle()
        }
    }
}
