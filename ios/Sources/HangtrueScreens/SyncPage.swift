// What is here, what the workroom has of it, and the exchange with it.
import HangtrueState
import SwiftUI

/// How many facts are here, how many the place of exchange has, and the exchange itself.
struct SyncPage: View {
    @EnvironmentObject private var watched: Watched
    @State private var photos = true
    let screen: Screen
    let sync: SyncScreen
    let outside: any Outside

    var body: some View {
        let exchange = watched.exchange
        Page(screen) {
            Words(sync.says, font: .title3, weight: .medium)
            Card {
                Count(name: "Facts written here", value: String(sync.here))
                Count(name: "With \(sync.place)", value: String(sync.withWorkroom))
                Count(name: "Last confirmed", value: sync.confirmedMs.map(clock) ?? "never yet")
                if sync.waiting > 0 {
                    Count(name: "Waiting for a newer program, or for what they are about", value: String(sync.waiting))
                }
            }
            switch exchange.doing {
            case .exchanging: Words("Exchanging. You can go on measuring.", weight: .medium)
            case .reaching: Words("Asking the workroom.", weight: .medium)
            case .showing(let digits): Digits(digits: digits) { exchange.stopPairing() }
            case .nothing: ways(exchange)
            }
            if let stopped = exchange.stopped {
                HStack(alignment: .top, spacing: 10) {
                    Mark(.triangle, \.again)
                    Words(stopped, weight: .medium)
                }
            }
            ForEach(Array(exchange.says.enumerated()), id: \.offset) { Words($0.element) }
        }
    }

    @ViewBuilder
    private func ways(_ exchange: ExchangeState) -> some View {
        if let workroom = exchange.firm?.workroom {
            Press("Exchange with \(workroom.name)", main: true, id: "exchange_workroom") { exchange.withWorkroom(photos: photos) }
            Moved { exchange.withWorkroom(address: $0, photos: photos) }
        }
        if exchange.firm != nil {
            Presses {
                Press("Exchange through a folder", id: "exchange_folder") { folder(exchange, begin: false) }
                Press("Begin a folder of exchange", id: "begin_folder") { folder(exchange, begin: true) }
                Press(
                    photos ? "Photos of others: fetched" : "Photos of others: not fetched",
                    spoken: photos ? "photos of others are fetched; change" : "photos of others are not fetched; change", id: "fetch_photos"
                ) { photos.toggle() }
            }
        }
        Pairing(outside: outside)
    }

    private func folder(_ exchange: ExchangeState, begin: Bool) {
        let photos = photos
        outside.pickFolder { path, done in exchange.withFolder(path, begin: begin, photos: photos, done: done) }
    }

    /// A moment as this device writes dates and times.
    private func clock(_ ms: Int64) -> String {
        Date(timeIntervalSince1970: Double(ms) / 1000).formatted(date: .abbreviated, time: .shortened)
    }
}

/// The six digits that a person types at the workroom.
private struct Digits: View {
    let digits: String
    let onStop: @MainActor () -> Void

    var body: some View {
        Card {
            Words("Type these digits at the workroom:")
            Words(digits, font: .largeTitle, weight: .bold)
                .accessibilityLabel(Text(verbatim: digits.map(String.init).joined(separator: " ")))
            Press("Stop", spoken: "stop pairing", id: "stop_pairing", onPress: onStop)
        }
    }
}

/// A workroom that has moved: its address typed by hand.
private struct Moved: View {
    @State private var open = false
    @State private var address = ""
    let onAddress: @MainActor (String) -> Void

    var body: some View {
        if open {
            Card {
                WriteLine(name: "Address of the workroom, as host:port", text: $address)
                Press("Exchange there", live: !address.isEmpty, main: true, id: "exchange_address") { onAddress(address) }
            }
        } else {
            Press("The workroom has moved", id: "moved") { open = true }
        }
    }
}

/// Joins a workroom by the code that it shows, or a firm by its key.
private struct Pairing: View {
    @EnvironmentObject private var watched: Watched
    @State private var open = false
    @State private var code = ""
    @State private var address = ""
    @State private var name = ""
    @State private var key = ""
    let outside: any Outside

    var body: some View {
        let exchange = watched.exchange
        if open || exchange.firm == nil {
            Card {
                Heading("Join a workroom")
                Press("Scan the workroom's code", main: true, id: "scan") { outside.scanCode { code = $0 } }
                WriteLine(name: "The code as text", text: $code)
                WriteLine(name: "Its address as host:port, where the code's own are not reached", text: $address)
                WriteLine(name: "What the workroom calls this device", text: $name)
                Press("Join", live: !code.isEmpty, main: true, id: "join") { exchange.pair(code: code, address: address, name: name) }
            }
            Card {
                Heading("Take the firm's key")
                WriteLine(name: "The key as its file has it", text: $key, secret: true)
                Press("Take the key", live: !key.isEmpty, id: "take_key") {
                    exchange.takeKey(key)
                    key = ""
                }
            }
        } else {
            Press("Join another way", id: "pairing") { open = true }
        }
    }
}

private struct Count: View {
    let name: String
    let value: String

    var body: some View {
        Abreast {
            Words(name, paint: \.quiet).frame(maxWidth: .infinity, alignment: .leading)
            Words(value, weight: .medium)
        }
        .accessibilityElement(children: .combine)
    }
}
