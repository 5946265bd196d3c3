// What all pages share: the bar at the top, what the last touch did, a column of things, and buttons under the thumb.
import HangtrueState
import SwiftUI

/// A page of things below each other, kept to a readable column. On wide glass a page that has something `beside` shows it in a
/// second column; elsewhere it comes below. The bar stays, except where large type or low glass leaves it no room.
struct Page<Foot: View, Content: View, Beside: View>: View {
    @EnvironmentObject private var watched: Watched
    @Environment(\.dynamicTypeSize) private var typeSize
    @Environment(\.verticalSizeClass) private var high
    private let title: String
    private let screen: Screen?
    private let foot: Foot
    private let content: Content
    private let beside: Beside

    /// A page of the core's screen.
    init(
        _ screen: Screen, @ViewBuilder foot: () -> Foot, @ViewBuilder content: () -> Content, @ViewBuilder beside: () -> Beside
    ) {
        title = screen.title
        self.screen = screen
        self.foot = foot()
        self.content = content()
        self.beside = beside()
    }

    var body: some View {
        GeometryReader { glass in
            let two = Beside.self != EmptyView.self && glass.size.width >= Reach.two && !typeSize.isAccessibilitySize
            let wide = two ? 2 * Reach.column : Reach.column
            let stays = barStays(typeSize, high)
            VStack(spacing: 0) {
                if stays { bar.padding(.horizontal, 12).frame(maxWidth: wide) }
                HStack(alignment: .top, spacing: 0) {
                    column {
                        if !stays { bar }
                        opened
                        content
                        if !two { beside }
                    }
                    if two { column { beside } }
                }
                .frame(maxWidth: two ? wide : .infinity)
                Abreast { foot }
                    .padding(.horizontal, 12)
                    .frame(maxWidth: Reach.column)
            }
            .frame(maxWidth: .infinity)
        }
    }

    private var bar: some View {
        VStack(alignment: .leading, spacing: 0) {
            TopBar(title: title, undoing: screen)
            NoticeLine(notice: screen?.notice)
        }
    }

    /// What there was to say when the book was opened.
    @ViewBuilder
    private var opened: some View {
        let state = watched.state
        if !state.opening.isEmpty {
            Card {
                ForEach(state.opening, id: \.self) { Words(sentence($0)) }
                Press("Close this", id: "notices_read") { state.read() }
            }
        }
    }

    private func column<Things: View>(@ViewBuilder _ things: () -> Things) -> some View {
        ScrollView {
            LazyVStack(alignment: .leading, spacing: 10, pinnedViews: []) { things() }
                .padding(.horizontal, 12)
                .padding(.top, 4)
                .padding(.bottom, 24)
                .frame(maxWidth: Reach.column)
                .frame(maxWidth: .infinity)
        }
    }
}

extension Page where Beside == EmptyView {
    /// A page of one column.
    init(_ screen: Screen, @ViewBuilder foot: () -> Foot, @ViewBuilder content: () -> Content) {
        self.init(screen, foot: foot, content: content) { EmptyView() }
    }
}

extension Page where Foot == EmptyView, Beside == EmptyView {
    /// A page of one column with nothing under the thumb.
    init(_ screen: Screen, @ViewBuilder content: () -> Content) {
        self.init(screen) { EmptyView() } content: { content() }
    }

    /// A page over the core's screen, with a title of its own.
    init(over title: String, @ViewBuilder content: () -> Content) {
        self.title = title
        screen = nil
        foot = EmptyView()
        self.content = content()
        beside = EmptyView()
    }
}

/// Whether a bar keeps its place while what is below it scrolls: not over type so large or on glass so low that little would be
/// left. The class of the glass is asked and not its height, which a keyboard takes and gives back.
func barStays(_ typeSize: DynamicTypeSize, _ high: UserInterfaceSizeClass?) -> Bool {
    !typeSize.isAccessibilitySize && high != .compact
}

/// The bar at the top: the way back where there is one, the title, and what the screen adds.
struct TopBar<Actions: View>: View {
    @EnvironmentObject private var watched: Watched
    @Environment(\.dynamicTypeSize) private var typeSize
    private let title: String
    private let undoing: Screen?
    private let actions: Actions

    init(title: String, undoing: Screen? = nil, @ViewBuilder actions: () -> Actions) {
        self.title = title
        self.undoing = undoing
        self.actions = actions()
    }

    var body: some View {
        if typeSize.isAccessibilitySize {
            // a title of large type wants the whole width
            VStack(alignment: .leading, spacing: 4) {
                HStack(spacing: 8) {
                    back
                    Spacer(minLength: 0)
                    others
                }
                Heading(title, font: .title3)
            }
        } else {
            HStack(spacing: 8) {
                back
                Heading(title, font: .title3)
                Spacer(minLength: 0)
                others
            }
            .frame(minHeight: 52)
        }
    }

    @ViewBuilder
    private var back: some View {
        let state = watched.state
        if state.canGoBack {
            let spoken = state.sheets ? nil : state.screen?.back?.spoken
            IconPress("chevron.left", spoken ?? "back", id: "back", keys: .back) { state.back() }
        }
    }

    @ViewBuilder
    private var others: some View {
        if let up = undoing?.house { IconPress("house", up.spoken, id: up.id, keys: .up) { watched.state.act(up.event) } }
        if let undoing { Undoing(screen: undoing) }
        actions
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
        if let undo = screen.undo {
            IconPress("arrow.uturn.backward", undo.spoken, id: undo.id, keys: .undo) { watched.state.act(undo.event) }
        }
        if let redo = screen.redo {
            IconPress("arrow.uturn.forward", redo.spoken, id: redo.id, keys: .redo) { watched.state.act(redo.event) }
        }
    }
}

/// A button with a picture on it, and its name: for a voice, for who holds a finger on it at a large type size, and in the list of
/// a keyboard's shortcuts.
struct IconPress: View {
    @Environment(\.look) private var look
    private let picture: String
    private let spoken: String
    private let id: String
    private let keys: KeyboardShortcut?
    private let onPress: @MainActor () -> Void

    init(_ picture: String, _ spoken: String, id: String, keys: KeyboardShortcut? = nil, onPress: @escaping @MainActor () -> Void) {
        self.picture = picture
        self.spoken = spoken
        self.id = id
        self.keys = keys
        self.onPress = onPress
    }

    var body: some View {
        Button(action: onPress) {
            Label(spoken, systemImage: picture)
                .labelStyle(.iconOnly)
                .font(.title3.weight(.semibold))
                .foregroundStyle(look.ink.color)
                .frame(minWidth: Reach.touch, minHeight: Reach.touch)
                .contentShape(Rectangle())
        }
        .buttonStyle(.plain)
        .keyboardShortcut(keys)
        .accessibilityLabel(Text(verbatim: spoken))
        .accessibilityIdentifier(id)
        .accessibilityShowsLargeContentViewer()
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
