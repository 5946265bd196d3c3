// The exchange on the real core: two books through a folder, and what is said when a workroom is not there.
import Foundation
#if canImport(FoundationNetworking)
import FoundationNetworking
#endif
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
        let hub = try Hub(folder)
        defer { hub.stop() }
        let walk = stateIn(folder.appendingPathComponent("phone"))
        let exchange = ExchangeState(walk, OneQueue(), http: platformClient(), patience: 0.2)
        try walk.begin()
        try walk.keep("34 3/8")

        exchange.pair(code: try hub.code(), address: "", name: "Ida's phone")
        #expect(exchange.doing == .reaching)
        await until { exchange.doing != .reaching }
        guard case .showing(let digits) = exchange.doing else { throw NotShown(what: exchange.stopped ?? "the digits") }
        #expect(digits.count == 6)
        // touches are taken meanwhile
        try walk.keep("34 7/16")
        _ = try hub.line("Type the six digits")
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

/// This platform's HTTPS client: the app's own where it can be; on Linux Foundation's, which looks at no certificate then.
private func platformClient() -> any HubHttp {
    #if canImport(Security)
    PinnedHttp()
    #else
    setenv("URLSessionCertificateAuthorityInfoFile", "INSECURE_SSL_NO_VERIFY", 1)
    return LinuxHttp()
    #endif
}

#if !canImport(Security)
private final class LinuxHttp: HubHttp {
    func send(request: HubRequest) throws -> HubAnswer {
        guard let url = URL(string: request.url) else { throw HttpFault.NotReached(reason: "no address") }
        var sent = URLRequest(url: url, timeoutInterval: Double(request.seconds))
        sent.httpMethod = request.method
        if !request.body.isEmpty { sent.httpBody = request.body }
        for header in request.headers { sent.setValue(header.value, forHTTPHeaderField: header.name) }
        let came = Came()
        URLSession.shared.dataTask(with: sent) { data, response, error in
            came.put((response as? HTTPURLResponse).map { HubAnswer(status: UInt16($0.statusCode), body: data ?? Data()) }, error)
        }.resume()
        return try came.wait()
    }

    private final class Came: @unchecked Sendable {
        private let whole = DispatchSemaphore(value: 0)
        private var answer: HubAnswer?
        private var why = ""

        func put(_ answer: HubAnswer?, _ error: (any Error)?) {
            self.answer = answer
            why = error.map { "\($0)" } ?? "no answer"
            whole.signal()
        }

        func wait() throws -> HubAnswer {
            whole.wait()
            guard let answer else { throw HttpFault.NotReached(reason: why) }
            return answer
        }
    }
}
#endif

/// The workroom: `hangtrue hub` with a book of its own.
private final class Hub {
    private let process = Process()
    private let into = Pipe()
    private let out = Pipe()
    private var read = ""

    init(_ folder: URL) throws {
        let repository = URL(fileURLWithPath: #filePath).appendingPathComponent("../../../..").standardizedFileURL
        process.executableURL = repository.appendingPathComponent("target/debug/hangtrue")
        process.arguments = [
            "hub", "--folder", folder.appendingPathComponent("hub").path, "--listen", "127.0.0.1:0", "--name", "Loft", "--book",
            folder.appendingPathComponent("desk.book").path,
        ]
        process.standardInput = into
        process.standardOutput = out
        try process.run()
        _ = try line("Type \"pair\"")
    }

    /// The next line that has these words in it.
    func line(_ words: String) throws -> String {
        while true {
            while let end = read.firstIndex(of: "\n") {
                let line = String(read[..<end])
                read = String(read[read.index(after: end)...])
                if line.contains(words) { return line }
            }
            let more = out.fileHandleForReading.availableData
            if more.isEmpty { throw NotShown(what: "\"\(words)\" by the hub") }
            read += String(decoding: more, as: UTF8.self)
        }
    }

    func type(_ words: String) throws {
        try into.fileHandleForWriting.write(contentsOf: Data((words + "\n").utf8))
    }

    func code() throws -> String {
        try type("pair")
        return try line("hangtrue-pair:").trimmingCharacters(in: .whitespaces)
    }

    func stop() {
        if process.isRunning { process.terminate() }
        process.waitUntilExit()
    }
}
