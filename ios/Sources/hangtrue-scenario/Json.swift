// JSON as the scenarios and the screens are written in, compared value by value.
import Foundation

/// One JSON value.
enum Json: Codable, Equatable {
    case null
    case bool(Bool)
    case number(Double)
    case text(String)
    case list([Json])
    case map([String: Json])

    init(from decoder: any Decoder) throws {
        let value = try decoder.singleValueContainer()
        if value.decodeNil() {
            self = .null
        } else if let bool = try? value.decode(Bool.self) {
            self = .bool(bool)
        } else if let number = try? value.decode(Double.self) {
            self = .number(number)
        } else if let text = try? value.decode(String.self) {
            self = .text(text)
        } else if let list = try? value.decode([Json].self) {
            self = .list(list)
        } else {
            self = .map(try value.decode([String: Json].self))
        }
    }

    func encode(to encoder: any Encoder) throws {
        var value = encoder.singleValueContainer()
        switch self {
        case .null: try value.encodeNil()
        case .bool(let bool): try value.encode(bool)
        case .number(let number): try number == number.rounded() ? value.encode(Int64(number)) : value.encode(number)
        case .text(let text): try value.encode(text)
        case .list(let list): try value.encode(list)
        case .map(let map): try value.encode(map)
        }
    }

    static func read(_ text: String) throws -> Json {
        try JSONDecoder().decode(Json.self, from: Data(text.utf8))
    }

    func written() throws -> String {
        String(decoding: try JSONEncoder().encode(self), as: UTF8.self)
    }

    subscript(_ field: String) -> Json? {
        if case .map(let map) = self { map[field] } else { nil }
    }

    var string: String? {
        if case .text(let text) = self { text } else { nil }
    }

    var whole: UInt64? {
        if case .number(let number) = self { UInt64(exactly: number) } else { nil }
    }

    var items: [Json] {
        if case .list(let list) = self { list } else { [] }
    }

    /// The value that a pointer such as `/shown/screen/typed` names; null where there is none, as in the Rust test.
    func at(_ pointer: String) -> Json {
        var now = self
        for part in pointer.split(separator: "/").map(String.init) {
            if case .list(let list) = now, let n = Int(part), list.indices.contains(n) {
                now = list[n]
            } else if let inner = now[part] {
                now = inner
            } else {
                return .null
            }
        }
        return now
    }
}
