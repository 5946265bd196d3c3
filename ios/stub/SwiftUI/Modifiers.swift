// What can be said of any view, by the system that brought it.

extension View {
    nonisolated public func font(_ font: Font?) -> some View { self }
    nonisolated public func fixedSize(horizontal: Bool, vertical: Bool) -> some View { self }
    nonisolated public func frame(
        width: CGFloat? = nil, height: CGFloat? = nil, alignment: Alignment = .center
    ) -> some View { self }
    nonisolated public func frame(
        minWidth: CGFloat? = nil, idealWidth: CGFloat? = nil, maxWidth: CGFloat? = nil, minHeight: CGFloat? = nil,
        idealHeight: CGFloat? = nil, maxHeight: CGFloat? = nil, alignment: Alignment = .center
    ) -> some View { self }
    nonisolated public func padding(_ edges: Edge.Set = .all, _ length: CGFloat? = nil) -> some View { self }
    nonisolated public func padding(_ length: CGFloat) -> some View { self }
    nonisolated public func border<S: ShapeStyle>(_ content: S, width: CGFloat = 1) -> some View { self }
    nonisolated public func contentShape<S: Shape>(_ shape: S, eoFill: Bool = false) -> some View { self }
    nonisolated public func clipped(antialiased: Bool = false) -> some View { self }
    nonisolated public func opacity(_ opacity: Double) -> some View { self }
    nonisolated public func offset(x: CGFloat = 0, y: CGFloat = 0) -> some View { self }
    nonisolated public func disabled(_ disabled: Bool) -> some View { self }
    nonisolated public func allowsHitTesting(_ enabled: Bool) -> some View { self }
    nonisolated public func buttonStyle<S: PrimitiveButtonStyle>(_ style: S) -> some View { self }
    nonisolated public func textFieldStyle<S: TextFieldStyle>(_ style: S) -> some View { self }
    nonisolated public func multilineTextAlignment(_ alignment: TextAlignment) -> some View { self }
    nonisolated public func lineLimit(_ number: Int?) -> some View { self }
    nonisolated public func minimumScaleFactor(_ factor: CGFloat) -> some View { self }
    nonisolated public func autocorrectionDisabled(_ disable: Bool = true) -> some View { self }
    nonisolated public func onAppear(perform action: (() -> Void)? = nil) -> some View { self }
    nonisolated public func id<ID: Hashable>(_ id: ID) -> some View { self }
    nonisolated public func environment<V>(
        _ keyPath: WritableKeyPath<EnvironmentValues, V>, _ value: V
    ) -> some View { self }
    nonisolated public func environmentObject<T: ObservableObject>(_ object: T) -> some View { self }
    nonisolated public func preferredColorScheme(_ colorScheme: ColorScheme?) -> some View { self }
    nonisolated public func simultaneousGesture<T: Gesture>(
        _ gesture: T, including mask: GestureMask = .all
    ) -> some View { self }
}

@available(iOS 14, macOS 11, *)
extension View {
    nonisolated public func ignoresSafeArea(
        _ regions: SafeAreaRegions = .all, edges: Edge.Set = .all
    ) -> some View { self }
    nonisolated public func keyboardShortcut(
        _ key: KeyEquivalent, modifiers: EventModifiers = .command
    ) -> some View { self }
    nonisolated public func keyboardShortcut(_ shortcut: KeyboardShortcut) -> some View { self }
    nonisolated public func labelStyle<S: LabelStyle>(_ style: S) -> some View { self }
    nonisolated public func onOpenURL(perform action: @escaping (URL) -> Void) -> some View { self }
}

@available(iOS 15, macOS 12, *)
extension View {
    nonisolated public func foregroundStyle<S: ShapeStyle>(_ style: S) -> some View { self }
    nonisolated public func background<S: ShapeStyle>(
        _ style: S, ignoresSafeAreaEdges edges: Edge.Set = .all
    ) -> some View { self }
    nonisolated public func background<S: ShapeStyle, T: Shape>(
        _ style: S, in shape: T, fillStyle: FillStyle = FillStyle()
    ) -> some View { self }
    nonisolated public func background<S: ShapeStyle, T: InsettableShape>(
        _ style: S, in shape: T, fillStyle: FillStyle = FillStyle()
    ) -> some View { self }
    nonisolated public func background<V: View>(
        alignment: Alignment = .center, @ViewBuilder content: () -> V
    ) -> some View { self }
    nonisolated public func overlay<V: View>(
        alignment: Alignment = .center, @ViewBuilder content: () -> V
    ) -> some View { self }
    nonisolated public func tint(_ tint: Color?) -> some View { self }
    nonisolated public func submitLabel(_ submitLabel: SubmitLabel) -> some View { self }
    nonisolated public func onSubmit(
        of triggers: SubmitTriggers = .text, _ action: @escaping () -> Void
    ) -> some View { self }
    nonisolated public func focused(_ condition: FocusState<Bool>.Binding) -> some View { self }
    nonisolated public func focused<V: Hashable>(
        _ binding: FocusState<V>.Binding, equals value: V
    ) -> some View { self }
    nonisolated public func accessibilityShowsLargeContentViewer() -> some View { self }
}

@available(iOS 15.4, macOS 12.3, *)
extension View {
    nonisolated public func keyboardShortcut(_ shortcut: KeyboardShortcut?) -> some View { self }
}

@available(iOS 17, macOS 12, *)
extension View {
    nonisolated public func focusable(_ isFocusable: Bool = true) -> some View { self }
}

@available(iOS 17, macOS 14, *)
extension View {
    nonisolated public func onChange<V: Equatable>(
        of value: V, initial: Bool = false, _ action: @escaping (_ oldValue: V, _ newValue: V) -> Void
    ) -> some View { self }
    nonisolated public func onChange<V: Equatable>(
        of value: V, initial: Bool = false, _ action: @escaping () -> Void
    ) -> some View { self }
    nonisolated public func focusEffectDisabled(_ disabled: Bool = true) -> some View { self }
    nonisolated public func onKeyPress(
        _ key: KeyEquivalent, action: @escaping () -> KeyPress.Result
    ) -> some View { self }
    nonisolated public func onKeyPress(
        phases: KeyPress.Phases = [.down, .repeat], action: @escaping (KeyPress) -> KeyPress.Result
    ) -> some View { self }
}

// Newer than what the app runs on: here to be refused (planted.sh).
@available(iOS 18, macOS 15, *)
extension View {
    nonisolated public func onScrollVisibilityChange(
        threshold: Double = 0.5, _ action: @escaping (Bool) -> Void
    ) -> some View { self }
}

// Of phones and tablets only: here to be refused where the screens are built for a Mac's tests (planted.sh).
@available(iOS 13, *)
@available(macOS, unavailable)
extension View {
    nonisolated public func statusBarHidden(_ hidden: Bool = true) -> some View { self }
}

public struct AccessibilityAttachmentModifier {}

@available(iOS 14, macOS 11, *)
extension View {
    nonisolated public func accessibilityLabel(
        _ label: Text
    ) -> ModifiedContent<Self, AccessibilityAttachmentModifier> {
        fatalError()
    }
    nonisolated public func accessibilityIdentifier(
        _ identifier: String
    ) -> ModifiedContent<Self, AccessibilityAttachmentModifier> { fatalError() }
    nonisolated public func accessibilityAddTraits(
        _ traits: AccessibilityTraits
    ) -> ModifiedContent<Self, AccessibilityAttachmentModifier> { fatalError() }
    nonisolated public func accessibilityHidden(
        _ hidden: Bool
    ) -> ModifiedContent<Self, AccessibilityAttachmentModifier> {
        fatalError()
    }
    nonisolated public func accessibilitySortPriority(
        _ sortPriority: Double
    ) -> ModifiedContent<Self, AccessibilityAttachmentModifier> { fatalError() }
}

extension View {
    nonisolated public func accessibilityElement(children: AccessibilityChildBehavior = .ignore) -> some View { self }
    nonisolated public func accessibilityAction(
        _ actionKind: AccessibilityActionKind = .default, _ handler: @escaping () -> Void
    ) -> ModifiedContent<Self, AccessibilityAttachmentModifier> { fatalError() }
}

public struct AccessibilityChildBehavior: Hashable, Sendable {
    public static let ignore = AccessibilityChildBehavior(), contain = AccessibilityChildBehavior()
    public static let combine = AccessibilityChildBehavior()
}

public struct AccessibilityActionKind: Equatable, Sendable {
    public static let `default` = AccessibilityActionKind(), escape = AccessibilityActionKind()
    public static let magicTap = AccessibilityActionKind()
}

public struct AccessibilityTraits: SetAlgebra, Sendable {
    public static let isButton = AccessibilityTraits(), isHeader = AccessibilityTraits()
    public static let isSelected = AccessibilityTraits()
    public static let isImage = AccessibilityTraits(), updatesFrequently = AccessibilityTraits()
    public init() {}
    public func union(_ other: AccessibilityTraits) -> AccessibilityTraits { fatalError() }
    public mutating func formUnion(_ other: AccessibilityTraits) {}
    public func intersection(_ other: AccessibilityTraits) -> AccessibilityTraits { fatalError() }
    public mutating func formIntersection(_ other: AccessibilityTraits) {}
    public func symmetricDifference(_ other: AccessibilityTraits) -> AccessibilityTraits { fatalError() }
    public mutating func formSymmetricDifference(_ other: AccessibilityTraits) {}
    public func contains(_ member: AccessibilityTraits) -> Bool { fatalError() }
    @discardableResult
    public mutating func insert(
        _ newMember: AccessibilityTraits
    ) -> (inserted: Bool, memberAfterInsert: AccessibilityTraits) { fatalError() }
    @discardableResult
    public mutating func remove(_ member: AccessibilityTraits) -> AccessibilityTraits? { fatalError() }
    @discardableResult
    public mutating func update(with newMember: AccessibilityTraits) -> AccessibilityTraits? { fatalError() }
}
