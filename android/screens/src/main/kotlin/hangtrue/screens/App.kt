// The whole of what is drawn: the core says which screen it is.
package hangtrue.screens

import androidx.compose.foundation.background
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.BoxWithConstraints
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.safeDrawing
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.layout.windowInsetsPadding
import androidx.compose.foundation.layout.WindowInsets
import androidx.compose.runtime.Composable
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.hapticfeedback.HapticFeedbackType
import androidx.compose.ui.platform.LocalHapticFeedback
import androidx.compose.ui.unit.dp
import hangtrue.core.Event
import hangtrue.core.Screen
import hangtrue.core.Shown
import hangtrue.core.Theme

/** Draws the screen that the core shows; [outside] is the device around it. */
@Composable
fun App(state: WalkState, outside: Outside) = WithLook(state.screen?.theme == Theme.OUTDOORS) {
    val hand = LocalHapticFeedback.current
    LaunchedEffect(state.felt) {
        state.felt?.let {
            hand.performHapticFeedback(if (it.doubt) HapticFeedbackType.Reject else HapticFeedbackType.Confirm)
            state.feltIt()
        }
    }
    Box(Modifier.fillMaxSize().background(look.ground).windowInsetsPadding(WindowInsets.safeDrawing)) {
        val screen = state.screen
        if (screen == null) {
            Column(
                Modifier.align(Alignment.Center).padding(24.dp),
                verticalArrangement = Arrangement.spacedBy(12.dp),
                horizontalAlignment = Alignment.CenterHorizontally,
            ) {
                Heading("Hangtrue", size = Type.title)
                Announced(state.trouble ?: "Opening the book", state.trouble ?: "Opening the book")
            }
        } else BoxWithConstraints(Modifier.fillMaxSize()) {
            val wide = maxWidth >= TWO && maxHeight >= LOW
            LaunchedEffect(wide) { state.isWide(wide) }
            if (wide) Beside(screen, state, outside) else Alone(screen, state, outside)
        }
    }
}

/** From this width on a house stands beside what is open in it; on glass lower than [LOW] the pad takes that room. */
private val TWO = 840.dp
private val LOW = 480.dp

/** One screen. */
@Composable
private fun Alone(screen: Screen, state: WalkState, outside: Outside) = when (val shown = screen.shown) {
    is Shown.Houses -> HousesPage(screen, shown.screen, state, outside)
    is Shown.House -> if (state.sheets) SheetsPage(screen, shown.screen, state, outside) else HousePage(screen, shown.screen, state, outside)
    is Shown.Reading -> WalkPage(screen, shown.screen, state)
    is Shown.Opening -> OpeningPage(screen, shown.screen, state, outside)
    is Shown.Leaving -> LeavingPage(screen, shown.screen, state)
    is Shown.Settings -> SettingsPage(screen, shown.screen, state)
    is Shown.Sync -> SyncPage(screen, shown.screen, state, outside)
}

/** A house, and beside it what is open in it; a screen that is about no house has all the room. */
@Composable
private fun Beside(screen: Screen, state: WalkState, outside: Outside) {
    val shown = screen.shown
    val at = when (shown) {
        is Shown.House -> ""
        is Shown.Reading -> shown.screen.opening
        is Shown.Opening -> shown.screen.id
        is Shown.Leaving -> ""
        else -> null
    }
    val house = if (shown is Shown.House) screen else state.beside
    val list = house?.shown as? Shown.House
    if (at == null || house == null || list == null) return Alone(screen, state, outside)
    Row(Modifier.fillMaxSize()) {
        // at the left, and over there where words run from the right
        Box(Modifier.width(360.dp).fillMaxHeight()) {
            // what may be undone and what is to be said stands once, beside
            val left = if (shown is Shown.House) house else house.copy(
                notice = null,
                undo = null,
                redo = null,
                back = house.back?.copy(event = Event.ShowHouses, spoken = "to the list of houses"),
            )
            HousePage(left, list.screen, state, outside, Aside(at, quiet = shown !is Shown.House))
        }
        Box(Modifier.width(look.edge).fillMaxHeight().background(look.line))
        Box(Modifier.weight(1f).fillMaxHeight()) {
            when {
                shown !is Shown.House -> Alone(screen, state, outside)
                state.sheets -> Alone(screen, state, outside)
                else -> Words("Choose an opening.", Modifier.align(Alignment.Center).padding(24.dp), color = look.quiet)
            }
        }
    }
}
