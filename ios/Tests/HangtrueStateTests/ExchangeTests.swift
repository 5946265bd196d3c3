// The exchange on the real core: two books through a folder, and what is said when a workroom is not there.
import Foundation
import Testing

@testable import HangtrueState

/// No network: what the platform's client says when nothing is reached.
private final class NoNetwork: HubHttp {
    func send(request: HubRequest) throws -> HubAnswer {
        throw HttpFault.NotReached(reason: "there is no network")
    }
}

@MainActor
final class ExchangeTests: BookCase {
    private func device(_ name: String, seed: UInt64) -> (WalkState, ExchangeState) {
        let walk = stateIn(folder.appendingPathComponent(name), seed: seed)
        return (walk, ExchangeState(walk, AtOnce(), http: NoNetwork()))
    }

    /// The invented firm's key of the exchange's test kit.
    private func kitKey() throws -> String {
        let kit = URL(fileURLWithPath: #filePath).appendingPathComponent("../../../../fixtures/exchange/kit.json").standardizedFileURL
        let json = try JSONSerialization.jsonObject(with: Data(contentsOf: kit)) as? [String: Any]
        return try #require(json?["key"] as? String)
    }

    @Test func twoBooksExchangeThroughAFolder() async throws {
        let (walk, exchange) = device("phone", seed: 1)
        #expect(exchange.firm == nil)
        try walk.begin()
        try walk.keep("34 3/8")
        let place = folder.appendingPathComponent("stick")
        try FileManager.default.createDirectory(at: place, withIntermediateDirectories: true)

        // without the firm's key, and with a text that is none
        exchange.withFolder(place.path, begin: true, photos: true)
        #expect(exchange.stopped?.contains("no firm's key") == true)
        exchange.takeKey("not a key")
        #expect(exchange.firm == nil)
        #expect(exchange.stopped != nil)

        exchange.takeKey(try kitKey())
        #expect(exchange.firm?.workroom == nil)
        #expect(exchange.stopped == nil)
        var done = 0
        // a folder that nobody made a place of exchange is not written to
        exchange.withFolder(place.path, begin: false, photos: true) { done += 1 }
        #expect(exchange.stopped != nil)
        #expect(try FileManager.default.contentsOfDirectory(atPath: place.path).isEmpty)
        exchange.withFolder(place.path, begin: true, photos: true) { done += 1 }
        #expect(exchange.stopped == nil)
        #expect(done == 2)
        #expect(exchange.doing == .nothing)
        #expect(!exchange.says.isEmpty)
        #expect(try walk.reading.prompt == "Middle width", "the walk stands where it stood")

        let (desk, its) = device("desk", seed: 500)
        its.takeKey(try kitKey())
        its.withFolder(place.path, begin: false, photos: true)
        #expect(its.stopped == nil)
        guard case .houses(let houses)? = desk.screen?.shown else { throw NotShown(what: "the houses") }
        #expect(houses.rows.map(\.open.label) == ["Larch House"])

        // what the phone wrote is confirmed on its sync screen
        walk.act(.showSync)
        guard case .sync(let sync)? = walk.screen?.shown else { throw NotShown(what: "the sync state") }
        #expect(sync.here > 0 && sync.withWorkroom == sync.here)
        #expect(sync.confirmedMs != nil)
    }

    @Test func aWorkroomThatIsNotThereIsSaid() async throws {
        let (walk, exchange) = device("phone", seed: 1)
        exchange.withWorkroom(photos: false)
        #expect(exchange.stopped?.contains("not paired") == true)
        exchange.pair(code: "what is this", address: "", name: "Phone")
        #expect(exchange.stopped?.contains("no code") == true)
        #expect(exchange.doing == .nothing)
        #expect(walk.said.words == exchange.stopped)
        exchange.stopPairing()
        #expect(exchange.doing == .nothing)
    }

    /// The real program as the workroom, its digits typed by this test.
    @Test func aWorkroomIsJoinedByItsCodeAndHasWhatIsReadHere() async throws {
        let hub = try await Hub(folder)
        defer { hub.stop() }
        let walk = stateIn(folder.appendingPathComponent("phone"))
        let exchange = ExchangeState(walk, OneQueue(), http: platformClient(), patience: 0.2)
        try walk.begin()
        try walk.keep("34 3/8")

        exchange.pair(code: try await hub.code(), address: "", name: "Ida's phone")
        #expect(exchange.doing == .reaching)
        await until { exchange.doing != .reaching }
        guard case .showing(let digits) = exchange.doing else { throw NotShown(what: exchange.stopped ?? "the digits") }
        #expect(digits.count == 6)
        // touches are taken meanwhile
        try walk.keep("34 7/16")
        _ = try await hub.line("Type the six digits")
        try hub.type(digits)
        await until { exchange.firm != nil || exchange.stopped != nil }
        #expect(exchange.firm?.workroom?.name == "Loft")
        #expect(exchange.says == ["Paired with Loft."])
        #expect(exchange.doing == .nothing)

        exchange.withWorkroom(photos: true)
        #expect(exchange.doing == .exchanging)
        await until { exchange.doing == .nothing }
        #expect(exchange.stopped == nil)
        walk.act(.showSync)
        guard case .sync(let sync)? = walk.screen?.shown else { throw NotShown(what: "the sync state") }
        #expect(sync.here == 5 && sync.withWorkroom == 5)

        hub.stop()
        exchange.withWorkroom(photos: true)
        await until { exchange.doing == .nothing }
        #expect(exchange.stopped?.contains("Loft") == true)
    }

    /// Waits, for as long as a slow machine may need.
    private func until(_ holds: () -> Bool) async {
        for _ in 0..<900 where !holds() { try? await Task.sleep(nanoseconds: 100_000_000) }
        #expect(holds(), "in vain for 90 seconds")
    }
}

/// This platform's HTTPS client: the app's own where it can be. Foundation on Linux cannot be told to accept a certificate of
/// nobody's making, so curl stands in there; it looks at no certificate, and these tests do not say that it does.
private func platformClient() -> any HubHttp {
    #if canImport(Security)
    PinnedHttp()
    #else
    Curl()
    #endif
}

#if !canImport(Security)
private final class Curl: HubHttp {
    func send(request: HubRequest) throws -> HubAnswer {
        let file = FileManager.default.temporaryDirectory.appendingPathComponent("hangtrue-curl-\(UUID().uuidString)")
        let (sent, came) = (file.appendingPathExtension("sent"), file.appendingPathExtension("came"))
        defer { for file in [sent, came] { try? FileManager.default.removeItem(at: file) } }
        try request.body.write(to: sent)
        try Data().write(to: came)
        let process = Process()
        process.executableURL = URL(fileURLWithPath: "/usr/bin/curl")
        process.arguments = [
            "--silent", "--show-error", "--insecure", "--noproxy", "*", "--tlsv1.3", "--max-time", String(request.seconds),
            "--request", request.method, "--output", came.path, "--write-out", "%{http_code}",
        ]
        for header in request.headers { process.arguments? += ["--header", "\(header.name): \(header.value)"] }
        if !request.body.isEmpty { process.arguments? += ["--header", "Expect:", "--data-binary", "@\(sent.path)"] }
        process.arguments? += [request.url]
        let out = Pipe()
        process.standardOutput = out
        try process.run()
        let code = String(decoding: out.fileHandleForReading.readDataToEndOfFile(), as: UTF8.self)
        guard let status = UInt16(code), status > 0 else { throw HttpFault.NotReached(reason: "curl says \(code)") }
        return HubAnswer(status: status, body: try Data(contentsOf: came))
    }
}
#endif

/// The workroom: `hangtrue hub` with a book of its own.
@MainActor
private final class Hub {
    private let process = Process()
    private let into = Pipe()
    private let out = Pipe()
    private let said = Said()

    /// What it printed and nobody has read yet.
    private final class Said: @unchecked Sendable {
        private let lock = NSLock()
        private var text = ""

        func add(_ data: Data) {
            lock.withLock { text += String(decoding: data, as: UTF8.self) }
        }

        /// The next whole line.
        func line() -> String? {
            lock.withLock {
                guard let end = text.firstIndex(of: "\n") else { return nil }
                defer { text = String(text[text.index(after: end)...]) }
                return String(text[..<end])
            }
        }
    }

    init(_ folder: URL) async throws {
        let repository = URL(fileURLWithPath: #filePath).appendingPathComponent("../../../..").standardizedFileURL
        process.executableURL = repository.appendingPathComponent("target/debug/hangtrue")
        process.arguments = [
            "hub", "--folder", folder.appendingPathComponent("hub").path, "--listen", "127.0.0.1:0", "--name", "Loft", "--book",
            folder.appendingPathComponent("desk.book").path,
        ]
        process.standardInput = into
        process.standardOutput = out
        let said = said
        out.fileHandleForReading.readabilityHandler = { said.add($0.availableData) }
        try process.run()
        _ = try await line("Type \"pair\"")
    }

    /// The next line that has these words in it.
    func line(_ words: String) async throws -> String {
        for _ in 0..<900 {
            while let line = said.line() {
                if line.contains(words) { return line }
            }
            try await Task.sleep(nanoseconds: 100_000_000)
        }
        throw NotShown(what: "\"\(words)\" by the hub in 90 seconds")
    }

    func type(_ words: String) throws {
        try into.fileHandleForWriting.write(contentsOf: Data((words + "\n").utf8))
    }

    func code() async throws -> String {
        try type("pair")
        return try await line("hangtrue-pair:").trimmingCharacters(in: .whitespaces)
    }

    func stop() {
        out.fileHandleForReading.readabilityHandler = nil
        kill(process.processIdentifier, SIGKILL)
    }
}
