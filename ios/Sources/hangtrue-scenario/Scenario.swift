// A scenario file and its steps, as the runners in Rust, Python and Kotlin read them.
import Foundation
import HangtrueCore

/// What a run found wrong.
struct Wrong: Error, CustomStringConvertible {
    let description: String

    init(_ description: String) {
        self.description = description
    }
}

/// One scenario.
struct Scenario {
    let name: String
    let steps: [Json]

    /// All scenarios of the repository, by name.
    static func all(in repository: URL) throws -> [Scenario] {
        let folder = repository.appendingPathComponent("fixtures/scenarios")
        let files = try FileManager.default.contentsOfDirectory(at: folder, includingPropertiesForKeys: nil)
            .filter { $0.pathExtension == "json" }
            .sorted { $0.path < $1.path }
        guard !files.isEmpty else { throw Wrong("there is no scenario in \(folder.path)") }
        return try files.map { file in
            let text = try String(contentsOf: file, encoding: .utf8)
            return Scenario(name: file.lastPathComponent, steps: try Json.read(text)["steps"]?.items ?? [])
        }
    }

    func at(_ n: Int) -> String {
        "\(name), step \(n): \((try? steps[n].written()) ?? "")"
    }

    /// The values that a step expects on a screen. Gives how many there were.
    func expect(_ n: Int, on screen: Json) throws -> Int {
        guard case .map(let expected)? = steps[n]["expect"] else { return 0 }
        for (pointer, wanted) in expected where screen.at(pointer) != wanted {
            throw Wrong("\(at(n)) \(pointer): \(screen.at(pointer))")
        }
        return expected.count
    }
}

/// The keys of a number as it is written: digits, a point, a foot mark, a minus sign, a fraction; `<` erases.
func keys(_ number: String) throws -> [PadKey] {
    try number.split(separator: " ").flatMap { word -> [PadKey] in
        let parts = word.split(separator: "/").compactMap { UInt8($0) }
        if word.contains("/"), parts.count == 2 { return [.sixteenths(parts[0] * 16 / parts[1])] }
        return try word.map { sign in
            switch sign {
            case ".": .point
            case "'": .feet
            case "-": .sign
            case "<": .erase
            default:
                if let digit = UInt8(String(sign)) { .digit(digit) } else { throw Wrong("there is no key \"\(sign)\"") }
            }
        }
    }
}

/// A new folder for books; whoever asks for it removes it.
func newFolder() throws -> URL {
    let folder = FileManager.default.temporaryDirectory.appendingPathComponent("hangtrue-swift-\(UUID().uuidString)")
    try FileManager.default.createDirectory(at: folder, withIntermediateDirectories: true)
    return folder
}
