// Colours, words, pictures, geometry, shapes, the canvas.

public protocol ShapeStyle: Sendable {}

public struct Color: Hashable, CustomStringConvertible, Sendable, ShapeStyle, _Drawn {
    public enum RGBColorSpace: Sendable {
        case sRGB, sRGBLinear, displayP3
    }
    nonisolated public init(
        _ colorSpace: RGBColorSpace = .sRGB, red: Double, green: Double, blue: Double, opacity: Double = 1
    ) {}
    public static let clear = Color(red: 0, green: 0, blue: 0)
    nonisolated public var description: String { fatalError() }
    nonisolated public func opacity(_ opacity: Double) -> Color { fatalError() }
}
extension ShapeStyle where Self == Color {
    public static var clear: Color { fatalError() }
}

public struct Font: Hashable, Sendable {
    public struct Weight: Hashable, Sendable {
        public static let ultraLight = Weight(), thin = Weight(), light = Weight()
        public static let regular = Weight(), medium = Weight()
        public static let semibold = Weight(), bold = Weight(), heavy = Weight(), black = Weight()
    }
    public enum TextStyle: CaseIterable, Sendable {
        case largeTitle, title, headline, subheadline, body, callout, footnote, caption
        @available(iOS 14, macOS 11, *)
        case title2
        @available(iOS 14, macOS 11, *)
        case title3
        @available(iOS 14, macOS 11, *)
        case caption2
        public static var allCases: [TextStyle] { fatalError() }
    }
    public enum Design: Hashable, Sendable {
        case `default`, serif, rounded, monospaced
    }
    public static let largeTitle = Font(), title = Font(), headline = Font(), subheadline = Font(), body = Font()
    public static let callout = Font(), footnote = Font(), caption = Font()
    @available(iOS 14, macOS 11, *)
    public static let title2 = Font()
    @available(iOS 14, macOS 11, *)
    public static let title3 = Font()
    public func bold() -> Font { fatalError() }
    public func weight(_ weight: Weight) -> Font { fatalError() }
    @available(iOS 16, macOS 13, *)
    public static func system(size: CGFloat, weight: Weight? = nil, design: Design? = nil) -> Font { fatalError() }
    @available(iOS 16, macOS 13, *)
    public static func system(_ style: TextStyle, design: Design? = nil, weight: Weight? = nil) -> Font { fatalError() }
}

public struct LocalizedStringKey: Equatable, ExpressibleByStringInterpolation {
    public init(_ value: String) {}
    public init(stringLiteral value: String) {}
}

public struct Text: Equatable, Sendable, _Drawn {
    nonisolated public init(verbatim content: String) {}
    @_disfavoredOverload nonisolated public init<S: StringProtocol>(_ content: S) {}
    nonisolated public init(_ key: LocalizedStringKey) {}
    nonisolated public func font(_ font: Font?) -> Text { fatalError() }
    nonisolated public func fontWeight(_ weight: Font.Weight?) -> Text { fatalError() }
    @available(iOS 17, macOS 14, *)
    nonisolated public func foregroundStyle<S: ShapeStyle>(_ style: S) -> Text { fatalError() }
}

public enum TextAlignment: Hashable, CaseIterable, Sendable {
    case leading, center, trailing
}

public struct Image: Equatable, Sendable, _Drawn {
    @available(iOS 13, macOS 11, *)
    nonisolated public init(systemName: String) {}
}

public struct UnitPoint: Hashable, Sendable {
    public static let center = UnitPoint(), leading = UnitPoint(), trailing = UnitPoint(), top = UnitPoint()
    public static let bottom = UnitPoint(), topLeading = UnitPoint()
}

public struct HorizontalAlignment: Equatable, Sendable {
    public static let leading = HorizontalAlignment(), center = HorizontalAlignment(), trailing = HorizontalAlignment()
}

public struct VerticalAlignment: Equatable, Sendable {
    public static let top = VerticalAlignment(), center = VerticalAlignment(), bottom = VerticalAlignment()
    public static let firstTextBaseline = VerticalAlignment(), lastTextBaseline = VerticalAlignment()
}

public struct Alignment: Equatable, Sendable {
    public static let center = Alignment(), leading = Alignment(), trailing = Alignment()
    public static let top = Alignment(), bottom = Alignment()
    public static let topLeading = Alignment(), topTrailing = Alignment()
    public static let bottomLeading = Alignment(), bottomTrailing = Alignment()
}

public enum Axis: Int8, CaseIterable, Sendable {
    case horizontal, vertical
    public struct Set: OptionSet, Sendable {
        public let rawValue: Int8
        public init(rawValue: Int8) { self.rawValue = rawValue }
        public static let horizontal = Set(rawValue: 1), vertical = Set(rawValue: 2)
    }
}

public enum Edge: Int8, CaseIterable, Sendable {
    case top, leading, bottom, trailing
    public struct Set: OptionSet, Sendable {
        public let rawValue: Int8
        public init(rawValue: Int8) { self.rawValue = rawValue }
        public static let top = Set(rawValue: 1), leading = Set(rawValue: 2)
        public static let bottom = Set(rawValue: 4), trailing = Set(rawValue: 8)
        public static let all = Set(rawValue: 15), horizontal = Set(rawValue: 10), vertical = Set(rawValue: 5)
    }
}

@available(iOS 14, macOS 11, *)
public struct SafeAreaRegions: OptionSet, Sendable {
    public let rawValue: UInt
    public init(rawValue: UInt) { self.rawValue = rawValue }
    public static let container = SafeAreaRegions(rawValue: 1), keyboard = SafeAreaRegions(rawValue: 2)
    public static let all = SafeAreaRegions(rawValue: .max)
}

public struct Angle: Hashable, Sendable {
    public init(degrees: Double) {}
    public static func degrees(_ degrees: Double) -> Angle { fatalError() }
    public static func radians(_ radians: Double) -> Angle { fatalError() }
}

public enum CGLineCap: Int32, Sendable {
    case butt, round, square
}

public enum CGLineJoin: Int32, Sendable {
    case miter, round, bevel
}

public struct FillStyle: Equatable, Sendable {
    public init(eoFill: Bool = false, antialiased: Bool = true) {}
}

public struct StrokeStyle: Equatable, Sendable {
    public init(
        lineWidth: CGFloat = 1, lineCap: CGLineCap = .butt, lineJoin: CGLineJoin = .miter, miterLimit: CGFloat = 10,
        dash: [CGFloat] = [CGFloat](), dashPhase: CGFloat = 0
    ) {}
}

public enum RoundedCornerStyle: Sendable {
    case circular, continuous
}

public protocol Animatable {}

public protocol Shape: Sendable, Animatable, View {
    nonisolated func path(in rect: CGRect) -> Path
}

public protocol InsettableShape: Shape {
    associatedtype InsetShape: InsettableShape
    nonisolated func inset(by amount: CGFloat) -> InsetShape
}

public struct _ShapeView<Content>: _Drawn {
    nonisolated init() {}
}

extension Shape {
    public var body: _ShapeView<Self> { _ShapeView() }
    nonisolated public func fill<S: ShapeStyle>(
        _ content: S, style: FillStyle = FillStyle()
    ) -> some View { _ShapeView<S>() }
    nonisolated public func stroke<S: ShapeStyle>(_ content: S, lineWidth: CGFloat = 1) -> some View { _ShapeView<S>() }
}

extension InsettableShape {
    nonisolated public func strokeBorder<S: ShapeStyle>(
        _ content: S, style: StrokeStyle, antialiased: Bool = true
    ) -> some View { _ShapeView<S>() }
    nonisolated public func strokeBorder<S: ShapeStyle>(
        _ content: S, lineWidth: CGFloat = 1, antialiased: Bool = true
    ) -> some View { _ShapeView<S>() }
}

public struct Circle: InsettableShape {
    public typealias Body = _ShapeView<Circle>
    nonisolated public init() {}
    nonisolated public func path(in rect: CGRect) -> Path { fatalError() }
    nonisolated public func inset(by amount: CGFloat) -> some InsettableShape { self }
}

public struct Rectangle: InsettableShape {
    public typealias Body = _ShapeView<Rectangle>
    nonisolated public init() {}
    nonisolated public func path(in rect: CGRect) -> Path { fatalError() }
    nonisolated public func inset(by amount: CGFloat) -> some InsettableShape { self }
}

public struct RoundedRectangle: InsettableShape {
    public typealias Body = _ShapeView<RoundedRectangle>
    nonisolated public init(cornerSize: CGSize, style: RoundedCornerStyle = .continuous) {}
    nonisolated public init(cornerRadius: CGFloat, style: RoundedCornerStyle = .continuous) {}
    nonisolated public func path(in rect: CGRect) -> Path { fatalError() }
    nonisolated public func inset(by amount: CGFloat) -> some InsettableShape { self }
}

public struct Path: Equatable, Sendable, Shape {
    public typealias Body = _ShapeView<Path>
    nonisolated public init() {}
    nonisolated public init(_ rect: CGRect) {}
    nonisolated public init(roundedRect rect: CGRect, cornerSize: CGSize, style: RoundedCornerStyle = .continuous) {}
    nonisolated public init(roundedRect rect: CGRect, cornerRadius: CGFloat, style: RoundedCornerStyle = .continuous) {}
    nonisolated public init(ellipseIn rect: CGRect) {}
    nonisolated public init(_ callback: (inout Path) -> Void) {}
    nonisolated public func path(in rect: CGRect) -> Path { self }
    nonisolated public mutating func move(to end: CGPoint) {}
    nonisolated public mutating func addLine(to end: CGPoint) {}
    nonisolated public mutating func addLines(_ lines: [CGPoint]) {}
    nonisolated public mutating func closeSubpath() {}
}

@available(iOS 15, macOS 12, *)
public struct GraphicsContext {
    public struct Shading: Sendable {
        public static func color(_ color: Color) -> Shading { fatalError() }
    }
    public struct ResolvedText {
        public func measure(in size: CGSize) -> CGSize { fatalError() }
    }
    public func resolve(_ text: Text) -> ResolvedText { fatalError() }
    public func fill(_ path: Path, with shading: Shading, style: FillStyle = FillStyle()) {}
    public func stroke(_ path: Path, with shading: Shading, style: StrokeStyle) {}
    public func stroke(_ path: Path, with shading: Shading, lineWidth: CGFloat = 1) {}
    public func draw(_ text: ResolvedText, in rect: CGRect) {}
    public func draw(_ text: ResolvedText, at point: CGPoint, anchor: UnitPoint = .center) {}
    public func draw(_ text: Text, in rect: CGRect) {}
    public func draw(_ text: Text, at point: CGPoint, anchor: UnitPoint = .center) {}
    public mutating func translateBy(x: CGFloat, y: CGFloat) {}
    public mutating func rotate(by angle: Angle) {}
}

@available(iOS 15, macOS 12, *)
public enum ColorRenderingMode: Sendable {
    case nonLinear, linear, extendedLinear
}

@available(iOS 15, macOS 12, *)
public struct Canvas<Symbols: View>: _Drawn {}

@available(iOS 15, macOS 12, *)
extension Canvas where Symbols == EmptyView {
    nonisolated public init(
        opaque: Bool = false, colorMode: ColorRenderingMode = .nonLinear, rendersAsynchronously: Bool = false,
        renderer: @escaping (inout GraphicsContext, CGSize) -> Void
    ) {}
}
