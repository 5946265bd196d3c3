// Stacks, scrolling, layout, buttons, fields, gestures, keys.
@_exported import CoreTransferable

public struct VStack<Content: View>: _Drawn {
    nonisolated public init(
        alignment: HorizontalAlignment = .center, spacing: CGFloat? = nil, @ViewBuilder content: () -> Content
    ) {}
}

public struct HStack<Content: View>: _Drawn {
    nonisolated public init(
        alignment: VerticalAlignment = .center, spacing: CGFloat? = nil, @ViewBuilder content: () -> Content
    ) {}
}

public struct ZStack<Content: View>: _Drawn {
    nonisolated public init(alignment: Alignment = .center, @ViewBuilder content: () -> Content) {}
}

@available(iOS 14, macOS 11, *)
public struct PinnedScrollableViews: OptionSet, Sendable {
    public let rawValue: UInt32
    public init(rawValue: UInt32) { self.rawValue = rawValue }
    public static let sectionHeaders = PinnedScrollableViews(rawValue: 1)
    public static let sectionFooters = PinnedScrollableViews(rawValue: 2)
}

@available(iOS 14, macOS 11, *)
public struct LazyVStack<Content: View>: _Drawn {
    nonisolated public init(
        alignment: HorizontalAlignment = .center, spacing: CGFloat? = nil, pinnedViews: PinnedScrollableViews = .init(),
        @ViewBuilder content: () -> Content
    ) {}
}

public struct Group<Content> {}
extension Group: View where Content: View {
    public typealias Body = Never
    public var body: Never { fatalError() }
    nonisolated public init(@ViewBuilder content: () -> Content) {}
}

public struct Spacer: Sendable, _Drawn {
    nonisolated public init(minLength: CGFloat? = nil) {}
}

public struct ScrollView<Content: View>: View {
    public var body: some View { EmptyView() }
    nonisolated public init(
        _ axes: Axis.Set = .vertical, showsIndicators: Bool = true, @ViewBuilder content: () -> Content
    ) {}
}

@available(iOS 14, macOS 11, *)
public struct ScrollViewProxy {
    public func scrollTo<ID: Hashable>(_ id: ID, anchor: UnitPoint? = nil) {}
}

@available(iOS 14, macOS 11, *)
public struct ScrollViewReader<Content: View>: View {
    public var body: some View { EmptyView() }
    nonisolated public init(@ViewBuilder content: @escaping (ScrollViewProxy) -> Content) {}
}

public struct GeometryProxy {
    public var size: CGSize { fatalError() }
}

public struct GeometryReader<Content: View>: _Drawn {
    nonisolated public init(@ViewBuilder content: @escaping (GeometryProxy) -> Content) {}
}

@available(iOS 16, macOS 13, *)
public struct ViewThatFits<Content: View>: _Drawn {
    nonisolated public init(in axes: Axis.Set = [.horizontal, .vertical], @ViewBuilder content: () -> Content) {}
}

public struct ForEach<Data: RandomAccessCollection, ID: Hashable, Content> {}
extension ForEach: View where Content: View {
    public typealias Body = Never
    public var body: Never { fatalError() }
}
extension ForEach where ID == Data.Element.ID, Content: View, Data.Element: Identifiable {
    nonisolated public init(_ data: Data, @ViewBuilder content: @escaping (Data.Element) -> Content) {}
}
extension ForEach where Content: View {
    nonisolated public init(
        _ data: Data, id: KeyPath<Data.Element, ID>, @ViewBuilder content: @escaping (Data.Element) -> Content
    ) {}
}

@available(iOS 16, macOS 13, *)
public struct ProposedViewSize: Equatable, Sendable {
    public var width: CGFloat?
    public var height: CGFloat?
    public init(width: CGFloat?, height: CGFloat?) {}
    public init(_ size: CGSize) {}
}

@available(iOS 16, macOS 13, *)
public struct LayoutSubview: Equatable {
    public func sizeThatFits(_ proposal: ProposedViewSize) -> CGSize { fatalError() }
    public func place(at position: CGPoint, anchor: UnitPoint = .topLeading, proposal: ProposedViewSize) {}
}

@available(iOS 16, macOS 13, *)
public struct LayoutSubviews: Equatable, RandomAccessCollection, Sendable {
    public var startIndex: Int { fatalError() }
    public var endIndex: Int { fatalError() }
    public subscript(index: Int) -> LayoutSubview { fatalError() }
}

@available(iOS 16, macOS 13, *)
public protocol Layout: Sendable, Animatable {
    associatedtype Cache = Void
    typealias Subviews = LayoutSubviews
    func makeCache(subviews: Self.Subviews) -> Self.Cache
    func sizeThatFits(proposal: ProposedViewSize, subviews: Self.Subviews, cache: inout Self.Cache) -> CGSize
    func placeSubviews(in bounds: CGRect, proposal: ProposedViewSize, subviews: Self.Subviews, cache: inout Self.Cache)
}

@available(iOS 16, macOS 13, *)
extension Layout where Cache == Void {
    public func makeCache(subviews: Self.Subviews) {}
}

@available(iOS 16, macOS 13, *)
extension Layout {
    nonisolated public func callAsFunction<V: View>(@ViewBuilder _ content: () -> V) -> some View { EmptyView() }
}

/// What a layout of SwiftUI's own does, which no view sees.
@available(iOS 16, macOS 13, *)
public protocol _OwnLayout: Layout where Cache == Void {}

@available(iOS 16, macOS 13, *)
extension _OwnLayout {
    public func sizeThatFits(
        proposal: ProposedViewSize, subviews: Self.Subviews, cache: inout Void
    ) -> CGSize { fatalError() }
    public func placeSubviews(
        in bounds: CGRect, proposal: ProposedViewSize, subviews: Self.Subviews, cache: inout Void
    ) {}
}

@available(iOS 16, macOS 13, *)
public struct VStackLayout: _OwnLayout {
    public init(alignment: HorizontalAlignment = .center, spacing: CGFloat? = nil) {}
}

@available(iOS 16, macOS 13, *)
public struct HStackLayout: _OwnLayout {
    public init(alignment: VerticalAlignment = .center, spacing: CGFloat? = nil) {}
}

@available(iOS 16, macOS 13, *)
public struct AnyLayout: _OwnLayout {
    public init<L: Layout>(_ layout: L) {}
}

public struct Button<Label: View>: View {
    public var body: some View { EmptyView() }
    @preconcurrency public init(action: @escaping @MainActor () -> Void, @ViewBuilder label: () -> Label) {}
}
extension Button where Label == Text {
    @preconcurrency public init(_ titleKey: LocalizedStringKey, action: @escaping @MainActor () -> Void) {}
    @_disfavoredOverload
    @preconcurrency public init<S: StringProtocol>(_ title: S, action: @escaping @MainActor () -> Void) {}
}

@available(iOS 14, macOS 11, *)
public struct Label<Title: View, Icon: View>: View {
    public var body: some View { EmptyView() }
    nonisolated public init(@ViewBuilder title: () -> Title, @ViewBuilder icon: () -> Icon) {}
}

@available(iOS 14, macOS 11, *)
extension Label where Title == Text, Icon == Image {
    nonisolated public init(_ titleKey: LocalizedStringKey, systemImage name: String) {}
    @_disfavoredOverload nonisolated public init<S: StringProtocol>(_ title: S, systemImage name: String) {}
}

@available(iOS 14, macOS 11, *)
@MainActor @preconcurrency public protocol LabelStyle {}

@available(iOS 14, macOS 11, *)
public struct IconOnlyLabelStyle: LabelStyle {
    nonisolated public init() {}
}

@available(iOS 14, macOS 11, *)
extension LabelStyle where Self == IconOnlyLabelStyle {
    @MainActor @preconcurrency public static var iconOnly: IconOnlyLabelStyle { fatalError() }
}

@available(iOS 16, macOS 13, *)
public struct SharePreview<Image: Transferable, Icon: Transferable> {}

@available(iOS 16, macOS 13, *)
extension SharePreview where Image == Never, Icon == Never {
    public init(_ titleKey: LocalizedStringKey) {}
    @_disfavoredOverload public init<S: StringProtocol>(_ title: S) {}
}

@available(iOS 16, macOS 13, *)
public struct ShareLink<Data, PreviewImage: Transferable, PreviewIcon: Transferable, Label: View>: View
where Data: RandomAccessCollection, Data.Element: Transferable {
    public var body: some View { EmptyView() }
    nonisolated public init<I: Transferable>(
        item: I, subject: Text? = nil, message: Text? = nil, preview: SharePreview<PreviewImage, PreviewIcon>,
        @ViewBuilder label: () -> Label
    ) where Data == CollectionOfOne<I> {}
}

public struct TextField<Label: View>: View {
    public var body: some View { EmptyView() }
}
extension TextField where Label == Text {
    nonisolated public init(_ titleKey: LocalizedStringKey, text: Binding<String>) {}
    @_disfavoredOverload nonisolated public init<S: StringProtocol>(_ title: S, text: Binding<String>) {}
}

public struct SecureField<Label: View>: View {
    public var body: some View { EmptyView() }
}
extension SecureField where Label == Text {
    nonisolated public init(_ titleKey: LocalizedStringKey, text: Binding<String>) {}
    @_disfavoredOverload nonisolated public init<S: StringProtocol>(_ title: S, text: Binding<String>) {}
}

@MainActor @preconcurrency public protocol PrimitiveButtonStyle {}
public struct PlainButtonStyle: PrimitiveButtonStyle {
    nonisolated public init() {}
}
extension PrimitiveButtonStyle where Self == PlainButtonStyle {
    @MainActor @preconcurrency public static var plain: PlainButtonStyle { fatalError() }
}

@MainActor @preconcurrency public protocol TextFieldStyle {}
public struct PlainTextFieldStyle: TextFieldStyle {
    nonisolated public init() {}
}
extension TextFieldStyle where Self == PlainTextFieldStyle {
    @MainActor @preconcurrency public static var plain: PlainTextFieldStyle { fatalError() }
}

@available(iOS 17, macOS 14, *)
public protocol CoordinateSpaceProtocol {}

@available(iOS 17, macOS 14, *)
public struct LocalCoordinateSpace: CoordinateSpaceProtocol, Sendable {
    public init() {}
}

@available(iOS 17, macOS 14, *)
extension CoordinateSpaceProtocol where Self == LocalCoordinateSpace {
    public static var local: LocalCoordinateSpace { fatalError() }
}

@MainActor @preconcurrency public protocol Gesture<Value> {
    associatedtype Value
}

public struct _EndedGesture<Content: Gesture>: Gesture {
    public typealias Value = Content.Value
    nonisolated init() {}
}

extension Gesture {
    nonisolated public func onEnded(_ action: @escaping (Self.Value) -> Void) -> _EndedGesture<Self> { _EndedGesture() }
}

public struct DragGesture: Gesture {
    public struct Value: Equatable, Sendable {
        public var location: CGPoint
        public var startLocation: CGPoint
        public var translation: CGSize { fatalError() }
    }
    @available(iOS 17, macOS 14, *)
    @MainActor @preconcurrency public init(
        minimumDistance: CGFloat = 10, coordinateSpace: some CoordinateSpaceProtocol = .local
    ) {}
}

public struct GestureMask: OptionSet, Sendable {
    public let rawValue: UInt32
    public init(rawValue: UInt32) { self.rawValue = rawValue }
    public static let none = GestureMask([]), gesture = GestureMask(rawValue: 1), subviews = GestureMask(rawValue: 2)
    public static let all = GestureMask(rawValue: 3)
}

@available(iOS 14, macOS 11, *)
public struct KeyEquivalent: Sendable, ExpressibleByExtendedGraphemeClusterLiteral {
    public var character: Character
    public init(_ character: Character) { fatalError() }
    public init(extendedGraphemeClusterLiteral: Character) { fatalError() }
    public static let upArrow = KeyEquivalent("\u{F700}"), delete = KeyEquivalent("\u{8}")
    public static let escape = KeyEquivalent("\u{1B}")
    public static let deleteForward = KeyEquivalent("\u{F728}"), space = KeyEquivalent(" ")
    public static let `return` = KeyEquivalent("\r")
}

@available(iOS 17, macOS 14, *)
extension KeyEquivalent: Hashable {}

@available(iOS 14, macOS 11, *)
public struct EventModifiers: OptionSet, Sendable {
    public let rawValue: Int
    public init(rawValue: Int) { self.rawValue = rawValue }
    public static let capsLock = EventModifiers(rawValue: 1), shift = EventModifiers(rawValue: 2)
    public static let control = EventModifiers(rawValue: 4), option = EventModifiers(rawValue: 8)
    public static let command = EventModifiers(rawValue: 16), numericPad = EventModifiers(rawValue: 32)
    public static let all = EventModifiers(rawValue: 63)
}

@available(iOS 14, macOS 11, *)
public struct KeyboardShortcut: Sendable {
    public static let cancelAction = KeyboardShortcut(.escape, modifiers: [])
    public static let defaultAction = KeyboardShortcut(.return, modifiers: [])
    public var key: KeyEquivalent
    public var modifiers: EventModifiers
    public init(_ key: KeyEquivalent, modifiers: EventModifiers = .command) { fatalError() }
}

@available(iOS 17, macOS 14, *)
public struct KeyPress: Sendable {
    public struct Phases: OptionSet, Sendable {
        public let rawValue: Int
        public init(rawValue: Int) { self.rawValue = rawValue }
        public static let down = Phases(rawValue: 1), `repeat` = Phases(rawValue: 2), up = Phases(rawValue: 4)
        public static let all = Phases(rawValue: 7)
    }
    public enum Result: Sendable {
        case handled, ignored
    }
    public let phase: Phases
    public let key: KeyEquivalent
    public let characters: String
    public let modifiers: EventModifiers
}

@available(iOS 15, macOS 12, *)
public struct SubmitTriggers: OptionSet, Sendable {
    public let rawValue: Int
    public init(rawValue: Int) { self.rawValue = rawValue }
    public static let text = SubmitTriggers(rawValue: 1), search = SubmitTriggers(rawValue: 2)
}

@available(iOS 15, macOS 12, *)
public struct SubmitLabel: Sendable {
    public static var done: SubmitLabel { fatalError() }
    public static var next: SubmitLabel { fatalError() }
}
