// The list of houses, a house with its rooms, and the list before leaving.
package hangtrue.screens

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.BoxWithConstraints
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.lazy.LazyListScope
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.saveable.rememberSaveable
import androidx.compose.runtime.setValue
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.unit.dp
import hangtrue.core.HouseScreen
import hangtrue.core.Houses
import hangtrue.core.Leaving
import hangtrue.core.Naming
import hangtrue.core.OpeningRow
import hangtrue.core.HowFar
import hangtrue.core.RoomRow
import hangtrue.core.Screen

/** All houses, the latest first. */
@Composable
fun HousesPage(screen: Screen, houses: Houses, state: WalkState, outside: Outside) = Page(screen, state, actions = {
    Press(houses.sync, state::act)
}) {
    val looking = houses.find.typed.isNotEmpty()
    item("begin") { Foldaway("Begin a house", houses.begin, state, open = houses.count == 0u && !looking, keep = false) }
    if (houses.count > 0u || looking) item("find") { Foldaway("Find a house", houses.find, state, keep = false) }
    items(houses.rows.size, { houses.rows[it].id }) { i ->
        val row = houses.rows[i]
        Leads(row.open.label, row.says, { state.act(row.open.event) }, tag = row.open.id, spoken = "${row.open.spoken}. ${row.says}")
    }
    if (houses.rows.size.toUInt() < houses.count) item("more") {
        Words("The latest ${houses.rows.size} of ${houses.count} are shown.", color = look.quiet)
    }
    item("file") { Press("Take in a house file", outside::pickHouse, tag = "pick_house") }
}

/** How a house stands beside something: [at] is the opening that is open there, and if [quiet], what is to be said is said there. */
class Aside(val at: String, val quiet: Boolean)

/** A house: its rooms and openings, with what stands open. */
@Composable
fun HousePage(screen: Screen, house: HouseScreen, state: WalkState, outside: Outside, aside: Aside? = null) {
    var names by rememberSaveable(house.id) { mutableStateOf(false) }
    Page(
        screen,
        state,
        quiet = aside?.quiet == true,
        foot = {
            Press(house.walk, state::act, Modifier.weight(1f).fillMaxHeight(), if (aside?.quiet == true) Pull.Plain else Pull.Main)
            Press(house.leaving, state::act, Modifier.weight(1f).fillMaxHeight())
        },
    ) {
        item("progress") { ProgressLine(house.progress, "openings") }
        flags(house.flags, state)
        house.rooms.forEach { room -> room(room, state, names, aside?.at) }
        item("add") { Foldaway("Add a room", house.addRoom, state, open = house.rooms.isEmpty()) }
        item("rest") {
            Presses {
                Press(house.settings, state::act)
                Press(house.sync, state::act)
                Press("Sheets", state::showSheets, spoken = "sheets to share or print", tag = "sheets")
                Press("Add a photo", { outside.takePhoto(house.id, screen.title) }, spoken = "add a photo of the house", tag = "photo")
                Press("Save as a file", { outside.saveHouse(house.id, screen.title) }, spoken = "save the house as a file", tag = "save_house")
                Press("Share", { shareHouse(house.id, screen.title, state, outside) }, spoken = "share the house file", tag = "share_house")
                Press(if (names) "Done with these" else "Names, address, client", { names = !names }, tag = "change_names")
            }
        }
        if (names) {
            item("rename") { Card { NameIt(house.rename, state) } }
            items(house.about.size, { house.about[it].slot }) { i -> Card { NameIt(house.about[i], state) } }
            item("away") { Press(house.away, state::act) }
        }
    }
}

private fun shareHouse(house: String, name: String, state: WalkState, outside: Outside) =
    state.fetch({ it.houseFile(house) }) { outside.share("$name.json", "application/json", it) }

private fun LazyListScope.room(room: RoomRow, state: WalkState, names: Boolean, at: String?) {
    item("room ${room.id}") {
        Heading(room.name, Modifier.padding(top = 8.dp), Type.prompt)
    }
    if (names) item("rename ${room.id}") { Renaming(room.rename, room.earlier, room.remove, state) }
    items(room.openings.size, { room.openings[it].id }) { i -> OpeningLine(room.openings[i], state, names, room.openings[i].id == at) }
    item("add ${room.id}") { Foldaway("Add an opening: ${room.name}", room.addOpening, state, open = room.openings.isEmpty()) }
}

/** The core's words for where an opening stands, by which its mark is chosen; a test holds them to the core. */
internal const val READ_AGAIN = "to read again"
internal const val TO_DECIDE = "to decide"

@Composable
private fun OpeningLine(opening: OpeningRow, state: WalkState, names: Boolean, here: Boolean) = Column(verticalArrangement = Arrangement.spacedBy(Reach.gap)) {
    val done = opening.progress.done + opening.progress.skipped >= opening.progress.of
    val below = listOfNotNull(opening.says, opening.asks.ifEmpty { null }?.let(::capital), opening.asked).joinToString("\n")
    val leads = @Composable { modifier: Modifier ->
        Leads(
            opening.open.label,
            below,
            { state.act(opening.open.event) },
            modifier,
            tag = opening.open.id,
            spoken = opening.open.spoken + ". " + below.replace("\n", ". "),
            here = here,
            mark = {
                when {
                    // red is for what the tape has to settle: a question is none of it, nor a window that is half read
                    opening.asked != null || opening.asks == READ_AGAIN -> Mark(Shape.Triangle, look.again)
                    opening.asks == TO_DECIDE -> Mark(Shape.Lozenge, look.decide)
                    done && opening.asks.isEmpty() -> Mark(Shape.Tick, look.ink)
                    else -> Mark(Shape.Ring, look.ink)
                }
            },
        )
    }
    BoxWithConstraints {
        if (maxWidth / LocalDensity.current.fontScale < BESIDE) {
            Column(verticalArrangement = Arrangement.spacedBy(Reach.gap)) {
                leads(Modifier)
                Press(opening.measure, state::act)
            }
        } else Row(horizontalArrangement = Arrangement.spacedBy(Reach.gap), verticalAlignment = Alignment.CenterVertically) {
            leads(Modifier.weight(1f))
            Press(opening.measure, state::act)
        }
    }
    if (names) Renaming(opening.rename, opening.earlier, opening.remove, state)
}

@Composable
private fun Renaming(rename: Naming, earlier: hangtrue.core.Touch, remove: hangtrue.core.Touch, state: WalkState) = Card {
    NameIt(rename, state)
    Press(earlier, state::act)
    Press(remove, state::act)
}

/** What is missing before leaving. */
@Composable
fun LeavingPage(screen: Screen, leaving: Leaving, state: WalkState) = Page(screen, state) {
    item("says") {
        Row(verticalAlignment = Alignment.CenterVertically, horizontalArrangement = Arrangement.spacedBy(10.dp)) {
            if (leaving.rows.isEmpty()) Mark(Shape.Tick, look.ink)
            Words(leaving.says, size = Type.prompt, weight = FontWeight.Medium)
        }
    }
    item("progress") { ProgressLine(leaving.progress, "openings") }
    items(leaving.rows.size) { i ->
        val row = leaving.rows[i]
        Card {
            Heading(row.opening)
            Row(horizontalArrangement = Arrangement.spacedBy(10.dp)) {
                SeverityMark(row.severity)
                Column {
                    Words(capital(row.asks), size = Type.small, weight = FontWeight.Bold, color = severityInk(row.severity))
                    Words(row.says)
                }
            }
            Press(row.go.label, { state.act(row.go.event) }, spoken = "${row.go.spoken}: ${row.opening}", live = row.go.live, tag = row.go.id)
        }
    }
}

/** A naming that is folded away behind its name until it is wanted. */
@Composable
fun Foldaway(name: String, naming: Naming, state: WalkState, open: Boolean = false, keep: Boolean = true) {
    var wanted by rememberSaveable(naming.slot) { mutableStateOf(false) }
    if (open || wanted || naming.typed.isNotEmpty()) {
        Card { NameIt(naming, state, keep = keep) { wanted = false } }
    } else {
        Press("+  $name", { wanted = true }, spoken = name, tag = "unfold_${naming.slot}")
    }
}

/** How far something is: a bar with the same in words. */
@Composable
fun ProgressLine(progress: HowFar, what: String, modifier: Modifier = Modifier) {
    val left = if (progress.skipped > 0u) ", ${progress.skipped} left out" else ""
    Column(modifier, verticalArrangement = Arrangement.spacedBy(4.dp)) {
        Words("${progress.done} of ${progress.of} $what$left", size = Type.small, color = look.quiet)
        Bar(progress)
    }
}
