import Foundation

@available(iOS 17, macOS 14, *)
public struct AccessibilityNotification: Sendable {
    public struct Announcement: Sendable {
        public init(_ announcement: String) {}
        public init(_ announcement: AttributedString) {}
        public func post() {}
    }
}
