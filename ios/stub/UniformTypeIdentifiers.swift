import Foundation

@available(iOS 14, macOS 11, *)
public struct UTType: Hashable, Sendable {
    public static var data: UTType { fatalError() }
    public static var folder: UTType { fatalError() }
    public static var html: UTType { fatalError() }
    public static var json: UTType { fatalError() }
    public static var plainText: UTType { fatalError() }
}
