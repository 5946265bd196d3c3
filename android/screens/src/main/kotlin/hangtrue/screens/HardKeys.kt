// A keyboard with real keys, where one is attached: digits, Enter to keep, Backspace to erase, and fractions as they are
// written: space, 3, /, 8. A laser or a tape that types is such a keyboard: its number with its unit is one reading.
package hangtrue.screens

import androidx.compose.ui.input.key.Key
import androidx.compose.ui.input.key.KeyEvent
import androidx.compose.ui.input.key.KeyEventType
import androidx.compose.ui.input.key.key
import androidx.compose.ui.input.key.type
import androidx.compose.ui.input.key.utf16CodePoint
import hangtrue.core.Event
import hangtrue.core.PadKey
import hangtrue.core.ReadingScreen
import hangtrue.core.Touch

private const val PAUSE = 3_000_000_000L

/** Turns key presses into the buttons of the pad. It remembers a fraction that is not yet whole, and what was typed since the last Enter. */
class HardKeys {
    private var fraction: String? = null
    private var line = ""
    private var last = 0L

    /** Another place is read: nothing is begun there. */
    fun begin() {
        fraction = null
        line = ""
    }

    /** Presses the button that the key stands for; false when it stands for none. */
    fun press(event: KeyEvent, screen: ReadingScreen, act: Act): Boolean {
        if (event.type != KeyEventType.KeyDown) return false
        // what was typed long before is no part of what a device types now
        val now = System.nanoTime()
        if (now - last > PAUSE) line = ""
        last = now
        val button = when (event.key) {
            Key.Enter, Key.NumPadEnter -> {
                val typed = line
                line = ""
                // the pad has no unit within a number: what a device wrote with one is given as it was written
                if (typed.any { it.isDigit() } && typed.any { it.isLetter() || it == '"' }) {
                    fraction = null
                    act(Event.GiveWords("reading", typed))
                    return true
                }
                screen.accept
            }
            Key.Backspace, Key.Delete -> {
                line = line.dropLast(1)
                // a fraction that is begun is all that is taken off
                if (fraction != null) {
                    fraction = null
                    return true
                }
                screen.edit.named("erase")
            }
            else -> {
                val letter = letter(event)
                if (letter.isDigit() || (line.isNotEmpty() && !letter.isISOControl())) line += letter
                // an inch pad has no key for the point, and 34.375 must not become 34375
                if ((letter == '.' || letter == ',') && screen.edit.named("point") == null) {
                    act(Event.Press(PadKey.Point))
                    return true
                }
                written(letter, screen) ?: return fraction != null || line.isNotEmpty()
            }
        }
        fraction = null
        if (button == null) return false
        if (button.live) act(button.event)
        return true
    }

    // by the key where it says enough: not every keyboard gives a character with the press
    private fun letter(event: KeyEvent): Char = when (event.key) {
        Key.Spacebar -> ' '
        Key.Slash, Key.NumPadDivide -> '/'
        Key.Period, Key.NumPadDot -> '.'
        Key.Minus, Key.NumPadSubtract -> '-'
        Key.Apostrophe -> '\''
        else -> event.utf16CodePoint.toChar()
    }

    private fun written(letter: Char, screen: ReadingScreen): Touch? {
        val begun = fraction
        return when {
            letter == ' ' -> null.also { fraction = "" }
            begun != null && (letter.isDigit() || letter == '/') -> {
                val text = begun + letter
                // no fraction's writing is the beginning of another's: 1/16 is not whole at 1/1
                screen.quick.find { it.label == text } ?: null.also { fraction = text }
            }
            letter.isDigit() -> screen.digits.named("digit_$letter")
            letter == '.' || letter == ',' -> screen.edit.named("point")
            letter == '\'' -> screen.edit.named("feet")
            letter == '-' || letter == '+' -> screen.edit.named("sign")
            else -> null
        }
    }

    private fun List<Touch>.named(id: String) = find { it.id == id }
}
