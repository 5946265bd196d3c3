// The ways out of the app: the system's own printer, document picker and camera. What is shared goes by the screens' own
// links.
import HangtrueScreens
import HangtrueState
import UIKit
import UniformTypeIdentifiers
import Vision
import VisionKit
import WebKit

/// The device around the screens.
@MainActor
final class Device: NSObject, Outside {
    private let state: WalkState
    /// What the photo that is being taken is for.
    private var photo: (on: String, caption: String)?
    /// What a picked folder and a scanned code are for; nothing when a house file is picked.
    private var folder: (@MainActor (String, @escaping @MainActor @Sendable () -> Void) -> Void)?
    private var scanned: (@MainActor (String) -> Void)?
    /// What is being laid out for the printer; nothing else holds it meanwhile.
    private var laying: (web: WKWebView, title: String)?

    init(_ state: WalkState) {
        self.state = state
    }

    func takePhoto(on: String, caption: String) {
        guard UIImagePickerController.isSourceTypeAvailable(.camera) else { return state.tell("There is no camera on this device.") }
        photo = (on, caption)
        let camera = UIImagePickerController()
        camera.sourceType = .camera
        camera.delegate = self
        present(camera)
    }

    func print(title: String, html: String) {
        guard UIPrintInteractionController.isPrintingAvailable else { return state.tell("This device cannot print.") }
        // the sheets fetch nothing and run nothing: neither is allowed
        let settings = WKWebViewConfiguration()
        settings.defaultWebpagePreferences.allowsContentJavaScript = false
        let web = WKWebView(frame: CGRect(x: 0, y: 0, width: 612, height: 792), configuration: settings)
        web.navigationDelegate = self
        laying = (web, title)
        web.loadHTMLString(html, baseURL: nil)
    }

    func pickHouse() {
        folder = nil
        let picker = UIDocumentPickerViewController(forOpeningContentTypes: [.json, .plainText, .data], asCopy: true)
        picker.delegate = self
        present(picker)
    }

    func pickFolder(then: @escaping @MainActor (String, @escaping @MainActor @Sendable () -> Void) -> Void) {
        folder = then
        let picker = UIDocumentPickerViewController(forOpeningContentTypes: [.folder])
        picker.delegate = self
        present(picker)
    }

    func scanCode(then: @escaping @MainActor (String) -> Void) {
        guard DataScannerViewController.isSupported, DataScannerViewController.isAvailable else {
            return state.tell("This device cannot scan. Type the code as text.")
        }
        scanned = then
        let scanner = DataScannerViewController(recognizedDataTypes: [.barcode(symbologies: [.qr])], isHighlightingEnabled: true)
        scanner.delegate = self
        // it scans what it shows: not before it is shown
        present(scanner) { [state] in
            do {
                try scanner.startScanning()
            } catch {
                state.tell("The camera did not start: \(error.localizedDescription)")
            }
        }
    }

    func save(name: String, text: String) {
        do {
            present(UIDocumentPickerViewController(forExporting: [try handed(name, text)], asCopy: true))
        } catch {
            state.tell("The file could not be written: \(error.localizedDescription)")
        }
    }

    private func present(_ controller: UIViewController, then: (() -> Void)? = nil) {
        let windows = UIApplication.shared.connectedScenes.compactMap { $0 as? UIWindowScene }.flatMap(\.windows)
        guard var top = windows.first(where: \.isKeyWindow)?.rootViewController else { return }
        while let next = top.presentedViewController { top = next }
        // on a tablet what pops over hangs on something: the middle of the foot, near either thumb
        controller.popoverPresentationController?.sourceView = top.view
        controller.popoverPresentationController?.sourceRect = CGRect(x: top.view.bounds.midX, y: top.view.bounds.maxY - 60, width: 1, height: 1)
        top.present(controller, animated: true, completion: then)
    }
}

extension Device: UIImagePickerControllerDelegate, UINavigationControllerDelegate {
    func imagePickerController(_ picker: UIImagePickerController, didFinishPickingMediaWithInfo info: [UIImagePickerController.InfoKey: Any]) {
        let image = info[.originalImage] as? UIImage
        picker.dismiss(animated: true)
        guard let photo else { return }
        self.photo = nil
        guard let bytes = image?.jpegData(compressionQuality: 0.85) else { return state.tell("The camera left no photo. Take it again.") }
        state.addPhoto(on: photo.on, bytes: bytes, caption: photo.caption)
    }

    func imagePickerControllerDidCancel(_ picker: UIImagePickerController) {
        photo = nil
        picker.dismiss(animated: true)
    }
}

extension Device: UIDocumentPickerDelegate {
    func documentPickerWasCancelled(_ controller: UIDocumentPickerViewController) {
        folder = nil
    }

    func documentPicker(_ controller: UIDocumentPickerViewController, didPickDocumentsAt urls: [URL]) {
        guard let url = urls.first else { return }
        if let folder {
            self.folder = nil
            // another app's folder may be used only between these two
            let ours = url.startAccessingSecurityScopedResource()
            return folder(url.path) { if ours { url.stopAccessingSecurityScopedResource() } }
        }
        do {
            state.takeIn(try String(contentsOf: url, encoding: .utf8))
        } catch {
            state.tell("The file could not be read: \(error.localizedDescription) Pick it again.")
        }
    }
}

extension Device: WKNavigationDelegate {
    func webView(_ webView: WKWebView, didFinish navigation: WKNavigation!) {
        guard let laying, laying.web === webView else { return }
        let info = UIPrintInfo.printInfo()
        info.jobName = laying.title
        info.outputType = .general
        let printer = UIPrintInteractionController.shared
        printer.printInfo = info
        printer.printFormatter = webView.viewPrintFormatter()
        printer.present(animated: true) { [weak self] _, _, error in
            let said = error?.localizedDescription
            Task { @MainActor in
                self?.laying = nil
                if let said { self?.state.tell("It was not printed: \(said)") }
            }
        }
    }
}

extension Device: DataScannerViewControllerDelegate {
    func dataScanner(_ dataScanner: DataScannerViewController, didAdd addedItems: [RecognizedItem], allItems: [RecognizedItem]) {
        for case .barcode(let code) in addedItems {
            guard let text = code.payloadStringValue, let scanned else { continue }
            self.scanned = nil
            dataScanner.stopScanning()
            dataScanner.dismiss(animated: true)
            return scanned(text)
        }
    }
}
