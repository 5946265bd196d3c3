// The small parts that every screen is put together from: words, buttons, rows, marks, flags. All names for VoiceOver are set
// here, so that no screen can leave one out.
import HangtrueState
import SwiftUI

/// Words in the palette's ink. They wrap and are never cut, and grow with the reader's type size.
struct Words: View {
    @Environment(\.look) private var look
    private let text: String
    private let font: Font
    private let weight: Font.Weight
    private let paint: KeyPath<Look, Paint>

    init(_ text: String, font: Font = .body, weight: Font.Weight = .regular, paint: KeyPath<Look, Paint> = \.ink) {
        self.text = text
        self.font = font
        self.weight = weight
        self.paint = paint
    }

    var body: some View {
        Text(verbatim: text)
            .font(font.weight(weight))
            .foregroundStyle(look[keyPath: paint].color)
            .fixedSize(horizontal: false, vertical: true)
    }
}

/// A heading that VoiceOver can jump to.
struct Heading: View {
    private let text: String
    private let font: Font

    init(_ text: String, font: Font = .headline) {
        self.text = text
        self.font = font
    }

    var body: some View {
        Words(text, font: font, weight: .bold).accessibilityAddTraits(.isHeader)
    }
}

/// A button of at least `Reach.touch`, with words of its own or out of the core.
struct Press: View {
    private let text: String
    private let spoken: String
    private let live: Bool
    private let main: Bool
    private let wide: Bool
    private let id: String
    private let keys: KeyboardShortcut?
    private let onPress: @MainActor () -> Void

    /// A button with words of its own. `spoken` is its name where the words alone are too few.
    init(
        _ text: String, spoken: String? = nil, live: Bool = true, main: Bool = false, wide: Bool = false, id: String = "",
        keys: KeyboardShortcut? = nil, onPress: @escaping @MainActor () -> Void
    ) {
        self.text = text
        self.spoken = spoken ?? text
        self.live = live
        self.main = main
        self.wide = wide
        self.id = id
        self.keys = keys
        self.onPress = onPress
    }

    /// A button out of the core: its words, its name and what it stands for all come from there.
    init(_ touch: Touch, main: Bool = false, wide: Bool = false, keys: KeyboardShortcut? = nil, act: @escaping Act) {
        self.init(touch.label, spoken: touch.spoken, live: touch.live, main: main, wide: wide, id: touch.id, keys: keys) {
            act(touch.event)
        }
    }

    var body: some View {
        Button(action: onPress) { Face(text, live: live, main: main, wide: wide) }
            .buttonStyle(.plain)
            .keyboardShortcut(keys)
            .disabled(!live)
            .opacity(live ? 1 : faint)
            .accessibilityLabel(Text(verbatim: spoken))
            .accessibilityIdentifier(id)
    }
}

/// How a button looks, whatever it does.
struct Face: View {
    @Environment(\.look) private var look
    private let text: String
    private let live: Bool
    private let main: Bool
    private let wide: Bool

    init(_ text: String, live: Bool = true, main: Bool = false, wide: Bool = false) {
        self.text = text
        self.live = live
        self.main = main
        self.wide = wide
    }

    var body: some View {
        let strong = main && live
        Text(verbatim: text)
            .font(.body.weight(.medium))
            .multilineTextAlignment(.center)
            .foregroundStyle((strong ? look.onStrong : live ? look.ink : look.quiet).color)
            .padding(.horizontal, 12)
            .padding(.vertical, 8)
            .frame(minWidth: Reach.touch, maxWidth: wide ? .infinity : nil, minHeight: Reach.touch)
            .framed(strong ? look.strong : look.key, look)
    }
}

/// What cannot be pressed now is there, and faint.
let faint = 0.45

extension View {
    /// Filled and edged as cards, keys and fields are.
    func framed(_ fill: Paint, _ look: Look, edge: Double? = nil) -> some View {
        let shape = RoundedRectangle(cornerRadius: 8)
        return background(fill.color, in: shape)
            .overlay { shape.strokeBorder(look.line.color, lineWidth: edge ?? look.edge) }
            .contentShape(shape)
    }
}

/// One of several: shown by a filled mark, not only by colour.
struct OneOf: View {
    @Environment(\.look) private var look
    private let touch: Touch
    private let act: Act

    init(_ touch: Touch, act: @escaping Act) {
        self.touch = touch
        self.act = act
    }

    var body: some View {
        let ink = touch.chosen ? look.onStrong : look.ink
        Button { act(touch.event) } label: {
            HStack(spacing: 8) {
                Circle().strokeBorder(ink.color, lineWidth: 2)
                    .overlay { Circle().inset(by: 4).fill(touch.chosen ? ink.color : .clear) }
                    .frame(width: 14, height: 14)
                Text(verbatim: touch.label).foregroundStyle(ink.color)
            }
            .padding(.horizontal, 12)
            .padding(.vertical, 8)
            .frame(minHeight: Reach.touch)
            .framed(touch.chosen ? look.strong : look.key, look)
        }
        .buttonStyle(.plain)
        .disabled(!touch.live)
        .opacity(touch.live ? 1 : faint)
        .accessibilityLabel(Text(verbatim: touch.spoken))
        .accessibilityAddTraits(touch.chosen ? .isSelected : [])
        .accessibilityIdentifier(touch.id)
    }
}

/// A line of buttons that goes on below when it is too wide.
struct Presses: Layout {
    var right = false

    func sizeThatFits(proposal: ProposedViewSize, subviews: Subviews, cache: inout ()) -> CGSize {
        flow(proposal.width ?? .infinity, subviews).size
    }

    func placeSubviews(in bounds: CGRect, proposal: ProposedViewSize, subviews: Subviews, cache: inout ()) {
        for (view, frame) in zip(subviews, flow(bounds.width, subviews).frames) {
            view.place(
                at: CGPoint(x: bounds.minX + frame.minX, y: bounds.minY + frame.minY),
                proposal: ProposedViewSize(width: frame.width, height: frame.height)
            )
        }
    }

    private func flow(_ width: Double, _ subviews: Subviews) -> Flow {
        let most = width.isFinite ? width : 10_000
        let sizes = subviews.map { $0.sizeThatFits(ProposedViewSize(width: most, height: nil)) }
        return Flow(sizes, width: most, gap: Reach.gap, right: right && width.isFinite)
    }
}

/// Things beside each other; below each other where the type is so large that they would leave each other no room.
struct Abreast<Content: View>: View {
    @Environment(\.dynamicTypeSize) private var typeSize
    var from = VerticalAlignment.center
    @ViewBuilder let content: Content

    var body: some View {
        let layout = typeSize.isAccessibilitySize
            ? AnyLayout(VStackLayout(alignment: .leading, spacing: Reach.gap))
            : AnyLayout(HStackLayout(alignment: from, spacing: Reach.gap))
        layout { content }
    }
}

/// A card on the ground.
struct Card<Content: View>: View {
    @Environment(\.look) private var look
    @ViewBuilder let content: Content

    var body: some View {
        VStack(alignment: .leading, spacing: 8) { content }
            .padding(14)
            .frame(maxWidth: .infinity, alignment: .leading)
            .framed(look.card, look)
    }
}

/// A row that leads somewhere: a name, lines below it, and what stands open at its start. One stop for VoiceOver.
struct Leads: View {
    @Environment(\.look) private var look
    let name: String
    let below: [String]
    let spoken: String
    var id = ""
    var shape: MarkShape?
    let onPress: @MainActor () -> Void

    var body: some View {
        Button(action: onPress) {
            HStack(spacing: 12) {
                if let shape { Mark(shape, shape == .triangle ? \.again : shape == .lozenge ? \.decide : \.ink) }
                VStack(alignment: .leading, spacing: 2) {
                    Words(name, weight: .medium)
                    ForEach(below, id: \.self) { Words($0, font: .subheadline, paint: \.quiet) }
                }
                Spacer(minLength: 8)
                Image(systemName: "chevron.right").foregroundStyle(look.ink.color)
            }
            .multilineTextAlignment(.leading)
            .padding(14)
            .frame(maxWidth: .infinity, minHeight: 64, alignment: .leading)
            .framed(look.card, look)
        }
        .buttonStyle(.plain)
        .accessibilityElement(children: .ignore)
        .accessibilityAddTraits(.isButton)
        .accessibilityLabel(Text(verbatim: spoken))
        .accessibilityIdentifier(id)
    }
}

/// A mark with its meaning in its shape; its words stand beside it, so it says nothing of its own.
struct Mark: View {
    @Environment(\.look) private var look
    @ScaledMetric private var scale = 1.0
    private let shape: MarkShape
    private let paint: KeyPath<Look, Paint>
    private let size: Double

    init(_ shape: MarkShape, _ paint: KeyPath<Look, Paint>, size: Double = 20) {
        self.shape = shape
        self.paint = paint
        self.size = size
    }

    var body: some View {
        let color = look[keyPath: paint].color
        Canvas { context, area in
            let (w, h) = (area.width, area.height)
            let thick = w * 0.13
            func poly(_ points: [(Double, Double)]) -> Path {
                Path { path in
                    path.addLines(points.map { CGPoint(x: $0.0 * w, y: $0.1 * h) })
                    path.closeSubpath()
                }
            }
            func ring(_ inset: Double) -> Path { Path(ellipseIn: CGRect(origin: .zero, size: area).insetBy(dx: inset, dy: inset)) }
            switch shape {
            case .ring: context.stroke(ring(thick), with: .color(color), lineWidth: thick)
            case .dot: context.fill(ring(w * 0.2), with: .color(color))
            case .lozenge: context.fill(poly([(0.5, 0), (1, 0.5), (0.5, 1), (0, 0.5)]), with: .color(color))
            case .triangle: context.fill(poly([(0.5, 0.04), (1, 0.94), (0, 0.94)]), with: .color(color))
            case .tick:
                let tick = Path { path in
                    path.addLines([CGPoint(x: 0.08 * w, y: 0.55 * h), CGPoint(x: 0.38 * w, y: 0.85 * h), CGPoint(x: 0.94 * w, y: 0.16 * h)])
                }
                context.stroke(tick, with: .color(color), lineWidth: thick * 1.3)
            }
        }
        .frame(width: size * scale, height: size * scale)
        .accessibilityHidden(true)
    }
}

/// The colour of a severity, as a path into the palette.
func paint(_ severity: Severity) -> KeyPath<Look, Paint> {
    switch severity {
    case .know: \.know
    case .decide: \.decide
    case .takeAgain: \.again
    }
}

/// How much is asked, and what: a mark, a word for it, what it says and what would settle it. One stop for VoiceOver.
struct Asked: View {
    let severity: Severity
    let asks: String
    let says: String
    var settle = ""

    var body: some View {
        HStack(alignment: .top, spacing: 10) {
            Mark(mark(severity), paint(severity))
            VStack(alignment: .leading, spacing: 2) {
                Words(capital(asks), font: .subheadline, weight: .bold, paint: paint(severity))
                Words(says)
                if !settle.isEmpty { Words(settle, font: .subheadline, paint: \.quiet) }
            }
        }
        .accessibilityElement(children: .ignore)
        .accessibilityLabel(Text(verbatim: joined([asks, says, settle])))
    }
}

/// A flag, and the way to what would settle it unless that is `here`.
struct FlagLine: View {
    let flag: FlagCard
    var here = ""
    let act: Act

    var body: some View {
        Card {
            Asked(severity: flag.severity, asks: flag.asks, says: flag.says, settle: flag.settle)
            if let go = flag.go, here.isEmpty || !go.id.hasSuffix("_\(here)") {
                Press("→ \(go.label)", spoken: go.spoken, live: go.live, id: go.id) { act(go.event) }
            }
        }
    }
}

/// Flags below each other.
struct Flags: View {
    let flags: [FlagCard]
    let act: Act

    var body: some View {
        ForEach(Array(flags.enumerated()), id: \.offset) { FlagLine(flag: $0.element, act: act) }
    }
}

/// How far something is: a bar with the same in words. Filled for what is done, hatched for what was left out.
struct ProgressLine: View {
    @Environment(\.look) private var look
    let progress: HowFar
    let what: String

    var body: some View {
        VStack(alignment: .leading, spacing: 4) {
            Words(inWords(progress, what), font: .subheadline, paint: \.quiet)
            Canvas { context, size in
                let of = max(1, Double(progress.of))
                let done = size.width * Double(progress.done) / of
                let skipped = size.width * Double(progress.skipped) / of
                context.fill(Path(CGRect(x: 0, y: 0, width: done, height: size.height)), with: .color(look.strong.color))
                for x in stride(from: done, to: done + skipped, by: 6) {
                    let hatch = Path { path in
                        path.move(to: CGPoint(x: x, y: size.height))
                        path.addLine(to: CGPoint(x: min(x + size.height, size.width), y: 0))
                    }
                    context.stroke(hatch, with: .color(look.ink.color), lineWidth: 1)
                }
            }
            .frame(height: 10)
            .border(look.line.color, width: look.edge)
            .accessibilityHidden(true)
        }
    }
}

/// A number with its name, spoken as the core says it.
struct FigureLine: View {
    let row: FigureRow

    var body: some View {
        VStack(alignment: .leading, spacing: 0) {
            Words(row.name, font: .subheadline, paint: \.quiet)
            Words(row.figure.text, font: .title3, weight: .medium)
            if !row.figure.echo.isEmpty { Words(row.figure.echo, font: .subheadline, paint: \.quiet) }
        }
        .accessibilityElement(children: .ignore)
        .accessibilityLabel(Text(verbatim: spoken(row)))
    }
}

/// One choice: its name and what there is to choose from.
struct Choose: View {
    let title: String
    let options: [Touch]
    let act: Act

    var body: some View {
        VStack(alignment: .leading, spacing: 6) {
            Words(title, font: .subheadline, paint: \.quiet)
            Presses { ForEach(options, id: \.id) { OneOf($0, act: act) } }
        }
    }
}
