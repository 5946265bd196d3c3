// What all pages share: the bar at the top, what the last touch did, a column of things, and buttons under the thumb.
import HangtrueState
import SwiftUI

/// A page of things below each other, kept to a readable column on wide screens.
struct Page<Foot: View, Content: View>: View {
    @EnvironmentObject private var watched: Watched
    let title: String
    var undoing: Screen?
    var notice: Notice?
    @ViewBuilder let foot: Foot
    @ViewBuilder let content: Content

    /// A page of the core's screen.
    init(_ screen: Screen, @ViewBuilder foot: () -> Foot, @ViewBuilder content: () -> Content) {
        title = screen.title
        undoing = screen
        notice = screen.notice
        self.foot = foot()
        self.content = content()
    }

    /// A page over the core's screen, with a title of its own.
    init(over title: String, @ViewBuilder foot: () -> Foot, @ViewBuilder content: () -> Content) {
        self.title = title
        self.foot = foot()
        self.content = content()
    }

    var body: some View {
        let state = watched.state
        VStack(spacing: 0) {
            ScrollView {
                LazyVStack(alignment: .leading, spacing: 10, pinnedViews: []) {
                    TopBar(title: title, undoing: undoing)
                    NoticeLine(notice: notice)
                    if !state.opening.isEmpty {
                        Card {
                            ForEach(state.opening, id: \.self) { Words(sentence($0)) }
                            Press("Close this", id: "notices_read") { state.read() }
                        }
                    }
                    content
                }
                .padding(.horizontal, 12)
                .padding(.bottom, 24)
                .frame(maxWidth: Reach.column)
                .frame(maxWidth: .infinity)
            }
            HStack(spacing: Reach.gap) { foot }
                .padding(.horizontal, 12)
                .frame(maxWidth: Reach.column)
        }
    }
}

extension Page where Foot == EmptyView {
    init(_ screen: Screen, @ViewBuilder content: () -> Content) {
        self.init(screen, foot: { EmptyView() }, content: content)
    }

    init(over title: String, @ViewBuilder content: () -> Content) {
        self.init(over: title, foot: { EmptyView() }, content: content)
    }
}

/// The bar at the top: the way back where there is one, the title, and what the screen adds.
struct TopBar<Actions: View>: View {
    @EnvironmentObject private var watched: Watched
    let title: String
    var undoing: Screen?
    @ViewBuilder let actions: Actions

    init(title: String, undoing: Screen? = nil, @ViewBuilder actions: () -> Actions) {
        self.title = title
        self.undoing = undoing
        self.actions = actions()
    }

    var body: some View {
        let state = watched.state
        HStack(spacing: 8) {
            if state.canGoBack {
                IconPress("chevron.left", state.sheets ? "back" : state.screen?.back?.spoken ?? "back", id: "back") { state.back() }
            }
            Heading(title, font: .title3)
            Spacer(minLength: 0)
            if let up = undoing?.house { IconPress("house", up.spoken, id: up.id) { state.act(up.event) } }
            if let undoing { Undoing(screen: undoing) }
            actions
        }
        .frame(minHeight: 52)
    }
}

extension TopBar where Actions == EmptyView {
    init(title: String, undoing: Screen?) {
        self.init(title: title, undoing: undoing) { EmptyView() }
    }
}

/// Take back and do again, where there is something to take back.
struct Undoing: View {
    @EnvironmentObject private var watched: Watched
    let screen: Screen

    var body: some View {
        if let undo = screen.undo { IconPress("arrow.uturn.backward", undo.spoken, id: undo.id) { watched.state.act(undo.event) } }
        if let redo = screen.redo { IconPress("arrow.uturn.forward", redo.spoken, id: redo.id) { watched.state.act(redo.event) } }
    }
}

/// A button with a picture on it, and its name.
struct IconPress: View {
    @Environment(\.look) private var look
    private let picture: String
    private let spoken: String
    private let id: String
    private let onPress: @MainActor () -> Void

    init(_ picture: String, _ spoken: String, id: String, onPress: @escaping @MainActor () -> Void) {
        self.picture = picture
        self.spoken = spoken
        self.id = id
        self.onPress = onPress
    }

    var body: some View {
        Button(action: onPress) {
            Image(systemName: picture)
                .font(.title3.weight(.semibold))
                .foregroundStyle(look.ink.color)
                .frame(minWidth: Reach.touch, minHeight: Reach.touch)
                .contentShape(Rectangle())
        }
        .buttonStyle(.plain)
        .accessibilityLabel(Text(verbatim: spoken))
        .accessibilityIdentifier(id)
    }
}

/// What the last touch did; the tick only when it is on the disk. Also what the core refused, and why. It is announced by `Root`.
struct NoticeLine: View {
    @EnvironmentObject private var watched: Watched
    @Environment(\.look) private var look
    let notice: Notice?

    var body: some View {
        if let trouble = watched.state.trouble {
            line(.triangle, \.again, trouble, .medium)
        } else if let notice {
            line(notice.kept ? .tick : .dot, notice.kept ? \.ink : \.quiet, notice.says, .regular)
        }
    }

    private func line(_ shape: MarkShape, _ paint: KeyPath<Look, Paint>, _ words: String, _ weight: Font.Weight) -> some View {
        HStack(spacing: 10) {
            Mark(shape, paint)
            Words(words, weight: weight)
            Spacer(minLength: 0)
        }
        .padding(10)
        .framed(look.card, look)
        .accessibilityElement(children: .combine)
        .accessibilityIdentifier("notice")
    }
}
