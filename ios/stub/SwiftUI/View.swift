// Views, scenes and the builders that put them together.
@_exported import Combine
@_exported import Foundation

@MainActor @preconcurrency public protocol View {
    associatedtype Body: View
    @ViewBuilder @MainActor @preconcurrency var body: Self.Body { get }
}

extension Never: View {
    public typealias Body = Never
    public var body: Never { fatalError() }
}

/// A view that SwiftUI draws itself.
public protocol _Drawn: View where Body == Never {}
extension _Drawn {
    public var body: Never { fatalError() }
}

public struct EmptyView: _Drawn, Sendable {
    nonisolated public init() {}
}

public struct AnyView: _Drawn {
    nonisolated public init<V: View>(_ view: V) {}
}

public struct TupleView<T>: _Drawn {
    public var value: T
    nonisolated public init(_ value: T) { fatalError() }
}

public struct _ConditionalContent<TrueContent, FalseContent> {}
extension _ConditionalContent: View where TrueContent: View, FalseContent: View {
    public typealias Body = Never
    public var body: Never { fatalError() }
}

extension Optional: View where Wrapped: View {
    public typealias Body = Never
    public var body: Never { fatalError() }
}

public struct ModifiedContent<Content, Modifier> {}
extension ModifiedContent: View where Content: View {
    public typealias Body = Never
    public var body: Never { fatalError() }
}

@resultBuilder public struct ViewBuilder {
    public static func buildExpression<Content: View>(_ content: Content) -> Content { content }
    public static func buildBlock() -> EmptyView { EmptyView() }
    public static func buildBlock<Content: View>(_ content: Content) -> Content { content }
    public static func buildBlock<each Content>(
        _ content: repeat each Content
    ) -> TupleView<(repeat each Content)> where repeat each Content: View { fatalError() }
    public static func buildIf<Content: View>(_ content: Content?) -> Content? { content }
    public static func buildEither<TrueContent: View, FalseContent: View>(
        first: TrueContent
    ) -> _ConditionalContent<TrueContent, FalseContent> { fatalError() }
    public static func buildEither<TrueContent: View, FalseContent: View>(
        second: FalseContent
    ) -> _ConditionalContent<TrueContent, FalseContent> { fatalError() }
    public static func buildLimitedAvailability<Content: View>(_ content: Content) -> AnyView { fatalError() }
}

@available(iOS 14, macOS 11, *)
@MainActor @preconcurrency public protocol Scene {
    associatedtype Body: Scene
    @SceneBuilder @MainActor @preconcurrency var body: Self.Body { get }
}

@available(iOS 14, macOS 11, *)
extension Never: Scene {}

@available(iOS 14, macOS 11, *)
@resultBuilder public struct SceneBuilder {
    public static func buildExpression<Content: Scene>(_ content: Content) -> Content { content }
    public static func buildBlock<Content: Scene>(_ content: Content) -> Content { content }
}

@available(iOS 14, macOS 11, *)
public struct WindowGroup<Content: View>: Scene {
    public typealias Body = Never
    public var body: Never { fatalError() }
    nonisolated public init(@ViewBuilder content: @escaping () -> Content) {}
}

@available(iOS 17, macOS 14, *)
extension Scene {
    nonisolated public func onChange<V: Equatable>(
        of value: V, initial: Bool = false, _ action: @escaping (_ oldValue: V, _ newValue: V) -> Void
    ) -> some Scene { self }
    nonisolated public func onChange<V: Equatable>(
        of value: V, initial: Bool = false, _ action: @escaping () -> Void
    ) -> some Scene { self }
}

@available(iOS 14, macOS 11, *)
@MainActor @preconcurrency public protocol App {
    associatedtype Body: Scene
    @SceneBuilder @MainActor @preconcurrency var body: Self.Body { get }
    @MainActor @preconcurrency init()
}

@available(iOS 14, macOS 11, *)
extension App {
    @MainActor @preconcurrency public static func main() {}
}

@available(iOS 14, macOS 11, *)
public enum ScenePhase: Comparable, Hashable, Sendable {
    case background, inactive, active
}
