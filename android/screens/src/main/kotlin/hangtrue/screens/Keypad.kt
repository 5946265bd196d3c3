// The keypad of the walk: which keys there are and which are live is the core's business; where they lie under a thumb is
// decided here. Digits in two rows of five, so that all of them fit the bottom of a small phone at full size; fractions as an
// inch of tape, each key at its own line; below them what takes back, what else there is, and the widest key, which accepts.
package hangtrue.screens

import androidx.compose.foundation.Canvas
import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.clickable
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.PaddingValues
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.RowScope
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.text.BasicText
import androidx.compose.foundation.text.TextAutoSize
import androidx.compose.runtime.Composable
import androidx.compose.runtime.CompositionLocalProvider
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.LocalLayoutDirection
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.Role
import androidx.compose.ui.semantics.clearAndSetSemantics
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.disabled
import androidx.compose.ui.semantics.onClick
import androidx.compose.ui.semantics.role
import androidx.compose.ui.semantics.testTag
import androidx.compose.ui.text.TextStyle
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.text.style.TextAlign
import androidx.compose.ui.unit.LayoutDirection
import androidx.compose.ui.unit.TextUnit
import androidx.compose.ui.unit.dp
import androidx.compose.ui.unit.sp
import hangtrue.core.Touch
import hangtrue.core.Hand
import hangtrue.core.ReadingScreen

/** The keypad, leaning to the thumb of [hand]. It is not mirrored where words run from the right: digits and a tape do not. */
@Composable
fun Keypad(screen: ReadingScreen, hand: Hand, act: Act, modifier: Modifier = Modifier) = CompositionLocalProvider(LocalLayoutDirection provides LayoutDirection.Ltr) {
    Column(modifier, verticalArrangement = Arrangement.spacedBy(4.dp)) {
        screen.digits.chunked(5).forEachIndexed { i, row ->
            Row(
                Modifier.fillMaxWidth().padding(top = if (i == 0) 0.dp else Reach.gap - 4.dp),
                horizontalArrangement = Arrangement.spacedBy(Reach.gap),
            ) { row.forEach { Key(it, act, Type.key, Modifier.weight(1f).height(Reach.digit)) } }
        }
        val rows = quickRows(screen.quick)
        if (isTape(screen.quick)) Tape(rows[0], rows[1], act) else Column { rows.forEach { row -> QuickRow(row) { Key(it, act, Type.fraction, Modifier.weight(1f).height(Reach.touch), inset = PaddingValues(2.dp)) } } }
        Row(Modifier.fillMaxWidth(), horizontalArrangement = Arrangement.spacedBy(Reach.gap)) {
            // the thumb's own side is the easiest: there the accepting key ends
            if (hand == Hand.LEFT) Accept(screen.accept, act, Modifier.weight(1f))
            val edit = if (hand == Hand.LEFT) screen.edit.reversed() else screen.edit
            edit.forEach { Key(it, act, if (it.label.length == 1) Type.key else Type.body, Modifier.width(Reach.digit).height(Reach.touch)) }
            if (hand == Hand.RIGHT) Accept(screen.accept, act, Modifier.weight(1f))
        }
    }
}

/** True for the keys of an inch: each stands for a part of it. */
internal fun isTape(quick: List<Touch>) = quick.isNotEmpty() && quick.all { '/' in it.label }

/** An inch has its finest parts above and those between them below, staggered by half a key. Anything else is cut into two rows. */
internal fun quickRows(quick: List<Touch>): List<List<Touch>> = when {
    quick.isEmpty() -> emptyList()
    isTape(quick) -> listOf(quick.filterIndexed { i, _ -> i % 2 == 0 }, quick.filterIndexed { i, _ -> i % 2 == 1 })
    else -> listOf(quick.take(quick.size / 2), quick.drop(quick.size / 2))
}

// Keys of this row touch each other, each with its whole part of the row, and draw themselves smaller.
@Composable
private fun QuickRow(row: List<Touch>, key: @Composable RowScope.(Touch) -> Unit) = Row(Modifier.fillMaxWidth()) {
    val short = row.size % 2 == 1
    if (short) Spacer(Modifier.weight(0.5f))
    row.forEach { key(it) }
    if (short) Spacer(Modifier.weight(0.5f))
}

/**
 * An inch of tape between its keys. The middle of each key is where its line is on the tape, because the keys of a row share
 * the whole width; the tape is drawn over the inner edges of both rows, so that a touch on a line is a touch on its key.
 */
@Composable
private fun Tape(fine: List<Touch>, coarse: List<Touch>, act: Act) = Box {
    val (line, mark) = look.ink to look.strong
    Column {
        QuickRow(fine) { Key(it, act, Type.fraction, Modifier.weight(1f).height(TAPE_KEY), PaddingValues(2.dp, 2.dp, 2.dp, TAPE / 2)) }
        QuickRow(coarse) { Key(it, act, Type.fraction, Modifier.weight(1f).height(TAPE_KEY), PaddingValues(2.dp, TAPE / 2, 2.dp, 2.dp)) }
    }
    val parts = fine.size + coarse.size + 1
    val chosen = (1 until parts).firstOrNull { n -> (if (n % 2 == 1) fine[n / 2] else coarse[n / 2 - 1]).chosen }
    Canvas(Modifier.align(Alignment.Center).fillMaxWidth().height(TAPE).testTag("tape")) {
        val middle = size.height / 2
        if (chosen != null) drawLine(mark, Offset(0f, middle), Offset(size.width * chosen / parts, middle), 5.dp.toPx())
        drawLine(line, Offset(0f, middle), Offset(size.width, middle), 1.5.dp.toPx())
        for (n in 0..parts) {
            // whole and half inches are the thickest, as on a tape
            val thick = when {
                n * 2 % parts == 0 -> 2.5.dp
                n * 4 % parts == 0 -> 2.dp
                else -> 1.25.dp
            }.toPx()
            val x = (size.width * n / parts).coerceIn(thick / 2, size.width - thick / 2)
            drawLine(line, Offset(x, if (n % 2 == 1) 0f else middle), Offset(x, if (n % 2 == 1) middle else size.height), thick)
        }
    }
}

/** The height of the tape between its two rows of keys, and of such a key with its half of the tape. */
private val TAPE = 14.dp
private val TAPE_KEY = 50.dp

@Composable
private fun Accept(button: Touch, act: Act, modifier: Modifier) =
    Key(button, act, Type.body, modifier.height(Reach.touch), strong = true)

@Composable
private fun Key(
    button: Touch,
    act: Act,
    size: TextUnit,
    modifier: Modifier,
    inset: PaddingValues = PaddingValues(),
    strong: Boolean = false,
) {
    val filled = strong && button.live
    val ink = when {
        filled -> look.onStrong
        button.live -> look.ink
        else -> look.quiet.copy(alpha = FAINT)
    }
    // the last fraction chosen stays marked, by its edge as well as its filling
    val chosen = button.chosen
    val press = { act(button.event) }
    Box(
        modifier
            .clickable(enabled = button.live, role = Role.Button, onClick = press)
            .clearAndSetSemantics {
                contentDescription = button.spoken
                role = Role.Button
                testTag = button.id
                if (button.live) onClick { press(); true } else disabled()
            }
            .padding(inset),
    ) {
        Box(
            Modifier
                .fillMaxSize()
                .background(if (filled) look.strong else if (chosen) look.cloth else if (button.live) look.key else look.ground, Corner)
                .border(if (chosen) 3.dp else look.edge, if (button.live) look.line else look.line.copy(alpha = FAINT), Corner)
                .padding(horizontal = 3.dp, vertical = 2.dp),
            contentAlignment = Alignment.Center,
        ) {
            val fraction = button.label.split('/').takeIf { it.size == 2 }
            if (fraction == null) KeyWords(button.label, size, ink) else Stacked(fraction[0], fraction[1], size, ink)
        }
    }
}

/** The smallest that a key's words may become, in dp whatever the font scale. */
private const val SMALLEST = 9f

/** Words on a key: as large as the reader's font scale wants and the key has room for. */
@Composable
internal fun KeyWords(text: String, size: TextUnit, ink: Color, modifier: Modifier = Modifier) = BasicText(
    text,
    modifier,
    TextStyle(color = ink, fontSize = size, fontWeight = FontWeight.Medium, textAlign = TextAlign.Center),
    onTextLayout = LocalLaid.current,
    maxLines = 1,
    softWrap = false,
    autoSize = TextAutoSize.StepBased(minFontSize = (SMALLEST / LocalDensity.current.fontScale).sp, maxFontSize = size, stepSize = 0.5.sp),
)

/** A fraction as a tape's reader writes it: one number over the other. */
@Composable
private fun Stacked(over: String, under: String, size: TextUnit, ink: Color) = Column(
    Modifier.fillMaxSize(),
    horizontalAlignment = Alignment.CenterHorizontally,
    verticalArrangement = Arrangement.Center,
) {
    Box(Modifier.weight(1f).fillMaxWidth(), contentAlignment = Alignment.BottomCenter) { KeyWords(over, size, ink) }
    Box(Modifier.width(20.dp).height(2.dp).background(ink))
    Box(Modifier.weight(1f).fillMaxWidth(), contentAlignment = Alignment.TopCenter) { KeyWords(under, size, ink) }
}
