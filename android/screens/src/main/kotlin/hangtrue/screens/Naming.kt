// Words that a person types: a name, a reason, a value of a setting. What is typed so far is kept by the core like digits are.
package hangtrue.screens

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.runtime.Composable
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import hangtrue.core.Event
import hangtrue.core.Naming

/** A line to write on, the touch that gives what is written, and names that one touch gives. */
@Composable
fun NameIt(naming: Naming, state: WalkState, modifier: Modifier = Modifier, keep: Boolean = true, onGiven: () -> Unit = {}) {
    // the letters are shown as they are typed; the core's copy follows, and rules as soon as nothing is on its way to it
    var text by remember(naming.slot) { mutableStateOf(naming.typed) }
    LaunchedEffect(naming.typed, state.waiting) { if (state.waiting == 0) text = naming.typed }
    val give = { event: Event ->
        // an offer that gives what is typed was made before the last letters
        val typed = event is Event.GiveWords && event.text.isNotEmpty() && event.text == naming.typed.trim()
        state.act(if (typed) event.copy(text = text) else event)
        onGiven()
    }
    val giveTyped = { give(Event.GiveWords(naming.slot, text)) }
    Column(modifier, verticalArrangement = Arrangement.spacedBy(Reach.gap)) {
        WriteLine(
            naming.prompt,
            text,
            {
                text = it
                state.act(Event.TypeWords(naming.slot, it))
            },
            onDone = giveTyped,
        )
        Presses {
            if (keep) Press(naming.give.label, giveTyped, spoken = naming.give.spoken, live = text.isNotBlank(), pull = Pull.Main, tag = naming.give.id)
            naming.offers.forEach { Press(it, give, pull = if (keep) Pull.Plain else Pull.Main) }
        }
    }
}
