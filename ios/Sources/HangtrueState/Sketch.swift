// Drawings out of the core: plain geometry in a box of 1000 by 1000, put where there is room for it. The core decides what is
// drawn and which place stands out; here it becomes points on the glass.
import Foundation
import HangtrueCore

/// A drawing laid on a piece of glass: what draws it only draws what is here.
public struct Sketch: Equatable, Sendable {
    /// A line.
    public struct Line: Equatable, Sendable {
        /// From here.
        public let from: CGPoint
        /// To here.
        public let to: CGPoint
        /// How it is drawn.
        public let ink: Ink
    }

    /// A hook, an arrow head, a dot.
    public struct Mark: Equatable, Sendable {
        /// Its tip or middle.
        public let tip: CGPoint
        /// Where it points, in degrees clockwise from right.
        public let turn: Double
        /// What it is.
        public let kind: MarkKind
        /// How it is drawn.
        public let ink: Ink
    }

    /// Words on the drawing.
    public struct Label: Equatable, Sendable {
        /// The words.
        public let text: String
        /// Where they lie.
        public let box: CGRect
        /// How they are drawn.
        public let ink: Ink
    }

    /// The lines, in the order in which they are drawn.
    public let lines: [Line]
    /// The marks.
    public let marks: [Mark]
    /// The words.
    public let labels: [Label]
    /// How high the words are.
    public let letters: Double

    /// Around what matters there is this much of the box to see: trim and sill, not always the floor.
    private static let margin = 110.0
    private static let box = 1000.0

    /// Lays `drawing` on glass of `size`. `letters` is how high words would like to be, and `measure` how large a text of some
    /// height is.
    public init(_ drawing: Drawing, on size: CGSize, letters wanted: Double, measure: (String, Double) -> CGSize) {
        let part = Self.matters(drawing)
        let scale = min(size.width / part.width, size.height / part.height)
        func point(_ x: Int32, _ y: Int32) -> CGPoint {
            CGPoint(x: size.width / 2 + (Double(x) - part.midX) * scale, y: size.height / 2 + (Double(y) - part.midY) * scale)
        }
        lines = drawing.lines.map { Line(from: point($0.x1, $0.y1), to: point($0.x2, $0.y2), ink: $0.ink) }
        marks = drawing.marks.map { Mark(tip: point($0.x, $0.y), turn: Double($0.turn), kind: $0.kind, ink: $0.ink) }
        // words grow with the reader's type size, but not so far that they hide the drawing
        letters = min(wanted, max(10, Self.box * scale * 0.06))
        var taken: [CGRect] = []
        for label in drawing.labels {
            // written where nothing is written yet: words that would lie on each other are moved along
            let words = measure(label.text, letters)
            let middle = point(label.x, label.y)
            let wide = CGSize(width: words.width + 6, height: words.height)
            var box = CGRect(
                x: min(max(middle.x - wide.width / 2, 0), max(0, size.width - wide.width)),
                y: min(max(middle.y - wide.height / 2, 0), max(0, size.height - wide.height)),
                width: wide.width,
                height: wide.height
            )
            while taken.contains(where: { $0.intersects(box) }), box.maxY + 1 <= size.height { box.origin.y += 1 }
            taken.append(box)
        }
        labels = zip(drawing.labels, taken).map { Label(text: $0.text, box: $1, ink: $0.ink) }
    }

    /// The part of the box that matters: all but what merely stands around, with some margin.
    private static func matters(_ drawing: Drawing) -> CGRect {
        let lines = drawing.lines.filter { $0.ink != .around }
        guard let left = lines.map({ min($0.x1, $0.x2) }).min(), let right = lines.map({ max($0.x1, $0.x2) }).max(),
              let top = lines.map({ min($0.y1, $0.y2) }).min(), let foot = lines.map({ max($0.y1, $0.y2) }).max()
        else { return CGRect(x: 0, y: 0, width: box, height: box) }
        return CGRect(x: Double(left), y: Double(top), width: Double(right - left), height: Double(foot - top))
            .insetBy(dx: -margin, dy: -margin)
    }
}
