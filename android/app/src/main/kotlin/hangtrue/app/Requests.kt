// Notifications of the workroom's remeasure requests: one for an opening, shown once for a request, gone when it is answered.
package hangtrue.app

import android.Manifest
import android.app.Notification
import android.app.NotificationChannel
import android.app.NotificationManager
import android.app.PendingIntent
import android.content.Context
import android.content.Intent
import android.content.SharedPreferences
import android.content.pm.PackageManager
import android.net.Uri
import android.os.Build
import androidx.core.content.edit
import hangtrue.core.OpenAsk

/** Shows requests, and keeps in [kept] which of them a person has seen or was shown. */
class Requests(private val context: Context, private val kept: SharedPreferences) {
    private val manager = checkNotNull(context.getSystemService(NotificationManager::class.java))

    /** True when the system shows what is posted. */
    fun mayShow(): Boolean {
        val granted = Build.VERSION.SDK_INT < Build.VERSION_CODES.TIRAMISU || context.checkSelfPermission(Manifest.permission.POST_NOTIFICATIONS) == PackageManager.PERMISSION_GRANTED
        return granted && manager.areNotificationsEnabled()
    }

    /** A person has seen what is [open]; what was shown and is answered is taken away. */
    @Synchronized
    fun seen(open: List<OpenAsk>) {
        keep(open.map { it.id })
        tidy(open)
    }

    /** Shows what is new of what is [open]. What cannot be shown now is new still. */
    @Synchronized
    fun show(open: List<OpenAsk>) {
        tidy(open)
        if (!mayShow()) return
        val known = kept.getStringSet(KNOWN, null).orEmpty()
        open.filter { it.id !in known }.groupBy { it.opening }.values.forEach(::post)
        // after they were shown: an end in between shows one again, and loses none
        keep(open.map { it.id })
    }

    // what is answered is forgotten: its id never comes again
    private fun keep(ids: List<String>) = kept.edit(commit = true) { putStringSet(KNOWN, ids.toSet()) }

    private fun tidy(open: List<OpenAsk>) {
        val asked = open.map { it.opening }.toSet()
        manager.activeNotifications.filter { it.id == SHOWN && it.tag !in asked }.forEach { manager.cancel(it.tag, SHOWN) }
    }

    private fun post(requests: List<OpenAsk>) {
        manager.createNotificationChannel(
            NotificationChannel(CHANNEL, "Remeasure requests", NotificationManager.IMPORTANCE_DEFAULT).apply { description = "The workroom requests that an opening is measured again." },
        )
        val of = requests.first()
        val words = requests.joinToString("\n") { "${it.places.ifEmpty { "All of it" }.replaceFirstChar(Char::uppercase)}: ${it.why}" }
        // on a locked screen no client's house is named
        val locked = Notification.Builder(context, CHANNEL).setSmallIcon(R.drawable.ic_request).setContentTitle("Remeasure request").build()
        val shown = Notification.Builder(context, CHANNEL)
            .setSmallIcon(R.drawable.ic_request)
            .setContentTitle("Measure again: ${of.openingName}")
            .setSubText(of.houseName)
            .setContentText(words)
            .setStyle(Notification.BigTextStyle().bigText(words))
            .setCategory(Notification.CATEGORY_REMINDER)
            .setVisibility(Notification.VISIBILITY_PRIVATE)
            .setPublicVersion(locked)
            .setOnlyAlertOnce(true)
            .setAutoCancel(true)
            .setContentIntent(PendingIntent.getActivity(context, 0, opens(context, of), PendingIntent.FLAG_IMMUTABLE or PendingIntent.FLAG_UPDATE_CURRENT))
            .build()
        manager.notify(of.opening, SHOWN, shown)
    }

    companion object {
        internal const val CHANNEL = "requests"

        /** The number of all of them; the opening tells them apart. */
        private const val SHOWN = 1
        private const val KNOWN = "known"

        /** Opens the opening of [request] in the app. */
        private fun opens(context: Context, request: OpenAsk): Intent = Intent(context, MainActivity::class.java)
            .setAction(REQUESTED)
            // apart from the intents of other openings, which are compared by this
            .setData(Uri.fromParts("hangtrue-opening", "${request.house}/${request.opening}", null))
            .putExtra(HOUSE, request.house)
            .putExtra(OPENING, request.opening)

        internal const val REQUESTED = "hangtrue.app.REQUESTED"
        internal const val HOUSE = "house"
        internal const val OPENING = "opening"
    }
}
