@_exported import Foundation
import UniformTypeIdentifiers

@MainActor open class UIResponder: NSObject {}

@MainActor open class UIView: UIResponder {
    public init(frame: CGRect) {}
    open var bounds: CGRect { get { fatalError() } set {} }
    open func viewPrintFormatter() -> UIViewPrintFormatter { fatalError() }
}

@MainActor open class UIWindow: UIView {
    open var rootViewController: UIViewController?
    open var isKeyWindow: Bool { fatalError() }
}

@MainActor open class UIScene: UIResponder {}
@MainActor open class UIWindowScene: UIScene {
    open var windows: [UIWindow] { fatalError() }
}

@MainActor open class UIApplication: UIResponder {
    open class var shared: UIApplication { fatalError() }
    open var connectedScenes: Set<UIScene> { fatalError() }
}

@MainActor open class UIPopoverPresentationController: NSObject {
    open var sourceView: UIView?
    open var sourceRect: CGRect = .zero
}

@MainActor open class UIViewController: UIResponder {
    open var view: UIView!
    open var presentedViewController: UIViewController? { fatalError() }
    open var popoverPresentationController: UIPopoverPresentationController? { fatalError() }
    open func present(
        _ viewControllerToPresent: UIViewController, animated flag: Bool, completion: (() -> Void)? = nil
    ) {}
    open func dismiss(animated flag: Bool, completion: (() -> Void)? = nil) {}
}

@MainActor open class UINavigationController: UIViewController {}
@MainActor public protocol UINavigationControllerDelegate: NSObjectProtocol {}

open class UIImage: NSObject, @unchecked Sendable {
    open func jpegData(compressionQuality: CGFloat) -> Data? { fatalError() }
}

@MainActor public protocol UIImagePickerControllerDelegate: NSObjectProtocol {
    func imagePickerController(
        _ picker: UIImagePickerController, didFinishPickingMediaWithInfo info: [UIImagePickerController.InfoKey: Any]
    )
    func imagePickerControllerDidCancel(_ picker: UIImagePickerController)
}

@MainActor open class UIImagePickerController: UINavigationController {
    public enum SourceType: Int, Sendable {
        case photoLibrary, camera, savedPhotosAlbum
    }
    public struct InfoKey: Hashable, Sendable {
        public static let originalImage = InfoKey()
        public static let imageURL = InfoKey()
    }
    open class func isSourceTypeAvailable(_ sourceType: SourceType) -> Bool { fatalError() }
    open weak var delegate: (any UIImagePickerControllerDelegate & UINavigationControllerDelegate)?
    open var sourceType: SourceType = .photoLibrary
}

@MainActor public protocol UIDocumentPickerDelegate: NSObjectProtocol {
    func documentPicker(_ controller: UIDocumentPickerViewController, didPickDocumentsAt urls: [URL])
    func documentPickerWasCancelled(_ controller: UIDocumentPickerViewController)
}

@MainActor open class UIPrintFormatter: NSObject {}
@MainActor open class UIViewPrintFormatter: UIPrintFormatter {}

@MainActor open class UIPrintInfo: NSObject {
    public enum OutputType: Int, Sendable {
        case general, photo, grayscale, photoGrayscale
    }
    @discardableResult open class func printInfo() -> UIPrintInfo { fatalError() }
    open var jobName: String = ""
    open var outputType: OutputType = .general
}

@MainActor open class UIPrintInteractionController: NSObject {
    public typealias CompletionHandler = (UIPrintInteractionController, Bool, (any Error)?) -> Void
    open class var shared: UIPrintInteractionController { fatalError() }
    open class var isPrintingAvailable: Bool { fatalError() }
    open var printInfo: UIPrintInfo?
    open var printFormatter: UIPrintFormatter?
    // what Objective-C returns may be left unused
    @discardableResult
    open func present(animated: Bool, completionHandler completion: CompletionHandler? = nil) -> Bool { fatalError() }
}

@MainActor open class UIDocumentPickerViewController: UIViewController {
    @available(iOS 14, *)
    public init(forOpeningContentTypes contentTypes: [UTType], asCopy: Bool) {}
    @available(iOS 14, *)
    public convenience init(forOpeningContentTypes contentTypes: [UTType]) { fatalError() }
    @available(iOS 14, *)
    public init(forExporting urls: [URL], asCopy: Bool) {}
    open weak var delegate: (any UIDocumentPickerDelegate)?
}
