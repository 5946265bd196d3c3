// The settings of the house and of this device.
package hangtrue.screens

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.padding
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.saveable.rememberSaveable
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.unit.dp
import hangtrue.core.Touch
import hangtrue.core.Screen
import hangtrue.core.SettingRow
import hangtrue.core.SettingsScreen

/** Colours, hand, unit, name; and the numbers of the house that is open, each with its reason. */
@Composable
fun SettingsPage(screen: Screen, settings: SettingsScreen, state: WalkState) = Page(screen, state) {
    item("themes") { OneRow("Colours", settings.themes, state) }
    item("hands") { OneRow("Hand that holds the device", settings.hands, state) }
    item("units") { OneRow("Unit the pad starts in", settings.units, state) }
    item("by") { Foldaway(settings.by.prompt, settings.by, state) }
    items(settings.house.size, { settings.house[it].field }) { i -> Choose(settings.house[i], state) }
    settings.workroom?.let { item("workroom") { Press(it, state::act) } }
    if (settings.rows.isNotEmpty()) item("numbers") {
        val title = if (settings.workroom == null) "For every house that has none of its own" else "Settings of this house"
        Heading(title, Modifier.padding(top = 8.dp), Type.prompt)
    }
    settings.hold?.let { item("hold") { Press(it, state::act) } }
    items(settings.rows.size, { settings.rows[it].name }) { i -> Setting(settings.rows[i], state) }
}

@Composable
private fun OneRow(name: String, options: List<Touch>, state: WalkState) = Column(verticalArrangement = Arrangement.spacedBy(6.dp)) {
    Words(name, size = Type.small, color = look.quiet)
    Presses { options.forEach { OneOf(it, state::act) } }
}

@Composable
private fun Setting(row: SettingRow, state: WalkState) {
    var open by rememberSaveable(row.name) { mutableStateOf(false) }
    val changed = if (row.changed) "; changed, the default is ${row.default}" else ""
    Column(verticalArrangement = Arrangement.spacedBy(6.dp)) {
        Leads(row.words, row.value + changed, { open = !open }, tag = "setting_${row.name}", mark = if (row.changed) ({ Mark(Shape.Dot, look.ink) }) else null)
        if (open || row.change.typed.isNotEmpty()) Card {
            Words(row.reason)
            NameIt(row.change, state)
            Press(row.reset, state::act)
        }
    }
}
