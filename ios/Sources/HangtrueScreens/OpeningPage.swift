// What an opening's readings say: the drawing, the flags, the ways to mount it side by side, and what is to be chosen.
import HangtrueState
import SwiftUI

/// An opening's result.
struct OpeningPage: View {
    @EnvironmentObject private var watched: Watched
    @Environment(\.dynamicTypeSize) private var typeSize
    let screen: Screen
    let opening: OpeningScreen
    let outside: any Outside

    var body: some View {
        let act: Act = { watched.state.act($0) }
        Page(screen) {
            Press(opening.measure, main: opening.next == nil, wide: true, keys: opening.next == nil ? .onward : nil, act: act)
            if let next = opening.next { Press(next, main: true, wide: true, keys: .onward, act: act) }
        } content: {
            Words(opening.says, font: .title3, weight: .medium)
            ProgressLine(progress: opening.progress, what: "needed readings")
            ForEach(opening.asks, id: \.id) { AskLine(ask: $0, act: act) }
            DrawingView(drawing: opening.drawing).frame(height: 300)
            Flags(flags: opening.flags, act: act)
            if !opening.advice.isEmpty { Words(opening.advice, weight: .medium) }
            ways(act)
            if !opening.shade.isEmpty {
                Card {
                    Heading("The shade", font: .title3)
                    ForEach(opening.shade, id: \.name) { FigureLine(row: $0) }
                }
            }
        } beside: {
            choices(act)
            readings(act)
        }
    }

    /// The ways side by side, as far as the type is small enough for columns and they fit; otherwise below each other.
    @ViewBuilder
    private func ways(_ act: @escaping Act) -> some View {
        let cards = ForEach(opening.ways, id: \.title) { WayCard(way: $0, act: act) }
        if typeSize.isAccessibilitySize {
            VStack(spacing: Reach.gap) { cards }
        } else {
            ViewThatFits(in: .horizontal) {
                HStack(alignment: .top, spacing: Reach.gap) { cards.frame(minWidth: 168) }
                VStack(spacing: Reach.gap) { cards }
            }
        }
    }

    @ViewBuilder
    private func choices(_ act: @escaping Act) -> some View {
        Heading("Choices", font: .title3).padding(.top, 8)
        ForEach(opening.choices, id: \.field) { Choose(title: $0.title, options: $0.options, act: act) }
        ForEach(opening.lengths, id: \.slot) { Foldaway($0.prompt, $0) }
        Press("Add a photo", spoken: "add a photo of the opening", id: "photo") {
            outside.takePhoto(on: opening.id, caption: screen.title)
        }
        Foldaway(opening.note.prompt, opening.note)
        ForEach(Array(opening.notes.enumerated()), id: \.offset) { Words($0.element) }
    }

    @ViewBuilder
    private func readings(_ act: @escaping Act) -> some View {
        if !opening.readings.isEmpty { Heading("Readings", font: .title3).padding(.top, 8) }
        ForEach(opening.readings, id: \.id) { ReadingLine(row: $0, act: act) }
        ForEach(opening.skipped, id: \.self) { skipped in
            HStack(spacing: 10) {
                Mark(.lozenge, \.quiet, size: 16)
                Words(skipped)
            }
        }
    }
}

private struct AskLine: View {
    let ask: AskRow
    let act: Act

    var body: some View {
        Card {
            HStack(alignment: .top, spacing: 10) {
                Mark(.triangle, \.again)
                Words(ask.says)
            }
            Presses {
                Press(ask.answer, main: true, act: act)
                Press(ask.close, act: act)
            }
        }
    }
}

private struct WayCard: View {
    let way: Way
    let act: Act

    var body: some View {
        Card {
            Heading(way.title, font: .title3)
            if way.advised {
                HStack(spacing: 8) {
                    Mark(.tick, \.ink, size: 16)
                    Words("Advised", weight: .bold)
                }
            }
            Words(way.says, font: .subheadline, paint: \.quiet)
            ForEach(way.rows, id: \.name) { FigureLine(row: $0) }
            ForEach(Array(way.flags.enumerated()), id: \.offset) { _, flag in
                Asked(severity: flag.severity, asks: flag.asks, says: flag.says, settle: flag.settle)
            }
            if !way.missing.isEmpty {
                Words("Wants to be read", font: .subheadline, paint: \.quiet)
                ForEach(way.missing, id: \.id) { Press($0, act: act) }
            }
            OneOf(way.choose, act: act)
        }
    }
}
