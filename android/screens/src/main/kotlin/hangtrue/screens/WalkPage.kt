// The walk: one place to read, with everything a thumb needs at the bottom. Upright, the pad lies under what is shown;
// on its side, beside it, at the hand that holds the device.
package hangtrue.screens

import androidx.compose.foundation.ScrollState
import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.clickable
import androidx.compose.foundation.focusable
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.BoxWithConstraints
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.foundation.layout.heightIn
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.size
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.layout.widthIn
import androidx.compose.foundation.relocation.BringIntoViewRequester
import androidx.compose.foundation.relocation.bringIntoViewRequester
import androidx.compose.foundation.rememberScrollState
import androidx.compose.foundation.verticalScroll
import androidx.compose.runtime.Composable
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.rememberCoroutineScope
import androidx.compose.runtime.saveable.rememberSaveable
import androidx.compose.runtime.setValue
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.focus.FocusRequester
import androidx.compose.ui.focus.focusRequester
import androidx.compose.ui.input.key.onKeyEvent
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.LiveRegionMode
import androidx.compose.ui.semantics.Role
import androidx.compose.ui.semantics.clearAndSetSemantics
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.isTraversalGroup
import androidx.compose.ui.semantics.liveRegion
import androidx.compose.ui.semantics.onClick
import androidx.compose.ui.semantics.role
import androidx.compose.ui.semantics.selected
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.semantics.testTag
import androidx.compose.ui.semantics.traversalIndex
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.unit.Dp
import androidx.compose.ui.unit.dp
import hangtrue.core.Hand
import hangtrue.core.PlaceChip
import hangtrue.core.PlaceState
import hangtrue.core.ReadingRow
import hangtrue.core.ReadingScreen
import hangtrue.core.Screen
import hangtrue.core.Severity
import kotlinx.coroutines.launch

/** From this height on, name, prompt, questions and pad have room together. */
private val TALL = 700.dp

/** The walk at one place. */
@Composable
fun WalkPage(screen: Screen, reading: ReadingScreen, state: WalkState) {
    val here = "${reading.opening}/${reading.place}"
    var leavingOut by rememberSaveable(here) { mutableStateOf(reading.skipWords.typed.isNotEmpty()) }
    val focus = remember { FocusRequester() }
    val keys = remember { HardKeys() }
    LaunchedEffect(here) {
        keys.begin()
        focus.requestFocus()
    }
    BoxWithConstraints(
        Modifier
            .fillMaxSize()
            .focusRequester(focus)
            .onKeyEvent { keys.press(it, reading, state::act) }
            .focusable(),
    ) {
        val beside = maxWidth > maxHeight && maxWidth >= 560.dp
        // large type, or a small screen: what is not the pad scrolls as one
        val roomy = maxHeight >= TALL && maxHeight / LocalDensity.current.fontScale >= ROOMY
        val tall = maxHeight
        val left = screen.hand == Hand.LEFT
        val scroll = rememberScrollState()
        val card = remember { BringIntoViewRequester() }
        // where what is shown scrolls away, the place's name and what else can be done stay, in one line each
        val staying = @Composable {
            PlaceLine(reading)
            if (!leavingOut) ShortActions(screen, reading, state, card, { leavingOut = true })
        }
        if (beside) {
            val padWidth = if (maxWidth >= 1000.dp) 460.dp else 352.dp
            Row(Modifier.fillMaxSize().padding(4.dp), horizontalArrangement = Arrangement.spacedBy(12.dp)) {
                if (left) Hands(screen, reading, state, leavingOut, { leavingOut = it }, true, Modifier.width(padWidth).fillMaxHeight())
                Column(Modifier.weight(1f).fillMaxHeight()) {
                    Shown(screen, reading, state, scroll, card, tight = true, wide = tall >= 600.dp, Modifier.weight(1f))
                    staying()
                }
                if (!left) Hands(screen, reading, state, leavingOut, { leavingOut = it }, true, Modifier.width(padWidth).fillMaxHeight())
            }
        } else {
            Column(Modifier.fillMaxSize()) {
                Shown(
                    screen,
                    reading,
                    state,
                    scroll,
                    card,
                    tight = !roomy,
                    wide = tall >= 1000.dp && LocalDensity.current.fontScale < 1.6f,
                    Modifier.weight(1f).widthIn(max = Reach.column).align(Alignment.CenterHorizontally),
                )
                val side = if (left) Alignment.Start else Alignment.End
                Column(Modifier.align(side).widthIn(max = 480.dp).padding(horizontal = 4.dp)) {
                    if (!roomy) staying() else if (!leavingOut) Actions(screen, reading, state, { leavingOut = true }, Modifier.padding(vertical = 4.dp))
                    Hands(screen, reading, state, leavingOut, { leavingOut = it }, false, Modifier.fillMaxWidth().padding(bottom = 4.dp), flat = !roomy)
                }
            }
        }
    }
}

/** What lies under the thumb: the number and the pad; or, while a place is left out, the reasons. */
@Composable
private fun Hands(
    screen: Screen,
    reading: ReadingScreen,
    state: WalkState,
    leavingOut: Boolean,
    onLeavingOut: (Boolean) -> Unit,
    beside: Boolean,
    modifier: Modifier,
    flat: Boolean = beside,
) {
    if (leavingOut) {
        Column(
            (if (beside) modifier else modifier.heightIn(max = 420.dp)).verticalScroll(rememberScrollState()).padding(8.dp),
            verticalArrangement = Arrangement.spacedBy(Reach.gap),
        ) {
            Heading("Why is it left out?")
            reading.skips.forEach { Press(it, state::act, Modifier.fillMaxWidth()) }
            NameIt(reading.skipWords, state)
            Press("Read it after all", { onLeavingOut(false) }, Modifier.fillMaxWidth(), tag = "read_after_all")
        }
    } else {
        Column(modifier, verticalArrangement = if (beside) Arrangement.SpaceBetween else Arrangement.Top) {
            Entry(reading, state, flat, if (beside) Modifier.weight(1f, fill = false) else Modifier)
            Keypad(reading, screen.hand, state::act, Modifier.testTag("pad").semantics { isTraversalGroup = true })
        }
    }
}

@Composable
private fun WalkBar(screen: Screen, reading: ReadingScreen, state: WalkState, title: String = screen.title) = TopBar(title, screen.back, state::act, Type.body, 0.dp) {
    screen.house?.let { up -> IconPress(up.spoken, { state.act(up.event) }, Modifier.testTag(up.id)) { house(it) } }
    IconPress(reading.theme.spoken, { state.act(reading.theme.event) }, Modifier.testTag(reading.theme.id)) { sun(it) }
    IconPress(reading.hand.spoken, { state.act(reading.hand.event) }, Modifier.testTag(reading.hand.id)) { swap(it) }
}

/** All that is read with the eyes: why, what, how, the drawing, flags, the other places. It scrolls. */
@Composable
private fun Shown(
    screen: Screen,
    reading: ReadingScreen,
    state: WalkState,
    scroll: ScrollState,
    card: BringIntoViewRequester,
    tight: Boolean,
    wide: Boolean,
    modifier: Modifier,
) {
    if (!tight) Box(Modifier.fillMaxWidth(), contentAlignment = Alignment.Center) {
        Box(Modifier.widthIn(max = Reach.column).padding(horizontal = 12.dp)) { WalkBar(screen, reading, state) }
    }
    // the next place is shown from its prompt on
    LaunchedEffect(reading.opening, reading.place) { scroll.scrollTo(0) }
    Column(
        modifier.verticalScroll(scroll).padding(horizontal = 12.dp).testTag("shown"),
        verticalArrangement = Arrangement.spacedBy(8.dp),
    ) {
        // where there is little room the prompt stands first, and where one is below it
        if (tight) WalkBar(screen, reading, state, title = "")
        NoticeLine(screen.notice, state)
        reading.ask?.let { Choose(it, state) }
        if (tight && reading.problem.isNotEmpty()) Words(reading.problem, weight = FontWeight.Bold, color = look.again)
        if (wide) {
            Prompt(reading, Modifier.fillMaxWidth())
            Draw(reading.drawing, Modifier.fillMaxWidth().height(260.dp))
        } else BoxWithConstraints {
            if (maxWidth / LocalDensity.current.fontScale < BESIDE - 60.dp) Column(verticalArrangement = Arrangement.spacedBy(8.dp)) {
                Prompt(reading, Modifier.fillMaxWidth())
                Draw(reading.drawing, Modifier.fillMaxWidth().height(150.dp))
            } else Row(horizontalArrangement = Arrangement.spacedBy(8.dp)) {
                Prompt(reading, Modifier.weight(1f))
                Draw(reading.drawing, Modifier.size(width = 132.dp, height = 150.dp))
            }
        }
        if (tight) Heading(screen.title)
        val red = red(reading)
        reading.flags.forEach { FlagLine(it, state, if (it === red) Modifier.bringIntoViewRequester(card) else Modifier, here = reading.place) }
        ProgressLine(reading.openingProgress, "needed readings")
        if (reading.before.isNotEmpty()) {
            Heading("Read here before")
            reading.before.forEach { ReadingLine(it, state, place = false) }
        }
        Places(reading.places, state)
        ProgressLine(reading.houseProgress, "openings")
        Press(reading.result, state::act)
        Spacer(Modifier.height(8.dp))
    }
}

@Composable
private fun Prompt(reading: ReadingScreen, modifier: Modifier) = Column(
    modifier.semantics(mergeDescendants = true) {
        liveRegion = LiveRegionMode.Polite
        traversalIndex = -1f
    }.testTag("prompt"),
    verticalArrangement = Arrangement.spacedBy(2.dp),
) {
    Heading(reading.prompt, size = Type.prompt)
    if (reading.because.isNotEmpty()) Words(reading.because, weight = FontWeight.Bold, color = look.decide)
    Words(reading.how, size = Type.small, color = look.quiet)
}

/** The number that is typed, its echo below it (beside it where it is to be [flat]), and the unit, which one touch changes. */
@Composable
private fun Entry(reading: ReadingScreen, state: WalkState, flat: Boolean, modifier: Modifier) = Row(
    modifier.fillMaxWidth().heightIn(min = 56.dp).padding(horizontal = 8.dp, vertical = 2.dp),
    verticalAlignment = Alignment.CenterVertically,
    horizontalArrangement = Arrangement.spacedBy(Reach.gap),
) {
    Column(
        Modifier.weight(1f).testTag("typed").clearAndSetSemantics {
            contentDescription = reading.spoken
            liveRegion = LiveRegionMode.Polite
        },
    ) {
        Box(Modifier.heightIn(max = 72.dp)) {
            KeyWords(reading.typed.ifEmpty { "–" }, Type.digits, if (reading.typed.isEmpty()) look.quiet else look.ink)
        }
        val below = reading.problem.ifEmpty { reading.echo }
        if (below.isNotEmpty() && !flat) Words(below, size = Type.small, color = if (reading.problem.isEmpty()) look.quiet else look.again)
    }
    if (flat && reading.echo.isNotEmpty()) Box(Modifier.weight(0.6f).clearAndSetSemantics {}, contentAlignment = Alignment.CenterStart) {
        KeyWords(reading.echo, Type.small, look.quiet)
    }
    val at = reading.units.indexOfFirst { it.chosen }
    val next = reading.units[(at + 1) % reading.units.size]
    val now = reading.units.getOrNull(at)
    Press(
        now?.label ?: reading.unit,
        { state.act(next.event) },
        spoken = "${now?.spoken ?: reading.unit}; change to ${next.spoken}",
        tag = "unit",
    )
}

/** What else can be done with this place, within the thumb's reach. */
@Composable
private fun Actions(screen: Screen, reading: ReadingScreen, state: WalkState, onLeaveOut: () -> Unit, modifier: Modifier) = Presses(modifier.fillMaxWidth(), right = screen.hand == Hand.RIGHT) {
    Press(reading.later, state::act)
    Press("Leave out", onLeaveOut, tag = "leave_out")
    Undoing(screen, state)
}

/** The first card that sends somebody back to the tape. */
private fun red(reading: ReadingScreen) = reading.flags.firstOrNull { it.severity == Severity.TAKE_AGAIN }

/** The place that is being read, in one line: for eyes, because the prompt has told it. */
@Composable
private fun PlaceLine(reading: ReadingScreen) =
    Box(Modifier.fillMaxWidth().height(24.dp).padding(horizontal = 8.dp).testTag("place_line").clearAndSetSemantics { testTag = "place_line" }, contentAlignment = Alignment.CenterStart) {
        KeyWords(reading.prompt, Type.small, look.ink)
    }

/** The same as [Actions] in one line that never wraps, with a way to the card that says what is to be read again. */
@Composable
private fun ShortActions(screen: Screen, reading: ReadingScreen, state: WalkState, card: BringIntoViewRequester, onLeaveOut: () -> Unit) =
    Row(Modifier.fillMaxWidth().padding(vertical = 4.dp), horizontalArrangement = Arrangement.spacedBy(Reach.gap)) {
        val go = rememberCoroutineScope()
        red(reading)?.let {
            val ink = look.again
            IconPress("show what is to be read again: ${it.says}", { go.launch { card.bringIntoView() } }, Modifier.testTag("show_card")) { mark(Shape.Triangle, ink) }
        }
        ShortPress(reading.later.label, { state.act(reading.later.event) }, Modifier.weight(1f), reading.later.spoken, reading.later.live, reading.later.id)
        ShortPress("Leave out", onLeaveOut, Modifier.weight(1f), tag = "leave_out")
        Undoing(screen, state)
    }

/** A reading that was taken: its number, when it no longer stands why, and what can be done about it. */
@Composable
fun ReadingLine(row: ReadingRow, state: WalkState, place: Boolean = true) = Card {
    Column(Modifier.clearAndSetSemantics {
        contentDescription = listOf(row.placeWords, row.figure.spoken, row.says, if (row.by.isEmpty()) "" else "by ${row.by}")
            .filter { it.isNotEmpty() }.joinToString(", ")
    }) {
        if (place) Words(row.placeWords, size = Type.small, color = look.quiet)
        Row(horizontalArrangement = Arrangement.spacedBy(10.dp), verticalAlignment = Alignment.CenterVertically) {
            Mark(if (row.stands) Shape.Tick else Shape.Ring, look.ink, size = 16.dp)
            Words(row.figure.text, size = Type.prompt, weight = FontWeight.Medium, color = if (row.stands) look.ink else look.quiet)
        }
        Words(
            listOf(row.figure.echo, row.says, row.by).filter { it.isNotEmpty() }.joinToString("; "),
            size = Type.small,
            color = look.quiet,
        )
    }
    if (row.amend.live || row.withdraw.live) Presses {
        Press(row.amend, state::act)
        Press(row.withdraw, state::act)
    }
}

/** All places: those needed, and the others behind one touch. */
@Composable
private fun Places(places: List<PlaceChip>, state: WalkState) {
    var all by rememberSaveable { mutableStateOf(false) }
    val (welcome, needed) = places.partition { it.state == PlaceState.WELCOME && !it.go.chosen }
    Heading("Places")
    Presses { (if (all) needed + welcome else needed).forEach { PlaceButton(it, state) } }
    if (welcome.isNotEmpty()) {
        Press(if (all) "Only what is needed" else "Other places", { all = !all }, tag = "other_places")
    }
}

@Composable
private fun PlaceButton(chip: PlaceChip, state: WalkState) = Row(
    Modifier
        .heightIn(min = Reach.touch)
        .background(look.key, Corner)
        .border(if (chip.go.chosen) 3.dp else look.edge, if (chip.go.chosen) look.strong else look.line, Corner)
        .clickable(role = Role.Button) { state.act(chip.go.event) }
        .clearAndSetSemantics {
            contentDescription = chip.go.spoken + if (chip.text.isEmpty()) "" else ", ${chip.text}"
            role = Role.Button
            selected = chip.go.chosen
            testTag = chip.go.id
            onClick { state.act(chip.go.event); true }
        }
        .padding(horizontal = 10.dp, vertical = 6.dp),
    verticalAlignment = Alignment.CenterVertically,
    horizontalArrangement = Arrangement.spacedBy(8.dp),
) {
    when (chip.state) {
        PlaceState.OPEN -> Mark(Shape.Ring, look.ink, size = 16.dp)
        PlaceState.BEGUN -> Mark(Shape.Dot, look.ink, size = 16.dp)
        PlaceState.READ -> Mark(Shape.Tick, look.ink, size = 16.dp)
        PlaceState.DOUBTFUL -> Mark(Shape.Triangle, look.again, size = 16.dp)
        PlaceState.SKIPPED -> Mark(Shape.Lozenge, look.quiet, size = 16.dp)
        PlaceState.WELCOME -> {}
    }
    Column {
        Words(chip.go.label, size = Type.small, weight = if (chip.go.chosen) FontWeight.Bold else FontWeight.Normal)
        if (chip.text.isNotEmpty()) Words(chip.text, size = Type.small, weight = FontWeight.Medium)
    }
}
