// Where the keys of the walk lie under a thumb. Which keys there are and which are live is the core's business. Digits in two
// rows of five, so that all of them fit the bottom of a small phone at full size; fractions in two rows as they lie on a
// tape; below them what takes back, what else there is, and the widest key, which accepts. Numbers are points on the glass.
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
    /// The widest that the pad becomes.
    public static let pad = 480.0
    /// A screen this wide keeps its words to a column of this width.
    public static let column = 640.0
}

/// What a key is, which says how large its words are.
public enum KeyKind: Equatable, Sendable {
    /// A digit.
    case digit
    /// A fraction, or the first two digits of a long number; it draws itself smaller than the part that can be touched.
    case quick
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

/// The keys of a reading laid on a pad of some width, from the top left; in the order in which a screen reader goes over them.
public struct Pad: Equatable, Sendable {
    /// The keys.
    public let keys: [LaidKey]
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
        for row in quickRows(reading.quick) {
            // keys of these rows touch each other, each with its whole part of the row; a short row is staggered by half a key
            let most = row.count + row.count % 2
            let each = width / Double(most)
            let from = row.count % 2 == 1 ? each / 2 : 0
            for (n, touch) in row.enumerated() {
                let frame = CGRect(x: from + Double(n) * each, y: y, width: each, height: Reach.touch)
                keys.append(LaidKey(touch: touch, kind: .quick, frame: frame))
            }
            y += Reach.touch
        }
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

/// Sixteenths lie as on a tape: those between the eighths below, staggered by half a key. Anything else is cut into two rows.
func quickRows(_ quick: [Touch]) -> [[Touch]] {
    guard !quick.isEmpty else { return [] }
    if quick.allSatisfy({ $0.label.contains("/") }) {
        let at = quick.enumerated()
        return [at.filter { $0.offset % 2 == 1 }.map(\.element), at.filter { $0.offset % 2 == 0 }.map(\.element)]
    }
    let half = quick.count / 2
    return [Array(quick.prefix(half)), Array(quick.dropFirst(half))]
}
