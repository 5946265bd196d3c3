// The exchange in the background with the workroom's program itself, as the system starts it: what it sends and fetches, what it
// shows, and that it is in nobody's way. Also what may come in between: a person, the system, a workroom that hangs.
package hangtrue.app

import android.Manifest
import android.app.NotificationManager
import android.app.job.JobInfo
import android.app.job.JobParameters
import android.app.job.JobScheduler
import android.content.Intent
import android.os.Looper
import androidx.compose.ui.test.hasContentDescription
import androidx.compose.ui.test.hasText
import androidx.lifecycle.Lifecycle
import hangtrue.core.Event
import hangtrue.core.HouseBook
import hangtrue.core.Shown
import hangtrue.screens.PinnedHttp
import hangtrue.workroom.Hub
import hangtrue.workroom.PATIENCE_S
import hangtrue.workroom.ran
import java.nio.file.Files
import java.util.concurrent.TimeUnit
import org.junit.After
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNotNull
import org.junit.Assert.assertNull
import org.junit.Assert.assertSame
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.Robolectric
import org.robolectric.RobolectricTestRunner
import org.robolectric.Shadows.shadowOf
import org.robolectric.annotation.Config
import org.robolectric.annotation.ConscryptMode
import org.robolectric.annotation.GraphicsMode
import org.robolectric.shadow.api.Shadow
import org.robolectric.shadows.ShadowJobService

@RunWith(RobolectricTestRunner::class)
@Config(sdk = [35], qualifiers = "w411dp-h891dp-xhdpi")
@GraphicsMode(GraphicsMode.Mode.NATIVE)
// the JVM's own TLS, with which the hub is reached in the other tests too
@ConscryptMode(ConscryptMode.Mode.OFF)
class BackgroundTest : OnPhone() {
    private val folder = Files.createTempDirectory("workroom").toFile()
    private var hub: Hub? = null

    private val jobs get() = process.getSystemService(JobScheduler::class.java)!!
    private val notifications get() = shadowOf(process.getSystemService(NotificationManager::class.java))

    @After
    fun stop() {
        hub?.stop()
    }

    /** A house with one reading, paired with a workroom; the switch on, and notifications granted or not. */
    private fun paired(granted: Boolean = true) {
        if (granted) shadowOf(process).grantPermissions(Manifest.permission.POST_NOTIFICATIONS)
        val hub = Hub(folder).also { hub = it }
        start()
        begin()
        listOf("three", "four", "three eighths").forEach { press(it) }
        press("keep thirty-four and three eighths inches")
        pair(hub)
        state.act(Event.ShowSync)
        settle()
    }

    private fun pair(hub: Hub) = process.book.use { book ->
        val digits = book.beginPairing(hub.code(), null, "Ida's phone", PinnedHttp())
        hub.waitFor("Type the six digits")
        hub.type(digits)
        waitUntil("it is not paired") { book.finishPairing(PinnedHttp()) != null }
    }

    private fun waitUntil(otherwise: String, done: () -> Boolean) {
        val until = System.nanoTime() + TimeUnit.SECONDS.toNanos(PATIENCE_S)
        while (!done()) {
            assertTrue(otherwise, System.nanoTime() < until)
            shadowOf(Looper.getMainLooper()).idle()
            Thread.sleep(20)
        }
    }

    private fun gone() {
        app!!.pause().stop().destroy()
        app = null
        waitUntil("the book is held") { process.core.submit<Boolean> { true }.get() && process.exchange.submit<Boolean> { true }.get() }
    }

    /** Starts the job as the system does. */
    private fun job(): Started {
        val service = Robolectric.buildService(ExchangeJob::class.java).create().get()
        val parameters = Shadow.newInstanceOf(JobParameters::class.java)
        assertTrue("what is begun is not said to go on", service.onStartJob(parameters))
        return Started(service, parameters)
    }

    private inner class Started(private val service: ExchangeJob, private val parameters: JobParameters) {
        private val shadow = Shadow.extract<ShadowJobService>(service)
        val ended: Boolean get() = shadow.isJobFinished

        fun end() = waitUntil("the job does not end") { ended }

        fun stop() = assertTrue(service.onStopJob(parameters))
    }

    private fun ask(place: String, why: String) = ran("ask", "larch", "kitchen", "--place", place, "--why", why, "--book", hub!!.desk)

    /** Jobs until [done]: what was asked at the desk goes out within seconds, and what was sent is taken in there as soon. */
    private fun jobsUntil(otherwise: String, done: () -> Boolean) = waitUntil(otherwise) {
        job().end()
        done() || false.also { Thread.sleep(500) }
    }

    private fun houses() = ran("houses", "--json", "--book", hub!!.desk)

    @Test
    fun `the switch is there where the book is paired, names the battery, and asks for notifications only then`() {
        start()
        state.act(Event.ShowSync)
        settle()
        val switch = hasText("Exchange in the background")
        assertTrue(rule.onAllNodes(switch).fetchSemanticsNodes().isEmpty())
        assertNull(shadowOf(activity).lastRequestedPermission)
        gone()
        hub = Hub(folder).also(::pair)
        start()
        state.act(Event.ShowSync)
        settle()
        assertNull("it runs unasked", jobs.getPendingJob(Background.JOB))
        val words = rule.onNode(switch).fetchSemanticsNode().config.toString()
        assertTrue(words, "battery" in words && "not metered" in words)
        press("Exchange in the background", by = switch)
        draw("app-background")
        val asked = shadowOf(activity).lastRequestedPermission
        assertEquals(listOf(Manifest.permission.POST_NOTIFICATIONS), asked.requestedPermissions.toList())
        val job = jobs.getPendingJob(Background.JOB)!!
        @Suppress("DEPRECATION")
        assertEquals(JobInfo.NETWORK_TYPE_UNMETERED, job.networkType)
        assertTrue(job.isRequireBatteryNotLow && job.isPersisted && job.isPeriodic)
        // the least time between two: one at the end of its window, the next at the begin of its own
        assertTrue(job.intervalMillis - job.flexMillis >= TimeUnit.HOURS.toMillis(4))
        assertTrue("it is not said that nothing will be shown", rule.onAllNodes(hasContentDescription("Notifications of this app are off", substring = true) or hasText("Notifications of this app are off", substring = true)).fetchSemanticsNodes().isNotEmpty())
        press("Exchange in the background", by = switch)
        assertNull(jobs.getPendingJob(Background.JOB))
        assertFalse(process.background.on)
    }

    @Test
    fun `what was read goes out with the app gone, and a request is shown once and leads to its opening`() {
        paired()
        process.background.turn(true)
        gone()
        jobsUntil("the workroom has no house") { "Larch House" in houses() }
        assertEquals(0, notifications.size())
        assertTrue(process.background.lastMs!! > 0 && "sent" in process.background.lastSays)
        ask("width_top", "an inch out?")
        jobsUntil("no notification came") { notifications.size() == 1 }
        val shown = notifications.allNotifications.single()
        val extras = shown.extras
        assertEquals("Measure again: Kitchen, Window", extras.getString("android.title"))
        assertEquals("Larch House", extras.getString("android.subText"))
        assertEquals("Top width: an inch out?", extras.getCharSequence("android.text").toString())
        // no client's house on a locked screen
        assertEquals("Remeasure request", shown.publicVersion.extras.getString("android.title"))
        assertNull(shown.publicVersion.extras.getString("android.subText"))

        // put away by hand, it does not come again; another request does
        process.getSystemService(NotificationManager::class.java)!!.cancelAll()
        job().end()
        assertEquals(0, notifications.size())
        ask("height_left", "is it to the sill?")
        jobsUntil("no second notification came") { notifications.size() == 1 }
        assertEquals("Left height: is it to the sill?", notifications.allNotifications.single().extras.getCharSequence("android.text").toString())

        val tapped: Intent = shadowOf(notifications.allNotifications.single().contentIntent).savedIntent
        assertEquals(MainActivity::class.java.name, tapped.component!!.className)
        app = Robolectric.buildActivity(MainActivity::class.java, tapped).setup()
        settle()
        val opening = state.screen!!.shown as Shown.Opening
        assertEquals("Kitchen, Window", "${state.screen!!.title}".let { if ("Kitchen" in it) it.replace(": ", ", ") else "Kitchen, $it" })
        assertNull(state.trouble)
        // answered and exchanged by hand: nothing of it is left on the glass
        for (place in listOf("width_top", "height_left")) {
            state.act(Event.GoTo(opening.screen.id, place))
            settle()
            listOf("three", "four", "three eighths").forEach { press(it) }
            press("keep thirty-four and three eighths inches")
            Thread.sleep(700)
        }
        state.exchange.withWorkroom()
        waitUntil("the exchange does not end") { state.exchange.doing == null }
        assertNull(state.exchange.report!!.stopped)
        assertEquals(0, notifications.size())
    }

    @Test
    fun `what a person saw after an exchange by hand is not shown again`() {
        paired()
        process.background.turn(true)
        state.exchange.withWorkroom()
        waitUntil("the workroom has no house") { state.exchange.doing == null && "Larch House" in houses() }
        ask("width_top", "an inch out?")
        waitUntil("the request does not come") {
            state.exchange.withWorkroom()
            waitUntil("the exchange does not end") { state.exchange.doing == null }
            process.book.use { it.openAsks().isNotEmpty() }
        }
        job().end()
        assertEquals(0, notifications.size())
    }

    @Test
    fun `without the permission nothing is shown nor marked as shown, and the exchange goes on`() {
        paired(granted = false)
        process.background.turn(true)
        jobsUntil("the workroom has no house") { "Larch House" in houses() }
        ask("width_top", "an inch out?")
        jobsUntil("the request does not come") { process.book.use { it.openAsks().isNotEmpty() } }
        assertEquals(0, notifications.size())
        shadowOf(process).grantPermissions(Manifest.permission.POST_NOTIFICATIONS)
        job().end()
        assertEquals(1, notifications.size())
    }

    @Test
    fun `readings are taken while the background hangs on the wire, in the same book`() {
        paired()
        process.background.turn(true)
        gone()
        val held = process.book.take()
        signal("STOP")
        val job = job()
        Thread.sleep(300)
        assertFalse(job.ended)
        val before = System.nanoTime()
        start()
        state.measure()
        settle()
        press("five")
        assertEquals("5", reading.typed)
        app!!.pause().stop()
        val took = TimeUnit.NANOSECONDS.toSeconds(System.nanoTime() - before)
        assertFalse("the exchange was over: nothing was tried", job.ended)
        assertTrue("the app waited $took s for the exchange", took < 20)
        assertSame("a second book was opened", held, process.book.take())
        repeat(2) { process.book.letGo() }
        signal("CONT")
        job.end()
        app!!.restart().start().resume()
        settle()
        assertEquals("5", reading.typed)
        assertNull(state.trouble)
        jobsUntil("the workroom has no house") { "Larch House" in houses() }
    }

    @Test
    fun `a person who exchanges meanwhile has the turn, and so has the system`() {
        paired()
        process.background.turn(true)
        waitUntil("it is not on") { process.exchange.submit<Boolean> { true }.get() }
        // the person
        signal("STOP")
        val first = job()
        state.exchange.withWorkroom()
        shadowOf(Looper.getMainLooper()).idle()
        waitUntil("the press did not reach the line") { !desk.slow.idle }
        signal("CONT")
        first.end()
        waitUntil("the exchange by hand does not end") { state.exchange.doing == null }
        assertNull(state.exchange.report!!.stopped)
        assertNull("an exchange that gave way stands as the last", process.background.lastMs)
        // the system; then the workroom dies in the midst
        state.measure()
        settle()
        press("five")
        signal("STOP")
        val second = job()
        second.stop()
        hub!!.stop()
        second.end()
        assertEquals("5", reading.typed)
        assertEquals(Lifecycle.State.RESUMED, activity.lifecycle.currentState)
        assertNull(state.trouble)
    }

    @Test
    fun `a workroom that is not there is no reason to say anything but on the sync screen`() {
        paired()
        process.background.turn(true)
        hub!!.stop()
        job().end()
        assertEquals(0, notifications.size())
        assertNotNull(process.background.lastMs)
        assertTrue(process.background.lastSays, "Loft" in process.background.lastSays)
        draw("app-background-away")
        // and a book that is not paired any more switches it off
        gone()
        process.filesDir.listFiles()!!.forEach { it.deleteRecursively() }
        HouseBook.open(process.filesDir.path).destroy()
        job().end()
        assertFalse(process.background.on)
        assertNull(jobs.getPendingJob(Background.JOB))
    }

    private fun signal(name: String) = hub!!.signal(name)
}
