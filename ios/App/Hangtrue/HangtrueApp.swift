// The app: one window over the book in the app's own container.
import HangtrueScreens
import HangtrueState
import SwiftUI

/// Opens the book off the thread that draws, and has all of it on the disk before the app rests.
@main
struct HangtrueApp: App {
    @StateObject private var watched: Watched
    @Environment(\.scenePhase) private var phase
    private let device: Device

    init() {
        let folder = URL.applicationSupportDirectory.appending(path: "Hangtrue", directoryHint: .isDirectory)
        let state = WalkState(OneQueue()) { try openBook(in: folder) }
        // a line of its own: readings are kept while an exchange runs
        let exchange = ExchangeState(state, OneQueue(), http: PinnedHttp())
        _watched = StateObject(wrappedValue: Watched(state, exchange))
        device = Device(state)
    }

    var body: some Scene {
        WindowGroup {
            Root(outside: device).environmentObject(watched)
                .onOpenURL { watched.state.offered($0.absoluteString) }
        }
        .onChange(of: phase) { _, now in
            // "inactive" comes before the device locks and before another app is in front
            if now != .active { watched.state.pause() }
        }
    }
}
