// The whole of what is drawn: the core says which screen it is.
package hangtrue.screens

import androidx.compose.foundation.background
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.safeDrawing
import androidx.compose.foundation.layout.windowInsetsPadding
import androidx.compose.foundation.layout.WindowInsets
import androidx.compose.runtime.Composable
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.hapticfeedback.HapticFeedbackType
import androidx.compose.ui.platform.LocalHapticFeedback
import androidx.compose.ui.unit.dp
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
        } else when (val shown = screen.shown) {
            is Shown.Houses -> HousesPage(screen, shown.screen, state, outside)
            is Shown.House -> if (state.sheets) SheetsPage(screen, shown.screen, state, outside) else HousePage(screen, shown.screen, state, outside)
            is Shown.Reading -> WalkPage(screen, shown.screen, state)
            is Shown.Opening -> OpeningPage(screen, shown.screen, state, outside)
            is Shown.Leaving -> LeavingPage(screen, shown.screen, state)
            is Shown.Settings -> SettingsPage(screen, shown.screen, state)
            is Shown.Sync -> SyncPage(screen, shown.screen, state, outside)
        }
    }
}
