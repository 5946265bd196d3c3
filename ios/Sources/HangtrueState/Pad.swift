// Where the keys of the walk lie under a thumb. Which keys there are and which are live is the core's business. Digits in two
// rows of five, so that all of them fit the bottom of a small phone at full size; fractions as an inch of tape, each key at its
// own line; below them what takes back, what else there is, and the widest key, which accepts. Numbers are points on the glass.
import Foundation
import HangtrueCore

/// The least measures of what can be touched, and of the space between.
public enum Reach {
    /// The least height of a digit key, and its least width where the glass is wide enough for five of them.
    public static let digit = 64.0
    /// The space between two keys.
    public static let gap = 8.0
    /// The least width and height of anything else that can be touched (Apple's Human Interface Guidelines: 44 points).
    public static let touch = 44.0
    /// The height of the tape between its two rows of keys, and of such a key with its half of the tape.
    public static let tape = 14.0
    public static let tapeKey = 48.0
    /// The widest that the pad becomes.
    public static let pad = 480.0
    /// A screen this wide keeps its words to a column of this width.
    public static let column = 640.0
    /// A screen this wide has room for two such columns, if the type is not among the largest.
    public static let two = 900.0
}

/// What a key is, which says how large its words are.
public enum KeyKind: Equatable, Sendable {
    /// A digit.
    case digit
    /// The first two digits of a long number; it draws itself smaller than the part that can be touched.
    case quick
    /// A fraction above the tape or below it, which is drawn over the key's inner edge.
    case above, below
    /// Erase, feet, point, sign.
    case edit
    /// The key that keeps the number.
    case accept
}

/// One key where it lies.
public struct LaidKey: Equatable, Sendable {
    /// What it is.
    public let touch: Touch
    /// Which kind.
    public let kind: KeyKind
    /// The part of the pad that can be touched.
    public let frame: CGRect
}

/// A line of the tape, from its middle up to the keys above or down to those below.
public struct TapeLine: Equatable, Sendable {
    /// Where it stands, from the left of the pad.
    public let x: Double
    /// How thick it is: whole and half inches are the thickest, as on a tape.
    public let thick: Double
    /// True for a line that a key above it stands for.
    public let up: Bool
}

/// An inch of tape between its keys.
public struct Tape: Equatable, Sendable {
    /// Where it lies on the pad.
    public let frame: CGRect
    /// Its lines, from nought to a whole inch.
    public let lines: [TapeLine]
    /// How far it is filled: to the line of the fraction that was chosen.
    public let filled: Double
}

/// The keys of a reading laid on a pad of some width, from the top left; in the order in which a screen reader goes over them.
public struct Pad: Equatable, Sendable {
    /// The keys.
    public let keys: [LaidKey]
    /// The tape between the fractions, where the pad has them.
    public let tape: Tape?
    /// The size of the pad.
    public let size: CGSize

    /// Lays the keys of `reading` for a thumb of `hand` on a pad as wide as there is room, but not wider than `Reach.pad`.
    public init(_ reading: ReadingScreen, _ hand: Hand, room: Double) {
        let width = min(max(room, 0), Reach.pad)
        var keys: [LaidKey] = []
        var y = 0.0
        let digitWidth = (width - 4 * Reach.gap) / 5
        for (n, touch) in reading.digits.enumerated() {
            let (row, column) = (Double(n / 5), Double(n % 5))
            let frame = CGRect(x: column * (digitWidth + Reach.gap), y: row * (Reach.digit + Reach.gap), width: digitWidth, height: Reach.digit)
            keys.append(LaidKey(touch: touch, kind: .digit, frame: frame))
        }
        y = 2 * Reach.digit + Reach.gap + Reach.gap / 2
        let isTape = isTape(reading.quick)
        let high = isTape ? Reach.tapeKey : Reach.touch
        for (line, row) in quickRows(reading.quick).enumerated() {
            // keys of these rows touch each other, each with its whole part of the row; a short row is staggered by half a key
            let most = row.count + row.count % 2
            let each = width / Double(most)
            let from = row.count % 2 == 1 ? each / 2 : 0
            for (n, touch) in row.enumerated() {
                let frame = CGRect(x: from + Double(n) * each, y: y, width: each, height: high)
                keys.append(LaidKey(touch: touch, kind: isTape ? (line == 0 ? .above : .below) : .quick, frame: frame))
            }
            y += high
        }
        tape = isTape ? Tape(reading.quick, under: y - high, width: width) : nil
        y += Reach.gap / 2
        let accept = width - Double(reading.edit.count) * (Reach.digit + Reach.gap)
        // the thumb's own side is the easiest: there the accepting key ends
        let edits = hand == .left ? reading.edit.reversed() : reading.edit
        var x = hand == .left ? accept + Reach.gap : 0
        for touch in edits {
            keys.append(LaidKey(touch: touch, kind: .edit, frame: CGRect(x: x, y: y, width: Reach.digit, height: Reach.touch)))
            x += Reach.digit + Reach.gap
        }
        let from = hand == .left ? 0 : width - accept
        keys.append(LaidKey(touch: reading.accept, kind: .accept, frame: CGRect(x: from, y: y, width: accept, height: Reach.touch)))
        self.keys = keys
        size = CGSize(width: width, height: y + Reach.touch)
    }
}

extension Tape {
    /// The tape of the parts of an inch that `quick` stands for, around the height `middle`.
    init(_ quick: [Touch], under middle: Double, width: Double) {
        let parts = quick.count + 1
        frame = CGRect(x: 0, y: middle - Reach.tape / 2, width: width, height: Reach.tape)
        lines = (0...parts).map { n in
            let thick = n * 2 % parts == 0 ? 2.5 : n * 4 % parts == 0 ? 2 : 1.25
            return TapeLine(x: width * Double(n) / Double(parts), thick: thick, up: n % 2 == 1)
        }
        filled = width * Double((quick.firstIndex(where: \.chosen) ?? -1) + 1) / Double(parts)
    }
}

/// True for the keys of an inch: each stands for a part of it.
func isTape(_ quick: [Touch]) -> Bool { !quick.isEmpty && quick.allSatisfy { $0.label.contains("/") } }

/// An inch has its finest parts above and those between them below, staggered by half a key. Anything else is cut into two rows.
func quickRows(_ quick: [Touch]) -> [[Touch]] {
    guard !quick.isEmpty else { return [] }
    if isTape(quick) {
        let at = quick.enumerated()
        return [at.filter { $0.offset % 2 == 0 }.map(\.element), at.filter { $0.offset % 2 == 1 }.map(\.element)]
    }
    let half = quick.count / 2
    return [Array(quick.prefix(half)), Array(quick.dropFirst(half))]
}
