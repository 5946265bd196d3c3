// Where the book is on this device, and the files that are handed out of it.
import Foundation
import HangtrueCore

/// Opens the book in `folder` of the app's own container, making the folder when it is not there yet.
///
/// The files are readable from the first unlocking of the device on, not only while it is unlocked: a reading that was
/// accepted must reach the disk also when the device locks in that moment.
public func openBook(in folder: URL) throws -> HouseBook {
    try FileManager.default.createDirectory(at: folder, withIntermediateDirectories: true)
    #if canImport(UIKit)
    try FileManager.default.setAttributes([.protectionKey: FileProtectionType.completeUntilFirstUserAuthentication], ofItemAtPath: folder.path)
    #endif
    return try HouseBook.open(folder: folder.path)
}

/// A file of `text` that another app may be handed, in the app's folder for passing things.
public func handed(_ name: String, _ text: String) throws -> URL {
    let file = FileManager.default.temporaryDirectory.appendingPathComponent(fileName(name))
    try Data(text.utf8).write(to: file, options: [.atomic, .completeFileProtectionUnlessOpen])
    return file
}
