// A keyboard with real keys, where one is attached: digits, return to keep, delete to erase, and fractions as they are
// written: space, 3, /, 8. A laser or a tape that types is such a keyboard: its number with its unit is one reading.
import Foundation
import HangtrueCore

/// Turns what a keyboard types into the touches of the pad. It remembers a fraction that is not yet whole,
/// and what was typed since the last return.
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
        /// It is to be done, though the pad has no key for it.
        case event(Event)
        /// It is part of something, or what it stands for would do nothing now.
        case taken
        /// It is not for the pad.
        case none
    }

    private var fraction: String?
    private var line = ""
    private var last = 0.0

    /// What was typed longer ago than this is no part of what a device types now, in seconds.
    private static let pause = 3.0

    /// Nothing begun.
    public init() {}

    /// Another place is read: nothing is begun there.
    public mutating func begin() {
        fraction = nil
        line = ""
    }

    /// What the key stands for on this screen.
    public mutating func press(_ key: Key, _ screen: ReadingScreen, at now: Double = ProcessInfo.processInfo.systemUptime) -> Answer {
        if now - last > Self.pause { line = "" }
        last = now
        if case .character(let letter) = key, letter.isNumber || !line.isEmpty { line.append(letter) }
        switch key {
        case .accept:
            let typed = line
            begin()
            // the pad has no unit within a number: what a device wrote with one is given as it was written
            if typed.contains(where: \.isNumber), typed.contains(where: { $0.isLetter || $0 == "\"" }) {
                return .event(.giveWords(slot: "reading", text: typed))
            }
            return live(screen.accept)
        case .erase:
            line = String(line.dropLast())
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
            // an inch pad has no key for the point, and 34.375 must not become 34375
            if touch == nil, letter == "." || letter == "," { return .event(.press(key: .point)) }
            if touch == nil, !line.isEmpty { return .taken }
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
