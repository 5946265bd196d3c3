// The platform's own HTTPS client, as the core wants it: TLS 1.3, no proxy, no redirect, and the one certificate that the
// workroom showed when this device was paired, whatever name or date it bears.
// Only where there is Apple's Security framework: elsewhere Foundation cannot be told which certificate to accept.
#if canImport(Security)
import CryptoKit
import Foundation
import HangtrueCore
import Security

/// Reaches the workroom's hub through `URLSession`. It blocks: the exchange's own line is where it is called.
public final class PinnedHttp: HubHttp {
    /// A client; each request has a session of its own.
    public init() {}

    public func send(request: HubRequest) throws -> HubAnswer {
        guard let url = URL(string: request.url) else { throw HttpFault.NotReached(reason: "\"\(request.url)\" is no address") }
        var sent = URLRequest(url: url, cachePolicy: .reloadIgnoringLocalCacheData, timeoutInterval: Double(request.seconds))
        sent.httpMethod = request.method
        if !request.body.isEmpty { sent.httpBody = request.body }
        for header in request.headers { sent.setValue(header.value, forHTTPHeaderField: header.name) }
        let settings = URLSessionConfiguration.ephemeral
        settings.tlsMinimumSupportedProtocolVersion = .TLSv13
        settings.timeoutIntervalForResource = Double(request.seconds)
        settings.connectionProxyDictionary = [:]
        let answer = Answer(certificate: request.certificateSha256, most: request.most)
        let session = URLSession(configuration: settings, delegate: answer, delegateQueue: nil)
        defer { session.invalidateAndCancel() }
        session.dataTask(with: sent).resume()
        return try answer.wait()
    }
}

/// One answer on its way in. Its session calls it on one queue; the lock is for who waits.
private final class Answer: NSObject, URLSessionDataDelegate, @unchecked Sendable {
    private let certificate: String
    private let most: UInt64
    private let lock = NSLock()
    private let whole = DispatchSemaphore(value: 0)
    private var met = false
    private var stranger: String?
    private var status: UInt16?
    private var body = Data()
    private var problem: String?

    init(certificate: String, most: UInt64) {
        self.certificate = certificate
        self.most = most
    }

    /// Waits for the whole answer, or for why there is none.
    func wait() throws -> HubAnswer {
        whole.wait()
        return try lock.withLock {
            if let stranger { throw HttpFault.NotReached(reason: stranger) }
            if let status, problem == nil { return HubAnswer(status: status, body: body) }
            let why = problem ?? "there was no answer"
            throw met ? HttpFault.BrokenOff(reason: why) : HttpFault.NotReached(reason: why)
        }
    }

    func urlSession(
        _ session: URLSession, didReceive challenge: URLAuthenticationChallenge,
        completionHandler: @escaping @Sendable (URLSession.AuthChallengeDisposition, URLCredential?) -> Void
    ) {
        guard challenge.protectionSpace.authenticationMethod == NSURLAuthenticationMethodServerTrust,
              let trust = challenge.protectionSpace.serverTrust
        else { return completionHandler(.performDefaultHandling, nil) }
        let chain = SecTrustCopyCertificateChain(trust) as? [SecCertificate]
        let seen = chain?.first.map { SHA256.hash(data: SecCertificateCopyData($0) as Data).map { String(format: "%02x", $0) }.joined() }
        if let seen, seen == certificate {
            lock.withLock { met = true }
            completionHandler(.useCredential, URLCredential(trust: trust))
        } else {
            lock.withLock { stranger = "the certificate there is not the one that this device was paired with" }
            completionHandler(.cancelAuthenticationChallenge, nil)
        }
    }

    func urlSession(
        _ session: URLSession, task: URLSessionTask, willPerformHTTPRedirection response: HTTPURLResponse, newRequest request: URLRequest,
        completionHandler: @escaping @Sendable (URLRequest?) -> Void
    ) {
        completionHandler(nil)
    }

    func urlSession(
        _ session: URLSession, dataTask: URLSessionDataTask, didReceive response: URLResponse,
        completionHandler: @escaping @Sendable (URLSession.ResponseDisposition) -> Void
    ) {
        let code = (response as? HTTPURLResponse)?.statusCode
        lock.withLock { status = code.flatMap { UInt16(exactly: $0) } }
        completionHandler(.allow)
    }

    func urlSession(_ session: URLSession, dataTask: URLSessionDataTask, didReceive data: Data) {
        let full = lock.withLock {
            // one byte more than is wanted shows that it is too long, and no further
            let room = Int(clamping: most) - body.count + 1
            body.append(data.prefix(max(0, room)))
            return body.count > Int(clamping: most)
        }
        if full {
            whole.signal()
            dataTask.cancel()
        }
    }

    func urlSession(_ session: URLSession, task: URLSessionTask, didCompleteWithError error: (any Error)?) {
        lock.withLock { problem = error?.localizedDescription }
        whole.signal()
    }
}
#endif
