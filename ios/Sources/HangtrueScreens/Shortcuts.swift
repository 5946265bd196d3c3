// What a keyboard's command key does, wherever the button that it stands for is shown; while the key is held down the system
// lists them by the buttons' names. What digits do on a reading is `HardKeys`' business.
import SwiftUI

extension KeyboardShortcut {
    /// The way back.
    static let back = KeyboardShortcut("[")
    /// Up to the house.
    static let up = KeyboardShortcut(.upArrow)
    /// The page's main button.
    static let onward = KeyboardShortcut(.return)
    /// Take back what was done last, and do it again.
    static let undo = KeyboardShortcut("z")
    static let redo = KeyboardShortcut("z", modifiers: [.command, .shift])
    /// Begin a house, find one.
    static let begin = KeyboardShortcut("n")
    static let find = KeyboardShortcut("f")
    /// The sheets of a house, where they are printed.
    static let sheets = KeyboardShortcut("p")
    /// The settings.
    static let settings = KeyboardShortcut(",")
}
