// What an opening's readings say: the drawing, the flags, the ways to mount it side by side, and what is to be chosen.
package hangtrue.screens

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.BoxWithConstraints
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.foundation.layout.padding
import androidx.compose.runtime.Composable
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.semantics.clearAndSetSemantics
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.unit.dp
import hangtrue.core.ChoiceGroup
import hangtrue.core.FigureRow
import hangtrue.core.OpeningScreen
import hangtrue.core.Screen
import hangtrue.core.Way

/** An opening's result. */
@Composable
fun OpeningPage(screen: Screen, opening: OpeningScreen, state: WalkState, outside: Outside) = Page(
    screen,
    state,
    foot = {
        Press(opening.measure, state::act, Modifier.weight(1f).fillMaxHeight(), if (opening.next == null) Pull.Main else Pull.Plain)
        opening.next?.let { Press(it, state::act, Modifier.weight(1f).fillMaxHeight(), Pull.Main) }
    },
) {
    item("says") {
        Column(verticalArrangement = Arrangement.spacedBy(6.dp)) {
            Words(opening.says, size = Type.prompt, weight = FontWeight.Medium)
            ProgressLine(opening.progress, "needed readings")
        }
    }
    items(opening.asks.size) { i ->
        val ask = opening.asks[i]
        Card {
            Row(horizontalArrangement = Arrangement.spacedBy(10.dp)) {
                Mark(Shape.Triangle, look.again)
                Words(ask.says)
            }
            Presses {
                Press(ask.answer, state::act, pull = Pull.Main)
                Press(ask.close, state::act)
            }
        }
    }
    item("drawing") { Draw(opening.drawing, Modifier.fillMaxWidth().height(300.dp)) }
    flags(opening.flags, state)
    // the reason stands with the way that is advised, and alone where there is none
    if (opening.advice.isNotEmpty() && opening.ways.none { it.advised }) item("advice") { Words(sentence(opening.advice), weight = FontWeight.Medium) }
    if (opening.ways.isNotEmpty()) item("ways") { Ways(opening.ways, opening.advice, state) }
    if (opening.shade.isNotEmpty()) item("shade") {
        Card {
            Heading("The shade", size = Type.prompt)
            opening.shade.forEach { FigureLine(it) }
        }
    }
    item("choices") { Heading("Choices", Modifier.padding(top = 8.dp), Type.prompt) }
    items(opening.choices.size, { opening.choices[it].field }) { i -> Choose(opening.choices[i], state) }
    items(opening.lengths.size, { opening.lengths[it].slot }) { i -> Foldaway(opening.lengths[i].prompt, opening.lengths[i], state) }
    item("photo") { Press("Add a photo", { outside.takePhoto(opening.id, screen.title) }, spoken = "add a photo of the opening", tag = "photo") }
    item("note") { Foldaway(opening.note.prompt, opening.note, state) }
    items(opening.notes.size) { i -> Words(opening.notes[i]) }
    if (opening.readings.isNotEmpty()) item("readings") { Heading("Readings", Modifier.padding(top = 8.dp), Type.prompt) }
    items(opening.readings.size, { opening.readings[it].id }) { i -> ReadingLine(opening.readings[i], state) }
    items(opening.skipped.size) { i ->
        Row(horizontalArrangement = Arrangement.spacedBy(10.dp), verticalAlignment = Alignment.CenterVertically) {
            Mark(Shape.Lozenge, look.quiet, size = 16.dp)
            Words(opening.skipped[i])
        }
    }
}

/** The ways side by side, as far as the type is small enough for columns; otherwise below each other. */
@Composable
private fun Ways(ways: List<Way>, advice: String, state: WalkState) = BoxWithConstraints {
    if (maxWidth / ways.size / LocalDensity.current.fontScale >= 168.dp) {
        Row(horizontalArrangement = Arrangement.spacedBy(Reach.gap)) { ways.forEach { WayCard(it, advice, state, Modifier.weight(1f)) } }
    } else {
        Column(verticalArrangement = Arrangement.spacedBy(Reach.gap)) { ways.forEach { WayCard(it, advice, state, Modifier) } }
    }
}

@Composable
private fun WayCard(way: Way, advice: String, state: WalkState, modifier: Modifier) = Card(modifier) {
    Heading(way.title, size = Type.prompt)
    if (way.advised) Row(horizontalArrangement = Arrangement.spacedBy(8.dp)) {
        Mark(Shape.Tick, look.ink, Modifier.padding(top = 2.dp), size = 16.dp)
        Column {
            Words("Advised", weight = FontWeight.Bold)
            if (advice.isNotEmpty()) Words(sentence(advice))
        }
    }
    Words(way.says, size = Type.small, color = look.quiet)
    way.rows.forEach { FigureLine(it) }
    way.flags.forEach { flag ->
        Row(horizontalArrangement = Arrangement.spacedBy(8.dp)) {
            SeverityMark(flag.severity)
            Column {
                Words(flag.says, size = Type.small)
                Words(flag.settle, size = Type.small, color = look.quiet)
            }
        }
    }
    if (way.missing.isNotEmpty()) {
        Words("Wants to be read", size = Type.small, color = look.quiet)
        way.missing.forEach { Press(it, state::act) }
    }
    OneOf(way.choose, state::act)
}

@Composable
private fun FigureLine(row: FigureRow) = Column(Modifier.clearAndSetSemantics { contentDescription = "${row.name}: ${row.figure.spoken}" }) {
    Words(row.name, size = Type.small, color = look.quiet)
    Words(row.figure.text, size = Type.prompt, weight = FontWeight.Medium)
    if (row.figure.echo.isNotEmpty()) Words(row.figure.echo, size = Type.small, color = look.quiet)
}

/** One choice: its name and what there is to choose from. */
@Composable
fun Choose(group: ChoiceGroup, state: WalkState) = Column(verticalArrangement = Arrangement.spacedBy(6.dp)) {
    Words(group.title, size = Type.small, color = look.quiet)
    Presses { group.options.forEach { OneOf(it, state::act) } }
}
