// Sheets to share or print: the house's summary, and those of every opening.
package hangtrue.screens

import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.PaddingValues
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.widthIn
import androidx.compose.foundation.lazy.LazyColumn
import androidx.compose.runtime.Composable
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.unit.dp
import hangtrue.core.HouseScreen
import hangtrue.core.Screen

/** The sheets of a house, each to be shared or printed. What is on them is the core's; they are made when they are asked for. */
@Composable
fun SheetsPage(screen: Screen, house: HouseScreen, state: WalkState, outside: Outside) =
    Column(Modifier.fillMaxSize(), horizontalAlignment = Alignment.CenterHorizontally) {
        Column(Modifier.weight(1f).widthIn(max = Reach.column).fillMaxWidth()) {
            BackBar("Sheets", "Back", state::back)
            NoticeLine(null, state, Modifier.padding(horizontal = 12.dp))
            LazyColumn(
                Modifier.weight(1f).fillMaxWidth().testTag("page"),
                contentPadding = PaddingValues(start = 12.dp, end = 12.dp, top = 4.dp, bottom = 24.dp),
                verticalArrangement = Arrangement.spacedBy(10.dp),
            ) {
                item("house") { SheetCard(screen.title, "The whole house on one sheet: every opening and what to buy", house.id, null, state, outside) }
                house.rooms.forEach { room ->
                    items(room.openings.size, { room.openings[it].id }) { i ->
                        val opening = room.openings[i]
                        SheetCard("${room.name}, ${opening.open.label}", "Measuring; making and hanging once enough is read", house.id, opening.id, state, outside)
                    }
                }
            }
        }
    }

@Composable
private fun SheetCard(name: String, below: String, house: String, opening: String?, state: WalkState, outside: Outside) = Card {
    Heading(name)
    Words(below, size = Type.small, color = look.quiet)
    Presses {
        Press("Share", { state.sheet(house, opening) { outside.share(it.fileName, "text/html", it.html) } }, spoken = "share the sheets: $name")
        Press("Print", { state.sheet(house, opening) { outside.print(it.title, it.html) } }, spoken = "print the sheets: $name")
    }
}
