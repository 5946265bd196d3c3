// What stands between the screens and the core: the screen that is shown now, and the one line in which touches reach the
// core. Nothing is decided here, and nothing is kept here that the core does not have on the disk. Read this first if you
// change a screen.
import Foundation
@_exported import HangtrueCore

/// Hands the event of a touch back to the core.
public typealias Act = @MainActor (Event) -> Void

/// The screens' state: what the core shows now, and touches on their way to it. Kept for as long as the app's process.
@MainActor
public final class WalkState {
    /// What is shown; nothing until the book is open.
    public private(set) var screen: Screen? { willSet { willChange?() } }

    /// What the core refused last, or the disk: what was wrong and what would be right.
    public private(set) var trouble: String? { willSet { willChange?() } }

    /// What there was to say when the book was opened: damage that was mended, a full disk.
    public private(set) var opening: [String] = [] { willSet { willChange?() } }

    /// Touches that the core has not answered yet.
    public private(set) var waiting = 0 { willSet { willChange?() } }

    /// True while the sheets of the open house are shown over it.
    public private(set) var sheets = false { willSet { willChange?() } }

    /// What a screen reader is to say next, and how often there was something: the same words twice are said twice.
    public private(set) var said = Said(words: "", count: 0) { willSet { willChange?() } }

    /// Called before any of the above changes: what draws the screens listens here.
    public var willChange: (@MainActor () -> Void)?

    /// True where `back` leads somewhere inside the app.
    public var canGoBack: Bool { sheets || screen?.back != nil }

    private let line: any Line
    let shelf: Shelf

    /// Opens the book on `line` and shows its first screen.
    public init(_ line: any Line, open: @escaping @Sendable () throws -> HouseBook) {
        self.line = line
        shelf = Shelf(open)
        reopen()
    }

    /// Opens the book if it is not open, and shows the screen as it stands: at the start, and when opening it had failed.
    public func reopen() {
        fetch({ (try $0.openingNotices(), try $0.screen()) }, then: { [self] notices, first in
            opening = notices
            show(first)
        })
    }

    /// Shows the screen as it stands: after something came in that no touch brought.
    public func look() {
        fetch({ try $0.screen() }, then: { [self] in show($0) })
    }

    /// Has a screen reader say something that is shown elsewhere.
    public func announce(_ words: String) {
        if !words.isEmpty { say(words) }
    }

    /// Hands `event` to the core; its answer is shown when what it wrote is on the disk.
    public func act(_ event: Event) {
        ask { try $0.act(event: event) }
    }

    /// What the app was started for: a label's code, which the camera app found, opens its opening.
    public func offered(_ address: String) {
        if address.hasPrefix("hangtrue-label:") { act(.openLabel(code: address)) }
    }

    /// One screen back; nothing is lost by it.
    public func back() {
        if sheets {
            sheets = false
        } else if let back = screen?.back {
            act(back.event)
        }
    }

    /// Shows the sheets of the house that is open.
    public func showSheets() {
        sheets = true
    }

    /// Makes a sheet - of one opening, or the summary of the house - dated today, and hands it to `then`.
    public func sheet(house: String, opening: String?, then: @escaping @MainActor @Sendable (SheetFile) -> Void) {
        let day = isoDay(Date(), in: .current)
        fetch({ try $0.sheet(house: house, opening: opening, day: day) }, then: then)
    }

    /// Makes the job file of a house and hands it to `then`.
    public func houseFile(_ house: String, then: @escaping @MainActor @Sendable (String) -> Void) {
        fetch({ try $0.houseFile(house: house) }, then: then)
    }

    /// The same sheet as a file that can be handed to another app. What is refused is said here, too.
    public func sheetToHand(house: String, opening: String?) async throws -> URL {
        let day = isoDay(Date(), in: .current)
        let sheet = try await made { try $0.sheet(house: house, opening: opening, day: day) }
        return try handed(sheet.fileName, sheet.html)
    }

    /// The same job file as a file that can be handed to another app, under the house's name.
    public func houseFileToHand(_ house: String, name: String) async throws -> URL {
        try handed("\(name).json", try await made { try $0.houseFile(house: house) })
    }

    /// Takes in a job file that a person picked.
    public func takeIn(_ text: String) {
        ask { try $0.takeInFile(text: text) }
    }

    /// Keeps a photo of the house or opening `on`.
    public func addPhoto(on: String, bytes: Data, caption: String) {
        ask { try $0.addPhoto(on: on, bytes: bytes, caption: caption) }
    }

    /// Puts words in front of a person that did not come from the core: a file that cannot be read, a camera that is missing.
    public func tell(_ what: String) {
        trouble = what
        say(what)
    }

    /// Makes something out of the book and hands it to `then`.
    public func fetch<T: Sendable>(_ make: @escaping @Sendable (HouseBook) throws -> T, then: @escaping @MainActor @Sendable (T) -> Void) {
        answered(make) { if case .success(let made) = $0 { then(made) } }
    }

    private func made<T: Sendable>(_ make: @escaping @Sendable (HouseBook) throws -> T) async throws -> T {
        try await withCheckedThrowingContinuation { waits in answered(make) { waits.resume(with: $0) } }
    }

    private func answered<T: Sendable>(
        _ make: @escaping @Sendable (HouseBook) throws -> T, then: @escaping @MainActor @Sendable (Result<T, any Error>) -> Void
    ) {
        waiting += 1
        let shelf = shelf
        line.run({ Result { try make(shelf.opened()) } }, tell: { [self] answer in
            waiting -= 1
            if case .failure(let fault) = answer { tell(inWords(fault)) }
            then(answer)
        })
    }

    /// The notices of the opening are read.
    public func read() {
        opening = []
    }

    /// Waits until all touches are on the disk, before the app rests.
    public func pause() {
        let shelf = shelf
        let fault = Slot<any Error>()
        line.finish {
            do { try shelf.pause() } catch { fault.put(error) }
        }
        if let fault = fault.take() { tell(inWords(fault)) }
    }

    /// Lets go of the book. What was acknowledged is on the disk.
    public func close() {
        let shelf = shelf
        line.finish { shelf.close() }
    }

    private func ask(_ what: @escaping @Sendable (HouseBook) throws -> Screen) {
        fetch(what, then: { [self] screen in
            trouble = nil
            show(screen)
        })
    }

    private func show(_ next: Screen) {
        let words = announcement(from: screen, to: next)
        screen = next
        if !words.isEmpty { say(words) }
    }

    private func say(_ words: String) {
        said = Said(words: words, count: said.count + 1)
    }
}

/// Words for a screen reader.
public struct Said: Equatable, Sendable {
    /// What is to be said.
    public let words: String
    /// How many times something was said until now.
    public let count: Int
}

/// Carries one value out of work on another thread.
private final class Slot<T>: @unchecked Sendable {
    private let lock = NSLock()
    private var value: T?

    func put(_ new: T) {
        lock.lock()
        defer { lock.unlock() }
        value = new
    }

    func take() -> T? {
        lock.lock()
        defer { lock.unlock() }
        return value
    }
}
