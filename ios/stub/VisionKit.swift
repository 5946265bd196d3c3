import UIKit
import Vision

@available(iOS 16, *)
public enum RecognizedItem: Identifiable, Sendable {
    case text(Text)
    case barcode(Barcode)
    public var id: UUID { fatalError() }
    public struct Text: Identifiable, Sendable {
        public let id: UUID
    }
    public struct Barcode: Identifiable, Sendable {
        public let id: UUID
        public let payloadStringValue: String?
    }
}

// The real one brings a default for every method: only those that the app implements are demanded here.
@available(iOS 16, *)
@MainActor public protocol DataScannerViewControllerDelegate: AnyObject {
    func dataScanner(
        _ dataScanner: DataScannerViewController, didAdd addedItems: [RecognizedItem], allItems: [RecognizedItem]
    )
}

@available(iOS 16, *)
@MainActor public class DataScannerViewController: UIViewController {
    public struct RecognizedDataType: Hashable, Sendable {
        public static func barcode(symbologies: [VNBarcodeSymbology] = []) -> RecognizedDataType { fatalError() }
    }
    public enum QualityLevel: Sendable {
        case balanced, fast, accurate
    }
    public class var isSupported: Bool { fatalError() }
    public class var isAvailable: Bool { fatalError() }
    public init(
        recognizedDataTypes: Set<RecognizedDataType>, qualityLevel: QualityLevel = .balanced,
        recognizesMultipleItems: Bool = false, isHighFrameRateTrackingEnabled: Bool = true,
        isPinchToZoomEnabled: Bool = true, isGuidanceEnabled: Bool = true, isHighlightingEnabled: Bool = false
    ) {}
    public weak var delegate: (any DataScannerViewControllerDelegate)?
    public func startScanning() throws {}
    public func stopScanning() {}
}
