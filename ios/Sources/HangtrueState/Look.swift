// The look: two palettes, indoors and outdoors for sun on the glass. Nothing else names a colour. They are numbers here, so
// that their contrast can be tested where there is no screen.
import Foundation
import HangtrueCore

/// A colour: red, green and blue, 0 to 255 each.
public struct Paint: Equatable, Sendable {
    /// Red.
    public let red: UInt8
    /// Green.
    public let green: UInt8
    /// Blue.
    public let blue: UInt8

    /// Out of `0xRRGGBB`.
    public init(_ hex: UInt32) {
        red = UInt8(hex >> 16 & 0xFF)
        green = UInt8(hex >> 8 & 0xFF)
        blue = UInt8(hex & 0xFF)
    }
}

/// Every colour and line of one palette. Text colours reach 7:1 on `ground`, `card` and `key`; lines that carry meaning 3:1.
public struct Look: Equatable, Sendable {
    /// Behind everything.
    public let ground: Paint
    /// Behind things that stand on the ground.
    public let card: Paint
    /// Words and digits.
    public let ink: Paint
    /// Words that matter less; still 7:1.
    public let quiet: Paint
    /// Edges of cards, keys and fields.
    public let line: Paint
    /// A key that is live.
    public let key: Paint
    /// The key that accepts, what is selected, and the place that is being read.
    public let strong: Paint
    /// On `strong`.
    public let onStrong: Paint
    /// The last fraction chosen.
    public let cloth: Paint
    /// Worth knowing.
    public let know: Paint
    /// To be decided.
    public let decide: Paint
    /// To be read again.
    public let again: Paint
    /// Thickness of an edge.
    public let edge: Double

    /// Linen, ink and brass: for rooms.
    public static let indoors = Look(
        ground: Paint(0xF6F3EC), card: Paint(0xFFFFFF), ink: Paint(0x14262C), quiet: Paint(0x3D4C52), line: Paint(0x7D8686),
        key: Paint(0xFFFFFF), strong: Paint(0x17424E), onStrong: Paint(0xFFFFFF), cloth: Paint(0xE9D3A8), know: Paint(0x34484F),
        decide: Paint(0x6B4300), again: Paint(0x8A1C10), edge: 1
    )

    /// Black on white and nothing between: what can be read against the sun. Shapes tell apart what colours tell apart indoors.
    public static let outdoors = Look(
        ground: Paint(0xFFFFFF), card: Paint(0xFFFFFF), ink: Paint(0x000000), quiet: Paint(0x000000), line: Paint(0x000000),
        key: Paint(0xFFFFFF), strong: Paint(0x000000), onStrong: Paint(0xFFFFFF), cloth: Paint(0xFFE08A), know: Paint(0x000000),
        decide: Paint(0x000000), again: Paint(0x7A0000), edge: 2
    )

    /// The palette of a theme; before anything is shown, the one for rooms.
    public static func of(_ theme: Theme?) -> Look {
        theme == .outdoors ? outdoors : indoors
    }

    /// The colour of a drawing's ink.
    public func paint(_ ink: Ink) -> Paint {
        switch ink {
        case .edge, .shade: self.ink
        case .around: line
        case .read: quiet
        case .lit: strong
        case .doubt: again
        }
    }

    /// The colour of a severity; its mark and its words say the same.
    public func paint(_ severity: Severity) -> Paint {
        switch severity {
        case .know: know
        case .decide: decide
        case .takeAgain: again
        }
    }
}

/// How thick a line of a drawing is.
public func thickness(_ ink: Ink) -> Double {
    switch ink {
    case .edge, .doubt: 2.5
    case .around, .read: 1
    case .lit: 4
    case .shade: 1.5
    }
}

/// A mark that says by its shape what its words say.
public enum MarkShape: Equatable, Sendable {
    /// Open; worth knowing.
    case ring
    /// Left out; to be decided.
    case lozenge
    /// To be read again.
    case triangle
    /// Done, on the disk.
    case tick
    /// Begun.
    case dot
}

/// The mark of a severity.
public func mark(_ severity: Severity) -> MarkShape {
    switch severity {
    case .know: .ring
    case .decide: .lozenge
    case .takeAgain: .triangle
    }
}

/// The mark of a place; one that is merely welcome has none.
public func mark(_ state: PlaceState) -> MarkShape? {
    switch state {
    case .open: .ring
    case .begun: .dot
    case .read: .tick
    case .doubtful: .triangle
    case .skipped: .lozenge
    case .welcome: nil
    }
}

/// The mark of an opening in the list.
public func mark(_ opening: OpeningRow) -> MarkShape {
    // red is for what the tape has to settle: a question is none of it, nor a window that is half read
    if opening.asked != nil || opening.asks == "to read again" { return .triangle }
    if opening.asks == "to decide" { return .lozenge }
    return opening.asks.isEmpty && opening.progress.done + opening.progress.skipped >= opening.progress.of ? .tick : .ring
}
