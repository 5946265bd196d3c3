import Foundation

public protocol Digest: Hashable, ContiguousBytes, CustomStringConvertible, Sequence, Sendable where Element == UInt8 {
    static var byteCount: Int { get }
}

public struct SHA256Digest: Digest {
    public static var byteCount: Int { 32 }
    public var description: String { fatalError() }
    public func makeIterator() -> Array<UInt8>.Iterator { fatalError() }
    public func withUnsafeBytes<R>(_ body: (UnsafeRawBufferPointer) throws -> R) rethrows -> R { fatalError() }
}

public struct SHA256: Sendable {
    public typealias Digest = SHA256Digest
    public static func hash<D: DataProtocol>(data: D) -> SHA256Digest { fatalError() }
}
