// Where the book is on this device.
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
