// Where the open book stands between two calls.
import Foundation
import HangtrueCore

/// The open book, opened when it is first wanted. Only the line's own thread opens it; the lock is for those that ask it to
/// finish writing.
final class Shelf: @unchecked Sendable {
    private let lock = NSLock()
    private let open: @Sendable () throws -> HouseBook
    private var book: HouseBook?

    init(_ open: @escaping @Sendable () throws -> HouseBook) {
        self.open = open
    }

    /// The book. A book that could not be opened is tried again at the next call.
    func opened() throws -> HouseBook {
        lock.lock()
        defer { lock.unlock() }
        if let book { return book }
        let fresh = try open()
        book = fresh
        return fresh
    }

    /// Finishes writing, if the book is open.
    func pause() throws {
        lock.lock()
        defer { lock.unlock() }
        try book?.pause()
    }

    /// Lets go of the book. What was acknowledged is on the disk.
    func close() {
        lock.lock()
        defer { lock.unlock() }
        book = nil
    }
}
