// What can be seen: contrast, and drawings on glass of every size.
import Foundation
import Testing

@testable import HangtrueState

@MainActor
final class LookTests: BookCase {
    /// Source: WCAG 2.2, "relative luminance" and "contrast ratio"; 7:1 is its level AAA for text, 3:1 for what is not text.
    @Test func contrastReachesWcag() async throws {
        func luminance(_ paint: Paint) -> Double {
            let parts = [paint.red, paint.green, paint.blue].map { part -> Double in
                let value = Double(part) / 255
                return value <= 0.04045 ? value / 12.92 : pow((value + 0.055) / 1.055, 2.4)
            }
            return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]
        }
        func contrast(_ a: Paint, _ b: Paint) -> Double {
            let (one, two) = (luminance(a), luminance(b))
            return (max(one, two) + 0.05) / (min(one, two) + 0.05)
        }
        // the standard's own bounds
        #expect(abs(contrast(Paint(0x000000), Paint(0xFFFFFF)) - 21) <= 0.001)
        #expect(abs(contrast(Paint(0x777777), Paint(0xFFFFFF)) - 4.48) <= 0.01)
        for look in [Look.indoors, .outdoors] {
            for behind in [look.ground, look.card, look.key] {
                for words in [look.ink, look.quiet, look.know, look.decide, look.again] {
                    #expect(contrast(words, behind) >= 7)
                }
                #expect(contrast(look.line, behind) >= 3)
                #expect(contrast(look.strong, behind) >= 7)
            }
            #expect(contrast(look.onStrong, look.strong) >= 7)
            #expect(contrast(look.ink, look.cloth) >= 7)
        }
    }

    @Test func everyMeaningHasItsOwnShape() async throws {
        let severities = [Severity.know, .decide, .takeAgain].map { mark($0) }
        #expect(severities == [.ring, .lozenge, .triangle])
        let places = [PlaceState.open, .begun, .read, .doubtful, .skipped, .welcome].map { mark($0) }
        #expect(places == [.ring, .dot, .tick, .triangle, .lozenge, nil])
    }

    /// Words of a fixed shape: what is measured on a phone differs, and the rules do not.
    private func measure(_ text: String, _ high: Double) -> CGSize {
        CGSize(width: Double(text.count) * high * 0.6, height: high * 1.2)
    }

    @Test func drawingsFitTheirGlassAndWordsDoNotLieOnEachOther() async throws {
        let state = stateIn(folder)
        try state.begin()
        var drawings = [try state.reading.drawing]
        try state.readAll()
        drawings.append(try state.result.drawing)
        for drawing in drawings {
            #expect(!drawing.spoken.isEmpty)
            for size in [CGSize(width: 132, height: 150), CGSize(width: 360, height: 300), CGSize(width: 640, height: 260)] {
                let sketch = Sketch(drawing, on: size, letters: 14, measure: measure)
                #expect(sketch.lines.count == drawing.lines.count)
                #expect(sketch.marks.count == drawing.marks.count)
                #expect(sketch.labels.map(\.text) == drawing.labels.map(\.text))
                let glass = CGRect(origin: .zero, size: size).insetBy(dx: -0.01, dy: -0.01)
                for line in sketch.lines where line.ink != .around {
                    #expect(glass.contains(line.from) && glass.contains(line.to), "\(line) on \(size)")
                }
                guard size.width > 300 else { continue }
                for (n, label) in sketch.labels.enumerated() {
                    #expect(glass.contains(label.box), "\(label) on \(size)")
                    #expect(!(sketch.labels.dropFirst(n + 1).contains { $0.box.intersects(label.box) }), "\(label) on \(size)")
                }
            }
        }
        #expect(drawings[0].lines.contains { $0.ink == .lit } == true)
    }

    @Test func aDrawingOfNothingIsTheWholeBox() async throws {
        let sketch = Sketch(Drawing(spoken: "", lines: [], labels: [PenWords(x: 500, y: 500, text: "a", ink: .edge)], marks: []),
                            on: CGSize(width: 200, height: 200), letters: 14, measure: measure)
        #expect(abs(sketch.labels[0].box.midX - 100) <= 0.001)
    }
}
