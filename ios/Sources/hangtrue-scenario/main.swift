// The scenarios through Swift:
//   hangtrue-scenario compare REPOSITORY         the same screens and houses as in Rust
//   hangtrue-scenario kills REPOSITORY COUNT     a process killed at every key, and in the midst of every key
import Foundation

let words = Array(CommandLine.arguments.dropFirst())
do {
    switch (words.first, words.count) {
    case ("compare", 2): try compare(URL(fileURLWithPath: words[1]))
    case ("kills", 3):
        guard let count = Int(words[2]), count > 0 else { throw Wrong("\"\(words[2])\" is no number of kills: give one above 0") }
        try kills(URL(fileURLWithPath: words[1]), count)
    case ("child", 3):
        guard let seed = UInt64(words[2]) else { throw Wrong("\"\(words[2])\" is no seed: give a whole number") }
        try child(words[1], seed)
    default: throw Wrong("give: compare REPOSITORY, or kills REPOSITORY COUNT")
    }
} catch {
    FileHandle.standardError.write(Data("hangtrue-scenario: \(error)\n".utf8))
    exit(1)
}
