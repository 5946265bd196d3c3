import Foundation

// Core Foundation's are bridged to these without a word; on Linux there is no Core Foundation to import.
public typealias CFArray = NSArray
public typealias CFData = NSData

public class SecTrust {}
public class SecCertificate {}

public enum tls_protocol_version_t: UInt16, Sendable {
    case TLSv10 = 0x0301
    case TLSv11 = 0x0302
    case TLSv12 = 0x0303
    case TLSv13 = 0x0304
}

@available(iOS 15, macOS 12, *)
public func SecTrustCopyCertificateChain(_ trust: SecTrust) -> CFArray? { fatalError() }
public func SecCertificateCopyData(_ certificate: SecCertificate) -> CFData { fatalError() }
