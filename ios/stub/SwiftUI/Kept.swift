// What views keep, share and are told.

public protocol DynamicProperty {}

@propertyWrapper @dynamicMemberLookup public struct Binding<Value>: DynamicProperty {
    @preconcurrency public init(
        get: @escaping @isolated(any) @Sendable () -> Value, set: @escaping @isolated(any) @Sendable (Value) -> Void
    ) {}
    public static func constant(_ value: Value) -> Binding<Value> { fatalError() }
    public var wrappedValue: Value { get { fatalError() } nonmutating set {} }
    public var projectedValue: Binding<Value> { self }
    public subscript<Subject>(
        dynamicMember keyPath: WritableKeyPath<Value, Subject>
    ) -> Binding<Subject> { fatalError() }
}
extension Binding: @unchecked Sendable where Value: Sendable {}

@propertyWrapper public struct State<Value>: DynamicProperty {
    public init(wrappedValue value: Value) {}
    public init(initialValue value: Value) {}
    public var wrappedValue: Value { get { fatalError() } nonmutating set {} }
    public var projectedValue: Binding<Value> { fatalError() }
}
extension State: Sendable where Value: Sendable {}
extension State where Value: ExpressibleByNilLiteral {
    public init() {}
}

@propertyWrapper public struct Environment<Value>: DynamicProperty {
    public init(_ keyPath: KeyPath<EnvironmentValues, Value>) {}
    public var wrappedValue: Value { fatalError() }
}
extension Environment: Sendable where Value: Sendable {}

@MainActor @preconcurrency @propertyWrapper
public struct EnvironmentObject<ObjectType: ObservableObject>: DynamicProperty {
    nonisolated public init() {}
    @MainActor @preconcurrency public var wrappedValue: ObjectType { fatalError() }
}

@available(iOS 14, macOS 11, *)
@MainActor @preconcurrency @propertyWrapper public struct StateObject<ObjectType: ObservableObject>: DynamicProperty {
    nonisolated public init(wrappedValue thunk: @autoclosure @escaping () -> ObjectType) {}
    @MainActor @preconcurrency public var wrappedValue: ObjectType { fatalError() }
}

@available(iOS 15, macOS 12, *)
@propertyWrapper public struct FocusState<Value: Hashable>: DynamicProperty {
    @propertyWrapper public struct Binding {
        init(made: Never) {}
        public var wrappedValue: Value { get { fatalError() } nonmutating set {} }
        public var projectedValue: FocusState<Value>.Binding { self }
    }
    public init() where Value == Bool {}
    public init<T: Hashable>() where Value == T? {}
    public var wrappedValue: Value { get { fatalError() } nonmutating set {} }
    public var projectedValue: FocusState<Value>.Binding { fatalError() }
}

public protocol VectorArithmetic: AdditiveArithmetic {
    mutating func scale(by rhs: Double)
    var magnitudeSquared: Double { get }
}
extension Double: VectorArithmetic {
    public mutating func scale(by rhs: Double) {}
    public var magnitudeSquared: Double { fatalError() }
}
extension CGFloat: VectorArithmetic {
    public mutating func scale(by rhs: Double) {}
    public var magnitudeSquared: Double { fatalError() }
}

@available(iOS 14, macOS 11, *)
@propertyWrapper public struct ScaledMetric<Value: VectorArithmetic>: DynamicProperty {
    public init(wrappedValue: Value, relativeTo textStyle: Font.TextStyle) {}
    public init(wrappedValue: Value) {}
    public var wrappedValue: Value { fatalError() }
}

public protocol EnvironmentKey {
    associatedtype Value
    static var defaultValue: Self.Value { get }
}

public struct EnvironmentValues: CustomStringConvertible {
    public init() {}
    public subscript<K: EnvironmentKey>(key: K.Type) -> K.Value { get { fatalError() } set {} }
    public var description: String { fatalError() }
    public var layoutDirection: LayoutDirection { get { fatalError() } set {} }
}

extension EnvironmentValues {
    public var horizontalSizeClass: UserInterfaceSizeClass? { get { fatalError() } set {} }
    public var verticalSizeClass: UserInterfaceSizeClass? { get { fatalError() } set {} }
}

public enum UserInterfaceSizeClass: Sendable {
    case compact, regular
}

@available(iOS 14, macOS 11, *)
extension EnvironmentValues {
    public var scenePhase: ScenePhase { get { fatalError() } set {} }
}

@available(iOS 15, macOS 12, *)
extension EnvironmentValues {
    public var dynamicTypeSize: DynamicTypeSize { get { fatalError() } set {} }
}

public enum LayoutDirection: Hashable, CaseIterable, Sendable {
    case leftToRight, rightToLeft
}

@available(iOS 15, macOS 12, *)
public enum DynamicTypeSize: Hashable, Comparable, CaseIterable, Sendable {
    case xSmall, small, medium, large, xLarge, xxLarge, xxxLarge
    case accessibility1, accessibility2, accessibility3, accessibility4, accessibility5
    public var isAccessibilitySize: Bool { fatalError() }
}

public enum ColorScheme: CaseIterable, Sendable {
    case light, dark
}
