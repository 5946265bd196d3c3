// A keyboard with real keys, where one is attached: digits, Enter to keep, Backspace to erase, and fractions as they are
// written: space, 3, /, 8.
package hangtrue.screens

import androidx.compose.ui.input.key.Key
import androidx.compose.ui.input.key.KeyEvent
import androidx.compose.ui.input.key.KeyEventType
import androidx.compose.ui.input.key.key
import androidx.compose.ui.input.key.type
import androidx.compose.ui.input.key.utf16CodePoint
import hangtrue.core.Touch
import hangtrue.core.ReadingScreen

/** Turns key presses into the buttons of the pad. A fraction that is not yet whole is the only thing it remembers. */
class HardKeys {
    private var fraction: String? = null

    /** Presses the button that the key stands for; false when it stands for none. */
    fun press(event: KeyEvent, screen: ReadingScreen, act: Act): Boolean {
        if (event.type != KeyEventType.KeyDown) return false
        val button = when (event.key) {
            Key.Enter, Key.NumPadEnter -> screen.accept
            Key.Backspace, Key.Delete -> {
                // a fraction that is begun is all that is taken off
                if (fraction != null) {
                    fraction = null
                    return true
                }
                screen.edit.named("erase")
            }
            else -> written(letter(event), screen) ?: return fraction != null
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
