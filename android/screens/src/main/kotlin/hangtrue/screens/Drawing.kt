// Drawings out of the core: plain geometry in a box of 1000 by 1000, put on the screen at the size there is. The core
// decides what is drawn and which place stands out; here inks become thickness, dashes and colour.
package hangtrue.screens

import androidx.compose.foundation.Canvas
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.CornerRadius
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.geometry.Rect
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.graphics.Path
import androidx.compose.ui.graphics.PathEffect
import androidx.compose.ui.graphics.StrokeCap
import androidx.compose.ui.graphics.drawscope.DrawScope
import androidx.compose.ui.graphics.drawscope.clipRect
import androidx.compose.ui.graphics.drawscope.rotate
import androidx.compose.ui.semantics.Role
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.role
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.text.TextMeasurer
import androidx.compose.ui.text.TextStyle
import androidx.compose.ui.text.drawText
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.text.rememberTextMeasurer
import androidx.compose.ui.unit.dp
import hangtrue.core.Drawing
import hangtrue.core.Ink
import hangtrue.core.PenWords
import hangtrue.core.PenLine
import hangtrue.core.PenMark
import hangtrue.core.MarkKind

/** A drawing, as large as the smaller side allows. */
@Composable
fun Draw(drawing: Drawing, modifier: Modifier = Modifier) {
    val palette = look
    val measurer = rememberTextMeasurer()
    Canvas(modifier.semantics {
        contentDescription = drawing.spoken
        role = Role.Image
    }) {
        val part = shown(drawing)
        val scale = minOf(size.width / part.width, size.height / part.height)
        val at = Offset(size.width / 2 - part.center.x * scale, size.height / 2 - part.center.y * scale)
        val pen = Pen(this, palette, scale, at)
        clipRect {
            drawing.lines.forEach(pen::line)
            drawing.marks.forEach(pen::mark)
            // written where nothing is written yet: labels that would lie on each other are moved along
            val taken = mutableListOf<Rect>()
            drawing.labels.forEach { pen.label(it, measurer, taken) }
        }
    }
}

private const val BOX = 1000f

/** Around what matters there is this much of the box to see: trim and sill, not always the floor. */
private const val MARGIN = 110f

/** The part of the box that matters: all but what merely stands around, with some margin. */
private fun shown(drawing: Drawing): Rect {
    val matters = drawing.lines.filter { it.ink != Ink.AROUND }
    if (matters.isEmpty()) return Rect(0f, 0f, BOX, BOX)
    return Rect(
        matters.minOf { minOf(it.x1, it.x2) } - MARGIN,
        matters.minOf { minOf(it.y1, it.y2) } - MARGIN,
        matters.maxOf { maxOf(it.x1, it.x2) } + MARGIN,
        matters.maxOf { maxOf(it.y1, it.y2) } + MARGIN,
    )
}

private class Pen(val on: DrawScope, val look: Look, val scale: Float, val at: Offset) {
    fun point(x: Int, y: Int) = Offset(x * scale, y * scale) + at

    fun color(ink: Ink) = when (ink) {
        Ink.EDGE, Ink.SHADE -> look.ink
        Ink.AROUND -> look.line
        Ink.READ -> look.quiet
        Ink.LIT -> look.strong
        Ink.DOUBT -> look.again
    }

    fun line(line: PenLine) = with(on) {
        val width = when (line.ink) {
            Ink.EDGE -> 2.5.dp
            Ink.AROUND, Ink.READ -> 1.dp
            Ink.LIT -> 4.dp
            Ink.DOUBT -> 2.5.dp
            Ink.SHADE -> 1.5.dp
        }
        val dashes = if (line.ink == Ink.DOUBT) PathEffect.dashPathEffect(floatArrayOf(6.dp.toPx(), 4.dp.toPx())) else null
        drawLine(color(line.ink), point(line.x1, line.y1), point(line.x2, line.y2), width.toPx(), StrokeCap.Butt, dashes)
    }

    fun mark(mark: PenMark) = with(on) {
        val tip = point(mark.x, mark.y)
        val size = 11.dp.toPx()
        rotate(mark.turn.toFloat(), tip) {
            when (mark.kind) {
                // the hook of a tape: a bar across its end
                MarkKind.HOOK -> drawLine(color(mark.ink), tip + Offset(0f, -size * 0.7f), tip + Offset(0f, size * 0.7f), 4.dp.toPx())
                MarkKind.ARROW -> drawPath(
                    Path().apply {
                        moveTo(tip.x, tip.y)
                        lineTo(tip.x - size, tip.y - size * 0.55f)
                        lineTo(tip.x - size, tip.y + size * 0.55f)
                        close()
                    },
                    color(mark.ink),
                )
                MarkKind.DOT -> drawCircle(color(mark.ink), 4.dp.toPx(), tip)
            }
        }
    }

    fun label(label: PenWords, measurer: TextMeasurer, taken: MutableList<Rect>) = with(on) {
        // words grow with the reader's font scale, but not so far that they hide the drawing
        val height = minOf(Type.small.toPx(), maxOf(10.dp.toPx(), BOX * scale * 0.06f))
        val lit = label.ink == Ink.LIT
        val words = measurer.measure(
            label.text,
            TextStyle(color = if (lit) look.onStrong else color(label.ink), fontSize = height.toSp(), fontWeight = FontWeight.Bold),
        )
        val pad = 3.dp.toPx()
        val wide = Size(words.size.width + 2 * pad, words.size.height.toFloat())
        val middle = point(label.x, label.y)
        var corner = Offset(
            (middle.x - wide.width / 2).coerceIn(0f, maxOf(0f, size.width - wide.width)),
            (middle.y - wide.height / 2).coerceIn(0f, maxOf(0f, size.height - wide.height)),
        )
        var box = Rect(corner, wide)
        while (taken.any { it.overlaps(box) } && box.bottom + 1 <= size.height) {
            corner = Offset(corner.x, corner.y + 1)
            box = Rect(corner, wide)
        }
        taken += box
        drawRoundRect(if (lit) look.strong else look.ground, corner, wide, CornerRadius(3.dp.toPx()))
        drawText(words, topLeft = corner + Offset(pad, 0f))
    }
}
