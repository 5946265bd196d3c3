// What the workroom has of what is here, and the ways to exchange with it: over the network, or through a folder.
package hangtrue.screens

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.BoxWithConstraints
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.lazy.LazyListScope
import androidx.compose.runtime.Composable
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.saveable.rememberSaveable
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.unit.dp
import hangtrue.core.Screen
import hangtrue.core.SyncScreen
import java.time.Instant
import java.time.ZoneId
import java.time.format.DateTimeFormatter
import java.time.format.FormatStyle

/** How many facts are here, how many the place of exchange has, when it last said so; and the exchange itself. */
@Composable
fun SyncPage(screen: Screen, sync: SyncScreen, state: WalkState, outside: Outside) {
    val exchange = state.exchange
    LaunchedEffect(exchange) { exchange.look() }
    Page(screen, state) {
        item("says") { Words(sync.says, size = Type.prompt, weight = FontWeight.Medium) }
        item("figures") {
            Card {
                Figure("Written here", sync.here.toString())
                Figure("With ${sync.place.ifEmpty { "the workroom" }}", sync.withWorkroom.toString())
                Figure("Last confirmed", sync.confirmedMs?.let(::clock) ?: "never yet")
                if (sync.waiting > 0u) Figure("Waiting for a newer program, or for what they are about", sync.waiting.toString())
            }
        }
        if (exchange.doing != null || exchange.refused != null || exchange.report != null) item("course") { Course(exchange) }
        item("workroom") { if (exchange.firm?.workroom == null) Pair(exchange) else Workroom(exchange) }
        outside.background?.takeIf { exchange.firm?.workroom != null }?.let { item("background") { InBackground(it) } }
        item("folder") { ThroughFolder(exchange, outside) }
        item("photos") { OnOff("Fetch photos that others took", exchange.photos, { exchange.photos = it }, below = "Off saves a thin line; yours are sent all the same.") }
    }
}

/** What is under way, what the last exchange did, and what it could not do. */
@Composable
private fun Course(exchange: Exchange) = Column(verticalArrangement = Arrangement.spacedBy(8.dp)) {
    exchange.doing?.let { Announced("$it …", it, weight = FontWeight.Medium) }
    exchange.digits?.let { digits ->
        Card {
            Words("Type these digits at the workroom")
            Announced("${digits.take(3)} ${digits.drop(3)}", digits.toList().joinToString(" "), size = Type.digits, weight = FontWeight.Bold)
            Words("They are good for two minutes.", size = Type.small, color = look.quiet)
        }
    }
    exchange.refused?.let { Warned(it) }
    exchange.report?.let { report ->
        Card {
            report.stopped?.let { Warned(sentence(it)) }
            // of a place that was not reached there is nothing else to say
            if (report.stopped == null || report.arrived + report.sent > 0u) report.says.forEachIndexed { n, line ->
                Row(horizontalArrangement = Arrangement.spacedBy(10.dp)) {
                    Mark(if (n == 0 && report.allSent) Shape.Tick else Shape.Dot, look.ink)
                    Announced(line, line, Modifier.weight(1f))
                }
            }
        }
    }
}

@Composable
private fun Warned(what: String) = Row(horizontalArrangement = Arrangement.spacedBy(10.dp)) {
    Mark(Shape.Triangle, look.again)
    Announced(what, what, Modifier.weight(1f), weight = FontWeight.Medium)
}

@Composable
private fun Pair(exchange: Exchange) = Card {
    Heading("Pair with the workroom")
    Words("Point the camera at the code that the workroom's program shows and open what it finds; or write the code's text here.", size = Type.small, color = look.quiet)
    WriteLine("Text of the code", exchange.code, { exchange.code = it })
    WriteLine("Address, where the code's is not reached", exchange.address, { exchange.address = it })
    WriteLine("Name of this device at the workroom", exchange.device, { exchange.device = it })
    Press("Pair", exchange::pair, spoken = "pair with the workroom", live = exchange.code.isNotBlank() && exchange.doing == null, pull = Pull.Main, tag = "pair")
}

@Composable
private fun Workroom(exchange: Exchange) = Card {
    var moved by rememberSaveable { mutableStateOf(false) }
    Heading("Over the network")
    exchange.firm?.workroom?.let { Words("Paired with ${it.name}, at ${it.addresses.joinToString(" or ")}", size = Type.small, color = look.quiet) }
    if (moved || exchange.address.isNotEmpty()) WriteLine("Its address now, such as 192.168.1.20:7443", exchange.address, { exchange.address = it })
    Presses {
        Press("Exchange now", exchange::withWorkroom, spoken = "exchange with the workroom", live = exchange.doing == null, pull = Pull.Main, tag = "exchange_workroom")
        if (!moved) Press("It has moved", { moved = true }, spoken = "the workroom has another address", tag = "moved")
    }
}

/** The switch of the exchange in the background, which says what it costs; and what came of it last. */
@Composable
private fun InBackground(background: BackgroundExchange) = Card {
    OnOff(
        "Exchange in the background",
        background.on,
        background::turn,
        below = "Every six hours or so, on Wi-Fi or another network that is not metered, and never while the battery is low. " +
            "Each time takes a little battery. A remeasure request from the workroom shows as a notification.",
    )
    if (background.on && !background.notifies) Words("Notifications of this app are off on this device: requests show in the list of houses only.", size = Type.small)
    if (background.on) background.lastMs?.let { Words("Last: ${clock(it)}. ${background.lastSays}", size = Type.small) }
}

@Composable
private fun ThroughFolder(exchange: Exchange, outside: Outside) = Card {
    Heading("Through a folder")
    val folder = exchange.folder
    if (exchange.firm == null) {
        Words("A folder holds only what the firm's key can read. Pairing brings the key; or write it here.", size = Type.small, color = look.quiet)
        WriteLine("The firm's key", exchange.key, { exchange.key = it })
        Press("Take the key", exchange::takeKey, live = exchange.key.isNotBlank() && exchange.doing == null, tag = "take_key")
    } else {
        Words(folder?.called ?: "A share, a stick or a folder that another program carries to the workroom.", size = Type.small, color = look.quiet)
        Presses {
            if (folder != null) Press("Exchange", { exchange.withFolder(false) }, spoken = "exchange through the folder", live = exchange.doing == null, pull = Pull.Main, tag = "exchange_folder")
            Press(if (folder == null) "Choose a folder" else "Another folder", outside::pickFolder, spoken = "choose a folder of exchange", tag = "pick_folder")
            // on purpose only: a stick that is not plugged in leaves an empty folder too
            if (folder != null && exchange.report?.stopped != null) {
                Press("Begin exchange there", { exchange.withFolder(true) }, spoken = "make the folder a place of exchange", live = exchange.doing == null, tag = "begin_folder")
            }
        }
    }
}

@Composable
private fun Figure(name: String, value: String) = BoxWithConstraints {
    val merged = Modifier.fillMaxWidth().semantics(mergeDescendants = true) {}
    if (maxWidth / LocalDensity.current.fontScale < BESIDE) Column(merged) {
        Words(name, color = look.quiet)
        Words(value, weight = FontWeight.Medium)
    } else Row(merged, horizontalArrangement = Arrangement.spacedBy(12.dp)) {
        Words(name, Modifier.weight(1f), color = look.quiet)
        Words(value, weight = FontWeight.Medium)
    }
}

/** A moment as this device writes dates and times. */
internal fun clock(ms: Long): String =
    DateTimeFormatter.ofLocalizedDateTime(FormatStyle.MEDIUM, FormatStyle.SHORT).withZone(ZoneId.systemDefault()).format(Instant.ofEpochMilli(ms))
