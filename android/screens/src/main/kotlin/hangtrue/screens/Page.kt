// What all pages share: the bar at the top, what the last touch did, a column of things, and buttons under the thumb.
package hangtrue.screens

import androidx.compose.foundation.Canvas
import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.BoxWithConstraints
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.IntrinsicSize
import androidx.compose.foundation.layout.PaddingValues
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.RowScope
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.widthIn
import androidx.compose.foundation.lazy.LazyColumn
import androidx.compose.foundation.lazy.LazyListScope
import androidx.compose.runtime.Composable
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.graphics.drawscope.DrawScope
import androidx.compose.ui.graphics.drawscope.Stroke
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.graphics.Path
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.LiveRegionMode
import androidx.compose.ui.semantics.liveRegion
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.unit.Dp
import androidx.compose.ui.unit.dp
import hangtrue.core.Touch
import hangtrue.core.FlagCard
import hangtrue.core.Notice
import hangtrue.core.HowFar
import hangtrue.core.Screen
import hangtrue.core.Severity

/** A page of things below each other, kept to a readable column on wide screens. A [quiet] one leaves what is to be said to the one beside. */
@Composable
fun Page(
    screen: Screen,
    state: WalkState,
    quiet: Boolean = false,
    actions: @Composable RowScope.() -> Unit = {},
    foot: (@Composable RowScope.() -> Unit)? = null,
    content: LazyListScope.() -> Unit,
) = Column(Modifier.fillMaxSize(), horizontalAlignment = Alignment.CenterHorizontally) {
    BoxWithConstraints(Modifier.weight(1f).widthIn(max = Reach.column).fillMaxWidth()) {
        // large type on a low screen: the bar scrolls with the rest
        val roomy = maxHeight / LocalDensity.current.fontScale >= ROOMY
        val bar = @Composable { side: Dp ->
            TopBar(screen.title, screen.back, state::act, side = side) {
                screen.house?.let { up -> IconPress(up.spoken, { state.act(up.event) }, Modifier.testTag(up.id)) { house(it) } }
                Undoing(screen, state)
                actions()
            }
        }
        Column(Modifier.fillMaxSize()) {
            if (roomy) bar(12.dp)
            if (!quiet) NoticeLine(screen.notice, state, Modifier.padding(horizontal = 12.dp))
            LazyColumn(
                Modifier.weight(1f).fillMaxWidth().testTag("page"),
                contentPadding = PaddingValues(start = 12.dp, end = 12.dp, top = 4.dp, bottom = 24.dp),
                verticalArrangement = Arrangement.spacedBy(10.dp),
            ) {
                if (!roomy) item("bar") { bar(0.dp) }
                if (!quiet && state.opening.isNotEmpty()) item("notices") { OpeningNotices(state) }
                content()
            }
        }
    }
    if (foot != null) Row(
        // as high as the highest of them: words that need two lines are no reason for buttons of two heights
        Modifier.widthIn(max = Reach.column).fillMaxWidth().height(IntrinsicSize.Min).padding(12.dp),
        horizontalArrangement = Arrangement.spacedBy(Reach.gap),
        content = foot,
    )
}

/** A screen this high, for type of the usual size, has room for a bar that stays. */
internal val ROOMY = 520.dp

/** Take back and do again, where there is something to take back. */
@Composable
fun Undoing(screen: Screen, state: WalkState) {
    screen.undo?.let { ArrowPress(it, state::act, false) }
    screen.redo?.let { ArrowPress(it, state::act, true) }
}

@Composable
private fun ArrowPress(button: Touch, act: Act, again: Boolean) = IconPress(
    button.spoken,
    { act(button.event) },
    Modifier.testTag(button.id),
) { color -> turn(color, again) }

// an arrow that bends back to the left, or on to the right
private fun DrawScope.turn(color: Color, again: Boolean) {
    val w = size.width
    val x = { part: Float -> if (again) w * (1 - part) else w * part }
    val thick = w * 0.11f
    val path = Path().apply {
        moveTo(x(0.12f), w * 0.36f)
        lineTo(x(0.62f), w * 0.36f)
        cubicTo(x(0.98f), w * 0.36f, x(0.98f), w * 0.86f, x(0.62f), w * 0.86f)
        lineTo(x(0.34f), w * 0.86f)
    }
    drawPath(path, color, style = Stroke(thick))
    drawLine(color, Offset(x(0.08f), w * 0.36f), Offset(x(0.38f), w * 0.1f), thick)
    drawLine(color, Offset(x(0.08f), w * 0.36f), Offset(x(0.38f), w * 0.62f), thick)
}

/** What the last touch did, read out at once; the tick only when it is on the disk. Also what the core refused, and why. */
@Composable
fun NoticeLine(notice: Notice?, state: WalkState, modifier: Modifier = Modifier) {
    val trouble = state.trouble
    if (notice == null && trouble == null) return
    Row(
        modifier
            .fillMaxWidth()
            .padding(bottom = 6.dp)
            .background(look.card, Corner)
            .border(look.edge, look.line, Corner)
            .padding(10.dp)
            .semantics(mergeDescendants = true) { liveRegion = if (trouble != null) LiveRegionMode.Assertive else LiveRegionMode.Polite }
            .testTag("notice"),
        horizontalArrangement = Arrangement.spacedBy(10.dp),
        verticalAlignment = Alignment.CenterVertically,
    ) {
        if (trouble != null) {
            Mark(Shape.Triangle, look.again)
            Words(trouble, weight = FontWeight.Medium)
        } else if (notice != null) {
            if (notice.kept) Mark(Shape.Tick, look.ink) else Mark(Shape.Dot, look.quiet)
            Words(notice.says)
        }
    }
}

/** What there was to say when the book was opened, until it is read. */
@Composable
private fun OpeningNotices(state: WalkState) = Card {
    state.opening.forEach { Announced(sentence(it), it) }
    Press("Close this", state::read, tag = "notices_read")
}

/** The mark of a severity. */
@Composable
fun SeverityMark(severity: Severity, modifier: Modifier = Modifier) = Mark(
    when (severity) {
        Severity.KNOW -> Shape.Ring
        Severity.DECIDE -> Shape.Lozenge
        Severity.TAKE_AGAIN -> Shape.Triangle
    },
    severityInk(severity),
    modifier,
)

/** The colour of a severity; its mark and its words say the same. */
@Composable
fun severityInk(severity: Severity) = when (severity) {
    Severity.KNOW -> look.know
    Severity.DECIDE -> look.decide
    Severity.TAKE_AGAIN -> look.again
}

/** A flag: how much it asks, what it says, what would settle it, and the way there unless that is [here]. */
@Composable
fun FlagLine(flag: FlagCard, state: WalkState, modifier: Modifier = Modifier, here: String = "") = Card(modifier) {
    Row(Modifier.semantics(mergeDescendants = true) {}, horizontalArrangement = Arrangement.spacedBy(10.dp)) {
        SeverityMark(flag.severity)
        Column(verticalArrangement = Arrangement.spacedBy(2.dp)) {
            Words(capital(flag.asks), size = Type.small, weight = FontWeight.Bold, color = severityInk(flag.severity))
            Words(flag.says)
            Words(flag.settle, size = Type.small, color = look.quiet)
        }
    }
    flag.go?.takeUnless { it.id.endsWith("_$here") }?.let { Press(it.copy(label = "→ ${it.label}"), state::act) }
}

/** With a capital letter. */
internal fun capital(words: String) = words.replaceFirstChar { it.uppercase() }

/** Flags below each other. */
fun LazyListScope.flags(flags: List<FlagCard>, state: WalkState) =
    items(flags.size) { FlagLine(flags[it], state) }

/** A bar for [progress]: filled for what is done, hatched for what was left out. The words beside it say the same. */
@Composable
fun Bar(progress: HowFar, modifier: Modifier = Modifier) {
    val palette = look
    Box(modifier.fillMaxWidth().height(10.dp).border(palette.edge, palette.line)) {
        Canvas(Modifier.fillMaxSize()) {
            val of = maxOf(1f, progress.of.toFloat())
            val done = size.width * progress.done.toFloat() / of
            val skipped = size.width * progress.skipped.toFloat() / of
            drawRect(palette.strong, size = Size(done, size.height))
            var x = done
            while (x < done + skipped) {
                drawLine(palette.ink, Offset(x, size.height), Offset(minOf(x + size.height, size.width), 0f), 1.dp.toPx())
                x += 6.dp.toPx()
            }
        }
    }
}
