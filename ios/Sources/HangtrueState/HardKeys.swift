// A keyboard with real keys, where one is attached: digits, return to keep, delete to erase, and fractions as they are
// written: space, 3, /, 8.
import Foundation
import HangtrueCore

/// Turns what a keyboard types into the touches of the pad. A fraction that is not yet whole is the only thing it remembers.
public struct HardKeys {
    /// What a keyboard typed.
    public enum Key: Equatable, Sendable {
        /// A character.
        case character(Character)
        /// Return or enter.
        case accept
        /// Backspace or delete.
        case erase
    }

    /// What became of a key.
    public enum Answer: Equatable {
        /// It stands for this touch.
        case touch(Touch)
        /// It is part of something, or what it stands for would do nothing now.
        case taken
        /// It is not for the pad.
        case none
    }

    private var fraction: String?

    /// Nothing begun.
    public init() {}

    /// What the key stands for on this screen.
    public mutating func press(_ key: Key, _ screen: ReadingScreen) -> Answer {
        switch key {
        case .accept:
            fraction = nil
            return live(screen.accept)
        case .erase:
            // a fraction that is begun is all that is taken off
            if fraction != nil {
                fraction = nil
                return .taken
            }
            return live(named("erase", screen.edit))
        case .character(" "):
            fraction = ""
            return .taken
        case .character(let letter):
            if let begun = fraction, letter.isNumber || letter == "/" {
                let text = begun + String(letter)
                // no fraction's writing is the beginning of another's: 1/16 is not whole at 1/1
                guard let whole = screen.quick.first(where: { $0.label == text }) else {
                    fraction = text
                    return .taken
                }
                fraction = nil
                return live(whole)
            }
            let touch = written(letter, screen)
            if touch != nil { fraction = nil }
            return live(touch)
        }
    }

    private func written(_ letter: Character, _ screen: ReadingScreen) -> Touch? {
        switch letter {
        case "0"..."9": named("digit_\(letter)", screen.digits)
        case ".", ",": named("point", screen.edit)
        case "'": named("feet", screen.edit)
        case "-", "+": named("sign", screen.edit)
        default: nil
        }
    }

    private func named(_ id: String, _ touches: [Touch]) -> Touch? {
        touches.first { $0.id == id }
    }

    private func live(_ touch: Touch?) -> Answer {
        guard let touch else { return .none }
        return touch.live ? .touch(touch) : .taken
    }
}
