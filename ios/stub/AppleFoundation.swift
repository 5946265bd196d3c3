// What Apple's Foundation has and Linux's has not, or has in FoundationNetworking under other signatures. check.sh
// imports this module into every file, which is as near as it comes to being a part of Foundation.
import Foundation
import Security

extension URL {
    @available(iOS 16, macOS 13, *)
    public static var applicationSupportDirectory: URL { fatalError() }
    public func startAccessingSecurityScopedResource() -> Bool { fatalError() }
    public func stopAccessingSecurityScopedResource() {}
}

public struct URLRequest: Equatable, Hashable, Sendable {
    public enum CachePolicy: UInt, Sendable {
        case useProtocolCachePolicy, reloadIgnoringLocalCacheData, reloadIgnoringLocalAndRemoteCacheData
        case returnCacheDataElseLoad, returnCacheDataDontLoad, reloadRevalidatingCacheData
    }
    public init(url: URL, cachePolicy: CachePolicy = .useProtocolCachePolicy, timeoutInterval: TimeInterval = 60.0) {}
    public var httpMethod: String?
    public var httpBody: Data?
    public mutating func setValue(_ value: String?, forHTTPHeaderField field: String) {}
}

open class URLResponse: NSObject, @unchecked Sendable {}
open class HTTPURLResponse: URLResponse, @unchecked Sendable {
    open var statusCode: Int { fatalError() }
}

public let NSURLAuthenticationMethodServerTrust: String = "NSURLAuthenticationMethodServerTrust"

open class URLProtectionSpace: NSObject, @unchecked Sendable {
    open var authenticationMethod: String { fatalError() }
    open var serverTrust: SecTrust? { fatalError() }
}

open class URLAuthenticationChallenge: NSObject, @unchecked Sendable {
    open var protectionSpace: URLProtectionSpace { fatalError() }
}

open class URLCredential: NSObject, @unchecked Sendable {
    public init(trust: SecTrust) {}
}

open class URLSessionConfiguration: NSObject, @unchecked Sendable {
    open class var ephemeral: URLSessionConfiguration { fatalError() }
    open var tlsMinimumSupportedProtocolVersion: tls_protocol_version_t = .TLSv12
    open var timeoutIntervalForRequest: TimeInterval = 0
    open var timeoutIntervalForResource: TimeInterval = 0
    open var connectionProxyDictionary: [AnyHashable: Any]?
}

open class URLSessionTask: NSObject, @unchecked Sendable {
    open func cancel() {}
    open func resume() {}
}
open class URLSessionDataTask: URLSessionTask, @unchecked Sendable {}

open class URLSession: NSObject, @unchecked Sendable {
    public enum AuthChallengeDisposition: Int, Sendable {
        case useCredential, performDefaultHandling, cancelAuthenticationChallenge, rejectProtectionSpace
    }
    public enum ResponseDisposition: Int, Sendable {
        case cancel, allow, becomeDownload, becomeStream
    }
    public init(configuration: URLSessionConfiguration) {}
    public init(
        configuration: URLSessionConfiguration, delegate: (any URLSessionDelegate)?,
        delegateQueue queue: OperationQueue?
    ) {}
    open func invalidateAndCancel() {}
    open func dataTask(with request: URLRequest) -> URLSessionDataTask { fatalError() }
    open func dataTask(with url: URL) -> URLSessionDataTask { fatalError() }
}

public protocol URLSessionDelegate: NSObjectProtocol, Sendable {
    func urlSession(
        _ session: URLSession, didReceive challenge: URLAuthenticationChallenge,
        completionHandler: @escaping @Sendable (URLSession.AuthChallengeDisposition, URLCredential?) -> Void
    )
}

public protocol URLSessionTaskDelegate: URLSessionDelegate {
    func urlSession(
        _ session: URLSession, task: URLSessionTask, willPerformHTTPRedirection response: HTTPURLResponse,
        newRequest request: URLRequest, completionHandler: @escaping @Sendable (URLRequest?) -> Void
    )
    func urlSession(_ session: URLSession, task: URLSessionTask, didCompleteWithError error: (any Error)?)
}

public protocol URLSessionDataDelegate: URLSessionTaskDelegate {
    func urlSession(
        _ session: URLSession, dataTask: URLSessionDataTask, didReceive response: URLResponse,
        completionHandler: @escaping @Sendable (URLSession.ResponseDisposition) -> Void
    )
    func urlSession(_ session: URLSession, dataTask: URLSessionDataTask, didReceive data: Data)
}
