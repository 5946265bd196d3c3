import Foundation
import UniformTypeIdentifiers

@available(iOS 16, macOS 13, *)
public protocol Transferable: Sendable {
    associatedtype Representation: TransferRepresentation
    @TransferRepresentationBuilder<Self> static var transferRepresentation: Representation { get }
}

@available(iOS 16, macOS 13, *)
public protocol TransferRepresentation<Item>: Sendable {
    associatedtype Item: Transferable
    associatedtype Body: TransferRepresentation
    @TransferRepresentationBuilder<Item> var body: Body { get }
}

@available(iOS 16, macOS 13, *)
extension Never: Transferable {
    public static var transferRepresentation: Never { return fatalError() }
}

@available(iOS 16, macOS 13, *)
extension Never: TransferRepresentation {
    public typealias Item = Never
    public typealias Body = Never
    public var body: Never { return fatalError() }
}

@available(iOS 16, macOS 13, *)
@resultBuilder
public struct TransferRepresentationBuilder<Item: Transferable> {
    public static func buildExpression<Content: TransferRepresentation>(
        _ content: Content
    ) -> Content where Item == Content.Item {
        content
    }
    public static func buildBlock<Content: TransferRepresentation>(
        _ content: Content
    ) -> Content where Item == Content.Item {
        content
    }
}

@available(iOS 16, macOS 13, *)
public struct SentTransferredFile: Sendable {
    public let file: URL
    public let allowAccessingOriginalFile: Bool
    public init(_ file: URL, allowAccessingOriginalFile: Bool = false) { fatalError() }
}

@available(iOS 16, macOS 13, *)
public struct FileRepresentation<Item: Transferable>: TransferRepresentation {
    public typealias Body = Never
    public var body: Never { return fatalError() }
    public init(
        exportedContentType: UTType, shouldAllowToOpenInPlace: Bool = false,
        exporting: @escaping @Sendable (Item) async throws -> SentTransferredFile
    ) {}
}
