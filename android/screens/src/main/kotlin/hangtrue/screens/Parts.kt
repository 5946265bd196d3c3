// The small parts that every screen is put together from: words, buttons, rows, choices, flags. All names for a screen
// reader are set here, so that no screen can leave one out.
package hangtrue.screens

import androidx.compose.foundation.Canvas
import androidx.compose.foundation.IndicationNodeFactory
import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.clickable
import androidx.compose.foundation.interaction.FocusInteraction
import androidx.compose.foundation.interaction.InteractionSource
import androidx.compose.foundation.interaction.PressInteraction
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.BoxWithConstraints
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.ColumnScope
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.RowScope
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.defaultMinSize
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.foundation.layout.heightIn
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.size
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.selection.selectable
import androidx.compose.foundation.selection.toggleable
import androidx.compose.foundation.shape.RoundedCornerShape
import androidx.compose.foundation.text.BasicText
import androidx.compose.foundation.text.BasicTextField
import androidx.compose.foundation.text.KeyboardActions
import androidx.compose.foundation.text.KeyboardOptions
import androidx.compose.runtime.Composable
import androidx.compose.runtime.staticCompositionLocalOf
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.graphics.Path
import androidx.compose.ui.graphics.SolidColor
import androidx.compose.ui.graphics.StrokeCap
import androidx.compose.ui.graphics.drawscope.ContentDrawScope
import androidx.compose.ui.graphics.drawscope.DrawScope
import androidx.compose.ui.graphics.drawscope.Stroke
import androidx.compose.ui.graphics.drawscope.scale
import androidx.compose.ui.node.DelegatableNode
import androidx.compose.ui.node.DrawModifierNode
import androidx.compose.ui.node.invalidateDraw
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.LiveRegionMode
import androidx.compose.ui.semantics.Role
import androidx.compose.ui.semantics.clearAndSetSemantics
import androidx.compose.ui.semantics.disabled
import androidx.compose.ui.semantics.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.heading
import androidx.compose.ui.semantics.liveRegion
import androidx.compose.ui.semantics.onClick
import androidx.compose.ui.semantics.role
import androidx.compose.ui.semantics.selected
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.text.TextLayoutResult
import androidx.compose.ui.text.TextStyle
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.text.input.ImeAction
import androidx.compose.ui.text.input.KeyboardCapitalization
import androidx.compose.ui.text.style.TextAlign
import androidx.compose.ui.unit.Dp
import androidx.compose.ui.unit.LayoutDirection
import androidx.compose.ui.unit.TextUnit
import androidx.compose.ui.unit.dp
import kotlinx.coroutines.launch
import hangtrue.core.Touch

/** Words in the palette's ink. They wrap and are never cut. */
@Composable
fun Words(
    text: String,
    modifier: Modifier = Modifier,
    size: TextUnit = Type.body,
    weight: FontWeight = FontWeight.Normal,
    color: Color = look.ink,
    align: TextAlign = TextAlign.Start,
) = BasicText(
    text,
    modifier,
    TextStyle(color = color, fontSize = size, fontWeight = weight, textAlign = align),
    onTextLayout = LocalLaid.current,
)

/** Told of every text that is laid out. Tests listen here for words that are cut or shrunk; the app does not. */
val LocalLaid = staticCompositionLocalOf<((TextLayoutResult) -> Unit)?> { null }

/** A heading that a screen reader can jump to. */
@Composable
fun Heading(text: String, modifier: Modifier = Modifier, size: TextUnit = Type.body) =
    Words(text, modifier.semantics { heading() }, size, FontWeight.Bold)

/** Words that are read out when they change, and the form in which they are spoken. */
@Composable
fun Announced(text: String, spoken: String, modifier: Modifier = Modifier, size: TextUnit = Type.body, weight: FontWeight = FontWeight.Normal) =
    Words(
        text,
        modifier.semantics {
            liveRegion = LiveRegionMode.Polite
            contentDescription = spoken
        },
        size,
        weight,
    )

/** What cannot be pressed now is there, and faint. */
internal const val FAINT = 0.45f

/** A button out of the core: its words, its spoken name and what it stands for all come from there. */
@Composable
fun Press(button: Touch, act: Act, modifier: Modifier = Modifier, pull: Pull = Pull.Plain) =
    Press(button.label, { act(button.event) }, modifier, button.spoken, button.live, pull, button.id)

/** One of several out of the core. */
@Composable
fun OneOf(button: Touch, act: Act, modifier: Modifier = Modifier) =
    OneOf(button.label, button.chosen, { act(button.event) }, modifier.testTag(button.id), button.spoken)

/** How much a button asks to be pressed. */
enum class Pull { Main, Plain }

/** A button of at least [Reach.touch]. [spoken] is its name for a screen reader where the words alone are too few. */
@Composable
fun Press(
    text: String,
    onPress: () -> Unit,
    modifier: Modifier = Modifier,
    spoken: String? = null,
    live: Boolean = true,
    pull: Pull = Pull.Plain,
    tag: String? = null,
) {
    val strong = pull == Pull.Main && live
    Box(
        modifier
            .defaultMinSize(Reach.touch, Reach.touch)
            .background(if (strong) look.strong else look.key, Corner)
            .border(look.edge, if (live) look.line else look.line.copy(alpha = FAINT), Corner)
            .clickable(enabled = live, role = Role.Button, onClick = onPress)
            .clearAndSetSemantics {
                contentDescription = spoken ?: text
                role = Role.Button
                if (tag != null) testTag = tag
                if (live) onClick { onPress(); true } else disabled()
            }
            .padding(horizontal = 12.dp, vertical = 8.dp),
        contentAlignment = Alignment.Center,
    ) {
        Words(
            text,
            weight = FontWeight.Medium,
            color = when {
                strong -> look.onStrong
                live -> look.ink
                else -> look.quiet.copy(alpha = FAINT)
            },
            align = TextAlign.Center,
        )
    }
}

/** A button of one line, whose words are as large as its part of the line has room for. */
@Composable
internal fun ShortPress(text: String, onPress: () -> Unit, modifier: Modifier = Modifier, spoken: String = text, live: Boolean = true, tag: String) = Box(
    modifier
        .height(Reach.touch)
        .background(look.key, Corner)
        .border(look.edge, if (live) look.line else look.line.copy(alpha = FAINT), Corner)
        .clickable(enabled = live, role = Role.Button, onClick = onPress)
        .clearAndSetSemantics {
            contentDescription = spoken
            role = Role.Button
            testTag = tag
            if (live) onClick { onPress(); true } else disabled()
        }
        .padding(horizontal = 6.dp),
    contentAlignment = Alignment.Center,
) { KeyWords(text, Type.body, if (live) look.ink else look.quiet.copy(alpha = FAINT)) }

/** A line of buttons that goes on below when it is too wide. */
@Composable
fun Presses(modifier: Modifier = Modifier, right: Boolean = false, content: @Composable () -> Unit) =
    androidx.compose.foundation.layout.FlowRow(
        modifier,
        horizontalArrangement = Arrangement.spacedBy(Reach.gap, if (right) Alignment.End else Alignment.Start),
        verticalArrangement = Arrangement.spacedBy(Reach.gap),
    ) { content() }

/** A card on the ground. */
@Composable
fun Card(modifier: Modifier = Modifier, content: @Composable ColumnScope.() -> Unit) = Column(
    modifier.fillMaxWidth().background(look.card, Corner).border(look.edge, look.line, Corner).padding(14.dp),
    verticalArrangement = Arrangement.spacedBy(8.dp),
    content = content,
)

/** A row that leads somewhere: a name, a line below it, and what stands open at its end. One stop for a screen reader. */
@Composable
fun Leads(
    name: String,
    below: String,
    onPress: () -> Unit,
    modifier: Modifier = Modifier,
    tag: String? = null,
    spoken: String = if (below.isEmpty()) name else "$name. $below",
    here: Boolean = false,
    mark: (@Composable () -> Unit)? = null,
) = Row(
    modifier
        .fillMaxWidth()
        .heightIn(min = 64.dp)
        .background(look.card, Corner)
        // what it leads to is open beside it: told by the edge and to a screen reader
        .border(if (here) 4.dp else look.edge, if (here) look.strong else look.line, Corner)
        .clickable(role = Role.Button, onClick = onPress)
        .clearAndSetSemantics {
            contentDescription = spoken
            role = Role.Button
            if (tag != null) testTag = tag
            if (here) selected = true
            onClick { onPress(); true }
        }
        .padding(14.dp),
    verticalAlignment = Alignment.CenterVertically,
) {
    if (mark != null) {
        mark()
        Spacer(Modifier.width(12.dp))
    }
    Column(Modifier.weight(1f)) {
        Words(name, weight = FontWeight.Medium)
        if (below.isNotEmpty()) Words(below, size = Type.small, color = look.quiet)
    }
    Spacer(Modifier.width(8.dp))
    Chevron()
}

/** One of several: shown by a filled mark and an edge, not only by colour. */
@Composable
fun OneOf(text: String, chosen: Boolean, onChoose: () -> Unit, modifier: Modifier = Modifier, spoken: String? = null) = Row(
    modifier
        .heightIn(min = Reach.touch)
        .background(if (chosen) look.strong else look.key, Corner)
        .border(look.edge, look.line, Corner)
        .selectable(chosen, role = Role.RadioButton, onClick = onChoose)
        .clearAndSetSemantics {
            contentDescription = spoken ?: text
            role = Role.RadioButton
            selected = chosen
            onClick { onChoose(); true }
        }
        .padding(horizontal = 12.dp, vertical = 8.dp),
    verticalAlignment = Alignment.CenterVertically,
) {
    val ink = if (chosen) look.onStrong else look.ink
    Canvas(Modifier.size(14.dp)) {
        drawCircle(ink, radius = size.minDimension / 2 - 1.dp.toPx(), style = Stroke(2.dp.toPx()))
        if (chosen) drawCircle(ink, radius = size.minDimension / 4)
    }
    Spacer(Modifier.width(8.dp))
    Words(text, color = ink)
}

/** On or off. */
@Composable
fun OnOff(text: String, on: Boolean, onChange: (Boolean) -> Unit, modifier: Modifier = Modifier, below: String = "") = Row(
    modifier
        .fillMaxWidth()
        .heightIn(min = Reach.touch)
        .toggleable(on, role = Role.Switch, onValueChange = onChange)
        .padding(vertical = 8.dp),
    verticalAlignment = Alignment.CenterVertically,
) {
    Column(Modifier.weight(1f)) {
        Words(text)
        if (below.isNotEmpty()) Words(below, size = Type.small, color = look.quiet)
    }
    Spacer(Modifier.width(12.dp))
    val colors = look
    Canvas(Modifier.size(width = 52.dp, height = 30.dp)) {
        val round = androidx.compose.ui.geometry.CornerRadius(size.height / 2)
        drawRoundRect(if (on) colors.strong else colors.key, cornerRadius = round)
        drawRoundRect(colors.ink, cornerRadius = round, style = Stroke(2.dp.toPx()))
        val at = Offset(if (on) size.width - size.height / 2 else size.height / 2, size.height / 2)
        // a bar when on, a ring when off: told apart without colour
        if (on) {
            drawCircle(colors.onStrong, size.height * 0.34f, at)
            drawLine(colors.strong, at.copy(y = at.y - 5.dp.toPx()), at.copy(y = at.y + 5.dp.toPx()), 3.dp.toPx())
        } else {
            drawCircle(colors.ink, size.height * 0.3f, at, style = Stroke(2.dp.toPx()))
        }
    }
}

/** A line to write on, with its name above it. */
@Composable
fun WriteLine(
    name: String,
    text: String,
    onText: (String) -> Unit,
    modifier: Modifier = Modifier,
    onDone: () -> Unit = {},
) = Column(modifier, verticalArrangement = Arrangement.spacedBy(4.dp)) {
    Words(name, Modifier.clearAndSetSemantics {}, size = Type.small, color = look.quiet)
    BasicTextField(
        text,
        onText,
        Modifier.fillMaxWidth().heightIn(min = Reach.touch).semantics { contentDescription = name },
        textStyle = TextStyle(color = look.ink, fontSize = Type.body),
        cursorBrush = SolidColor(look.strong),
        singleLine = true,
        keyboardOptions = KeyboardOptions(capitalization = KeyboardCapitalization.Sentences, imeAction = ImeAction.Done),
        keyboardActions = KeyboardActions(onDone = { onDone() }),
        decorationBox = { field ->
            Box(
                Modifier.fillMaxWidth().background(look.card, Corner).border(look.edge, look.line, Corner).padding(12.dp),
                contentAlignment = Alignment.CenterStart,
            ) { field() }
        },
    )
}

/** What a mark says, by its shape: a ring, a lozenge, a triangle, a tick. */
enum class Shape { Ring, Lozenge, Triangle, Tick, Dot }

/** A mark with its meaning in its shape, as large as the words beside it, which say the same; it says nothing of its own. */
@Composable
fun Mark(shape: Shape, color: Color, modifier: Modifier = Modifier, size: Dp = 20.dp) =
    Canvas(modifier.size(size * LocalDensity.current.fontScale)) { mark(shape, color) }

internal fun DrawScope.mark(shape: Shape, color: Color) {
    val w = size.width
    val h = size.height
    val thick = w * 0.13f
    when (shape) {
        Shape.Ring -> drawCircle(color, w / 2 - thick / 2, style = Stroke(thick))
        Shape.Dot -> drawCircle(color, w * 0.3f)
        Shape.Lozenge -> drawPath(poly(w / 2 to 0f, w to h / 2, w / 2 to h, 0f to h / 2), color)
        Shape.Triangle -> drawPath(poly(w / 2 to h * 0.04f, w to h * 0.94f, 0f to h * 0.94f), color)
        Shape.Tick -> {
            drawLine(color, Offset(w * 0.08f, h * 0.55f), Offset(w * 0.4f, h * 0.86f), thick * 1.3f)
            drawLine(color, Offset(w * 0.37f, h * 0.86f), Offset(w * 0.94f, h * 0.16f), thick * 1.3f)
        }
    }
}

private fun poly(vararg points: Pair<Float, Float>) = Path().apply {
    points.forEachIndexed { i, (x, y) -> if (i == 0) moveTo(x, y) else lineTo(x, y) }
    close()
}

@Composable
private fun Chevron() {
    val ink = look.ink
    Canvas(Modifier.size(10.dp, 16.dp)) {
        asWordsRun {
            drawLine(ink, Offset(1f, 1f), Offset(size.width - 1f, size.height / 2), 2.dp.toPx())
            drawLine(ink, Offset(size.width - 1f, size.height / 2), Offset(1f, size.height - 1f), 2.dp.toPx())
        }
    }
}

/** Draws what points onward or back: mirrored where words run from the right. */
private fun DrawScope.asWordsRun(draw: DrawScope.() -> Unit) = if (layoutDirection == LayoutDirection.Rtl) scale(-1f, 1f) { draw() } else draw()

/** The bar at the top: where one is, the core's way back, and what else can be done here. */
@Composable
fun TopBar(title: String, back: Touch?, act: Act, type: TextUnit = Type.title, side: Dp = 12.dp, actions: @Composable RowScope.() -> Unit = {}) =
    BackBar(title, back?.spoken, { back?.let { act(it.event) } }, type, side, actions)

/** A bar whose way back, named [back], is not the core's. */
@Composable
fun BackBar(title: String, back: String?, onBack: () -> Unit, type: TextUnit = Type.title, side: Dp = 12.dp, actions: @Composable RowScope.() -> Unit = {}) =
    BoxWithConstraints(Modifier.fillMaxWidth().padding(horizontal = side, vertical = 4.dp)) {
        // between the buttons there is no room for large words: there they stand below
        val below = title.isNotEmpty() && maxWidth / LocalDensity.current.fontScale < BESIDE
        Column(verticalArrangement = Arrangement.spacedBy(8.dp)) {
            Row(
                Modifier.fillMaxWidth().heightIn(min = Reach.touch),
                verticalAlignment = Alignment.CenterVertically,
                horizontalArrangement = Arrangement.spacedBy(8.dp, Alignment.End),
            ) {
                if (back != null) IconPress(back, onBack, Modifier.testTag("back")) { color ->
                    asWordsRun {
                        drawLine(color, Offset(size.width * 0.7f, size.height * 0.12f), Offset(size.width * 0.3f, size.height / 2), 3.dp.toPx(), StrokeCap.Square)
                        drawLine(color, Offset(size.width * 0.3f, size.height / 2), Offset(size.width * 0.7f, size.height * 0.88f), 3.dp.toPx(), StrokeCap.Square)
                    }
                }
                when {
                    !below && title.isNotEmpty() -> Heading(title, Modifier.weight(1f), type)
                    back != null -> Spacer(Modifier.weight(1f))
                }
                actions()
            }
            if (below) Heading(title, size = type)
        }
    }

/** So wide, for type of the usual size, is a line on which words stand beside buttons. */
internal val BESIDE = 280.dp

/** A button that is only a drawing, with its name for a screen reader. */
@Composable
fun IconPress(name: String, onPress: () -> Unit, modifier: Modifier = Modifier, draw: DrawScope.(Color) -> Unit) {
    val ink = look.ink
    Box(
        modifier
            .size(Reach.touch)
            .background(look.key, Corner)
            .border(look.edge, look.line, Corner)
            .clickable(role = Role.Button, onClick = onPress)
            .semantics { contentDescription = name },
        contentAlignment = Alignment.Center,
    ) { Canvas(Modifier.size(22.dp)) { draw(ink) } }
}

/** The sun: colours for bright light. */
internal fun DrawScope.sun(color: Color) {
    val mid = Offset(size.width / 2, size.height / 2)
    drawCircle(color, size.width * 0.2f, mid)
    repeat(8) { n ->
        val angle = n * Math.PI.toFloat() / 4
        val ray = Offset(kotlin.math.cos(angle), kotlin.math.sin(angle))
        drawLine(color, mid + ray * (size.width * 0.31f), mid + ray * (size.width * 0.48f), 2.dp.toPx())
    }
}

/** A gable: back to the house. */
internal fun DrawScope.house(color: Color) {
    val (w, h, thick) = Triple(size.width, size.height, 2.5.dp.toPx())
    val gable = listOf(0.05f to 0.52f, 0.5f to 0.1f, 0.95f to 0.52f)
    val walls = listOf(0.2f to 0.42f, 0.2f to 0.9f, 0.8f to 0.9f, 0.8f to 0.42f)
    for (path in listOf(gable, walls)) {
        path.zipWithNext { (x, y), (u, v) -> drawLine(color, Offset(w * x, h * y), Offset(w * u, h * v), thick, StrokeCap.Square) }
    }
}

/** Two arrows across: the other hand. */
internal fun DrawScope.swap(color: Color) {
    val w = size.width
    val tip = w * 0.18f
    val thick = 2.5.dp.toPx()
    for ((y, right) in listOf(0.3f to true, 0.7f to false)) {
        val head = if (right) w * 0.95f else w * 0.05f
        val back = if (right) -tip else tip
        drawLine(color, Offset(w * 0.05f, w * y), Offset(w * 0.95f, w * y), thick)
        drawLine(color, Offset(head, w * y), Offset(head + back, w * y - tip), thick)
        drawLine(color, Offset(head, w * y), Offset(head + back, w * y + tip), thick)
    }
}

/** The corner of everything that has one. */
val Corner = RoundedCornerShape(6.dp)

/** A press is seen as a darkening, focus from a keyboard as a thick inner edge. */
internal data class Pressed(private val focus: Color) : IndicationNodeFactory {
    override fun create(interactionSource: InteractionSource): DelegatableNode = PressedNode(interactionSource, focus)
}

private class PressedNode(private val source: InteractionSource, private val focus: Color) : Modifier.Node(), DrawModifierNode {
    private var down = 0
    private var focused = false

    override fun onAttach() {
        coroutineScope.launch {
            source.interactions.collect {
                when (it) {
                    is PressInteraction.Press -> down += 1
                    is PressInteraction.Release, is PressInteraction.Cancel -> down = maxOf(0, down - 1)
                    is FocusInteraction.Focus -> focused = true
                    is FocusInteraction.Unfocus -> focused = false
                }
                invalidateDraw()
            }
        }
    }

    override fun ContentDrawScope.draw() {
        drawContent()
        if (down > 0) drawRect(Color.Black.copy(alpha = 0.18f))
        if (focused) {
            val edge = 3.dp.toPx()
            drawRect(focus, Offset(edge / 2, edge / 2), androidx.compose.ui.geometry.Size(size.width - edge, size.height - edge), style = Stroke(edge))
        }
    }
}
