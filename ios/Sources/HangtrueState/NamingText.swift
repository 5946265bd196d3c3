// Words that a person types: a name, a reason, a value of a setting. What is typed so far is kept by the core like digits
// are.
import Foundation
import HangtrueCore

/// The letters of one naming as they are typed. The core's copy follows, and rules as soon as nothing is on its way to it.
public struct NamingText: Equatable, Sendable {
    /// What stands on the line.
    public var text: String

    /// What the core was told last, or said itself.
    private var told: String

    /// Begins with what the core has.
    public init(_ naming: Naming) {
        text = naming.typed
        told = naming.typed
    }

    /// What to tell the core after letters were typed; nothing when it knows them.
    public mutating func tell(_ naming: Naming) -> Event? {
        guard text != told else { return nil }
        told = text
        return .typeWords(slot: naming.slot, text: text)
    }

    /// The core answered, and `waiting` touches are still on their way to it.
    public mutating func settle(_ naming: Naming, waiting: Int) {
        guard waiting == 0 else { return }
        text = naming.typed
        told = naming.typed
    }

    /// What giving these words means.
    public func give(_ naming: Naming) -> Event {
        .giveWords(slot: naming.slot, text: text)
    }

    /// What an offer means: one that gives what is typed was made before the last letters.
    public func give(_ offer: Touch, _ naming: Naming) -> Event {
        guard case .giveWords(let slot, let old) = offer.event, !old.isEmpty,
              old == naming.typed.trimmingCharacters(in: .whitespacesAndNewlines)
        else { return offer.event }
        return .giveWords(slot: slot, text: text)
    }

    /// True when there is something to give.
    public var canGive: Bool { !text.trimmingCharacters(in: .whitespacesAndNewlines).isEmpty }
}
