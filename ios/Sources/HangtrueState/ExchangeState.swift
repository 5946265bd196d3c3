// The exchange with the firm's place - the workroom's hub, or a folder - as the sync page shows it. It runs on a line of its
// own: touches are taken meanwhile.
import Foundation
import HangtrueCore

/// What an exchange is doing and did.
@MainActor
public final class ExchangeState {
    /// What is being done now.
    public enum Doing: Equatable, Sendable {
        /// Nothing.
        case nothing
        /// The workroom is asked whether this device may join.
        case reaching
        /// These six digits are shown until somebody types them at the workroom.
        case showing(digits: String)
        /// Facts and photos go to and fro.
        case exchanging
    }

    /// The firm of this book; nothing while it has none.
    public private(set) var firm: FirmCard? { willSet { willChange?() } }

    /// What is being done now.
    public private(set) var doing = Doing.nothing { willSet { willChange?() } }

    /// What the last exchange did and found, in sentences.
    public private(set) var says: [String] = [] { willSet { willChange?() } }

    /// Why it ended before all was done, or why it was not begun; what was done stands.
    public private(set) var stopped: String? { willSet { willChange?() } }

    /// Called before any of the above changes: what draws the screens listens here.
    public var willChange: (@MainActor () -> Void)?

    private let walk: WalkState
    private let line: any Line
    private let http: any HubHttp
    /// Seconds between two looks whether the digits were typed.
    private let patience: Double
    /// Which pairing the looks belong to: one that was given up looks no more.
    private var pairing = 0

    /// The exchange of the book of `walk`, on `line`, which is not the walk's; `http` reaches the workroom.
    public init(_ walk: WalkState, _ line: any Line, http: any HubHttp, patience: Double = 1.5) {
        self.walk = walk
        self.line = line
        self.http = http
        self.patience = patience
        errand({ try $0.firm() }, then: { [self] in firm = $0 })
    }

    /// Takes the firm's key as text, for a firm that exchanges through folders.
    public func takeKey(_ text: String) {
        errand({ try $0.takeFirmKey(text: text) }, then: { [self] in belongs(to: $0) })
    }

    /// Begins to pair with the workroom that shows `code`; `address` is one typed by hand, `name` what the workroom will show.
    public func pair(code: String, address: String, name: String) {
        guard doing == .nothing else { return }
        doing = .reaching
        let http = http
        let by = typed(address)
        errand({ try $0.beginPairing(code: code, address: by, name: name, http: http) }, then: { [self] digits in
            pairing += 1
            doing = .showing(digits: digits)
            walk.announce("The workroom asks for these digits: \(digits.map(String.init).joined(separator: " "))")
            look(pairing)
        })
    }

    /// Gives up waiting for the digits to be typed.
    public func stopPairing() {
        pairing += 1
        if case .showing = doing { doing = .nothing }
    }

    /// Exchanges with the paired workroom; `address` is one typed by hand, where the workroom has moved.
    public func withWorkroom(address: String = "", photos: Bool) {
        let http = http
        let by = typed(address)
        exchange { try $0.exchangeWithWorkroom(http: http, address: by, fetchPhotos: photos) }
    }

    /// Exchanges through a folder. `begin` makes it a place of exchange, once, on purpose. `done` is called when nothing of
    /// the folder is wanted any more.
    public func withFolder(_ folder: String, begin: Bool, photos: Bool, done: @escaping @MainActor @Sendable () -> Void = {}) {
        exchange({ try $0.exchangeWithFolder(folder: folder, begin: begin, fetchPhotos: photos) }, done: done)
    }

    private func exchange(
        _ what: @escaping @Sendable (HouseBook) throws -> ExchangeReport, done: @escaping @MainActor @Sendable () -> Void = {}
    ) {
        guard doing == .nothing else { return done() }
        doing = .exchanging
        errand(what, then: { [self] report in
            doing = .nothing
            says = report.says
            stopped = report.stopped
            walk.announce(joined(report.says + [report.stopped ?? ""]))
            // The report's own screen may be older than a touch that was taken meanwhile.
            walk.look()
        }, always: done)
    }

    private func look(_ mine: Int) {
        let http = http
        Task { [self] in
            try? await Task.sleep(nanoseconds: UInt64(patience * 1_000_000_000))
            guard mine == pairing else { return }
            errand({ try $0.finishPairing(http: http) }, then: { [self] card in
                guard mine == pairing else { return }
                if let card { belongs(to: card) } else { look(mine) }
            })
        }
    }

    private func belongs(to card: FirmCard) {
        firm = card
        doing = .nothing
        says = [card.workroom.map { "Paired with \($0.name)." } ?? "The firm's key is taken; its mark is \(card.mark)."]
        walk.announce(says[0])
    }

    /// Runs on the exchange's own line. What is refused is said where the exchange is shown.
    private func errand<T: Sendable>(
        _ make: @escaping @Sendable (HouseBook) throws -> T, then: @escaping @MainActor @Sendable (T) -> Void,
        always: @escaping @MainActor @Sendable () -> Void = {}
    ) {
        let shelf = walk.shelf
        line.run({ Result { try make(shelf.opened()) } }, tell: { [self] answer in
            always()
            switch answer {
            case .success(let made):
                stopped = nil
                then(made)
            case .failure(let fault):
                doing = .nothing
                says = []
                let words = inWords(fault)
                stopped = words
                walk.announce(words)
            }
        })
    }

    private func typed(_ address: String) -> String? {
        let address = address.trimmingCharacters(in: .whitespacesAndNewlines)
        return address.isEmpty ? nil : address
    }
}
