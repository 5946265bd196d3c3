import UIKit

@MainActor open class WKWebpagePreferences: NSObject {
    @available(iOS 14, *)
    open var allowsContentJavaScript: Bool { get { fatalError() } set {} }
}

@MainActor open class WKWebViewConfiguration: NSObject {
    open var defaultWebpagePreferences: WKWebpagePreferences!
}

@MainActor open class WKNavigation: NSObject {}

@MainActor public protocol WKNavigationDelegate: NSObjectProtocol {
    func webView(_ webView: WKWebView, didFinish navigation: WKNavigation!)
}

@MainActor open class WKWebView: UIView {
    public init(frame: CGRect, configuration: WKWebViewConfiguration) { fatalError() }
    open weak var navigationDelegate: (any WKNavigationDelegate)?
    @discardableResult
    open func loadHTMLString(_ string: String, baseURL: URL?) -> WKNavigation? { fatalError() }
}
