// The exchange with the workroom while the app is not in use. The system's job scheduler says when; the core does the same as
// when a person presses the button. It is off until a person switches it on, and only a paired book has the switch.
//
// JobScheduler and not WorkManager: from Android 8 on, the oldest that the app runs on, WorkManager hands its work to this same
// scheduler, and brings a database of its own at every start, two permissions more and ten components for it.
package hangtrue.app

import android.app.job.JobInfo
import android.app.job.JobParameters
import android.app.job.JobScheduler
import android.app.job.JobService
import android.content.ComponentName
import android.content.Context
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.setValue
import androidx.core.content.ContextCompat
import androidx.core.content.edit
import hangtrue.core.ExchangeReport
import hangtrue.core.HouseBook
import hangtrue.core.HttpFault
import hangtrue.core.HubHttp
import hangtrue.core.HubRequest
import hangtrue.screens.BackgroundExchange
import hangtrue.screens.PinnedHttp
import hangtrue.screens.sentence
import java.util.concurrent.TimeUnit

/** The switch of the exchange in the background, and the exchange itself. All but the exchange runs on the main thread. */
class Background(private val app: Hangtrue) : BackgroundExchange {
    private val kept = app.getSharedPreferences("background", Context.MODE_PRIVATE)
    private val jobs = checkNotNull(app.getSystemService(JobScheduler::class.java))
    private val requests = Requests(app, kept)

    /** Told when something arrived while they are there. */
    val watchers = mutableSetOf<() -> Unit>()

    @Volatile
    private var running: GivesWay? = null

    override var on by mutableStateOf(kept.getBoolean(ON, false))
        private set

    override var notifies by mutableStateOf(requests.mayShow())
        private set

    override var lastMs by mutableStateOf(kept.getLong(LAST, 0).takeIf { it > 0 })
        private set

    override var lastSays by mutableStateOf(kept.getString(SAYS, null).orEmpty())
        private set

    override fun turn(on: Boolean) {
        this.on = on
        kept.edit(commit = true) { putBoolean(ON, on) }
        look()
        if (!on) return giveWay()
        // what is open now was seen where the switch is
        app.exchange.execute { runCatching { app.book.use(::seen) } }
    }

    /** Looks what the system says: whether notifications are shown, and that the job stands where it is switched on. */
    fun look() {
        notifies = requests.mayShow()
        if (!on) jobs.cancel(JOB) else if (jobs.getPendingJob(JOB) == null) jobs.schedule(job(app))
    }

    /** All that the workroom requests was seen: none of it is new. Not on the main thread. */
    fun seen(book: HouseBook) = requests.seen(book.openAsks())

    /** What runs ends with the request that it is at: a person exchanges now, or the system wants its turn back. */
    fun giveWay() {
        running?.over = true
    }

    /** Exchanges on the thread of exchanges, and then calls [done]. */
    fun exchange(done: () -> Unit) {
        if (!on) return done()
        val http = GivesWay(PinnedHttp())
        running = http
        app.exchange.execute {
            val came = runCatching { app.book.use { round(it, http) } }
            ContextCompat.getMainExecutor(app).execute {
                if (running === http) running = null
                came.onSuccess { report -> if (report == null) turn(false) else if (!http.over) ended(report) }
                watchers.toList().forEach { it() }
                done()
            }
        }
    }

    /** One exchange; nothing where the book is not paired. A notification for each new request comes after it. */
    private fun round(book: HouseBook, http: HubHttp): ExchangeReport? {
        if (book.firm()?.workroom == null) return null
        val report = book.exchangeWithWorkroom(http, null, true)
        requests.show(book.openAsks())
        return report
    }

    private fun ended(report: ExchangeReport) {
        lastMs = System.currentTimeMillis()
        lastSays = report.stopped?.let(::sentence) ?: report.says.firstOrNull().orEmpty()
        kept.edit {
            putLong(LAST, lastMs ?: 0)
            putString(SAYS, lastSays)
        }
    }

    companion object {
        /** The number of the one job. */
        const val JOB = 1
        private const val ON = "on"
        private const val LAST = "last"
        private const val SAYS = "says"

        /** At least four hours lie between two: each falls in the last two of its six. */
        internal fun job(context: Context): JobInfo = JobInfo.Builder(JOB, ComponentName(context, ExchangeJob::class.java))
            .setRequiredNetworkType(JobInfo.NETWORK_TYPE_UNMETERED)
            .setRequiresBatteryNotLow(true)
            .setPeriodic(TimeUnit.HOURS.toMillis(6), TimeUnit.HOURS.toMillis(2))
            .setPersisted(true)
            .build()
    }
}

/** What the system starts when the time has come and the network and the battery are right. */
class ExchangeJob : JobService() {
    override fun onStartJob(parameters: JobParameters): Boolean {
        (application as Hangtrue).background.exchange { jobFinished(parameters, false) }
        return true
    }

    // what was done stands; the rest is for the next time
    override fun onStopJob(parameters: JobParameters): Boolean {
        (application as Hangtrue).background.giveWay()
        return true
    }
}

/** Sends until it is [over], and nothing from then on. */
private class GivesWay(private val http: HubHttp) : HubHttp {
    @Volatile
    var over = false

    override fun send(request: HubRequest) = if (over) throw HttpFault.NotReached("the exchange in the background was ended") else http.send(request)
}
