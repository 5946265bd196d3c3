// The walk at one place: what to read above, the number and the pad under the thumb.
import HangtrueState
import SwiftUI

/// One reading.
struct WalkPage: View {
    @EnvironmentObject private var watched: Watched
    @Environment(\.dynamicTypeSize) private var typeSize
    @Environment(\.verticalSizeClass) private var high
    @FocusState private var keyboard: Bool
    @State private var keys = HardKeys()
    @State private var leavingOut = false
    let screen: Screen
    let reading: ReadingScreen

    private var here: String { "\(reading.opening)/\(reading.place)" }
    private var left: Bool { screen.hand == .left }

    var body: some View {
        GeometryReader { glass in
            let beside = glass.size.width > glass.size.height && glass.size.width >= 560
            if beside {
                let wide = glass.size.width >= 1000 ? 460.0 : 352.0
                HStack(alignment: .bottom, spacing: 12) {
                    if left { hands(wide, glass.size.height) }
                    shown(actions: true)
                    if !left { hands(wide, glass.size.height) }
                }
                .padding(4)
            } else {
                VStack(spacing: 0) {
                    // large type on a small screen: what is not the pad scrolls as one
                    shown(actions: typeSize.isAccessibilitySize)
                    VStack(alignment: .trailing, spacing: 4) {
                        if !typeSize.isAccessibilitySize, !leavingOut { actions }
                        hands(min(glass.size.width - 8, Reach.pad), glass.size.height * 0.6)
                    }
                    .frame(maxWidth: .infinity, alignment: left ? .leading : .trailing)
                    .padding(.horizontal, 4)
                }
            }
        }
        .focusable()
        .focusEffectDisabled()
        .focused($keyboard)
        .onKeyPress(phases: .down, action: press)
        .onAppear { arrived() }
        .onChange(of: here) { arrived() }
    }

    private func arrived() {
        keys.begin()
        leavingOut = !reading.skipWords.typed.isEmpty
        keyboard = !leavingOut
    }

    private func press(_ press: KeyPress) -> KeyPress.Result {
        let key: HardKeys.Key
        switch press.key {
        case .return: key = .accept
        case .delete, .deleteForward: key = .erase
        default:
            guard press.modifiers.subtracting([.shift, .numericPad]).isEmpty, let letter = press.characters.first else { return .ignored }
            key = .character(letter)
        }
        switch keys.press(key, reading) {
        case .touch(let touch):
            watched.state.act(touch.event)
            return .handled
        case .event(let event):
            watched.state.act(event)
            return .handled
        case .taken: return .handled
        case .none: return .ignored
        }
    }

    /// All that is read with the eyes: why, what, how, the drawing, flags, the other places. It scrolls.
    private func shown(actions beside: Bool) -> some View {
        let act: Act = { watched.state.act($0) }
        let stays = barStays(typeSize, high)
        return VStack(spacing: 0) {
            if stays { bar.padding(.horizontal, 12).frame(maxWidth: Reach.column) }
            scrolled(stays, actions: beside, act)
        }
    }

    private func scrolled(_ stays: Bool, actions beside: Bool, _ act: @escaping Act) -> some View {
        ScrollViewReader { scroll in
            ScrollView {
                VStack(alignment: .leading, spacing: 8) {
                    if !stays { bar }
                    NoticeLine(notice: screen.notice)
                    if let ask = reading.ask { Choose(title: ask.title, options: ask.options, act: act) }
                    Abreast(from: .top) {
                        prompt
                        DrawingView(drawing: reading.drawing)
                            .frame(width: typeSize.isAccessibilitySize ? nil : 132, height: typeSize.isAccessibilitySize ? 240 : 150)
                    }
                    if let first = reading.flags.first { FlagLine(flag: first, here: reading.place, act: act) }
                    if beside { actions }
                    ForEach(Array(reading.flags.dropFirst().enumerated()), id: \.offset) { _, flag in
                        FlagLine(flag: flag, here: reading.place, act: act)
                    }
                    ProgressLine(progress: reading.openingProgress, what: "needed readings")
                    if !reading.before.isEmpty {
                        Heading("Read here before")
                        ForEach(reading.before, id: \.id) { ReadingLine(row: $0, place: false, act: act) }
                    }
                    Places(places: reading.places, act: act)
                    ProgressLine(progress: reading.houseProgress, what: "openings")
                    Press(reading.result, act: act)
                }
                .padding(.horizontal, 12)
                .frame(maxWidth: Reach.column)
                .frame(maxWidth: .infinity)
                .id("top")
            }
            // the next place is shown from its beginning
            .onChange(of: here) { scroll.scrollTo("top", anchor: .top) }
        }
    }

    private var bar: some View {
        TopBar(title: screen.title) {
            if let up = screen.house { IconPress("house", up.spoken, id: up.id, keys: .up) { watched.state.act(up.event) } }
            IconPress("sun.max", reading.theme.spoken, id: reading.theme.id) { watched.state.act(reading.theme.event) }
            IconPress("arrow.left.arrow.right", reading.hand.spoken, id: reading.hand.id) { watched.state.act(reading.hand.event) }
        }
    }

    private var prompt: some View {
        VStack(alignment: .leading, spacing: 2) {
            Heading(reading.prompt, font: .title3)
            if !reading.because.isEmpty { Words(reading.because, weight: .bold, paint: \.decide) }
            Words(reading.how, font: .subheadline, paint: \.quiet)
        }
        .frame(maxWidth: .infinity, alignment: .leading)
        .accessibilityElement(children: .combine)
        .accessibilitySortPriority(1)
        .accessibilityIdentifier("prompt")
    }

    /// What else can be done with this place, within the thumb's reach.
    private var actions: some View {
        Presses(right: !left) {
            Press(reading.later) { watched.state.act($0) }
            Press("Leave out", id: "leave_out") {
                leavingOut = true
                keyboard = false
            }
            Undoing(screen: screen)
        }
    }

    /// What lies under the thumb: the number and the pad; or, while a place is left out, the reasons.
    @ViewBuilder
    private func hands(_ width: Double, _ height: Double) -> some View {
        if leavingOut {
            ScrollView {
                VStack(alignment: .leading, spacing: Reach.gap) {
                    Heading("Why is it left out?")
                    ForEach(reading.skips, id: \.id) { skip in Press(skip, wide: true) { watched.state.act($0) } }
                    NamingField(reading.skipWords)
                    Press("Read it after all", wide: true, id: "read_after_all") {
                        leavingOut = false
                        keyboard = true
                    }
                }
                .padding(8)
            }
            .frame(width: width)
            .frame(maxHeight: height)
        } else {
            VStack(spacing: 4) {
                Entry(reading: reading) { watched.state.act($0) }
                PadView(pad: Pad(reading, screen.hand, room: width)) { watched.state.act($0) }
            }
            .frame(width: width)
            .padding(.bottom, 4)
        }
    }
}

/// The number that is typed, its echo or what is wrong with it below, and the unit, which one touch changes.
private struct Entry: View {
    @Environment(\.look) private var look
    let reading: ReadingScreen
    let act: Act

    var body: some View {
        HStack(spacing: Reach.gap) {
            VStack(alignment: .leading, spacing: 0) {
                Text(verbatim: reading.typed.isEmpty ? "–" : reading.typed)
                    .font(.largeTitle.weight(.semibold))
                    .foregroundStyle((reading.typed.isEmpty ? look.quiet : look.ink).color)
                    .lineLimit(1)
                    .minimumScaleFactor(0.4)
                Text(verbatim: below.isEmpty ? " " : below)
                    .font(.subheadline)
                    .foregroundStyle((reading.problem.isEmpty ? look.quiet : look.again).color)
                    .lineLimit(2)
                    .minimumScaleFactor(0.6)
            }
            .frame(maxWidth: .infinity, alignment: .leading)
            .accessibilityElement(children: .ignore)
            .accessibilityLabel(Text(verbatim: joined([reading.spoken, reading.problem])))
            .accessibilityAddTraits(.updatesFrequently)
            .accessibilityIdentifier("typed")
            unit
        }
        .padding(.horizontal, 8)
    }

    private var below: String { reading.problem.isEmpty ? reading.echo : reading.problem }

    @ViewBuilder
    private var unit: some View {
        if let at = reading.units.firstIndex(where: \.chosen) {
            let (now, next) = (reading.units[at], reading.units[(at + 1) % reading.units.count])
            Press(now.label, spoken: "\(now.spoken); change to \(next.spoken)", id: "unit") { act(next.event) }
        }
    }
}

/// All places: those needed, and the others behind one touch.
private struct Places: View {
    @State private var all = false
    let places: [PlaceChip]
    let act: Act

    var body: some View {
        let needed = places.filter { $0.state != .welcome || $0.go.chosen }
        Heading("Places")
        Presses {
            ForEach(all ? places : needed, id: \.go.id) { PlaceButton(chip: $0, act: act) }
        }
        if needed.count < places.count {
            Press(all ? "Only what is needed" : "Other places", id: "other_places") { all.toggle() }
        }
    }
}

private struct PlaceButton: View {
    @Environment(\.look) private var look
    let chip: PlaceChip
    let act: Act

    var body: some View {
        Button { act(chip.go.event) } label: {
            HStack(spacing: 8) {
                if let shape = mark(chip.state) {
                    Mark(shape, chip.state == .doubtful ? \.again : chip.state == .skipped ? \.quiet : \.ink, size: 16)
                }
                VStack(alignment: .leading, spacing: 0) {
                    Words(chip.go.label, font: .subheadline, weight: chip.go.chosen ? .bold : .regular)
                    if !chip.text.isEmpty { Words(chip.text, font: .subheadline, weight: .medium) }
                }
            }
            .padding(.horizontal, 10)
            .padding(.vertical, 6)
            .frame(minHeight: Reach.touch)
            .framed(look.key, look, edge: chip.go.chosen ? 3 : nil)
        }
        .buttonStyle(.plain)
        .accessibilityElement(children: .ignore)
        .accessibilityAddTraits(chip.go.chosen ? [.isButton, .isSelected] : .isButton)
        .accessibilityLabel(Text(verbatim: spoken(chip)))
        .accessibilityIdentifier(chip.go.id)
    }
}
