// The walk's promise at the pad, through Swift: a process that is killed at any key comes back to the same screen with the
// same digits, and no accepted reading is lost. Real processes, killed by the system.
//
// Each event of the scenarios is handed to a process of its own on the book that the processes before it left. Beside it, a
// book that is never killed takes the same events: what both show must be the same but for ids and times, which are made
// anew at each opening.
import Foundation
import HangtrueCore

/// The process that is killed: says what it shows, and again after each event that it reads.
func child(_ folder: String, _ seed: UInt64) throws {
    let book = try HouseBook.openSeeded(folder: folder, seed: seed)
    func say() throws {
        let line = try "\(book.screenDigest())\t\(book.housesDigest())\t\(book.factsAfter(after: 0, limit: 1_000_000).count)\t\(book.screenJson())\n"
        try FileHandle.standardOutput.write(contentsOf: Data(line.utf8))
    }
    try say()
    while let line = readLine() {
        // A refusal changes nothing, and the answer shows it.
        do {
            let event = try line.hasPrefix("{") ? eventFromJson(text: line) : book.eventOf(touch: line)
            _ = try book.act(event: event)
        } catch BookFault.Refused {}
        try say()
    }
}

/// What a process said of its screen.
private struct Saw: Equatable {
    let screen: String
    let houses: String
    let facts: Int
    let json: String

    /// The screen without what is made anew at each opening.
    var bare: String { stripped(json) }
}

/// The screen's JSON with ids and times taken out.
private func stripped(_ json: String) -> String {
    json.replacingOccurrences(of: "[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}", with: "-", options: .regularExpression)
        .replacingOccurrences(of: "\"at_ms\":[0-9]+", with: "\"at_ms\":0", options: .regularExpression)
        // The day of an answer: each process's clock begins an hour after the last one's.
        .replacingOccurrences(of: "[0-9]{4}-[0-9]{2}-[0-9]{2}", with: "-", options: .regularExpression)
}

private final class Running {
    private let process = Process()
    private let into = Pipe()
    private let out = Pipe()
    private var read = Data()

    init(_ folder: URL, _ seed: UInt64) throws {
        guard let program = Bundle.main.executableURL else { throw Wrong("this program does not know where it is") }
        process.executableURL = program
        process.arguments = ["child", folder.path, String(seed)]
        process.standardInput = into
        process.standardOutput = out
        try process.run()
    }

    func saw() throws -> Saw {
        while true {
            if let end = read.firstIndex(of: UInt8(ascii: "\n")) {
                let line = String(decoding: read[read.startIndex..<end], as: UTF8.self)
                read = Data(read[read.index(after: end)...])
                let parts = line.split(separator: "\t", maxSplits: 3).map(String.init)
                guard parts.count == 4, let facts = Int(parts[2]) else { throw Wrong("a process said: \(line)") }
                return Saw(screen: parts[0], houses: parts[1], facts: facts, json: parts[3])
            }
            let more = out.fileHandleForReading.availableData
            if more.isEmpty { throw Wrong("a process ended by itself") }
            read.append(more)
        }
    }

    func tell(_ line: String) throws {
        try into.fileHandleForWriting.write(contentsOf: Data((line + "\n").utf8))
    }

    /// SIGKILL, as the system does it.
    func die() {
        kill(process.processIdentifier, SIGKILL)
        process.waitUntilExit()
        try? into.fileHandleForWriting.close()
        try? out.fileHandleForReading.close()
    }
}

/// When a process is killed.
private enum Moment {
    /// When it has shown what came of the event.
    case after
    /// While it is at it, at most so many microseconds after it was told.
    case midst(UInt32)
}

/// Goes through the scenarios until so many processes were killed after a key, and as many in the midst of one.
func kills(_ repository: URL, _ count: Int) throws {
    var killer = Killer()
    while killer.after < count {
        for scenario in try Scenario.all(in: repository) { try killer.walk(scenario, .after) }
    }
    print("\(killer.after) processes killed after a key; every one came back to the same screen")
    // A kill falls around the write on slow machines and on fast ones: it is in the first quarter of the time to an answer, of
    // which most goes into what the process says.
    let microseconds = UInt32(max(200, killer.answered / Double(killer.after) * 1_000_000 / 4))
    while killer.undone + killer.done < count {
        for scenario in try Scenario.all(in: repository) { try killer.walk(scenario, .midst(microseconds)) }
    }
    print("\(killer.undone + killer.done) processes killed in the midst of a key: \(killer.undone) before it, \(killer.done) after it, none between")
    guard killer.undone > 0, killer.done > 0 else { throw Wrong("the kills did not fall around the write") }
}

private struct Killer {
    var after = 0
    var undone = 0
    var done = 0
    /// Seconds from telling an event to its answer, in all.
    var answered = 0.0

    /// A book that is killed at each key, and its twin that is not.
    private struct Pair {
        let folder: URL
        let twin: HouseBook
        var seed: UInt64
        var last: Saw?

        mutating func next() -> UInt64 {
            seed += 1
            return seed
        }
    }

    mutating func walk(_ scenario: Scenario, _ moment: Moment) throws {
        let folder = try newFolder()
        defer { try? FileManager.default.removeItem(at: folder) }
        var pairs: [String: Pair] = [:]
        var now = ""
        var bounces = false
        for (n, step) in scenario.steps.enumerated() {
            if let name = step["open"]?.string {
                now = name
                if pairs[name] == nil {
                    // No two devices' openings may have one seed, and the twins want their own.
                    let seed = UInt64(pairs.count) * 20_000
                    let twin = try HouseBook.openSeeded(folder: folder.appendingPathComponent("twin-\(name)").path, seed: seed + 19_000)
                    pairs[name] = Pair(folder: folder.appendingPathComponent(name), twin: twin, seed: seed, last: nil)
                }
                continue
            }
            if let ms = step["clock_step"]?.whole {
                // The clock of every process begins an hour after the last one's: a thumb that bounces is for `compare`.
                bounces = ms < 400
                continue
            }
            if let name = step["book"]?.string { now = name }
            guard var pair = pairs[now] else { throw Wrong("\(scenario.at(n)): no book is open") }
            if let from = step["merge_from"]?.string, let other = pairs[from] {
                let book = try HouseBook.openSeeded(folder: pair.folder.path, seed: pair.next())
                let facts = try HouseBook.openSeeded(folder: other.folder.path, seed: other.seed + 10_000).factsAfter(after: 0, limit: 10_000)
                _ = try book.mergeFacts(lines: facts.lines)
                _ = try pair.twin.mergeFacts(lines: other.twin.factsAfter(after: 0, limit: 10_000).lines)
                pair.last = nil
            }
            for line in try lines(step) where !(bounces && step["event"] != nil) {
                try key(line, &pair, moment, scenario.at(n))
            }
            pairs[now] = pair
        }
    }

    /// The events of a step, a line each, as the process reads them.
    private func lines(_ step: Json) throws -> [String] {
        if let touch = step["touch"]?.string { return [touch] }
        if let event = step["event"] ?? step["refused"] { return [try event.written()] }
        if let slot = step["words"] {
            return [try Json.map(["do": .text("type_words"), "slot": slot, "text": step["text"] ?? .text("")]).written()]
        }
        guard let number = step["type"]?.string else { return [] }
        return try keys(number).map { key in
            let json: Json = switch key {
            case .digit(let n): .map(["digit": .number(Double(n))])
            case .pair(let n): .map(["pair": .number(Double(n))])
            case .sixteenths(let n): .map(["sixteenths": .number(Double(n))])
            case .feet: .text("feet")
            case .point: .text("point")
            case .sign: .text("sign")
            case .erase: .text("erase")
            }
            return try Json.map(["do": .text("press"), "key": json]).written()
        }
    }

    /// One event, and the death of the process that took it.
    private mutating func key(_ line: String, _ pair: inout Pair, _ moment: Moment, _ at: String) throws {
        let before = stripped(try pair.twin.screenJson())
        do {
            _ = try pair.twin.act(event: line.hasPrefix("{") ? eventFromJson(text: line) : pair.twin.eventOf(touch: line))
        } catch BookFault.Refused {}
        let wanted = stripped(try pair.twin.screenJson())
        let facts = Int(try pair.twin.factsAfter(after: 0, limit: 1_000_000).count)
        while true {
            var running = try Running(pair.folder, pair.next())
            let back = try running.saw()
            if let last = pair.last, back != last { throw Wrong("\(at): came back to another screen") }
            guard back.bare == before else { throw Wrong("\(at): another screen than the book that was not killed, before the key") }
            let told = Date()
            try running.tell(line)
            switch moment {
            case .after:
                let now = try running.saw()
                answered += Date().timeIntervalSince(told)
                running.die()
                after += 1
                guard now.bare == wanted, now.facts == facts else {
                    let parts = zip(now.bare, wanted).drop { $0 == $1 }
                    throw Wrong("\(at): another screen than the book that was not killed: \(String(parts.map(\.0).prefix(200))), not \(String(parts.map(\.1).prefix(200)))")
                }
                pair.last = now
                return
            case .midst(let microseconds):
                usleep(UInt32.random(in: 0...microseconds))
                running.die()
                running = try Running(pair.folder, pair.next())
                let now = try running.saw()
                running.die()
                pair.last = now
                if now.bare == wanted, now.facts == facts {
                    done += 1
                    return
                }
                guard now == back else { throw Wrong("\(at): it is neither before the key nor after it") }
                undone += 1
            }
        }
    }
}
