// Drawings out of the core. Where everything lies is `Sketch`'s business; here inks become thickness, dashes and colour.
import HangtrueState
import SwiftUI

/// A drawing, as large as the smaller side allows.
struct DrawingView: View {
    @Environment(\.look) private var look
    @ScaledMetric(relativeTo: .subheadline) private var letters = 14.0
    let drawing: Drawing

    var body: some View {
        Canvas { context, size in
            let sketch = Sketch(drawing, on: size, letters: letters) { text, height in
                context.resolve(words(text, height, look.ink)).measure(in: CGSize(width: 1000, height: 1000))
            }
            for line in sketch.lines {
                let path = Path { path in
                    path.move(to: line.from)
                    path.addLine(to: line.to)
                }
                let style = StrokeStyle(lineWidth: thickness(line.ink), dash: line.ink == .doubt ? [6, 4] : [])
                context.stroke(path, with: .color(look.paint(line.ink).color), style: style)
            }
            for mark in sketch.marks { draw(mark, in: context) }
            for label in sketch.labels {
                let lit = label.ink == .lit
                context.fill(Path(roundedRect: label.box, cornerRadius: 3), with: .color((lit ? look.strong : look.ground).color))
                context.draw(
                    words(label.text, sketch.letters, lit ? look.onStrong : look.paint(label.ink)),
                    at: CGPoint(x: label.box.midX, y: label.box.midY)
                )
            }
        }
        .clipped()
        .accessibilityElement()
        .accessibilityAddTraits(.isImage)
        .accessibilityLabel(Text(verbatim: drawing.spoken))
    }

    private func words(_ text: String, _ height: Double, _ paint: Paint) -> Text {
        Text(verbatim: text).font(.system(size: height, weight: .bold)).foregroundStyle(paint.color)
    }

    private func draw(_ mark: Sketch.Mark, in context: GraphicsContext) {
        var turned = context
        turned.translateBy(x: mark.tip.x, y: mark.tip.y)
        turned.rotate(by: .degrees(mark.turn))
        let color = GraphicsContext.Shading.color(look.paint(mark.ink).color)
        let size = 11.0
        switch mark.kind {
        case .hook:
            // the hook of a tape: a bar across its end
            turned.fill(Path(CGRect(x: -2, y: -size * 0.7, width: 4, height: size * 1.4)), with: color)
        case .arrow:
            let head = Path { path in
                path.addLines([CGPoint.zero, CGPoint(x: -size, y: -size * 0.55), CGPoint(x: -size, y: size * 0.55)])
                path.closeSubpath()
            }
            turned.fill(head, with: color)
        case .dot: turned.fill(Path(ellipseIn: CGRect(x: -4, y: -4, width: 8, height: 8)), with: color)
        }
    }
}
