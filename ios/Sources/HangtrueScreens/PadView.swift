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
        }
        .frame(width: pad.size.width, height: pad.size.height, alignment: .topLeading)
        .accessibilityElement(children: .contain)
        .accessibilityIdentifier("pad")
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
                .padding(3)
                .frame(maxWidth: .infinity, maxHeight: .infinity)
                // the last fraction chosen stays marked, by its edge as well as its filling
                .framed(filled ? look.strong : touch.chosen ? look.cloth : look.key, look, edge: touch.chosen ? 3 : nil)
                .padding(key.kind == .quick ? 2 : 0)
                .contentShape(Rectangle())
        }
        .buttonStyle(.plain)
        .disabled(!touch.live)
        .opacity(touch.live ? 1 : faint)
        .accessibilityLabel(Text(verbatim: touch.spoken))
        .accessibilityAddTraits(touch.chosen ? .isSelected : [])
        .accessibilityIdentifier(touch.id)
    }

    /// As large as the reader's type size wants and the key has room for; a fraction as a tape's reader writes it.
    @ViewBuilder
    private func words(_ ink: Paint) -> some View {
        let parts = key.touch.label.split(separator: "/").map(String.init)
        if key.kind == .quick, parts.count == 2 {
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
        case .quick: .callout
        case .edit, .accept: text.count == 1 ? .title : .body
        }
        return Text(verbatim: text)
            .font(font.weight(.medium))
            .foregroundStyle(ink.color)
            .lineLimit(1)
            .minimumScaleFactor(0.3)
    }
}
