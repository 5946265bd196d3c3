// The keypad of the walk. Where the keys lie is `Pad`'s business, and which are live the core's.
import HangtrueState
import SwiftUI

/// The keypad, leaning to the thumb of the hand that holds the device.
struct PadView: View {
    let pad: Pad
    let act: Act

    var body: some View {
        ZStack(alignment: .topLeading) {
            ForEach(pad.keys, id: \.touch.id) { key in
                KeyView(key: key, act: act)
                    .frame(width: key.frame.width, height: key.frame.height)
                    .offset(x: key.frame.minX, y: key.frame.minY)
            }
            if let tape = pad.tape { TapeView(tape: tape) }
        }
        .frame(width: pad.size.width, height: pad.size.height, alignment: .topLeading)
        // digits and a tape run from the left whatever words do
        .environment(\.layoutDirection, .leftToRight)
        .accessibilityElement(children: .contain)
        .accessibilityIdentifier("pad")
    }
}

/// The tape between its keys: a touch on a line is a touch on its key.
private struct TapeView: View {
    @Environment(\.look) private var look
    let tape: Tape

    var body: some View {
        let high = tape.frame.height
        ZStack(alignment: .topLeading) {
            if tape.filled > 0 { bar(look.strong, tape.filled, 5, x: 0, y: high / 2 - 2.5) }
            bar(look.ink, tape.frame.width, 1.5, x: 0, y: high / 2 - 0.75)
            ForEach(tape.lines, id: \.x) { line in
                let x = min(max(line.x - line.thick / 2, 0), tape.frame.width - line.thick)
                bar(look.ink, line.thick, high / 2, x: x, y: line.up ? 0 : high / 2)
            }
        }
        .frame(width: tape.frame.width, height: high, alignment: .topLeading)
        .offset(x: tape.frame.minX, y: tape.frame.minY)
        .allowsHitTesting(false)
        .accessibilityHidden(true)
    }

    private func bar(_ ink: Paint, _ wide: Double, _ high: Double, x: Double, y: Double) -> some View {
        ink.color.frame(width: wide, height: high).offset(x: x, y: y)
    }
}

private struct KeyView: View {
    @Environment(\.look) private var look
    let key: LaidKey
    let act: Act

    var body: some View {
        let touch = key.touch
        let filled = key.kind == .accept && touch.live
        Button { act(touch.event) } label: {
            words(filled ? look.onStrong : touch.live ? look.ink : look.quiet)
                .padding(.horizontal, 3)
                .padding(.vertical, 2)
                .frame(maxWidth: .infinity, maxHeight: .infinity)
                // the last fraction chosen stays marked, by its edge as well as its filling
                .framed(filled ? look.strong : touch.chosen ? look.cloth : look.key, look, edge: touch.chosen ? 3 : nil)
                .padding(.horizontal, isQuick ? 2 : 0)
                .padding(.top, key.kind == .below ? Reach.tape / 2 : isQuick ? 2 : 0)
                .padding(.bottom, key.kind == .above ? Reach.tape / 2 : isQuick ? 2 : 0)
                .contentShape(Rectangle())
        }
        .buttonStyle(.plain)
        .disabled(!touch.live)
        .opacity(touch.live ? 1 : faint)
        .accessibilityLabel(Text(verbatim: touch.spoken))
        .accessibilityAddTraits(touch.chosen ? .isSelected : [])
        .accessibilityIdentifier(touch.id)
    }

    private var isQuick: Bool { key.kind == .quick || key.kind == .above || key.kind == .below }

    /// As large as the reader's type size wants and the key has room for; a fraction as a tape's reader writes it.
    @ViewBuilder
    private func words(_ ink: Paint) -> some View {
        let parts = key.touch.label.split(separator: "/").map(String.init)
        if isQuick, parts.count == 2 {
            VStack(spacing: 0) {
                fitted(parts[0], ink)
                ink.color.frame(width: 20, height: 2)
                fitted(parts[1], ink)
            }
        } else {
            fitted(key.touch.label, ink)
        }
    }

    private func fitted(_ text: String, _ ink: Paint) -> some View {
        let font: Font = switch key.kind {
        case .digit: .title
        case .quick, .above, .below: .callout
        case .edit, .accept: text.count == 1 ? .title : .body
        }
        return Text(verbatim: text)
            .font(font.weight(.medium))
            .foregroundStyle(ink.color)
            .lineLimit(1)
            .minimumScaleFactor(0.3)
    }
}
